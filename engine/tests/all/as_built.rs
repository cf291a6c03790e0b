//! How even plans will be as built, and the commands that make them so.

use crate::examples::{plan, with_returns};
use engine::analysis::{Analysis, analyse};
use engine::design::{
    EvenOutP90, Input, SLOT_LAWS, Tolerance, ToleranceResult, ToleranceSettings, alternatives, even_out,
    even_out_p90, fit_bench_pieces, tolerance,
};
use engine::plan::{BenchPiece, Plan, SlotModel, SlotReading, file};

const GATES: &str = "garden-gates";
const DIFFICULT: &str = "shelving-frames";
const FEW: ToleranceSettings = ToleranceSettings { samples: 64, seed: 1 };

fn evened(name: &str) -> Plan {
    even_out(&with_returns(name)).expect("slots can be evened out").plan
}

fn study(plan: &Plan, samples: usize, seed: u64) -> ToleranceResult {
    tolerance(plan, ToleranceSettings { samples, seed }).expect("can be studied")
}

fn points(result: &ToleranceResult, input: Input) -> f64 {
    result.inputs.iter().find(|effect| effect.input == input).expect("every input is there").bay_points
}

/// The figures of five seeds lie within a point of each other: half a point to each side of their middle.
fn stable_over_five_seeds(evened: &Plan, name: &str) -> ToleranceResult {
    let results: Vec<_> = (1..=5).map(|seed| study(evened, 500, seed)).collect();
    type Figure = fn(&ToleranceResult) -> f64;
    let figures: [Figure; 4] = [
        |r| r.p50.worst_bay_percent,
        |r| r.p90.worst_bay_percent,
        |r| r.p50.worst_slot_percent,
        |r| r.p90.worst_slot_percent,
    ];
    for figure in figures {
        let values: Vec<f64> = results.iter().map(figure).collect();
        let (low, high) = values.iter().fold((f64::MAX, 0.0_f64), |(l, h), &v| (l.min(v), h.max(v)));
        println!("{name}: {values:.2?}");
        assert!(high - low <= 1.0, "{name} {values:?}");
    }
    results.into_iter().next().expect("five")
}

#[test]
fn figures_are_stable_over_five_seeds() {
    for name in [GATES, "lantern-box"] {
        let r = stable_over_five_seeds(&evened(name), name);
        assert!(r.nominal.worst_bay_percent <= r.p50.worst_bay_percent);
        assert!(r.p50.worst_bay_percent < r.p90.worst_bay_percent);
        assert!(r.p90.worst_bay_percent < r.p90.worst_slot_percent);
        assert!(r.bays.iter().all(|bay| bay.p50_percent <= bay.p90_percent && bay.to_m - bay.from_m < 1.0));
        for bay in &r.bays {
            let (row, slot) = bay.worst_slot.rsplit_once('/').expect("row/number");
            let plan = evened(name);
            let row = plan.slot_rows.iter().find(|other| other.id == row).expect("a row");
            let at = row.station_m(slot.parse::<usize>().expect("a number") - 1);
            assert!(row.duct == bay.run && (bay.from_m..=bay.to_m).contains(&at), "{bay:?}");
        }
        assert_eq!(r.histogram.worst_bay.iter().sum::<u32>(), 500);
    }
}

#[test]
fn figures_of_large_plans_are_stable_over_five_seeds() {
    for name in ["fence-tunnel", DIFFICULT] {
        stable_over_five_seeds(&evened(name), name);
    }
}

#[test]
fn the_same_seed_gives_the_same_bits_however_it_is_stepped() {
    let evened = evened(GATES);
    let settings = ToleranceSettings { samples: 40, seed: 7 };
    let once = tolerance(&evened, settings).unwrap();
    let mut stepped = Tolerance::new(&evened, settings).unwrap();
    let mut steps = 0;
    loop {
        let progress = stepped.step();
        steps += 1;
        assert_eq!(progress.done, steps);
        if progress.complete() {
            break;
        }
    }
    assert_eq!(stepped.finish().unwrap(), once);
    // The first draws of a longer study are those of a shorter one.
    let mut stopped = Tolerance::new(&evened, ToleranceSettings { samples: 1_000, ..settings }).unwrap();
    for _ in 0..steps {
        stopped.step();
    }
    assert_eq!(stopped.finish().unwrap(), once);
}

#[test]
fn what_an_input_matters_is_what_holding_it_is_worth() {
    let evened = evened(GATES);
    let all = study(&evened, 400, 1);
    let mut one_law = evened.clone();
    one_law.tolerances.slot_law_weights = vec![1.0, 0.0, 0.0, 0.0, 0.0];
    let mut exact_cut = evened.clone();
    exact_cut.tolerances.cut_m = 0.0;
    let mut even_regain = evened.clone();
    even_regain.tolerances.regain = 0.0;
    for (held, input) in [(one_law, Input::SlotLaw), (exact_cut, Input::Cut), (even_regain, Input::Regain)] {
        let solved = all.p90.worst_bay_percent - study(&held, 400, 1).p90.worst_bay_percent;
        let said = points(&all, input);
        println!("{input:?}: {said:.2} said, {solved:.2} solved");
        assert!((said - solved).abs() < 0.5, "{input:?}");
    }
    assert_eq!(all.inputs[0].input, Input::SlotLaw);
    assert!(points(&all, Input::SlotLaw) > 1.0);
    let advice = &all.findings.iter().find(|f| f.id == "tolerance").expect("it is told").remedy;
    assert!(advice.show(engine::units::UnitSystem::Si).contains("area ratio smaller"));
}

#[test]
fn without_doubt_the_oven_is_as_drawn() {
    let mut sure = evened(GATES);
    let t = &mut sure.tolerances;
    (t.cut_m, t.coefficient_percent, t.slot_to_slot_percent, t.regain) = (0.0, 0.0, 0.0, 0.0);
    (t.roughness_factor, t.slide_m, t.damper_percent, t.temperature_k) = (1.0, 0.0, 0.0, 0.0);
    t.slot_law_weights = vec![1.0, 0.0, 0.0, 0.0, 0.0];
    let found = study(&sure, 30, 1);
    let drawn = analyse(&sure).unwrap();
    // What is left is the fan, which moves all slots alike.
    assert!((found.p90.worst_slot_percent - found.nominal.worst_slot_percent).abs() < 0.05);
    assert!((found.nominal.cv_percent / drawn.evenness.cv_percent - 1.0).abs() < 0.02);
    assert!(found.total_flow_kg_s[2] > 1.02 * found.total_flow_kg_s[0]);
}

#[test]
fn cutting_alone_spreads_as_by_hand() {
    let mut cut_only = evened(GATES);
    let t = &mut cut_only.tolerances;
    (t.coefficient_percent, t.slot_to_slot_percent, t.regain) = (0.0, 0.0, 0.0);
    (t.roughness_factor, t.slide_m, t.damper_percent, t.temperature_k) = (1.0, 0.0, 0.0, 0.0);
    t.slot_law_weights = vec![1.0, 0.0, 0.0, 0.0, 0.0];
    t.cut_m = 0.001;
    // Rectangular ± 1 mm: standard deviation 1 mm/√3 of each width, weighted by target.
    let drawn = analyse(&cut_only).unwrap();
    let all: f64 = drawn.slots.iter().map(|s| s.target_kg_s).sum();
    let square: f64 = drawn.slots.iter().map(|s| s.target_kg_s / all / (3.0 * s.width_mm * s.width_mm)).sum();
    let drawn_cv = drawn.evenness.cv_percent / 100.0;
    let by_hand = 100.0 * (square + drawn_cv * drawn_cv).sqrt();
    let found = study(&cut_only, 200, 3).p50.cv_percent;
    println!("{found:.3} % against {by_hand:.3} % by hand");
    assert!((found / by_hand - 1.0).abs() < 0.05);
}

#[test]
fn even_out_for_p90_lowers_it_by_a_fifth_on_the_difficult_plan() {
    let done = even_out_p90(&with_returns(DIFFICULT), None, FEW).expect("can be done");
    // Judged by other draws than those it was chosen by.
    let (before, after) = (study(&evened(DIFFICULT), 200, 9), study(&done.plan, 200, 9));
    let power = [&done.before, &done.after].map(|a: &Analysis| a.fan.shaft_power_w);
    println!(
        "P90 {:.2} → {:.2} % (slot {:.2} → {:.2} %), {:.2} → {:.2} kW, sheet {:.0} → {:.0} kg",
        before.p90.worst_bay_percent,
        after.p90.worst_bay_percent,
        before.p90.worst_slot_percent,
        after.p90.worst_slot_percent,
        power[0] / 1e3,
        power[1] / 1e3,
        done.sheet_kg[0],
        done.sheet_kg[1]
    );
    assert!(after.p90.worst_bay_percent <= 0.8 * before.p90.worst_bay_percent);
    assert!(power[1] <= 1.1 * power[0]);
    let solved = analyse(&done.plan).unwrap();
    assert_eq!(solved.status, "converged");
    assert!((solved.total_flow_kg_s / solved.required_flow_kg_s - 1.0).abs() <= 0.02);
    assert!((solved.total_flow_kg_s / done.before.total_flow_kg_s - 1.0).abs() <= 0.02);
    assert!(after.area_ratio < before.area_ratio);
    assert!(done.findings.iter().any(|f| f.id == "evened-for-p90"));
}

#[test]
fn a_target_for_p90_is_met_with_little_metal_or_its_reach_is_told() {
    let start = with_returns(GATES);
    let best = even_out_p90(&start, None, FEW).unwrap();
    let modest = even_out_p90(&start, Some(7.0), FEW).unwrap();
    assert!(modest.study_after.p90.worst_bay_percent <= 7.0);
    assert!(modest.sheet_kg[1] <= best.sheet_kg[1]);
    assert!(modest.findings.iter().all(|f| f.id != "p90-target"));
    let hopeless = even_out_p90(&start, Some(0.5), FEW).unwrap();
    let told = hopeless.findings.iter().find(|f| f.id == "p90-target").expect("its reach is told");
    println!("{}", told.message.show(engine::units::UnitSystem::Si));
    assert_eq!(hopeless.plan, best.plan);
    assert!(even_out_p90(&start, Some(-1.0), FEW).unwrap_err().to_string().contains("above zero"));
}

#[test]
fn three_alternatives_stand_and_none_beats_another() {
    for name in [GATES, "fence-tunnel", "lantern-box", DIFFICULT] {
        let found = alternatives(&with_returns(name), FEW).expect("a search");
        assert_eq!(found.alternatives.len(), 3, "{name}");
        for one in &found.alternatives {
            println!(
                "{name} {:?}: {:.0} kg, {:.0} kWh/a, P90 {:.2} %",
                one.merit, one.sheet_kg, one.fan_kwh_per_year, one.p90_percent
            );
            assert!(found.alternatives.iter().all(|other| !other.dominates(one)), "{name}");
            // Each is a whole plan that opens, solves and says the same again.
            let reread = file::read(&file::write(&one.plan)).expect("opens");
            let solved = analyse(&reread).expect("solves");
            assert_eq!(solved.fingerprint(), one.analysis.fingerprint(), "{name}");
            assert_eq!(solved.status, "converged");
            assert!((solved.total_flow_kg_s / solved.required_flow_kg_s - 1.0).abs() <= 0.02, "{name}");
            assert_eq!(study(&reread, FEW.samples, FEW.seed).p90.worst_bay_percent, one.p90_percent);
        }
    }
}

/// Readings of a bench piece taken from a whole plan solved under `law`: a straight run of ten slots.
fn piece_under(law: SlotModel, regain: f64, coefficient: f64, doubt_percent: f64) -> BenchPiece {
    let mut bench = plan("minimal");
    bench.models.slot = law;
    bench.models.regain = regain;
    let row = &mut bench.slot_rows[0];
    (row.first_station_m, row.pitch_m, row.count, row.length_m) = (1.0, 0.4, 10, 0.3);
    let width_m = 0.02;
    // A coefficient above the published one is as a wider slot.
    row.widths_m = vec![width_m * coefficient];
    let duct = bench.ducts.iter_mut().find(|duct| duct.id == row.duct).expect("the run");
    duct.section = engine::plan::Section::Rectangular { width_m: 0.35, height_m: 0.2 };
    duct.steps.clear();
    let solved = analyse(&bench).expect("solves");
    assert_eq!(solved.status, "converged");
    let run = solved.runs.iter().find(|run| run.id == bench.slot_rows[0].duct).expect("the run");
    let zone_pa = solved.zones[0].pressure_pa;
    let root = run.stations.iter().find(|station| station.station_m > 0.99).expect("past the root");
    let area_m2 = width_m * bench.slot_rows[0].length_m;
    let density = solved.fan.density_kg_m3;
    BenchPiece {
        id: "piece".into(),
        section: bench.ducts.iter().find(|duct| duct.id == run.id).expect("the run").section,
        roughness_m: bench.ducts[0].roughness_m,
        root_m: 0.0,
        end_m: 0.5,
        pitch_m: 0.4,
        count: 10,
        length_m: 0.3,
        width_m,
        temperature_c: bench.heater.supply_temperature_c,
        root_static_pa: root.static_pa - zone_pa,
        end_static_pa: run.stations.last().expect("an end").static_pa - zone_pa,
        flow_m3_s: root.velocity_m_s * 0.35 * 0.2,
        slots: [1_u32, 5, 10]
            .map(|slot| SlotReading {
                slot,
                velocity_m_s: solved.slots[slot as usize - 1].mass_flow_kg_s / (density * area_m2),
            })
            .to_vec(),
        static_doubt_percent: doubt_percent,
        flow_doubt_percent: doubt_percent,
        slot_doubt_percent: doubt_percent,
        extra: engine::plan::Extra::new(),
    }
}

#[test]
fn a_bench_piece_finds_law_coefficient_and_regain() {
    for (name, law) in SLOT_LAWS {
        for (regain, coefficient) in [(1.0, 1.0), (0.9, 0.95)] {
            let mut with_piece = plan("minimal");
            with_piece.bench_pieces = vec![piece_under(law, regain, coefficient, 0.3)];
            let fit = fit_bench_pieces(&with_piece).expect("can be fitted");
            let best = &fit.laws[0];
            println!(
                "{name}: {:.3}, coefficient {:.4} ± {:.4}, regain {:.3} ± {:.3}, then {} {:.3}",
                best.weight,
                best.coefficient,
                best.coefficient_doubt,
                best.regain,
                best.regain_doubt,
                fit.laws[1].law,
                fit.laws[1].weight
            );
            let own = fit.laws.iter().find(|law| law.law == name).expect("it is fitted");
            assert!((own.coefficient / coefficient - 1.0).abs() < 0.005, "{name}");
            assert!((own.regain - regain).abs() < 0.02, "{name}");
            assert_eq!(best.law, name);
            assert!((fit.laws.iter().map(|law| law.weight).sum::<f64>() - 1.0).abs() < 1e-12);
        }
    }
}

#[test]
fn a_bench_piece_narrows_p90() {
    let mut tried = evened(GATES);
    let before = study(&tried, 300, 1);
    tried.bench_pieces = vec![piece_under(SlotModel::CrossFlowSharp, 1.0, 1.0, 2.0)];
    let after = study(&tried, 300, 1);
    println!("{:.2} → {:.2} %", before.p90.worst_bay_percent, after.p90.worst_bay_percent);
    assert!(after.bench && !before.bench);
    assert!(after.p90.worst_bay_percent < 0.8 * before.p90.worst_bay_percent);
}

#[test]
fn a_coefficient_the_plan_cannot_hold_is_told_as_width() {
    let said = |law: SlotModel| {
        let mut with_piece = plan("minimal");
        with_piece.bench_pieces = vec![piece_under(law, 1.0, 0.9, 0.3)];
        let fit = fit_bench_pieces(&with_piece).expect("can be fitted");
        fit.findings[0].remedy.show(engine::units::UnitSystem::Si)
    };
    assert!(said(SlotModel::CrossFlowSharp).contains("cut every slot at 111"));
    let held = SLOT_LAWS.iter().find(|(_, law)| matches!(law, SlotModel::ConstantTotal { .. }));
    assert!(!said(held.expect("one of them").1).contains("cut every slot"));
}

#[test]
fn readings_no_law_explains_are_told() {
    let mut odd = plan("minimal");
    let mut piece = piece_under(SlotModel::CrossFlowSharp, 1.0, 1.0, 1.0);
    piece.slots[1].velocity_m_s *= 1.3;
    odd.bench_pieces = vec![piece];
    let fit = fit_bench_pieces(&odd).unwrap();
    assert!(fit.findings.iter().any(|f| f.id == "bench-misfit"));
    assert!(fit_bench_pieces(&plan("minimal")).unwrap_err().to_string().contains("no bench piece"));
    odd.bench_pieces[0].slots[0].slot = 11;
    assert!(fit_bench_pieces(&odd).unwrap_err().to_string().contains("piece"));
}

#[test]
fn impossible_studies_are_refused_with_place_and_remedy() {
    let base = plan(GATES);
    let refused = |change: &dyn Fn(&mut Plan)| {
        let mut impossible = base.clone();
        change(&mut impossible);
        tolerance(&impossible, FEW).expect_err("must be refused").to_string()
    };
    assert!(refused(&|p| p.heater.fan.speed_rpm = 0.0).contains("fan speed"));
    assert!(refused(&|p| p.slot_rows.clear()).contains("slot"));
    assert!(refused(&|p| p.tolerances.cut_m = -1.0).contains("cut_m"));
    assert!(refused(&|p| p.tolerances.slot_law_weights = vec![0.0; 5]).contains("slot_law_weights"));
    let few = tolerance(&base, ToleranceSettings { samples: 3, seed: 1 }).unwrap_err().to_string();
    assert!(few.contains("samples"));
    let stopped = EvenOutP90::new(&with_returns(GATES), None, FEW).unwrap().finish().unwrap_err();
    assert!(stopped.to_string().contains("stopped"));
    let mut still = with_returns(GATES);
    still.heater.fan.speed_rpm = 0.0;
    assert!(alternatives(&still, FEW).unwrap_err().to_string().contains("fan speed"));
}
