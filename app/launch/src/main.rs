//! The command line.

use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::{Context, Result, bail};
use launch::page::{Mode, build};
use launch::serve::Server;
use launch::verify::{Options, verify};
use launch::{cargo, watch};
use lexopt::prelude::*;

const HELP: &str = "\
cargo start [--port N] [--watch]   build the page and serve it on localhost
                                   (port: --port, else EVENRISE_PORT, else 8080; 0 picks a free one)
cargo pack [--out FOLDER]          write a folder that any web host can serve (default: pack)
cargo verify [--quick] [--bless] [--only STAGE]...
                                   run all checks; --quick leaves out the slow stages and names them,
                                   --bless lets tests rewrite goldens and pictures
";

fn main() -> ExitCode {
    match run() {
        Ok(code) => code,
        Err(error) => {
            eprintln!("error: {error:#}");
            ExitCode::FAILURE
        }
    }
}

fn run() -> Result<ExitCode> {
    let mut args = lexopt::Parser::from_env();
    match args.next()? {
        Some(Value(command)) if command == "start" => start(args),
        Some(Value(command)) if command == "pack" => pack(args),
        Some(Value(command)) if command == "verify" => check(args),
        Some(Short('h') | Long("help")) | None => {
            print!("{HELP}");
            Ok(ExitCode::SUCCESS)
        }
        Some(other) => bail!("{}\n\n{HELP}", other.unexpected()),
    }
}

fn start(mut args: lexopt::Parser) -> Result<ExitCode> {
    let mut port = match std::env::var("EVENRISE_PORT") {
        Ok(text) => text.parse().with_context(|| format!("EVENRISE_PORT: {text:?} is not a port number"))?,
        Err(_) => 8080,
    };
    let mut watched = false;
    while let Some(arg) = args.next()? {
        match arg {
            Long("port") => port = args.value()?.parse()?,
            Long("watch") => watched = true,
            Short('h') | Long("help") => {
                print!("{HELP}");
                return Ok(ExitCode::SUCCESS);
            }
            other => return Err(other.unexpected().into()),
        }
    }
    let dist = cargo::workspace_root()?.join("dist");
    // Before the build: a taken port should not cost a minute to find out.
    let server = Server::start(&dist, port)?;
    build(&dist, if watched { Mode::Watch } else { Mode::Serve })?;
    println!("\n  Evenrise is at {}   (stop with Ctrl-C)\n", server.url());
    if watched {
        watch::rebuild_on_change(&dist)?;
    } else {
        server.wait();
    }
    Ok(ExitCode::SUCCESS)
}

fn pack(mut args: lexopt::Parser) -> Result<ExitCode> {
    let mut out = cargo::workspace_root()?.join("pack");
    while let Some(arg) = args.next()? {
        match arg {
            Long("out") => out = std::env::current_dir()?.join(PathBuf::from(args.value()?)),
            other => return Err(other.unexpected().into()),
        }
    }
    build(&out, Mode::Pack)?;
    println!("\n  Any web host can serve {}, from any path.", out.display());
    println!(
        "  Hosts that read a _headers file send the security headers in it; on others copy them from there.\n"
    );
    Ok(ExitCode::SUCCESS)
}

fn check(mut args: lexopt::Parser) -> Result<ExitCode> {
    let mut options = Options::default();
    while let Some(arg) = args.next()? {
        match arg {
            Long("quick") => options.quick = true,
            Long("bless") => options.bless = true,
            Long("only") => options.only.push(args.value()?.string()?),
            other => bail!("{}\n\n{HELP}", other.unexpected()),
        }
    }
    verify(&options)
}
