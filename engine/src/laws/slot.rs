//! Slots along a duct: how much air leaves through an opening that the air in the duct passes.
//!
//! With E the total pressure in the duct against the space, q = ρV²/2 the duct's velocity pressure
//! and r = q/E, a slot of area a passes ṁ = Cd(r)·a·√(2ρE). The laws differ in Cd.
//! Which one nature follows is the largest doubt of the subject, so they are named and selectable.

use super::opening::REST_PA;
use super::{Residual, Seen};
use crate::numerics::{ln, pow, signed_sqrt};
use core::f64::consts::PI;

/// Added to q so that the laws stay smooth in still air, Pa.
const STILL_PA: f64 = 1e-9;

/// The published laws.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Model {
    /// Cd = 0.63 − 0.58·r: sharp edge (Rawn, Bowerman & Brooks 1961; Koh & Brooks 1975).
    CrossFlowSharp,
    /// Cd = 0.975·(1 − r)^(3/8): formed edge (same sources).
    CrossFlowFormed,
    /// The exact two-dimensional sharp slot, see [`free_streamline`].
    FreeStreamline,
    /// A constant coefficient on total pressure.
    ConstantTotal(f64),
    /// A constant coefficient on static pressure, E − q.
    ConstantStatic(f64),
}

/// Which duct velocity enters q.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Velocity {
    /// Mean of before and after the slot.
    Mean,
    /// Before the slot.
    Upstream,
}

/// Discharge coefficient of a sharp two-dimensional slot in the wall of a duct, by free-streamline theory.
///
/// u = V/V_jet before (1) and after (2), L(u) = ln[(1+u)/(1−u)], c = (u₁+u₂)/2:
/// 1/Cd = (1/π)·{[(1+u₁²)·L(u₁) − (1+u₂²)·L(u₂)]/(u₁−u₂) − c·L(c)} + √(1−c²); the jet leaves at
/// cos θ = c from the axis. 0 ≤ u < 1. Derived from the potential-flow solution of McNown & Hsu 1951
/// (derivation ours, checked against contour integration; not compared with the paper).
///
/// ```
/// assert!((engine::laws::slot::free_streamline(0.0, 0.0) - 0.611).abs() < 1e-4); // π/(π+2), Kirchhoff
/// ```
pub fn free_streamline(u1: f64, u2: f64) -> f64 {
    let l = |u: f64| ln((1.0 + u) / (1.0 - u));
    let c = 0.5 * (u1 + u2);
    let spread = u1 - u2;
    let quotient = if spread.abs() < 1e-5 {
        2.0 * c * l(c) + 2.0 * (1.0 + c * c) / (1.0 - c * c)
    } else {
        ((1.0 + u1 * u1) * l(u1) - (1.0 + u2 * u2) * l(u2)) / spread
    };
    1.0 / ((quotient - c * l(c)) / PI + (1.0 - c * c).sqrt())
}

impl Model {
    /// Cd and dCd/dr; r from 0 up to [`Model::limit`].
    pub fn coefficient(self, r: f64) -> (f64, f64) {
        match self {
            Self::CrossFlowSharp => (0.63 - 0.58 * r, -0.58),
            Self::CrossFlowFormed => {
                let rest = pow(1.0 - r, 0.375);
                (0.975 * rest, -0.975 * 0.375 * rest / (1.0 - r))
            }
            Self::FreeStreamline => {
                let u = r.max(0.0).sqrt();
                let cd = free_streamline(u, u);
                // d(1/Cd)/dr of √(1−r) + (2/π)(1+r)/(1−r) + (u/π)·L(u).
                let l_over_u = if u < 1e-4 { 2.0 } else { ln((1.0 + u) / (1.0 - u)) / u };
                let slope = -0.5 / (1.0 - r).sqrt()
                    + 4.0 / (PI * (1.0 - r) * (1.0 - r))
                    + (0.5 * l_over_u + 1.0 / (1.0 - r)) / PI;
                (cd, -cd * cd * slope)
            }
            Self::ConstantTotal(cd) => (cd, 0.0),
            Self::ConstantStatic(cd) => {
                let rest = (1.0 - r).sqrt();
                (cd * rest, -0.5 * cd / rest)
            }
        }
    }

    /// The r up to which the law is used; beyond it, and when the space blows into the duct, the flow
    /// continues smoothly with the same slope towards −Cd(0)·√|E|.
    pub fn limit(self) -> f64 {
        match self {
            Self::CrossFlowSharp | Self::FreeStreamline => 0.9,
            _ => 0.85,
        }
    }

    /// h(E, q) = Cd·√E with ∂h/∂E and ∂h/∂q.
    fn root(self, e: f64, q: f64) -> (f64, f64, f64) {
        match self {
            Self::ConstantTotal(cd) => {
                let (root, slope) = signed_sqrt(e, REST_PA);
                return (cd * root, cd * slope, 0.0);
            }
            Self::ConstantStatic(cd) => {
                let (root, slope) = signed_sqrt(e - q, REST_PA);
                return (cd * root, cd * slope, -cd * slope);
            }
            _ => {}
        }
        let q = q + STILL_PA;
        let limit = self.limit();
        if e >= q / limit {
            let (cd, slope) = self.coefficient(q / e);
            let root = e.sqrt();
            return (cd * root, (0.5 * cd - slope * q / e) / root, slope / root);
        }
        // Beyond the limit h = √q·φ(E/q): homogeneous of degree ½, so E·h_E + q·h_q = h/2.
        let edge = 1.0 / limit;
        let (cd, slope) = self.coefficient(limit);
        let (value, tangent) = (cd * edge.sqrt(), (0.5 * cd - slope * limit) / edge.sqrt());
        let reach = self.coefficient(0.0).0 / tangent;
        let (x, square) = (e / q - edge, reach * reach);
        let stretch = x / square;
        let base = 1.0 + stretch * stretch;
        let fourth_root = base.sqrt().sqrt();
        let phi = value + tangent * x / fourth_root;
        let d_phi = tangent * (0.5 * stretch * stretch + 1.0) / (base * fourth_root);
        let h = q.sqrt() * phi;
        let h_e = d_phi / q.sqrt();
        (h, h_e, (0.5 * h - e * h_e) / q)
    }
}

/// One slot: from the duct to the space it blows into; reads the duct before and after.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SlotLaw {
    /// Cd.
    pub model: Model,
    /// Which duct velocity it sees.
    pub velocity: Velocity,
    /// Slot area, m².
    pub area_m2: f64,
    /// Duct area, m².
    pub duct_area_m2: f64,
}

impl SlotLaw {
    /// The duct flow the law sees and its derivatives by the flows before and after.
    pub(crate) fn passing_flow(&self, others: [f64; 2]) -> (f64, [f64; 2]) {
        match self.velocity {
            Velocity::Mean => (0.5 * (others[0] + others[1]), [0.5, 0.5]),
            // Air that comes the other way has the second branch before the slot.
            Velocity::Upstream if others[0] + others[1] >= 0.0 => (others[0], [1.0, 0.0]),
            Velocity::Upstream => (others[1], [0.0, 1.0]),
        }
    }

    /// The duct's velocity pressure as the law sees it, Pa.
    pub fn velocity_pressure_pa(&self, others: [f64; 2], density: f64) -> f64 {
        let (flow, _) = self.passing_flow(others);
        flow * flow / (2.0 * density * self.duct_area_m2 * self.duct_area_m2)
    }

    /// Area that passes `mass_flow` at total pressure `e_pa`; `None` where the law gives no outflow.
    pub fn area_for(&self, mass_flow: f64, e_pa: f64, others: [f64; 2], density: f64) -> Option<f64> {
        let q = self.velocity_pressure_pa(others, density);
        let (h, ..) = self.model.root(e_pa, q);
        (e_pa > 0.0 && q <= self.model.limit() * e_pa && h > 0.0)
            .then(|| mass_flow / (h * (2.0 * density).sqrt()))
    }

    pub(crate) fn residual(&self, seen: &Seen) -> Residual {
        let (flow, by_others) = self.passing_flow(seen.others);
        let c = seen.coupling / (2.0 * seen.density * self.duct_area_m2 * self.duct_area_m2);
        let (h, h_e, h_q) = self.model.root(seen.p_from - seen.p_to, c * flow * flow);
        let scale = self.area_m2 * (2.0 * seen.density).sqrt();
        let mut residual = Residual::flow_form(seen, scale * h, scale * h_e);
        let by_flow = -scale * h_q * 2.0 * c * flow;
        residual.d_others = [by_flow * by_others[0], by_flow * by_others[1]];
        residual
    }
}
