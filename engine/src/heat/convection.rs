//! Heat transfer between air and metal: published correlations.

use crate::air::Air;
use crate::numerics::{ln, pow};
use uom::si::{
    specific_heat_capacity::joule_per_kilogram_kelvin, thermal_conductivity::watt_per_meter_kelvin,
};

/// Stefan–Boltzmann constant, W/(m²·K⁴).
pub const STEFAN_BOLTZMANN: f64 = 5.670_374e-8;

/// Nusselt number of a cylinder in cross flow, mean over its surface.
///
/// Nu = 0.3 + 0.62·Re^½·Pr^⅓/[1 + (0.4/Pr)^⅔]^¼·[1 + (Re/282000)^⅝]^⅘, Re on the diameter, properties at film
/// temperature. Range Re·Pr > 0.2; below, it tends to 0.3 as printed. Source: Churchill & Bernstein 1977, "A
/// correlating equation for forced convection from gases and liquids to a circular cylinder in crossflow".
///
/// ```
/// assert!((engine::heat::convection::cylinder(6_071.0, 0.7) - 40.637_09).abs() < 1e-5);
/// ```
pub fn cylinder(reynolds: f64, prandtl: f64) -> f64 {
    let re = reynolds.max(0.0);
    let shape = pow(1.0 + pow(0.4 / prandtl, 2.0 / 3.0), 0.25);
    0.3 + 0.62 * re.sqrt() * pow(prandtl, 1.0 / 3.0) / shape * pow(1.0 + pow(re / 282_000.0, 0.625), 0.8)
}

/// Nusselt number of a flat plate along the flow, mean over its length.
///
/// Nu = 0.664·Re^½·Pr^⅓ up to Re = 5·10⁵, beyond it (0.037·Re^0.8 − 871)·Pr^⅓, Re on the length. Range 0.6 ≤ Pr
/// ≤ 60, Re ≤ 10⁸. Source: laminar Pohlhausen 1921; mixed form as in Incropera & DeWitt, eq. 7.38.
///
/// ```
/// assert!((engine::heat::convection::plate(1e6, 0.7) - 1_299.5).abs() < 0.1);
/// ```
pub fn plate(reynolds: f64, prandtl: f64) -> f64 {
    let re = reynolds.max(0.0);
    let shape = pow(prandtl, 1.0 / 3.0);
    if re <= 5e5 { 0.664 * re.sqrt() * shape } else { (0.037 * pow(re, 0.8) - 871.0) * shape }
}

/// Nusselt number of turbulent flow inside a duct, on the hydraulic diameter; 3.66 when laminar.
///
/// Nu = (f/8)·(Re − 1000)·Pr/[1 + 12.7·(f/8)^½·(Pr^⅔ − 1)], f = (0.79·ln Re − 1.64)⁻². Range 3000 < Re < 5·10⁶;
/// from Re 2300 to 3000 the value at 3000 is approached in a straight line from 3.66. Source: Gnielinski 1976,
/// friction after Petukhov 1970.
///
/// ```
/// // Re 10⁵, Pr 0.7 (by hand: f = 0.01799).
/// assert!((engine::heat::convection::inside_duct(1e5, 0.7) - 178.5).abs() < 2.0);
/// ```
pub fn inside_duct(reynolds: f64, prandtl: f64) -> f64 {
    const LAMINAR: f64 = 3.66;
    let turbulent = |re: f64| {
        let root = 0.79 * ln(re) - 1.64;
        let f8 = 0.125 / (root * root);
        f8 * (re - 1_000.0) * prandtl / (1.0 + 12.7 * f8.sqrt() * (pow(prandtl, 2.0 / 3.0) - 1.0))
    };
    if reynolds >= 3_000.0 {
        return turbulent(reynolds);
    }
    let share = ((reynolds - 2_300.0) / 700.0).clamp(0.0, 1.0);
    LAMINAR + share * (turbulent(3_000.0) - LAMINAR)
}

/// Radiation between a small body and large surroundings as a coefficient on the temperature difference.
///
/// h = ε·σ·(T₁² + T₂²)·(T₁ + T₂), T in K, W/(m²·K): exact for a grey body in a black enclosure
/// (Stefan–Boltzmann).
///
/// ```
/// // ε 0.9 between 100 and 200 °C: 0.9 · 5.67e-8 · (373.15² + 473.15²) · 846.3 = 15.68 W/(m²·K).
/// assert!((engine::heat::convection::radiation_w_m2k(0.9, 100.0, 200.0) - 15.68).abs() < 0.01);
/// ```
pub fn radiation_w_m2k(emissivity: f64, first_c: f64, second_c: f64) -> f64 {
    let (a, b) = (first_c + crate::air::ZERO_CELSIUS_K, second_c + crate::air::ZERO_CELSIUS_K);
    emissivity * STEFAN_BOLTZMANN * (a * a + b * b) * (a + b)
}

/// Centre-line velocity of a free plane jet, m/s.
///
/// u = u₀·3.5/√(x/(b/2)), at most u₀; u₀ m/s at a slot b wide, m, and x away, m. Range: the developed region
/// x > 6·b; nearer, u₀ holds. Source: Rajaratnam 1976, *Turbulent Jets* (coefficient from memory).
///
/// ```
/// assert!((engine::heat::convection::plane_jet_m_s(15.0, 0.010, 1.0) - 3.712).abs() < 0.001);
/// ```
pub fn plane_jet_m_s(outlet_m_s: f64, slot_m: f64, distance_m: f64) -> f64 {
    let spread = distance_m.max(1e-9) / (0.5 * slot_m.max(1e-9));
    outlet_m_s * (3.5 / spread.sqrt()).min(1.0)
}

/// Mean speed of air that rises where many slot jets have merged, m/s.
///
/// u = √(ΣJ/(ρ·A)), J = ṁ·u₀ momentum of each slot, N, ρ kg/m³, A floor area they serve, m². The momentum of
/// free jets is kept while they take up air from around them and merge (momentum balance; Rajaratnam 1976);
/// walls and the parts themselves take some, and between rows of slots the air is slower. An estimate.
///
/// ```
/// // Eight slots of 0.045 kg/s at 15 m/s over 6.4 m² at 0.75 kg/m³: 5.4 N give 1.06 m/s.
/// assert!((engine::heat::convection::merged_jets_m_s(5.4, 0.75, 6.4) - 1.06).abs() < 0.01);
/// ```
pub fn merged_jets_m_s(momentum_n: f64, density_kg_m3: f64, area_m2: f64) -> f64 {
    (momentum_n.max(0.0) / (density_kg_m3 * area_m2).max(1e-12)).sqrt()
}

/// Kinematic viscosity m²/s, conductivity W/(m·K) and Prandtl number of air.
pub fn film(air: Air) -> (f64, f64, f64) {
    let conductivity = air.conductivity().get::<watt_per_meter_kelvin>();
    let heat = air.specific_heat().get::<joule_per_kilogram_kelvin>();
    let viscosity = air.viscosity_pa_s();
    (viscosity / air.density_kg_m3(), conductivity, viscosity * heat / conductivity)
}
