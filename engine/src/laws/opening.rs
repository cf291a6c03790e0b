//! Openings: orifices and plates, return openings into a header, and the mixing behind them.

use super::{Residual, Seen};
use crate::numerics::signed_sqrt;

/// Below this pressure difference an orifice turns linear, Pa.
pub(crate) const REST_PA: f64 = 1e-6;

/// A sharp or formed opening between two spaces: ṁ = C·a·√(2ρΔp).
///
/// C 0.60…0.63 for a sharp plate (0.611 by two-dimensional theory, Kirchhoff), 0.65 usual for doors.
/// An area of zero is a shut plate: no flow at any pressure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Orifice {
    /// Discharge coefficient.
    pub coefficient: f64,
    /// Free area, m².
    pub area_m2: f64,
}

impl Orifice {
    pub(crate) fn residual(&self, seen: &Seen) -> Residual {
        let scale = self.coefficient * self.area_m2 * (2.0 * seen.density).sqrt();
        let (root, slope) = signed_sqrt(seen.p_from - seen.p_to, REST_PA);
        Residual::flow_form(seen, scale * root, scale * slope)
    }
}

/// A return opening from a space (from) into a header that air passes (to: the header before it).
///
/// ṁ = C·a·√(2ρ(p_space − p_s)), p_s the mean of the header's static pressures before (1) and after (2):
/// p_s = p_t1 − (1 − θ/2)·ρV₁²/2 − (θ/2)·ρV₂²/2, with the static fall θ·(ρ/2)(V₂² − V₁²) of [`Mixing`].
/// Source: collecting-manifold equations as in Bajura & Jones 1976.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Inlet {
    /// Discharge coefficient.
    pub coefficient: f64,
    /// Free area, m².
    pub area_m2: f64,
    /// Header area, m².
    pub header_area_m2: f64,
    /// θ.
    pub theta: f64,
}

impl Inlet {
    /// Pressure difference that drives the flow, Pa, and its derivatives by the flows before and after.
    pub(crate) fn drive(&self, seen: &Seen) -> (f64, [f64; 2]) {
        let c = seen.coupling / (2.0 * seen.density * self.header_area_m2 * self.header_area_m2);
        let [before, after] = seen.others;
        let (share_before, share_after) = (c * (1.0 - 0.5 * self.theta), c * 0.5 * self.theta);
        (
            seen.p_from - seen.p_to + share_before * before * before + share_after * after * after,
            [2.0 * share_before * before, 2.0 * share_after * after],
        )
    }

    pub(crate) fn residual(&self, seen: &Seen) -> Residual {
        let scale = self.coefficient * self.area_m2 * (2.0 * seen.density).sqrt();
        let (drive, by_others) = self.drive(seen);
        let (root, slope) = signed_sqrt(drive, REST_PA);
        let mut residual = Residual::flow_form(seen, scale * root, scale * slope);
        residual.d_others = by_others.map(|by| -scale * slope * by);
        residual
    }
}

/// Total-pressure fall of a header where air joins from the side.
///
/// With the static fall p₁ − p₂ = θ·(ρ/2)(V₂² − V₁²) the total falls by (θ − 1)·(ρ/2)(V₂² − V₁²),
/// 1 before and 2 after: θ = 2 for inflow square to the axis (momentum balance), 2.66 a measured-type
/// value (from memory). The branch's own flow is that after, the one it reads that before. With θ = R it
/// is also the loss of a run across a slot of regain factor R: (1 − R)·(ρ/2)(V₁² − V₂²).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mixing {
    /// θ.
    pub theta: f64,
    /// Header area, m².
    pub area_m2: f64,
}

impl Mixing {
    pub(crate) fn residual(&self, seen: &Seen) -> Residual {
        let c = seen.coupling * (self.theta - 1.0) / (2.0 * seen.density * self.area_m2 * self.area_m2);
        let before = seen.others[0];
        let mut residual =
            Residual::pressure_form(seen, c * (seen.m * seen.m - before * before), 2.0 * c * seen.m);
        residual.d_others = [2.0 * c * before, 0.0];
        residual
    }
}
