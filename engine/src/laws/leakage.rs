//! Leakage through seams and joints of sheet-metal ducts.

use super::{Residual, Seen};
use crate::numerics::pow;

/// Exponent of the flow through cracks, by all the standards below.
const EXPONENT: f64 = 0.65;
/// Below this pressure difference the flow turns linear, Pa.
const REST_PA: f64 = 1e-3;

/// Leakage factor of a tightness class, m³/(s·m²) at 1 Pa: q = f·A·Δp^0.65, A the duct's surface.
///
/// EN 12237 (round) and EN 1507 (rectangular), classes A to D: 0.027, 0.009, 0.003 and 0.001 l/(s·m²);
/// test limits are 500, 1000, 1000 and 2000 Pa.
///
/// ```
/// // Class A at 400 Pa leaks 1.33 l/s from each square metre.
/// let q = engine::laws::leakage::class_factor('A').unwrap() * 400f64.powf(0.65);
/// assert!((q - 1.326e-3).abs() < 1e-6);
/// ```
pub fn class_factor(class: char) -> Option<f64> {
    match class.to_ascii_uppercase() {
        'A' => Some(0.027e-3),
        'B' => Some(0.009e-3),
        'C' => Some(0.003e-3),
        'D' => Some(0.001e-3),
        _ => None,
    }
}

/// The same factor from a leakage class `cl` in cfm per 100 ft² at 1 in. w.c. (SMACNA: F = CL·P^0.65).
///
/// 48 for unsealed rectangular ducts; bolted panel ducts in ovens without gaskets are worse (common
/// practice, no published source): calibrate with one measured figure.
pub fn factor_from_cl(cl: f64) -> f64 {
    0.001_406_8e-3 * cl
}

/// The factor from one test: `flow_m3_s` through `surface_m2` at `pressure_pa`.
pub fn factor_from_test(flow_m3_s: f64, surface_m2: f64, pressure_pa: f64) -> f64 {
    flow_m3_s / (surface_m2 * pow(pressure_pa, EXPONENT))
}

/// Leakage of a stretch of duct: ṁ = ρ·f·A·|Δp|^0.65 with the sign of Δp; linear below a millipascal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LeakLaw {
    /// f·A, m³/s at 1 Pa.
    pub conductance_m3_s: f64,
}

impl LeakLaw {
    /// Mass flow at a pressure difference and its slope.
    pub fn flow(&self, dp_pa: f64, density: f64) -> (f64, f64) {
        let base = dp_pa * dp_pa + REST_PA * REST_PA;
        let factor = density * self.conductance_m3_s * pow(base, 0.5 * (EXPONENT - 1.0));
        (factor * dp_pa, factor * (1.0 + (EXPONENT - 1.0) * dp_pa * dp_pa / base))
    }

    pub(crate) fn residual(&self, seen: &Seen) -> Residual {
        let (flow, slope) = self.flow(seen.p_from - seen.p_to, seen.density);
        Residual::flow_form(seen, flow, slope)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn standards_agree_with_each_other() {
        // SMACNA CL 6 at 4 in. w.c.: 14.774 cfm per 100 ft².
        let q = factor_from_cl(6.0) * pow(4.0 * 249.089, EXPONENT);
        let cfm = q / 0.000_471_947 * 9.290_304;
        assert!((cfm - 14.774).abs() < 0.05, "{cfm}");
        assert!((factor_from_test(1.326e-3, 1.0, 400.0) - class_factor('a').unwrap()).abs() < 1e-8);
    }

    #[test]
    fn slope_is_the_derivative() {
        let law = LeakLaw { conductance_m3_s: 1e-4 };
        for dp in [-300.0, -1e-3, 0.0, 2e-3, 40.0] {
            let h = 1e-7;
            let numeric = (law.flow(dp + h, 0.8).0 - law.flow(dp - h, 0.8).0) / (2.0 * h);
            assert!((numeric / law.flow(dp, 0.8).1 - 1.0).abs() < 1e-5, "{dp}");
        }
    }
}
