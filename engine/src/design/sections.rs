//! Sizes of trunk and runs, section by section, for a velocity or a pressure budget, in stock sizes.

use super::exact::{Needs, needs};
use super::find_speed::at_its_speed;
use super::gauge::{gauges_m, sheet_kg, sheet_m2};
use super::stepped_duct::{of_height, stock_sizes};
use super::{Designed, Method};
use crate::analysis::analyse;
use crate::error::EngineError;
use crate::finding::{Finding, Message, Severity};
use crate::plan::geometry::{Onto, joints, length_m, nearest, section_at};
use crate::plan::{Duct, DuctRole, Plan, Section, SizeStep};
use crate::units::Kind;
use serde::{Deserialize, Serialize};

/// Sections a slotted stretch is made of at most.
const SECTIONS_OF_A_RUN: usize = 3;
/// Velocities tried for a pressure budget.
const TRIALS: u32 = 40;
/// The longer side of a duct over the shorter one, where its width may be chosen (common practice, no published source).
const MOST_SLENDER: f64 = 4.0;

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
    /// As drawn at its middle.
    pub drawn: Section,
    /// The width that what joins it needs, m; none where slots keep the drawn one.
    pub least_width_m: Option<f64>,
    /// Largest flow in it, m³/s.
    pub flow_m3_s: f64,
    /// Area below which a run has too much slot area for its duct, m²; zero beyond its first stretch.
    pub least_m2: f64,
    pub density_kg_m3: f64,
    pub viscosity_pa_s: f64,
}

fn is_supply(duct: &Duct) -> bool {
    duct.role != DuctRole::Return
}

/// Slot area over duct area that is allowed, or advised where the shop record does not say.
pub(super) fn greatest_ratio(plan: &Plan) -> f64 {
    plan.shop.max_area_ratio.unwrap_or(0.7)
}

/// Area that the slots of a duct need for their shares, m².
fn slot_area_m2(needs: &Needs, duct: usize) -> f64 {
    let own = needs.built.slots.iter().zip(&needs.slots).filter(|(site, _)| site.duct == duct);
    own.filter_map(|(_, need)| need.area_m2).sum()
}

/// Whether every run has the duct area its slots ask for.
fn ratios_fit(plan: &Plan, needs: &Needs) -> bool {
    let most = greatest_ratio(plan) * (1.0 + 1e-9);
    let mut ducts = plan.ducts.iter().enumerate();
    ducts.all(|(i, duct)| slot_area_m2(needs, i) <= most * duct.section.area_m2())
}

/// Supply ducts cut where others branch off and, along slots, into a few sections of equal length.
pub(super) fn stretches(plan: &Plan, needs: &Needs) -> Vec<Stretch> {
    let joints = joints(plan);
    let mut found = Vec::new();
    for (duct, item) in plan.ducts.iter().enumerate().filter(|(_, duct)| is_supply(duct)) {
        let end = length_m(&item.path);
        let mut cuts: Vec<f64> = joints
            .iter()
            .filter_map(|joint| match joint.onto {
                Onto::Duct { duct: host, station_m } if host == duct => Some(station_m),
                _ => None,
            })
            .collect();
        let slots: Vec<f64> =
            needs.built.slots.iter().filter(|site| site.duct == duct).map(|site| site.station_m).collect();
        // A ring is of one size: where its two streams meet there is hardly any air, and sized for that it would have less.
        let in_ring = joints.iter().any(|joint| joint.duct == duct && joint.last);
        if in_ring {
            cuts.clear();
        }
        let sections = if in_ring { 1 } else { SECTIONS_OF_A_RUN.min(slots.len().div_ceil(2)) };
        cuts.extend((1..sections).map(|j| {
            let k = slots.len() * j / sections;
            0.5 * (slots[k - 1] + slots[k])
        }));
        cuts.retain(|&cut| cut > 0.1 && cut < end - 0.1);
        crate::numerics::sort_numbers(&mut cuts);
        cuts.dedup_by(|a, b| *a - *b < 0.3);
        cuts.insert(0, 0.0);
        cuts.push(end);
        let least_m2 = slot_area_m2(needs, duct) / greatest_ratio(plan);
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
            // A duct ends within half the width of its host.
            let reach_m = joints.iter().filter_map(|joint| match joint.onto {
                Onto::Duct { duct: host, station_m }
                    if host == duct && (pair[0] - 1e-6..=pair[1] + 1e-6).contains(&station_m) =>
                {
                    let path = &plan.ducts[joint.duct].path;
                    let end = if joint.last { path.last() } else { path.first() };
                    end.map(|&end| 2.0 * nearest(&item.path, end).1)
                }
                _ => None,
            });
            found.push(Stretch {
                duct,
                from_m: (pair[0] * 1e3).round() / 1e3,
                to_m: pair[1],
                drawn: section_at(item, 0.5 * (pair[0] + pair[1])),
                least_width_m: slots.is_empty().then(|| reach_m.fold(0.0, f64::max)),
                flow_m3_s: needs.solution.flows_kg_s[piece.branch].abs() / branch.density_kg_m3,
                least_m2: if pair[0] > 0.0 { 0.0 } else { least_m2 },
                density_kg_m3: branch.density_kg_m3,
                viscosity_pa_s: branch.viscosity_pa_s,
            });
        }
    }
    found
}

/// The plan with these sections, one a stretch.
pub(super) fn with_sections(plan: &Plan, stretches: &[Stretch], sections: &[Section]) -> Plan {
    let mut changed = plan.clone();
    for (stretch, &section) in stretches.iter().zip(sections) {
        let duct = &mut changed.ducts[stretch.duct];
        if stretch.from_m <= 0.0 {
            duct.section = section;
            duct.steps.clear();
        } else if section_at(duct, stretch.from_m) != section {
            duct.steps.push(SizeStep { station_m: stretch.from_m, section });
        }
    }
    changed
}

/// The section of each stretch in stock: the least sheet that has at least this area, m².
///
/// Round ducts change in diameter. Slots keep the width they are cut in; other stretches take a width in stock too, where
/// the shop record lists sizes: up to the one drawn, wide enough for what joins them, with sides of 4 to 1 at most, and
/// wider than drawn only where no height does it. Along a duct whose air gets less no side gets larger.
pub(super) fn in_stock(
    plan: &Plan,
    stretches: &[Stretch],
    areas_m2: &[f64],
) -> Result<Vec<Section>, EngineError> {
    let mut found: Vec<Section> = Vec::with_capacity(stretches.len());
    for (i, (stretch, &area_m2)) in stretches.iter().zip(areas_m2).enumerate() {
        let before =
            i.checked_sub(1).filter(|&j| stretches[j].duct == stretch.duct && areas_m2[j] >= area_m2);
        let within = before.map(|j| found[j]);
        let section = one_in_stock(plan, stretch, area_m2, within).or_else(|| {
            before?;
            one_in_stock(plan, stretch, area_m2, None)
        });
        found.push(section.ok_or_else(|| {
            EngineError::new(
                &plan.ducts[stretch.duct].id,
                format!(
                    "would have to be {:.0} mm high, more than half of the box or what is in stock",
                    1e3 * height_for_area(stretch.drawn, area_m2)
                ),
                "make the duct wider, or allow more velocity or pressure",
            )
        })?);
    }
    Ok(found)
}

fn one_in_stock(plan: &Plan, stretch: &Stretch, area_m2: f64, within: Option<Section>) -> Option<Section> {
    let heights = stock_sizes(&plan.shop, 0.05, 0.5 * plan.enclosure.height_m, false);
    let fits = |section: &Section| match (*section, within) {
        (
            Section::Rectangular { width_m, height_m },
            Some(Section::Rectangular { width_m: w, height_m: h }),
        ) => width_m <= w + 1e-9 && height_m <= h + 1e-9,
        _ => true,
    };
    let enough = |section: &Section| section.area_m2() >= area_m2 - 1e-12 && fits(section);
    let Section::Rectangular { width_m: drawn_m, .. } = stretch.drawn else {
        return heights.iter().map(|&height| of_height(stretch.drawn, height)).find(enough);
    };
    // The lowest height that is enough for a width.
    let best_of = |width_m: f64, steep: f64| {
        let sections = heights.iter().map(|&height_m| Section::Rectangular { width_m, height_m });
        let slender = |section: &Section| {
            let height_m = super::stepped_duct::height_m(*section);
            width_m.max(height_m) <= steep * width_m.min(height_m) + 1e-9
        };
        sections.filter(enough).find(slender)
    };
    if stretch.least_width_m.is_none() || plan.shop.duct_sizes_m.is_empty() {
        return best_of(drawn_m, f64::INFINITY);
    }
    let mut widths = plan.shop.duct_sizes_m.clone();
    crate::numerics::sort_numbers(&mut widths);
    let least_m = stretch.least_width_m.unwrap_or(0.0);
    widths.retain(|&width| width >= least_m - 1e-9);
    // As wide as drawn, in stock.
    let full =
        widths.iter().position(|&width| width >= drawn_m - 1e-9).unwrap_or(widths.len().saturating_sub(1));
    let least_sheet = |widths: &[f64]| {
        // Of two alike the wider one, which leaves more headroom.
        let each = widths.iter().rev().filter_map(|&width| best_of(width, MOST_SLENDER));
        each.min_by(|a, b| a.perimeter_m().total_cmp(&b.perimeter_m()))
    };
    least_sheet(widths.get(..=full)?).or_else(|| least_sheet(&widths[full + 1..]))
}

/// Height at which `section` has this free area, m.
pub(super) fn height_for_area(section: Section, area_m2: f64) -> f64 {
    match section {
        Section::Rectangular { width_m, .. } => area_m2 / width_m,
        Section::Round { .. } => (area_m2 / core::f64::consts::FRAC_PI_4).sqrt(),
    }
}

/// Fastest air in a supply duct, m/s.
fn fastest_m_s(plan: &Plan, needs: &Needs) -> f64 {
    let network = &needs.built.network;
    let pieces = plan.ducts.iter().zip(&needs.built.pieces).filter(|(duct, _)| is_supply(duct));
    pieces
        .flat_map(|(_, pieces)| pieces)
        .map(|piece| {
            let density = network.branches()[piece.branch].density_kg_m3;
            needs.solution.flows_kg_s[piece.branch].abs() / (density * piece.area_m2)
        })
        .fold(0.0, f64::max)
}

/// What the supply ducts of a plan cost.
pub(super) fn cost(plan: &Plan, needs: &Needs) -> DuctCost {
    DuctCost {
        velocity_m_s: fastest_m_s(plan, needs),
        loss_pa: loss_pa(needs),
        sheet_m2: sheet_m2(plan),
        steel_kg: sheet_kg(plan),
        shaft_power_w: at_its_speed(plan).ok().map(|(_, air)| air.fan.shaft_power_w),
    }
}

/// Suggests sizes of trunk and runs, section by section, within a budget.
///
/// With every slot at its share all flows are known. For a velocity each stretch takes the least sheet in stock that
/// keeps to it; the first section of a run is never smaller than its slots ask for. For a pressure ducts are sized by
/// equal friction, and the fastest velocity at the discharge is looked for
/// whose sizes, with the network solved anew, keep to it: the least metal of its kind. In a ring the flows go by the
/// sizes, so sizing is repeated while that saves sheet; a plan that keeps to the budget in stock sizes and would not save
/// any stays as it is, so a second run changes nothing. Slots keep their sizes and want evening out after.
pub fn suggest_sections(plan: &Plan, budget: Budget) -> Result<Sized, EngineError> {
    let drawn = needs(plan)?;
    if !matches!(budget, Budget::Velocity { most_m_s: most } | Budget::Pressure { most_pa: most } if most > 0.0)
    {
        return Err(EngineError::new("sections", "the budget is not above zero", "enter more than zero"));
    }
    let mut best = keeps(plan, &drawn, budget).then(|| plan.clone());
    let sized = loop {
        let next = match &best {
            None => Some(sized_once(plan, &drawn, budget)?),
            // What its own flows would size with no less sheet stays.
            Some(best) => sized_once(best, &needs(best)?, budget)
                .ok()
                .filter(|next| sheet_m2(next) < sheet_m2(best) - 1e-9),
        };
        match (next, best) {
            (None, Some(best)) => break best,
            (next, _) => best = next,
        }
    };
    let (before, costs) = (cost(plan, &drawn), cost(&sized, &needs(&sized)?));
    let mut findings = vec![Finding::new(
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
    )];
    let width = |duct: &Duct| duct.section.plan_width_m();
    let wider = plan.ducts.iter().zip(&sized.ducts).find(|(old, new)| width(new) > width(old) + 1e-9);
    findings.extend(wider.map(|(_, duct)| {
        Finding::new(
            Severity::Caution,
            "wider-duct",
            Some(&duct.id),
            Message::new("It is now ").value(Kind::ShopLength, width(duct)).text(" wide, wider than drawn."),
            "Check that it clears the parts, the walls and its neighbours.",
            "no height in stock up to half of the box is enough",
        )
    }));
    let thin = sized.ducts.iter().zip(gauges_m(&sized)).find(|(_, (_, enough))| !enough);
    findings.extend(thin.map(|(duct, (gauge, _))| {
        Finding::new(
            Severity::Caution,
            "thin-sheet",
            Some(&duct.id),
            Message::new("The thickest sheet in stock, ")
                .value(Kind::ShopLength, gauge)
                .text(", is thinner than usual for a duct of this size at the fan's highest pressure."),
            "Add a thicker gauge to the shop record, or stiffen the duct.",
            "common practice, no published source",
        )
    }));
    let designed = Designed { before: analyse(plan)?, after: analyse(&sized)?, findings, plan: sized };
    Ok(Sized { designed, before, after: costs })
}

/// Whether the supply ducts are in stock, large enough for their slots, and keep to the budget.
fn keeps(plan: &Plan, drawn: &Needs, budget: Budget) -> bool {
    let heights = stock_sizes(&plan.shop, 0.05, 0.5 * plan.enclosure.height_m, false);
    let listed = |sizes: &[f64], size_m: f64| sizes.iter().any(|size| (size - size_m).abs() < 1e-9);
    let made = |duct: &Duct| {
        let slotted = plan.slot_rows.iter().any(|row| row.duct == duct.id);
        let any_width = slotted || plan.shop.duct_sizes_m.is_empty();
        let mut sections = duct.steps.iter().map(|step| step.section).chain([duct.section]);
        sections.all(|section| match section {
            Section::Rectangular { width_m, height_m } => {
                listed(&heights, height_m) && (any_width || listed(&plan.shop.duct_sizes_m, width_m))
            }
            Section::Round { diameter_m } => listed(&heights, diameter_m),
        })
    };
    plan.ducts.iter().filter(|duct| is_supply(duct)).all(made)
        && ratios_fit(plan, drawn)
        && match budget {
            Budget::Velocity { most_m_s } => fastest_m_s(plan, drawn) <= most_m_s * (1.0 + 1e-9),
            Budget::Pressure { most_pa } => loss_pa(drawn) <= most_pa,
        }
}

/// The plan sized by the flows it has.
fn sized_once(plan: &Plan, drawn: &Needs, budget: Budget) -> Result<Plan, EngineError> {
    let mut stretches = stretches(plan, drawn);
    match budget {
        Budget::Velocity { most_m_s } => within_velocity(plan, &mut stretches, most_m_s),
        Budget::Pressure { most_pa } => within_pressure(plan, &stretches, most_pa),
    }
}

/// Sizes by velocity; where a ring shifts its flows to the new sizes, or slots need more area on them, once more with
/// the larger of both.
fn within_velocity(plan: &Plan, stretches: &mut [Stretch], most_m_s: f64) -> Result<Plan, EngineError> {
    loop {
        let area = |stretch: &Stretch| (stretch.flow_m3_s / most_m_s).max(stretch.least_m2);
        let areas: Vec<f64> = stretches.iter().map(area).collect();
        let sized = with_sections(plan, stretches, &in_stock(plan, stretches, &areas)?);
        let after = needs(&sized)?;
        let mut shifted = false;
        for stretch in stretches.iter_mut() {
            let least_m2 = slot_area_m2(&after, stretch.duct) / greatest_ratio(plan);
            if stretch.least_m2 > 0.0 && least_m2 > sized.ducts[stretch.duct].section.area_m2() * (1.0 + 1e-9)
            {
                stretch.least_m2 = stretch.least_m2.max(least_m2) * 1.001;
                shifted = true;
            }
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
            return Ok(sized);
        }
    }
}

fn within_pressure(plan: &Plan, stretches: &[Stretch], most_pa: f64) -> Result<Plan, EngineError> {
    let mut least = f64::INFINITY;
    let mut last: Option<Vec<Section>> = None;
    for trial in 0..TRIALS {
        // From 25 m/s down to 2 m/s, evenly in ratio.
        let velocity = 25.0 * crate::numerics::pow(0.08, f64::from(trial) / f64::from(TRIALS - 1));
        let mut areas = super::course::areas(plan, stretches, Method::EqualFriction, velocity);
        areas.iter_mut().zip(stretches).for_each(|(area, stretch)| *area = area.max(stretch.least_m2));
        let sections = match in_stock(plan, stretches, &areas) {
            Ok(sections) => sections,
            Err(error) if least.is_infinite() => return Err(error),
            Err(_) => break,
        };
        if last.as_ref() == Some(&sections) {
            continue;
        }
        let sized = with_sections(plan, stretches, &sections);
        last = Some(sections);
        let Ok(found) = needs(&sized) else { continue };
        let loss = loss_pa(&found);
        least = least.min(loss);
        if loss <= most_pa && ratios_fit(&sized, &found) {
            return Ok(sized);
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
