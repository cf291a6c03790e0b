//! The example plans.

use engine::design::set_returns;
use engine::plan::{Plan, file};

/// The text of `tests/plans/{name}.evenrise.json`.
pub fn text(name: &str) -> String {
    let path = format!("{}/../tests/plans/{name}.evenrise.json", env!("CARGO_MANIFEST_DIR"));
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
