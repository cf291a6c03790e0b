//! Even out by targets, tolerance, even out for P90, bench piece, coverage and alternatives: `cargo bench -p engine --bench as_built`.

use divan::Bencher;
use engine::analysis::analyse;
use engine::coverage::coverage;
use engine::design::{
    EvenTarget, Tolerance, ToleranceSettings, alternatives, even_out, even_out_p90, even_out_to,
    fit_bench_pieces, set_returns, tolerance,
};
use engine::network::{Settings, Solver, from_plan};
use engine::plan::{BenchPiece, Plan, SlotReading, file};

/// A plan of 130 slots, and one of 1,040.
const PLANS: [&str; 2] = ["garden-gates", "shelving-frames"];
const FEW: ToleranceSettings = ToleranceSettings { samples: 64, seed: 1 };

fn main() {
    divan::main();
}

fn plan(name: &str) -> Plan {
    let text = match name {
        "garden-gates" => include_str!("../../tests/plans/garden-gates.evenrise.json"),
        _ => include_str!("../../tests/plans/shelving-frames.evenrise.json"),
    };
    set_returns(&file::read(text).expect("the example opens")).expect("returns can be set").plan
}

fn evened(name: &str) -> Plan {
    even_out(&plan(name)).expect("can be evened out").plan
}

/// With the load of the plan: heat and air in turn, twice.
#[divan::bench]
fn even_out_to_temperature(bencher: Bencher) {
    let mut plan = plan("garden-gates");
    plan.shop.max_width_m = 0.06;
    bencher.bench_local(|| even_out_to(&plan, EvenTarget::Temperature));
}

#[divan::bench(args = PLANS)]
fn even_out_per_metre(bencher: Bencher, name: &str) {
    let plan = plan(name);
    bencher.bench_local(|| even_out_to(&plan, EvenTarget::PerMetre));
}

/// To set against a sample.
#[divan::bench(args = PLANS)]
fn solve_warm(bencher: Bencher, name: &str) {
    let built = from_plan::build(&evened(name)).expect("builds");
    let mut solver = Solver::new(&built.network);
    let last = solver.solve(&built.network, &Settings::default(), None);
    bencher.bench_local(|| solver.solve(&built.network, &Settings::default(), Some(&last)));
}

#[divan::bench(args = PLANS)]
fn tolerance_sample(bencher: Bencher, name: &str) {
    let evened = evened(name);
    let settings = ToleranceSettings { samples: 1_000_000, seed: 1 };
    let mut study = Tolerance::new(&evened, settings).expect("can be studied");
    for _ in 0..100 {
        study.step();
    }
    bencher.bench_local(|| study.step());
}

#[divan::bench(args = PLANS, sample_count = 3)]
fn tolerance_1000(bencher: Bencher, name: &str) {
    let evened = evened(name);
    bencher.bench_local(|| tolerance(&evened, ToleranceSettings { samples: 1_000, seed: 1 }));
}

#[divan::bench(args = PLANS, sample_count = 3)]
fn even_out_for_p90(bencher: Bencher, name: &str) {
    let plan = plan(name);
    bencher.bench_local(|| even_out_p90(&plan, None, FEW).expect("can be evened out"));
}

#[divan::bench(args = PLANS, sample_count = 3)]
fn three_alternatives(bencher: Bencher, name: &str) {
    let plan = plan(name);
    bencher.bench_local(|| alternatives(&plan, FEW).expect("found"));
}

#[divan::bench(args = PLANS)]
fn cover(bencher: Bencher, name: &str) {
    let evened = evened(name);
    let analysis = analyse(&evened).expect("solves");
    bencher.bench_local(|| coverage(&evened, &analysis).expect("can be covered"));
}

#[divan::bench]
fn fit_a_bench_piece(bencher: Bencher) {
    let mut plan = plan("garden-gates");
    plan.bench_pieces = vec![piece()];
    bencher.bench_local(|| fit_bench_pieces(&plan).expect("can be fitted"));
}

/// Ten slots, area ratio 0.8, readings as the sharp edge gives them.
fn piece() -> BenchPiece {
    let text = r#"{"id": "piece", "section": {"width_m": 0.5, "height_m": 0.4}, "root_m": 0, "pitch_m": 1,
        "count": 10, "length_m": 0.4, "width_m": 0.04, "temperature_c": 200.2, "root_static_pa": 136.09,
        "end_static_pa": 168.42, "flow_m3_s": 2, "slots": []}"#;
    let mut piece: BenchPiece = serde_json::from_str(text).expect("a piece");
    piece.slots = [(1, 11.13), (5, 12.53), (10, 13.38)]
        .map(|(slot, velocity_m_s)| SlotReading { slot, velocity_m_s })
        .to_vec();
    piece
}
