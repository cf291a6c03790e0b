//! Specific heat of steel by temperature, and the surface a hung part offers.

use super::part::Body;
use crate::plan::HungPart;

/// Specific heat of carbon steel.
///
/// c = 425 + 0.773·θ − 1.69·10⁻³·θ² + 2.22·10⁻⁶·θ³, θ °C, J/(kg·K); 20…600 °C, the end value outside.
/// Source: EN 1993-1-2:2005, eq. (3.2a).
///
/// ```
/// assert!((engine::heat::material::steel_specific_heat_j_kgk(200.0) - 529.76).abs() < 1e-9);
/// ```
pub fn steel_specific_heat_j_kgk(temperature_c: f64) -> f64 {
    let t = temperature_c.clamp(20.0, 600.0);
    425.0 + t * (0.773 + t * (-1.69e-3 + t * 2.22e-6))
}

/// Heated surface of a part per metre of conveyor, m²/m: as entered, otherwise m′/(ρ·V/A).
///
/// m′ mass per metre kg/m, ρ kg/m³, V/A m, half the thickness of a sheet. None where mass, density or size is not
/// above zero.
pub fn surface_m2_per_m(part: &HungPart) -> Option<f64> {
    let body = Body::of(part);
    let surface = part.surface_m2_per_m.unwrap_or(part.kg_per_m / (body.density_kg_m3 * body.depth_m));
    (surface.is_finite() && surface > 0.0 && part.kg_per_m > 0.0).then_some(surface)
}
