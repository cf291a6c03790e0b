//! Even out: slot sizes at which every slot discharges its share, in steps the shop can cut.

use super::cutting::{Cutting, Kind as Of};
use super::exact::{Exact, exact, with_nearest};
use super::rounding::{Rounding, patterns};
use super::{Designed, spacing, stepped_duct};
use crate::analysis::{Analysis, analyse, slot_targets};
use crate::error::EngineError;
use crate::finding::{Finding, Message, Severity};
use crate::limits;
use crate::network::from_plan;
use crate::plan::Plan;
use crate::units::Kind;

/// Sizes every slot of the oven at once so that each discharges its target, then rounds to the shop's
/// increment and improves the rounding until no single step lowers the largest deviation.
///
/// What may change is the build style's: widths, lengths, stations, counts or the duct. Stations and ducts
/// are chosen first, on the unrounded answer. Then the network is solved once with all slots at their
/// targets; the pressure left at each gives its area by inverting its law. Rounding is improved on the
/// real network. An error says which run cannot be reached and what would help; the plan is then left
/// alone.
pub fn even_out(plan: &Plan) -> Result<Designed, EngineError> {
    let before = analyse(plan)?;
    if before.slots.is_empty() {
        return Err(EngineError::new(
            "slots",
            "there are no slots to even out",
            "add a slot row to a supply duct",
        ));
    }
    if plan.returns.iter().all(|opening| opening.open_m <= 0.0) {
        return Err(EngineError::new(
            "returns",
            "every return slide is shut",
            "open a slide, or set returns first",
        ));
    }
    let mut findings = Vec::new();
    let shaped = stepped_duct::step_ducts(&spacing::space(plan)?)?;
    let exact = exact(&shaped).map_err(|error| with_nearest(&shaped, error))?;
    let cutting = Cutting::of(&shaped, &exact.built)?;
    let targets = slot_targets(&shaped, &exact.built);
    let sizes = cutting.sizes_for(&exact.areas_m2, &targets);
    let limited = limit(&shaped, &exact, &cutting, &sizes, &mut findings)?;
    let (steps, ladders) = to_patterns(&shaped, &cutting, &sizes, limited);
    let patterned = ladders.iter().any(Option::is_some);
    let mut built = from_plan::build(&shaped)?;
    let mut search = Rounding::new(&shaped, &mut built, &cutting, steps, ladders)?;
    search.improve()?;
    let designed = cutting.apply(&shaped, &search.steps);
    let after = analyse(&designed)?;
    accept(&designed, &before, &after).map_err(|error| with_nearest(&shaped, error))?;
    let built = from_plan::build(&designed)?;
    if let Some(breach) = limits::breaches(&designed, &built, &after.slots).first() {
        return Err(with_nearest(&shaped, breach.error()));
    }
    if patterned {
        findings.extend(too_few_patterns(&shaped, &cutting, &sizes, &after));
    }
    Ok(Designed { plan: designed, before, after, findings })
}

/// Brings sizes to whole steps within the shop's limits; says where that holds them, and refuses when
/// none fits.
fn limit(
    plan: &Plan,
    exact: &Exact,
    cutting: &Cutting,
    sizes: &[f64],
    findings: &mut Vec<Finding>,
) -> Result<Vec<i64>, EngineError> {
    let bounds = |d: usize| {
        let dial = &cutting.dials[d];
        (dial.low as f64 * dial.step_m, dial.high as f64 * dial.step_m)
    };
    let dials =
        || (0..sizes.len()).filter(|&d| sizes[d].is_finite() && cutting.dials[d].low < cutting.dials[d].high);
    let narrow: Vec<usize> = dials().filter(|&d| sizes[d] < bounds(d).0).collect();
    let wide: Vec<usize> = dials().filter(|&d| sizes[d] > bounds(d).1).collect();
    let all = dials().count();
    if all > 0 && (narrow.len() == all || wide.len() == all) {
        let (than, remedy) = if wide.is_empty() {
            (
                "narrower than the shop record allows",
                "lower the fan speed, or make the slots shorter or fewer",
            )
        } else {
            ("wider than the shop record allows", "raise the fan speed, or make the slots longer or more")
        };
        let error = EngineError::new("slots", format!("every slot would have to be {than}"), remedy);
        return Err(with_nearest(plan, error));
    }
    for (held, what) in [(narrow, "narrower"), (wide, "wider")] {
        let Some(&d) = held.first() else { continue };
        let bound = if what == "wider" { bounds(d).1 } else { bounds(d).0 };
        let run = exact
            .built
            .slots
            .iter()
            .zip(&cutting.uses)
            .find(|(_, uses)| uses.contains(&d))
            .map(|(site, _)| plan.ducts[site.duct].id.as_str());
        let way = run.and_then(|run| super::exact::nearest(plan, run));
        let usual = "Change the length or number of slots in that run, its duct size, or the fan speed.";
        let remedy =
            way.map_or_else(|| usual.to_owned(), |way| format!("{usual} The nearest that can: {way}."));
        findings.push(Finding::new(
            Severity::Caution,
            "width-limit",
            None,
            Message::new(format!("{} slots should be {what} than ", held.len()))
                .value(Kind::ShopLength, bound)
                .text("; they are held there."),
            Message::new(remedy),
            "limits of the shop record",
        ));
    }
    let whole = |(size, dial): (&f64, &super::cutting::Dial)| {
        if size.is_finite() {
            ((size / dial.step_m).round() as i64).clamp(dial.low, dial.high)
        } else {
            dial.low
        }
    };
    Ok(sizes.iter().zip(&cutting.dials).map(whole).collect())
}

/// The sizes the shop may cut, widths and lengths, where it cuts only so many.
type Ladders = [Option<Vec<i64>>; 2];

/// Moves every dial to the nearest of the patterns, where the shop cuts only so many.
fn to_patterns(plan: &Plan, cutting: &Cutting, sizes: &[f64], mut steps: Vec<i64>) -> (Vec<i64>, Ladders) {
    let mut ladders = [None, None];
    let Some(most) = plan.shop.max_patterns else { return (steps, ladders) };
    for (ladder, kind) in ladders.iter_mut().zip([Of::Width, Of::Length]) {
        let own: Vec<usize> =
            (0..sizes.len()).filter(|&d| cutting.dials[d].kind == kind && sizes[d].is_finite()).collect();
        let within = |d: usize| {
            let dial = &cutting.dials[d];
            (sizes[d] / dial.step_m).clamp(dial.low as f64, dial.high as f64)
        };
        let wanted: Vec<f64> = own.iter().map(|&d| within(d)).collect();
        let values = patterns(&wanted, most as usize);
        for (&d, want) in own.iter().zip(&wanted) {
            let off = |n: i64| (n as f64 / want - 1.0).abs();
            steps[d] = values.iter().copied().min_by(|&a, &b| off(a).total_cmp(&off(b))).unwrap_or(steps[d]);
        }
        *ladder = (!own.is_empty()).then_some(values);
    }
    (steps, ladders)
}

/// Says when the number of patterns is what stands in the way of evenness, and how many would do.
fn too_few_patterns(plan: &Plan, cutting: &Cutting, sizes: &[f64], after: &Analysis) -> Option<Finding> {
    let limit = f64::max(3.0, 1.3 * after.evenness.rounding_floor_percent);
    let most = plan.shop.max_patterns?;
    if after.evenness.worst_percent <= limit {
        return None;
    }
    let wanted: Vec<f64> = (0..sizes.len())
        .filter(|&d| cutting.dials[d].kind != Of::Free && sizes[d].is_finite())
        .map(|d| sizes[d] / cutting.dials[d].step_m)
        .collect();
    let worst = |values: &[i64]| {
        let off =
            |want: &f64| values.iter().map(|&n| (n as f64 / want - 1.0).abs()).fold(f64::INFINITY, f64::min);
        100.0 * wanted.iter().map(off).fold(0.0, f64::max)
    };
    let enough = (most as usize + 1..=48).find(|&n| worst(&patterns(&wanted, n)) <= limit);
    let remedy = match enough {
        Some(n) => {
            format!("Allow {n} patterns: then every slot is within its rounding. Or use larger ducts.")
        }
        None => "Use larger ducts, so that slots differ less, or a finer step.".to_owned(),
    };
    Some(Finding::new(
        Severity::Caution,
        "few-patterns",
        None,
        Message::new(format!("With {most} patterns the worst slot stays "))
            .value(Kind::Percent, after.evenness.worst_percent)
            .text(" off its share."),
        Message::new(remedy),
        "limits of the shop record",
    ))
}

/// Refuses an answer that is no improvement or that cheats on the total.
fn accept(plan: &Plan, before: &Analysis, after: &Analysis) -> Result<(), EngineError> {
    if after.status != "converged" {
        return Err(EngineError::new(
            "slots",
            "the evened-out plan did not converge",
            "undo the last change",
        ));
    }
    let total = after.total_flow_kg_s / after.required_flow_kg_s;
    if !(0.98..=1.02).contains(&total) {
        return Err(EngineError::new(
            "slots",
            format!("within the shop's widths the slots pass {:.0} % of the required flow", 100.0 * total),
            if total > 1.0 {
                "lower the fan speed (find speed), or allow narrower slots"
            } else {
                "raise the fan speed (find speed), or allow wider or more slots"
            },
        ));
    }
    for slot in &after.slots {
        let (low, high) = (plan.shop.min_discharge_m_s, plan.shop.max_discharge_m_s);
        if !(low..=high).contains(&slot.velocity_m_s) {
            let (bound, remedy) = if slot.velocity_m_s > high {
                (
                    high,
                    "lower the fan speed, open the returns, or allow a faster discharge in the shop record",
                )
            } else {
                (low, "raise the fan speed, or allow a slower discharge in the shop record")
            };
            return Err(EngineError::new(
                &slot.run,
                format!(
                    "evened out, slot {} would discharge at {:.1} m/s; the shop record's limit is {bound:.1} m/s",
                    slot.id, slot.velocity_m_s
                ),
                remedy,
            ));
        }
    }
    if after.fan.stall_margin_percent < 0.0 {
        return Err(EngineError::new(
            "heater",
            "at the required flow the fan works left of its pressure peak",
            "choose a smaller fan or a higher flow",
        ));
    }
    if after.evenness.worst_percent > before.evenness.worst_percent + 1e-9
        && before.evenness.worst_percent > 1.0
    {
        return Err(EngineError::new(
            "slots",
            format!(
                "the best widths leave {:.1} % where the plan has less now",
                after.evenness.worst_percent
            ),
            "make the width step smaller, or the slots wider and fewer",
        ));
    }
    Ok(())
}
