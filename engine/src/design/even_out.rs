//! Even out: slot sizes at which every slot discharges its share, in steps the shop can cut.

use super::cutting::{Cutting, Kind as Of, style};
use super::exact::{Exact, exact, with_nearest};
use super::rounding::{Rounding, THOROUGH, patterns};
use super::{Designed, spacing, stepped_duct};
use crate::analysis::{Analysis, analyse, analyse_air, slot_targets};
use crate::error::EngineError;
use crate::finding::{Finding, Message, Severity};
use crate::limits;
use crate::network::from_plan;
use crate::plan::{BuildStyle, Plan};
use crate::units::Kind;

/// Sizes every slot of the oven at once so that each discharges its target, then rounds to the shop's
/// increment and improves the rounding while a step of one of the worst slots lowers the largest deviation, within a
/// bound on the solves.
///
/// What may change is the build style's: widths, lengths, stations, counts or the duct. Stations and ducts
/// are chosen first, on the unrounded answer. Then the network is solved once with all slots at their
/// targets; the pressure left at each gives its area by inverting its law. Rounding is improved on the
/// real network. An error says which run cannot be reached and what would help; the plan is then left
/// alone.
pub fn even_out(plan: &Plan) -> Result<Designed, EngineError> {
    let before = analyse(plan)?;
    let (plan, after, findings) = evened(plan, Some(&before), THOROUGH)?;
    Ok(Designed { plan, before, after, findings })
}

/// The same without the figures before, and of those after only the air's. With figures before it must not become worse,
/// a refusal names the nearest plan that can, which takes many solves, and figures after are whole. `solves` are spent on the rounding at most.
pub(super) fn evened(
    plan: &Plan,
    before: Option<&Analysis>,
    solves: usize,
) -> Result<(Plan, Analysis, Vec<Finding>), EngineError> {
    if from_plan::build(plan)?.slots.is_empty() {
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
    let plan = &alike(plan);
    let shaped = stepped_duct::step_ducts(&spacing::space(plan)?)?;
    let advised = |error| if before.is_some() { with_nearest(&shaped, error) } else { error };
    let exact = exact(&shaped).map_err(advised)?;
    let cutting = Cutting::of(&shaped, &exact.built)?;
    let targets = slot_targets(&shaped, &exact.built);
    let sizes = cutting.sizes_for(&exact.areas_m2, &targets);
    let (limited, held) = limit(&cutting, &sizes).map_err(advised)?;
    if before.is_some() {
        findings.extend(held.iter().map(|held| held_finding(&shaped, &exact, &cutting, held)));
    }
    let (steps, ladders) = to_patterns(&shaped, &cutting, &sizes, limited);
    let patterned = ladders.iter().any(Option::is_some);
    let mut built = from_plan::build(&shaped)?;
    let near = exact.solution.clone();
    let mut search = Rounding::new(&shaped, &mut built, &cutting, steps, ladders, near)?;
    search.improve(solves)?;
    let designed = cutting.apply(&shaped, &search.steps);
    let after = if before.is_some() { analyse(&designed)? } else { analyse_air(&designed)? };
    accept(&designed, before, &after).map_err(advised)?;
    let built = from_plan::build(&designed)?;
    if let Some(breach) = limits::breaches(&designed, &built, &after.slots).first() {
        return Err(advised(breach.error()));
    }
    if patterned {
        findings.extend(too_few_patterns(&shaped, &cutting, &sizes, &after));
    }
    if before.is_some() {
        findings.extend(coarse_ducts(&designed, &after));
    }
    Ok((designed, after, findings))
}

/// The plan without lengths of their own in rows whose style makes all slots alike.
fn alike(plan: &Plan) -> Plan {
    let mut alike = plan.clone();
    for (row, old) in alike.slot_rows.iter_mut().zip(&plan.slot_rows) {
        let style = style(plan, old);
        if !matches!(
            style,
            BuildStyle::SteppedWidths | BuildStyle::SteppedLengths | BuildStyle::AdjustableStrip { .. }
        ) {
            row.lengths_m.clear();
        }
    }
    alike
}

/// Dials that the shop's limits hold.
struct Held {
    /// The first of them, and how many.
    first: usize,
    count: usize,
    /// Whether they should be wider than their greatest size; else narrower than their least.
    wider: bool,
}

/// Brings sizes to whole steps within the shop's limits; says where that holds them, and refuses when
/// none fits.
fn limit(cutting: &Cutting, sizes: &[f64]) -> Result<(Vec<i64>, Vec<Held>), EngineError> {
    let bounds = |d: usize| bounds_m(cutting, d);
    let dials =
        || (0..sizes.len()).filter(|&d| sizes[d].is_finite() && cutting.dials[d].low < cutting.dials[d].high);
    let narrow: Vec<usize> = dials().filter(|&d| sizes[d] < bounds(d).0).collect();
    let wide: Vec<usize> = dials().filter(|&d| sizes[d] > bounds(d).1).collect();
    let all = dials().count();
    if all > 0 && (narrow.len() == all || wide.len() == all) {
        let lengths = dials().all(|d| cutting.dials[d].kind == Of::Length);
        let (than, remedy) = match (lengths, wide.is_empty()) {
            (false, true) => ("narrower", "lower the fan speed, or make the slots shorter or fewer"),
            (false, false) => ("wider", "raise the fan speed, or make the slots longer or more"),
            (true, true) => {
                ("shorter than they are wide", "lower the fan speed, or punch narrower or fewer slots")
            }
            (true, false) => {
                ("longer than there is room", "raise the fan speed, or punch wider or more slots")
            }
        };
        let than = if lengths { than.to_owned() } else { format!("{than} than the shop record allows") };
        return Err(EngineError::new("slots", format!("every slot would have to be {than}"), remedy));
    }
    let held = [(narrow, false), (wide, true)]
        .iter()
        .filter_map(|(held, wider)| {
            held.first().map(|&first| Held { first, count: held.len(), wider: *wider })
        })
        .collect();
    let whole = |(size, dial): (&f64, &super::cutting::Dial)| {
        if size.is_finite() {
            ((size / dial.step_m).round() as i64).clamp(dial.low, dial.high)
        } else {
            dial.low
        }
    };
    Ok((sizes.iter().zip(&cutting.dials).map(whole).collect(), held))
}

/// Least and greatest size of dial `d`, m.
fn bounds_m(cutting: &Cutting, d: usize) -> (f64, f64) {
    let dial = &cutting.dials[d];
    (dial.low as f64 * dial.step_m, dial.high as f64 * dial.step_m)
}

fn held_finding(plan: &Plan, exact: &Exact, cutting: &Cutting, held: &Held) -> Finding {
    let (least, greatest) = bounds_m(cutting, held.first);
    let (what, bound) = if held.wider { ("wider", greatest) } else { ("narrower", least) };
    let sites = exact.built.slots.iter().zip(&cutting.uses);
    let run = sites
        .filter(|(_, uses)| uses.contains(&held.first))
        .map(|(site, _)| plan.ducts[site.duct].id.as_str())
        .next();
    let way = run.and_then(|run| super::exact::nearest(plan, run));
    let usual = "Change the length or number of slots in that run, its duct size, or the fan speed.";
    let remedy = way.map_or_else(|| usual.to_owned(), |way| format!("{usual} The nearest that can: {way}."));
    Finding::new(
        Severity::Caution,
        "width-limit",
        None,
        Message::new(format!("{} slots should be {what} than ", held.count))
            .value(Kind::ShopLength, bound)
            .text("; they are held there."),
        Message::new(remedy),
        "limits of the shop record",
    )
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
    let limit = wanted_percent(after);
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

/// What evenness is wanted, %: within what whole steps leave, never asked closer than this.
fn wanted_percent(after: &Analysis) -> f64 {
    f64::max(3.0, 1.3 * after.evenness.rounding_floor_percent)
}

/// Says when the sizes of stepped ducts are what stands in the way of evenness, and what would do.
fn coarse_ducts(plan: &Plan, after: &Analysis) -> Option<Finding> {
    let limit = wanted_percent(after);
    let worst = after.slots.iter().find(|slot| slot.id == after.evenness.worst_slot)?;
    let row = plan.slot_rows.iter().find(|row| row.duct == worst.run)?;
    if after.evenness.worst_percent <= limit || style(plan, row) != BuildStyle::SteppedDuct {
        return None;
    }
    let remedy = match stepped_duct::nearest(plan, limit) {
        Some(way) => format!("It needs {way}. Or let the widths differ too."),
        None => "Let the widths differ too, or use a larger first section.".to_owned(),
    };
    Some(Finding::new(
        Severity::Caution,
        "coarse-ducts",
        Some(&worst.run),
        Message::new("In the shop's duct sizes the worst of the equal slots stays ")
            .value(Kind::Percent, after.evenness.worst_percent)
            .text(" off its share."),
        Message::new(remedy),
        "limits of the shop record",
    ))
}

/// Refuses an answer that is no improvement or that cheats on the total.
fn accept(plan: &Plan, before: Option<&Analysis>, after: &Analysis) -> Result<(), EngineError> {
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
    let was = before.map_or(f64::INFINITY, |before| before.evenness.worst_percent);
    if after.evenness.worst_percent > was + 1e-9 && was > 1.0 {
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
