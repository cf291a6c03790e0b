//! Site, box, zones, openings, conveyor and exhausts.

use super::{Extra, Growth, Panels, load};
use crate::plan::record::record;
use serde::{Deserialize, Serialize};

/// A place on the floor plan, metres from the plan's origin; x to the right, y up the page.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Point {
    /// To the right, m.
    pub x_m: f64,
    /// Up the page, m.
    pub y_m: f64,
}

record!(strict Point { x_m, y_m } or {});

impl Point {
    /// The point (x, y), both in metres.
    pub const fn new(x_m: f64, y_m: f64) -> Self {
        Self { x_m, y_m }
    }
}

/// Where the oven stands.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(default)]
pub struct Site {
    /// Height above sea level, m; gives the barometer by the standard atmosphere.
    pub altitude_m: f64,
    /// A barometer reading, Pa, that overrides the altitude.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub barometer_pa: Option<f64>,
    /// Air in the plant, °C.
    pub ambient_c: f64,
    /// Water in the oven air, kg per kg of dry air.
    pub oven_humidity_ratio: f64,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(Site as it is by default { altitude_m, barometer_pa, ambient_c, oven_humidity_ratio });

impl Default for Site {
    fn default() -> Self {
        Self {
            altitude_m: 0.0,
            barometer_pa: None,
            ambient_c: 20.0,
            oven_humidity_ratio: 0.0,
            extra: Extra::new(),
        }
    }
}

/// The box: outline, height and what must be kept clear.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Enclosure {
    /// Corners of the outline in order; the last joins the first.
    pub outline: Vec<Point>,
    /// Inside height, m.
    pub height_m: f64,
    /// Inner walls, each a line of points.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub walls: Vec<Vec<Point>>,
    /// Columns no duct may pass.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub columns: Vec<Column>,
    /// What walls, roof and floor are built of.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub panels: Option<Panels>,
    /// Room left for hot metal to grow.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub growth: Option<Growth>,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(Enclosure { outline, height_m } or { walls, columns, panels, growth });

/// A building column on the floor plan.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Column {
    /// Name of this item in the plan.
    pub id: String,
    /// Middle of the column.
    pub at: Point,
    /// Size along x, m.
    pub width_m: f64,
    /// Size along y, m.
    pub depth_m: f64,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(Column { id, at, width_m, depth_m } or {  });

/// A part of the oven held at one temperature.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Zone {
    /// Name of this item in the plan.
    pub id: String,
    /// What people call it.
    #[serde(default)]
    pub name: String,
    /// Corners of the zone's floor in order; the last joins the first.
    pub outline: Vec<Point>,
    /// Temperature the zone is held at, °C; in one that is not heated, about what it comes to.
    pub set_temperature_c: f64,
    /// A vestibule: nothing blows into it and nothing holds it, its air is what parts, walls and openings make it.
    #[serde(default, skip_serializing_if = "core::ops::Not::not")]
    pub unheated: bool,
    /// Length of a bay along the conveyor, m; chosen by the heat balance when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bay_length_m: Option<f64>,
    /// Air that neighbouring bays exchange; there is no published constant.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub exchange: Option<BayExchange>,
    /// Losses that nothing else in the plan accounts for, W per K above ambient.
    #[serde(default, skip_serializing_if = "load::is_zero")]
    pub other_loss_w_k: f64,
    /// Plant air that leaks in and leaves with the exhaust besides the product openings, kg/s.
    #[serde(default, skip_serializing_if = "load::is_zero")]
    pub leak_kg_s: f64,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(Zone { id, outline, set_temperature_c } or { name, unheated, bay_length_m, exchange, other_loss_w_k, leak_kg_s });

impl Zone {
    /// A zone held at `set_temperature_c`, with losses yet to be told.
    pub fn new(id: impl Into<String>, outline: Vec<Point>, set_temperature_c: f64) -> Self {
        Self {
            id: id.into(),
            name: String::new(),
            outline,
            set_temperature_c,
            unheated: false,
            bay_length_m: None,
            exchange: None,
            other_loss_w_k: 0.0,
            leak_kg_s: 0.0,
            extra: Extra::new(),
        }
    }
}

/// Air exchanged between neighbouring bays, an estimate with its band: no published constant exists.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct BayExchange {
    /// Air that passes each way between two neighbours, kg/s.
    pub kg_s: f64,
    /// The least it could be, kg/s.
    pub low_kg_s: f64,
    /// The most it could be, kg/s.
    pub high_kg_s: f64,
}

record!(strict BayExchange { kg_s, low_kg_s, high_kg_s } or {});

/// An opening that parts pass through: from a zone to outside, or to another zone.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Opening {
    /// Name of this item in the plan.
    pub id: String,
    /// The zone it opens from.
    pub zone: String,
    /// The zone it leads to; outside when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to_zone: Option<String>,
    /// Middle of the opening on the floor plan.
    pub at: Point,
    /// Clear width, m.
    pub width_m: f64,
    /// Clear height, m.
    pub height_m: f64,
    /// Height of the lower edge above the floor, m.
    #[serde(default)]
    pub sill_m: f64,
    /// Share of the exchange that an air curtain stops, 0…1; 0.4 to 0.8 has been measured. None without one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub curtain_effectiveness: Option<f64>,
    /// Discharge coefficient, 0.65 as usual for doors.
    #[serde(default = "door_coefficient")]
    pub discharge_coefficient: f64,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(Opening { id, zone, at, width_m, height_m } or { to_zone, sill_m, curtain_effectiveness, discharge_coefficient = door_coefficient() });

fn door_coefficient() -> f64 {
    0.65
}

/// The path parts take through the oven.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Conveyor {
    /// Points of the path in the direction of travel.
    pub path: Vec<Point>,
    /// Height of the middle of the hung part above the floor, m.
    pub part_height_m: f64,
    /// Line speed, m/s.
    pub speed_m_s: f64,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(Conveyor { path, part_height_m, speed_m_s } or {  });

/// Air drawn from a zone to outside.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Exhaust {
    /// Name of this item in the plan.
    pub id: String,
    /// The zone it draws from.
    pub zone: String,
    /// Where it leaves.
    pub at: Point,
    /// Mass flow, kg/s.
    pub mass_flow_kg_s: f64,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(Exhaust { id, zone, at, mass_flow_kg_s } or {  });
