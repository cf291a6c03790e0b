//! Ducts and runs: levelling, sections within a budget, the methods a course teaches.

use crate::examples::{two_zones, with_returns as plan};
use engine::analysis::analyse;
use engine::design::{
    Budget, LevelBy, Method, compare_courses, compare_levels, even_out, gauges_m, highest_pressure_pa,
    level_runs, sheet_kg, suggest_sections,
};
use engine::plan::{BladeDamper, BuildStyle, Modulation, Plan, Section, SizeStep, file};

const PLANS: [&str; 4] = ["garden-gates", "lantern-box", "fence-tunnel", "shelving-frames"];

const WITH_RING: [&str; 5] =
    ["garden-gates", "lantern-box", "fence-tunnel", "shelving-frames", "planter-ring"];

/// Every section of the supply ducts, with whether its duct has slots.
fn sections(plan: &Plan) -> Vec<(Section, bool)> {
    let supply = plan.ducts.iter().filter(|duct| duct.role != engine::plan::DuctRole::Return);
    supply
        .flat_map(|duct| {
            let slotted = plan.slot_rows.iter().any(|row| row.duct == duct.id);
            let all = core::iter::once(duct.section).chain(duct.steps.iter().map(|step| step.section));
            all.map(move |section| (section, slotted))
        })
        .collect()
}

fn in_stock(size_m: f64) -> bool {
    (size_m / 0.05 - (size_m / 0.05).round()).abs() < 1e-6
}

/// Small ducts on a strong fan.
#[test]
fn sections_keep_to_their_budget_in_stock_sizes() {
    let mut sized_plans = 0;
    for name in WITH_RING {
        let mut start = plan(name);
        start.shop.duct_sizes_m = (2..=60).map(|n| f64::from(n) * 0.05).collect();
        // Half of the box is no size in stock.
        start.enclosure.height_m += 0.03;
        let drawn =
            suggest_sections(&start, Budget::Velocity { most_m_s: 20.0 }).expect("sized").before.loss_pa;
        let budgets = [
            Budget::Velocity { most_m_s: 6.0 },
            Budget::Velocity { most_m_s: 9.0 },
            Budget::Pressure { most_pa: 1.1 * drawn },
            Budget::Pressure { most_pa: 0.6 * drawn },
        ];
        // The large one takes long.
        let few = if name == "shelving-frames" { 2 } else { 0 };
        for budget in budgets.into_iter().skip(few) {
            let sized = match suggest_sections(&start, budget) {
                Ok(sized) => sized,
                Err(error) => {
                    println!("{name} {budget:?}: {error}");
                    continue;
                }
            };
            sized_plans += 1;
            println!("{name} {budget:?}: {:?} → {:?}", sized.before, sized.after);
            match budget {
                Budget::Velocity { most_m_s } => {
                    assert!(sized.after.velocity_m_s <= most_m_s + 1e-6, "{name}")
                }
                Budget::Pressure { most_pa } => assert!(sized.after.loss_pa <= most_pa, "{name}"),
            }
            for (section, slotted) in sections(&sized.designed.plan) {
                match section {
                    Section::Rectangular { width_m, height_m } => {
                        assert!(in_stock(height_m), "{name}: {height_m} m is not in stock");
                        assert!(slotted || in_stock(width_m), "{name}: {width_m} m is not in stock");
                    }
                    Section::Round { diameter_m } => assert!(in_stock(diameter_m), "{name}"),
                }
            }
            // Nothing has come apart, and the network of the plan with its new sections says the same.
            assert_eq!(
                engine::plan::geometry::joints(&sized.designed.plan).len(),
                engine::plan::geometry::joints(&start).len(),
                "{name}"
            );
            assert_eq!(analyse(&sized.designed.plan).expect("calculated").status, "converged");
            let again = suggest_sections(&sized.designed.plan, budget).expect("again");
            assert!(again.designed.plan == sized.designed.plan, "{name}: a second run changes something");
        }
        let none = suggest_sections(&start, Budget::Pressure { most_pa: 0.5 }).expect_err("must be refused");
        assert!(none.to_string().contains("Pa") || none.to_string().contains("high"), "{none}");
    }
    assert!(sized_plans >= 14, "{sized_plans} of 18 could be sized");
}

#[test]
fn sections_leave_the_area_that_slots_ask_for() {
    let mut start = plan("garden-gates");
    for (most, greatest) in [(None, 0.7), (Some(0.5), 0.5)] {
        start.shop.max_area_ratio = most;
        let sized =
            suggest_sections(&start, Budget::Velocity { most_m_s: 8.0 }).expect("sized").designed.plan;
        let evened = even_out(&sized).expect("and evened out").after.evenness;
        println!("{most:?}: slot area over duct area {:.3}", evened.area_ratio);
        // Widths are rounded.
        assert!(evened.area_ratio <= 1.01 * greatest, "{}", evened.area_ratio);
    }
    let tall = Budget::Velocity { most_m_s: 1.0 };
    start.shop.duct_sizes_m = (2..=12).map(|n| f64::from(n) * 0.05).collect();
    assert!(suggest_sections(&start, tall).expect_err("no size is enough").to_string().contains("in stock"));
}

#[test]
fn runs_are_made_smaller_in_stock_sizes_and_dampers_out_of_stock_are_told() {
    let mut start = plan("garden-gates");
    start.shop.duct_sizes_m = (2..=60).map(|n| f64::from(n) * 0.02).collect();
    let run = start.ducts.iter().position(|duct| duct.id == start.slot_rows[0].duct).expect("its duct");
    let Section::Rectangular { width_m, height_m } = start.ducts[run].section else { panic!("rectangular") };
    let step =
        SizeStep { station_m: 7.0, section: Section::Rectangular { width_m, height_m: 0.83 * height_m } };
    start.ducts[run].steps = vec![step];
    let levelled = level_runs(&start, LevelBy::DuctSize).expect("levelled").designed.plan;
    let height = |section: Section| match section {
        Section::Rectangular { height_m, .. } => height_m,
        Section::Round { diameter_m } => diameter_m,
    };
    for (duct, old) in levelled.ducts.iter().zip(&start.ducts) {
        for (step, old) in duct.steps.iter().zip(&old.steps) {
            let (now, was) = (height(step.section), height(old.section));
            let listed = start.shop.duct_sizes_m.iter().any(|size| (size - now).abs() < 1e-9);
            assert!(listed || now == was, "{}: {now} m is not in stock", duct.id);
        }
    }
    assert!(levelled.ducts != start.ducts);
    start.shop.damper_sizes_m = vec![3.0];
    let levelled = level_runs(&start, LevelBy::Damper).expect("levelled").designed;
    let set = levelled
        .plan
        .ducts
        .iter()
        .filter(|duct| duct.damper.as_ref().is_some_and(|blade| blade.modulation.is_none()));
    let told = levelled.findings.iter().filter(|finding| finding.id == "damper-size").count();
    assert!(told > 0 && told == set.count(), "{told} told");
}

#[test]
fn a_damper_that_a_motor_moves_stays() {
    let mut start = plan("garden-gates");
    let run = start.ducts.iter().position(|duct| duct.id == start.slot_rows[0].duct).expect("its duct");
    let mut blade = BladeDamper::new(60.0);
    blade.modulation =
        Some(Modulation { zone: start.zones[0].id.clone(), least_percent: 10.0, most_percent: 100.0 });
    start.ducts[run].damper = Some(blade);
    for by in [LevelBy::SlotTotal, LevelBy::Damper, LevelBy::DuctSize] {
        let levelled = level_runs(&start, by).expect("levelled").designed.plan;
        assert_eq!(levelled.ducts[run].damper, start.ducts[run].damper, "{by:?}");
    }
}

#[test]
fn a_way_of_levelling_that_cannot_be_evened_out_says_so() {
    let mut start = plan("lantern-box");
    start.shop.max_area_ratio = Some(0.05);
    for way in compare_levels(&start).expect("levelled") {
        let told = way.designed.findings.iter().any(|finding| finding.id == "not-evened");
        assert!(told, "{:?}", way.by);
    }
}

#[test]
fn a_course_leaves_a_punched_size_alone() {
    let mut start = plan("garden-gates");
    start.slot_rows[0].build = Some(BuildStyle::PunchedCount);
    let mut offered = 0;
    for course in compare_courses(&start, 8.0).expect("compared") {
        offered += usize::from(course.refused.is_none());
        assert_eq!(course.plan.slot_rows[0].widths_m, start.slot_rows[0].widths_m, "{:?}", course.method);
    }
    assert!(offered > 1, "{offered}");
}

#[test]
fn widths_in_stock_save_sheet_and_slots_keep_theirs() {
    let start = plan("garden-gates");
    let budget = Budget::Velocity { most_m_s: 9.0 };
    let heights_only = suggest_sections(&start, budget).expect("sized");
    let mut stocked = start.clone();
    stocked.shop.duct_sizes_m = (2..=60).map(|n| f64::from(n) * 0.05).collect();
    let both = suggest_sections(&stocked, budget).expect("sized");
    println!(
        "{:.2} m² as wide as drawn, {:.2} m² otherwise",
        heights_only.after.sheet_m2, both.after.sheet_m2
    );
    assert!(both.after.sheet_m2 < heights_only.after.sheet_m2);
    let width = |plan: &Plan, id: &str| {
        plan.ducts.iter().find(|duct| duct.id == id).map(|duct| duct.section.plan_width_m())
    };
    assert!(width(&both.designed.plan, "trunk") < width(&start, "trunk"));
    for row in &start.slot_rows {
        assert_eq!(width(&both.designed.plan, &row.duct), width(&start, &row.duct), "{}", row.id);
    }
}

#[test]
fn sheet_weighs_by_the_gauge_each_duct_needs() {
    let mut start = two_zones();
    start.shop.gauges_m = vec![0.0015, 0.0008, 0.001, 0.0012];
    start.heater.fan.speed_rpm = start.heater.fan.curve_speed_rpm;
    let gauges = gauges_m(&start);
    let of = |id: &str| gauges[start.ducts.iter().position(|duct| duct.id == id).expect("is there")];
    // The fan stands above 1,000 Pa: one thicker than its side alone asks for.
    assert!(highest_pressure_pa(&start) > 1_000.0);
    let side = |id: &str| match start.ducts.iter().find(|duct| duct.id == id).expect("is there").section {
        Section::Rectangular { width_m, height_m } => f64::max(width_m, height_m),
        Section::Round { diameter_m } => diameter_m,
    };
    assert!(side("cure-5") <= 0.3 && of("cure-5") == (0.0008, true), "{:?}", of("cure-5"));
    assert!(side("trunk") <= 1.0 && of("trunk") == (0.0012, true), "{:?}", of("trunk"));
    // By hand: one duct of 2.6 m.
    let mut one = start.clone();
    one.ducts.retain(|duct| duct.id == "cure-5");
    let Section::Rectangular { width_m, height_m } = one.ducts[0].section else { panic!("rectangular") };
    let by_hand = 2.0 * (width_m + height_m) * 2.6 * 0.0008 * 7_850.0;
    assert!((sheet_kg(&one) / by_hand - 1.0).abs() < 1e-9, "{} {by_hand}", sheet_kg(&one));
    // What is not in stock is told.
    start.shop.gauges_m = vec![0.0008];
    let sized = suggest_sections(&start, Budget::Velocity { most_m_s: 9.0 }).expect("sized");
    assert!(sized.designed.findings.iter().any(|finding| finding.id == "thin-sheet"));
}

#[test]
fn less_pressure_costs_more_metal() {
    let start = two_zones();
    let by = |most_pa: f64| suggest_sections(&start, Budget::Pressure { most_pa }).expect("sized").after;
    let (tight, loose) = (by(60.0), by(140.0));
    assert!(tight.sheet_m2 > loose.sheet_m2 && tight.loss_pa < loose.loss_pa, "{tight:?} {loose:?}");
    assert!(tight.shaft_power_w.expect("a speed exists") < loose.shaft_power_w.expect("a speed exists"));
}

#[test]
fn the_methods_of_a_course_are_compared() {
    let mut compared = 0;
    for name in PLANS {
        let courses = compare_courses(&plan(name), 8.0).unwrap_or_else(|error| panic!("{name}: {error}"));
        for course in &courses {
            let (Some(cost), Some(evenness)) = (&course.cost, &course.evenness) else {
                println!("{name} {:?}: {}", course.method, course.refused.as_ref().expect("says why"));
                continue;
            };
            println!(
                "{name} {:?}: {:.1} m/s, loss {:.0} Pa, {:.0} m², {:?} W, equal slots ±{:.1} %",
                course.method,
                course.first_velocity_m_s,
                cost.loss_pa,
                cost.sheet_m2,
                cost.shaft_power_w.map(f64::round),
                evenness.worst_percent
            );
            assert!(course.first_velocity_m_s <= 8.0 + 1e-6 || course.method == Method::AsDrawn);
        }
        let sheet = |method: Method| {
            let course = courses.iter().find(|course| course.method == method).expect("all are there");
            course.cost.map(|cost| cost.sheet_m2)
        };
        // Equal friction and static regain slow the air down along the way, which costs metal.
        let Some(constant) = sheet(Method::ConstantVelocity) else { continue };
        compared += 1;
        for method in [Method::EqualFriction, Method::StaticRegain] {
            assert!(sheet(method).is_none_or(|sheet| sheet >= constant - 1e-9), "{name} {method:?}");
        }
    }
    assert!(compared >= 2, "{compared} plans could be compared");
}

#[test]
fn run_dampers_come_in_stock_sizes() {
    for name in ["garden-gates", "fence-tunnel"] {
        let mut start = plan(name);
        let free = level_runs(&start, LevelBy::Damper).expect("levelled").designed.plan;
        start.shop.damper_sizes_m = vec![0.2, 0.25, 0.3, 0.4];
        let levelled = level_runs(&start, LevelBy::Damper).expect("levelled");
        let mut own = 0;
        for (duct, other) in levelled.designed.plan.ducts.iter().zip(&free.ducts) {
            let Some(blade) = duct.damper.as_ref().filter(|blade| blade.modulation.is_none()) else {
                continue;
            };
            let size = blade.size.unwrap_or(duct.section);
            let (
                Section::Rectangular { width_m, height_m },
                Section::Rectangular { width_m: w, height_m: h },
            ) = (size, duct.section)
            else {
                panic!("rectangular")
            };
            for (side, room) in [(width_m, w), (height_m, h)] {
                let best = start.shop.damper_sizes_m.iter().copied().filter(|&s| s <= room + 1e-9);
                assert_eq!(Some(side), best.reduce(f64::max), "{name} {}", duct.id);
            }
            if blade.size.is_some() {
                own += 1;
                // A smaller one has to stand further open for the same drop.
                let wide = other.damper.as_ref().map_or(100.0, |blade| blade.open_percent);
                assert!(blade.open_percent >= wide, "{name} {}", duct.id);
            }
        }
        println!(
            "{name}: {own} dampers smaller than their runs, {:.1} % → {:.1} %",
            levelled.spread_before_percent, levelled.spread_after_percent
        );
        assert!(own > 0, "{name}");
        assert!(levelled.spread_after_percent < 0.5 * levelled.spread_before_percent, "{name}");
        let text = file::write(&levelled.designed.plan);
        assert!(file::read(&text).expect("opens") == levelled.designed.plan, "{name}");
    }
}

#[test]
fn runs_are_levelled_three_ways() {
    let mut resized = 0;
    for name in PLANS {
        let ways = compare_levels(&plan(name)).unwrap_or_else(|error| panic!("{name}: {error}"));
        for way in &ways {
            let e = &way.designed.after.evenness;
            println!(
                "{name} {:?}: {:.1} % → {:.1} %, {:.1} Pa added, {:.0} W throttled, evened ±{:.1} %",
                way.by,
                way.spread_before_percent,
                way.spread_after_percent,
                way.added_pressure_pa,
                way.throttled_w,
                e.worst_percent
            );
        }
        let [slots, damper, size] = &ways[..] else { panic!("three ways") };
        // Slot totals: where more pressure is left, less slot area passes the same air; the spread stays.
        assert!((slots.spread_after_percent / slots.spread_before_percent - 1.0).abs() < 0.2, "{name}");
        let after = &slots.designed.after;
        let by_run = |id: &str| {
            let own = || after.slots.iter().filter(|slot| slot.run == id);
            let air: f64 = own().map(|slot| slot.target_kg_s).sum();
            let pressure = own().map(|slot| slot.total_pressure_pa * slot.target_kg_s).sum::<f64>() / air;
            (pressure, own().map(|slot| slot.area_m2).sum::<f64>() / air)
        };
        let rows = &slots.designed.plan.slot_rows;
        let mut each: Vec<(f64, f64)> = rows.iter().map(|row| by_run(&row.duct)).collect();
        each.sort_by(|a, b| a.0.total_cmp(&b.0));
        let ((least, wide), (most, narrow)) = (each[0], each[each.len() - 1]);
        assert!(most < 1.05 * least || narrow < wide, "{name}: {each:?}");
        assert!(damper.spread_after_percent < f64::max(2.0, 0.3 * slots.spread_after_percent), "{name}");
        resized += usize::from(size.spread_after_percent < 0.8 * slots.spread_after_percent);
        // The least run is not throttled.
        assert!(damper.added_pressure_pa < 1.0, "{name} {}", damper.added_pressure_pa);
        let again = level_runs(&damper.designed.plan, LevelBy::Damper).expect("levelled again");
        let travel = |plan: &Plan| -> Vec<Option<f64>> {
            plan.ducts.iter().map(|duct| duct.damper.as_ref().map(|blade| blade.open_percent)).collect()
        };
        assert_eq!(travel(&again.designed.plan), travel(&damper.designed.plan), "{name}");
    }
    assert!(resized >= 2, "smaller ducts level {resized} of {} plans", PLANS.len());
}
