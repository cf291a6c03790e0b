//! Solves and the commands that design, on plans of 100 and 1,000 slots: `cargo bench -p engine`.

use divan::Bencher;
use engine::analysis::analyse;
use engine::design;
use engine::network::{Settings, Solver, from_plan, solve};
use engine::plan::{BuildStyle, Plan, Point, Section, file};

const SLOTS: [u32; 2] = [100, 1_000];

fn main() {
    divan::main();
}

/// The smallest example plan grown to `slots` slots on runs of 25, every size in proportion.
fn plan(slots: u32) -> Plan {
    let text = include_str!("../../tests/plans/minimal.evenrise.json");
    let mut plan = file::read(text).expect("the example opens");
    let runs = slots / 25;
    let scale = f64::from(slots) / 13.0;
    let (row, run, fan_points) =
        (plan.slot_rows[0].clone(), plan.ducts[0].clone(), plan.heater.fan.points.clone());
    plan.required_flow_kg_s *= scale;
    plan.heater.fan.outlet_area_m2 *= scale;
    plan.heater.fan.points = fan_points
        .into_iter()
        .map(|mut point| {
            point.flow_m3_s *= scale;
            point
        })
        .collect();
    plan.returns[0].width_m *= scale;
    plan.openings[0].width_m *= scale;
    plan.exhausts[0].mass_flow_kg_s *= scale;
    plan.ducts.clear();
    plan.slot_rows.clear();
    let origin = plan.heater.discharge;
    let mut trunk = run.clone();
    trunk.id = "trunk".into();
    trunk.path = vec![origin, Point::new(origin.x_m, origin.y_m + f64::from(runs))];
    trunk.section = Section::Rectangular { width_m: 0.5 * scale.sqrt(), height_m: 0.5 * scale.sqrt() };
    plan.ducts.push(trunk);
    for r in 0..runs {
        let mut duct = run.clone();
        duct.id = format!("run-{r}");
        let y = origin.y_m + f64::from(r) + 0.5;
        duct.path = vec![Point::new(origin.x_m, y), Point::new(origin.x_m + 11.0, y)];
        duct.section = Section::Rectangular { width_m: 0.6, height_m: 0.45 };
        let mut slots = row.clone();
        slots.id = format!("slots-{r}");
        slots.duct.clone_from(&duct.id);
        slots.count = 25;
        plan.ducts.push(duct);
        plan.slot_rows.push(slots);
    }
    plan
}

#[divan::bench(args = SLOTS)]
fn build(bencher: Bencher, slots: u32) {
    let plan = plan(slots);
    bencher.bench_local(|| from_plan::build(&plan));
}

#[divan::bench(args = SLOTS)]
fn solve_cold(bencher: Bencher, slots: u32) {
    let built = from_plan::build(&plan(slots)).expect("builds");
    bencher.bench_local(|| solve(&built.network, &Settings::default()));
}

#[divan::bench(args = SLOTS)]
fn solve_warm(bencher: Bencher, slots: u32) {
    let built = from_plan::build(&plan(slots)).expect("builds");
    let mut solver = Solver::new(&built.network);
    let last = solver.solve(&built.network, &Settings::default(), None);
    assert!(last.converged());
    bencher.bench_local(|| solver.solve(&built.network, &Settings::default(), Some(&last)));
}

#[divan::bench(args = SLOTS)]
fn analyse_plan(bencher: Bencher, slots: u32) {
    let plan = plan(slots);
    bencher.bench_local(|| analyse(&plan));
}

#[divan::bench(args = SLOTS)]
fn even_out(bencher: Bencher, slots: u32) {
    let plan = plan(slots);
    bencher.bench_local(|| design::even_out(&plan).expect("can be evened out"));
}

#[divan::bench(args = SLOTS)]
fn set_returns(bencher: Bencher, slots: u32) {
    let plan = plan(slots);
    bencher.bench_local(|| design::set_returns(&plan).expect("can be set"));
}

#[divan::bench(args = SLOTS)]
fn heat(bencher: Bencher, slots: u32) {
    let mut plan = plan(slots);
    let load = r#"{"parts": [{"id": "part", "kg_per_m": 10, "shape": {"sheet": {"thickness_m": 0.002}}}]}"#;
    plan.load = serde_json::from_str(load).expect("a load");
    plan.zones[0].set_temperature_c = 0.9 * plan.heater.supply_temperature_c;
    let built = from_plan::build(&plan).expect("builds");
    let solution = solve(&built.network, &Settings::default());
    let (found, told) = engine::heat::report::of_plan(&plan, &built, &solution);
    assert!(found.is_some(), "{told:?}");
    bencher.bench_local(|| engine::heat::report::of_plan(&plan, &built, &solution));
}

/// The plan with returns set and slots evened out, as later commands find it.
fn evened(slots: u32) -> Plan {
    design::even_out(&plan(slots)).expect("can be evened out").plan
}

#[divan::bench(args = SLOTS)]
fn even_out_in_five_patterns(bencher: Bencher, slots: u32) {
    let mut plan = plan(slots);
    plan.shop.max_patterns = Some(5);
    bencher.bench_local(|| design::even_out(&plan));
}

#[divan::bench(args = SLOTS)]
fn even_out_by_pitch(bencher: Bencher, slots: u32) {
    let mut plan = plan(slots);
    plan.shop.build = BuildStyle::VariedPitch;
    bencher.bench_local(|| design::even_out(&plan).expect("can be evened out"));
}

#[divan::bench(args = SLOTS)]
fn even_out_by_stepped_duct(bencher: Bencher, slots: u32) {
    let mut plan = plan(slots);
    plan.shop.build = BuildStyle::SteppedDuct;
    bencher.bench_local(|| design::even_out(&plan));
}

#[divan::bench(args = SLOTS)]
fn find_speed(bencher: Bencher, slots: u32) {
    let plan = evened(slots);
    bencher.bench_local(|| design::find_speed(&plan).expect("a speed exists"));
}

#[divan::bench(args = SLOTS)]
fn fit_drive(bencher: Bencher, slots: u32) {
    let plan = evened(slots);
    bencher.bench_local(|| design::fit_drive(&plan).expect("a drive exists"));
}

#[divan::bench(args = SLOTS)]
fn fan_duty(bencher: Bencher, slots: u32) {
    let plan = evened(slots);
    bencher.bench_local(|| design::fan_duty(&plan).expect("has a duty"));
}

#[divan::bench(args = SLOTS)]
fn level_by_dampers(bencher: Bencher, slots: u32) {
    let plan = evened(slots);
    bencher.bench_local(|| design::level_runs(&plan, design::LevelBy::Damper));
}

#[divan::bench(args = SLOTS)]
fn suggest_sections(bencher: Bencher, slots: u32) {
    let plan = evened(slots);
    bencher.bench_local(|| design::suggest_sections(&plan, design::Budget::Velocity { most_m_s: 10.0 }));
}

#[divan::bench(args = SLOTS)]
fn compare_courses(bencher: Bencher, slots: u32) {
    let plan = evened(slots);
    bencher.bench_local(|| design::compare_courses(&plan, 8.0).expect("compared"));
}
