//! Air speed where the parts hang.

use crate::examples::two_zones;
use engine::analysis::analyse;
use engine::coverage::{Coverage, Field, coverage, jets};
use engine::design::{even_out, set_returns};
use engine::plan::{Plan, Point};

fn gates() -> Plan {
    even_out(&set_returns(&two_zones()).expect("can be set").plan).expect("can be evened out").plan
}

fn covered(plan: &Plan) -> Coverage {
    coverage(plan, &analyse(plan).expect("solves")).expect("can be covered")
}

#[test]
fn the_conveyor_is_covered_zone_by_zone() {
    let found = covered(&gates());
    assert_eq!(found.height_m, 1.55);
    // Only what lies in the box: 26 of 29 m.
    assert_eq!(found.path.len(), 260);
    for zone in &found.zones {
        println!("{zone:?}");
        assert!(zone.between_m_s > 0.05 && zone.between_m_s < 1.5);
        assert!(
            zone.least_m_s > zone.between_m_s - 1e-9
                && zone.least_m_s < zone.mean_m_s + 1e-9
                && zone.mean_m_s < zone.most_m_s + 1e-9
        );
    }
    assert_eq!(found.zones.len(), 2);
    let rows = found.grid.speeds_m_s.len() / found.grid.columns;
    assert_eq!((found.grid.columns, rows), (260, 64));
    // The grid's cell over a row of slots is faster than one by the wall.
    let at = |x: f64, y: f64| {
        let cell = |v: f64, from: f64| ((v - from) / found.grid.cell_m).round() as usize;
        found.grid.speeds_m_s[cell(y, found.grid.y_m) * found.grid.columns + cell(x, found.grid.x_m)]
            .expect("in the box")
    };
    assert!(at(18.0, 4.6) > 3.0 * at(18.0, 6.3));
}

#[test]
fn jets_lean_with_the_air_in_the_run() {
    let plan = gates();
    let analysis = analyse(&plan).unwrap();
    let found = jets(&plan, &analysis);
    assert_eq!(found.len(), analysis.slots.len());
    for ((_, jet), slot) in found.iter().zip(&analysis.slots) {
        let lean = engine::numerics::acos(jet.axis[2]).to_degrees();
        assert!((lean - slot.lean_deg.abs()).abs() < 1e-6, "{}", slot.id);
        let square: f64 = jet.axis.iter().zip(&jet.along).map(|(a, b)| a * b).sum();
        assert!(square.abs() < 1e-12 && jet.thickness_m < 1e-3 * slot.width_mm);
    }
    // Run cure-1 goes towards greater x, cure-5 the other way.
    assert!(found[0].1.axis[0] > 0.0);
    let back = analysis.slots.iter().position(|slot| slot.run == "cure-5").unwrap();
    assert!(found[back].1.axis[0] < 0.0);
}

#[test]
fn a_wall_keeps_the_air_of_a_zone() {
    let mut plan = gates();
    let reach = |plan: &Plan, x: f64| {
        let found = covered(plan);
        let place = found.path.iter().min_by(|a, b| (a.x_m - x).abs().total_cmp(&(b.x_m - x).abs()));
        place.expect("a place").speed_m_s
    };
    plan.conveyor.as_mut().unwrap().path = vec![Point::new(0.0, 4.4), Point::new(26.0, 4.4)];
    // Shut the dry-off slots: what is left of the cure zone's air stops at the wall at 8 m.
    for row in plan.slot_rows.iter_mut().filter(|row| row.id.starts_with("slots-dry")) {
        row.widths_m = vec![0.0];
    }
    assert!(reach(&plan, 7.9) == 0.0 && reach(&plan, 9.0) > 0.0);
}

#[test]
fn blow_off_is_told_where_powder_is_loose() {
    let mut plan = gates();
    plan.conveyor.as_mut().unwrap().path = vec![Point::new(0.0, 4.6), Point::new(26.0, 4.6)];
    let told = |plan: &Plan| {
        let found = covered(plan);
        found.findings.into_iter().find(|f| f.id == "blow-off").map(|f| f.severity)
    };
    use engine::finding::Severity;
    assert_eq!(told(&plan), Some(Severity::Note), "the plan does not say where powder gels");
    (plan.air_at_part.loose_from_m, plan.air_at_part.gelled_at_m) = (8.0, Some(20.0));
    assert_eq!(told(&plan), Some(Severity::Caution));
    plan.air_at_part.loose_powder_m_s = 30.0;
    assert_eq!(told(&plan), None);
}

#[test]
fn a_raised_run_is_nearer_to_the_parts() {
    let low = gates();
    let mut high = low.clone();
    high.ducts.iter_mut().for_each(|duct| duct.underside_m += 0.4);
    let fastest = |plan: &Plan| {
        let analysis = analyse(plan).expect("it can be calculated");
        let found = coverage(plan, &analysis).expect("it is covered");
        found.grid.speeds_m_s.iter().flatten().fold(0.0f32, |a, b| a.max(*b))
    };
    assert!(fastest(&high) > 1.1 * fastest(&low), "{} {}", fastest(&high), fastest(&low));
}

#[test]
fn jets_that_miss_the_conveyor_are_told() {
    let mut plan = gates();
    let told = |plan: &Plan| covered(plan).findings.iter().any(|f| f.id == "jets-miss");
    // The conveyor runs 0.8 m beside the inner runs.
    assert!(told(&plan));
    plan.conveyor.as_mut().unwrap().path = vec![Point::new(8.1, 4.6), Point::new(25.0, 4.6)];
    assert!(!told(&plan));
}

#[test]
fn still_ovens_are_refused() {
    let mut still = gates();
    still.slot_rows.clear();
    let error = coverage(&still, &analyse(&still).unwrap()).unwrap_err().to_string();
    assert!(error.contains("slot"), "{error}");
}

#[test]
fn jets_bring_their_heat_as_far_as_their_speed() {
    let plan = gates();
    let analysis = analyse(&plan).unwrap();
    let found = jets(&plan, &analysis);
    let field = Field::new(&plan, &found, 1.55);
    let (zone, jet) = found.iter().find(|(_, jet)| jet.axis[2] > 0.9).unwrap();
    // On its own: where its axis passes part height.
    let own = vec![(*zone, *jet)];
    let alone = Field::new(&plan, &own, 1.55);
    let s = (1.55 - jet.from[2]) / jet.axis[2];
    let on_axis = Point::new(jet.from[0] + s * jet.axis[0], jet.from[1] + s * jet.axis[1]);
    let (speed, hotter) = alone.air(on_axis, *zone, &|_| 30.0);
    let by_jet = engine::coverage::velocity_at([jet].into_iter(), [on_axis.x_m, on_axis.y_m, 1.55]);
    let size = by_jet.iter().map(|v| v * v).sum::<f64>().sqrt();
    assert!((hotter / (30.0 * size * size / jet.velocity_m_s / speed) - 1.0).abs() < 1e-9, "{hotter}");
    assert!(hotter > 0.5 && hotter < 15.0 && speed >= size, "{hotter} {speed} {size}");
    // Far from it, nothing; among all jets at least as much.
    let far = Point::new(on_axis.x_m, on_axis.y_m + 0.7);
    assert!(alone.air(far, *zone, &|_| 30.0).1.abs() < 1e-6);
    assert!(field.air(on_axis, *zone, &|_| 30.0).1 < 30.0);
}

#[test]
fn hot_jets_from_side_walls_bend_up_and_cold_ones_down() {
    use engine::coverage::Jet;
    let jet = |buoyancy_m_s2: f64| Jet {
        from: [0.0, 0.0, 1.0],
        axis: [0.0, 1.0, 0.0],
        along: [1.0, 0.0, 0.0],
        length_m: 0.4,
        thickness_m: 0.006,
        velocity_m_s: 12.0,
        density_ratio: 1.0,
        buoyancy_m_s2,
    };
    // Ar 1e-4, 1 m away: 0.62·4/15·1e-4·(1/0.006)^2.5·0.006 m = 36 mm.
    let hot = jet(1e-4 * 12.0 * 12.0 / 0.006);
    assert!((hot.rise_m(1.0) - 0.0356).abs() < 2e-4, "{}", hot.rise_m(1.0));
    assert!((jet(-hot.buoyancy_m_s2).rise_m(1.0) + hot.rise_m(1.0)).abs() < 1e-12);
    let best = |jet: &Jet| {
        let speed = |z: f64| engine::coverage::velocity_at([jet].into_iter(), [0.0, 1.5, z])[1];
        (0..400).map(|k| 0.5 + 0.0025 * f64::from(k)).max_by(|a, b| speed(*a).total_cmp(&speed(*b))).unwrap()
    };
    assert!(best(&hot) > 1.05 && (best(&jet(0.0)) - 1.0).abs() < 3e-3);
    // Far away it climbs no more steeply than one in one.
    assert!(hot.rise_m(40.0) - hot.rise_m(39.0) <= 1.0 + 1e-9);
}
