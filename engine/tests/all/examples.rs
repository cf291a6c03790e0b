//! The example plans and what is kept beside them.

use engine::design::set_returns;
use engine::plan::{Plan, file};
use std::path::PathBuf;

/// Where the example plans are, and what is generated from them.
pub fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../tests/plans")
}

/// Holds `text` against the committed file of this name, or commits it where that was asked for.
pub fn on_record(name: &str, text: &str) {
    let path = folder().join(name);
    if std::env::var_os("EVENRISE_BLESS").is_some() {
        std::fs::write(&path, text).unwrap();
    }
    let known = std::fs::read_to_string(&path).unwrap_or_default();
    assert_eq!(text, known, "bless with cargo verify --bless when intended");
}

/// The text of an example plan.
pub fn text(name: &str) -> String {
    let path = folder().join(format!("{name}.evenrise.json"));
    std::fs::read_to_string(path).expect("the example plan is there")
}

/// The plan of this name.
pub fn plan(name: &str) -> Plan {
    file::read(&text(name)).expect("an example plan opens")
}

/// The same with its returns set.
pub fn with_returns(name: &str) -> Plan {
    set_returns(&plan(name)).expect("returns can be set").plan
}

/// A small plan of two zones, known place by place.
pub fn two_zones() -> Plan {
    file::read(include_str!("two-zones.evenrise.json")).expect("it opens")
}
