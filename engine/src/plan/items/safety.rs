//! Sensors, safety equipment, and findings a person has accepted.

use super::{Extra, Point};
use crate::plan::record::{choice, record};
use serde::{Deserialize, Serialize};

/// A temperature sensor with its place.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Sensor {
    /// Name of this item in the plan.
    pub id: String,
    /// What people call it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub name: String,
    /// What it is for.
    #[serde(default)]
    pub kind: SensorKind,
    /// The zone it stands for; the heater's discharge when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zone: Option<String>,
    /// Where it sits on the floor plan.
    pub at: Point,
    /// Height above the floor, m.
    #[serde(default = "sensor_height")]
    pub height_m: f64,
    /// What it holds or trips at, °C; a control sensor without it holds the zone's set temperature.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub set_c: Option<f64>,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(Sensor { id, at } or { name, kind, zone, height_m = sensor_height(), set_c });

fn sensor_height() -> f64 {
    1.5
}

/// What a sensor is for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum SensorKind {
    /// A controller reads it.
    #[default]
    Control,
    /// It shuts the burner off and must be reset by hand.
    Limit,
    /// It only shows.
    Reading,
}

choice!(SensorKind { Control = "control", Limit = "limit", Reading = "reading" });

/// What the plan says about safety ventilation, purge, relief and interlocks.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(default)]
pub struct Safety {
    /// Fresh air moved through the oven during purge, m³/s at standard density (1.2 kg/m³); from the exhausts
    /// when left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub purge_flow_std_m3_s: Option<f64>,
    /// How many times the volume is changed before light-up; 4 when left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub purge_volumes: Option<f64>,
    /// Purge timer as set, s.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub purge_time_s: Option<f64>,
    /// Explosion-relief area, m².
    #[serde(skip_serializing_if = "Option::is_none")]
    pub relief_area_m2: Option<f64>,
    /// Vapour concentration allowed in the exhaust, % of the lower flammable limit; 25 when left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lfl_share_percent: Option<f64>,
    /// Devices that are fitted.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub devices: Vec<SafetyDevice>,
    /// Rated power of the recirculation fans' motors together, W.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fan_motor_w: Option<f64>,
    /// Fields of a newer version.
    #[serde(flatten)]
    #[cfg_attr(feature = "schema", schemars(skip))]
    pub extra: Extra,
}

record!(Safety as it is by default { purge_flow_std_m3_s, purge_volumes, purge_time_s, relief_area_m2, lfl_share_percent, devices, fan_motor_w });

/// A safety device or interlock.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum SafetyDevice {
    /// Proof of recirculation air.
    RecirculationAirProving,
    /// Proof of exhaust air.
    ExhaustAirProving,
    /// Proof of combustion air.
    CombustionAirProving,
    /// Excess-temperature limit with manual reset, apart from the controller.
    ExcessTemperatureLimit,
    /// Two safety shut-off valves in series.
    ShutOffValves,
    /// Switches for low and high gas pressure.
    GasPressureSwitches,
    /// Flame safeguard.
    FlameSafeguard,
    /// Purge timer.
    PurgeTimer,
    /// Least-opening stop in the exhaust damper.
    ExhaustStop,
    /// Proven position of every damper behind which air could stand unpurged.
    PurgePositionProving,
    /// Heat cut when the conveyor stops.
    ConveyorInterlock,
    /// Continuous monitor of the vapour, which stops the line before the limit allowed.
    VapourMonitor,
}

choice!(SafetyDevice {
    RecirculationAirProving = "recirculation_air_proving",
    ExhaustAirProving = "exhaust_air_proving",
    CombustionAirProving = "combustion_air_proving",
    ExcessTemperatureLimit = "excess_temperature_limit",
    ShutOffValves = "shut_off_valves",
    GasPressureSwitches = "gas_pressure_switches",
    FlameSafeguard = "flame_safeguard",
    PurgeTimer = "purge_timer",
    ExhaustStop = "exhaust_stop",
    PurgePositionProving = "purge_position_proving",
    ConveyorInterlock = "conveyor_interlock",
    VapourMonitor = "vapour_monitor"
});

impl SafetyDevice {
    /// All of them.
    pub const ALL: [Self; 12] = [
        Self::RecirculationAirProving,
        Self::ExhaustAirProving,
        Self::CombustionAirProving,
        Self::ExcessTemperatureLimit,
        Self::ShutOffValves,
        Self::GasPressureSwitches,
        Self::FlameSafeguard,
        Self::PurgeTimer,
        Self::ExhaustStop,
        Self::PurgePositionProving,
        Self::ConveyorInterlock,
        Self::VapourMonitor,
    ];
}

/// A finding that a person has accepted, with the reason that is printed beside it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Accepted {
    /// Name of the rule.
    pub finding: String,
    /// The plan item it is about; none for the plan as a whole.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub item: Option<String>,
    /// How much it mattered then: what has become graver is open again.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub severity: Option<Severity>,
    /// Why it is accepted.
    pub reason: String,
}

record!(strict Accepted { finding, reason } or { item, severity });

/// How much a finding matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub enum Severity {
    /// Good to know.
    Note,
    /// Works, but not as it should.
    Caution,
    /// Must be dealt with before metal is cut or heat is applied.
    Problem,
}

choice!(Severity { Note = "note", Caution = "caution", Problem = "problem" });
