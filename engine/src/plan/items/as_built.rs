//! How far what is built may differ from what is drawn, and what was tried before metal is cut.

use super::{Extra, Section, Site};
use crate::plan::record::record;
use serde::{Deserialize, Serialize};

/// What cutting, setting and nature leave open. Each figure is ± about the plan's value and means "anything
/// in between alike", unless a bench piece says more.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(default)]
pub struct Tolerances {
    /// Width of a slot as cut, ± m.
    pub cut_m: f64,
    /// Discharge coefficient of all slots together, ± %.
    pub coefficient_percent: f64,
    /// Discharge coefficient from slot to slot (burrs, bends), ± %.
    pub slot_to_slot_percent: f64,
    /// Weights of the published slot laws, in the order in which they are compared (sharp edge, formed edge,
    /// free streamline, constant on total pressure, constant on static pressure); all alike when left out.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub slot_law_weights: Vec<f64>,
    /// Regain factor, ±.
    pub regain: f64,
    /// Sheet roughness, times or divided by this at most.
    pub roughness_factor: f64,
    /// Grade of the fan by ISO 13348, 1 (closest) to 4, where the fan itself has none.
    pub fan_grade: u8,
    /// Position of a slide as set, ± m.
    pub slide_m: f64,
    /// Travel of a blade damper as set, ± % of full travel.
    pub damper_percent: f64,
    /// Temperature of the oven air, ± K.
    pub temperature_k: f64,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(Tolerances as it is by default { cut_m, coefficient_percent, slot_to_slot_percent, slot_law_weights, regain, roughness_factor, fan_grade, slide_m, damper_percent, temperature_k });

impl Default for Tolerances {
    fn default() -> Self {
        Self {
            cut_m: 0.000_25,
            coefficient_percent: 5.0,
            slot_to_slot_percent: 1.0,
            slot_law_weights: Vec::new(),
            regain: 0.15,
            roughness_factor: 2.0,
            fan_grade: 3,
            slide_m: 0.002,
            damper_percent: 2.0,
            temperature_k: 5.0,
            extra: Extra::new(),
        }
    }
}

/// One slotted length on a shop fan, its far end closed, with what was read at one fan setting.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct BenchPiece {
    /// Name of this item in the plan.
    pub id: String,
    /// Inside size of the duct.
    pub section: Section,
    /// Equivalent sheet roughness, m.
    #[serde(default = "super::ducts::sheet_roughness")]
    pub roughness_m: f64,
    /// From the root tap to the middle of the first slot, m.
    pub root_m: f64,
    /// From the middle of the last slot to the closed end, m.
    #[serde(default)]
    pub end_m: f64,
    /// From middle to middle of the slots, m.
    pub pitch_m: f64,
    /// How many slots.
    pub count: u32,
    /// Long side of each slot, m.
    pub length_m: f64,
    /// Short side of each slot as measured, m.
    pub width_m: f64,
    /// Air on the bench, °C.
    #[serde(default = "shop_air")]
    pub temperature_c: f64,
    /// Static pressure at the root tap against the room, Pa.
    pub root_static_pa: f64,
    /// Static pressure at the closed end against the room, Pa.
    pub end_static_pa: f64,
    /// Air into the piece, m³/s.
    pub flow_m3_s: f64,
    /// Slots that were read.
    pub slots: Vec<SlotReading>,
    /// Doubt of a static pressure (one standard deviation), %.
    #[serde(default = "two")]
    pub static_doubt_percent: f64,
    /// Doubt of the flow (one standard deviation), %.
    #[serde(default = "two")]
    pub flow_doubt_percent: f64,
    /// Doubt of a slot reading (one standard deviation), %.
    #[serde(default = "two")]
    pub slot_doubt_percent: f64,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(BenchPiece { id, section, root_m, pitch_m, count, length_m, width_m, root_static_pa, end_static_pa, flow_m3_s, slots } or { roughness_m = super::ducts::sheet_roughness(), end_m, temperature_c = shop_air(), static_doubt_percent = two(), flow_doubt_percent = two(), slot_doubt_percent = two() });

fn shop_air() -> f64 {
    Site::default().ambient_c
}
fn two() -> f64 {
    2.0
}

/// What one slot was read to discharge.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct SlotReading {
    /// Number of the slot, 1 nearest to the root.
    pub slot: u32,
    /// Its air over its full area, m/s: from a hood, or the mean of a vane held over the slot.
    pub velocity_m_s: f64,
}

record!(strict SlotReading { slot, velocity_m_s } or {});

/// What the air at the hung parts must keep to.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(default)]
pub struct AirAtPart {
    /// Fastest air at powder that has not gelled, m/s.
    pub loose_powder_m_s: f64,
    /// Distance along the conveyor path from which parts carry loose powder, m.
    pub loose_from_m: f64,
    /// Distance along the conveyor path where the powder has gelled, m.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gelled_at_m: Option<f64>,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(AirAtPart as it is by default { loose_powder_m_s, loose_from_m, gelled_at_m });

impl Default for AirAtPart {
    fn default() -> Self {
        Self { loose_powder_m_s: 1.0, loose_from_m: 0.0, gelled_at_m: None, extra: Extra::new() }
    }
}

/// What metal and running time count when alternatives are weighed.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(default)]
pub struct Weighing {
    /// Hours the fan runs in a year.
    pub hours_per_year: f64,
    /// Efficiency of motor and drive together, %.
    pub drive_efficiency_percent: f64,
    /// Thickness of duct sheet where the shop record lists no gauge, m.
    pub sheet_m: f64,
    /// Density of the sheet, kg/m³.
    pub sheet_kg_m3: f64,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(Weighing as it is by default { hours_per_year, drive_efficiency_percent, sheet_m, sheet_kg_m3 });

impl Default for Weighing {
    fn default() -> Self {
        Self {
            hours_per_year: 4_000.0,
            drive_efficiency_percent: 88.0,
            sheet_m: 0.0012,
            sheet_kg_m3: 7_850.0,
            extra: Extra::new(),
        }
    }
}
