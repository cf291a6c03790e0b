//! Slots, returns, what the shop can cut, and which laws are used.

use super::{Extra, Point, one};
use serde::{Deserialize, Serialize};

/// Which wall of the duct slots are cut in, looking from its first to its last point.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Face {
    /// Facing up.
    #[default]
    Top,
    /// The left side.
    Left,
    /// The right side.
    Right,
}

/// Slots cut along one duct at a constant pitch.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct SlotRow {
    /// Name of this item in the plan; its slots are called `id/1`, `id/2`, ...
    pub id: String,
    /// The duct they are cut in.
    pub duct: String,
    /// Which wall.
    #[serde(default)]
    pub face: Face,
    /// Station of the middle of the first slot, m from the duct's first point.
    pub first_station_m: f64,
    /// From middle to middle, m.
    pub pitch_m: f64,
    /// How many slots.
    pub count: u32,
    /// Long side of each slot, m.
    pub length_m: f64,
    /// Short side: one value for all slots, or one for each, m.
    pub widths_m: Vec<f64>,
    /// Share of the air of each slot against other rows' slots.
    #[serde(default = "one")]
    pub weight: f64,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

impl SlotRow {
    /// Short side of slot `k` (from 0), m.
    pub fn width_m(&self, k: usize) -> f64 {
        match self.widths_m.as_slice() {
            [all] => *all,
            each => each.get(k).copied().unwrap_or(0.0),
        }
    }

    /// Name of slot `k` (from 0).
    pub fn slot_id(&self, k: usize) -> String {
        format!("{}/{}", self.id, k + 1)
    }
}

/// A wall opening with a slide damper that takes air back, on a return duct or in the heater's own wall.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct ReturnOpening {
    /// Name of this item in the plan.
    pub id: String,
    /// What people call it.
    #[serde(default)]
    pub name: String,
    /// The return duct it opens into; the heater's intake plenum when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub duct: Option<String>,
    /// Distance along that duct from its first point, m.
    #[serde(default)]
    pub station_m: f64,
    /// Where an opening without a duct is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<Point>,
    /// Width across the slide's travel, m.
    pub width_m: f64,
    /// Height along the slide's travel, m.
    pub height_m: f64,
    /// How far the slide stands open, m.
    pub open_m: f64,
    /// Wanted share of the returned air against the other openings.
    #[serde(default = "one")]
    pub weight: f64,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

/// What this shop can cut, set and sell.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(default)]
pub struct ShopRecord {
    /// Smallest step of a slot's width, m.
    pub width_increment_m: f64,
    /// Narrowest slot, m.
    pub min_width_m: f64,
    /// Widest slot, m.
    pub max_width_m: f64,
    /// Slowest discharge that still reaches the part, m/s.
    pub min_discharge_m_s: f64,
    /// Fastest discharge that leaves the finish alone, m/s.
    pub max_discharge_m_s: f64,
    /// Smallest step of a slide, m.
    pub slide_increment_m: f64,
    /// Opening of the slide that needs the most, %: what is left over is the trim reserve.
    pub index_opening_percent: f64,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

impl Default for ShopRecord {
    fn default() -> Self {
        Self {
            width_increment_m: 0.0005,
            min_width_m: 0.003,
            max_width_m: 0.040,
            min_discharge_m_s: 3.0,
            max_discharge_m_s: 30.0,
            slide_increment_m: 0.005,
            index_opening_percent: 80.0,
            extra: Extra::new(),
        }
    }
}

/// Which published laws the plan is solved with.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(default)]
pub struct Models {
    /// How a slot's discharge depends on the air passing it.
    pub slot: SlotModel,
    /// Which duct velocity that law sees.
    pub slot_velocity: SlotVelocity,
    /// Regain factor R: static pressure rises by R·(ρ/2)(V₁² − V₂²) across a slot. 1 loses nothing;
    /// 0.8…1.1 for rough, burred or baffled slots.
    pub regain: f64,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

impl Default for Models {
    fn default() -> Self {
        Self {
            slot: SlotModel::default(),
            slot_velocity: SlotVelocity::default(),
            regain: 1.0,
            extra: Extra::new(),
        }
    }
}

/// How a slot's discharge depends on the air passing it in the duct.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case", tag = "law", deny_unknown_fields)]
pub enum SlotModel {
    /// Sharp edge: Cd = 0.63 − 0.58·q/E (Rawn, Bowerman & Brooks 1961).
    #[default]
    CrossFlowSharp,
    /// Formed edge: Cd = 0.975·(1 − q/E)^(3/8) (same sources).
    CrossFlowFormed,
    /// Exact two-dimensional free-streamline slot.
    FreeStreamline,
    /// A constant coefficient on total pressure.
    ConstantTotal {
        /// Discharge coefficient.
        cd: f64,
    },
    /// A constant coefficient on static pressure.
    ConstantStatic {
        /// Discharge coefficient.
        cd: f64,
    },
}

/// Which duct velocity a cross-flow slot law sees.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum SlotVelocity {
    /// The mean of the velocities before and after the slot.
    #[default]
    Mean,
    /// The velocity before the slot.
    Upstream,
}
