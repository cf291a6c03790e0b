//! Alternatives: three plans side by side over metal, fan energy and evenness as built.

use super::candidate::{AS_IS, Change, Queue, VARIANT, Weighed, fan_kwh_per_year};
use super::even_out;
use super::gauge::sheet_kg;
use super::tolerance::{Progress, Settings, ToleranceResult};
use crate::analysis::{Analysis, analyse};
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

/// What plans are set against each other by: metal, energy, evenness; less is better in each.
type Measures = [f64; 3];

/// Whether one is no worse than the other in anything and better in something.
fn beats(one: &Measures, other: &Measures) -> bool {
    let pairs = || one.iter().zip(other);
    pairs().all(|(a, b)| a <= b) && pairs().any(|(a, b)| a < b)
}

impl Alternative {
    fn of(merit: Merit, weighed: &Weighed) -> Option<Self> {
        let study = weighed.study.as_ref()?;
        let [sheet_kg, fan_kwh_per_year] = costs(weighed);
        Some(Self {
            merit,
            plan: weighed.plan.clone(),
            analysis: analyse(&weighed.plan).ok()?,
            study: study.clone(),
            sheet_kg,
            fan_kwh_per_year,
            p90_percent: study.p90.worst_bay_percent,
        })
    }

    /// Whether this one is no worse than `other` in anything and better in something.
    pub fn dominates(&self, other: &Self) -> bool {
        let measures = |one: &Self| [one.sheet_kg, one.fan_kwh_per_year, one.p90_percent];
        beats(&measures(self), &measures(other))
    }
}

/// Metal and energy of a variant.
fn costs(weighed: &Weighed) -> [f64; 2] {
    [sheet_kg(&weighed.plan), fan_kwh_per_year(&weighed.plan, &weighed.analysis)]
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
    /// Whether those worth a whole study have been named.
    named: bool,
    done: usize,
    settings: Settings,
}

/// Variants that get a whole study at most.
const FINALISTS: usize = 4;
/// Variants a finer round adds at most.
const REFINED: usize = 6;

impl Alternatives {
    /// Prepares the search: a coarse grid over duct sizes, slot pressure (fan speed) and slot length, then one
    /// finer round about the best in each respect, all told apart at a glance; then whole studies of the best.
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
        Ok(Self { queue, rounds: 1, named: false, done: 0, settings })
    }

    /// How far the search has come; what is left is the most there can be.
    pub fn progress(&self) -> Progress {
        let finals = if self.named { usize::from(self.next().is_some()) } else { FINALISTS };
        let finals = finals * self.settings.samples;
        let left = self.queue.left() + self.rounds * REFINED * VARIANT + finals;
        Progress { done: self.done, of: self.done + left }
    }

    /// Does the next piece of work.
    pub fn step(&mut self) -> Progress {
        if self.queue.idle() && self.rounds > 0 {
            self.rounds -= 1;
            for (i, _) in chosen(&self.glanced()) {
                let change = self.queue.done[i].change;
                self.queue.add(Change { ratio: change.ratio.map(|ratio| 0.85 * ratio), ..change });
                let jet = if change.jet < 1.0 { 0.85 } else { 1.1 } * change.jet;
                self.queue.add(Change { jet, ..change });
            }
        } else if self.queue.idle() && !self.named {
            self.named = true;
            // The three, and the second in evenness: a glance may be wrong by a little.
            let mut front = self.glanced();
            let picks = chosen(&front);
            front.retain(|(i, _)| picks.iter().all(|(pick, _)| pick != i));
            let second = front.iter().min_by(|(_, a), (_, b)| a[2].total_cmp(&b[2])).map(|(i, _)| *i);
            for i in picks.iter().map(|(i, _)| *i).chain(second) {
                self.queue.study(i);
            }
        } else if let Some(i) = self.next() {
            self.queue.study(i);
        }
        self.queue.step();
        self.done += 1;
        self.progress()
    }

    /// The next to be studied, where the studies so far leave fewer than three to choose from.
    fn next(&self) -> Option<usize> {
        if !self.named || !self.queue.idle() || self.front(Weighed::p90_percent).len() >= 3 {
            return None;
        }
        self.glanced().into_iter().map(|(i, _)| i).find(|&i| self.queue.done[i].study.is_none())
    }

    /// Those that none of the others beats at a glance, with their place in the queue.
    fn glanced(&self) -> Vec<(usize, Measures)> {
        self.front(|weighed| weighed.glance_percent.is_finite().then_some(weighed.glance_percent))
    }

    /// Those that none of the others beats, evenness as `p90` says; without those of which it says nothing.
    fn front(&self, p90: impl Fn(&Weighed) -> Option<f64>) -> Vec<(usize, Measures)> {
        let measured = |(i, weighed): (usize, &Weighed)| {
            let [sheet, energy] = costs(weighed);
            Some((i, [sheet, energy, p90(weighed)?]))
        };
        let all: Vec<(usize, Measures)> = self.queue.done.iter().enumerate().filter_map(measured).collect();
        let mut front: Vec<(usize, Measures)> = Vec::new();
        for (i, one) in &all {
            let twin = front.iter().any(|(_, other)| other == one);
            if !twin && !all.iter().any(|(_, other)| beats(other, one)) {
                front.push((*i, *one));
            }
        }
        front
    }

    /// The alternatives found.
    pub fn finish(mut self) -> Result<AlternativesFound, EngineError> {
        let front = self.front(Weighed::p90_percent);
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
        let done = &self.queue.done;
        let alternatives: Vec<Alternative> =
            chosen(&front).into_iter().filter_map(|(i, merit)| Alternative::of(merit, &done[i])).collect();
        let tried = done.len() + self.queue.refused.len();
        let mut findings = Vec::new();
        if alternatives.len() < 3 {
            findings.push(Finding::new(
                Severity::Note,
                "few-alternatives",
                None,
                Message::new(format!(
                    "Of {tried} plans tried, {} could be used; only {} stand side by side, the others are beaten in \
                     metal, energy and evenness together.",
                    done.len(),
                    alternatives.len()
                )),
                "Widen the shop record's limits of width and discharge speed, or choose another fan.",
                "search over duct sizes, slot length and fan speed",
            ));
        }
        Ok(AlternativesFound { alternatives, tried, findings })
    }
}

/// Three of a front: the best in each measure, then those furthest from the chosen.
fn chosen(front: &[(usize, Measures)]) -> Vec<(usize, Merit)> {
    let mut picks: Vec<(usize, Merit)> = Vec::new();
    for (k, merit) in [Merit::Metal, Merit::Energy, Merit::Evenness].into_iter().enumerate() {
        let best = front.iter().min_by(|(_, a), (_, b)| {
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
            let values = || front.iter().map(|(_, one)| one[k]);
            (values().fold(f64::NEG_INFINITY, f64::max) - values().fold(f64::INFINITY, f64::min)).max(1e-9)
        })
        .collect();
    let apart =
        |a: &Measures, b: &Measures| -> f64 { (0..3).map(|k| ((a[k] - b[k]) / spans[k]).abs()).sum() };
    while picks.len() < 3 && picks.len() < front.len() {
        let nearest = |one: &Measures| {
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
