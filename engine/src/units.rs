//! Units at the doors: what people type and read. Inside everything is SI.

use serde::{Deserialize, Serialize};

/// The units a person reads.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum UnitSystem {
    /// Metres, pascals, °C.
    #[default]
    Si,
    /// Feet, inches of water, °F.
    InchPound,
}

/// What a number measures, and so which units it may be written in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// Building-size length: m or ft.
    Length,
    /// Shop-size length: mm or in.
    ShopLength,
    /// Area: m² or ft².
    Area,
    /// Pressure: Pa or in. w.c.
    Pressure,
    /// Velocity: m/s or fpm.
    Velocity,
    /// Line speed: m/min or ft/min.
    LineSpeed,
    /// Actual volume flow: m³/s or acfm.
    VolumeFlow,
    /// Mass flow: kg/s or lb/h.
    MassFlow,
    /// Temperature level: °C or °F.
    Temperature,
    /// Temperature difference: K or °F.
    TemperatureDifference,
    /// Mechanical power: kW or hp.
    ShaftPower,
    /// Density: kg/m³ or lb/ft³.
    Density,
    /// Speed of rotation: rpm.
    Rotation,
    /// Angle: degrees.
    Angle,
    /// Percent.
    Percent,
    /// A bare number.
    Number,
}

/// `si` written in `system` with its unit.
pub fn show(si: f64, kind: Kind, system: UnitSystem) -> String {
    let (factor, offset, unit, digits) = display(kind, system);
    format!("{:.digits$}\u{a0}{unit}", (si - offset) / factor)
}

/// (SI per displayed unit, SI at displayed zero, symbol, digits)
fn display(kind: Kind, system: UnitSystem) -> (f64, f64, &'static str, usize) {
    let si = system == UnitSystem::Si;
    match kind {
        Kind::Length if si => (1.0, 0.0, "m", 2),
        Kind::ShopLength if si => (0.001, 0.0, "mm", 1),
        Kind::Pressure if si => (1.0, 0.0, "Pa", 1),
        Kind::Velocity if si => (1.0, 0.0, "m/s", 1),
        Kind::Percent => (1.0, 0.0, "%", 1),
        _ => (1.0, 0.0, "", 3),
    }
}
