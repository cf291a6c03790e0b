//! How even the oven will be as built: many draws of what is in doubt, each solved.
//!
//! Every draw changes slot areas, the slot law, regain, roughness, fan, slides, dampers and temperature of
//! one network, which is solved from the plan's own solution under that law. What each input matters is
//! found from the same draws: with an input taken out of a draw by the first-order answer of every slot to
//! it, the fall of P90 is what holding that input would be worth.

mod doubts;
mod figures;
mod trial;

pub use doubts::normal_quantile;
pub use figures::{BAY_M, Figures, Histogram, quantile};

use super::bench_piece::{BenchFit, fit_bench_pieces};
use crate::analysis::{area_ratios, describe};
use crate::error::EngineError;
use crate::finding::{Finding, Message, Severity};
use crate::network::from_plan;
use crate::plan::Plan;
use crate::units::Kind;
use doubts::{Counts, Doubts, Draw};
use figures::{Bay, bays, deviations};
use serde::{Deserialize, Serialize};
use trial::{Trial, cut_factor};

/// How many draws, and which.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Settings {
    /// How many draws.
    pub samples: usize,
    /// Chooses the draws: the same seed gives the same digits on every machine.
    pub seed: u64,
}

impl Default for Settings {
    fn default() -> Self {
        Self { samples: 500, seed: 1 }
    }
}

/// What can be in doubt.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Input {
    /// Which published slot law nature follows.
    SlotLaw,
    /// Width of each slot as cut.
    Cut,
    /// Discharge coefficient of all slots.
    Coefficient,
    /// Discharge coefficient from slot to slot.
    SlotToSlot,
    /// Regain factor.
    Regain,
    /// Roughness of the sheet.
    Roughness,
    /// The fan against its maker's curve.
    Fan,
    /// Slides and dampers as set.
    Dampers,
    /// Temperature of the oven air.
    Temperature,
}

/// Every input.
pub const INPUTS: [Input; 9] = [
    Input::SlotLaw,
    Input::Cut,
    Input::Coefficient,
    Input::SlotToSlot,
    Input::Regain,
    Input::Roughness,
    Input::Fan,
    Input::Dampers,
    Input::Temperature,
];

impl Input {
    /// Its name in a sentence.
    pub fn name(self) -> &'static str {
        match self {
            Self::SlotLaw => "the slot law",
            Self::Cut => "the cutting of the slots",
            Self::Coefficient => "the discharge coefficient",
            Self::SlotToSlot => "the edges from slot to slot",
            Self::Regain => "the regain along the run",
            Self::Roughness => "the roughness of the sheet",
            Self::Fan => "the fan",
            Self::Dampers => "the setting of slides and dampers",
            Self::Temperature => "the temperature",
        }
    }
}

/// How far a calculation has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Progress {
    /// Solves done.
    pub done: usize,
    /// Solves in all.
    pub of: usize,
}

impl Progress {
    /// Whether nothing is left to do.
    pub fn complete(self) -> bool {
        self.done >= self.of
    }
}

/// What one input matters.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct InputEffect {
    /// Which.
    pub input: Input,
    /// By how much P90 of the worst bay falls with this input at its middle, percentage points.
    pub bay_points: f64,
    /// The same of the worst slot.
    pub slot_points: f64,
}

/// One bay of one run.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BayResult {
    /// The run.
    pub run: String,
    /// Station of its first slot, m.
    pub from_m: f64,
    /// Station of its last slot, m.
    pub to_m: f64,
    /// How far it is from its share as drawn, %, with sign.
    pub nominal_percent: f64,
    /// Half of all builds are nearer to the share than this, %.
    pub p50_percent: f64,
    /// Nine of ten builds are nearer to the share than this, %.
    pub p90_percent: f64,
}

/// How even the oven will be as built. Computed, not measured.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ToleranceResult {
    /// Draws solved.
    pub samples: usize,
    /// Draws whose air balance did not close; they are left out.
    pub failed: usize,
    /// The seed.
    pub seed: u64,
    /// As drawn.
    pub nominal: Figures,
    /// Half of all builds do better.
    pub p50: Figures,
    /// Nine of ten builds do better.
    pub p90: Figures,
    /// The slot that is most often the worst.
    pub worst_slot: String,
    /// Air from all slots, kg/s, at P10, P50 and P90.
    pub total_flow_kg_s: [f64; 3],
    /// Every bay.
    pub bays: Vec<BayResult>,
    /// How often which figure.
    pub histogram: Histogram,
    /// What each input matters, the most first.
    pub inputs: Vec<InputEffect>,
    /// Slot area of a run over its duct area, the largest of all runs.
    pub area_ratio: f64,
    /// Whether bench pieces have narrowed the doubts.
    pub bench: bool,
    /// What to do about it.
    pub findings: Vec<Finding>,
}

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
        let area_ratio = ratio_of(plan)?;
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
            return Err(EngineError::new(
                "tolerance",
                format!("only {samples} of {} samples could be solved", self.next),
                "let the study run on, or make the plan work as drawn first",
            ));
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
            }
        });
        let mut worst = vec![0_u32; self.trial.counts.slots];
        self.worst_slots.iter().for_each(|&i| worst[i as usize] += 1);
        // The first of the most frequent.
        let worst = (0..worst.len()).rev().max_by_key(|&i| worst[i]).unwrap_or(0);
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

fn column(figures: &[Figures], value: fn(&Figures) -> f64) -> Vec<f64> {
    figures.iter().map(value).collect()
}

fn ratio_of(plan: &Plan) -> Result<f64, EngineError> {
    let built = from_plan::build(plan)?;
    let solution = crate::network::solve(&built.network, &crate::network::Settings::default());
    let analysis = describe(plan, &built, &solution);
    Ok(area_ratios(plan, &built, &analysis.slots).into_iter().map(|(_, ratio)| ratio).fold(0.0, f64::max))
}

/// The whole study at once.
pub fn tolerance(plan: &Plan, settings: Settings) -> Result<ToleranceResult, EngineError> {
    let mut study = Tolerance::new(plan, settings)?;
    while !study.step().complete() {}
    study.finish()
}

/// What to do, led by what matters most.
fn advice(plan: &Plan, result: &ToleranceResult) -> Vec<Finding> {
    let mut findings = Vec::new();
    let basis =
        "tolerance study over the published slot laws and the plan's tolerances; computed, not measured";
    if let Some(first) = result.inputs.first()
        && result.p90.worst_bay_percent > 1.0
    {
        let remedy = match first.input {
            Input::SlotLaw | Input::Regain | Input::Coefficient => Message::new(
                "Make the slot-to-duct area ratio smaller: larger ducts, or fewer and narrower slots at a higher \
                 pressure. It is ",
            )
            .value(Kind::Number, result.area_ratio)
            .text(
                " at most now; at 0.4 the published laws agree within 3 to 6 %. A bench piece, or one traverse with \
                 one static pressure, settles which law holds.",
            ),
            Input::Cut | Input::SlotToSlot => Message::new(
                "Use fewer and wider slots, or cut closer than ± ",
            )
            .value(Kind::ShopLength, plan.tolerances.cut_m)
            .text(
                "; wider slots need larger ducts to keep the slot-to-duct area ratio small: it is ",
            )
            .value(Kind::Number, result.area_ratio)
            .text(" at most now."),
            Input::Dampers => "Pin slides and dampers where they are set, and use larger openings less open.".into(),
            Input::Fan | Input::Temperature | Input::Roughness => {
                "Measure it on site before slots are changed: it is not the slots.".into()
            }
        };
        let severity = if result.p90.worst_bay_percent > 10.0 { Severity::Caution } else { Severity::Note };
        findings.push(Finding::new(
            severity,
            "tolerance",
            None,
            Message::new("As built, one oven in ten will have a bay more than ")
                .value(Kind::Percent, result.p90.worst_bay_percent)
                .text(" and a slot more than ")
                .value(Kind::Percent, result.p90.worst_slot_percent)
                .text(format!(" off its share of the air; {} matters most.", first.input.name())),
            remedy,
            basis,
        ));
    }
    if result.failed * 50 > result.samples {
        findings.push(Finding::new(
            Severity::Caution,
            "tolerance-failed",
            None,
            Message::new(format!(
                "In {} of {} samples the air balance did not close; they are left out.",
                result.failed,
                result.samples + result.failed
            )),
            "The plan works near a limit: look at its findings first.",
            basis,
        ));
    }
    findings
}
