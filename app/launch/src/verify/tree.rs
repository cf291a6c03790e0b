//! Whether the checks left the repository as it was.

use std::path::{Path, PathBuf};
use std::process::Command;

use anyhow::{Context, Result, bail, ensure};

use crate::cargo;

/// The repository's state: what differs from the last commit, and how.
#[derive(Debug, PartialEq, Eq)]
pub struct Tree {
    root: PathBuf,
    status: String,
    changes: String,
}

impl Tree {
    /// Asks git.
    pub fn now(root: &Path) -> Result<Self> {
        let git = |args: &[&str]| {
            cargo::output(Command::new("git").args(args).current_dir(root))
                .context("the checks need git, and a clone made by it")
        };
        Ok(Self {
            root: root.to_path_buf(),
            status: git(&["status", "--porcelain"])?,
            changes: git(&["diff", "HEAD", "--raw", "--abbrev=40", "--patch"])?,
        })
    }

    /// Compares with the state now. Where nobody edits, as in CI, nothing at all may differ.
    pub fn check(&self, blessed: bool) -> Result<()> {
        let now = Self::now(&self.root)?;
        if std::env::var_os("CI").is_some() {
            ensure!(now.status.is_empty(), "differs from what was committed:\n{}", now.status);
        }
        if now == *self {
            return Ok(());
        }
        if blessed {
            println!("Rewritten by --bless, to be looked at and committed:\n{}", now.status);
            return Ok(());
        }
        bail!("the checks changed the repository (only --bless may):\n{}", now.status)
    }
}
