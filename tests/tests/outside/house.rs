//! Arrows run down only.

use std::collections::BTreeSet;

use launch::cargo;

/// The names of all crates that `package` is built of, for the target given.
fn crates_of(package: &str, target: &str) -> BTreeSet<String> {
    let mut command = cargo::cargo().unwrap();
    command.args(["tree", "--locked", "-p", package, "--edges", "normal", "--target", target]);
    command.args(["--prefix", "none", "--format", "{lib}"]);
    let names = cargo::output(&mut command).unwrap();
    names.lines().map(|line| line.trim_end_matches(" (*)").to_owned()).collect()
}

#[test]
fn the_engine_knows_no_screen() {
    let engine = crates_of("engine", cargo::WASM);
    assert!(engine.contains("engine"), "{engine:?}");
    for screen in ["wasm_bindgen", "js_sys", "web_sys", "yew", "gloo", "plotters", "app"] {
        assert!(!engine.contains(screen), "the engine depends on {screen}");
    }
    assert!(crates_of("app", cargo::WASM).contains("web_sys"), "this check sees no dependencies at all");
}
