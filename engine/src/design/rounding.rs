//! Search over whole steps on the real network: the largest deviation, brought down step by step.

use super::cutting::{Cutting, Kind};
use super::worst_first;
use crate::analysis::slot_targets;
use crate::error::EngineError;
use crate::laws::Law;
use crate::network::from_plan::Built;
use crate::network::{Settings, Solution, Solver};
use crate::plan::Plan;

/// Solves spent at most on improving the rounding,
pub(super) const THOROUGH: usize = 40;
/// and where a plan is only set against others.
pub(super) const QUICK: usize = 6;
/// Solves spent at most on moving whole patterns.
const PATTERN_SOLVES: usize = 60;

/// Deviations of all slots and what they score.
type Scored = (Vec<f64>, (f64, f64));

/// The search and where it stands.
pub(super) struct Rounding<'a> {
    built: &'a mut Built,
    cutting: &'a Cutting,
    slots_of_dials: Vec<Vec<usize>>,
    solver: Solver,
    targets: Vec<f64>,
    /// The steps a width and a length may have, where the shop cuts only so many patterns.
    ladders: [Option<Vec<i64>>; 2],
    pub steps: Vec<i64>,
    solution: Option<Solution>,
    solves: usize,
}

impl<'a> Rounding<'a> {
    pub fn new(
        plan: &'a Plan,
        built: &'a mut Built,
        cutting: &'a Cutting,
        steps: Vec<i64>,
        ladders: [Option<Vec<i64>>; 2],
        near: Solution,
    ) -> Result<Self, EngineError> {
        let targets = slot_targets(plan, built);
        let solver = Solver::new(&built.network);
        let slots_of_dials = cutting.slots_of_dials();
        let mut search = Self {
            built,
            cutting,
            slots_of_dials,
            solver,
            targets,
            ladders,
            steps,
            // Every slot at its target: what whole steps leave is not far.
            solution: Some(near),
            solves: 0,
        };
        search.solution = search.solve(&search.steps.clone())?;
        Ok(search)
    }

    fn solve(&mut self, steps: &[i64]) -> Result<Option<Solution>, EngineError> {
        for (i, site) in self.built.slots.iter().enumerate() {
            let mut law = self.built.network.branches()[site.branch].law.clone();
            if let Law::Slot(slot) = &mut law {
                slot.area_m2 = self.cutting.area_m2(i, steps);
            }
            self.built.network.set_law(site.branch, law)?;
        }
        self.solves += 1;
        let solution = self.solver.solve(&self.built.network, &Settings::default(), self.solution.as_ref());
        Ok(solution.converged().then_some(solution))
    }

    /// ṁ/target − 1 of every slot.
    fn deviations(&self, solution: &Solution) -> Vec<f64> {
        let each = self.built.slots.iter().zip(&self.targets);
        each.map(|(s, t)| solution.flows_kg_s[s.branch] / t - 1.0).collect()
    }

    /// Mean deviation of the slots of each dial.
    fn by_dial(&self, deviations: &[f64]) -> Vec<f64> {
        let mean = |own: &Vec<usize>| match own.as_slice() {
            [] => 0.0,
            [one] => deviations[*one],
            many => many.iter().map(|&i| deviations[i]).sum::<f64>() / many.len() as f64,
        };
        self.slots_of_dials.iter().map(mean).collect()
    }

    /// The next number of steps dial `d` may have on the way `up` or down.
    fn next(&self, d: usize, up: bool) -> Option<i64> {
        let (dial, n) = (&self.cutting.dials[d], self.steps[d]);
        let ladder = match dial.kind {
            Kind::Width => self.ladders[0].as_ref(),
            Kind::Length => self.ladders[1].as_ref(),
            Kind::Free => None,
        };
        let next = match (ladder, up) {
            (Some(ladder), true) => *ladder.iter().find(|&&rung| rung > n)?,
            (Some(ladder), false) => *ladder.iter().rev().find(|&&rung| rung < n)?,
            (None, true) => n + 1,
            (None, false) => n - 1,
        };
        (dial.low..=dial.high).contains(&next).then_some(next)
    }

    /// Moves dials by whole steps while that lowers the largest deviation (then their mean square), with so many `solves`
    /// at most for single dials.
    pub fn improve(&mut self, solves: usize) -> Result<(), EngineError> {
        let Some(solution) = self.solution.clone() else { return Ok(()) };
        let deviations = self.deviations(&solution);
        let mut scored = (deviations.clone(), score_of(&deviations));
        self.improve_steps(&mut scored, solves / 2, solves)?;
        let patterned = self.ladders.iter().any(Option::is_some);
        while patterned && self.solves < PATTERN_SOLVES && self.improve_patterns(&mut scored)? {}
        Ok(())
    }

    /// Dials together up to `together` solves in all, then one by one up to `until`.
    fn improve_steps(
        &mut self,
        scored: &mut Scored,
        together: usize,
        until: usize,
    ) -> Result<(), EngineError> {
        // All dials that would be nearer one step away, at once: the re-solved network has drifted a
        // little from the one the sizes were read from. Halve the set while it overshoots.
        let mut share = 1.0;
        while self.solves < together && share > 0.1 {
            let Some(trial) = self.better_steps(&self.by_dial(&scored.0), share) else { break };
            if !self.attempt(&trial, scored)? {
                share *= 0.5;
            }
        }
        // Then one by one while a step of one of the three worst helps.
        let mut order: Vec<usize> = (0..self.steps.len()).collect();
        'again: while self.solves < until {
            let by_dial = self.by_dial(&scored.0);
            worst_first(&mut order, &by_dial);
            for &d in order.iter().take(3) {
                let Some(n) = self.next(d, by_dial[d] <= 0.0) else { continue };
                if self.solves >= until {
                    continue;
                }
                let mut trial = self.steps.clone();
                trial[d] = n;
                if self.attempt(&trial, scored)? {
                    continue 'again;
                }
            }
            break;
        }
        Ok(())
    }

    /// Moves one pattern by one step with all dials that have it; whether that helped.
    fn improve_patterns(&mut self, scored: &mut Scored) -> Result<bool, EngineError> {
        for (which, kind) in [(0, Kind::Width), (1, Kind::Length)] {
            let Some(ladder) = self.ladders[which].clone() else { continue };
            for (rung, &old) in ladder.iter().enumerate() {
                for new in [old - 1, old + 1] {
                    let moved = |(d, &n): (usize, &i64)| {
                        if self.cutting.dials[d].kind == kind && n == old { new } else { n }
                    };
                    let trial: Vec<i64> = self.steps.iter().enumerate().map(moved).collect();
                    let within =
                        |(n, dial): (&i64, &super::cutting::Dial)| (dial.low..=dial.high).contains(n);
                    if ladder.contains(&new)
                        || trial == self.steps
                        || self.solves >= PATTERN_SOLVES
                        || !trial.iter().zip(&self.cutting.dials).all(within)
                    {
                        continue;
                    }
                    if self.attempt(&trial, scored)? {
                        if let Some(rungs) = self.ladders[which].as_mut() {
                            rungs[rung] = new;
                            crate::numerics::sort_short(rungs, i64::cmp);
                        }
                        // Slots between two patterns may now be nearer to the other.
                        self.improve_steps(scored, self.solves + 3, self.solves + 6)?;
                        return Ok(true);
                    }
                }
            }
        }
        Ok(false)
    }

    /// Steps with the most deviating `share` of the dials that want to move moved by one.
    fn better_steps(&self, by_dial: &[f64], share: f64) -> Option<Vec<i64>> {
        let mut wanting: Vec<(usize, i64)> = Vec::new();
        let mut order: Vec<usize> = (0..self.steps.len()).collect();
        worst_first(&mut order, by_dial);
        for d in order {
            if self.slots_of_dials[d].is_empty() {
                continue;
            }
            let Some(moved) = self.next(d, by_dial[d] <= 0.0) else { continue };
            let after = (1.0 + by_dial[d]) * moved as f64 / self.steps[d] as f64 - 1.0;
            if after.abs() < by_dial[d].abs() {
                wanting.push((d, moved));
            }
        }
        wanting.truncate(((wanting.len() as f64 * share).ceil() as usize).max(1).min(wanting.len()));
        let mut steps = self.steps.clone();
        for &(d, moved) in &wanting {
            steps[d] = moved;
        }
        (!wanting.is_empty()).then_some(steps)
    }

    /// Takes `trial` if it scores better.
    fn attempt(&mut self, trial: &[i64], scored: &mut Scored) -> Result<bool, EngineError> {
        let Some(solution) = self.solve(trial)? else { return Ok(false) };
        let deviations = self.deviations(&solution);
        let (score, now) = (score_of(&deviations), scored.1);
        let better = score.0 < now.0 - 1e-9 || (score.0 < now.0 + 1e-9 && score.1 < now.1 - 1e-12);
        if better {
            self.steps = trial.to_vec();
            self.solution = Some(solution);
            *scored = (deviations, score);
        }
        Ok(better)
    }
}

/// Largest deviation, then mean square.
fn score_of(deviations: &[f64]) -> (f64, f64) {
    let worst = deviations.iter().fold(0.0_f64, |worst, d| worst.max(d.abs()));
    (worst, deviations.iter().map(|d| d * d).sum::<f64>() / deviations.len() as f64)
}

/// The least number of steps a shop needs: at most `count` values, such that the largest ratio between a
/// wanted size and the value nearest to it is as small as can be. `wanted` in steps, any order.
///
/// Sizes sorted, a value serves those within a factor of its first; the smallest factor that needs no more
/// than `count` values is found by bisection, as in covering points by intervals.
pub(super) fn patterns(wanted: &[f64], count: usize) -> Vec<i64> {
    let mut sorted: Vec<f64> = wanted.iter().copied().filter(|size| size.is_finite()).collect();
    crate::numerics::sort_numbers(&mut sorted);
    let cover = |factor: f64| {
        let mut groups: Vec<(f64, f64)> = Vec::new();
        for &size in &sorted {
            match groups.last_mut() {
                Some(group) if size <= group.0 * factor => group.1 = size,
                _ => groups.push((size, size)),
            }
        }
        groups
    };
    let (Some(&least), Some(&most)) = (sorted.first(), sorted.last()) else { return Vec::new() };
    let (mut low, mut high) = (1.0, most / least * (1.0 + 1e-12));
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if cover(middle).len() > count { low = middle } else { high = middle }
    }
    let mut values: Vec<i64> =
        cover(high).iter().map(|(a, b)| ((a * b).sqrt().round() as i64).max(1)).collect();
    values.dedup();
    values
}
