//! Slots, returns, what the shop can cut, and which laws are used.

use super::{Extra, Point, one};
use crate::plan::record::{choice, record};
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

choice!(Face { Top = "top", Left = "left", Right = "right" });

/// Slots cut along one duct at a constant pitch.
#[derive(Clone, Debug, PartialEq, Serialize)]
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
    /// Long side of each slot where they differ, m; all have `length_m` when left out.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lengths_m: Vec<f64>,
    /// Station of the middle of each slot where the pitch varies, m. First station, pitch and count then
    /// still give the stretch the row serves, and each slot's share goes by its own part of it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub stations_m: Vec<f64>,
    /// What even out may change in this row; the shop record's way when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub build: Option<BuildStyle>,
    /// Share of each slot against the row's weight where bays need air by their heat; all the same when left out.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub shares: Vec<f64>,
    /// Stretches of the duct, from and to in m from its first point, that this row must leave whole.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub blanked_m: Vec<[f64; 2]>,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(SlotRow { id, duct, first_station_m, pitch_m, count, length_m, widths_m } or { face, weight = one(), lengths_m, stations_m, build, shares, blanked_m });

/// How slots are made, and so what even out may change to give each its share.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case", tag = "style", deny_unknown_fields)]
pub enum BuildStyle {
    /// Slots of one length; each has a width of its own.
    #[default]
    SteppedWidths,
    /// One punched width, the row's first; each slot has a length of its own.
    SteppedLengths,
    /// One punched size, the row's; how many and how far apart varies.
    PunchedCount,
    /// Equal slots, as many as there are; how far apart varies, and one width for the row.
    VariedPitch,
    /// One slot cut through all panels: each panel is a slot of the row, its edge straight from the width
    /// at one joint to the width at the next. `widths_m` then holds one value more than there are panels.
    ContinuousTaper,
    /// One width for the row; the duct gets smaller along it.
    SteppedDuct,
    /// Slots cut alike; a strip fixed over each on site leaves the width that is set.
    AdjustableStrip {
        /// Width of the slot under the strip, m.
        slot_width_m: f64,
    },
}

choice!(BuildStyle by "style" {
    SteppedWidths = "stepped_widths",
    SteppedLengths = "stepped_lengths",
    PunchedCount = "punched_count",
    VariedPitch = "varied_pitch",
    ContinuousTaper = "continuous_taper",
    SteppedDuct = "stepped_duct",
    AdjustableStrip = "adjustable_strip" { slot_width_m }
});

impl SlotRow {
    /// Equal slots in the top of a duct: `count` of `length_m` × `width_m`, `pitch_m` apart.
    pub fn new(
        id: impl Into<String>,
        duct: impl Into<String>,
        (first_station_m, pitch_m, count): (f64, f64, u32),
        length_m: f64,
        width_m: f64,
    ) -> Self {
        Self {
            id: id.into(),
            duct: duct.into(),
            face: Face::Top,
            first_station_m,
            pitch_m,
            count,
            length_m,
            widths_m: vec![width_m],
            weight: 1.0,
            lengths_m: Vec::new(),
            stations_m: Vec::new(),
            build: None,
            blanked_m: Vec::new(),
            shares: Vec::new(),
            extra: Extra::new(),
        }
    }

    /// Short side of slot `k` (from 0), m; of a tapering panel, its mean.
    pub fn width_m(&self, k: usize) -> f64 {
        match self.widths_m.as_slice() {
            [all] => *all,
            joints if joints.len() == self.count as usize + 1 => {
                joints.get(k..k + 2).map_or(0.0, |ends| 0.5 * (ends[0] + ends[1]))
            }
            each => each.get(k).copied().unwrap_or(0.0),
        }
    }

    /// Long side of slot `k` (from 0), m.
    pub fn slot_length_m(&self, k: usize) -> f64 {
        self.lengths_m.get(k).copied().unwrap_or(self.length_m)
    }

    /// Station of the middle of slot `k` (from 0), m.
    pub fn station_m(&self, k: usize) -> f64 {
        self.stations_m.get(k).copied().unwrap_or(self.first_station_m + self.pitch_m * k as f64)
    }

    /// The stretch of the duct the row serves, half a pitch beyond its first and its last slot, m.
    pub fn stretch_m(&self) -> [f64; 2] {
        let start = self.first_station_m - 0.5 * self.pitch_m;
        [start, start + self.pitch_m * f64::from(self.count)]
    }

    /// Share of slot `k` (from 0): the row's weight and its own share of it, and where the pitch varies the part of the stretch
    /// nearest to it against the even pitch.
    pub fn slot_weight(&self, k: usize) -> f64 {
        // Shares of another number of slots mean nothing any more.
        let is_shared = self.shares.len() == self.count as usize;
        let weight = self.weight * if is_shared { self.shares.get(k).copied().unwrap_or(1.0) } else { 1.0 };
        let Some(&here) = self.stations_m.get(k) else { return weight };
        let [start, end] = self.stretch_m();
        let from = if k == 0 { start } else { 0.5 * (self.stations_m[k - 1] + here) };
        let to = self.stations_m.get(k + 1).map_or(end, |next| 0.5 * (here + next));
        weight * (to - from) / self.pitch_m
    }

    /// Name of slot `k` (from 0).
    pub fn slot_id(&self, k: usize) -> String {
        format!("{}/{}", self.id, k + 1)
    }
}

/// A wall opening with a slide damper that takes air back, on a return duct or in the heater's own wall.
#[derive(Clone, Debug, PartialEq, Serialize)]
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
    /// Pitch of the pin holes that hold its slide, m; the shop record's step when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pin_pitch_m: Option<f64>,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(ReturnOpening { id, width_m, height_m, open_m } or { name, duct, station_m, at, weight = one(), pin_pitch_m });

impl ReturnOpening {
    /// An opening of `width_m` × `height_m` with its slide `open_m` open, not placed yet.
    pub fn new(id: impl Into<String>, width_m: f64, height_m: f64, open_m: f64) -> Self {
        Self {
            id: id.into(),
            name: String::new(),
            duct: None,
            station_m: 0.0,
            at: None,
            width_m,
            height_m,
            open_m,
            weight: 1.0,
            pin_pitch_m: None,
            extra: Extra::new(),
        }
    }
}

/// What this shop can cut, set and sell.
#[derive(Clone, Debug, PartialEq, Serialize)]
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
    /// How slots are made where a row does not say.
    #[serde(skip_serializing_if = "is_default")]
    pub build: BuildStyle,
    /// Smallest step of a slot's length, m.
    #[serde(skip_serializing_if = "is_five_millimetres")]
    pub length_increment_m: f64,
    /// Smallest step of a slot's station, m.
    #[serde(skip_serializing_if = "is_one_millimetre")]
    pub station_increment_m: f64,
    /// How many different widths and lengths the whole oven may be cut with; strips set on site do not count.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub max_patterns: Option<u32>,
    /// Least metal between neighbouring slots, m.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub min_web_m: Option<f64>,
    /// Least metal between a slot and a seam, flange, bend or change of size, m.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub edge_distance_m: Option<f64>,
    /// Longest slot that needs no tie, m.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub max_slot_length_m: Option<f64>,
    /// Length of a sheet, m: ducts have a joint every so far from their first point, which no slot may cross.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sheet_length_m: Option<f64>,
    /// Greatest slot area of a run over its duct area.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub max_area_ratio: Option<f64>,
    /// Places where slots must blow slower, such as where powder is not yet gelled.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub speed_limits: Vec<SpeedLimit>,
    /// Sheet thicknesses in stock, m.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub gauges_m: Vec<f64>,
    /// Sides and diameters ducts are made in, m; every 50 mm when left out.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub duct_sizes_m: Vec<f64>,
    /// Sides and diameters dampers are made in, m; any when left out.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub damper_sizes_m: Vec<f64>,
    /// Sheet that a seam takes, m of girth for each length of duct.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub seam_allowance_m: Option<f64>,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(ShopRecord as it is by default { width_increment_m, min_width_m, max_width_m, min_discharge_m_s, max_discharge_m_s, slide_increment_m, index_opening_percent, build, length_increment_m, station_increment_m, max_patterns, min_web_m, edge_distance_m, max_slot_length_m, sheet_length_m, max_area_ratio, speed_limits, gauges_m, duct_sizes_m, damper_sizes_m, seam_allowance_m });

/// A stretch where slots must blow slower than elsewhere.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct SpeedLimit {
    /// Fastest discharge there, m/s.
    pub max_discharge_m_s: f64,
    /// Only in this zone; in all when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zone: Option<String>,
    /// Only by this stretch of the conveyor, from and to in m along its path; all of it when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub conveyor_m: Option<[f64; 2]>,
}

record!(strict SpeedLimit { max_discharge_m_s } or { zone, conveyor_m });

fn is_default(style: &BuildStyle) -> bool {
    *style == BuildStyle::default()
}
#[allow(clippy::trivially_copy_pass_by_ref)] // serde asks for a reference
fn is_five_millimetres(value: &f64) -> bool {
    *value == 0.005
}
#[allow(clippy::trivially_copy_pass_by_ref)] // serde asks for a reference
fn is_one_millimetre(value: &f64) -> bool {
    *value == 0.001
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
            build: BuildStyle::default(),
            length_increment_m: 0.005,
            station_increment_m: 0.001,
            max_patterns: None,
            min_web_m: None,
            edge_distance_m: None,
            max_slot_length_m: None,
            sheet_length_m: None,
            max_area_ratio: None,
            speed_limits: Vec::new(),
            gauges_m: Vec::new(),
            duct_sizes_m: Vec::new(),
            damper_sizes_m: Vec::new(),
            seam_allowance_m: None,
            extra: Extra::new(),
        }
    }
}

/// Which published laws the plan is solved with.
#[derive(Clone, Debug, PartialEq, Serialize)]
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

record!(Models as it is by default { slot, slot_velocity, regain });

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

choice!(SlotModel by "law" {
    CrossFlowSharp = "cross_flow_sharp",
    CrossFlowFormed = "cross_flow_formed",
    FreeStreamline = "free_streamline",
    ConstantTotal = "constant_total" { cd },
    ConstantStatic = "constant_static" { cd }
});

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

choice!(SlotVelocity { Mean = "mean", Upstream = "upstream" });
