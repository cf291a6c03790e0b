//! Equal slots at a varied pitch, and one punched size as often as it is needed.

use super::cutting::style;
use super::exact::needs_from;
use crate::error::EngineError;
use crate::limits;
use crate::network::Solution;
use crate::plan::{BuildStyle, Duct, Plan, ShopRecord, SlotRow};

/// Passes at most; each solves the oven once with all slots at their shares.
const PASSES: usize = 40;
/// Areas of a row within this share of each other are equal.
const EQUAL: f64 = 5e-4;

/// Places the slots of every row whose pitch may vary, so that equal slots give equal air per metre.
///
/// A slot's target goes by the stretch it serves. With all slots at their targets the law gives the area
/// each would need; a slot that would need more than the others serves too long a stretch. Stretches are
/// divided by those areas until all areas of the row are equal. A punched size is cut as often as the row's
/// area asks, which keeps the row's air. Stations are rounded and kept clear of joints, bends and blanked
/// stretches. The start is always the even pitch, so that the answer does not depend on the last one.
pub(super) fn space(plan: &Plan) -> Result<Plan, EngineError> {
    let varied =
        |row: &SlotRow| matches!(style(plan, row), BuildStyle::VariedPitch | BuildStyle::PunchedCount);
    if !plan.slot_rows.iter().any(varied) {
        return Ok(plan.clone());
    }
    let mut spaced = plan.clone();
    for row in spaced.slot_rows.iter_mut().filter(|row| varied(row)) {
        if row.count < 2 {
            let fault = "has one slot, so its pitch cannot vary";
            return Err(EngineError::new(&row.id, fault, "give it two or more, or another build style"));
        }
        row.stations_m = (0..row.count).map(|k| row.first_station_m + row.pitch_m * f64::from(k)).collect();
    }
    let mut last = None;
    // How often first: the count decides stretches.
    for _ in 0..PASSES {
        let areas = row_areas(&spaced, &mut last)?;
        let mut settled = true;
        let rows = spaced.slot_rows.iter_mut().zip(&plan.slot_rows);
        for ((row, old), areas) in rows.zip(&areas).filter(|((row, _), _)| varied(row)) {
            let punched = style(plan, row) == BuildStyle::PunchedCount;
            let needed = areas.iter().sum::<f64>() / (row.length_m * row.width_m(0)).max(1e-12);
            let count = (needed.round() as u32).clamp(2, 5_000);
            if punched && count != row.count {
                recount(row, old, count);
                settled = false;
            }
        }
        if settled {
            break;
        }
    }
    let mut widths_m = vec![0.0; spaced.slot_rows.len()];
    let mut stretches: Vec<Vec<f64>> =
        spaced.slot_rows.iter().map(|row| vec![row.pitch_m; row.count as usize]).collect();
    for _ in 0..PASSES {
        let areas = row_areas(&spaced, &mut last)?;
        let mut settled = true;
        for (r, (row, areas)) in spaced.slot_rows.iter_mut().zip(&areas).enumerate() {
            if !varied(row) {
                continue;
            }
            if areas.len() != row.count as usize {
                let fault = "has slots beyond the end of its duct";
                return Err(EngineError::new(&row.id, fault, "lengthen the duct or shorten the row"));
            }
            let mean = areas.iter().sum::<f64>() / areas.len() as f64;
            widths_m[r] = mean / row.length_m;
            if areas.iter().any(|area| (area / mean - 1.0).abs() > EQUAL) {
                settled = false;
                restretch(row, &mut stretches[r], areas, mean);
            }
        }
        if settled {
            break;
        }
    }
    for (row, width_m) in spaced.slot_rows.iter_mut().zip(widths_m).filter(|(row, _)| varied(row)) {
        let Some(duct) = plan.ducts.iter().find(|duct| duct.id == row.duct) else { continue };
        // As wide as it may get once rounded.
        let widest = match style(plan, row) {
            BuildStyle::PunchedCount => row.width_m(0),
            _ => width_m + 2.0 * plan.shop.width_increment_m,
        };
        let along = if limits::across(row, duct) { widest } else { row.length_m };
        row.stations_m = placed(&plan.shop, row, duct, along)?;
    }
    Ok(spaced)
}

/// Exact areas by row, m², beginning from the last solution where it is of the same network.
fn row_areas(plan: &Plan, last: &mut Option<Solution>) -> Result<Vec<Vec<f64>>, EngineError> {
    let needs = needs_from(plan, last.as_ref())?;
    let areas_m2 = needs.areas_m2(plan)?;
    let mut areas = vec![Vec::new(); plan.slot_rows.len()];
    for (site, area) in needs.built.slots.iter().zip(areas_m2) {
        areas[site.row].push(area);
    }
    *last = Some(needs.solution);
    Ok(areas)
}

/// Gives the row `count` slots over the same stretch as `old` and with the same air, each with the share of the slot
/// that was at its place.
fn recount(row: &mut SlotRow, old: &SlotRow, count: u32) {
    let [start, end] = old.stretch_m();
    row.weight = old.weight * f64::from(old.count) / f64::from(count);
    row.shares.clear();
    if old.shares.len() == old.count as usize {
        let at = |k: u32| (2 * k + 1) as usize * old.shares.len() / (2 * count) as usize;
        row.shares = (0..count).map(|k| old.shares[at(k)]).collect();
        let mean = |shares: &[f64]| shares.iter().sum::<f64>() / shares.len() as f64;
        row.weight *= mean(&old.shares) / mean(&row.shares);
    }
    row.count = count;
    row.pitch_m = (end - start) / f64::from(count);
    row.first_station_m = start + 0.5 * row.pitch_m;
    row.stations_m = (0..count).map(|k| row.first_station_m + row.pitch_m * f64::from(k)).collect();
    row.widths_m.truncate(1);
    row.lengths_m.clear();
}

/// Shortens the stretches of slots that would need to be larger than the mean, and puts each slot in the
/// middle of its stretch.
fn restretch(row: &mut SlotRow, stretches: &mut [f64], areas: &[f64], mean: f64) {
    let [start, end] = row.stretch_m();
    stretches.iter_mut().zip(areas).for_each(|(stretch, area)| *stretch *= mean / area);
    let all: f64 = stretches.iter().sum();
    stretches.iter_mut().for_each(|stretch| *stretch *= (end - start) / all);
    let mut at = start;
    row.stations_m = stretches
        .iter()
        .map(|stretch| {
            at += stretch;
            at - 0.5 * stretch
        })
        .collect();
}

/// The row's stations in whole steps for slots that reach `along_m`, clear of all a slot may not touch, with the least web between.
fn placed(shop: &ShopRecord, row: &SlotRow, duct: &Duct, along_m: f64) -> Result<Vec<f64>, EngineError> {
    let step = shop.station_increment_m;
    let whole = |station_m: f64| (station_m / step).round() * step;
    let tidy = |station_m: f64| (station_m * 1e9).round() / 1e9;
    let closed = limits::closed_stretches(shop, row, duct);
    let half = 0.5 * along_m;
    let mut placed: Vec<f64> = Vec::with_capacity(row.stations_m.len());
    for (k, &wanted) in row.stations_m.iter().enumerate() {
        let least =
            placed.last().map_or(f64::NEG_INFINITY, |last| last + along_m + shop.min_web_m.unwrap_or(0.0));
        // On either side of a closed stretch; the nearer one that keeps the web.
        let free = |station_m: f64| {
            closed.iter().find(|c| station_m + half > c.0 + 1e-9 && station_m - half < c.1 - 1e-9)
        };
        let mut at = whole(wanted.max(least));
        if at < least - 1e-9 {
            at += step;
        }
        if let Some(stretch) = free(at) {
            let before = ((stretch.0 - half) / step).floor() * step;
            let after = ((stretch.1 + half) / step).ceil() * step;
            let nearer = if wanted - before < after - wanted { before } else { after };
            at = if nearer >= least { nearer } else { after };
            if free(at).is_some() {
                return Err(EngineError::new(
                    &row.id,
                    format!("slot {} finds no place beside {} at {wanted:.3} m", row.slot_id(k), stretch.2),
                    "move the row, or give it fewer slots",
                ));
            }
        }
        placed.push(tidy(at));
    }
    let end = row.stretch_m()[1];
    if placed.last().is_some_and(|&last| last > end) {
        let fault = "does not hold its slots with the web the shop record asks for";
        return Err(EngineError::new(&row.id, fault, "give it fewer slots or a longer stretch"));
    }
    Ok(placed)
}
