//! Alternatives: three plans side by side over metal, fan energy and evenness as built.

use super::candidate::{AS_IS, Change, Queue, Weighed, fan_kwh_per_year, sheet_kg};
use super::even_out;
use super::tolerance::{Progress, Settings, ToleranceResult};
use crate::analysis::Analysis;
use crate::error::EngineError;
use crate::finding::{Finding, Message, Severity};
use crate::plan::Plan;
use serde::{Deserialize, Serialize};

/// Slot-to-duct area ratios of the first round; none for the ducts as they are.
const RATIOS: [Option<f64>; 4] = [None, Some(0.7), Some(0.45), Some(0.3)];
/// Factors on the slots' pressure of the first round.
const JETS: [f64; 3] = [0.7, 1.0, 1.25];

/// What an alternative is best at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Merit {
    /// Least sheet.
    Metal,
    /// Least fan energy.
    Energy,
    /// Least P90.
    Evenness,
    /// Best at none and worst at none.
    Between,
}

/// One plan to choose from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Alternative {
    /// What it is best at among the three.
    pub merit: Merit,
    /// The whole plan.
    pub plan: Plan,
    /// The plan solved.
    pub analysis: Analysis,
    /// Its tolerance study.
    pub study: ToleranceResult,
    /// Sheet in the ducts, kg.
    pub sheet_kg: f64,
    /// Energy the fan takes in a year, kWh.
    pub fan_kwh_per_year: f64,
    /// P90 of the worst bay, %.
    pub p90_percent: f64,
}

impl Alternative {
    fn of(weighed: &Weighed) -> Self {
        let (plan, analysis) = (&weighed.designed.plan, &weighed.designed.after);
        Self {
            merit: Merit::Between,
            sheet_kg: sheet_kg(plan),
            fan_kwh_per_year: fan_kwh_per_year(plan, analysis),
            p90_percent: weighed.study.p90.worst_bay_percent,
            plan: plan.clone(),
            analysis: analysis.clone(),
            study: weighed.study.clone(),
        }
    }

    fn measures(&self) -> [f64; 3] {
        [self.sheet_kg, self.fan_kwh_per_year, self.p90_percent]
    }

    /// Whether this one is no worse than `other` in anything and better in something.
    pub fn dominates(&self, other: &Self) -> bool {
        let pairs = || self.measures().into_iter().zip(other.measures());
        pairs().all(|(a, b)| a <= b) && pairs().any(|(a, b)| a < b)
    }
}

/// What the search found.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct AlternativesFound {
    /// Up to three plans, none of which another beats in everything.
    pub alternatives: Vec<Alternative>,
    /// Plans tried.
    pub tried: usize,
    /// What somebody should know.
    pub findings: Vec<Finding>,
}

/// The search under way: call [`Alternatives::step`] until it is complete, then [`Alternatives::finish`].
pub struct Alternatives {
    queue: Queue,
    rounds: usize,
    done: usize,
    settings: Settings,
}

impl Alternatives {
    /// Prepares the search: a coarse grid over duct sizes, slot pressure (fan speed) and slot length, then one
    /// finer round about the best in each respect.
    pub fn new(plan: &Plan, settings: Settings) -> Result<Self, EngineError> {
        let evened = even_out(plan)?;
        let mut queue = Queue::new(&evened.plan, &evened.after, settings);
        queue.add(AS_IS);
        for ratio in RATIOS {
            for jet in JETS {
                queue.add(Change { ratio, shrink: ratio.is_some_and(|ratio| ratio > 0.4), jet, ..AS_IS });
            }
        }
        queue.add(Change { ratio: Some(0.3), slot_length: 0.8, ..AS_IS });
        queue.add(Change { ratio: Some(0.45), slot_length: 0.8, ..AS_IS });
        Ok(Self { queue, rounds: 1, done: 0, settings })
    }

    /// How far the search has come; what is left is the most there can be.
    pub fn progress(&self) -> Progress {
        let left = self.queue.left() + self.rounds * 6 * (50 + self.settings.samples);
        Progress { done: self.done, of: self.done + left }
    }

    /// Does the next piece of work.
    pub fn step(&mut self) -> Progress {
        if self.queue.idle() && self.rounds > 0 {
            self.rounds -= 1;
            let picks: Vec<Change> =
                chosen(&self.front()).into_iter().map(|(i, _)| self.queue.done[i].change).collect();
            for change in picks {
                self.queue.add(Change { ratio: change.ratio.map(|ratio| 0.85 * ratio), ..change });
                let jet = if change.jet < 1.0 { 0.85 } else { 1.1 } * change.jet;
                self.queue.add(Change { jet, ..change });
            }
        }
        self.queue.step();
        self.done += 1;
        self.progress()
    }

    /// Those that none of the others beats, with their place in the queue.
    fn front(&self) -> Vec<(usize, Alternative)> {
        let all: Vec<Alternative> = self.queue.done.iter().map(Alternative::of).collect();
        let beaten = |one: &Alternative| all.iter().any(|other| other.dominates(one));
        let mut front: Vec<(usize, Alternative)> = Vec::new();
        for (i, one) in all.iter().enumerate() {
            let twin = front.iter().any(|(_, other)| other.measures() == one.measures());
            if !beaten(one) && !twin {
                front.push((i, one.clone()));
            }
        }
        front
    }

    /// The alternatives found.
    pub fn finish(mut self) -> Result<AlternativesFound, EngineError> {
        let front = self.front();
        if front.is_empty() {
            let refused = self.queue.refused.pop().map(|(_, error)| error);
            return Err(refused.unwrap_or_else(|| {
                EngineError::new(
                    "alternatives",
                    "the search was stopped before anything was found",
                    "let it run on",
                )
            }));
        }
        let alternatives: Vec<Alternative> = chosen(&front)
            .into_iter()
            .filter_map(|(i, merit)| {
                let (_, one) = front.iter().find(|(place, _)| *place == i)?;
                Some(Alternative { merit, ..one.clone() })
            })
            .collect();
        let mut findings = Vec::new();
        if alternatives.len() < 3 {
            findings.push(Finding::new(
                Severity::Note,
                "few-alternatives",
                None,
                Message::new(format!(
                    "Of {} plans tried, {} could be used; only {} stand side by side, the others are beaten in \
                     metal, energy and evenness together.",
                    self.queue.done.len() + self.queue.refused.len(),
                    self.queue.done.len(),
                    alternatives.len()
                )),
                "Widen the shop record's limits of width and discharge speed, or choose another fan.",
                "search over duct sizes, slot length and fan speed",
            ));
        }
        let tried = self.queue.done.len() + self.queue.refused.len();
        Ok(AlternativesFound { alternatives, tried, findings })
    }
}

/// Three of a front: the best in each measure, then those furthest from the chosen.
fn chosen(front: &[(usize, Alternative)]) -> Vec<(usize, Merit)> {
    let mut picks: Vec<(usize, Merit)> = Vec::new();
    for (k, merit) in [Merit::Metal, Merit::Energy, Merit::Evenness].into_iter().enumerate() {
        let best = front.iter().min_by(|a, b| {
            let (a, b) = (a.1.measures(), b.1.measures());
            // Ties go to the plan that is better elsewhere.
            a[k].total_cmp(&b[k]).then(a[(k + 1) % 3].total_cmp(&b[(k + 1) % 3]))
        });
        if let Some((i, _)) = best
            && picks.iter().all(|(pick, _)| pick != i)
        {
            picks.push((*i, merit));
        }
    }
    let spans: Vec<f64> = (0..3)
        .map(|k| {
            let values = || front.iter().map(|(_, one)| one.measures()[k]);
            (values().fold(f64::NEG_INFINITY, f64::max) - values().fold(f64::INFINITY, f64::min)).max(1e-9)
        })
        .collect();
    let apart = |a: &Alternative, b: &Alternative| -> f64 {
        (0..3).map(|k| ((a.measures()[k] - b.measures()[k]) / spans[k]).abs()).sum()
    };
    while picks.len() < 3 && picks.len() < front.len() {
        let nearest = |one: &Alternative| {
            let among = front.iter().filter(|(i, _)| picks.iter().any(|(pick, _)| pick == i));
            among.map(|(_, other)| apart(one, other)).fold(f64::INFINITY, f64::min)
        };
        let rest = front.iter().filter(|(i, _)| picks.iter().all(|(pick, _)| pick != i));
        match rest.max_by(|a, b| nearest(&a.1).total_cmp(&nearest(&b.1))) {
            Some((i, _)) => picks.push((*i, Merit::Between)),
            None => break,
        }
    }
    picks
}

/// The whole search at once.
pub fn alternatives(plan: &Plan, settings: Settings) -> Result<AlternativesFound, EngineError> {
    let mut search = Alternatives::new(plan, settings)?;
    while !search.step().complete() {}
    search.finish()
}
