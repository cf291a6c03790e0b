//! Coverage: air speed where the parts hang, over the floor plan and along the conveyor, from merged slot jets.

mod field;
mod jet;

pub use field::Field;
pub use jet::{Jet, Vector, velocity_at};

use crate::air::{Air, ZERO_CELSIUS_K};
use crate::analysis::{Analysis, SlotResult};
use crate::error::EngineError;
use crate::finding::{Finding, Message, Severity};
use crate::network::from_plan::site_pressure_pa;
use crate::plan::geometry::{self, SlotPlace, along, section_at, slot_places, zone_at};
use crate::plan::{Face, Plan, Point, Section};
use crate::units::Kind;
use serde::{Deserialize, Serialize};

/// Height looked at where no conveyor says where parts hang, m.
pub(crate) const USUAL_HEIGHT_M: f64 = 1.5;
/// Distance between places along the conveyor, m.
const STEP_M: f64 = 0.1;
/// A part takes the mean of the air over about this much of the path, m.
const PART_M: f64 = 1.0;

/// Air speed over the floor at one height; row by row from the lowest y.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Grid {
    /// Middle of the first cell, plan x, m.
    pub x_m: f64,
    /// Middle of the first cell, plan y, m.
    pub y_m: f64,
    /// Side of a cell, m.
    pub cell_m: f64,
    /// Cells in a row.
    pub columns: usize,
    /// Speed in each cell, m/s; none outside the box.
    pub speeds_m_s: Vec<Option<f32>>,
}

/// One place along the conveyor.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct PathPlace {
    /// Distance along the path from its first point, m.
    pub station_m: f64,
    /// Plan x, m.
    pub x_m: f64,
    /// Plan y, m.
    pub y_m: f64,
    /// Air speed, m/s.
    pub speed_m_s: f64,
}

/// Evenness of the air at the parts in one zone.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ZoneCoverage {
    /// The zone.
    pub zone: String,
    /// Mean speed along the path, m/s.
    pub mean_m_s: f64,
    /// Slowest place, m/s.
    pub least_m_s: f64,
    /// Fastest place, m/s.
    pub most_m_s: f64,
    /// Speed of the air between the jets, m/s: part of every figure.
    pub between_m_s: f64,
    /// Standard deviation of the mean over each metre of path, % of the mean: what a passing part feels.
    pub cv_percent: f64,
}

/// Air speed where the parts hang. Computed from published jet theory, not measured: ±30 % in a closed box.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Coverage {
    /// Height above the floor, m.
    pub height_m: f64,
    /// Over the floor plan.
    pub grid: Grid,
    /// Along the conveyor's path within the box.
    pub path: Vec<PathPlace>,
    /// Each zone the path passes.
    pub zones: Vec<ZoneCoverage>,
    /// What somebody should know.
    pub findings: Vec<Finding>,
}

/// The jets of all slots that discharge, with the zone each blows into.
pub fn jets(plan: &Plan, analysis: &Analysis) -> Vec<(usize, Jet)> {
    let mut found = Vec::new();
    for place in slot_places(plan) {
        let Some(slot) = analysis.slots.iter().find(|slot| slot.id == place.id) else { continue };
        let zone = zone_at(plan, place.at).unwrap_or(0);
        let around_c =
            analysis.zones.get(zone).map_or(plan.zones[zone].set_temperature_c, |zone| zone.temperature_c);
        found.extend(
            jet_of(plan, &place, slot, plan.heater.supply_temperature_c, around_c).map(|jet| (zone, jet)),
        );
    }
    found
}

/// The jet of a slot whose air leaves it at `jet_c` into air of `around_c`; none where it does not discharge.
pub(crate) fn jet_of(
    plan: &Plan,
    place: &SlotPlace,
    slot: &SlotResult,
    jet_c: f64,
    around_c: f64,
) -> Option<Jet> {
    if slot.mass_flow_kg_s <= 0.0 || slot.area_m2 <= 0.0 || slot.velocity_m_s <= 0.0 {
        return None;
    }
    let pressure_pa = site_pressure_pa(plan);
    let air = |c: f64| Air::at(c, pressure_pa, plan.site.oven_humidity_ratio);
    Some(Jet {
        density_ratio: air(jet_c).density_kg_m3() / air(around_c).density_kg_m3(),
        buoyancy_m_s2: jet::GRAVITY_M_S2 * (jet_c - around_c) / (around_c + ZERO_CELSIUS_K),
        ..shape(plan, place, slot)
    })
}

/// Place and directions of a slot's jet: square to its wall, leaning with the air in the duct.
fn shape(plan: &Plan, place: &SlotPlace, slot: &SlotResult) -> Jet {
    let row = &plan.slot_rows[place.row];
    let length_m = row.slot_length_m(place.index);
    let section = section_at(&plan.ducts[place.duct], place.station_m);
    let (width_m, height_m) = match section {
        Section::Rectangular { width_m, height_m } => (width_m, height_m),
        Section::Round { diameter_m } => (diameter_m, diameter_m),
    };
    let run = [place.direction.0, place.direction.1, 0.0];
    let left = [-place.direction.1, place.direction.0, 0.0];
    let up = [0.0, 0.0, 1.0];
    let scaled = |v: Vector, by: f64| v.map(|x| x * by);
    let sum = |a: Vector, b: Vector| [a[0] + b[0], a[1] + b[1], a[2] + b[2]];
    let floor = [place.at.x_m, place.at.y_m, plan.ducts[place.duct].underside_m];
    let (from, square, across, room_m) = match row.face {
        Face::Top => (sum(floor, scaled(up, height_m)), up, left, width_m),
        Face::Left => {
            (sum(sum(floor, scaled(left, 0.5 * width_m)), scaled(up, 0.5 * height_m)), left, up, height_m)
        }
        Face::Right => (
            sum(sum(floor, scaled(left, -0.5 * width_m)), scaled(up, 0.5 * height_m)),
            scaled(left, -1.0),
            up,
            height_m,
        ),
    };
    let lean = slot.lean_deg.to_radians();
    let (sine, cosine) = (crate::numerics::sin(lean), crate::numerics::cos(lean));
    let axis = sum(scaled(square, cosine), scaled(run, sine));
    // Slots lie across the duct; along it where they do not fit across.
    let along = if length_m <= room_m { across } else { sum(scaled(run, cosine), scaled(square, -sine)) };
    Jet {
        from,
        axis,
        along,
        length_m,
        thickness_m: slot.discharge_coefficient * slot.area_m2 / length_m,
        velocity_m_s: slot.velocity_m_s,
        density_ratio: 1.0,
        buoyancy_m_s2: 0.0,
    }
}

/// Air speed at part height over the floor and along the conveyor.
///
/// Jets run to part height freely and merge by momentum ([`velocity_at`]); between them air comes down again
/// ([`Field::new`]). What parts hold back is left out. Air of one zone does not reach another.
pub fn coverage(plan: &Plan, analysis: &Analysis) -> Result<Coverage, EngineError> {
    if analysis.status != "converged" {
        return Err(EngineError::new(
            analysis.worst_branch.clone().unwrap_or_else(|| "the air balance".into()),
            "the air balance did not close, so there are no jets to follow",
            "make the plan work first",
        ));
    }
    let jets = jets(plan, analysis);
    if jets.is_empty() {
        return Err(EngineError::new("slots", "no slot discharges", "open slots, or give the fan speed"));
    }
    let height_m = plan.conveyor.as_ref().map_or(USUAL_HEIGHT_M, |conveyor| conveyor.part_height_m);
    let field = Field::new(plan, &jets, height_m);
    let mut found = Coverage { height_m, grid: grid(&field), ..Coverage::default() };
    let mut missed = Vec::new();
    if let Some(conveyor) = &plan.conveyor {
        let length_m = geometry::length_m(&conveyor.path);
        let steps = (length_m / STEP_M).floor() as usize;
        let mut by_jets = vec![(0.0, 0); plan.zones.len()];
        for k in 0..=steps {
            let station_m = k as f64 * STEP_M;
            let (at, _) = along(&conveyor.path, station_m);
            let Some(zone) = field.zone_at(at) else { continue };
            let jet = jet::size(field.by_jets(at, zone));
            by_jets[zone] = (by_jets[zone].0 + jet, by_jets[zone].1 + 1);
            let speed_m_s = field.speed(jet, zone);
            found.path.push(PathPlace { station_m, x_m: at.x_m, y_m: at.y_m, speed_m_s });
        }
        found.zones = zones(&field, &found.path);
        let weak = |&zone: &usize| {
            let (sum, count) = by_jets[zone];
            count > 0 && field.between_m_s[zone] > 0.0 && sum / f64::from(count) < field.between_m_s[zone]
        };
        missed = (0..plan.zones.len()).filter(weak).collect();
    }
    found.findings = findings(&field, &found, &missed);
    Ok(found)
}

fn grid(field: &Field) -> Grid {
    let speed = |cell: &Option<(usize, Vector)>| {
        cell.map(|(zone, by_jets)| field.speed(jet::size(by_jets), zone) as f32)
    };
    Grid {
        x_m: field.first.x_m,
        y_m: field.first.y_m,
        cell_m: field.cell_m,
        columns: field.columns,
        speeds_m_s: field.cells.iter().map(speed).collect(),
    }
}

fn zones(field: &Field, path: &[PathPlace]) -> Vec<ZoneCoverage> {
    let plan = field.plan;
    let of = |zone: usize| -> Option<ZoneCoverage> {
        let here: Vec<&PathPlace> = path
            .iter()
            .filter(|place| zone_at(plan, Point::new(place.x_m, place.y_m)) == Some(zone))
            .collect();
        let mean =
            |places: &[&PathPlace]| places.iter().map(|p| p.speed_m_s).sum::<f64>() / places.len() as f64;
        let mean_m_s = (!here.is_empty()).then(|| mean(&here))?;
        let window = ((PART_M / STEP_M).round() as usize).min(here.len());
        let felt: Vec<f64> = here.windows(window).map(mean).collect();
        let spread = felt.iter().map(|v| (v - mean_m_s) * (v - mean_m_s)).sum::<f64>() / felt.len() as f64;
        Some(ZoneCoverage {
            zone: plan.zones[zone].id.clone(),
            mean_m_s,
            least_m_s: here.iter().map(|p| p.speed_m_s).fold(f64::INFINITY, f64::min),
            most_m_s: here.iter().map(|p| p.speed_m_s).fold(0.0, f64::max),
            between_m_s: field.between_m_s[zone],
            cv_percent: if mean_m_s > 0.0 { 100.0 * spread.sqrt() / mean_m_s } else { 0.0 },
        })
    };
    (0..plan.zones.len()).filter_map(of).collect()
}

fn findings(field: &Field, found: &Coverage, missed: &[usize]) -> Vec<Finding> {
    let plan = field.plan;
    let mut findings = Vec::new();
    let basis = "merged plane jets (Rajaratnam 1976, Reichardt 1941), ±30 %; speed at loose powder: common \
                 practice 0.5 to 1 m/s, no published source";
    let rule = &plan.air_at_part;
    let loose = |place: &&PathPlace| {
        place.station_m >= rule.loose_from_m && rule.gelled_at_m.is_none_or(|end| place.station_m < end)
    };
    let worst = found.path.iter().filter(loose).max_by(|a, b| a.speed_m_s.total_cmp(&b.speed_m_s));
    if let Some(worst) = worst.filter(|worst| worst.speed_m_s > rule.loose_powder_m_s) {
        let known = rule.gelled_at_m.is_some();
        let message = Message::new("Air passes the parts at up to ")
            .value(Kind::Velocity, worst.speed_m_s)
            .text(", ")
            .value(Kind::Length, worst.station_m)
            .text(" along the conveyor; loose powder is blown off above ")
            .value(Kind::Velocity, rule.loose_powder_m_s);
        findings.push(Finding::new(
            if known { Severity::Caution } else { Severity::Note },
            "blow-off",
            Some("conveyor"),
            if known {
                message.text(", and there it has not gelled.")
            } else {
                message.text(". Where it has gelled the plan does not say.")
            },
            if known {
                "Close or narrow the slots there, or turn them from the parts, until the powder has gelled."
            } else {
                "Enter where loose powder begins and where it has gelled, then look here again."
            },
            basis,
        ));
    }
    for &zone in missed {
        findings.push(Finding::new(
            Severity::Note,
            "jets-miss",
            Some(&plan.zones[zone].id),
            Message::new("At part height the jets pass the conveyor by; parts on its line feel only the air between \
                          them, about ")
                .value(Kind::Velocity, field.between_m_s[zone])
                .text("."),
            "Bring runs nearer under the conveyor or cut slots in the sides that face it, unless parts reach out to \
             the jets.",
            basis,
        ));
    }
    let buoyant = field.jets.iter().filter(|(_, jet)| jet.buoyancy_m_s2 != 0.0);
    let reach = buoyant.map(|(_, jet)| jet.momentum_length_m()).fold(f64::INFINITY, f64::min);
    if 0.5 * reach < found.height_m {
        findings.push(Finding::new(
            Severity::Note,
            "buoyant-jets",
            None,
            Message::new("Beyond ").value(Kind::Length, 0.5 * reach).text(
                " from the slots heat drives some jets more than the fan does: where they go is less sure.",
            ),
            "Use a faster discharge, or slots nearer to the parts, where their place matters.",
            basis,
        ));
    }
    findings
}
