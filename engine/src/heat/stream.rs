//! Enthalpy of oven air: what a stream carries.

/// Specific enthalpy of moist air above 0 °C, its water as vapour, J per kg of the mixture.
///
/// h = (h_a + W·h_v)/(1 + W), h_a = 1005.961·t − 3.18216·10⁻⁴·t² + 1.898190·10⁻⁴·t³ − 1.1068025·10⁻⁷·t⁴ (the
/// integral of [`crate::air::Air::specific_heat`]), h_v = 1855·t + 0.22·t², t °C, W kg/kg. The latent heat of
/// water is booked where it evaporates, so it is left out here. Range −40…450 °C; beyond, the polynomial goes on.
/// Source: dry air as there; vapour a line through the ideal-gas heat capacity of steam, within 0.6 % over
/// 0…450 °C.
///
/// ```
/// // 180 K above the plant: 182.9 kJ/kg for dry air.
/// let rise = engine::heat::stream::enthalpy_j_kg(200.0, 0.0) - engine::heat::stream::enthalpy_j_kg(20.0, 0.0);
/// assert!((rise - 182_400.0).abs() < 300.0, "{rise}");
/// ```
pub fn enthalpy_j_kg(temperature_c: f64, humidity_ratio: f64) -> f64 {
    let (t, w) = (temperature_c, humidity_ratio);
    let dry = t * (1_005.961 + t * (-3.182_16e-4 + t * (1.898_19e-4 - t * 1.106_802_5e-7)));
    (dry + w * vapour_j_kg(t)) / (1.0 + w)
}

/// Specific enthalpy of water vapour above vapour of 0 °C, J/kg: the vapour's part of [`enthalpy_j_kg`].
pub fn vapour_j_kg(temperature_c: f64) -> f64 {
    temperature_c * (1_855.0 + 0.22 * temperature_c)
}

/// Specific heat of moist air, J per kg of the mixture and K: the derivative of [`enthalpy_j_kg`].
pub fn specific_heat_j_kgk(temperature_c: f64, humidity_ratio: f64) -> f64 {
    let (t, w) = (temperature_c, humidity_ratio);
    let dry = 1_005.961 + t * (-6.364_32e-4 + t * (5.694_57e-4 - t * 4.427_21e-7));
    (dry + w * (1_855.0 + 0.44 * t)) / (1.0 + w)
}

/// Temperature of moist air by its enthalpy, °C: the inverse of [`enthalpy_j_kg`] by Newton's method.
///
/// ```
/// use engine::heat::stream::{enthalpy_j_kg, temperature_c};
/// assert!((temperature_c(enthalpy_j_kg(187.3, 0.02), 0.02) - 187.3).abs() < 1e-9);
/// ```
pub fn temperature_c(enthalpy: f64, humidity_ratio: f64) -> f64 {
    let mut t = enthalpy / 1_020.0;
    for _ in 0..6 {
        t -= (enthalpy_j_kg(t, humidity_ratio) - enthalpy) / specific_heat_j_kgk(t, humidity_ratio);
    }
    t
}
