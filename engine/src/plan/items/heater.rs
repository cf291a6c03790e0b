//! Burner, fan and the losses in series with it.

use super::{Burner, Extra, HeaterHouse, Point};
use crate::plan::record::{choice, record};
use serde::{Deserialize, Serialize};

/// Burner box and recirculation fan: draws at `intake`, blows at `discharge`.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Heater {
    /// Name of this item in the plan.
    pub id: String,
    /// Where return ducts end.
    pub intake: Point,
    /// Where the supply trunk begins.
    pub discharge: Point,
    /// Temperature of the air it blows, °C.
    pub supply_temperature_c: f64,
    /// The recirculation fan.
    pub fan: Fan,
    /// Filter, burner and other losses in series with the fan.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub fixed_losses: Vec<FixedLoss>,
    /// The burner.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub burner: Option<Burner>,
    /// The house that burner and fan stand in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub house: Option<HeaterHouse>,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(Heater { id, intake, discharge, supply_temperature_c, fan } or { fixed_losses, burner, house });

/// A fan by points of its maker's curve.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Fan {
    /// Maker's type or the shop's name for it.
    #[serde(default)]
    pub name: String,
    /// Points of the curve at `curve_speed_rpm` and `curve_density_kg_m3`, by rising flow.
    pub points: Vec<FanPoint>,
    /// Which pressure the points give.
    #[serde(default)]
    pub basis: PressureBasis,
    /// Density the curve was drawn for, kg/m³.
    #[serde(default = "standard_density")]
    pub curve_density_kg_m3: f64,
    /// Speed the curve was drawn for, rpm.
    pub curve_speed_rpm: f64,
    /// Speed the fan runs at, rpm.
    pub speed_rpm: f64,
    /// Highest speed the maker allows cold, rpm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub max_speed_rpm: Option<f64>,
    /// Highest speed the maker allows at supply temperature, rpm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub max_speed_hot_rpm: Option<f64>,
    /// How many of these fans blow side by side; 1 when left out.
    #[serde(default = "one_fan", skip_serializing_if = "is_one")]
    pub count: u32,
    /// System effect at inlet and outlet together, on the outlet velocity pressure: 0 for connections as
    /// the maker tested.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub system_effect: f64,
    /// Outlet area of the maker's data, m².
    pub outlet_area_m2: f64,
    /// Total efficiency used where the points give no shaft power, %.
    #[serde(default = "fan_efficiency")]
    pub efficiency_percent: f64,
    /// What turns the fan; unknown when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drive: Option<Drive>,
    /// Tolerance grade of the maker's data by ISO 13348, 1 the closest to 4.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tolerance_grade: Option<u8>,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(Fan { points, curve_speed_rpm, speed_rpm, outlet_area_m2 } or { name, basis, curve_density_kg_m3 = standard_density(), max_speed_rpm, max_speed_hot_rpm, count = one_fan(), system_effect, efficiency_percent = fan_efficiency(), drive, tolerance_grade });

/// What turns a fan.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case", tag = "kind", deny_unknown_fields)]
pub enum Drive {
    /// Belts over two pulleys.
    Belt {
        /// Motor speed at load, rpm.
        motor_speed_rpm: f64,
        /// Pitch diameter of the pulley on the motor, m; chosen by fit drive when left out.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        motor_pulley_m: Option<f64>,
        /// Pitch diameter of the pulley on the fan, m; chosen by fit drive when left out.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        fan_pulley_m: Option<f64>,
    },
    /// A frequency drive on a motor coupled to the fan.
    Frequency {
        /// Motor speed at load and base frequency, rpm.
        motor_speed_rpm: f64,
        /// Frequency of the motor's plate, Hz.
        base_hz: f64,
        /// Frequency it is set to, Hz; chosen by fit drive when left out.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        set_hz: Option<f64>,
    },
}

choice!(Drive by "kind" {
    Belt = "belt" { motor_speed_rpm } or { motor_pulley_m, fan_pulley_m },
    Frequency = "frequency" { motor_speed_rpm, base_hz } or { set_hz }
});

fn standard_density() -> f64 {
    1.2
}
fn one_fan() -> u32 {
    1
}
#[allow(clippy::trivially_copy_pass_by_ref)] // serde asks for a reference
fn is_one(count: &u32) -> bool {
    *count == 1
}
#[allow(clippy::trivially_copy_pass_by_ref)] // serde asks for a reference
fn is_zero(value: &f64) -> bool {
    *value == 0.0
}
fn fan_efficiency() -> f64 {
    60.0
}

/// One point of a fan curve.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct FanPoint {
    /// Volume flow at the inlet, m³/s.
    pub flow_m3_s: f64,
    /// Pressure, total or static by the curve's basis, Pa.
    pub pressure_pa: f64,
    /// Shaft power, W, where the maker gives it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shaft_power_w: Option<f64>,
}

record!(strict FanPoint { flow_m3_s, pressure_pa } or { shaft_power_w });

/// Which pressure a fan curve gives.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum PressureBasis {
    /// Fan total pressure.
    #[default]
    Total,
    /// Fan static pressure: total less the velocity pressure at the outlet.
    Static,
}

choice!(PressureBasis { Total = "total", Static = "static" });

/// A loss known by one measured or catalogued point; follows the square of flow.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct FixedLoss {
    /// Name of this item in the plan.
    pub id: String,
    /// What people call it.
    #[serde(default)]
    pub name: String,
    /// Volume flow of the known point, m³/s.
    pub flow_m3_s: f64,
    /// Total-pressure drop at that flow, Pa; of a filter, when clean.
    pub drop_pa: f64,
    /// The drop at that flow of a filter due for change, Pa.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dirty_drop_pa: Option<f64>,
    /// How far the filter is from clean (0) to due for change (100), %.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub dirt_percent: f64,
    /// Density of the known point, kg/m³.
    #[serde(default = "standard_density")]
    pub density_kg_m3: f64,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(FixedLoss { id, flow_m3_s, drop_pa } or { name, dirty_drop_pa, dirt_percent, density_kg_m3 = standard_density() });

impl Fan {
    /// The lower of the speeds the maker allows cold and hot, rpm; none where neither is entered.
    pub fn allowed_speed_rpm(&self) -> Option<f64> {
        [self.max_speed_rpm, self.max_speed_hot_rpm].into_iter().flatten().reduce(f64::min)
    }
}

impl FixedLoss {
    /// The drop at the known flow as the filter stands now, Pa.
    pub fn present_drop_pa(&self) -> f64 {
        let dirty = self.dirty_drop_pa.unwrap_or(self.drop_pa);
        self.drop_pa + (dirty - self.drop_pa) * self.dirt_percent / 100.0
    }
}
