//! Bends, entries and changes of size: loss coefficients on a stated velocity pressure.

use crate::numerics::{pow, sin};

/// Mitred elbow without vanes, ζ on the duct's velocity pressure.
///
/// ζ = A·(0.95·sin²(δ/2) + 2.05·sin⁴(δ/2)), A = 0.95 + 33.5/δ, δ the turn in degrees
/// (Idelchik, 3rd ed., diagram 6-7). Square or round, Re > 2·10⁵; ±10 %.
///
/// ```
/// assert!((engine::laws::elbow::mitred(90.0) - 1.306).abs() < 0.001);
/// ```
pub fn mitred(degrees: f64) -> f64 {
    if degrees <= 1e-6 {
        return 0.0;
    }
    let s = sin(degrees.min(180.0).to_radians() / 2.0);
    let square = s * s;
    // Below 10° the tabulated factor A runs away; the loss itself goes to zero.
    (0.95 + 33.5 / degrees.max(10.0)) * square * (0.95 + 2.05 * square)
}

/// Mitred elbow with single-thickness turning vanes: a quarter of a velocity pressure at 90°.
///
/// 0.11 (close spacing) to 0.33 (wide) are in print (ASHRAE fittings CR3-9 to CR3-12; from memory);
/// smaller turns in proportion to the plain mitre.
pub fn vaned(degrees: f64) -> f64 {
    0.25 * mitred(degrees) / mitred(90.0)
}

/// Smooth bend of centre-line radius `radius_ratio` times the width, without its friction.
///
/// ζ = A₁·0.21·(R/D)^−½ for R/D ≥ 1 and A₁·0.21·(R/D)^−2.5 for 0.5…1; A₁ = 0.9·sin δ up to 70°,
/// 1 at 90°, 0.7 + 0.35·δ/90 from 100° (Idelchik, 3rd ed., diagram 6-1).
///
/// ```
/// assert!((engine::laws::elbow::radius(90.0, 1.5) - 0.171).abs() < 0.001);
/// ```
pub fn radius(degrees: f64, radius_ratio: f64) -> f64 {
    let a1 = if degrees <= 70.0 {
        0.9 * sin(degrees.to_radians())
    } else if degrees >= 100.0 {
        0.7 + 0.35 * degrees / 90.0
    } else {
        // Straight between the three published points.
        let at_70 = 0.9 * sin(70.0_f64.to_radians());
        let at_100 = 0.7 + 35.0 / 90.0;
        if degrees <= 90.0 {
            at_70 + (1.0 - at_70) * (degrees - 70.0) / 20.0
        } else {
            1.0 + (at_100 - 1.0) * (degrees - 90.0) / 10.0
        }
    };
    let exponent = if radius_ratio >= 1.0 { -0.5 } else { -2.5 };
    a1 * 0.21 * pow(radius_ratio, exponent)
}

/// Sudden expansion, ζ on the smaller section: (1 − n)², n = A_small/A_large (Borda–Carnot).
pub fn sudden_expansion(area_ratio: f64) -> f64 {
    (1.0 - area_ratio) * (1.0 - area_ratio)
}

/// Sudden contraction, ζ on the smaller section: 0.5·(1 − n)^0.75 (Idelchik, diagram 4-9).
pub fn sudden_contraction(area_ratio: f64) -> f64 {
    0.5 * pow((1.0 - area_ratio).max(0.0), 0.75)
}

/// Flush sharp entry from a plenum into a duct, ζ on the duct's velocity pressure.
pub const SHARP_ENTRY: f64 = 0.5;

/// Re-entrant thin-walled entry, ζ on the duct's velocity pressure.
pub const REENTRANT_ENTRY: f64 = 1.0;

/// Exit into a space: the duct's velocity pressure is lost.
pub const EXIT: f64 = 1.0;

/// Entry with a rounded edge of radius `radius_ratio` times the diameter (Idelchik, as tabulated).
///
/// 0.02: 0.37, 0.06: 0.20, 0.12: 0.09, 0.20 and more: 0.03; straight between.
pub fn rounded_entry(radius_ratio: f64) -> f64 {
    const TABLE: [(f64, f64); 5] = [(0.0, 0.50), (0.02, 0.37), (0.06, 0.20), (0.12, 0.09), (0.20, 0.03)];
    let after = TABLE.iter().position(|row| row.0 >= radius_ratio);
    match after {
        Some(0) => TABLE[0].1,
        Some(i) => {
            let ((x0, y0), (x1, y1)) = (TABLE[i - 1], TABLE[i]);
            y0 + (y1 - y0) * (radius_ratio - x0) / (x1 - x0)
        }
        None => TABLE[4].1,
    }
}

/// Gradual expansion of total angle `degrees`, ζ on the smaller section, without its friction.
///
/// ζ = 3.2·tan(α/2)^1.25·(1 − n)² for a cone, 4.0 for a pyramid, up to 40°; never above the sudden value
/// (Idelchik; the pyramid's factor from memory).
pub fn gradual_expansion(area_ratio: f64, degrees: f64, pyramid: bool) -> f64 {
    let factor = if pyramid { 4.0 } else { 3.2 };
    let t = crate::numerics::tan(degrees.to_radians() / 2.0);
    sudden_expansion(area_ratio) * (factor * pow(t, 1.25)).min(1.0)
}
