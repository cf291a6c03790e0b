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

/// A return opening from a space (from) into a header (to) that air passes.
///
/// ṁ = C·a·√(2ρ(p_space − p_static)), p_static = p_to − ρV²/2 with V the mean of the header's velocities
/// before and after. Source: collecting-manifold equations as in Bajura & Jones 1976.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Inlet {
    /// Discharge coefficient.
    pub coefficient: f64,
    /// Free area, m².
    pub area_m2: f64,
    /// Header area, m².
    pub header_area_m2: f64,
}

impl Inlet {
    /// Pressure difference that drives the flow, Pa, and its derivative by the mean header flow.
    pub(crate) fn drive(&self, seen: &Seen) -> (f64, f64) {
        let mean = 0.5 * (seen.others[0] + seen.others[1]);
        let c = seen.coupling / (2.0 * seen.density * self.header_area_m2 * self.header_area_m2);
        (seen.p_from - seen.p_to + c * mean * mean, 2.0 * c * mean)
    }

    pub(crate) fn residual(&self, seen: &Seen) -> Residual {
        let scale = self.coefficient * self.area_m2 * (2.0 * seen.density).sqrt();
        let (drive, by_mean) = self.drive(seen);
        let (root, slope) = signed_sqrt(drive, REST_PA);
        let mut residual = Residual::flow_form(seen, scale * root, scale * slope);
        residual.d_others = [-scale * slope * by_mean * 0.5; 2];
        residual
    }
}

/// Total-pressure change of a header across a side inflow or outflow.
///
/// With static change p₁ − p₂ = θ·(ρ/2)(V₂² − V₁²) the total falls by (θ − 1)·(ρ/2)(V₂² − V₁²),
/// 1 before and 2 after: θ = 2 for inflow square to the axis (momentum balance), 2.66 measured-type
/// value (from memory). The branch's own flow is V₂, the one it reads V₁.
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
        let dp = c * (seen.m * seen.m.abs() - before * before.abs());
        let mut residual = Residual::pressure_form(seen, dp, 2.0 * c * seen.m.abs());
        residual.d_others = [2.0 * c * before.abs(), 0.0];
        residual
    }
}
