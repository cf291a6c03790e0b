//! Straight duct: friction plus a fixed coefficient; also the bare coefficient and power laws.

use super::{Residual, Seen, friction};
use crate::numerics::pow;

/// Below this velocity a quadratic law turns linear, so that its slope at rest is not zero, m/s.
/// At 1 m/s the deviation from the square is 5·10⁻¹³.
const REST_M_S: f64 = 1e-6;

/// Straight duct of constant section.
///
/// Δp = (f·L/Dₕ + k)·ρV²/2 (Darcy–Weisbach), V = ṁ/(ρA), Re = ρVDₕ/μ; f from
/// [`friction::friction_factor`] on the hydraulic diameter with the true mean velocity (Koch 2008 found
/// the equal-friction diameter unsupported by the measurements it rests on). A length of zero is allowed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DuctLaw {
    /// Length, m.
    pub length_m: f64,
    /// Free area, m².
    pub area_m2: f64,
    /// Hydraulic diameter 4A/P, m.
    pub hydraulic_diameter_m: f64,
    /// Equivalent sheet roughness, m.
    pub roughness_m: f64,
    /// C of the laminar law f = C/Re.
    pub laminar_constant: f64,
    /// Fixed coefficient on the duct's velocity pressure.
    pub k: f64,
}

impl DuctLaw {
    /// Pressure drop and its derivative by mass flow.
    pub fn drop(&self, m: f64, density: f64, viscosity: f64) -> (f64, f64) {
        self.drop_by(m, density, viscosity, friction::friction_factor)
    }

    fn drop_by(
        &self,
        m: f64,
        density: f64,
        viscosity: f64,
        factor: impl FnOnce(f64, f64, f64) -> (f64, f64),
    ) -> (f64, f64) {
        let (fixed, fixed_slope) = loss(self.k, self.area_m2, m, density);
        if self.length_m <= 0.0 {
            return (fixed, fixed_slope);
        }
        // Δp = scale·f·Re², Re = |m|·to_reynolds; f·Re² is C·Re when laminar, so no division at rest.
        let to_reynolds = self.hydraulic_diameter_m / (self.area_m2 * viscosity);
        let reynolds = m.abs() * to_reynolds;
        let d = self.hydraulic_diameter_m;
        let scale = self.length_m * viscosity * viscosity / (2.0 * density * d * d * d);
        let (value, slope) = if reynolds <= 2_000.0 {
            (self.laminar_constant * reynolds, self.laminar_constant)
        } else {
            let (f, df) = factor(reynolds, self.roughness_m / d, self.laminar_constant);
            (f * reynolds * reynolds, reynolds * (2.0 * f + reynolds * df))
        };
        (scale * value * m.signum() + fixed, scale * slope * to_reynolds + fixed_slope)
    }

    pub(crate) fn residual(&self, seen: &Seen) -> Residual {
        let (dp, slope) = self.drop(seen.m, seen.density, seen.viscosity);
        Residual::pressure_form(seen, dp, slope)
    }

    /// The same with a friction factor from the tangent `known`.
    pub(crate) fn residual_nearby(&self, seen: &Seen, known: &mut friction::Tangent) -> Residual {
        let factor = |re, roughness, constant| known.factor(re, roughness, constant);
        let (dp, slope) = self.drop_by(seen.m, seen.density, seen.viscosity, factor);
        Residual::pressure_form(seen, dp, slope)
    }
}

/// Δp = k·ρV|V|/2 and its derivative by mass flow; linear within a millionth of a metre per second.
pub fn loss(k: f64, area_m2: f64, m: f64, density: f64) -> (f64, f64) {
    let rest = REST_M_S * density * area_m2;
    let root = (m * m + rest * rest).sqrt();
    let c = k / (2.0 * density * area_m2 * area_m2);
    (c * m * root, c * (root + m * m / root))
}

/// Δp = c·Q·|Q|^(n−1) and its derivative by mass flow.
pub fn power(c: f64, n: f64, m: f64, density: f64) -> (f64, f64) {
    const REST_M3_S: f64 = 1e-7;
    let q = m / density;
    let base = q * q + REST_M3_S * REST_M3_S;
    let factor = pow(base, 0.5 * (n - 1.0));
    (c * q * factor, c * factor * (1.0 + (n - 1.0) * q * q / base) / density)
}
