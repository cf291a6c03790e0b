//! Equal slots on a duct that gets smaller along its way.

use super::cutting::style;
use super::exact::needs;
use crate::error::EngineError;
use crate::plan::{BuildStyle, Plan, Section, ShopRecord, SizeStep};

/// Sections a run is made of at most.
const SECTIONS: usize = 4;
/// Rounds over all sections, larger and smaller.
const ROUNDS: usize = 8;
/// Ducts are made every so far where the shop record has no list, m.
const USUAL_STEP_M: f64 = 0.050;

/// Sides and diameters the shop makes ducts in up to `most_m`, rising; `most_m` itself is always one.
pub(super) fn stock_sizes(shop: &ShopRecord, least_m: f64, most_m: f64) -> Vec<f64> {
    let mut sizes = if shop.duct_sizes_m.is_empty() {
        let steps = (most_m / USUAL_STEP_M + 1e-9).floor() as i64;
        (1..=steps).map(|n| (n as f64 * USUAL_STEP_M * 1e9).round() / 1e9).collect()
    } else {
        shop.duct_sizes_m.clone()
    };
    sizes.push(most_m);
    sizes.retain(|&size| size >= least_m - 1e-9 && size <= most_m + 1e-9);
    crate::numerics::sort_numbers(&mut sizes);
    sizes.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
    sizes
}

/// A section of this height (of a round one: diameter).
pub(super) fn of_height(section: Section, height: f64) -> Section {
    match section {
        Section::Rectangular { width_m, .. } => Section::Rectangular { width_m, height_m: height },
        Section::Round { .. } => Section::Round { diameter_m: height },
    }
}

/// Height of a section (of a round one: diameter), m.
pub(super) fn height_m(section: Section) -> f64 {
    match section {
        Section::Rectangular { height_m, .. } => height_m,
        Section::Round { diameter_m } => diameter_m,
    }
}

/// A run whose sections are being chosen.
struct Run {
    duct: usize,
    row: usize,
    /// Stations where sections after the first begin, m.
    begins_m: Vec<f64>,
    sizes: Vec<f64>,
    /// Which size each section has.
    chosen: Vec<usize>,
    spread: f64,
}

/// Steps the duct of every row whose slots are all alike, so that each needs the same width.
///
/// With all slots at their targets the law gives the area each would need. Sections are made larger or
/// smaller, one stock size at a time and never larger than the one before, while that lowers the ratio of
/// the largest to the smallest area of the run. All flows are set, so runs do not disturb each other and
/// are tried together. The first section stays as drawn.
pub(super) fn step_ducts(plan: &Plan) -> Result<Plan, EngineError> {
    let mut runs = Vec::new();
    for (row, slots) in plan.slot_rows.iter().enumerate() {
        let Some(duct) = plan.ducts.iter().position(|duct| duct.id == slots.duct) else { continue };
        if style(plan, slots) != BuildStyle::SteppedDuct {
            continue;
        }
        let count = slots.count as usize;
        let sections = SECTIONS.min(count.div_ceil(2));
        let begins_m = (1..sections)
            .map(|j| {
                let k = count * j / sections;
                let middle = 0.5 * (slots.station_m(k - 1) + slots.station_m(k));
                (middle * 1e3).round() / 1e3
            })
            .collect();
        let root = height_m(plan.ducts[duct].section);
        let sizes = stock_sizes(&plan.shop, 0.25 * root, root);
        let chosen = vec![sizes.len() - 1; sections];
        runs.push(Run { duct, row, begins_m, sizes, chosen, spread: f64::INFINITY });
    }
    if runs.is_empty() {
        return Ok(plan.clone());
    }
    let spreads = spreads(&stepped(plan, &runs), &runs)?;
    runs.iter_mut().zip(spreads).for_each(|(run, spread)| run.spread = spread);
    for _ in 0..ROUNDS {
        let mut helped = false;
        for back in 0..SECTIONS - 1 {
            for up in [false, true] {
                helped |= try_step(plan, &mut runs, back, up)?;
            }
        }
        if !helped {
            break;
        }
    }
    Ok(stepped(plan, &runs))
}

/// Tries the section `back` from the last of every run one size larger or smaller; each run keeps what
/// helps it.
fn try_step(plan: &Plan, runs: &mut [Run], back: usize, up: bool) -> Result<bool, EngineError> {
    let before: Vec<Vec<usize>> = runs.iter().map(|run| run.chosen.clone()).collect();
    for run in runs.iter_mut() {
        let Some(j) = run.chosen.len().checked_sub(back + 1).filter(|&j| j > 0) else { continue };
        // Sections after it must not be larger, sections before it not smaller.
        if up && run.chosen[j] < run.chosen[j - 1] {
            run.chosen[j] += 1;
        } else if !up && run.chosen[j] > 0 {
            run.chosen[j] -= 1;
            for later in j + 1..run.chosen.len() {
                run.chosen[later] = run.chosen[later].min(run.chosen[j]);
            }
        }
    }
    let tried = spreads(&stepped(plan, runs), runs)?;
    let mut helped = false;
    for ((run, old), spread) in runs.iter_mut().zip(before).zip(tried) {
        if spread < run.spread - 1e-6 {
            (run.spread, helped) = (spread, true);
        } else {
            run.chosen = old;
        }
    }
    Ok(helped)
}

/// The plan with the sections chosen.
fn stepped(plan: &Plan, runs: &[Run]) -> Plan {
    let mut changed = plan.clone();
    for run in runs {
        let duct = &mut changed.ducts[run.duct];
        duct.steps.clear();
        for (j, &station_m) in run.begins_m.iter().enumerate() {
            if run.chosen[j + 1] != run.chosen[j] {
                let section = of_height(duct.section, run.sizes[run.chosen[j + 1]]);
                duct.steps.push(SizeStep { station_m, section });
            }
        }
    }
    changed
}

/// Largest over smallest area the slots of each run would need; infinite where one cannot be had.
fn spreads(plan: &Plan, runs: &[Run]) -> Result<Vec<f64>, EngineError> {
    let needs = needs(plan)?;
    let spread = |run: &Run| {
        let own = needs.built.slots.iter().zip(&needs.slots).filter(|(site, _)| site.row == run.row);
        let (low, high) = own.fold((f64::INFINITY, 0.0_f64), |(low, high), (_, need)| {
            let area = need.area_m2.unwrap_or(f64::INFINITY);
            (low.min(area), high.max(area))
        });
        if high.is_finite() && low > 0.0 { high / low } else { f64::INFINITY }
    };
    Ok(runs.iter().map(spread).collect())
}
