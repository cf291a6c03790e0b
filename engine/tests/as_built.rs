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

#[test]
fn big() {
    let t = std::time::Instant::now();
    let p = evened("shelving-frames.evenrise.json");
    println!("evened {:?}", t.elapsed());
    let a = engine::analysis::analyse(&p).unwrap();
    println!("{:?} {:?}", a.evenness, a.fan);
    for n in [64, 128, 500] {
        for seed in 1..=3 {
            let t = std::time::Instant::now();
            let r = tolerance(&p, ToleranceSettings { samples: n, seed }).unwrap();
            println!("{n} {:?} {:?} {:?} {:?} failed {}", t.elapsed(), r.nominal, r.p50, r.p90, r.failed);
            if seed == 1 {
                println!("{:?}", r.inputs);
            }
        }
    }
}

#[test]
fn p90() {
    for name in
        ["shelving-frames.evenrise.json", GATES, "fence-tunnel.evenrise.json", "lantern-box.evenrise.json"]
    {
        let p = set_returns(&plan(name)).unwrap().plan;
        let t = std::time::Instant::now();
        let d = engine::design::even_out_p90(&p, None, ToleranceSettings { samples: 64, seed: 1 }).unwrap();
        println!(
            "{name} {:?} {:?} {:?} power {} {} {:?}",
            t.elapsed(),
            d.study_before.p90,
            d.study_after.p90,
            d.before.fan.shaft_power_w,
            d.after.fan.shaft_power_w,
            d.sheet_kg
        );
        let t = std::time::Instant::now();
        let d = engine::design::alternatives(&p, ToleranceSettings { samples: 64, seed: 1 }).unwrap();
        println!("{:?} tried {}", t.elapsed(), d.tried);
        for a in d.alternatives {
            println!("{:?} {:.0} {:.0} {:.2}", a.merit, a.sheet_kg, a.fan_kwh_per_year, a.p90_percent);
        }
    }
}
