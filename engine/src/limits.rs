//! What the shop record allows against what a plan has: places where they differ.

use crate::analysis::{SlotResult, area_ratios};
use crate::error::EngineError;
use crate::finding::{Finding, Message, Severity};
use crate::network::from_plan::Built;
use crate::plan::geometry::{self, corners, length_m, section_at};
use crate::plan::{BuildStyle, Duct, Face, Plan, Section, ShopRecord, SlotRow};
use crate::units::{Kind, UnitSystem};

/// Lengths closer than this are equal, m.
const SAME_M: f64 = 1e-6;

/// One limit of the shop record that a plan goes beyond.
#[derive(Clone, Debug, PartialEq)]
pub struct Breach {
    /// The rule.
    pub id: &'static str,
    /// The plan item.
    pub item: String,
    /// What is the case.
    pub message: Message,
    /// What would help.
    pub remedy: &'static str,
}

impl Breach {
    /// As a finding.
    pub fn finding(self) -> Finding {
        let item = Some(self.item.as_str());
        Finding::new(Severity::Caution, self.id, item, self.message, self.remedy, "limits of the shop record")
    }

    /// As a refusal.
    pub fn error(&self) -> EngineError {
        let problem = self.message.show(UnitSystem::Si);
        let remedy = self.remedy.trim_end_matches('.');
        let lower = remedy[..1].to_ascii_lowercase() + &remedy[1..];
        EngineError::new(&self.item, problem.trim_end_matches('.'), lower)
    }
}

/// The wall slots are cut in, from seam to seam, m.
fn wall_m(face: Face, section: Section) -> f64 {
    match (face, section) {
        (Face::Left | Face::Right, Section::Rectangular { height_m, .. }) => height_m,
        _ => section.plan_width_m(),
    }
}

/// Whether the row's slots lie across their duct: where they fit, as drawn.
pub fn across(row: &SlotRow, duct: &Duct) -> bool {
    row.length_m <= wall_m(row.face, section_at(duct, row.station_m(0))) + SAME_M
}

fn style(shop: &ShopRecord, row: &SlotRow) -> BuildStyle {
    row.build.unwrap_or(shop.build)
}

/// How far slot `k` as cut reaches (along the duct, across it), m.
pub fn reach_m(shop: &ShopRecord, row: &SlotRow, duct: &Duct, k: usize) -> (f64, f64) {
    let width = match style(shop, row) {
        BuildStyle::AdjustableStrip { slot_width_m } => slot_width_m,
        _ => row.width_m(k),
    };
    let length = row.slot_length_m(k);
    if across(row, duct) { (width, length) } else { (length, width) }
}

/// Stretches of `duct` no slot of `row` may touch: (from m, to m, why).
pub fn closed_stretches(shop: &ShopRecord, row: &SlotRow, duct: &Duct) -> Vec<(f64, f64, &'static str)> {
    let end = length_m(&duct.path);
    let mut closed: Vec<(f64, f64, &'static str)> =
        row.blanked_m.iter().map(|&[from, to]| (from.min(to), from.max(to), "a blanked stretch")).collect();
    if let Some(sheet) = shop.sheet_length_m {
        let edge = shop.edge_distance_m.unwrap_or(0.0);
        let joints = (end / sheet - SAME_M).floor().max(0.0) as usize;
        closed.extend((1..=joints).map(|n| n as f64 * sheet).map(|m| (m - edge, m + edge, "a sheet joint")));
    }
    if let Some(edge) = shop.edge_distance_m {
        closed.push((f64::NEG_INFINITY, edge, "the flange at its first point"));
        closed.push((end - edge, f64::INFINITY, "the flange at its last point"));
        closed.extend(corners(&duct.path).into_iter().map(|(m, _)| (m - edge, m + edge, "a bend")));
        closed
            .extend(duct.steps.iter().map(|s| (s.station_m - edge, s.station_m + edge, "a change of size")));
    }
    closed
}

/// The longest slot the row may have, m: what lies between its seams, or its neighbours, and the tie.
pub fn longest_slot_m(shop: &ShopRecord, row: &SlotRow, duct: &Duct) -> f64 {
    let room = if across(row, duct) {
        wall_m(row.face, section_at(duct, row.station_m(0))) - 2.0 * shop.edge_distance_m.unwrap_or(0.0)
    } else {
        row.pitch_m - shop.min_web_m.unwrap_or(0.0)
    };
    room.min(shop.max_slot_length_m.unwrap_or(f64::INFINITY))
}

/// The widest slot `k` of the row may be beside its neighbours, m.
pub fn widest_slot_m(shop: &ShopRecord, row: &SlotRow, duct: &Duct, k: usize) -> f64 {
    let (Some(web), true) = (shop.min_web_m, across(row, duct)) else { return f64::INFINITY };
    let next = (k + 1 < row.count as usize).then(|| row.station_m(k + 1) - row.station_m(k));
    let last = (k > 0).then(|| row.station_m(k) - row.station_m(k - 1));
    [next, last].into_iter().flatten().fold(f64::INFINITY, f64::min) - web
}

/// Everything in which the slots of `plan` go beyond the optional limits of its shop record.
pub fn breaches(plan: &Plan, built: &Built, slots: &[SlotResult]) -> Vec<Breach> {
    let mut found = Vec::new();
    for row in &plan.slot_rows {
        let duct = plan.ducts.iter().find(|duct| duct.id == row.duct);
        let own: Vec<usize> = built
            .slots
            .iter()
            .filter(|site| plan.slot_rows[site.row].id == row.id && row.width_m(site.index) > 0.0)
            .map(|site| site.index)
            .collect();
        if let Some(duct) = duct {
            row_breaches(plan, row, duct, &own, &mut found);
        }
    }
    if let Some(greatest) = plan.shop.max_area_ratio {
        for (duct, ratio) in area_ratios(plan, built) {
            if ratio > greatest + SAME_M {
                found.push(Breach {
                    id: "area-ratio-limit",
                    item: plan.ducts[duct].id.clone(),
                    message: Message::new("Slot area is ")
                        .value(Kind::Number, ratio)
                        .text(" of the duct area; the shop record allows ")
                        .value(Kind::Number, greatest)
                        .text("."),
                    remedy: "Use a larger duct, or a higher fan speed and narrower slots.",
                });
            }
        }
    }
    found.extend(fast_slots(plan, built, slots));
    found
}

fn row_breaches(plan: &Plan, row: &SlotRow, duct: &Duct, own: &[usize], found: &mut Vec<Breach>) {
    let shop = &plan.shop;
    let mut tell = |id, message, remedy| found.push(Breach { id, item: row.id.clone(), message, remedy });
    let named = |k: usize| Message::new(format!("Slot {} ", row.slot_id(k)));
    if let Some(tie) = shop.max_slot_length_m
        && let Some(&k) = own.iter().find(|&&k| row.slot_length_m(k) > tie + SAME_M)
    {
        let message = named(k).text("is ").value(Kind::ShopLength, row.slot_length_m(k));
        let message = message.text(" long; without a tie the shop cuts up to ").value(Kind::ShopLength, tie);
        tell("slot-tie", message.text("."), "Make the slots shorter and more, or add a tie and allow it.");
    }
    if let Some(edge) = shop.edge_distance_m {
        let margin = |k: usize| {
            0.5 * (wall_m(row.face, section_at(duct, row.station_m(k))) - reach_m(shop, row, duct, k).1)
        };
        if let Some(&k) = own.iter().find(|&&k| margin(k) < edge - SAME_M) {
            let message =
                named(k).text("leaves ").value(Kind::ShopLength, margin(k)).text(" to the seam; wanted are ");
            let message = message.value(Kind::ShopLength, edge).text(".");
            tell("slot-edge", message, "Make the slots shorter or the duct wider.");
        }
    }
    // One slot through all panels has no web.
    if let Some(web) = shop.min_web_m.filter(|_| style(shop, row) != BuildStyle::ContinuousTaper) {
        let gap = |pair: &[usize]| {
            let reach = |k: usize| 0.5 * reach_m(shop, row, duct, k).0;
            row.station_m(pair[1]) - row.station_m(pair[0]) - reach(pair[0]) - reach(pair[1])
        };
        if let Some(pair) = own.windows(2).find(|pair| gap(pair) < web - SAME_M) {
            let message = named(pair[0]).text("leaves ").value(Kind::ShopLength, gap(pair));
            let message =
                message.text(" of web to the next; wanted are ").value(Kind::ShopLength, web).text(".");
            tell("web", message, "Use a greater pitch, or narrower or fewer slots.");
        }
    }
    let closed = closed_stretches(shop, row, duct);
    let touched = own.iter().find_map(|&k| {
        let half = 0.5 * reach_m(shop, row, duct, k).0;
        let (from, to) = (row.station_m(k) - half, row.station_m(k) + half);
        let touches = |stretch: &&(f64, f64, _)| to > stretch.0 + SAME_M && from < stretch.1 - SAME_M;
        closed.iter().find(touches).map(|stretch| (k, stretch.2))
    });
    if let Some((k, what)) = touched {
        let message = named(k).text(format!("at {:.3} m of {} reaches {what}.", row.station_m(k), duct.id));
        tell("slot-joint", message, "Move the row or change its pitch, or let the pitch vary.");
    }
}

/// The fastest discharge allowed at each slot, m/s, with the rule that says so.
pub fn speed_limit_m_s(plan: &Plan, built: &Built, slot: usize) -> (f64, bool) {
    let site = &built.slots[slot];
    let duct = &plan.ducts[site.duct];
    let mut least = (plan.shop.max_discharge_m_s, false);
    for limit in &plan.shop.speed_limits {
        let here = limit.zone.as_ref().is_none_or(|zone| plan.zones[site.zone].id == *zone)
            && limit.conveyor_m.is_none_or(|[from, to]| {
                let Some(conveyor) = &plan.conveyor else { return false };
                let at = geometry::along(&duct.path, site.station_m).0;
                (from.min(to)..=from.max(to)).contains(&geometry::nearest(&conveyor.path, at).0)
            });
        if here && limit.max_discharge_m_s < least.0 {
            least = (limit.max_discharge_m_s, true);
        }
    }
    least
}

/// Runs with a slot above a local speed limit; the fastest slot of each.
fn fast_slots(plan: &Plan, built: &Built, slots: &[SlotResult]) -> Vec<Breach> {
    let mut found: Vec<Breach> = Vec::new();
    if plan.shop.speed_limits.is_empty() {
        return found;
    }
    for (i, slot) in slots.iter().enumerate() {
        let (limit, local) = speed_limit_m_s(plan, built, i);
        if local && slot.velocity_m_s > limit && found.iter().all(|breach| breach.item != slot.run) {
            found.push(Breach {
                id: "local-speed",
                item: slot.run.clone(),
                message: Message::new(format!("Slot {} discharges at ", slot.id))
                    .value(Kind::Velocity, slot.velocity_m_s)
                    .text("; there the shop record allows ")
                    .value(Kind::Velocity, limit)
                    .text("."),
                remedy: "Set a run damper or a smaller duct before this run, or lower the fan speed.",
            });
        }
    }
    found
}
