//! What cannot be built, or not be kept clean, is told with its place and a remedy; and nothing else is.

use crate::examples::{plan, two_zones};
use engine::finding::{Finding, Severity};
use engine::judge::drawing;
use engine::plan::{Column, Duct, Face, Plan, Point, Section};

fn duct<'a>(plan: &'a mut Plan, id: &str) -> &'a mut Duct {
    plan.ducts.iter_mut().find(|duct| duct.id == id).unwrap()
}

fn told(plan: &Plan, id: &str) -> Vec<Finding> {
    drawing(plan).into_iter().filter(|finding| finding.id == id).collect()
}

/// The one finding of this rule, about `item`, with a place near `at` and a remedy.
fn one(plan: &Plan, id: &str, item: &str, at: (f64, f64)) -> Finding {
    let found = told(plan, id);
    assert_eq!(found.len(), 1, "{id}: {found:#?}");
    let finding = found[0].clone();
    assert_eq!(finding.item.as_deref(), Some(item));
    let place = finding.at.expect("it has a place");
    assert!((place.x_m - at.0).abs() < 0.5 && (place.y_m - at.1).abs() < 0.5, "{finding:?}");
    assert_ne!(finding.remedy.show(Default::default()), "");
    finding
}

#[test]
fn the_examples_can_be_built() {
    for name in ["garden-gates", "minimal", "planter-ring"] {
        let grave: Vec<_> =
            drawing(&plan(name)).into_iter().filter(|finding| finding.severity > Severity::Note).collect();
        assert!(grave.is_empty(), "{name}: {grave:#?}");
    }
}

#[test]
fn a_duct_through_a_column() {
    let mut plan = two_zones();
    let at = Point::new(15.0, 4.1);
    plan.enclosure.columns.push(Column {
        id: "post".into(),
        at,
        width_m: 0.3,
        depth_m: 0.3,
        extra: Default::default(),
    });
    let finding = one(&plan, "through-column", "cure-2", (15.0, 4.1));
    assert!(finding.message.show(Default::default()).contains("post"));
    // Beside the duct's side, though within half a metre of its centre line, it is not in the way.
    plan.enclosure.columns.last_mut().unwrap().at = Point::new(15.0, 3.6);
    assert!(told(&plan, "through-column").is_empty());
}

#[test]
fn a_duct_through_a_wall_without_a_sleeve() {
    let mut plan = two_zones();
    duct(&mut plan, "transfer").sleeves_m.clear();
    let finding = one(&plan, "no-sleeve", "transfer", (8.0, 5.3));
    assert!(finding.message.show(Default::default()).contains("inner wall"));
    duct(&mut plan, "transfer").sleeves_m.push(3.1);
    assert!(told(&plan, "no-sleeve").is_empty());
    // A sleeve elsewhere is none here.
    duct(&mut plan, "transfer").sleeves_m[0] = 4.0;
    assert_eq!(told(&plan, "no-sleeve").len(), 1);
    // A run that ends at the wall does not pass it.
    duct(&mut plan, "transfer").sleeves_m[0] = 3.0;
    duct(&mut plan, "cure-1").path[1].x_m = 26.0;
    assert!(told(&plan, "no-sleeve").is_empty());
    duct(&mut plan, "cure-1").path[1].x_m = 26.5;
    one(&plan, "no-sleeve", "cure-1", (26.0, 4.6));
}

#[test]
fn overlapping_ducts() {
    let mut plan = two_zones();
    // Side by side they are 0.15 m apart; 0.1 m nearer they still are.
    duct(&mut plan, "cure-2").path.iter_mut().for_each(|p| p.y_m = 4.1);
    assert!(told(&plan, "overlap").is_empty());
    duct(&mut plan, "cure-2").path.iter_mut().for_each(|p| p.y_m = 4.25);
    let finding = one(&plan, "overlap", "cure-2", (15.5, 4.6));
    assert!(finding.message.show(Default::default()).contains("cure-1"));
    // Across one another.
    let mut plan = two_zones();
    duct(&mut plan, "cure-1").path.insert(1, Point::new(18.0, 4.6));
    let path = &mut duct(&mut plan, "cure-1").path;
    path[2] = Point::new(18.0, 3.4);
    one(&plan, "overlap", "cure-2", (18.0, 4.0));
    // Over it there is room; not where it is still too low.
    duct(&mut plan, "cure-1").underside_m = 0.3;
    one(&plan, "overlap", "cure-2", (18.0, 4.0));
    duct(&mut plan, "cure-1").underside_m = 0.4;
    assert!(told(&plan, "overlap").is_empty());
}

#[test]
fn joints_are_no_overlaps() {
    let mut plan = two_zones();
    let section = Section::Rectangular { width_m: 0.5, height_m: 0.4 };
    let mut add = |id: &str, path: Vec<Point>| {
        let mut new = plan.ducts[2].clone();
        (new.id, new.path, new.section) = (id.into(), path, section);
        plan.ducts.push(new);
    };
    // On from the end of a run, straight and then around a corner; and one slanting off the trunk.
    add("on", vec![Point::new(20.0, 4.0), Point::new(22.0, 4.0)]);
    add("turn", vec![Point::new(20.0, 2.4), Point::new(20.0, 3.4)]);
    add("slant", vec![Point::new(11.0, 3.2), Point::new(13.0, 3.3)]);
    assert!(told(&plan, "overlap").is_empty(), "{:#?}", told(&plan, "overlap"));
}

#[test]
fn open_ends() {
    let mut plan = two_zones();
    duct(&mut plan, "cure-2").path[0].x_m = 12.5;
    assert_eq!(one(&plan, "open-end", "cure-2", (12.5, 4.0)).severity, Severity::Problem);
    let mut plan = two_zones();
    plan.slot_rows.retain(|row| row.duct != "cure-2");
    one(&plan, "dead-end", "cure-2", (20.0, 4.0));
    let mut plan = two_zones();
    plan.returns.retain(|opening| opening.duct.as_deref() != Some("return-dry"));
    one(&plan, "dead-end", "return-dry", (0.8, 6.0));
}

#[test]
fn slots_facing_up_under_the_conveyor() {
    let mut plan = two_zones();
    duct(&mut plan, "cure-3").path.iter_mut().for_each(|p| p.y_m = 3.1);
    one(&plan, "slots-under-conveyor", "slots-cure-3", (11.6, 3.1));
    plan.slot_rows.iter_mut().filter(|row| row.duct == "cure-3").for_each(|row| row.face = Face::Left);
    assert!(told(&plan, "slots-under-conveyor").is_empty());
}

#[test]
fn a_duct_without_a_clean_out_end() {
    let mut plan = two_zones();
    assert!(told(&plan, "no-clean-out").is_empty());
    duct(&mut plan, "cure-4").clean_out = false;
    assert_eq!(one(&plan, "no-clean-out", "cure-4", (25.2, 1.6)).severity, Severity::Note);
    // At the end of the trunk runs leave: nothing there is free.
    assert!(!duct(&mut plan, "trunk").clean_out);
}

#[test]
fn drawing_findings_are_among_all_findings() {
    let mut plan = two_zones();
    duct(&mut plan, "transfer").sleeves_m.clear();
    let analysis = engine::analysis::analyse(&plan).unwrap();
    assert!(analysis.findings.iter().any(|finding| finding.id == "no-sleeve" && finding.at.is_some()));
}
