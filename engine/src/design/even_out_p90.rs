//! Even out for P90: duct sizes and slot totals with which the oven as built, not only as drawn, is even.

use super::candidate::{AS_IS, Change, Queue, VARIANT, Weighed};
use super::gauge::sheet_kg;
use super::tolerance::{Progress, Settings, ToleranceResult};
use crate::analysis::{Analysis, analyse, analyse_air};
use crate::error::EngineError;
use crate::finding::{Finding, Message, Severity};
use crate::plan::Plan;
use crate::units::Kind;
use serde::{Deserialize, Serialize};

/// Shaft power may rise by this factor at most.
const POWER_LIMIT: f64 = 1.10;
/// Slot-to-duct area ratios tried, the one that takes least metal first.
const RATIOS: [f64; 6] = [0.5, 0.4, 0.35, 0.3, 0.25, 0.2];
/// Factors on the slots' pressure tried at the best ratio.
const JETS: [f64; 3] = [0.85, 1.12, 1.25];

/// Variants that get a whole study when no target is met before.
const FINALISTS: usize = 2;
/// A glance this near to the target, as a factor on it, is worth a whole study.
const NEAR: f64 = 1.05;

/// A plan evened out for P90.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct EvenedForP90 {
    /// The plan with the command applied.
    pub plan: Plan,
    /// The plan as it was, evened out as drawn.
    pub before: Analysis,
    /// The plan as it is.
    pub after: Analysis,
    /// How even the plan as it was would be as built.
    pub study_before: ToleranceResult,
    /// How even it will be now.
    pub study_after: ToleranceResult,
    /// Sheet in the ducts before and after, kg.
    pub sheet_kg: [f64; 2],
    /// What was done, what could not be reached, and why.
    pub findings: Vec<Finding>,
}

/// The command under way: call [`EvenOutP90::step`] until it is complete, then [`EvenOutP90::finish`].
pub struct EvenOutP90 {
    target_percent: Option<f64>,
    queue: Queue,
    ratios: Vec<f64>,
    jets: Vec<f64>,
    /// Whether those worth a whole study have been named.
    named: bool,
    done: usize,
    settings: Settings,
}

impl EvenOutP90 {
    /// Prepares the command for a target of the worst bay's P90; for the best there is when none is given.
    pub fn new(plan: &Plan, target_percent: Option<f64>, settings: Settings) -> Result<Self, EngineError> {
        if target_percent.is_some_and(|target| !(target > 0.0 && target.is_finite())) {
            return Err(EngineError::new(
                "the target for P90",
                "must be above zero",
                "enter a number of per cent",
            ));
        }
        super::find_speed::within_makers_speed(plan)?;
        // The plan as it stands must work as drawn; variants start from what evening out makes of it.
        let evened = super::even_out(plan)?;
        let mut queue = Queue::new(&evened.plan, &evened.after, settings);
        queue.add(AS_IS);
        let most = |list: &[f64]| list.iter().rev().copied().collect();
        Ok(Self {
            target_percent,
            queue,
            ratios: most(&RATIOS),
            jets: most(&JETS),
            named: false,
            done: 0,
            settings,
        })
    }

    /// How far the command has come; what is left is the most there can be.
    pub fn progress(&self) -> Progress {
        let tries = VARIANT * (self.ratios.len() + self.jets.len());
        let finals = if self.named { 0 } else { FINALISTS * self.settings.samples };
        let left = self.queue.left() + if self.over() { 0 } else { tries + finals };
        Progress { done: self.done, of: self.done + left }
    }

    /// The variant within the power allowed that is least by `figure`, with its place in the queue.
    fn least(&self, figure: impl Fn(&Weighed) -> Option<f64>) -> Option<(usize, f64)> {
        let power = |weighed: &Weighed| weighed.analysis.fan.shaft_power_w;
        let limit = POWER_LIMIT * self.queue.done.first().map(power)?;
        let all = self.queue.done.iter().enumerate().filter(|(_, weighed)| power(weighed) <= limit);
        let known = all.filter_map(|(i, weighed)| Some((i, figure(weighed)?)));
        known.min_by(|a, b| a.1.total_cmp(&b.1))
    }

    fn met(&self) -> bool {
        let least = || self.least(Weighed::p90_percent);
        self.target_percent.is_some_and(|target| least().is_some_and(|(_, p90)| p90 <= target))
    }

    fn over(&self) -> bool {
        self.queue.idle() && (self.met() || (self.named && self.ratios.is_empty() && self.jets.is_empty()))
    }

    /// Does the next piece of work.
    pub fn step(&mut self) -> Progress {
        if self.queue.idle() && !self.over() {
            let unstudied = |weighed: &Weighed| weighed.study.is_none().then_some(weighed.glance_percent);
            let glance = self.least(|weighed| Some(weighed.glance_percent));
            let near = self.target_percent.map_or(0.0, |target| NEAR * target);
            let first = self
                .queue
                .done
                .first()
                .is_some_and(|first| first.study.is_none() && first.glance_percent.is_finite());
            if first {
                self.queue.study(0);
            } else if let Some((i, _)) = self.least(unstudied).filter(|(_, p90)| *p90 <= near) {
                self.queue.study(i);
            } else if let Some(ratio) = self.ratios.pop() {
                self.queue.add(Change { ratio: Some(ratio), ..AS_IS });
            } else if let Some(jet) = self.jets.pop() {
                let ratio = glance.and_then(|(i, _)| self.queue.done[i].change.ratio);
                self.queue.add(Change { ratio, jet, ..AS_IS });
            } else {
                self.named = true;
                let mut order: Vec<(usize, f64)> = Vec::new();
                for _ in 0..FINALISTS {
                    let next = self.least(|weighed| {
                        let taken = order.iter().any(|(i, _)| self.queue.done[*i].change == weighed.change);
                        (!taken).then_some(weighed.glance_percent)
                    });
                    order.extend(next);
                }
                order.iter().for_each(|&(i, _)| self.queue.study(i));
            }
        }
        self.queue.step();
        self.done += 1;
        self.progress()
    }

    /// The plan found.
    pub fn finish(mut self) -> Result<EvenedForP90, EngineError> {
        let studied = |weighed: Weighed| Some((weighed.study.clone()?, weighed));
        let best = self.least(Weighed::p90_percent).and_then(|(i, _)| studied(self.queue.done[i].clone()));
        let first = self.queue.done.first().cloned().and_then(studied);
        let (Some((study_after, best)), Some((study_before, first))) = (best, first) else {
            let refused = self.queue.refused.pop().map(|(_, error)| error);
            return Err(refused.unwrap_or_else(|| {
                EngineError::new("even out for P90", "was stopped before anything was found", "let it run on")
            }));
        };
        let sheet_kg = [sheet_kg(&first.plan), sheet_kg(&best.plan)];
        let power_w = best.analysis.fan.shaft_power_w - first.analysis.fan.shaft_power_w;
        let findings = findings(self.target_percent, [&study_before, &study_after], sheet_kg, power_w);
        Ok(EvenedForP90 {
            before: analyse(&first.plan)?,
            after: analyse(&best.plan)?,
            plan: best.plan,
            study_before,
            study_after,
            sheet_kg,
            findings,
        })
    }
}

fn findings(
    target: Option<f64>,
    [first, best]: [&ToleranceResult; 2],
    sheet_kg: [f64; 2],
    power_w: f64,
) -> Vec<Finding> {
    let basis = "tolerance study of each variant with the same draws; computed, not measured";
    let p90 = |study: &ToleranceResult| study.p90.worst_bay_percent;
    let mut findings = Vec::new();
    if best != first {
        findings.push(Finding::new(
            Severity::Note,
            "evened-for-p90",
            None,
            Message::new("With a slot-to-duct area ratio of ")
                .value(Kind::Number, best.area_ratio)
                .text(" instead of ")
                .value(Kind::Number, first.area_ratio)
                .text(", nine ovens in ten have every bay within ")
                .value(Kind::Percent, p90(best))
                .text(" instead of ")
                .value(Kind::Percent, p90(first))
                .text(". The ducts take ")
                .difference(Kind::Percent, 100.0 * (sheet_kg[1] / sheet_kg[0] - 1.0))
                .text(" sheet, the fan ")
                .difference(Kind::ShaftPower, power_w)
                .text("."),
            "Check that the larger runs clear the parts and each other.",
            basis,
        ));
    }
    if let Some(target) = target.filter(|target| p90(best) > *target) {
        let what = best.inputs.first().map_or("nothing", |first| first.input.name());
        findings.push(Finding::new(
            Severity::Caution,
            "p90-target",
            None,
            Message::new("P90 of ")
                .value(Kind::Percent, target)
                .text(" cannot be had within 10 % more shaft power; the nearest plan has ")
                .value(Kind::Percent, p90(best))
                .text(format!(", and there {what} matters most.")),
            match best.findings.first() {
                Some(advice) => advice.remedy.clone(),
                None => "Cut closer, or settle the slot law with a bench piece.".into(),
            },
            basis,
        ));
    }
    findings
}

/// The whole command at once.
pub fn even_out_p90(
    plan: &Plan,
    target_percent: Option<f64>,
    settings: Settings,
) -> Result<EvenedForP90, EngineError> {
    analyse_air(plan)?;
    let mut command = EvenOutP90::new(plan, target_percent, settings)?;
    while !command.step().complete() {}
    command.finish()
}
