//! Where the workspace is, and how its tools are called.

use std::env;
use std::ffi::{OsStr, OsString};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use anyhow::{Context, Result, bail, ensure};

/// The page's target.
pub const WASM: &str = "wasm32-unknown-unknown";

/// The folder with the lock file, above the package being run or else above the current folder.
pub fn workspace_root() -> Result<PathBuf> {
    let start = match env::var_os("CARGO_MANIFEST_DIR") {
        Some(folder) => PathBuf::from(folder),
        None => env::current_dir()?,
    };
    let root = start.ancestors().find(|folder| folder.join("Cargo.lock").is_file());
    Ok(root
        .with_context(|| format!("{} is not inside the Evenrise workspace", start.display()))?
        .to_path_buf())
}

/// The cargo that runs us, in the workspace's root.
pub fn cargo() -> Result<Command> {
    let mut command = Command::new(env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    command.current_dir(workspace_root()?);
    Ok(command)
}

/// Runs a command to its end; an error names it.
pub fn run(command: &mut Command) -> Result<()> {
    let status = command.status().with_context(|| format!("cannot run {}", line(command)))?;
    ensure!(status.success(), "{} failed ({status})", line(command));
    Ok(())
}

/// Runs a command and returns what it printed; its error output goes to ours.
pub fn output(command: &mut Command) -> Result<String> {
    let output =
        command.stderr(Stdio::inherit()).output().with_context(|| format!("cannot run {}", line(command)))?;
    ensure!(output.status.success(), "{} failed ({})", line(command), output.status);
    String::from_utf8(output.stdout)
        .with_context(|| format!("{} printed something that is not UTF-8", line(command)))
}

/// The command as a person would type it.
fn line(command: &Command) -> String {
    let program = Path::new(command.get_program()).file_name().unwrap_or_default().to_owned();
    let words: Vec<OsString> =
        std::iter::once(program).chain(command.get_args().map(OsStr::to_owned)).collect();
    words.join(OsStr::new(" ")).to_string_lossy().into_owned()
}

/// Adds the wasm target to the toolchain in use unless it is there.
///
/// A toolchain file would do it too, but it may update the whole toolchain, and does nothing where
/// automatic installation is switched off.
pub fn ensure_wasm_target() -> Result<()> {
    let rustc = env::var_os("RUSTC").unwrap_or_else(|| "rustc".into());
    let libdir = output(Command::new(rustc).args(["--print", "target-libdir", "--target", WASM]))?;
    if Path::new(libdir.trim()).is_dir() {
        return Ok(());
    }
    eprintln!("Adding the {WASM} target");
    if let Err(error) = run(Command::new("rustup").args(["target", "add", WASM])) {
        bail!(
            "{error:#}\nThe page needs Rust's {WASM} target: install it as your Rust was installed, then try again."
        );
    }
    Ok(())
}

/// Compiler flags of everything that is built for the page: no folder of this machine in the download,
/// and the same bytes from every checkout.
pub fn page_rustflags() -> Result<OsString> {
    let mut remaps = vec![(workspace_root()?, "evenrise")];
    let home = env::var_os("HOME").or_else(|| env::var_os("USERPROFILE")).map(PathBuf::from);
    if let Some(cargo_home) =
        env::var_os("CARGO_HOME").map(PathBuf::from).or(home.map(|home| home.join(".cargo")))
    {
        remaps.push((cargo_home, "cargo"));
    }
    let rustc = env::var_os("RUSTC").unwrap_or_else(|| "rustc".into());
    remaps.push((PathBuf::from(output(Command::new(rustc).args(["--print", "sysroot"]))?.trim()), "rust"));

    let mut flags = OsString::new();
    for (from, to) in remaps {
        if !flags.is_empty() {
            flags.push("\x1f");
        }
        flags.push("--remap-path-prefix=");
        flags.push(from);
        flags.push("=");
        flags.push(to);
    }
    Ok(flags)
}
