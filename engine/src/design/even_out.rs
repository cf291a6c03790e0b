//! Even out: slot widths at which every slot discharges its share, in steps the shop can cut.

use super::{Designed, in_steps, prescribe_slots, worst_first};
use crate::analysis::{Analysis, analyse, slot_targets};
use crate::error::EngineError;
use crate::finding::{Finding, Message, Severity};
use crate::laws::Law;
use crate::network::from_plan::{self, Built};
use crate::network::{Settings, Solution, Solver};
use crate::plan::{Plan, ShopRecord};
use crate::units::Kind;

/// Solves spent at most on improving the rounding.
const ROUNDING_SOLVES: usize = 40;

/// Sizes every slot of the oven at once so that each discharges its target, then rounds to the shop's
/// increment and improves the rounding until no single step lowers the largest deviation.
///
/// The network is solved once with all slots at their targets. The total pressure E left at each slot
/// and the velocities that pass it then give its area without iteration: a = ṁ/(Cd(r)·√(2ρE)), which is
/// the inverse of the slot's law. Rounding is then improved on the real network. An error says which
/// run cannot be reached and what would help; the plan is then left alone.
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
    let widths = exact_widths(plan)?;
    let mut findings = Vec::new();
    let steps = limit(plan, &widths, &mut findings)?;
    let mut built = from_plan::build(plan)?;
    let mut search = Rounding::new(plan, &mut built, steps)?;
    search.improve()?;
    let steps = search.steps.clone();
    let designed = with_widths(plan, &built, &steps);
    let after = analyse(&designed)?;
    accept(plan, &before, &after)?;
    Ok(Designed { plan: designed, before, after, findings })
}

/// Width of every slot that gives its target exactly, in built order, m.
fn exact_widths(plan: &Plan) -> Result<Vec<f64>, EngineError> {
    let mut built = from_plan::build(plan)?;
    let laws: Vec<Law> =
        built.slots.iter().map(|site| built.network.branches()[site.branch].law.clone()).collect();
    prescribe_slots(plan, &mut built)?;
    let solution = crate::network::solve(&built.network, &Settings::default());
    if !solution.converged() {
        return Err(EngineError::new(
            &solution.worst,
            "with every slot at its share the air balance does not close",
            "check the fan curve and the returns: the fan must be able to move the required flow",
        ));
    }
    let mut widths = Vec::with_capacity(built.slots.len());
    for (site, law) in built.slots.iter().zip(&laws) {
        let seen = built.network.seen(&solution, site.branch);
        let e_pa = seen.p_from - seen.p_to;
        let Law::Slot(law) = law else { continue };
        let row = &plan.slot_rows[site.row];
        let area = law.area_for(seen.m, e_pa, seen.others, seen.density).ok_or_else(|| {
            let q = law.velocity_pressure_pa(seen.others, seen.density);
            EngineError::new(
                &row.duct,
                format!(
                    "slot {} cannot discharge its share: {e_pa:.0} Pa are left there against {q:.0} Pa of velocity \
                     pressure in the duct",
                    site.id
                ),
                "make the duct or those before it larger, raise the fan speed, or ask for less air",
            )
        })?;
        widths.push(area / row.length_m);
    }
    Ok(widths)
}

/// The least and the greatest width the shop cuts, in whole steps.
fn bounds(shop: &ShopRecord) -> (i64, i64) {
    let step = shop.width_increment_m;
    (((shop.min_width_m / step - 1e-6).ceil() as i64).max(1), (shop.max_width_m / step + 1e-6).floor() as i64)
}

/// Brings widths to whole steps within the shop's limits; says where that holds them, and refuses when
/// none fits.
fn limit(plan: &Plan, widths: &[f64], findings: &mut Vec<Finding>) -> Result<Vec<i64>, EngineError> {
    let step = plan.shop.width_increment_m;
    let (least, greatest) = bounds(&plan.shop);
    if least > greatest {
        return Err(EngineError::new(
            "shop",
            "no width between the least and the greatest is a whole number of steps",
            "widen the limits or make the step smaller",
        ));
    }
    let (low, high) = (least as f64 * step, greatest as f64 * step);
    let narrow = widths.iter().filter(|&&w| w < low).count();
    let wide = widths.iter().filter(|&&w| w > high).count();
    if narrow == widths.len() || wide == widths.len() {
        let (than, remedy) = if wide > 0 {
            ("wider than the shop record allows", "raise the fan speed, or make the slots longer or more")
        } else {
            (
                "narrower than the shop record allows",
                "lower the fan speed, or make the slots shorter or fewer",
            )
        };
        return Err(EngineError::new("slots", format!("every slot would have to be {than}"), remedy));
    }
    for (count, bound, what) in [(narrow, low, "narrower"), (wide, high, "wider")] {
        if count > 0 {
            findings.push(Finding::new(
                Severity::Caution,
                "width-limit",
                None,
                Message::new(format!("{count} slots should be {what} than "))
                    .value(Kind::ShopLength, bound)
                    .text("; they are held there."),
                "Change the length or number of slots in that run, its duct size, or the fan speed.",
                "limits of the shop record",
            ));
        }
    }
    Ok(widths.iter().map(|w| ((w / step).round() as i64).clamp(least, greatest)).collect())
}

/// The plan with these widths, in steps of the shop's increment.
fn with_widths(plan: &Plan, built: &Built, steps: &[i64]) -> Plan {
    let mut designed = plan.clone();
    // Slots beyond the end of their duct keep what they have.
    for row in &mut designed.slot_rows {
        row.widths_m = (0..row.count as usize).map(|k| row.width_m(k)).collect();
    }
    for (site, &n) in built.slots.iter().zip(steps) {
        designed.slot_rows[site.row].widths_m[site.index] = in_steps(n, plan.shop.width_increment_m);
    }
    designed
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

/// Deviations of all slots and what they score.
type Scored = (Vec<f64>, (f64, f64));

/// Search over whole steps of width on the real network.
struct Rounding<'a> {
    plan: &'a Plan,
    built: &'a mut Built,
    solver: Solver,
    targets: Vec<f64>,
    /// Least and greatest number of steps.
    bounds: (i64, i64),
    steps: Vec<i64>,
    solution: Option<Solution>,
    solves: usize,
}

impl<'a> Rounding<'a> {
    fn new(plan: &'a Plan, built: &'a mut Built, steps: Vec<i64>) -> Result<Self, EngineError> {
        let bounds = bounds(&plan.shop);
        let targets = slot_targets(plan, built);
        let solver = Solver::new(&built.network);
        let mut search = Self { plan, built, solver, targets, bounds, steps, solution: None, solves: 0 };
        search.solution = search.solve(&search.steps.clone())?;
        Ok(search)
    }

    fn solve(&mut self, steps: &[i64]) -> Result<Option<Solution>, EngineError> {
        for (site, &n) in self.built.slots.iter().zip(steps) {
            let mut law = self.built.network.branches()[site.branch].law.clone();
            if let Law::Slot(slot) = &mut law {
                slot.area_m2 =
                    self.plan.slot_rows[site.row].length_m * in_steps(n, self.plan.shop.width_increment_m);
            }
            self.built.network.set_law(site.branch, law)?;
        }
        self.solves += 1;
        let solution = self.solver.solve(&self.built.network, &Settings::default(), self.solution.as_ref());
        Ok(solution.converged().then_some(solution))
    }

    /// ṁ/target − 1 of every slot.
    fn deviations(&self, solution: &Solution) -> Vec<f64> {
        self.built
            .slots
            .iter()
            .zip(&self.targets)
            .map(|(s, t)| solution.flows_kg_s[s.branch] / t - 1.0)
            .collect()
    }

    /// Moves slots by whole steps while that lowers the largest deviation (then their sum of squares).
    fn improve(&mut self) -> Result<(), EngineError> {
        let Some(solution) = self.solution.clone() else { return Ok(()) };
        let mut deviations = self.deviations(&solution);
        let mut score = score_of(&deviations);
        // All slots that would be nearer one step away, at once: the re-solved network has drifted a
        // little from the one the widths were read from. Halve the set while it overshoots.
        let mut share = 1.0;
        while self.solves < ROUNDING_SOLVES / 2 && share > 0.1 {
            let Some(trial) = self.better_steps(&deviations, share) else { break };
            match self.attempt(&trial, score)? {
                Some(better) => (deviations, score) = better,
                None => share *= 0.5,
            }
        }
        // Then the worst slots one by one until no single step helps.
        let mut order: Vec<usize> = (0..self.steps.len()).collect();
        'again: while self.solves < ROUNDING_SOLVES {
            worst_first(&mut order, &deviations);
            for &i in order.iter().take(3) {
                let n = self.steps[i] - if deviations[i] > 0.0 { 1 } else { -1 };
                if n < self.bounds.0 || n > self.bounds.1 || self.solves >= ROUNDING_SOLVES {
                    continue;
                }
                let mut trial = self.steps.clone();
                trial[i] = n;
                if let Some(better) = self.attempt(&trial, score)? {
                    (deviations, score) = better;
                    continue 'again;
                }
            }
            break;
        }
        Ok(())
    }

    /// Steps with the most deviating `share` of the slots that want to move moved by one.
    fn better_steps(&self, deviations: &[f64], share: f64) -> Option<Vec<i64>> {
        let mut wanting: Vec<usize> = (0..self.steps.len())
            .filter(|&i| {
                let n = self.steps[i];
                let moved = if deviations[i] > 0.0 { n - 1 } else { n + 1 };
                let after = (1.0 + deviations[i]) * moved as f64 / n as f64 - 1.0;
                (self.bounds.0..=self.bounds.1).contains(&moved) && after.abs() < deviations[i].abs()
            })
            .collect();
        worst_first(&mut wanting, deviations);
        wanting.truncate(((wanting.len() as f64 * share).ceil() as usize).max(1).min(wanting.len()));
        let mut steps = self.steps.clone();
        for &i in &wanting {
            steps[i] += if deviations[i] > 0.0 { -1 } else { 1 };
        }
        (!wanting.is_empty()).then_some(steps)
    }

    /// Takes `trial` if it scores better.
    fn attempt(&mut self, trial: &[i64], score: (f64, f64)) -> Result<Option<Scored>, EngineError> {
        let Some(solution) = self.solve(trial)? else { return Ok(None) };
        let deviations = self.deviations(&solution);
        let trial_score = score_of(&deviations);
        let better = trial_score.0 < score.0 - 1e-9
            || (trial_score.0 < score.0 + 1e-9 && trial_score.1 < score.1 - 1e-12);
        if better {
            self.steps = trial.to_vec();
            self.solution = Some(solution);
            return Ok(Some((deviations, trial_score)));
        }
        Ok(None)
    }
}

/// Largest deviation, then mean square.
fn score_of(deviations: &[f64]) -> (f64, f64) {
    let worst = deviations.iter().fold(0.0_f64, |worst, d| worst.max(d.abs()));
    (worst, deviations.iter().map(|d| d * d).sum::<f64>() / deviations.len() as f64)
}
