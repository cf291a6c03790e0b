//! The burner, and the house that burner and fan stand in.

use super::{Extra, PanelBuildUp};
use crate::plan::record::{choice, record};
use serde::{Deserialize, Serialize};

/// The burner of the heater.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Burner {
    /// What it burns.
    #[serde(default)]
    pub fuel: Fuel,
    /// Rated input on the gross (higher) heating value, W; rated electric power for a heating battery.
    pub rated_w: f64,
    /// Rated input over the least it holds.
    #[serde(default = "turn_down")]
    pub turn_down: f64,
    /// Combustion air beyond what the fuel needs, %.
    #[serde(default = "excess_air")]
    pub excess_air_percent: f64,
    /// Whether it fires into the oven's own air; otherwise a heat exchanger parts them.
    #[serde(default = "yes")]
    pub direct: bool,
    /// Measured or maker's efficiency on the gross heating value, %, instead of the available heat.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub efficiency_percent: Option<f64>,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(Burner { rated_w } or { fuel, turn_down = turn_down(), excess_air_percent = excess_air(), direct = yes(), efficiency_percent });

fn turn_down() -> f64 {
    20.0
}
fn excess_air() -> f64 {
    50.0
}
fn yes() -> bool {
    true
}

/// What a burner burns.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Fuel {
    /// Typical pipeline gas.
    #[default]
    NaturalGas,
    /// Propane, and bottled gas that is mostly propane.
    Propane,
    /// Pure methane.
    Methane,
    /// Electric resistance: no products of combustion.
    Electric,
}

choice!(Fuel { NaturalGas = "natural_gas", Propane = "propane", Methane = "methane", Electric = "electric" });

/// The house of burner and recirculation fan, outside the enclosure.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct HeaterHouse {
    /// Panel surface that loses heat, m².
    pub surface_m2: f64,
    /// Air inside, m³; counts for purge and relief.
    pub volume_m3: f64,
    /// Its panels; those of the oven's wall when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub panel: Option<PanelBuildUp>,
    /// Metal that heats up with it besides the panels, kg.
    #[serde(default, skip_serializing_if = "super::load::is_zero")]
    pub metal_kg: f64,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(HeaterHouse { surface_m2, volume_m3 } or { panel, metal_kg });
