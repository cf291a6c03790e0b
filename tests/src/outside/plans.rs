//! Whole plans with one slotted run, changed as the row says.

use super::Row;
use super::row::folder;
use engine::analysis::{Analysis, analyse};
use engine::design::{SLOT_LAWS, compare_slot_laws, find_speed, operating_points};
use engine::plan::{Plan, SlotModel, file};

fn plan(row: &Row) -> Plan {
    let path = folder().join("cases").join(format!("{}.evenrise.json", row.text("case")));
    let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    let mut plan = file::read(&text).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    plan.models.regain = row.number("regain");
    plan.models.slot = slot_law(row);
    plan.heater.fan.count = row.count("fans") as u32;
    plan.heater.fan.speed_rpm = row.number("speed_rpm");
    plan
}

fn slot_law(row: &Row) -> SlotModel {
    match row.text("slot_law") {
        "cross_flow_sharp" => SlotModel::CrossFlowSharp,
        "cross_flow_formed" => SlotModel::CrossFlowFormed,
        "free_streamline" => SlotModel::FreeStreamline,
        "constant_total" => SlotModel::ConstantTotal { cd: 0.61 },
        "constant_static" => SlotModel::ConstantStatic { cd: 0.61 },
        _ => row.unknown("slot_law"),
    }
}

fn analysed(row: &Row) -> Analysis {
    let analysis = analyse(&plan(row)).unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(analysis.status, "converged", "{}", row.text("id"));
    analysis
}

/// A figure of the plan as it runs.
pub fn run(row: &Row) -> f64 {
    let analysis = analysed(row);
    let slot = || {
        let found = analysis.slots.iter().find(|slot| slot.id == row.text("element"));
        found.unwrap_or_else(|| row.unknown("element"))
    };
    let opening = || {
        let found = analysis.openings.iter().find(|opening| opening.id == row.text("element"));
        found.unwrap_or_else(|| row.unknown("element"))
    };
    match row.text("quantity") {
        "slot_flow" => slot().mass_flow_kg_s,
        "slot_total_pressure" => slot().total_pressure_pa,
        "total_flow" => analysis.total_flow_kg_s,
        "max_over_min" => analysis.evenness.max_over_min.expect("every slot discharges"),
        "fan_flow" => analysis.fan.flow_m3_s,
        "fan_pressure" => analysis.fan.total_pressure_pa,
        "out" => opening().out_kg_s,
        "in" => opening().in_kg_s,
        "neutral" => opening().neutral_level_m.expect("air passes both ways"),
        _ => row.unknown("quantity"),
    }
}

/// The speed that gives the row's flow.
pub fn speed(row: &Row) -> f64 {
    let mut plan = plan(row);
    plan.required_flow_kg_s = row.number("required_kg_s");
    find_speed(&plan).unwrap_or_else(|error| panic!("{error}")).plan.heater.fan.speed_rpm
}

/// One law of the comparison.
pub fn comparison(row: &Row) -> f64 {
    let law = slot_law(row);
    // The plan's own law is another one: the comparison must set each.
    let mut plan = plan(row);
    plan.models.slot = SlotModel::ConstantTotal { cd: 0.5 };
    let all = compare_slot_laws(&plan).unwrap_or_else(|error| panic!("{error}"));
    let found = SLOT_LAWS.iter().zip(all).find(|((_, model), _)| *model == law);
    let (_, under) = found.unwrap_or_else(|| row.unknown("slot_law"));
    match row.text("quantity") {
        "total_flow" => under.total_flow_kg_s,
        "max_over_min" => under.evenness.max_over_min.expect("every slot discharges"),
        "worst_percent" => under.evenness.worst_percent,
        _ => row.unknown("quantity"),
    }
}

/// One of the fan's operating points by rising flow, or how many there are.
pub fn points(row: &Row) -> f64 {
    let points = operating_points(&plan(row)).unwrap_or_else(|error| panic!("{error}"));
    let point = || points.get(row.count("element") - 1).unwrap_or_else(|| row.unknown("element"));
    match row.text("quantity") {
        "points" => points.len() as f64,
        "stable_points" => points.iter().filter(|point| point.stable).count() as f64,
        "flow" => point().flow_m3_s,
        "pressure" => point().total_pressure_pa,
        _ => row.unknown("quantity"),
    }
}
