//! Finds the tools that the checks need, and installs what is missing where that is allowed.

use std::env;
use std::path::PathBuf;
use std::process::{Command, Stdio};

use anyhow::{Context, Result, bail};

use crate::cargo;

/// A browser and what drives it.
#[derive(Debug)]
pub struct Browser {
    /// Chromium, or a browser built from it.
    pub chromium: PathBuf,
    /// Its WebDriver server, of the same version.
    pub driver: PathBuf,
}

/// Debian's names. A page without fonts has no widths to lay out by.
const BROWSER_PACKAGES: [&str; 3] = ["chromium", "chromium-driver", "fonts-liberation"];

/// Finds the browser: `CHROMIUM` and `CHROMEDRIVER`, else the usual names on the path.
pub fn find_browser() -> Result<Browser> {
    let chromium =
        find("CHROMIUM", &["chromium", "chromium-browser", "google-chrome", "google-chrome-stable"]);
    let driver = find("CHROMEDRIVER", &["chromedriver"]);
    match (chromium, driver) {
        (Some(chromium), Some(driver)) => Ok(Browser { chromium, driver }),
        (chromium, _) => bail!(
            "The browser tests need Chromium and ChromeDriver of the same version; {} is missing.\n\
             `cargo verify` installs both where it may. By hand: on Debian or Ubuntu \
             `apt-get install {}`; elsewhere install them in your system's way and put them on PATH, or name \
             them in CHROMIUM and CHROMEDRIVER.",
            if chromium.is_some() { "ChromeDriver" } else { "Chromium" },
            BROWSER_PACKAGES.join(" ")
        ),
    }
}

fn find(variable: &str, names: &[&str]) -> Option<PathBuf> {
    if let Some(path) = env::var_os(variable) {
        return Some(PathBuf::from(path));
    }
    let path = env::var_os("PATH")?;
    let folders: Vec<PathBuf> = env::split_paths(&path).collect();
    names
        .iter()
        .flat_map(|name| {
            folders.iter().map(move |folder| folder.join(name).with_extension(env::consts::EXE_EXTENSION))
        })
        .find(|candidate| candidate.is_file())
}

/// Finds the browser, or installs it by apt when we are root on a system that has apt.
pub fn ensure_browser() -> Result<Browser> {
    let missing = match find_browser() {
        Ok(browser) => return Ok(browser),
        Err(missing) => missing,
    };
    if !(is_root() && answers(Command::new("apt-get").arg("--version"))) {
        return Err(missing);
    }
    println!("Installing {}", BROWSER_PACKAGES.join(", "));
    cargo::run(Command::new("apt-get").args(["-qq", "update"]).stdin(Stdio::null()))?;
    cargo::run(
        Command::new("apt-get")
            .args(["-qq", "install", "--yes", "--no-install-recommends"])
            .args(BROWSER_PACKAGES)
            .env("DEBIAN_FRONTEND", "noninteractive")
            .stdin(Stdio::null()),
    )?;
    find_browser()
}

fn is_root() -> bool {
    let id = Command::new("id").arg("-u").stderr(Stdio::null()).output();
    id.is_ok_and(|output| output.stdout.trim_ascii() == b"0")
}

/// Makes sure that Python can make a virtual environment.
pub fn ensure_python() -> Result<()> {
    if answers(Command::new("python3").args(["-c", "import ensurepip, venv"])) {
        return Ok(());
    }
    bail!(
        "The reference values need Python 3 with its module venv: on Debian or Ubuntu \
         `apt-get install python3-venv`, elsewhere install Python 3 in your system's way."
    )
}

/// Makes sure that `cargo COMMAND` is there, from rustup's component of the name given.
pub fn ensure_component(command: &str, component: &str) -> Result<()> {
    if answers(cargo::cargo()?.args([command, "--version"])) {
        return Ok(());
    }
    println!("Adding {component}");
    cargo::run(Command::new("rustup").args(["component", "add", component]))
        .with_context(|| format!("the check needs {component}: install it as your Rust was installed"))
}

/// Installs cargo-deny from the registry unless some version of it is there.
///
/// Its default features bring certificates for fetching advisories; the checks run here need no network.
pub fn ensure_cargo_deny() -> Result<()> {
    if answers(cargo::cargo()?.args(["deny", "--version"])) {
        return Ok(());
    }
    println!("Installing cargo-deny (about three minutes, once)");
    cargo::run(
        cargo::cargo()?
            .args(["install", "cargo-deny", "--version", "=0.20.2", "--locked", "--no-default-features"])
            // The new binary belongs to the machine, not to this workspace's target folder.
            .current_dir(env::temp_dir()),
    )
    .context("the licence check needs cargo-deny: `cargo install cargo-deny --locked`")
}

/// Whether a command can be run and says that all is well.
fn answers(command: &mut Command) -> bool {
    command
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status()
        .is_ok_and(|status| status.success())
}
