//! Water and volatiles: enthalpy of drying, saturation, and what share of each reaches every zone.

use super::{bisect, solve_dense};
use crate::numerics::exp;

/// Molar mass of water over that of dry air.
pub const WATER_TO_AIR: f64 = 0.621_945;

/// Pressure of saturated water vapour.
///
/// ln(p/p_c) = T_c/T·(a₁τ + a₂τ^1.5 + a₃τ³ + a₄τ^3.5 + a₅τ⁴ + a₆τ^7.5), τ = 1 − T/T_c, p Pa, T K; 0…370 °C, held
/// to that range. Source: Wagner & Pruss 1993, J. Phys. Chem. Ref. Data 22, eq. (1) (constants from memory).
///
/// ```
/// assert!((engine::heat::water::saturation_pressure_pa(100.0) - 101_420.0).abs() < 60.0);
/// ```
pub fn saturation_pressure_pa(temperature_c: f64) -> f64 {
    let ratio = (temperature_c.clamp(0.0, 370.0) + crate::air::ZERO_CELSIUS_K) / 647.096;
    let t = 1.0 - ratio;
    let (t2, root) = (t * t, t.sqrt());
    let sum = -7.859_517_83 * t + 1.844_082_59 * t * root - 11.786_649_7 * t2 * t
        + 22.680_741_1 * t2 * t * root
        - 15.961_871_9 * t2 * t2
        + 1.801_225_02 * t2 * t2 * t2 * t * root;
    22.064e6 * exp(sum / ratio)
}

/// Temperature at which air of `humidity_ratio` begins to leave water on cold metal, °C.
///
/// p_w = p·W/(0.621945 + W) = p_sat(t), p Pa, W kg of water per kg of dry air. 0 for dry air, 370 at most.
/// Source: ASHRAE Handbook Fundamentals, psychrometrics (from memory).
pub fn dew_point_c(humidity_ratio: f64, pressure_pa: f64) -> f64 {
    let wet = humidity_ratio.max(0.0);
    let vapour = pressure_pa * wet / (WATER_TO_AIR + wet);
    bisect(0.0, 370.0, |t| saturation_pressure_pa(t) - vapour)
}

/// Heat to turn a kilogram of water into vapour in the oven's air.
///
/// Δh = 2501 + 1.86·t_v − 4.187·t_w, kJ/kg; t_v temperature of the vapour, t_w of the water, °C; water 0…100 °C.
/// Within 0.6 % of IAPWS-95 for steam at one atmosphere up to 200 °C; vapour in air, at its low partial
/// pressure, is nearer. Source: ASHRAE Handbook Fundamentals, psychrometrics (from memory).
///
/// ```
/// let heat = engine::heat::water::evaporation_j_kg(50.0, 150.0);
/// assert!((heat / 2_567_090.0 - 1.0).abs() < 0.004);
/// ```
pub fn evaporation_j_kg(water_c: f64, vapour_c: f64) -> f64 {
    1e3 * (2_501.0 + 1.86 * vapour_c - 4.187 * water_c)
}

/// Temperature a wet part settles at while it dries in hot air, °C.
///
/// cp·(T_a − T_w) = (W_s(T_w) − W)·h_fg(T_w), W_s = 0.621945·p_s/(p − p_s); cp 1007 + 1860·W J/(kg·K) of air with its
/// vapour, h_fg J/kg, p Pa. Lewis number 1, radiation left out (it lifts T_w by a few kelvin). Source: ASHRAE Handbook
/// Fundamentals, psychrometrics, equation of adiabatic saturation (from memory).
///
/// ```
/// // 125 °C and 20 g/kg: 42.31 °C by a library of humid air; without the heat of the vapour it would be 42.0 °C.
/// assert!((engine::heat::water::wet_bulb_c(125.0, 0.02, 101_325.0) - 42.31).abs() < 0.1);
/// // The textbook wet bulb of 40 °C air with 0.0147 kg/kg (30 % relative humidity) is near 25 °C.
/// let wet = engine::heat::water::wet_bulb_c(40.0, 0.014, 101_325.0);
/// assert!((wet - 25.0).abs() < 0.6);
/// ```
pub fn wet_bulb_c(air_c: f64, humidity_ratio: f64, pressure_pa: f64) -> f64 {
    let heat = 1_007.0 + 1_860.0 * humidity_ratio;
    let top = bisect(0.0, 370.0, |t| saturation_pressure_pa(t) - 0.98 * pressure_pa);
    bisect(0.0, air_c.clamp(0.0, top), |t| {
        let vapour = saturation_pressure_pa(t);
        let saturated = WATER_TO_AIR * vapour / (pressure_pa - vapour);
        (saturated - humidity_ratio) * evaporation_j_kg(t, t) - heat * (air_c - t)
    })
}

/// Air of one zone as the balance of water and volatiles sees it. Flows are of dry air, kg/s.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ZoneAir {
    /// Supplied by the heater.
    pub supply_kg_s: f64,
    /// Taken back to the heater.
    pub return_kg_s: f64,
    /// Plant air that comes in.
    pub outside_kg_s: f64,
    /// What comes in from each other zone, by index.
    pub from_zone_kg_s: Vec<f64>,
    /// What is given off inside the zone, kg/s.
    pub source_kg_s: f64,
}

/// Content of every zone's air, and last of the supply air, kg per kg of dry air.
///
/// For zone i: ṁ_s·w_s + ṁ_o·w_a + Σ ṁ_ji·w_j + S_i = (ṁ_s + ṁ_o + Σ ṁ_ji)·w_i; for the heater:
/// Σ ṁ_r·w_i + G = w_s·Σ ṁ_s, as air added there comes in with `heater_outside_kg_s` at w_a.
/// ṁ kg/s, S and G sources kg/s. Each zone is taken as well mixed. None where nothing leaves the oven, so that
/// the content would rise without end. Source: mass balance.
pub fn contents(
    zones: &[ZoneAir],
    outside_content: f64,
    heater_outside_kg_s: f64,
    heater_source_kg_s: f64,
) -> Option<Vec<f64>> {
    let n = zones.len();
    let (mut a, mut b) = (vec![vec![0.0; n + 1]; n + 1], vec![0.0; n + 1]);
    for (i, zone) in zones.iter().enumerate() {
        a[i][n] = -zone.supply_kg_s;
        a[i][i] = zone.supply_kg_s + zone.outside_kg_s;
        b[i] = zone.outside_kg_s * outside_content + zone.source_kg_s;
        for (j, &flow) in zone.from_zone_kg_s.iter().enumerate().filter(|(j, _)| *j != i && *j < n) {
            a[i][i] += flow;
            a[i][j] -= flow;
        }
        a[n][i] = -zone.return_kg_s;
        a[n][n] += zone.return_kg_s;
    }
    a[n][n] += heater_outside_kg_s;
    b[n] = heater_outside_kg_s * outside_content + heater_source_kg_s;
    let scale = zones.iter().map(|zone| zone.supply_kg_s + zone.outside_kg_s).fold(1e-12, f64::max);
    let found = solve_dense(a, b)?;
    let bound = zones.iter().map(|zone| zone.source_kg_s).sum::<f64>() + heater_source_kg_s;
    // A closed oven leaves the system singular but for rounding: its contents come out beyond all measure.
    found
        .iter()
        .all(|w| w.is_finite() && w.abs() <= outside_content + 1e9 * bound.abs() / scale)
        .then_some(found)
}

/// Exhaust of moist air that keeps the humidity ratio of an oven at a limit, kg/s of dry air.
///
/// ṁ = ṁ_w/(W_limit − W_a); infinite where the limit is not above that of the plant's air.
/// Source: mass balance.
///
/// ```
/// let exhaust = engine::heat::water::exhaust_for_humidity_kg_s(0.012, 0.06, 0.01);
/// assert!((exhaust - 0.24).abs() < 1e-12);
/// ```
pub fn exhaust_for_humidity_kg_s(water_kg_s: f64, limit_ratio: f64, outside_ratio: f64) -> f64 {
    if water_kg_s <= 0.0 {
        0.0
    } else if limit_ratio > outside_ratio {
        water_kg_s / (limit_ratio - outside_ratio)
    } else {
        f64::INFINITY
    }
}
