//! The test binaries of the workspace, compiled together and run one by one.
//!
//! `cargo test -p engine` and then `cargo test -p app` would compile what both depend on twice, since cargo
//! chooses features by the packages named.

use std::path::{Path, PathBuf};
use std::process::Command;

use anyhow::{Context, Result, ensure};
use serde_json::Value;

use crate::cargo;

/// All test binaries.
pub struct Suite {
    bless: bool,
    binaries: Vec<Binary>,
}

struct Binary {
    package: String,
    target: String,
    kind: String,
    /// Tests run in their package's folder.
    folder: PathBuf,
    path: PathBuf,
}

impl Suite {
    /// Compiles the tests of the whole workspace.
    pub fn compile(bless: bool) -> Result<Self> {
        let messages = cargo::output(
            cargo::cargo()?
                .args(["test", "--locked", "--workspace", "--no-run"])
                .arg("--message-format=json-render-diagnostics"),
        )?;
        let mut binaries = Vec::new();
        for line in messages.lines() {
            let message: Value =
                serde_json::from_str(line).context("cargo printed something that is not JSON")?;
            binaries.extend(Binary::from_message(&message));
        }
        ensure!(!binaries.is_empty(), "cargo compiled no test");
        Ok(Self { bless, binaries })
    }

    /// Runs the tests of those targets of a package that `wanted` picks; all of them, even after a failure.
    pub fn run(&self, package: &str, wanted: fn(&str) -> bool, env: &[(&str, &Path)]) -> Result<()> {
        let chosen =
            self.binaries.iter().filter(|binary| binary.package == package && wanted(&binary.target));
        let mut ran = 0;
        let mut failed = Vec::new();
        for binary in chosen {
            println!("-- {} ({} {})", binary.package, binary.kind, binary.target);
            let mut command = Command::new(&binary.path);
            command
                .current_dir(&binary.folder)
                .env("CARGO_MANIFEST_DIR", &binary.folder)
                .envs(env.iter().copied());
            if self.bless {
                command.env("EVENRISE_BLESS", "1");
            }
            ran += 1;
            if cargo::run(&mut command).is_err() {
                failed.push(format!("{} {}", binary.kind, binary.target));
            }
        }
        ensure!(ran > 0, "{package} has no such tests");
        ensure!(failed.is_empty(), "tests failed in {package}: {}", failed.join(", "));
        Ok(())
    }
}

impl Binary {
    /// The test binary that a message of cargo's tells of.
    fn from_message(message: &Value) -> Option<Self> {
        if message["profile"]["test"] != true {
            return None;
        }
        let folder = Path::new(message["manifest_path"].as_str()?).parent()?;
        Some(Self {
            // The members of this workspace are named like their folders.
            package: folder.file_name()?.to_str()?.to_owned(),
            target: message["target"]["name"].as_str()?.to_owned(),
            kind: message["target"]["kind"][0].as_str()?.to_owned(),
            folder: folder.to_owned(),
            path: PathBuf::from(message["executable"].as_str()?),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_test_binaries_are_taken() {
        let message = |test: bool| {
            serde_json::json!({
                "manifest_path": "/w/engine/Cargo.toml",
                "profile": { "test": test },
                "target": { "name": "laws", "kind": ["test"] },
                "executable": "/w/target/debug/deps/laws-1",
            })
        };
        let binary = Binary::from_message(&message(true)).unwrap();
        assert_eq!((binary.package.as_str(), binary.target.as_str()), ("engine", "laws"));
        assert!(Binary::from_message(&message(false)).is_none());
    }

    #[test]
    fn a_package_without_tests_is_an_error() {
        let suite = Suite { bless: false, binaries: Vec::new() };
        assert!(suite.run("engine", |_| true, &[]).is_err());
    }
}
