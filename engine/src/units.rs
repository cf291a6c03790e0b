//! Units at the doors: what people type and read. Inside everything is SI.
//!
//! Temperatures are the one exception: a [`Kind::Temperature`] number is in °C, as plans and results
//! hold it (`set_temperature_c`). Factors come from `uom`'s unit definitions; `uom` picks units at
//! compile time and its own reader wants one exact spelling, so the choice and the reading are here.

mod parse;
mod table;

pub use parse::{UnitError, parse};

use serde::{Deserialize, Serialize};
use table::Shown;

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
    /// Heat: kW or MBH (1,000 Btu/h).
    HeatRate,
    /// Volume flow at standard density: std m³/s or scfm, told apart from actual flow.
    StandardFlow,
    /// Volume: m³ or ft³.
    Volume,
    /// Time: min.
    Duration,
    /// Percent.
    Percent,
    /// Mass: kg or lb.
    Mass,
    /// Mass on each metre of conveyor: kg/m or lb/ft.
    LineMass,
    /// Mass on a surface: g/m² or oz/ft².
    Film,
    /// Specific heat: J/(kg·K) or Btu/(lb·°F).
    SpecificHeat,
    /// Conductivity: W/(m·K) or Btu·in/(h·ft²·°F).
    Conductivity,
    /// Heat loss by area and temperature difference: W/(m²·K) or Btu/(h·ft²·°F).
    LossFactor,
    /// A bare number.
    Number,
}

/// `si` written in `system` with its unit, rounded for reading.
///
/// ```
/// use engine::units::{Kind, UnitSystem, show};
/// assert_eq!(show(0.0127, Kind::ShopLength, UnitSystem::InchPound), "0.500\u{a0}in");
/// assert_eq!(show(100.0, Kind::Temperature, UnitSystem::InchPound), "212.0\u{a0}°F");
/// ```
pub fn show(si: f64, kind: Kind, system: UnitSystem) -> String {
    let number = show_number(si, kind, system);
    match symbol(kind, system) {
        "" => number,
        unit => format!("{number}\u{a0}{unit}"),
    }
}

/// `si` written in `system` without its unit, rounded for reading.
pub fn show_number(si: f64, kind: Kind, system: UnitSystem) -> String {
    let shown = table::shown(kind, system);
    let value = to_shown(si, &shown);
    // A shop's small lengths, ±0.25 mm, are not to lose half of what they say.
    let lost = (libm::round(value * 10.0) - value * 10.0).abs();
    let fine = kind == Kind::ShopLength && system == UnitSystem::Si && value.abs() < 1.0 && lost > 1e-6;
    let digits = shown.digits + usize::from(fine);
    plain(format!("{value:.digits$}"))
}

/// `si` written in `system` without its unit, precise enough to go on working with: at most six
/// significant digits and no trailing zeros.
pub fn edit_number(si: f64, kind: Kind, system: UnitSystem) -> String {
    let value = to_shown(si, &table::shown(kind, system));
    let before_point = if value == 0.0 { 0 } else { libm::floor(libm::log10(value.abs())) as i32 + 1 };
    let digits = (6 - before_point).clamp(0, 12) as usize;
    let mut text = format!("{value:.digits$}");
    if text.contains('.') {
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    }
    plain(text)
}

/// The unit `kind` is shown in.
pub fn symbol(kind: Kind, system: UnitSystem) -> &'static str {
    table::shown(kind, system).unit.symbol()
}

fn to_shown(si: f64, shown: &Shown) -> f64 {
    (si - shown.unit.zero()) / shown.unit.factor()
}

/// No minus before a zero, and a true minus sign before the rest.
fn plain(text: String) -> String {
    match text.strip_prefix('-') {
        _ if text.contains("NaN") || text.contains("inf") => "—".to_owned(),
        Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.to_owned(),
        Some(rest) => format!("\u{2212}{rest}"),
        None => text,
    }
}

#[cfg(test)]
mod tests {
    use super::UnitSystem::{InchPound, Si};
    use super::*;

    #[test]
    fn numbers_read_as_the_trade_writes_them() {
        assert_eq!(show(0.0145, Kind::ShopLength, Si), "14.5\u{a0}mm");
        assert_eq!(show(0.000_25, Kind::ShopLength, Si), "0.25\u{a0}mm");
        assert_eq!(show(0.000_3, Kind::ShopLength, Si), "0.3\u{a0}mm");
        assert_eq!(show(249.0889, Kind::Pressure, InchPound), "1.000\u{a0}in.\u{a0}w.c.");
        assert_eq!(show(5.08, Kind::Velocity, InchPound), "1000\u{a0}fpm");
        assert_eq!(show(0.03, Kind::LineSpeed, Si), "1.80\u{a0}m/min");
        assert_eq!(show(1.0, Kind::MassFlow, InchPound), "7937\u{a0}lb/h");
        assert_eq!(show(-0.001, Kind::Percent, Si), "0.0\u{a0}%");
        assert_eq!(show(-3.25, Kind::Pressure, Si), "\u{2212}3.2\u{a0}Pa");
        assert_eq!(show(f64::NAN, Kind::Pressure, Si), "—\u{a0}Pa");
        assert_eq!(show(195.0, Kind::Temperature, InchPound), "383.0\u{a0}°F");
        assert_eq!(show(10.0, Kind::TemperatureDifference, InchPound), "18.0\u{a0}°F");
    }

    #[test]
    fn editing_shows_no_more_digits_than_there_are() {
        assert_eq!(edit_number(0.45, Kind::Length, Si), "0.45");
        assert_eq!(edit_number(0.0145, Kind::ShopLength, Si), "14.5");
        assert_eq!(edit_number(0.000_09, Kind::ShopLength, Si), "0.09");
        assert_eq!(edit_number(1450.0, Kind::Rotation, Si), "1450");
        assert_eq!(edit_number(0.0, Kind::Pressure, Si), "0");
        assert_eq!(edit_number(222.0, Kind::Temperature, InchPound), "431.6");
    }

    #[test]
    fn foot_and_pound_flows_agree_with_their_definitions() {
        let acfm = parse("1 acfm", Kind::VolumeFlow, Si).unwrap();
        assert_eq!(acfm, 0.3048 * 0.3048 * 0.3048 / 60.0);
        let lb_h = parse("1 lb/h", Kind::MassFlow, Si).unwrap();
        assert!((lb_h / (0.453_592_37 / 3600.0) - 1.0).abs() < 1e-7);
    }
}
