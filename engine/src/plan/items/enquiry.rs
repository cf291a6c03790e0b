//! What a customer asks for, before anything is drawn.

use super::Extra;
use crate::plan::record::record;
use serde::Serialize;

/// An enquiry: output, temperatures, times and the room parts need. With the load it gives heat, air, a
/// length and a first layout while the plan is still empty.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(default)]
pub struct Enquiry {
    /// Parts per hour; with `parts_per_m` it sets the line speed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub parts_per_hour: Option<f64>,
    /// Parts on each metre of conveyor.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub parts_per_m: Option<f64>,
    /// Line speed, m/s, where it is given instead.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub speed_m_s: Option<f64>,
    /// Dry-off zone temperature, °C; no dry-off zone when left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub dry_off_c: Option<f64>,
    /// Time wet parts need in the dry-off zone, s.
    pub dry_off_s: f64,
    /// Cure zone temperature, °C.
    pub cure_c: f64,
    /// Temperature of parts as they enter the cure zone, °C, where they cool on the way (a powder booth between the
    /// zones); as they leave the dry-off zone when left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cure_entry_c: Option<f64>,
    /// Metal temperature to be held, °C; from the coating's first schedule when left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub metal_c: Option<f64>,
    /// Time it is held, s; from the coating's first schedule when left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub dwell_s: Option<f64>,
    /// Largest difference from supply to zone, K.
    pub supply_difference_k: f64,
    /// Air speed at the parts that bring-up is reckoned with, m/s.
    pub air_speed_m_s: f64,
    /// Least air changes a minute in any zone.
    pub least_changes_per_min: f64,
    /// Room for the parts: width across the conveyor, m.
    pub part_width_m: f64,
    /// Room for the parts: height, m.
    pub part_height_m: f64,
    /// Clear space beside the parts, for ducts and service, m on each side.
    pub side_clearance_m: f64,
    /// Clear space under the parts, for ducts and slots, m.
    pub floor_clearance_m: f64,
    /// Clear space above the parts, for conveyor and returns, m.
    pub top_clearance_m: f64,
    /// Clear space round the parts in a product opening, m.
    pub opening_clearance_m: f64,
    /// Share of the opening exchange that curtains or vestibules stop, 0…0.95.
    pub opening_seal: f64,
    /// Exhaust, kg/s; the larger of water, safety dilution and a tenth of the air when left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub exhaust_kg_s: Option<f64>,
    /// Time from cold to temperature, s.
    pub heat_up_s: f64,
    /// Margin on the burner, %.
    pub burner_margin_percent: f64,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(Enquiry as it is by default { parts_per_hour, parts_per_m, speed_m_s, dry_off_c, dry_off_s, cure_c, cure_entry_c, metal_c, dwell_s, supply_difference_k, air_speed_m_s, least_changes_per_min, part_width_m, part_height_m, side_clearance_m, floor_clearance_m, top_clearance_m, opening_clearance_m, opening_seal, exhaust_kg_s, heat_up_s, burner_margin_percent });

impl Default for Enquiry {
    fn default() -> Self {
        Self {
            parts_per_hour: None,
            parts_per_m: None,
            speed_m_s: None,
            dry_off_c: None,
            dry_off_s: 240.0,
            cure_c: 200.0,
            cure_entry_c: None,
            metal_c: None,
            dwell_s: None,
            supply_difference_k: 25.0,
            air_speed_m_s: 1.5,
            least_changes_per_min: 2.0,
            part_width_m: 0.6,
            part_height_m: 1.2,
            side_clearance_m: 0.9,
            floor_clearance_m: 0.9,
            top_clearance_m: 0.6,
            opening_clearance_m: 0.1,
            opening_seal: 0.5,
            exhaust_kg_s: None,
            heat_up_s: 2_700.0,
            burner_margin_percent: 25.0,
            extra: Extra::new(),
        }
    }
}
