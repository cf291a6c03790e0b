//! Pressure laws: what ties the pressures at an element's nodes to the mass flows in its legs.
//!
//! A law is a residual g(p_from, p_to, m, m₁, m₂) that is zero when the law holds, with its whole
//! gradient. m is the branch's own flow, positive from → to; m₁ and m₂ are flows of up to two other
//! branches it reads (the duct before and after a slot, the sibling leg of a junction). A form
//! Δp(ṁ) with one derivative could not hold a shut damper, a junction leg or a cross-flow slot.
//! Pressures are total pressures in Pa, gauge, against the local hydrostatic level.

pub mod damper;
pub mod doorway;
pub mod duct;
pub mod elbow;
pub mod fan;
pub mod friction;
pub mod junction;
pub mod leakage;
pub mod opening;
pub mod slot;

/// What a law sees of the state.
#[derive(Clone, Copy, Debug, Default)]
pub struct Seen {
    /// Total pressure at the branch's first node, Pa.
    pub p_from: f64,
    /// Total pressure at its second node, Pa.
    pub p_to: f64,
    /// Its own mass flow, kg/s.
    pub m: f64,
    /// Mass flows of the branches it reads, kg/s; 0 where it reads none.
    pub others: [f64; 2],
    /// Density in the branch, kg/m³.
    pub density: f64,
    /// Dynamic viscosity in the branch, Pa·s.
    pub viscosity: f64,
    /// Strength of the terms that couple branches, 0…1: below 1 only during continuation.
    pub coupling: f64,
}

/// A residual and its gradient.
#[derive(Clone, Copy, Debug, Default)]
pub struct Residual {
    /// g: Pa for a law in pressure form, kg/s for one in flow form.
    pub g: f64,
    /// ∂g/∂p_from.
    pub d_p_from: f64,
    /// ∂g/∂p_to.
    pub d_p_to: f64,
    /// ∂g/∂m.
    pub d_m: f64,
    /// ∂g/∂m₁ and ∂g/∂m₂.
    pub d_others: [f64; 2],
}

impl Residual {
    /// g = p_from − p_to − Δp(m): pressure form.
    pub fn pressure_form(seen: &Seen, dp: f64, d_dp_dm: f64) -> Self {
        Self {
            g: seen.p_from - seen.p_to - dp,
            d_p_from: 1.0,
            d_p_to: -1.0,
            d_m: -d_dp_dm,
            d_others: [0.0; 2],
        }
    }

    /// g = m − F(p_from − p_to): flow form.
    pub fn flow_form(seen: &Seen, flow: f64, d_flow_dp: f64) -> Self {
        Self { g: seen.m - flow, d_p_from: -d_flow_dp, d_p_to: d_flow_dp, d_m: 1.0, d_others: [0.0; 2] }
    }
}

/// The laws a branch can follow.
#[derive(Clone, Debug, PartialEq)]
pub enum Law {
    /// Straight duct with friction and an optional fixed coefficient.
    Duct(duct::DuctLaw),
    /// A fixed coefficient on velocity pressure: Δp = k·ρV²/2.
    Loss {
        /// k.
        k: f64,
        /// Area the velocity is taken in, m².
        area_m2: f64,
    },
    /// Δp = c·Q·|Q|^(n−1), Q volume flow.
    Power {
        /// c, Pa/(m³/s)ⁿ.
        c: f64,
        /// n ≥ 1.
        n: f64,
    },
    /// An orifice, a damper plate or a large opening with one pressure difference.
    Orifice(opening::Orifice),
    /// A large vertical opening with flow both ways.
    Doorway(doorway::Doorway),
    /// Leakage through seams.
    Leak(leakage::LeakLaw),
    /// A slot that feels the air passing it.
    Slot(slot::SlotLaw),
    /// A return opening into a header.
    Inlet(opening::Inlet),
    /// A fan; lifts pressure from → to.
    Fan(fan::FanCurve),
    /// One leg of a three-way junction.
    JunctionLeg(junction::Leg),
    /// Momentum taken up by a header that air joins from the side.
    Mixing(opening::Mixing),
    /// A flow that is set, whatever the pressures.
    Prescribed {
        /// kg/s from → to.
        mass_flow_kg_s: f64,
    },
}

impl Law {
    /// The residual and gradient at `seen`.
    pub fn residual(&self, seen: &Seen) -> Residual {
        match self {
            Self::Duct(law) => law.residual(seen),
            Self::Loss { k, area_m2 } => {
                let (dp, slope) = duct::loss(*k, *area_m2, seen.m, seen.density);
                Residual::pressure_form(seen, dp, slope)
            }
            Self::Power { c, n } => {
                let (dp, slope) = duct::power(*c, *n, seen.m, seen.density);
                Residual::pressure_form(seen, dp, slope)
            }
            Self::Orifice(law) => law.residual(seen),
            Self::Doorway(law) => law.residual(seen),
            Self::Leak(law) => law.residual(seen),
            Self::Slot(law) => law.residual(seen),
            Self::Inlet(law) => law.residual(seen),
            Self::Fan(law) => law.residual(seen),
            Self::JunctionLeg(law) => law.residual(seen),
            Self::Mixing(law) => law.residual(seen),
            Self::Prescribed { mass_flow_kg_s } => {
                Residual { g: seen.m - mass_flow_kg_s, d_m: 1.0, ..Residual::default() }
            }
        }
    }

    /// Whether g is a flow (kg/s) and not a pressure (Pa).
    pub fn in_flow_form(&self) -> bool {
        matches!(
            self,
            Self::Orifice(_)
                | Self::Doorway(_)
                | Self::Leak(_)
                | Self::Slot(_)
                | Self::Inlet(_)
                | Self::Prescribed { .. }
        )
    }

    /// Whether the pressures of its two nodes are tied together at all: not by a set flow or a shut plate.
    pub fn ties_pressures(&self) -> bool {
        match self {
            Self::Orifice(law) => law.coefficient * law.area_m2 > 0.0,
            Self::Leak(law) => law.conductance_m3_s > 0.0,
            Self::Slot(law) => law.area_m2 > 0.0,
            Self::Inlet(law) => law.area_m2 > 0.0,
            Self::Prescribed { .. } => false,
            _ => true,
        }
    }

    /// A flow area to start an iteration with, m².
    pub(crate) fn reference_area_m2(&self) -> f64 {
        match self {
            Self::Duct(law) => law.area_m2,
            Self::Loss { area_m2, .. } => *area_m2,
            Self::Orifice(law) => law.area_m2,
            Self::Doorway(law) => law.width_m * law.height_m,
            Self::Slot(law) => law.area_m2,
            Self::Inlet(law) => law.area_m2,
            Self::JunctionLeg(law) => law.shape.common_area_m2,
            Self::Mixing(law) => law.area_m2,
            Self::Fan(law) => law.outlet_area_m2,
            Self::Power { .. } | Self::Leak(_) | Self::Prescribed { .. } => 0.1,
        }
    }
}
