//! Slot areas at which every slot discharges its target exactly, and what stands in their way.

use super::cutting::{Cutting, style};
use super::prescribe_slots;
use crate::analysis::slot_targets;
use crate::error::EngineError;
use crate::laws::Law;
use crate::limits;
use crate::network::from_plan::{self, Built, SlotSite};
use crate::network::{Settings, Solution, Solver};
use crate::plan::{BuildStyle, Plan, Section};

/// Every slot at its target: the network and the slots' areas.
pub(super) struct Exact {
    pub built: Built,
    pub solution: Solution,
    /// In built order, m².
    pub areas_m2: Vec<f64>,
}

/// Areas that give every slot its target exactly.
///
/// All target flows are known, so the network is solved once with every slot set to its flow. The total
/// pressure E left at a slot and the velocities that pass it then give its area without iteration:
/// a = ṁ/(Cd(r)·√(2ρE)), which is the inverse of the slot's law.
pub(super) fn exact(plan: &Plan) -> Result<Exact, EngineError> {
    let needs = needs(plan)?;
    let areas_m2 = needs.areas_m2(plan)?;
    Ok(Exact { built: needs.built, solution: needs.solution, areas_m2 })
}

/// What one slot has and needs with every slot at its target.
pub(super) struct Need {
    /// Area that passes the target; none where no area does.
    pub area_m2: Option<f64>,
    /// Total pressure in the duct against the zone, Pa.
    pub total_pa: f64,
    /// Velocity pressure in the duct, Pa.
    pub velocity_pa: f64,
    /// Speed of the contracted jet, m/s.
    pub jet_m_s: f64,
}

/// The network with every slot at its target, and what each slot needs there.
pub(super) struct Needs {
    pub built: Built,
    pub solution: Solution,
    pub slots: Vec<Need>,
}

impl Needs {
    /// All areas, or the first slot that no area gives its share.
    pub fn areas_m2(&self, plan: &Plan) -> Result<Vec<f64>, EngineError> {
        let area = |(site, need): (&SlotSite, &Need)| {
            need.area_m2.ok_or_else(|| {
                EngineError::new(
                    &plan.slot_rows[site.row].duct,
                    format!(
                        "slot {} cannot discharge its share: {:.0} Pa are left there against {:.0} Pa of velocity \
                         pressure in the duct",
                        site.id, need.total_pa, need.velocity_pa
                    ),
                    "make the duct or those before it larger, raise the fan speed, or ask for less air",
                )
            })
        };
        self.built.slots.iter().zip(&self.slots).map(area).collect()
    }
}

/// Solves the network once with every slot set to its target.
pub(super) fn needs(plan: &Plan) -> Result<Needs, EngineError> {
    needs_from(plan, None)
}

/// The same, beginning from the solution of a network built alike.
pub(super) fn needs_from(plan: &Plan, last: Option<&Solution>) -> Result<Needs, EngineError> {
    let mut built = from_plan::build(plan)?;
    if built.slots.is_empty() {
        return Err(EngineError::new("slots", "no slot lies on a duct", "add a slot row to a supply duct"));
    }
    let laws: Vec<Law> =
        built.slots.iter().map(|site| built.network.branches()[site.branch].law.clone()).collect();
    prescribe_slots(plan, &mut built)?;
    let alike = last.filter(|last| {
        last.flows_kg_s.len() == built.network.branches().len()
            && last.pressures_pa.len() == built.network.nodes().len()
    });
    let solution = Solver::new(&built.network).solve(&built.network, &Settings::default(), alike);
    if !solution.converged() {
        return Err(EngineError::new(
            &solution.worst,
            "with every slot at its share the air balance does not close",
            "check the fan curve and the returns: the fan must be able to move the required flow",
        ));
    }
    let mut slots = Vec::with_capacity(laws.len());
    for (site, law) in built.slots.iter().zip(&laws) {
        let seen = built.network.seen(&solution, site.branch);
        let total_pa = seen.p_from - seen.p_to;
        let Law::Slot(law) = law else { continue };
        slots.push(Need {
            area_m2: law.area_for(seen.m, total_pa, seen.others, seen.density),
            total_pa,
            velocity_pa: law.velocity_pressure_pa(seen.others, seen.density),
            jet_m_s: (2.0 * total_pa.max(0.0) / seen.density).sqrt(),
        });
    }
    Ok(Needs { built, solution, slots })
}

/// What stands in the way of building the unrounded answer of `plan`: runs, each named once.
fn obstacles(plan: &Plan) -> Result<Vec<usize>, EngineError> {
    let needs = needs(plan)?;
    let cutting = Cutting::of(plan, &needs.built)?;
    let areas_m2: Vec<f64> = needs.slots.iter().map(|need| need.area_m2.unwrap_or(f64::NAN)).collect();
    let sizes = cutting.sizes_for(&areas_m2, &slot_targets(plan, &needs.built));
    let mut slot_area = vec![0.0; plan.ducts.len()];
    let mut found = Vec::new();
    for (i, site) in needs.built.slots.iter().enumerate() {
        slot_area[site.duct] += areas_m2[i];
        let (fastest, _) = limits::speed_limit_m_s(plan, &needs.built, i);
        let jet_fits = (plan.shop.min_discharge_m_s..=fastest).contains(&needs.slots[i].jet_m_s);
        // Half a step beyond a limit is rounded to it.
        let size_fits = cutting.uses[i].iter().all(|&d| {
            let (dial, steps) = (&cutting.dials[d], sizes[d] / cutting.dials[d].step_m);
            dial.low == dial.high || (dial.low as f64 - 0.5..=dial.high as f64 + 0.5).contains(&steps)
        });
        if !(jet_fits && size_fits && areas_m2[i].is_finite()) {
            found.push(site.duct);
        }
    }
    let greatest = plan.shop.max_area_ratio.unwrap_or(f64::INFINITY);
    let ratios = slot_area.iter().zip(&plan.ducts).map(|(area, duct)| area / duct.section.area_m2());
    found.extend(ratios.enumerate().filter(|(_, ratio)| *ratio > greatest).map(|(duct, _)| duct));
    crate::numerics::sort_short(&mut found, usize::cmp);
    found.dedup();
    Ok(found)
}

/// Fan speeds tried, against the present one.
const SPEEDS: [f64; 12] = [1.02, 0.98, 1.05, 0.95, 1.1, 0.9, 1.2, 0.8, 1.4, 0.65, 1.8, 0.5];
/// Punched widths tried where lengths vary, against the present one.
const WIDER: [f64; 5] = [1.2, 1.4, 1.7, 2.0, 3.0];
/// Heights tried on top of the present one, m.
const HEIGHTS_M: [f64; 6] = [0.010, 0.025, 0.050, 0.100, 0.200, 0.400];

/// `plan` with one run higher (a round one larger) by `more_m`.
fn with_height(plan: &Plan, run: usize, more_m: f64) -> Plan {
    let mut changed = plan.clone();
    let duct = &mut changed.ducts[run];
    let steps = duct.steps.iter_mut().map(|step| &mut step.section);
    for section in core::iter::once(&mut duct.section).chain(steps) {
        match section {
            Section::Rectangular { height_m, .. } => *height_m += more_m,
            Section::Round { diameter_m } => *diameter_m += more_m,
        }
    }
    changed
}

pub(super) fn with_speed(plan: &Plan, factor: f64) -> Plan {
    let mut changed = plan.clone();
    changed.heater.fan.speed_rpm *= factor;
    changed
}

/// `plan` with the punched width larger wherever lengths vary.
fn with_punched_width(plan: &Plan, factor: f64) -> Plan {
    let mut changed = plan.clone();
    for (row, old) in changed.slot_rows.iter_mut().zip(&plan.slot_rows) {
        if style(plan, old) == BuildStyle::SteppedLengths {
            let steps = (factor * old.width_m(0) / plan.shop.width_increment_m).round();
            row.widths_m = vec![super::in_steps(steps as i64, plan.shop.width_increment_m)];
        }
    }
    changed
}

/// The smallest change after which the unrounded answer can be built: of the height of `run`, for that
/// run, or of the fan speed, for all: "run 4 needs 12 mm more height, or 8 % more fan speed". Computed by
/// trying: each trial sizes the whole oven anew. `None` where neither helps, or nothing that these change is in the way.
pub(super) fn nearest(plan: &Plan, run: &str) -> Option<String> {
    let mut ways = Vec::new();
    let works = |changed: &Plan| obstacles(changed).is_ok_and(|found| found.is_empty());
    if works(plan) {
        return None;
    }
    let index = plan.ducts.iter().position(|duct| duct.id == run);
    let clears = |changed: &Plan| {
        obstacles(changed).is_ok_and(|found| index.is_some_and(|index| !found.contains(&index)))
    };
    if let Some(index) = index
        && !clears(plan)
        && let Some(&first) = HEIGHTS_M.iter().find(|&&more| clears(&with_height(plan, index, more)))
    {
        let (mut low, mut high) = (0.0, first);
        while high - low > 0.001 {
            let middle = 0.5 * (low + high);
            if clears(&with_height(plan, index, middle)) { high = middle } else { low = middle }
        }
        ways.push(format!("{:.0} mm more height", (1e3 * high).ceil()));
    }
    let allowed = plan.heater.fan.allowed_speed_rpm().unwrap_or(f64::INFINITY);
    let may = |factor: f64| plan.heater.fan.speed_rpm * factor <= allowed;
    if let Some(&first) = SPEEDS.iter().find(|&&factor| may(factor) && works(&with_speed(plan, factor))) {
        let (mut far, mut near) = (first, 1.0);
        while (far - near).abs() > 0.002 {
            let middle = 0.5 * (far + near);
            if works(&with_speed(plan, middle)) { far = middle } else { near = middle }
        }
        // Never less than what was tried.
        let percent = 0.1 * (1e3 * (far - 1.0).abs()).ceil();
        ways.push(format!("{percent:.1} % {} fan speed", if far > 1.0 { "more" } else { "less" }));
    }
    let wide = |factor: f64| with_punched_width(plan, factor);
    if plan.slot_rows.iter().any(|row| style(plan, row) == BuildStyle::SteppedLengths)
        && let Some(&factor) = WIDER.iter().find(|&&factor| works(&wide(factor)))
    {
        ways.push(format!("slots punched {:.0} % wider", 100.0 * (factor - 1.0)));
    }
    let place = if index.is_some() { run } else { "the oven" };
    (!ways.is_empty()).then(|| format!("{place} needs {}", ways.join(", or ")))
}

/// `error` with the nearest plan that can be built, where there is one.
pub(super) fn with_nearest(plan: &Plan, mut error: EngineError) -> EngineError {
    if let Some(way) = nearest(plan, &error.place) {
        error.remedy = format!("{way}; or {}", error.remedy);
    }
    error
}
