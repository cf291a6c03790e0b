//! How even plans will be as built.

use engine::design::{Input, ToleranceSettings, even_out, set_returns, tolerance};
use engine::plan::{Plan, file};
use std::path::PathBuf;

fn plan(name: &str) -> Plan {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../tests/plans").join(name);
    file::read(&std::fs::read_to_string(path).expect("the example plan is there")).expect("it opens")
}

fn evened(name: &str) -> Plan {
    even_out(&set_returns(&plan(name)).expect("returns can be set").plan)
        .expect("slots can be evened out")
        .plan
}

const GATES: &str = "garden-gates.evenrise.json";

#[test]
fn figures_are_stable_over_seeds() {
    let gates = evened(GATES);
    let results: Vec<_> = (1..=5)
        .map(|seed| tolerance(&gates, ToleranceSettings { samples: 500, seed }).expect("a study"))
        .collect();
    for r in &results {
        println!("{:?} {:?} {:?} {}", r.nominal, r.p50, r.p90, r.worst_slot);
        println!("{:?}", r.inputs);
    }
}
