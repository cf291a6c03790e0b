//! How much hot metal grows, and what happens where it cannot.

use crate::plan::Material;

/// Elongation of a metal from 20 °C.
///
/// Carbon steel 1.2·10⁻⁵·θ + 0.4·10⁻⁸·θ² − 2.416·10⁻⁴ (EN 1993-1-2:2005, 3.4.1.1); stainless
/// (16 + 4.79·10⁻³·θ − 1.243·10⁻⁶·θ²)·(θ − 20)·10⁻⁶ (its annex C, from memory); aluminium
/// 0.1·10⁻⁷·θ² + 22.5·10⁻⁶·θ − 4.54·10⁻⁴ (EN 1999-1-2:2007, 3.3.1, from memory, its constant 4.5 made zero at 20 °C); m/m, θ °C, −20…750 °C (aluminium to
/// 500 °C). Any other material is taken as carbon steel. Aluminised sheet is carbon steel with a skin.
///
/// ```
/// use engine::{heat::expansion::elongation, plan::Material};
/// assert!((elongation(Material::Steel, 200.0) - 2.3184e-3).abs() < 1e-9);
/// ```
pub fn elongation(material: Material, temperature_c: f64) -> f64 {
    let t = temperature_c.clamp(-40.0, 750.0);
    match material {
        Material::StainlessSteel => (16.0 + t * (4.79e-3 - t * 1.243e-6)) * (t - 20.0) * 1e-6,
        Material::Aluminium => t * (22.5e-6 + t * 1e-8) - 4.54e-4,
        Material::Steel | Material::Other { .. } => t * (1.2e-5 + t * 0.4e-8) - 2.416e-4,
    }
}

/// Growth of a length between the temperature it was built at and the one it runs at, m: L·(e(T) − e(T₀)).
///
/// ```
/// use engine::{heat::expansion::growth_m, plan::Material};
/// assert!((growth_m(Material::Steel, 6.0, 20.0, 200.0) - 0.013_91).abs() < 1e-5);
/// ```
pub fn growth_m(material: Material, length_m: f64, built_c: f64, runs_c: f64) -> f64 {
    length_m * (elongation(material, runs_c) - elongation(material, built_c))
}

/// Free bow of a panel whose skins act together: δ = e·L²/(8·t).
///
/// e the difference of elongation of the two skins m/m, L length m, t thickness m; 0 for no thickness.
/// Source: thin bimetal strip (Timoshenko 1925, stiff-core limit).
pub fn panel_bow_m(elongation_difference: f64, length_m: f64, thickness_m: f64) -> f64 {
    if thickness_m > 0.0 { elongation_difference * length_m * length_m / (8.0 * thickness_m) } else { 0.0 }
}

/// Stress in steel that is kept from growing at all, Pa: σ = E·e, E = 205 GPa; sheet buckles long before.
pub fn restrained_stress_pa(elongation: f64) -> f64 {
    205e9 * elongation
}
