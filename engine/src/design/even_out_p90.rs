//! Even out for P90: duct sizes and slot totals with which the oven as built, not only as drawn, is even.

use super::candidate::{AS_IS, Change, Queue, Weighed, sheet_kg};
use super::tolerance::{Progress, Settings, ToleranceResult};
use crate::analysis::{Analysis, analyse};
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
        // The plan as it stands must work as drawn; variants start from what evening out makes of it.
        let evened = super::even_out(plan)?;
        let mut queue = Queue::new(&evened.plan, &evened.after, settings);
        queue.add(AS_IS);
        let most = |list: &[f64]| list.iter().rev().copied().collect();
        Ok(Self { target_percent, queue, ratios: most(&RATIOS), jets: most(&JETS), done: 0, settings })
    }

    /// How far the command has come; what is left is the most there can be.
    pub fn progress(&self) -> Progress {
        let each = 50 + self.settings.samples;
        let left =
            self.queue.left() + if self.over() { 0 } else { (self.ratios.len() + self.jets.len()) * each };
        Progress { done: self.done, of: self.done + left }
    }

    fn best(&self) -> Option<&Weighed> {
        let power = |weighed: &Weighed| weighed.designed.after.fan.shaft_power_w;
        let limit = POWER_LIMIT * self.queue.done.first().map(power)?;
        let within = self.queue.done.iter().filter(|weighed| power(weighed) <= limit);
        within.min_by(|a, b| p90(a).total_cmp(&p90(b)))
    }

    fn met(&self) -> bool {
        self.target_percent.is_some_and(|target| self.best().is_some_and(|best| p90(best) <= target))
    }

    fn over(&self) -> bool {
        self.queue.idle() && (self.met() || (self.ratios.is_empty() && self.jets.is_empty()))
    }

    /// Does the next piece of work.
    pub fn step(&mut self) -> Progress {
        if self.queue.idle() && !self.over() {
            let ratio = self.best().and_then(|best| best.change.ratio);
            if let Some(ratio) = self.ratios.pop() {
                self.queue.add(Change { ratio: Some(ratio), ..AS_IS });
            } else if let Some(jet) = self.jets.pop() {
                self.queue.add(Change { ratio, jet, ..AS_IS });
            }
        }
        self.queue.step();
        self.done += 1;
        self.progress()
    }

    /// The plan found.
    pub fn finish(mut self) -> Result<EvenedForP90, EngineError> {
        let Some(best) = self.best().cloned() else {
            let refused = self.queue.refused.into_iter().next().map(|(_, error)| error);
            return Err(refused.unwrap_or_else(|| {
                EngineError::new("even out for P90", "was stopped before anything was found", "let it run on")
            }));
        };
        let first = self.queue.done.swap_remove(0);
        let sheet_kg = [sheet_kg(&first.designed.plan), sheet_kg(&best.designed.plan)];
        let findings = findings(self.target_percent, &first, &best, sheet_kg);
        Ok(EvenedForP90 {
            plan: best.designed.plan,
            before: first.designed.after,
            after: best.designed.after,
            study_before: first.study,
            study_after: best.study,
            sheet_kg,
            findings,
        })
    }
}

fn p90(weighed: &Weighed) -> f64 {
    weighed.study.p90.worst_bay_percent
}

fn findings(target: Option<f64>, first: &Weighed, best: &Weighed, sheet_kg: [f64; 2]) -> Vec<Finding> {
    let basis = "tolerance study of each variant with the same draws; computed, not measured";
    let mut findings = Vec::new();
    if best.change != first.change {
        findings.push(Finding::new(
            Severity::Note,
            "evened-for-p90",
            None,
            Message::new("With a slot-to-duct area ratio of ")
                .value(Kind::Number, best.study.area_ratio)
                .text(" instead of ")
                .value(Kind::Number, first.study.area_ratio)
                .text(", nine ovens in ten have every bay within ")
                .value(Kind::Percent, p90(best))
                .text(" instead of ")
                .value(Kind::Percent, p90(first))
                .text(". The ducts take ")
                .value(Kind::Percent, 100.0 * (sheet_kg[1] / sheet_kg[0] - 1.0))
                .text(" more sheet, the fan ")
                .value(
                    Kind::ShaftPower,
                    best.designed.after.fan.shaft_power_w - first.designed.after.fan.shaft_power_w,
                )
                .text(" more."),
            "Check that the larger runs clear the parts and each other.",
            basis,
        ));
    }
    if let Some(target) = target.filter(|target| p90(best) > *target) {
        let what = best.study.inputs.first().map_or("nothing", |first| first.input.name());
        findings.push(Finding::new(
            Severity::Caution,
            "p90-target",
            None,
            Message::new("P90 of ")
                .value(Kind::Percent, target)
                .text(" cannot be had within 10 % more shaft power; the nearest plan has ")
                .value(Kind::Percent, p90(best))
                .text(format!(", and there {what} matters most.")),
            match best.study.findings.first() {
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
    analyse(plan)?;
    let mut command = EvenOutP90::new(plan, target_percent, settings)?;
    while !command.step().complete() {}
    command.finish()
}
