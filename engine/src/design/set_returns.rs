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

/// ṁ follows the free area, so on a slide less open than this 2 mm move the share by more than 5 %, m.
const FINE_M: f64 = 0.040;
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
    let trim = plan.shop.index_opening_percent / 100.0;
    let (mut exact, mut beyond) = exact_openings(plan, trim)?;
    if trim < 1.0 && beyond.is_some() {
        let (wide, further) = exact_openings(plan, 1.0)?;
        if further.is_none() {
            findings.push(trim_used("otherwise its share would be out of reach"));
            (exact, beyond) = (wide, None);
        }
    }
    findings.extend(beyond.map(|(i, times)| out_of_reach(plan, i, times)));
    let fine = |exact: &[f64]| exact.iter().filter(|&&open| open < FINE_M).count();
    if trim < 1.0 && fine(&exact) > 0 {
        // Wider openings all round leave fewer slides in the touchy first part of their travel.
        let (wide, _) = exact_openings(plan, 1.0)?;
        if fine(&wide) < fine(&exact) {
            exact = wide;
            findings.push(trim_used("so that fewer slides are too nearly shut to set"));
        }
    }
    let rounded = round(plan, &exact)?;
    let mut designed = plan.clone();
    for (opening, open_m) in designed.returns.iter_mut().zip(&rounded) {
        opening.open_m = *open_m;
    }
    for opening in &designed.returns {
        if opening.open_m < FINE_M {
            // Half as fine as it may be leaves room to trim.
            let width_m = stock_width(plan, 0.5 * opening.width_m * opening.open_m / FINE_M, false);
            findings.push(Finding::new(
                Severity::Caution,
                "fine-slide",
                Some(&opening.id),
                Message::new("The slide stands only ")
                    .value(Kind::ShopLength, opening.open_m)
                    .text(" open: 2 mm move its share by more than 5 %."),
                Message::new("Use an opening ")
                    .value(Kind::ShopLength, width_m)
                    .text(" wide instead of ")
                    .value(Kind::ShopLength, opening.width_m)
                    .text(", or bring the others nearer to the fan side."),
                "flow follows free area",
            ));
        }
    }
    let after = analyse(&designed)?;
    if after.return_area_ratio < 1.0 {
        findings.push(Finding::new(
            Severity::Caution,
            "return-area",
            None,
            Message::new("The return openings as set have ")
                .value(Kind::Number, after.return_area_ratio)
                .text(" of the slots' area; the fan draws the returns harder than it blows the slots."),
            "Make return openings larger, or give the index slide less trim reserve.",
            "common practice, no published source: returns at least as large as slots",
        ));
    }
    for result in &after.returns {
        let off = 100.0 * (result.share / result.target_share - 1.0);
        if off.abs() > 3.0 {
            findings.push(Finding::new(
                Severity::Caution,
                "return-share",
                Some(&result.id),
                Message::new("After setting, this opening still takes ")
                    .difference(Kind::Percent, off)
                    .text(" than its share."),
                "Even out the supply too: zones drift while it is uneven. Else make the opening larger.",
                "the weights of the plan",
            ));
        }
    }
    Ok(Designed { plan: designed, before, after, findings })
}

/// An opening beyond the fan's reach, and how many times its area it would need.
type Beyond = (usize, f64);

fn trim_used(why: &str) -> Finding {
    Finding::new(
        Severity::Note,
        "trim-reserve-used",
        None,
        Message::new(format!("The index slide stands fully open, {why}.")),
        "Use narrower openings where slides stand nearly shut, and a wider one at the index; then the trim reserve can \
         be kept.",
        "flow follows free area",
    )
}

/// The damper size in stock next to `width_m`, above it or below; to the millimetre where any size is made or none is
/// left, m.
fn stock_width(plan: &Plan, width_m: f64, above: bool) -> f64 {
    let side = |size: &f64| if above { *size >= width_m - 1e-9 } else { *size <= width_m + 1e-9 };
    let stock = plan.shop.damper_sizes_m.iter().copied().filter(side);
    let next = if above { stock.reduce(f64::min) } else { stock.reduce(f64::max) };
    let millimetres = 1e3 * width_m;
    next.unwrap_or(1e-3 * if above { millimetres.ceil() } else { millimetres.floor().max(1.0) })
}

/// Free opening of every slide that gives its share exactly, m along its travel.
///
/// `trim` is how far the neediest stands open, over its height. With them comes the neediest where it takes more suction
/// than the fan has left, and how many times its area it would need.
fn exact_openings(plan: &Plan, trim: f64) -> Result<(Vec<f64>, Option<Beyond>), EngineError> {
    let mut index = 0;
    let mut tried = Vec::new();
    loop {
        // Open for the moment, lest a shut opening leave no way for the air while the network is built.
        let mut at_index = opened(plan, trim);
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
        let neediest =
            (0..fractions.len()).max_by(|&a, &b| fractions[a].total_cmp(&fractions[b])).unwrap_or(index);
        if fractions[neediest] <= trim * (1.0 + 1e-9) || neediest == index || tried.contains(&neediest) {
            let seen = built.network.seen(&solution, built.returns[index].branch);
            let (lacking_pa, drop_pa) = (lacking_pa(plan, &built, &solution), seen.p_from - seen.p_to);
            // What no opening would give back is not the returns' fault.
            let beyond = (lacking_pa > 0.0 && lacking_pa < drop_pa)
                .then(|| (index, (drop_pa / (drop_pa - lacking_pa)).sqrt()));
            let openings = fractions.iter().zip(&plan.returns).map(|(f, opening)| f * opening.height_m);
            return Ok((openings.collect(), beyond));
        }
        tried.push(index);
        index = neediest;
    }
}

/// The plan with every slide open by `share` of its travel.
fn opened(plan: &Plan, share: f64) -> Plan {
    let mut opened = plan.clone();
    opened.returns.iter_mut().for_each(|opening| opening.open_m = share * opening.height_m);
    opened
}

/// What the worst slot lacks of the pressure that its slowest discharge takes, once the returns have had theirs, Pa.
fn lacking_pa(plan: &Plan, built: &Built, solution: &Solution) -> f64 {
    let speed = plan.shop.min_discharge_m_s;
    let lacks = built.slots.iter().map(|site| {
        let seen = built.network.seen(solution, site.branch);
        0.5 * seen.density * speed * speed - (seen.p_from - seen.p_to)
    });
    lacks.fold(f64::NEG_INFINITY, f64::max)
}

/// Says how much larger opening `i` would have to be, needing `times` the area it has.
fn out_of_reach(plan: &Plan, i: usize, times: f64) -> Finding {
    let opening = &plan.returns[i];
    let share = 100.0 * return_shares(plan)[i];
    Finding::new(
        Severity::Caution,
        "return-out-of-reach",
        Some(&opening.id),
        Message::new("Its share of ")
            .value(Kind::Percent, share)
            .text(" is out of reach: with it the fan has too little pressure left for the slots."),
        Message::new("It needs ")
            .value(Kind::ShopLength, stock_width(plan, opening.width_m * times, true))
            .text(" of width instead of ")
            .value(Kind::ShopLength, opening.width_m)
            .text(", or a share of ")
            .value(Kind::Percent, share / times)
            .text(" at most. Or raise the fan speed."),
        "all slots and returns at their shares, with the slowest discharge of the shop record at the worst slot",
    )
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
    let step = |i: usize| plan.returns[i].pin_pitch_m.unwrap_or(plan.shop.slide_increment_m);
    let limits: Vec<i64> = plan
        .returns
        .iter()
        .enumerate()
        .map(|(i, o)| ((o.height_m / step(i) + 1e-6).floor() as i64).max(1))
        .collect();
    let mut steps: Vec<i64> = exact
        .iter()
        .zip(&limits)
        .enumerate()
        .map(|(i, (open, limit))| ((open / step(i)).round() as i64).clamp(1, *limit))
        .collect();
    let mut built = from_plan::build(&opened(plan, 1.0))?;
    prescribe_slots(plan, &mut built)?;
    let shares = return_shares(plan);
    let open_m = |i: usize, n: i64| in_steps(n, step(i)).min(plan.returns[i].height_m);
    let mut solver = Solver::new(&built.network);
    let mut deviations_of = |steps: &[i64]| -> Result<Option<Vec<f64>>, EngineError> {
        for (i, site) in built.returns.iter().enumerate() {
            let mut law = built.network.branches()[site.branch].law.clone();
            let area = plan.returns[i].width_m * open_m(i, steps[i]);
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
        return Ok(steps.iter().enumerate().map(|(i, &n)| open_m(i, n)).collect());
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
    Ok(steps.iter().enumerate().map(|(i, &n)| open_m(i, n)).collect())
}

/// Largest deviation with the mean square as tie-breaker.
fn spread(deviations: &[f64]) -> f64 {
    let worst = deviations.iter().fold(0.0_f64, |worst, d| worst.max(d.abs()));
    worst + 1e-3 * deviations.iter().map(|d| d * d).sum::<f64>()
}
