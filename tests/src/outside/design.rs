//! The design commands on a whole plan.

use super::Row;
use super::row::folder;
use engine::analysis::Analysis;
use engine::design::{even_out, set_returns};
use engine::plan::{Plan, file};
use std::sync::OnceLock;

/// The plan after set returns and even out, computed once.
fn designed() -> &'static Analysis {
    static DESIGNED: OnceLock<Analysis> = OnceLock::new();
    DESIGNED.get_or_init(|| {
        let path = folder().join("cases/gates_fine.evenrise.json");
        let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{error}"));
        let plan = file::read(&text).unwrap_or_else(|error| panic!("{error}"));
        let set = set_returns(&plan).unwrap_or_else(|error| panic!("{error}"));
        even_out(&set.plan).unwrap_or_else(|error| panic!("{error}")).after
    })
}

/// What a slot or a return opening takes after both commands.
pub fn share(row: &Row) -> f64 {
    let element = row.text("element");
    let slot = designed().slots.iter().find(|slot| slot.id == element);
    let opening = designed().returns.iter().find(|opening| opening.id == element);
    match (slot, opening) {
        (Some(slot), _) => slot.mass_flow_kg_s,
        (None, Some(opening)) => opening.share,
        (None, None) => row.unknown("element"),
    }
}

/// The plan of the row's case with steps so fine that nothing is rounded.
fn unrounded(row: &Row) -> Plan {
    let path = folder().join("cases").join(format!("{}.evenrise.json", row.text("case")));
    let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    let mut plan = file::read(&text).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    plan.shop.width_increment_m = 1e-7;
    plan.shop.slide_increment_m = 1e-6;
    plan.heater.fan.speed_rpm = 1450.0;
    plan
}

/// Width of a slot, evened out, mm.
pub fn width(row: &Row) -> f64 {
    let done = even_out(&unrounded(row)).unwrap_or_else(|error| panic!("{error}"));
    let slot = done.after.slots.iter().find(|slot| slot.id == row.text("element"));
    slot.unwrap_or_else(|| row.unknown("element")).width_mm
}

/// Opening of a slide, set, mm.
pub fn opening(row: &Row) -> f64 {
    let done = set_returns(&unrounded(row)).unwrap_or_else(|error| panic!("{error}"));
    let opening = done.after.returns.iter().find(|opening| opening.id == row.text("element"));
    opening.unwrap_or_else(|| row.unknown("element")).opening_mm
}
