//! The service worker's list of files.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use anyhow::{Context, Result};
use base64::prelude::{BASE64_STANDARD, Engine};
use sha2::{Digest, Sha256};

use crate::page::Mode;

/// Served as `sw.js` while watching: takes the place of a service worker left from an earlier
/// `cargo start` at the same address, and of itself.
const REMOVER: &str = "\
self.addEventListener(\"install\", () => self.skipWaiting());
self.addEventListener(\"activate\", (event) => event.waitUntil(remove()));
async function remove() {
  for (const name of await caches.keys()) await caches.delete(name);
  await self.registration.unregister();
  for (const page of await self.clients.matchAll({ type: \"window\" })) await page.navigate(page.url);
}
";

/// Gives `sw.js` in `folder` its version and list of files, or takes offline use away.
pub fn write_service_worker(folder: &Path, mode: Mode) -> Result<()> {
    let path = folder.join("sw.js");
    if mode == Mode::Watch {
        return Ok(fs::write(path, REMOVER)?);
    }
    let script = fs::read_to_string(&path).context("app/static/sw.js is missing")?;
    fs::remove_file(&path)?;
    let mut files = BTreeMap::new();
    collect(folder, "", &mut files)?;
    // A page that lists itself would never settle on a hash; a host may forward /index.html to /.
    let index = files.remove("index.html").context("the page has no index.html")?;
    files.insert(String::new(), index);

    let list = serde_json::to_string_pretty(&files)?;
    let version = &integrity(list.as_bytes())["sha256-".len()..];
    fs::write(path, format!("const VERSION = \"{version}\";\nconst FILES = {list};\n{script}"))?;
    Ok(())
}

/// Every file under `folder`, by its path from there, with its hash.
fn collect(folder: &Path, prefix: &str, files: &mut BTreeMap<String, String>) -> Result<()> {
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let name = entry.file_name().into_string().ok().context("a file name is not UTF-8")?;
        let path = format!("{prefix}{name}");
        if entry.file_type()?.is_dir() {
            collect(&entry.path(), &format!("{path}/"), files)?;
        } else {
            files.insert(path, integrity(&fs::read(entry.path())?));
        }
    }
    Ok(())
}

/// The hash in the form browsers check.
fn integrity(bytes: &[u8]) -> String {
    format!("sha256-{}", BASE64_STANDARD.encode(Sha256::digest(bytes)))
}
