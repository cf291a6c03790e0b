//! `cargo verify`: one list of stages, run in order, all of them even after a failure.

mod size;
mod suite;
mod tools;
mod tree;

use std::cell::OnceCell;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode};
use std::time::{Duration, Instant};

use anyhow::{Context as _, Result, ensure};
use suite::Suite;
pub use tools::{Browser, find_browser};

use crate::cargo::{self, WASM};
use crate::page::{self, Mode};

/// What was asked for.
#[derive(Debug, Default)]
pub struct Options {
    /// Leave out the stages marked slow, and say so.
    pub quick: bool,
    /// Let tests rewrite goldens, pictures and generated tables.
    pub bless: bool,
    /// Only these stages; empty means all.
    pub only: Vec<String>,
}

/// One line of the summary.
struct Stage {
    name: &'static str,
    what: &'static str,
    /// Left out by `--quick`.
    slow: bool,
    run: fn(&Context) -> Result<()>,
}

/// Everything that is checked, cheapest first; `tree` looks at what the others left behind.
const STAGES: [Stage; 17] = [
    stage("format", "rustfmt changes nothing", format),
    stage("clippy", "no warning, all targets", clippy),
    stage("clippy-wasm", "no warning in what the page is built of", clippy_wasm),
    stage("licences", "licences, sources and banned crates", licences),
    stage("docs", "documentation without a warning", docs),
    stage("compile", "all tests compile", compile),
    stage("engine", "the engine's tests", |context| context.suite()?.run("engine", |_| true, &[])),
    stage("app", "the app's tests without a browser", |context| context.suite()?.run("app", |_| true, &[])),
    stage("launch", "the launcher's tests", |context| context.suite()?.run("launch", |_| true, &[])),
    stage("outside", "the engine seen from outside", |context| {
        context.suite()?.run("tests", |target| target != "browser", &[])
    }),
    stage("reference", "values from outside libraries, calculated anew", reference).slow(),
    stage("doctests", "the examples in the documentation", doctests),
    stage("engine-wasm", "the engine builds for wasm32", engine_wasm),
    stage("page", "the page as it is served and as it is packed", page).slow(),
    stage("size", "what a first visit downloads", size).slow(),
    stage("browser", "the page in a browser without a window", browser).slow(),
    stage("tree", "the repository is as it was", tree),
];

const fn stage(name: &'static str, what: &'static str, run: fn(&Context) -> Result<()>) -> Stage {
    Stage { name, what, slow: false, run }
}

impl Stage {
    const fn slow(mut self) -> Self {
        self.slow = true;
        self
    }
}

/// What the stages share.
struct Context {
    bless: bool,
    before: tree::Tree,
    dist: PathBuf,
    packed: PathBuf,
    suite: OnceCell<Suite>,
}

impl Context {
    /// The compiled tests.
    fn suite(&self) -> Result<&Suite> {
        if self.suite.get().is_none() {
            let _ = self.suite.set(Suite::compile(self.bless)?);
        }
        Ok(self.suite.get().expect("it has just been set"))
    }
}

enum Outcome {
    Passed(Duration),
    Failed(Duration, String),
    Skipped,
}

/// Runs the stages and prints seconds and outcome of each, then one line with the counts.
pub fn verify(options: &Options) -> Result<ExitCode> {
    for name in &options.only {
        let known: Vec<_> = STAGES.iter().map(|stage| stage.name).collect();
        ensure!(known.contains(&name.as_str()), "no stage {name:?}; there are {}", known.join(", "));
    }
    let root = cargo::workspace_root()?;
    let context = Context {
        bless: options.bless,
        before: tree::Tree::now(&root)?,
        dist: root.join("target").join("verify-dist"),
        packed: root.join("target").join("verify-pack"),
        suite: OnceCell::new(),
    };
    let outcomes = STAGES.each_ref().map(|stage| {
        let wanted = options.only.is_empty() || options.only.iter().any(|name| name == stage.name);
        if !wanted || (options.quick && options.only.is_empty() && stage.slow) {
            return Outcome::Skipped;
        }
        println!("\n== {}: {}", stage.name, stage.what);
        let started = Instant::now();
        match (stage.run)(&context) {
            Ok(()) => Outcome::Passed(started.elapsed()),
            Err(error) => {
                println!("{error:#}");
                Outcome::Failed(started.elapsed(), format!("{error:#}"))
            }
        }
    });
    Ok(summarise(&outcomes, options))
}

/// Prints the table and the line that others count by.
fn summarise(outcomes: &[Outcome; STAGES.len()], options: &Options) -> ExitCode {
    let (mut passed, mut failed, mut skipped) = (0, 0, 0);
    println!("\n  seconds  stage");
    for (stage, outcome) in STAGES.iter().zip(outcomes) {
        match outcome {
            Outcome::Passed(time) => {
                passed += 1;
                println!("  {:7.1}  {}", time.as_secs_f64(), stage.name);
            }
            Outcome::Failed(time, error) => {
                failed += 1;
                let first = error.lines().next().unwrap_or_default();
                println!("  {:7.1}  {} FAILED: {first}", time.as_secs_f64(), stage.name);
            }
            Outcome::Skipped => {
                skipped += 1;
                let why = if options.only.is_empty() { "skipped by --quick" } else { "not in --only" };
                println!("        -  {} {why}", stage.name);
            }
        }
    }
    let skipped = if skipped == 0 { String::new() } else { format!(", {skipped} skipped") };
    println!("\n{passed} passed, {failed} failed{skipped}");
    if failed == 0 { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

fn format(_: &Context) -> Result<()> {
    tools::ensure_component("fmt", "rustfmt")?;
    cargo::run(cargo::cargo()?.args(["fmt", "--all", "--check"]))
        .context("run `cargo fmt --all` to put the format right")
}

fn clippy(_: &Context) -> Result<()> {
    tools::ensure_component("clippy", "clippy")?;
    cargo::run(cargo::cargo()?.args([
        "clippy",
        "--locked",
        "--workspace",
        "--all-targets",
        "--",
        "-D",
        "warnings",
    ]))
}

fn clippy_wasm(_: &Context) -> Result<()> {
    tools::ensure_component("clippy", "clippy")?;
    cargo::ensure_wasm_target()?;
    cargo::run(
        cargo::cargo()?
            .args(["clippy", "--locked", "-p", "app", "-p", "engine", "--target", WASM])
            .args(["--", "-D", "warnings"]),
    )
}

fn docs(_: &Context) -> Result<()> {
    cargo::run(
        cargo::cargo()?
            .args(["doc", "--locked", "--workspace", "--no-deps", "--document-private-items"])
            .env("RUSTDOCFLAGS", "-D warnings"),
    )
}

fn compile(context: &Context) -> Result<()> {
    context.suite().map(drop)
}

fn doctests(_: &Context) -> Result<()> {
    cargo::run(cargo::cargo()?.args(["test", "--locked", "--workspace", "--doc"]))
}

fn reference(_: &Context) -> Result<()> {
    tools::ensure_python()?;
    let script = cargo::workspace_root()?.join("tests/reference/check.sh");
    cargo::run(Command::new("sh").arg(script))
        .context("the committed values are not those of the libraries, or pip could not install these")
}

fn engine_wasm(_: &Context) -> Result<()> {
    cargo::ensure_wasm_target()?;
    cargo::run(page::cargo_build()?.args(["--lib"]))
}

fn licences(_: &Context) -> Result<()> {
    tools::ensure_cargo_deny()?;
    // Crates of other systems too, which no build here fetched.
    cargo::run(cargo::cargo()?.args(["fetch", "--locked"]))?;
    cargo::run(cargo::cargo()?.args([
        "deny",
        "--offline",
        "--locked",
        "check",
        "bans",
        "licenses",
        "sources",
    ]))
}

fn page(context: &Context) -> Result<()> {
    page::build(&context.dist, Mode::Serve)?;
    page::build(&context.packed, Mode::Pack)
}

fn size(context: &Context) -> Result<()> {
    built(&context.dist)?;
    size::check(&context.dist)
}

fn browser(context: &Context) -> Result<()> {
    built(&context.dist)?;
    built(&context.packed)?;
    let browser = tools::ensure_browser()?;
    let env = [
        ("EVENRISE_DIST", context.dist.as_path()),
        ("EVENRISE_PACK", &context.packed),
        ("CHROMIUM", &browser.chromium),
        ("CHROMEDRIVER", &browser.driver),
    ];
    context.suite()?.run("tests", |target| target == "browser", &env)
}

fn tree(context: &Context) -> Result<()> {
    context.before.check(context.bless)
}

/// With `--only`, the page may be an old one or not there.
fn built(folder: &Path) -> Result<()> {
    let there = folder.join("index.html").is_file();
    ensure!(there, "there is no page in {}: run the stage `page` first", folder.display());
    Ok(())
}
