//! The study under way: preparations, draws, what each input matters.

use super::advice::advice;
use super::doubts::{Counts, Doubts, Draw};
use super::figures::{Bay, Figures, Histogram, bays, deviations, quantile};
use super::results::{BayResult, INPUTS, Input, InputEffect, Progress, Settings, ToleranceResult};
use super::trial::{Trial, cut_factor};
use crate::analysis::area_ratios;
use crate::design::bench_piece::{BenchFit, fit_bench_pieces};
use crate::error::EngineError;
use crate::plan::Plan;

/// A tolerance study under way: call [`Tolerance::step`] until it is complete, then [`Tolerance::finish`].
pub struct Tolerance {
    settings: Settings,
    doubts: Doubts,
    trial: Trial,
    bays: Vec<Bay>,
    area_ratio: f64,
    bench: bool,
    /// Flows of every slot with everything at its middle, by law.
    middles: Vec<Option<Vec<f64>>>,
    /// d ln(flow) of every slot per scale of each common input.
    answers: Vec<(Input, Vec<f64>)>,
    /// The same per unit of each slide, then of each damper.
    setting_answers: Vec<Vec<f64>>,
    done: usize,
    next: usize,
    failed: usize,
    figures: Vec<Figures>,
    totals: Vec<f64>,
    /// Deviation of each bay in each draw, draws outermost.
    bay_values: Vec<f32>,
    worst_slots: Vec<u32>,
    /// In how many draws each slot was the furthest from its share in its bay.
    worst_in_bay: Vec<u32>,
    /// Figures of each draw with one input at its middle, by input.
    held: Vec<Vec<Figures>>,
}

/// A plan whose slots pass less of the required flow than this is no plan to study.
const LEAST_SHARE: f64 = 0.3;

const COMMON: [Input; 5] =
    [Input::Coefficient, Input::Regain, Input::Roughness, Input::Fan, Input::Temperature];

impl Tolerance {
    /// Prepares the study. The plan's bench pieces, where it has any, narrow what is in doubt.
    pub fn new(plan: &Plan, settings: Settings) -> Result<Self, EngineError> {
        let fit = if plan.bench_pieces.is_empty() { None } else { Some(fit_bench_pieces(plan)?) };
        Self::with_fit(plan, settings, fit.as_ref())
    }

    /// The same with a given fit, or none.
    pub fn with_fit(plan: &Plan, settings: Settings, fit: Option<&BenchFit>) -> Result<Self, EngineError> {
        if settings.samples < 10 {
            return Err(EngineError::new(
                "tolerance",
                "fewer than 10 samples say nothing",
                "ask for 200 or more",
            ));
        }
        let doubts = Doubts::of(plan, fit);
        let mut trial = Trial::new(plan, doubts.laws.len())?;
        if trial.counts.slots == 0 {
            return Err(EngineError::new("slots", "there are no slots", "add a slot row to a supply duct"));
        }
        let bays = bays(&trial.built().slots, &trial.targets);
        let mut middles = vec![None; doubts.laws.len()];
        let own = doubts.nominal(0, trial.counts);
        middles[0] = trial.flows(&doubts, &own);
        let Some(own) = &middles[0] else {
            return Err(EngineError::new(
                trial.worst(),
                "the air balance of the plan as drawn does not close",
                "make the plan work as drawn first",
            ));
        };
        let share = own.iter().sum::<f64>() / plan.required_flow_kg_s;
        if share < LEAST_SHARE {
            return Err(EngineError::new(
                "slots",
                format!("as drawn they pass {:.0} % of the required flow", 100.0 * share),
                "set the fan speed, open returns and slots, then even out first",
            ));
        }
        let ratios = area_ratios(plan, trial.built()).into_iter();
        let area_ratio = ratios.map(|(_, ratio)| ratio).fold(0.0, f64::max);
        let worst_in_bay = vec![0; trial.counts.slots];
        Ok(Self {
            settings,
            doubts,
            trial,
            bays,
            area_ratio,
            bench: fit.is_some(),
            middles,
            answers: Vec::new(),
            setting_answers: Vec::new(),
            done: 0,
            next: 0,
            failed: 0,
            figures: Vec::new(),
            totals: Vec::new(),
            bay_values: Vec::new(),
            worst_slots: Vec::new(),
            worst_in_bay,
            held: vec![Vec::new(); INPUTS.len()],
        })
    }

    /// Solves that come before the draws: each law, each common input up and down, each slide and damper.
    fn preparations(&self) -> usize {
        let Counts { slides, dampers, .. } = self.trial.counts;
        self.doubts.laws.len() + COMMON.len() + slides + dampers
    }

    /// How far the study has come.
    pub fn progress(&self) -> Progress {
        Progress { done: self.done, of: self.preparations() + self.settings.samples }
    }

    /// Does the next solve.
    pub fn step(&mut self) -> Progress {
        let laws = self.doubts.laws.len();
        let preparations = self.preparations();
        if self.progress().complete() {
        } else if self.done < laws {
            let law = self.done;
            if self.middles[law].is_none() && self.doubts.laws[law].weight > 0.0 {
                self.middles[law] =
                    self.trial.flows(&self.doubts, &self.doubts.nominal(law, self.trial.counts));
            }
        } else if self.done < laws + COMMON.len() {
            let input = COMMON[self.done - laws];
            let answer = self.common_answer(input);
            self.answers.push((input, answer));
        } else if self.done < preparations {
            let answer = self.setting_answer(self.done - laws - COMMON.len());
            self.setting_answers.push(answer);
        } else {
            let draw = self.doubts.draw(&self.settings, self.next, self.trial.counts);
            self.next += 1;
            match self.trial.flows(&self.doubts, &draw) {
                Some(flows) => self.record(&draw, &flows),
                None => self.failed += 1,
            }
        }
        self.done += 1;
        self.progress()
    }

    /// P90 of the worst bay over the first `draws` draws and nothing else, %. A study after it is to begin anew:
    /// the last digits depend on where a solve begins.
    pub(in crate::design) fn glance(mut self, draws: usize) -> Result<f64, EngineError> {
        let mut worst = Vec::with_capacity(draws);
        for index in 0..draws {
            let draw = self.doubts.draw(&self.settings, index, self.trial.counts);
            if let Some(flows) = self.trial.flows(&self.doubts, &draw) {
                worst.push(deviations(&flows, &self.trial.targets, &self.bays).figures.worst_bay_percent);
            }
        }
        if 2 * worst.len() < draws {
            return Err(too_few(worst.len(), draws));
        }
        Ok(quantile(&mut worst, 0.9))
    }

    /// ln of each slot's flow over that of the middle; 0 where a slot does not discharge.
    fn against_middle(&self, flows: Option<Vec<f64>>, over: f64) -> Vec<f64> {
        let (Some(flows), Some(middle)) = (flows, &self.middles[0]) else {
            return vec![0.0; self.trial.counts.slots];
        };
        let pairs = flows.iter().zip(middle);
        pairs
            .map(|(f, m)| if *f > 0.0 && *m > 0.0 { crate::numerics::ln(f / m) / over } else { 0.0 })
            .collect()
    }

    fn common_answer(&mut self, input: Input) -> Vec<f64> {
        let mut side = |x: f64| {
            let mut draw = self.doubts.nominal(0, self.trial.counts);
            self.doubts.shift(&mut draw, input, x);
            self.trial.flows(&self.doubts, &draw)
        };
        let (up, down) = (side(1.0), side(-1.0));
        let (up, down) = (self.against_middle(up, 1.0), self.against_middle(down, -1.0));
        up.iter().zip(&down).map(|(u, d)| 0.5 * (u + d)).collect()
    }

    fn setting_answer(&mut self, index: usize) -> Vec<f64> {
        let mut draw = self.doubts.nominal(0, self.trial.counts);
        let (slide_m, damper_percent) = self.doubts.settings();
        let slides = self.trial.counts.slides;
        let (place, size) = match index.checked_sub(slides) {
            None => (&mut draw.slides[index], slide_m),
            Some(damper) => (&mut draw.dampers[damper], damper_percent),
        };
        if size <= 0.0 {
            return vec![0.0; self.trial.counts.slots];
        }
        *place = size;
        let flows = self.trial.flows(&self.doubts, &draw);
        self.against_middle(flows, size)
    }

    fn record(&mut self, draw: &Draw, flows: &[f64]) {
        let found = deviations(flows, &self.trial.targets, &self.bays);
        self.figures.push(found.figures);
        self.totals.push(flows.iter().sum());
        self.bay_values.extend(found.bays.iter().map(|&off| off as f32));
        self.worst_slots.push(found.worst_slot as u32);
        found.worst_of_bays.iter().for_each(|&i| self.worst_in_bay[i] += 1);
        let mut without = vec![0.0; flows.len()];
        for (k, &input) in INPUTS.iter().enumerate() {
            for (i, flow) in flows.iter().enumerate() {
                without[i] = flow / self.factor(draw, input, i);
            }
            self.held[k].push(deviations(&without, &self.trial.targets, &self.bays).figures);
        }
    }

    /// By what factor `input` changes the flow of slot `i` in `draw`, to first order.
    fn factor(&self, draw: &Draw, input: Input, i: usize) -> f64 {
        let exp = crate::numerics::exp;
        match input {
            Input::SlotLaw => match (&self.middles[draw.law], &self.middles[0]) {
                (Some(under), Some(own)) if under[i] > 0.0 && own[i] > 0.0 => under[i] / own[i],
                _ => 1.0,
            },
            Input::Cut => {
                let site = &self.trial.built().slots[i];
                let row = &self.trial.plan().slot_rows[site.row];
                let length_m = row.slot_length_m(site.index);
                cut_factor(length_m * row.width_m(site.index), length_m, draw.cuts[i])
            }
            Input::SlotToSlot => 1.0 + draw.slot_to_slot[i],
            Input::Dampers => {
                let set = draw.slides.iter().chain(&draw.dampers);
                exp(self.setting_answers.iter().zip(set).map(|(answer, x)| answer[i] * x).sum())
            }
            common => {
                let answer = self.answers.iter().find(|(input, _)| *input == common);
                answer.map_or(1.0, |(_, answer)| exp(answer[i] * self.doubts.shifted(draw, common)))
            }
        }
    }

    /// What has been found so far.
    pub fn finish(self) -> Result<ToleranceResult, EngineError> {
        let samples = self.figures.len();
        if samples < 10 {
            return Err(too_few(samples, self.next));
        }
        let at = |figures: &[Figures], p: f64| Figures {
            worst_bay_percent: quantile(&mut column(figures, |f| f.worst_bay_percent), p),
            worst_slot_percent: quantile(&mut column(figures, |f| f.worst_slot_percent), p),
            cv_percent: quantile(&mut column(figures, |f| f.cv_percent), p),
        };
        let (p50, p90) = (at(&self.figures, 0.5), at(&self.figures, 0.9));
        let mut inputs: Vec<InputEffect> = INPUTS
            .iter()
            .zip(&self.held)
            .map(|(&input, held)| {
                let held = at(held, 0.9);
                InputEffect {
                    input,
                    bay_points: p90.worst_bay_percent - held.worst_bay_percent,
                    slot_points: p90.worst_slot_percent - held.worst_slot_percent,
                }
            })
            .collect();
        crate::numerics::sort_short(&mut inputs, |a, b| {
            (b.bay_points + b.slot_points).total_cmp(&(a.bay_points + a.slot_points))
        });
        let middle = self.middles[0].as_deref().unwrap_or_default();
        let nominal = deviations(middle, &self.trial.targets, &self.bays);
        let n = self.bays.len();
        let bays = self.bays.iter().enumerate().map(|(b, bay)| {
            let mut sizes: Vec<f64> =
                (0..samples).map(|k| 100.0 * f64::from(self.bay_values[k * n + b]).abs()).collect();
            BayResult {
                run: self.trial.plan().ducts[bay.duct].id.clone(),
                from_m: bay.from_m,
                to_m: bay.to_m,
                nominal_percent: 100.0 * nominal.bays[b],
                p50_percent: quantile(&mut sizes, 0.5),
                p90_percent: quantile(&mut sizes, 0.9),
                worst_slot: self.trial.built().slots[first_most(&bay.slots, &self.worst_in_bay)].id.clone(),
            }
        });
        let mut worst = vec![0_u32; self.trial.counts.slots];
        self.worst_slots.iter().for_each(|&i| worst[i as usize] += 1);
        let all: Vec<usize> = (0..worst.len()).collect();
        let worst = first_most(&all, &worst);
        let mut totals = self.totals.clone();
        let mut result = ToleranceResult {
            samples,
            failed: self.failed,
            seed: self.settings.seed,
            nominal: nominal.figures,
            p50,
            p90,
            worst_slot: self.trial.built().slots[worst].id.clone(),
            total_flow_kg_s: [0.1, 0.5, 0.9].map(|p| quantile(&mut totals, p)),
            bays: bays.collect(),
            histogram: Histogram::of(&self.figures),
            inputs,
            area_ratio: self.area_ratio,
            bench: self.bench,
            findings: Vec::new(),
        };
        result.findings = advice(self.trial.plan(), &result);
        Ok(result)
    }
}

/// The first of the most frequent.
fn first_most(of: &[usize], counts: &[u32]) -> usize {
    of.iter().copied().rev().max_by_key(|&i| counts[i]).unwrap_or(0)
}

fn too_few(solved: usize, of: usize) -> EngineError {
    EngineError::new(
        "tolerance",
        format!("only {solved} of {of} samples could be solved"),
        "let the study run on, or make the plan work as drawn first",
    )
}

fn column(figures: &[Figures], value: fn(&Figures) -> f64) -> Vec<f64> {
    figures.iter().map(value).collect()
}

/// The whole study at once.
pub fn tolerance(plan: &Plan, settings: Settings) -> Result<ToleranceResult, EngineError> {
    let mut study = Tolerance::new(plan, settings)?;
    while !study.step().complete() {}
    study.finish()
}
