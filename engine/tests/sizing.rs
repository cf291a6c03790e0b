//! Ducts and runs: levelling, sections within a budget, the methods a course teaches.

use engine::analysis::analyse;
use engine::design::{
    Budget, LevelBy, Method, compare_courses, compare_levels, level_runs, set_returns, suggest_sections,
};
use engine::plan::{Plan, Section, file};

fn plan(name: &str) -> Plan {
    let path = format!("{}/../tests/plans/{name}.evenrise.json", env!("CARGO_MANIFEST_DIR"));
    let plan = file::read(&std::fs::read_to_string(path).expect("the plan is there")).expect("it opens");
    set_returns(&plan).expect("returns can be set").plan
}

const PLANS: [&str; 4] = ["garden-gates", "lantern-box", "fence-tunnel", "shelving-frames"];

/// Every height and diameter of the supply ducts, m.
fn heights(plan: &Plan) -> Vec<f64> {
    let height = |section: Section| match section {
        Section::Rectangular { height_m, .. } => height_m,
        Section::Round { diameter_m } => diameter_m,
    };
    let supply = plan.ducts.iter().filter(|duct| duct.role != engine::plan::DuctRole::Return);
    supply
        .flat_map(|duct| core::iter::once(duct.section).chain(duct.steps.iter().map(|step| step.section)))
        .map(height)
        .collect()
}

#[test]
fn sections_keep_to_their_budget_in_stock_sizes() {
    for name in PLANS {
        let mut start = plan(name);
        start.shop.duct_sizes_m = (4..=60).map(|n| f64::from(n) * 0.05).collect();
        for most_m_s in [6.0, 9.0] {
            let Ok(sized) = suggest_sections(&start, Budget::Velocity { most_m_s }) else {
                println!("{name} {most_m_s} m/s: refused");
                continue;
            };
            println!("{name} {most_m_s} m/s: {:?} → {:?}", sized.before, sized.after);
            assert!(sized.after.velocity_m_s <= most_m_s + 1e-6, "{name}");
            for height in heights(&sized.designed.plan) {
                let steps = height / 0.05;
                assert!((steps - steps.round()).abs() < 1e-6, "{name}: {height} m is not in stock");
            }
            let again = suggest_sections(&sized.designed.plan, Budget::Velocity { most_m_s }).expect("again");
            // In a ring the flows go by the sizes, so there sizes go by what was before.
            let same = again.designed.plan == sized.designed.plan;
            assert!(same || name == "fence-tunnel", "{name}: a second run changes something");
        }
        let drawn =
            suggest_sections(&start, Budget::Velocity { most_m_s: 20.0 }).expect("sized").before.loss_pa;
        let most_pa = 1.1 * drawn;
        let sized = suggest_sections(&start, Budget::Pressure { most_pa }).expect("sized");
        println!("{name} {most_pa:.0} Pa: {:?}", sized.after);
        assert!(sized.after.loss_pa <= most_pa, "{name}: {} of {most_pa}", sized.after.loss_pa);
        // The network of the plan with its new sections says the same.
        let analysis = analyse(&sized.designed.plan).expect("calculated");
        assert_eq!(analysis.status, "converged");
        let none = suggest_sections(&start, Budget::Pressure { most_pa: 0.5 }).expect_err("must be refused");
        assert!(none.to_string().contains("Pa") || none.to_string().contains("high"), "{none}");
    }
}

#[test]
fn less_pressure_costs_more_metal() {
    let start = plan("garden-gates");
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
fn runs_are_levelled_three_ways() {
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
        assert!(slots.added_pressure_pa < 1e-6 && slots.throttled_w < 1e-3, "{name}");
        assert!(damper.spread_after_percent < f64::max(2.0, 0.3 * slots.spread_after_percent), "{name}");
        assert!(size.spread_after_percent <= slots.spread_after_percent + 0.5, "{name}");
        // The least run is not throttled.
        assert!(damper.added_pressure_pa < 1.0, "{name} {}", damper.added_pressure_pa);
        let again = level_runs(&damper.designed.plan, LevelBy::Damper).expect("levelled again");
        let travel = |plan: &Plan| -> Vec<Option<f64>> {
            plan.ducts.iter().map(|duct| duct.damper.as_ref().map(|blade| blade.open_percent)).collect()
        };
        assert_eq!(travel(&again.designed.plan), travel(&damper.designed.plan), "{name}");
    }
}
