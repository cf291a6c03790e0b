//! What tests need from npm: fetched once, at a fixed version.

use std::fs;
use std::path::PathBuf;
use std::process::Command;
use std::sync::Mutex;

use crate::golden::in_repository;

/// The folder of a package.
///
/// # Panics
/// When npm is missing or cannot fetch it; the message says what to do.
pub fn package(name: &str, version: &str) -> PathBuf {
    static ONE_AT_A_TIME: Mutex<()> = Mutex::new(());
    let _turn = ONE_AT_A_TIME.lock();
    let folder = in_repository("target").join(name).join(version);
    let package = folder.join("node_modules").join(name);
    if !package.join("package.json").is_file() {
        fs::create_dir_all(&folder)
            .unwrap_or_else(|error| panic!("cannot make {}: {error}", folder.display()));
        // On Windows npm is a script, which only its full name finds.
        let npm = if cfg!(windows) { "npm.cmd" } else { "npm" };
        let status = Command::new(npm)
            .args(["install", "--silent", "--no-save", "--no-package-lock", "--ignore-scripts", "--prefix"])
            .arg(&folder)
            .arg(format!("{name}@{version}"))
            .status()
            .unwrap_or_else(|error| {
                panic!(
                    "This check needs npm ({error}): on Debian or Ubuntu `apt-get install npm`, \
                     elsewhere install Node.js in your system's way."
                )
            });
        assert!(status.success(), "npm could not fetch {name} {version}: {status}");
    }
    package
}
