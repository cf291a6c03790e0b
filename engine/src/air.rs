//! Moist hot air, 0…450 °C and 0…4,000 m, as an ideal gas with properties that depend on temperature.

use crate::numerics::pow;
use uom::si::f64::{
    DynamicViscosity, Length, MassDensity, Pressure, SpecificHeatCapacity, ThermalConductivity,
    ThermodynamicTemperature,
};
use uom::si::{
    dynamic_viscosity::pascal_second, length::meter, mass_density::kilogram_per_cubic_meter,
    pressure::pascal, specific_heat_capacity::joule_per_kilogram_kelvin,
    thermal_conductivity::watt_per_meter_kelvin, thermodynamic_temperature::kelvin,
};

/// Gas constant of dry air, J/(kg·K) (ASHRAE Handbook Fundamentals, psychrometrics; from memory).
pub const GAS_CONSTANT_DRY_J_KGK: f64 = 287.042;
/// 0 °C, K.
pub const ZERO_CELSIUS_K: f64 = 273.15;
/// Standard atmosphere at sea level, Pa.
pub const STANDARD_PRESSURE_PA: f64 = 101_325.0;

/// Air in one state: absolute temperature, absolute pressure and humidity ratio.
///
/// ```
/// use engine::air::Air;
/// use uom::si::{f64::{Pressure, ThermodynamicTemperature}, mass_density::kilogram_per_cubic_meter,
///               pressure::pascal, thermodynamic_temperature::degree_celsius};
/// let air = Air::new(
///     ThermodynamicTemperature::new::<degree_celsius>(200.0), Pressure::new::<pascal>(101_325.0), 0.0);
/// assert!((air.density().get::<kilogram_per_cubic_meter>() - 0.7458).abs() < 0.0005);
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Air {
    temperature_k: f64,
    pressure_pa: f64,
    humidity_ratio: f64,
}

impl Air {
    /// Air at `temperature` and absolute `pressure` with `humidity_ratio` kg of water per kg of dry air.
    pub fn new(temperature: ThermodynamicTemperature, pressure: Pressure, humidity_ratio: f64) -> Self {
        Self {
            temperature_k: temperature.get::<kelvin>(),
            pressure_pa: pressure.get::<pascal>(),
            humidity_ratio,
        }
    }

    /// The same from plain numbers, °C and Pa.
    pub fn at(temperature_c: f64, pressure_pa: f64, humidity_ratio: f64) -> Self {
        Self { temperature_k: temperature_c + ZERO_CELSIUS_K, pressure_pa, humidity_ratio }
    }

    /// Density.
    ///
    /// ρ = p·(1 + W) / [R·T·(1 + 1.607858·W)], p absolute Pa, T K, W kg/kg, R = 287.042 J/(kg·K).
    /// Range −20…450 °C below 110 kPa: within 0.06 % of the equation of state of Lemmon et al. 2000.
    /// Source: ASHRAE Handbook Fundamentals, psychrometrics (from memory).
    pub fn density(self) -> MassDensity {
        MassDensity::new::<kilogram_per_cubic_meter>(self.density_kg_m3())
    }

    pub(crate) fn density_kg_m3(self) -> f64 {
        let w = self.humidity_ratio;
        self.pressure_pa * (1.0 + w) / (GAS_CONSTANT_DRY_J_KGK * self.temperature_k * (1.0 + 1.607_858 * w))
    }

    /// Dynamic viscosity of dry air; humidity is left out (W = 0.1 lowers it by 8 %, friction by under 2 %).
    ///
    /// μ = 1.52461·10⁻⁶·T^1.5 / (T + 128.208), T K. Sutherland's form refitted to Lemmon & Jacobsen 2004,
    /// within 0.41 % over 0…450 °C (the constants of the US Standard Atmosphere 1976 are 2.6 % low at 450 °C).
    pub fn viscosity(self) -> DynamicViscosity {
        DynamicViscosity::new::<pascal_second>(self.viscosity_pa_s())
    }

    pub(crate) fn viscosity_pa_s(self) -> f64 {
        let t = self.temperature_k;
        1.524_61e-6 * t * t.sqrt() / (t + 128.208)
    }

    /// Specific heat capacity of dry air.
    ///
    /// cp = 1005.961 − 6.36432·10⁻⁴·t + 5.69457·10⁻⁴·t² − 4.42721·10⁻⁷·t³, t °C, J/(kg·K).
    /// Fit to Lemmon et al. 2000 within 0.03 % over 0…450 °C.
    pub fn specific_heat(self) -> SpecificHeatCapacity {
        let t = self.temperature_k - ZERO_CELSIUS_K;
        SpecificHeatCapacity::new::<joule_per_kilogram_kelvin>(
            1_005.961 + t * (-6.364_32e-4 + t * (5.694_57e-4 - t * 4.427_21e-7)),
        )
    }

    /// Thermal conductivity of dry air.
    ///
    /// k = 24.3688 + 0.0759918·t − 3.73456·10⁻⁵·t² + 2.25960·10⁻⁸·t³, t °C, mW/(m·K).
    /// Fit to Lemmon & Jacobsen 2004 within 0.04 % over 0…450 °C; the reference itself is ±2 %.
    pub fn conductivity(self) -> ThermalConductivity {
        let t = self.temperature_k - ZERO_CELSIUS_K;
        ThermalConductivity::new::<watt_per_meter_kelvin>(
            1e-3 * (24.3688 + t * (0.075_991_8 + t * (-3.734_56e-5 + t * 2.259_60e-8))),
        )
    }
}

/// Barometer of the standard atmosphere at an altitude.
///
/// p = 101325·(1 − 2.25577·10⁻⁵·h)^5.25588, h m, 0…11 km (ISO 2533).
///
/// ```
/// use uom::si::{f64::Length, length::meter, pressure::pascal};
/// let p = engine::air::barometer(Length::new::<meter>(1500.0));
/// assert!((p.get::<pascal>() - 84_560.0).abs() < 5.0);
/// ```
pub fn barometer(altitude: Length) -> Pressure {
    Pressure::new::<pascal>(barometer_pa(altitude.get::<meter>()))
}

pub(crate) fn barometer_pa(altitude_m: f64) -> f64 {
    STANDARD_PRESSURE_PA * pow(1.0 - 2.255_77e-5 * altitude_m, 5.255_88)
}
