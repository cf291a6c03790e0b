//! Sizes of trunk and runs, section by section, for a velocity or a pressure budget, in stock sizes.

use super::exact::{Needs, needs};
use super::find_speed::find_speed;
use super::stepped_duct::{of_height, stock_sizes};
use super::{Designed, Method};
use crate::analysis::analyse;
use crate::error::EngineError;
use crate::finding::{Finding, Message, Severity};
use crate::plan::geometry::{length_m, section_at};
use crate::plan::{Duct, DuctRole, Plan, Section, SizeStep};
use crate::units::Kind;
use serde::{Deserialize, Serialize};

/// Density of steel sheet, kg/m³.
const STEEL_KG_M3: f64 = 7_850.0;
/// Sheet where the shop record names no gauge, m.
const USUAL_GAUGE_M: f64 = 0.0012;
/// Sections a slotted stretch is made of at most.
const SECTIONS_OF_A_RUN: usize = 3;
/// Velocities tried for a pressure budget.
const TRIALS: u32 = 40;

/// What the supply ducts may cost.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "budget")]
pub enum Budget {
    /// No duct faster than this.
    Velocity {
        /// m/s.
        most_m_s: f64,
    },
    /// No slot with more total pressure lost between the heater's discharge and its place in the duct.
    Pressure {
        /// Pa.
        most_pa: f64,
    },
}

/// What a layout of supply ducts costs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct DuctCost {
    /// Fastest air in a supply duct, m/s.
    pub velocity_m_s: f64,
    /// Most total pressure lost from the heater's discharge to a slot, Pa.
    pub loss_pa: f64,
    /// Sheet in all ducts, seams included, m².
    pub sheet_m2: f64,
    /// The same as steel, kg.
    pub steel_kg: f64,
    /// Shaft power at the speed that passes the required flow with every slot as it is now, W; none where
    /// no speed does.
    pub shaft_power_w: Option<f64>,
}

/// Ducts sized, with what they cost before and after.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Sized {
    /// The plan with the sections, and its figures.
    pub designed: Designed,
    /// Before.
    pub before: DuctCost,
    /// After.
    pub after: DuctCost,
}

/// A stretch of a supply duct that has one size.
#[derive(Clone, Debug)]
pub(super) struct Stretch {
    pub duct: usize,
    pub from_m: f64,
    pub to_m: f64,
    /// Largest flow in it, m³/s.
    pub flow_m3_s: f64,
    pub density_kg_m3: f64,
    pub viscosity_pa_s: f64,
}

fn is_supply(duct: &Duct) -> bool {
    duct.role != DuctRole::Return
}

/// Supply ducts cut where others branch off and, along slots, into a few sections of equal length.
pub(super) fn stretches(plan: &Plan, needs: &Needs) -> Vec<Stretch> {
    let joints = crate::plan::geometry::joints(plan);
    let mut found = Vec::new();
    for (duct, item) in plan.ducts.iter().enumerate().filter(|(_, duct)| is_supply(duct)) {
        let end = length_m(&item.path);
        let mut cuts: Vec<f64> = joints
            .iter()
            .filter_map(|joint| match joint.onto {
                crate::plan::geometry::Onto::Duct { duct: host, station_m } if host == duct => {
                    Some(station_m)
                }
                _ => None,
            })
            .collect();
        let slots: Vec<f64> =
            needs.built.slots.iter().filter(|site| site.duct == duct).map(|site| site.station_m).collect();
        let sections = SECTIONS_OF_A_RUN.min(slots.len().div_ceil(2));
        cuts.extend((1..sections).map(|j| {
            let k = slots.len() * j / sections;
            0.5 * (slots[k - 1] + slots[k])
        }));
        cuts.retain(|&cut| cut > 0.1 && cut < end - 0.1);
        crate::numerics::sort_numbers(&mut cuts);
        cuts.dedup_by(|a, b| *a - *b < 0.3);
        cuts.insert(0, 0.0);
        cuts.push(end);
        for pair in cuts.windows(2) {
            let own = needs.built.pieces[duct].iter().filter(|piece| {
                let middle = 0.5 * (piece.from_m + piece.to_m);
                middle >= pair[0] - 1e-9 && middle <= pair[1] + 1e-9
            });
            let most = own.max_by(|a, b| {
                needs.solution.flows_kg_s[a.branch]
                    .abs()
                    .total_cmp(&needs.solution.flows_kg_s[b.branch].abs())
            });
            let Some(piece) = most else { continue };
            let branch = &needs.built.network.branches()[piece.branch];
            found.push(Stretch {
                duct,
                from_m: (pair[0] * 1e3).round() / 1e3,
                to_m: pair[1],
                flow_m3_s: needs.solution.flows_kg_s[piece.branch].abs() / branch.density_kg_m3,
                density_kg_m3: branch.density_kg_m3,
                viscosity_pa_s: branch.viscosity_pa_s,
            });
        }
    }
    found
}

/// The plan with these heights, one a stretch, widths as drawn at the first point.
pub(super) fn with_heights(plan: &Plan, stretches: &[Stretch], heights: &[f64]) -> Plan {
    let mut changed = plan.clone();
    for (stretch, &height) in stretches.iter().zip(heights) {
        let duct = &mut changed.ducts[stretch.duct];
        let section = of_height(plan.ducts[stretch.duct].section, height);
        if stretch.from_m <= 0.0 {
            duct.section = section;
            duct.steps.clear();
        } else if section_at(duct, stretch.from_m) != section {
            duct.steps.push(SizeStep { station_m: stretch.from_m, section });
        }
    }
    changed
}

/// Height at which `section` has this free area, m.
pub(super) fn height_for_area(section: Section, area_m2: f64) -> f64 {
    match section {
        Section::Rectangular { width_m, .. } => area_m2 / width_m,
        Section::Round { .. } => (area_m2 / core::f64::consts::FRAC_PI_4).sqrt(),
    }
}

/// The smallest size of stock that is at least `wanted`, m.
pub(super) fn in_stock(plan: &Plan, duct: &Duct, wanted: f64) -> Result<f64, EngineError> {
    let most = 0.5 * plan.enclosure.height_m;
    let sizes = stock_sizes(&plan.shop, 0.05, most);
    sizes.iter().copied().find(|&size| size >= wanted - 1e-9).ok_or_else(|| {
        EngineError::new(
            &duct.id,
            format!("would have to be {:.0} mm high, more than half of the box", 1e3 * wanted),
            "make the duct wider, or allow more velocity or pressure",
        )
    })
}

/// Heights in stock at which no stretch is faster than `most_m_s`; ducts do not grow along their way.
pub(super) fn heights_for_velocity(
    plan: &Plan,
    stretches: &[Stretch],
    most_m_s: f64,
) -> Result<Vec<f64>, EngineError> {
    let each = stretches.iter().map(|stretch| {
        let duct = &plan.ducts[stretch.duct];
        in_stock(plan, duct, height_for_area(duct.section, stretch.flow_m3_s / most_m_s))
    });
    each.collect()
}

/// What the supply ducts of a plan cost.
pub(super) fn cost(plan: &Plan, needs: &Needs) -> DuctCost {
    let network = &needs.built.network;
    let pieces = plan.ducts.iter().zip(&needs.built.pieces).filter(|(duct, _)| is_supply(duct));
    let velocity_m_s = pieces
        .flat_map(|(_, pieces)| pieces)
        .map(|piece| {
            let density = network.branches()[piece.branch].density_kg_m3;
            needs.solution.flows_kg_s[piece.branch].abs() / (density * piece.area_m2)
        })
        .fold(0.0, f64::max);
    let sheet_m2 = sheet_m2(plan);
    let gauge = plan.shop.gauges_m.first().copied().unwrap_or(USUAL_GAUGE_M);
    DuctCost {
        velocity_m_s,
        loss_pa: loss_pa(needs),
        sheet_m2,
        steel_kg: sheet_m2 * gauge * STEEL_KG_M3,
        shaft_power_w: find_speed(plan).ok().map(|found| found.after.fan.shaft_power_w),
    }
}

/// Sheet of all ducts, m²: girth and seam allowance times length.
///
/// ```
/// let text = include_str!("../../../tests/plans/minimal.evenrise.json");
/// let plan = engine::plan::file::read(text).unwrap();
/// let engine::plan::Section::Rectangular { width_m, height_m } = plan.ducts[0].section else { panic!() };
/// let by_hand = 2.0 * (width_m + height_m) * 6.0; // one duct of 6 m
/// assert!((engine::design::sheet_m2(&plan) - by_hand).abs() < 1e-9);
/// ```
pub fn sheet_m2(plan: &Plan) -> f64 {
    let seam = plan.shop.seam_allowance_m.unwrap_or(0.0);
    let of_duct = |duct: &Duct| -> f64 {
        let end = length_m(&duct.path);
        let mut from = 0.0;
        let mut sheet = 0.0;
        let mut section = duct.section;
        for step in &duct.steps {
            sheet += (section.perimeter_m() + seam) * (step.station_m - from);
            (from, section) = (step.station_m, step.section);
        }
        sheet + (section.perimeter_m() + seam) * (end - from)
    };
    plan.ducts.iter().map(of_duct).sum()
}

/// Suggests heights (of round ducts: diameters) of trunk and runs, section by section, within a budget.
///
/// With every slot at its share all flows are known. For a velocity each stretch takes the smallest stock
/// size that keeps to it. For a pressure ducts are sized by equal friction, and the fastest velocity at the
/// discharge is looked for whose sizes, with the network solved anew, keep to it: the least metal of its kind. Widths stay as drawn, so that slots and
/// neighbours keep their places; slots keep their sizes and want evening out after.
pub fn suggest_sections(plan: &Plan, budget: Budget) -> Result<Sized, EngineError> {
    let drawn = needs(plan)?;
    let mut stretches = stretches(plan, &drawn);
    let (sized, after) = match budget {
        Budget::Velocity { most_m_s } if most_m_s > 0.0 => within_velocity(plan, &mut stretches, most_m_s)?,
        Budget::Pressure { most_pa } if most_pa > 0.0 => within_pressure(plan, &stretches, most_pa)?,
        _ => {
            return Err(EngineError::new("sections", "the budget is not above zero", "enter more than zero"));
        }
    };
    let before = cost(plan, &drawn);
    let costs = cost(&sized, &after);
    let designed = Designed {
        before: analyse(plan)?,
        after: analyse(&sized)?,
        findings: vec![Finding::new(
            Severity::Note,
            "sections",
            None,
            Message::new("Supply ducts as sized lose up to ")
                .value(Kind::Pressure, costs.loss_pa)
                .text(", before ")
                .value(Kind::Pressure, before.loss_pa)
                .text(format!("; sheet is {:.1} m², before {:.1} m².", costs.sheet_m2, before.sheet_m2)),
            "Even out next: slots still have their old sizes.",
            "the network solved with every slot at its share",
        )],
        plan: sized,
    };
    Ok(Sized { designed, before, after: costs })
}

/// Sizes by velocity; where a ring shifts its flows to the new sizes, once more with the larger of both.
fn within_velocity(
    plan: &Plan,
    stretches: &mut [Stretch],
    most_m_s: f64,
) -> Result<(Plan, Needs), EngineError> {
    loop {
        let sized = with_heights(plan, stretches, &heights_for_velocity(plan, stretches, most_m_s)?);
        let after = needs(&sized)?;
        let mut shifted = false;
        for stretch in stretches.iter_mut() {
            for piece in &after.built.pieces[stretch.duct] {
                let inside = piece.from_m >= stretch.from_m - 1e-3 && piece.to_m <= stretch.to_m + 1e-3;
                let flow = after.solution.flows_kg_s[piece.branch].abs() / stretch.density_kg_m3;
                // Upwards by a thousandth at least, so that this ends.
                if inside && flow > most_m_s * piece.area_m2 * (1.0 + 1e-9) {
                    stretch.flow_m3_s = stretch.flow_m3_s.max(flow) * 1.001;
                    shifted = true;
                }
            }
        }
        if !shifted {
            return Ok((sized, after));
        }
    }
}

fn within_pressure(plan: &Plan, stretches: &[Stretch], most_pa: f64) -> Result<(Plan, Needs), EngineError> {
    let mut least = f64::INFINITY;
    let mut last: Option<Vec<f64>> = None;
    for trial in 0..TRIALS {
        // From 25 m/s down to 2 m/s, evenly in ratio.
        let velocity = 25.0 * crate::numerics::pow(0.08, f64::from(trial) / f64::from(TRIALS - 1));
        let heights = match super::course::stock_heights(plan, stretches, Method::EqualFriction, velocity) {
            Ok(heights) => heights,
            Err(error) if least.is_infinite() => return Err(error),
            Err(_) => break,
        };
        if last.as_ref() == Some(&heights) {
            continue;
        }
        let sized = with_heights(plan, stretches, &heights);
        last = Some(heights);
        let Ok(found) = needs(&sized) else { continue };
        let loss = loss_pa(&found);
        least = least.min(loss);
        if loss <= most_pa {
            return Ok((sized, found));
        }
    }
    Err(EngineError::new(
        "sections",
        format!("the least loss in stock sizes is {least:.0} Pa, {most_pa:.0} Pa are allowed"),
        "allow more, or make ducts wider or the way shorter",
    ))
}

/// Most total pressure lost from the heater's discharge, behind the box the fan blows into, to a slot, Pa.
pub(super) fn loss_pa(needs: &Needs) -> f64 {
    let network = &needs.built.network;
    let outlet = network.branches()[needs.built.fan].to;
    let discharge = network.branches().iter().find(|branch| branch.from == outlet).map_or(outlet, |b| b.to);
    let slots = needs.built.slots.iter().map(|site| network.branches()[site.branch].from);
    let least = slots.map(|node| needs.solution.pressures_pa[node]).fold(f64::INFINITY, f64::min);
    needs.solution.pressures_pa[discharge] - least
}
