//! From sources to one folder of files.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Instant;

use anyhow::{Context, Result, ensure};
use wasm_bindgen_cli_support::Bindgen;

use crate::{arrange, cargo, html, offline, policy, slim};

/// What the folder is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mode {
    /// Served from this machine.
    Serve,
    /// Served while it is being changed: no service worker, which would go on showing the last version.
    Watch,
    /// For a web host, which may not let headers be set.
    Pack,
}

/// Builds the page into `out`, replacing what is there only once everything has been built.
pub fn build(out: &Path, mode: Mode) -> Result<()> {
    let started = Instant::now();
    eprintln!("Building the page");
    cargo::ensure_wasm_target()?;
    let wasm = compile()?;

    let root = cargo::workspace_root()?;
    let next = out.with_extension("next");
    clear(&next)?;
    bind(&wasm, &next)?;
    let index = fs::read_to_string(root.join("index.html")).context("cannot read index.html")?;
    let page = html::page(&index, mode)?;
    for folder in &page.copied_folders {
        copy_files(&root.join(folder), &next)?;
    }
    slim::slim(&next)?;
    join(&next, &page.sheets)?;
    fs::write(next.join("index.html"), page.html)?;
    offline::write_service_worker(&next, mode)?;
    if mode == Mode::Pack {
        fs::write(next.join("_headers"), policy::headers_file())?;
    }

    clear(out)?;
    fs::remove_dir(out)?;
    fs::rename(&next, out).with_context(|| format!("cannot write {}", out.display()))?;
    eprintln!("Page built in {:.1} s", started.elapsed().as_secs_f64());
    Ok(())
}

/// `cargo build` with everything that the page's packages have in common.
///
/// Engine and app are always named together: cargo chooses features by what is named, and would build the
/// engine twice.
pub(crate) fn cargo_build() -> Result<Command> {
    let mut command = cargo::cargo()?;
    command
        .args(["build", "--package", "app", "--package", "engine"])
        .args(["--target", cargo::WASM, "--profile", "page"])
        .env("CARGO_ENCODED_RUSTFLAGS", cargo::page_rustflags()?)
        .stdin(Stdio::null());
    Ok(command)
}

/// Compiles the app and returns the wasm file.
fn compile() -> Result<PathBuf> {
    let messages =
        cargo::output(cargo_build()?.args(["--bin", "app", "--message-format=json-render-diagnostics"]))?;
    let executable = messages.lines().find_map(|line| {
        let message: serde_json::Value = serde_json::from_str(line).ok()?;
        Some(PathBuf::from(message["executable"].as_str()?))
    });
    executable.context("cargo built the app but named no wasm file")
}

/// Writes `app.js` and `app_bg.wasm`.
fn bind(wasm: &Path, out: &Path) -> Result<()> {
    let bound = Bindgen::new()
        .input_path(wasm)
        .out_name("app")
        .web(true)?
        .typescript(false)
        .remove_name_section(true)
        .remove_producers_section(true)
        .generate(out);
    bound.with_context(|| format!("cannot write the bindings of {}", wasm.display()))?;
    let (script, module) = (out.join("app.js"), out.join("app_bg.wasm"));
    let (arranged, renamed) = arrange::arrange(&fs::read(&module)?, &fs::read_to_string(&script)?)?;
    fs::write(module, arranged)?;
    fs::write(script, renamed)?;
    Ok(())
}

/// Makes an empty folder.
fn clear(folder: &Path) -> Result<()> {
    if folder.exists() {
        // A folder that somebody else filled is not ours to empty.
        let ours = folder.join("app.js").exists() || fs::read_dir(folder)?.next().is_none();
        ensure!(ours, "{} holds something other than the built page: name an empty folder", folder.display());
        fs::remove_dir_all(folder).with_context(|| format!("cannot empty {}", folder.display()))?;
    }
    fs::create_dir_all(folder).with_context(|| format!("cannot make {}", folder.display()))
}

/// Copies the files of a folder and of the folders in it.
fn copy_files(from: &Path, to: &Path) -> Result<()> {
    for entry in fs::read_dir(from).with_context(|| format!("cannot read {}", from.display()))? {
        let entry = entry?;
        let target = to.join(entry.file_name());
        if entry.file_type()?.is_dir() {
            fs::create_dir_all(&target)?;
            copy_files(&entry.path(), &target)?;
        } else if target.extension().is_some_and(|ending| ending == "css") {
            fs::write(target, lean(&fs::read_to_string(entry.path())?))?;
        } else {
            fs::copy(entry.path(), target)?;
        }
    }
    Ok(())
}

/// Puts the style sheets into one file.
fn join(folder: &Path, sheets: &[String]) -> Result<()> {
    let mut all = String::new();
    for sheet in sheets {
        let path = folder.join(sheet);
        all += &fs::read_to_string(&path).with_context(|| format!("index.html: no style sheet {sheet}"))?;
        fs::remove_file(path)?;
    }
    Ok(fs::write(folder.join(html::SHEET), all)?)
}

/// A style sheet without comments, indentation and empty lines.
fn lean(sheet: &str) -> String {
    let mut parts = sheet.split("/*");
    let first = parts.next().unwrap_or_default();
    let rules = parts.map(|part| part.split_once("*/").map_or("", |(_, rules)| rules));
    let text: String = std::iter::once(first).chain(rules).collect();
    let lines = text.lines().map(str::trim).filter(|line| !line.is_empty());
    lines.collect::<Vec<_>>().join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_style_sheet_keeps_its_rules_alone() {
        let sheet = "/* Why. */\n\na,\nb {\n  color: red; /* red */\n  margin: 0 auto;\n}\n";
        assert_eq!(lean(sheet), "a,\nb {\ncolor: red;\nmargin: 0 auto;\n}");
    }
}
