//! Set returns: slide positions at which every opening takes its share.

use super::{Designed, in_steps, prescribe_returns_but, prescribe_slots, worst_first};
use crate::analysis::{analyse, return_shares};
use crate::error::EngineError;
use crate::finding::{Finding, Message, Severity};
use crate::laws::{Law, opening};
use crate::network::from_plan::{self, Built};
use crate::network::{Settings, Solution, Solver};
use crate::plan::Plan;
use crate::units::Kind;

/// Passes over all slides spent on improving the rounding.
const ROUNDING_PASSES: usize = 12;

/// Sets every slide so that the openings take their shares, with the one that needs the most at the
/// shop record's index opening, and rounds to what can be set.
///
/// The return side is solved with all slots and all returns but one at their wanted flows; the pressure
/// difference left at each opening gives its free area from the law. The index opening is the one whose
/// need is greatest against its size; it is found by trying. Rounding is improved with the slots still
/// at their wanted flows, so that the answer does not depend on slot widths.
pub fn set_returns(plan: &Plan) -> Result<Designed, EngineError> {
    let before = analyse(plan)?;
    if plan.returns.is_empty() {
        return Err(EngineError::new(
            "returns",
            "there are no return openings to set",
            "add return openings",
        ));
    }
    let mut findings = Vec::new();
    let exact = exact_openings(plan)?;
    let rounded = round(plan, &exact)?;
    let mut designed = plan.clone();
    for (opening, open_m) in designed.returns.iter_mut().zip(&rounded) {
        opening.open_m = *open_m;
    }
    for opening in &designed.returns {
        // ṁ follows the free area, so 2 mm move the share by 2 mm over the opening.
        if opening.open_m < 0.040 {
            findings.push(Finding::new(
                Severity::Caution,
                "fine-slide",
                Some(&opening.id),
                Message::new("The slide stands only ")
                    .value(Kind::ShopLength, opening.open_m)
                    .text(" open: 2 mm move its share by more than 5 %."),
                "Use a narrower opening here, or bring the others nearer to the fan side.",
                "flow follows free area",
            ));
        }
    }
    let after = analyse(&designed)?;
    for result in &after.returns {
        let off = 100.0 * (result.share / result.target_share - 1.0);
        if off.abs() > 3.0 {
            findings.push(Finding::new(
                Severity::Caution,
                "return-share",
                Some(&result.id),
                Message::new("After setting, this opening still takes ")
                    .value(Kind::Percent, off)
                    .text(" more than its share."),
                "Even out the supply too: zones drift while it is uneven. Else make the opening larger.",
                "the weights of the plan",
            ));
        }
    }
    Ok(Designed { plan: designed, before, after, findings })
}

/// Free opening of every slide that gives its share exactly, m along its travel.
fn exact_openings(plan: &Plan) -> Result<Vec<f64>, EngineError> {
    let trim = plan.shop.index_opening_percent / 100.0;
    let mut index = 0;
    let mut tried = Vec::new();
    loop {
        let mut at_index = plan.clone();
        at_index.returns[index].open_m = trim * at_index.returns[index].height_m;
        let mut built = from_plan::build(&at_index)?;
        let laws: Vec<Law> =
            built.returns.iter().map(|site| built.network.branches()[site.branch].law.clone()).collect();
        prescribe_slots(plan, &mut built)?;
        prescribe_returns_but(plan, &mut built, index)?;
        let solution = converged(&built)?;
        let mut fractions = Vec::with_capacity(laws.len());
        for (i, (site, law)) in built.returns.iter().zip(&laws).enumerate() {
            let opening = &plan.returns[i];
            if i == index {
                fractions.push(trim);
                continue;
            }
            let seen = built.network.seen(&solution, site.branch);
            let (drop_pa, coefficient) = match law {
                Law::Inlet(law) => (law.drive(&seen).0, law.coefficient),
                Law::Orifice(law) => (seen.p_from - seen.p_to, law.coefficient),
                _ => continue,
            };
            let area = if drop_pa > 0.0 {
                seen.m / (coefficient * (2.0 * seen.density * drop_pa).sqrt())
            } else {
                f64::INFINITY
            };
            fractions.push(area / (opening.width_m * opening.height_m));
        }
        tried.push(index);
        let neediest =
            (0..fractions.len()).max_by(|&a, &b| fractions[a].total_cmp(&fractions[b])).unwrap_or(index);
        if fractions[neediest] <= trim * (1.0 + 1e-9) || neediest == index {
            return Ok(fractions
                .iter()
                .zip(&plan.returns)
                .map(|(f, opening)| f * opening.height_m)
                .collect());
        }
        if tried.contains(&neediest) {
            return Err(EngineError::new(
                &plan.returns[neediest].id,
                "its share is out of reach with every slide in range",
                "make this opening larger, give it a smaller weight, or make the return duct larger",
            ));
        }
        index = neediest;
    }
}

fn converged(built: &Built) -> Result<Solution, EngineError> {
    let solution = crate::network::solve(&built.network, &Settings::default());
    if solution.converged() {
        Ok(solution)
    } else {
        Err(EngineError::new(
            &solution.worst,
            "with the wanted shares the air balance does not close",
            "give every zone a product opening or a return of its own, and check the weights",
        ))
    }
}

/// Openings in whole steps of the slide, improved while a single step lowers the largest deviation.
fn round(plan: &Plan, exact: &[f64]) -> Result<Vec<f64>, EngineError> {
    let step = plan.shop.slide_increment_m;
    let limits: Vec<i64> =
        plan.returns.iter().map(|o| ((o.height_m / step + 1e-6).floor() as i64).max(1)).collect();
    let mut steps: Vec<i64> = exact
        .iter()
        .zip(&limits)
        .map(|(open, limit)| ((open / step).round() as i64).clamp(1, *limit))
        .collect();
    let mut built = from_plan::build(plan)?;
    prescribe_slots(plan, &mut built)?;
    let shares = return_shares(plan);
    let open_m = |n: i64| in_steps(n, step);
    let mut solver = Solver::new(&built.network);
    let mut deviations_of = |steps: &[i64]| -> Result<Option<Vec<f64>>, EngineError> {
        for (i, site) in built.returns.iter().enumerate() {
            let mut law = built.network.branches()[site.branch].law.clone();
            let area = plan.returns[i].width_m * open_m(steps[i]);
            match &mut law {
                Law::Inlet(opening::Inlet { area_m2, .. })
                | Law::Orifice(opening::Orifice { area_m2, .. }) => {
                    *area_m2 = area;
                }
                _ => {}
            }
            built.network.set_law(site.branch, law)?;
        }
        let solution = solver.solve(&built.network, &Settings::default(), None);
        if !solution.converged() {
            return Ok(None);
        }
        let all: f64 = built.returns.iter().map(|site| solution.flows_kg_s[site.branch]).sum();
        let each = built.returns.iter().zip(&shares);
        Ok(Some(each.map(|(site, share)| solution.flows_kg_s[site.branch] / all / share - 1.0).collect()))
    };
    let Some(mut deviations) = deviations_of(&steps)? else {
        return Ok(steps.iter().map(|&n| open_m(n)).collect());
    };
    for _ in 0..ROUNDING_PASSES {
        let mut order: Vec<usize> = (0..steps.len()).collect();
        worst_first(&mut order, &deviations);
        let mut improved = false;
        for i in order {
            let moved = steps[i] - if deviations[i] > 0.0 { 1 } else { -1 };
            if !(1..=limits[i]).contains(&moved) {
                continue;
            }
            let mut trial = steps.clone();
            trial[i] = moved;
            let Some(trial_deviations) = deviations_of(&trial)? else { continue };
            if spread(&trial_deviations) < spread(&deviations) - 1e-9 {
                (steps, deviations, improved) = (trial, trial_deviations, true);
                break;
            }
        }
        if !improved {
            break;
        }
    }
    Ok(steps.iter().map(|&n| open_m(n)).collect())
}

/// Largest deviation with the mean square as tie-breaker.
fn spread(deviations: &[f64]) -> f64 {
    let worst = deviations.iter().fold(0.0_f64, |worst, d| worst.max(d.abs()));
    worst + 1e-3 * deviations.iter().map(|d| d * d).sum::<f64>()
}
