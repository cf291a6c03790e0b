//! Friction in straight ducts, laminar to fully rough.

use crate::numerics::{ln, log10, pow};

const LAMINAR_END: f64 = 2_000.0;
const TURBULENT_START: f64 = 4_000.0;

/// Darcy friction factor and its derivative by Reynolds number.
///
/// Turbulent (Re ≥ 4000): 1/√f = −2·log₁₀(ε/(3.7·D) + 2.51/(Re·√f)) (Colebrook 1939), solved to machine
/// precision. Laminar (Re ≤ 2000): f = C/Re, C = `laminar_constant` (64 round). Between: a cubic in ln Re
/// that meets both with equal slope. Re > 0; ε/D 0…0.05.
///
/// ```
/// let (f, _) = engine::laws::friction::friction_factor(1e5, 2e-4, 64.0);
/// assert!((f - 0.019_005_44).abs() < 1e-8);
/// ```
pub fn friction_factor(reynolds: f64, relative_roughness: f64, laminar_constant: f64) -> (f64, f64) {
    if reynolds <= LAMINAR_END {
        let f = laminar_constant / reynolds;
        (f, -f / reynolds)
    } else if reynolds >= TURBULENT_START {
        colebrook(reynolds, relative_roughness)
    } else {
        let (f1, f2) = (laminar_constant / LAMINAR_END, colebrook(TURBULENT_START, relative_roughness));
        let span = ln(TURBULENT_START / LAMINAR_END);
        let t = ln(reynolds / LAMINAR_END) / span;
        // Slopes by t: df/dt = Re·span·df/dRe.
        let (d1, d2) = (-f1 * span, f2.1 * TURBULENT_START * span);
        let (c2, c3) = (3.0 * (f2.0 - f1) - 2.0 * d1 - d2, d1 + d2 - 2.0 * (f2.0 - f1));
        let f = f1 + t * (d1 + t * (c2 + t * c3));
        let df_dt = d1 + t * (2.0 * c2 + 3.0 * t * c3);
        (f, df_dt / (reynolds * span))
    }
}

/// The friction factor of one duct at the Reynolds number it was last reckoned for, with its slope.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Tangent {
    reynolds: f64,
    roughness: f64,
    factor: (f64, f64),
}

impl Tangent {
    /// As [`friction_factor`], along the tangent while Re is within a hundredth of where that touches:
    /// f falls as Re^−0.2 at most, so that it is then right within 2·10⁻⁵ of itself.
    pub(crate) fn factor(&mut self, reynolds: f64, roughness: f64, laminar_constant: f64) -> (f64, f64) {
        let off = reynolds - self.reynolds;
        if roughness != self.roughness || off.abs() > 0.01 * self.reynolds || reynolds < TURBULENT_START {
            let factor = friction_factor(reynolds, roughness, laminar_constant);
            *self = Self { reynolds, roughness, factor };
            return factor;
        }
        (self.factor.0 + self.factor.1 * off, self.factor.1)
    }
}

/// Colebrook's factor by Newton on x = 1/√f, and df/dRe from the implicit equation.
fn colebrook(reynolds: f64, relative_roughness: f64) -> (f64, f64) {
    const LN_10: f64 = core::f64::consts::LN_10;
    let (a, b) = (relative_roughness / 3.7, 2.51 / reynolds);
    // Haaland 1983 starts within 1.5 %; each Newton step squares the error.
    let mut x = -1.8 * log10(pow(a, 1.11) + 6.9 / reynolds);
    for _ in 0..4 {
        let inside = a + b * x;
        let g = x + 2.0 * log10(inside);
        let slope = 1.0 + 2.0 * b / (inside * LN_10);
        let step = g / slope;
        x -= step;
        if step.abs() < 1e-15 * x {
            break;
        }
    }
    let inside = a + b * x;
    let slope = 1.0 + 2.0 * b / (inside * LN_10);
    // x + 2·log10(a + b·x) = 0 with db/dRe = −b/Re.
    let dx = 2.0 * (b * x / reynolds) / (inside * LN_10) / slope;
    let f = 1.0 / (x * x);
    (f, -2.0 * f / x * dx)
}

/// C in f = C/Re for laminar flow in a rectangular duct of sides `width`, `height`.
///
/// C = 96·(1 − 1.3553α + 1.9467α² − 1.7012α³ + 0.9564α⁴ − 0.2537α⁵), α = short/long side, Re on the
/// hydraulic diameter. Source: Shah & London 1978, as printed in textbooks (from memory).
///
/// ```
/// assert!((engine::laws::friction::laminar_constant_rectangular(1.0, 2.0) - 62.2).abs() < 0.1);
/// ```
pub fn laminar_constant_rectangular(width: f64, height: f64) -> f64 {
    let a = width.min(height) / width.max(height);
    96.0 * (1.0 - a * (1.3553 - a * (1.9467 - a * (1.7012 - a * (0.9564 - a * 0.2537)))))
}

/// C in f = C/Re for laminar flow in a round duct.
pub const LAMINAR_CONSTANT_ROUND: f64 = 64.0;

/// Equivalent roughness of duct sheet, m: (what it is, value, where it is from).
pub const SHEET_ROUGHNESS_M: [(&str, f64, &str); 9] = [
    ("commercial steel", 0.046e-3, "ASHRAE Fundamentals, duct roughness"),
    ("galvanised, round, longitudinal seam", 0.07e-3, "ASHRAE Fundamentals: 0.049…0.098 mm"),
    ("galvanised, round, spiral seam", 0.09e-3, "ASHRAE Fundamentals: 0.061…0.122 mm"),
    ("galvanised, rectangular, joints at 1.2 m", 0.12e-3, "ASHRAE Fundamentals: 0.082…0.152 mm"),
    ("average sheet-metal duct", 0.09e-3, "ASHRAE Fundamentals, category value"),
    ("black steel, clean", 0.05e-3, "from memory"),
    ("black steel, scaled", 0.3e-3, "from memory: 0.1…0.5 mm"),
    ("stainless, welded", 0.04e-3, "common practice, no published source"),
    ("aluminised, joints at 1.2 m", 0.12e-3, "no published value found; that of galvanised"),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn factor_and_slope_are_continuous() {
        for roughness in [0.0, 1e-4, 1e-2] {
            for edge in [LAMINAR_END, TURBULENT_START] {
                let below = friction_factor(edge * (1.0 - 1e-9), roughness, 64.0);
                let above = friction_factor(edge * (1.0 + 1e-9), roughness, 64.0);
                assert!((below.0 / above.0 - 1.0).abs() < 1e-8);
                assert!((below.1 / above.1 - 1.0).abs() < 1e-6);
            }
        }
    }

    #[test]
    fn the_tangent_is_close_where_it_is_used() {
        for re in [5_000.0, 4e4, 1e6] {
            for roughness in [0.0, 2e-4, 2e-2] {
                let mut known = Tangent::default();
                known.factor(re, roughness, 64.0);
                for step in [-0.5, -0.009, 0.004, 0.009, 0.02] {
                    let at = re * (1.0 + step);
                    let (near, exact) =
                        (known.factor(at, roughness, 64.0), friction_factor(at, roughness, 64.0));
                    assert!((near.0 / exact.0 - 1.0).abs() < 2e-5, "{re} {roughness} {step}");
                }
            }
        }
    }

    #[test]
    fn slope_is_the_derivative() {
        for re in [50.0, 1_500.0, 2_700.0, 3_900.0, 4_100.0, 1e5, 1e7] {
            for roughness in [0.0, 2e-4, 2e-2] {
                let h = re * 1e-5;
                let numeric = (friction_factor(re + h, roughness, 64.0).0
                    - friction_factor(re - h, roughness, 64.0).0)
                    / (2.0 * h);
                let exact = friction_factor(re, roughness, 64.0).1;
                assert!((numeric - exact).abs() <= 1e-6 * exact.abs() + 1e-16, "{re} {roughness}");
            }
        }
    }
}
