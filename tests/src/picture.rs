//! Pictures compared with golden ones, in letters that are the same on every machine.

use std::fs;
use std::path::Path;

use serde_json::Value;

use crate::browser::Page;
use crate::golden::{artefact, blessing, in_repository, keep_picture};
use crate::npm::package;

/// The letters of golden pictures: DejaVu Sans, free, from npm; no part of the page.
const FONT: (&str, &str) = ("dejavu-fonts-ttf", "2.37.3");
/// Most pixels that may differ, as a share of all.
const MOST_DIFFERENT: f64 = 0.005;

/// The text of a font configuration that knows no letters but these.
pub fn only_test_letters(cache: &Path) -> String {
    let letters = package(FONT.0, FONT.1).join("ttf");
    let letters = letters.canonicalize().unwrap_or(letters);
    format!(
        "<?xml version=\"1.0\"?><!DOCTYPE fontconfig SYSTEM \"fonts.dtd\"><fontconfig>\
         <dir>{}</dir><cachedir>{}</cachedir>\
         <alias><family>sans-serif</family><prefer><family>DejaVu Sans</family></prefer></alias>\
         <alias><family>system-ui</family><prefer><family>DejaVu Sans</family></prefer></alias>\
         <alias><family>monospace</family><prefer><family>DejaVu Sans Mono</family></prefer></alias>\
         </fontconfig>",
        letters.display(),
        cache.display()
    )
}

/// Compares `png` with the golden picture at `path`, or rewrites that when blessing. Leaves the browser on an
/// empty page: it is the browser that reads the pictures.
///
/// # Panics
/// When they differ in size or in more than 0.5 % of the pixels.
pub async fn assert_picture(page: &Page, path: &str, png: &[u8]) {
    keep_picture(path, png);
    if blessing() {
        return;
    }
    let golden = fs::read(in_repository(path)).unwrap_or_else(|error| panic!("{path}: {error}"));
    let (share, size) = difference(page, &golden, png).await;
    let name = Path::new(path).file_name().expect("a golden is a file").to_string_lossy();
    let found = artefact(&format!("found-{name}"));
    fs::write(&found, png).unwrap_or_else(|error| panic!("cannot write {}: {error}", found.display()));
    assert!(
        share <= MOST_DIFFERENT,
        "{path}: {:.2} % of the pixels differ ({size}); what was found is in {}; `cargo verify --bless` accepts it",
        100.0 * share,
        found.display()
    );
}

/// Share of pixels that differ by more than a hair, 1 where the sizes do, and both sizes in words.
pub async fn difference(page: &Page, a: &[u8], b: &[u8]) -> (f64, String) {
    const SCRIPT: &str = "const read = async (bytes) => { \
            const image = await createImageBitmap(new Blob([new Uint8Array(bytes)], { type: 'image/png' })); \
            const canvas = new OffscreenCanvas(image.width, image.height), ink = canvas.getContext('2d'); \
            ink.drawImage(image, 0, 0); \
            return ink.getImageData(0, 0, image.width, image.height); }; \
        return (async () => { \
            const [a, b] = await Promise.all([...arguments].slice(0, 2).map(read)); \
            const size = `${a.width} × ${a.height} and ${b.width} × ${b.height}`; \
            if (a.width !== b.width || a.height !== b.height) return [1, size]; \
            let off = 0; \
            for (let i = 0; i < a.data.length; i += 4) \
                off += [0, 1, 2].some((k) => Math.abs(a.data[i + k] - b.data[i + k]) > 8) ? 1 : 0; \
            return [off / (a.width * a.height), size]; })();";
    page.client().goto("about:blank").await.unwrap_or_else(|error| panic!("no empty page: {error}"));
    let list = |bytes: &[u8]| Value::from(bytes.to_vec());
    let found = page.eval(SCRIPT, &[list(a), list(b)]).await;
    (found[0].as_f64().unwrap_or(1.0), found[1].as_str().unwrap_or_default().to_owned())
}
