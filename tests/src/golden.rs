//! Files that tests compare with. Only `cargo verify --bless` rewrites them.

use std::fs;
use std::path::{Path, PathBuf};

/// Whether this run may rewrite goldens and pictures.
pub fn blessing() -> bool {
    std::env::var_os("EVENRISE_BLESS").is_some()
}

/// A path in the repository.
pub fn in_repository(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(path)
}

/// Where a test leaves things to look at; not part of the repository.
pub fn artefact(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("artefacts");
    fs::create_dir_all(&folder).unwrap_or_else(|error| panic!("cannot make {}: {error}", folder.display()));
    folder.join(name)
}

/// Compares a text with the golden file at `path`, or rewrites the file when blessing.
pub fn assert_golden(path: &str, text: &str) {
    let file = in_repository(path);
    if blessing() {
        write(&file, text.as_bytes());
        return;
    }
    let expected = fs::read_to_string(&file)
        .unwrap_or_else(|error| panic!("{path}: {error}; `cargo verify --bless` writes it"));
    if expected == text {
        return;
    }
    let name = file.file_name().expect("a golden is a file").to_string_lossy();
    let found = artefact(&name);
    write(&found, text.as_bytes());
    let line = 1 + expected.lines().zip(text.lines()).take_while(|(a, b)| a == b).count();
    panic!(
        "{path} differs from line {line} on; what was found is in {}; `cargo verify --bless` accepts it",
        found.display()
    );
}

/// Keeps a picture for the documentation: written when blessing, else only required to be there.
///
/// Pixels differ between browser versions, so they are not compared.
pub fn keep_picture(path: &str, png: &[u8]) {
    let file = in_repository(path);
    if blessing() {
        write(&file, png);
    }
    assert!(file.is_file(), "{path} is missing; `cargo verify --bless` writes it");
}

fn write(file: &Path, bytes: &[u8]) {
    if let Some(folder) = file.parent() {
        fs::create_dir_all(folder)
            .unwrap_or_else(|error| panic!("cannot make {}: {error}", folder.display()));
    }
    fs::write(file, bytes).unwrap_or_else(|error| panic!("cannot write {}: {error}", file.display()));
}
