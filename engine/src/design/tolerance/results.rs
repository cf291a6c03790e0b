//! What a study is asked and what it answers.

use super::figures::{Figures, Histogram};
use crate::finding::Finding;
use serde::{Deserialize, Serialize};

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
    /// Its slot that is most often the furthest from its share.
    pub worst_slot: String,
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
