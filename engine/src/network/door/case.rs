//! A network as written by hand, and the answer.

use serde::{Deserialize, Serialize};

/// A network as written by hand.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Case {
    /// The fluid of every branch that does not say otherwise.
    pub fluid: Fluid,
    /// Nodes.
    pub nodes: Vec<CaseNode>,
    /// Branches.
    pub branches: Vec<CaseBranch>,
}

/// Density and viscosity.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fluid {
    /// kg/m³.
    pub density_kg_m3: f64,
    /// Pa·s.
    pub viscosity_pa_s: f64,
}

/// A node.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CaseNode {
    /// Name.
    pub id: String,
    /// Set total pressure, Pa; free when left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub total_pressure_pa: Option<f64>,
    /// Flow brought in, kg/s.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub inflow_kg_s: Option<f64>,
}

/// A branch.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CaseBranch {
    /// Name.
    pub id: String,
    /// First node.
    pub from: String,
    /// Second node.
    pub to: String,
    /// Density where it differs from the fluid's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub density_kg_m3: Option<f64>,
    /// Viscosity where it differs from the fluid's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub viscosity_pa_s: Option<f64>,
    /// Its law.
    pub law: CaseLaw,
}

/// The laws of this door.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub enum CaseLaw {
    /// Straight duct, round (`diameter_m`) or rectangular; a length of zero is allowed.
    Duct {
        /// m.
        length_m: f64,
        /// m.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        diameter_m: Option<f64>,
        /// m.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        width_m: Option<f64>,
        /// m.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        height_m: Option<f64>,
        /// m.
        roughness_m: f64,
        /// Fixed coefficient on the duct's velocity pressure.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        k: Option<f64>,
    },
    /// Δp = k·ρV²/2.
    K {
        /// Coefficient.
        k: f64,
        /// Area of V, m².
        area_m2: f64,
    },
    /// Δp = c·Q·|Q|^(n−1).
    Power {
        /// Pa/(m³/s)ⁿ.
        c: f64,
        /// Exponent.
        n: f64,
    },
    /// ṁ = cd·a·√(2ρΔp).
    Orifice {
        /// Discharge coefficient.
        cd: f64,
        /// m².
        area_m2: f64,
    },
    /// A slot that feels the air passing it.
    Slot {
        /// Which law.
        model: CaseSlotModel,
        /// Coefficient of the constant models.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        cd: Option<f64>,
        /// m².
        area_m2: f64,
        /// m².
        duct_area_m2: f64,
        /// Duct branch before the slot.
        upstream: String,
        /// Duct branch after it; none at a dead end.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        downstream: Option<String>,
        /// Which velocity the law sees.
        velocity: CaseVelocity,
    },
    /// An orifice that can be closed.
    Damper {
        /// Discharge coefficient.
        cd: f64,
        /// Area fully open, m².
        area_m2: f64,
        /// 0 shut, 1 open.
        free_fraction: f64,
    },
    /// A fan by total-pressure points, lifting from → to.
    Fan {
        /// (m³/s, Pa) by rising flow.
        points: Vec<(f64, f64)>,
        /// Density of the points, kg/m³.
        points_density_kg_m3: f64,
        /// Speed over the points' speed.
        speed_ratio: f64,
    },
}

/// Slot laws of this door.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CaseSlotModel {
    /// cd on total pressure.
    ConstantTotal,
    /// cd on static pressure.
    ConstantStatic,
    /// 0.63 − 0.58·q/E.
    CrossFlowSharp,
    /// 0.975·(1 − q/E)^(3/8).
    CrossFlowFormed,
    /// Exact two-dimensional slot.
    FreeStreamline,
}

/// Which duct velocity a slot sees.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CaseVelocity {
    /// Before the slot.
    Upstream,
    /// Mean of before and after.
    Mean,
}

/// What this door answers.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Answer {
    /// "converged" or the reason why not.
    pub status: String,
    /// Newton steps.
    pub iterations: usize,
    /// Starts tried; where different fans work against each other there may be other answers.
    pub starts: usize,
    /// Largest node imbalance over the fan flow (largest flow without a fan).
    pub mass_residual: f64,
    /// Largest law imbalance, Pa.
    pub pressure_residual_pa: f64,
    /// Where it closes worst, when not converged.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub worst_branch: Option<String>,
    /// Nodes held at 0 Pa because nothing sets the level of their part of the network.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub floating: Vec<String>,
    /// Pressures.
    pub nodes: Vec<AnswerNode>,
    /// Flows.
    pub branches: Vec<AnswerBranch>,
}

/// Pressure of a node.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AnswerNode {
    /// Name.
    pub id: String,
    /// Pa.
    pub total_pressure_pa: f64,
}

/// Flow of a branch.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AnswerBranch {
    /// Name.
    pub id: String,
    /// kg/s, positive from → to.
    pub mass_flow_kg_s: f64,
    /// Total pressure at from less at to, Pa.
    pub dp_total_pa: f64,
}
