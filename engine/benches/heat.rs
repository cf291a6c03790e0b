//! The heat balance: how many air solves it takes and how long: `cargo bench -p engine --bench heat`.

use divan::Bencher;
use engine::analysis::analyse;
use engine::heat::damper_travel;
use engine::plan::{Plan, file};

/// Every example plan; those without a load get that of the first.
const PLANS: [(&str, &str); 6] = [
    ("garden-gates", include_str!("../../tests/plans/garden-gates.evenrise.json")),
    ("minimal", include_str!("../../tests/plans/minimal.evenrise.json")),
    ("planter-ring", include_str!("../../tests/plans/planter-ring.evenrise.json")),
    ("lantern-box", include_str!("../../tests/plans/lantern-box.evenrise.json")),
    ("fence-tunnel", include_str!("../../tests/plans/fence-tunnel.evenrise.json")),
    ("shelving-frames", include_str!("../../tests/plans/shelving-frames.evenrise.json")),
];

fn loaded(text: &str) -> Plan {
    let gates = file::read(PLANS[0].1).expect("the first opens");
    let mut plan = file::read(text).expect("the example opens");
    plan.load = plan.load.or(gates.load);
    plan.heater.burner = plan.heater.burner.or(gates.heater.burner);
    plan
}

fn main() {
    println!(
        "{:<16} {:>10} {:>12} {:>10} {:>12}",
        "plan", "air solves", "Newton steps", "behind, K", "residual"
    );
    for (name, text) in PLANS {
        match analyse(&loaded(text)).expect("can be calculated").heat {
            Some(heat) => println!(
                "{name:<16} {:>10} {:>12} {:>10.4} {:>12.1e}",
                heat.air_solves, heat.air_steps, heat.air_behind_k, heat.energy_residual
            ),
            None => println!("{name:<16} no heat balance"),
        }
    }
    divan::main();
}

#[divan::bench(args = PLANS.map(|(name, _)| name))]
fn balance(bencher: Bencher, name: &str) {
    let text = PLANS.into_iter().find(|(known, _)| *known == name).expect("is there").1;
    let plan = loaded(text);
    bencher.bench_local(|| analyse(&plan));
}

/// To set against it: the same without heat.
#[divan::bench(args = PLANS.map(|(name, _)| name))]
fn air_alone(bencher: Bencher, name: &str) {
    let text = PLANS.into_iter().find(|(known, _)| *known == name).expect("is there").1;
    let plan = Plan { load: None, ..loaded(text) };
    bencher.bench_local(|| analyse(&plan));
}

#[divan::bench(sample_count = 3)]
fn travel(bencher: Bencher) {
    let plan = loaded(PLANS[0].1);
    bencher.bench_local(|| damper_travel(&plan));
}
