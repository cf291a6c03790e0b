//! Rebuilds the page when a source changes.

use std::path::Path;
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

use anyhow::{Context, Result};
use notify::{Event, RecursiveMode, Watcher};

use crate::cargo;
use crate::page::{Mode, build};

/// What the page is made of.
const SOURCES: [&str; 7] = [
    "index.html",
    "Cargo.toml",
    "app/Cargo.toml",
    "app/src",
    "app/static",
    "engine/Cargo.toml",
    "engine/src",
];

/// An editor writes several files at once: wait for it to fall silent.
const QUIET: Duration = Duration::from_millis(150);

/// Rebuilds until stopped; after a failed build the last good page goes on being served.
pub fn rebuild_on_change(dist: &Path) -> Result<()> {
    let (sender, changes) = channel();
    let mut watcher = notify::recommended_watcher(sender)?;
    let root = cargo::workspace_root()?;
    for source in SOURCES {
        let path = root.join(source);
        watcher.watch(&path, RecursiveMode::Recursive).with_context(|| format!("cannot watch {source}"))?;
    }
    eprintln!("Watching for changes (no offline use while watching)");
    while let Some(()) = changed(&changes)? {
        match build(dist, Mode::Watch) {
            Ok(()) => eprintln!("Reload the page to see it"),
            Err(error) => eprintln!("{error:#}\nThe last good page is still served"),
        }
    }
    Ok(())
}

/// Waits for a change and for the quiet after it.
fn changed(changes: &Receiver<notify::Result<Event>>) -> Result<Option<()>> {
    loop {
        let Ok(event) = changes.recv() else { return Ok(None) };
        // Reading a file, as the compiler does, is no change.
        if !event?.kind.is_access() {
            break;
        }
    }
    while changes.recv_timeout(QUIET).is_ok() {}
    Ok(Some(()))
}
