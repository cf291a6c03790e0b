//! The second JSON door: a bare network in, pressures and flows out.
//!
//! Documented in the README; keys are only ever added, an unknown key is an error.

use super::{Branch, Network, Node, Settings, Solution, Status};
use crate::air::{Air, STANDARD_PRESSURE_PA};
use crate::error::EngineError;
use crate::laws::{Law, duct, fan, friction, opening, slot};
use serde::{Deserialize, Serialize};
use std::collections::HashMap;

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

/// Reads a case; the message names the field.
pub fn read(text: &str) -> Result<Case, EngineError> {
    crate::plan::file::from_json(text)
}

/// Solves a case from cold.
pub fn solve(case: &Case) -> Result<(Network, Solution), EngineError> {
    let network = build(case)?;
    let solution = super::solve(&network, &Settings::default());
    Ok((network, solution))
}

/// The answer in the form of this door.
pub fn answer(network: &Network, solution: &Solution) -> Answer {
    Answer {
        status: solution.status.word().to_owned(),
        iterations: solution.iterations,
        mass_residual: solution.mass_residual,
        pressure_residual_pa: solution.pressure_residual_pa,
        worst_branch: (solution.status != Status::Converged).then(|| solution.worst.clone()),
        floating: network.floating().to_vec(),
        nodes: network
            .nodes()
            .iter()
            .zip(&solution.pressures_pa)
            .map(|(node, &p)| AnswerNode { id: node.id.clone(), total_pressure_pa: p })
            .collect(),
        branches: network
            .branches()
            .iter()
            .zip(&solution.flows_kg_s)
            .map(|(branch, &flow)| AnswerBranch {
                id: branch.id.clone(),
                mass_flow_kg_s: flow,
                dp_total_pa: solution.pressures_pa[branch.from] - solution.pressures_pa[branch.to],
            })
            .collect(),
    }
}

/// The network of a case, every number checked.
pub fn build(case: &Case) -> Result<Network, EngineError> {
    let nodes: HashMap<&str, usize> = unique(case.nodes.iter().map(|node| node.id.as_str()), "node")?;
    let branches: HashMap<&str, usize> =
        unique(case.branches.iter().map(|branch| branch.id.as_str()), "branch")?;
    let temperature_k = 293.15;
    let built_nodes = case
        .nodes
        .iter()
        .map(|node| Node {
            id: node.id.clone(),
            fixed_pressure_pa: node.total_pressure_pa,
            inflow_kg_s: node.inflow_kg_s.unwrap_or(0.0),
            temperature_k,
            humidity_ratio: 0.0,
        })
        .collect();
    let find = |at: &str, id: &str, what: &str, map: &HashMap<&str, usize>| {
        map.get(id).copied().ok_or_else(|| {
            EngineError::new(
                at,
                format!("there is no {what} called \"{id}\""),
                format!("name an existing {what}"),
            )
        })
    };
    let mut built = Vec::with_capacity(case.branches.len());
    for branch in &case.branches {
        let mut reads = [None; 2];
        if let CaseLaw::Slot { upstream, downstream, .. } = &branch.law {
            reads[0] = Some(find(&branch.id, upstream, "branch", &branches)?);
            if let Some(downstream) = downstream {
                reads[1] = Some(find(&branch.id, downstream, "branch", &branches)?);
            }
        }
        built.push(Branch {
            id: branch.id.clone(),
            from: find(&branch.id, &branch.from, "node", &nodes)?,
            to: find(&branch.id, &branch.to, "node", &nodes)?,
            law: law(&branch.id, &branch.law)?,
            reads,
            density_kg_m3: branch.density_kg_m3.unwrap_or(case.fluid.density_kg_m3),
            viscosity_pa_s: branch.viscosity_pa_s.unwrap_or(case.fluid.viscosity_pa_s),
            item: None,
        });
    }
    Network::new(built_nodes, built)
}

fn unique<'a>(
    ids: impl Iterator<Item = &'a str>,
    what: &str,
) -> Result<HashMap<&'a str, usize>, EngineError> {
    let mut map = HashMap::new();
    for (i, id) in ids.enumerate() {
        if map.insert(id, i).is_some() {
            return Err(EngineError::new(
                id,
                format!("two of the {what}s have this id"),
                "rename one of them",
            ));
        }
    }
    Ok(map)
}

fn law(id: &str, law: &CaseLaw) -> Result<Law, EngineError> {
    let check = |name: &str, value: f64, low: f64, strictly: bool| {
        let ok = value.is_finite() && if strictly { value > low } else { value >= low };
        let than = if strictly { "above" } else { "at least" };
        if ok {
            Ok(value)
        } else {
            Err(EngineError::new(id, format!("{name} is {value}"), format!("enter a number {than} {low}")))
        }
    };
    let above = |name: &str, value: f64| check(name, value, 0.0, true);
    let from_zero = |name: &str, value: f64| check(name, value, 0.0, false);
    Ok(match law {
        CaseLaw::Duct { length_m, diameter_m, width_m, height_m, roughness_m, k } => {
            let (area_m2, hydraulic_diameter_m, laminar_constant) = match (diameter_m, width_m, height_m) {
                (Some(d), None, None) => {
                    let d = above("diameter_m", *d)?;
                    (core::f64::consts::FRAC_PI_4 * d * d, d, friction::LAMINAR_CONSTANT_ROUND)
                }
                (None, Some(w), Some(h)) => {
                    let (w, h) = (above("width_m", *w)?, above("height_m", *h)?);
                    (w * h, 2.0 * w * h / (w + h), friction::laminar_constant_rectangular(w, h))
                }
                _ => {
                    return Err(EngineError::new(
                        id,
                        "the duct has no clear size",
                        "give diameter_m alone, or width_m and height_m",
                    ));
                }
            };
            Law::Duct(duct::DuctLaw {
                length_m: from_zero("length_m", *length_m)?,
                area_m2,
                hydraulic_diameter_m,
                roughness_m: from_zero("roughness_m", *roughness_m)?,
                laminar_constant,
                k: check("k", k.unwrap_or(0.0), f64::MIN, false)?,
            })
        }
        CaseLaw::K { k, area_m2 } => {
            Law::Loss { k: check("k", *k, f64::MIN, false)?, area_m2: above("area_m2", *area_m2)? }
        }
        CaseLaw::Power { c, n } => Law::Power { c: from_zero("c", *c)?, n: check("n", *n, 1.0, false)? },
        CaseLaw::Orifice { cd, area_m2 } => Law::Orifice(opening::Orifice {
            coefficient: above("cd", *cd)?,
            area_m2: from_zero("area_m2", *area_m2)?,
        }),
        CaseLaw::Damper { cd, area_m2, free_fraction } => Law::Orifice(opening::Orifice {
            coefficient: above("cd", *cd)?,
            area_m2: from_zero("area_m2", *area_m2)? * from_zero("free_fraction", *free_fraction)?,
        }),
        CaseLaw::Slot { model, cd, area_m2, duct_area_m2, velocity, .. } => {
            let constant = || {
                let cd =
                    cd.ok_or_else(|| EngineError::new(id, "a constant slot law has no cd", "give cd"))?;
                above("cd", cd)
            };
            Law::Slot(slot::SlotLaw {
                model: match model {
                    CaseSlotModel::ConstantTotal => slot::Model::ConstantTotal(constant()?),
                    CaseSlotModel::ConstantStatic => slot::Model::ConstantStatic(constant()?),
                    CaseSlotModel::CrossFlowSharp => slot::Model::CrossFlowSharp,
                    CaseSlotModel::CrossFlowFormed => slot::Model::CrossFlowFormed,
                    CaseSlotModel::FreeStreamline => slot::Model::FreeStreamline,
                },
                velocity: match velocity {
                    CaseVelocity::Upstream => slot::Velocity::Upstream,
                    CaseVelocity::Mean => slot::Velocity::Mean,
                },
                area_m2: from_zero("area_m2", *area_m2)?,
                duct_area_m2: above("duct_area_m2", *duct_area_m2)?,
            })
        }
        CaseLaw::Fan { points, points_density_kg_m3, speed_ratio } => {
            let density = above("points_density_kg_m3", *points_density_kg_m3)?;
            let speed = from_zero("speed_ratio", *speed_ratio)?;
            let curve = fan::FanCurve::new(points, density, speed).ok_or_else(|| {
                EngineError::new(id, "the fan curve cannot be used", "give two or more points by rising flow")
            })?;
            Law::Fan(curve)
        }
    })
}

/// The network as a case with every coefficient frozen at `solution`, so that it can be solved again
/// by anyone with constant laws and gives the same pressures and flows.
pub fn freeze(network: &Network, solution: &Solution) -> Case {
    let standard = Air::at(20.0, STANDARD_PRESSURE_PA, 0.0);
    let mut nodes: Vec<CaseNode> = network
        .nodes()
        .iter()
        .zip(&network.held_pa)
        .map(|(node, held)| CaseNode {
            id: node.id.clone(),
            total_pressure_pa: *held,
            inflow_kg_s: (node.inflow_kg_s != 0.0).then_some(node.inflow_kg_s),
        })
        .collect();
    let mut branches: Vec<CaseBranch> = network
        .branches()
        .iter()
        .enumerate()
        .map(|(i, branch)| {
            let flow = solution.flows_kg_s[i];
            let dp = solution.pressures_pa[branch.from] - solution.pressures_pa[branch.to];
            CaseBranch {
                id: branch.id.clone(),
                from: network.nodes()[branch.from].id.clone(),
                to: network.nodes()[branch.to].id.clone(),
                density_kg_m3: Some(branch.density_kg_m3),
                viscosity_pa_s: Some(branch.viscosity_pa_s),
                law: frozen_law(branch, flow, dp),
            }
        })
        .collect();
    for (i, branch) in network.branches().iter().enumerate() {
        if let Law::Doorway(law) = &branch.law {
            let flow = solution.flows_kg_s[i];
            let dp = solution.pressures_pa[branch.from] - solution.pressures_pa[branch.to];
            let speed = flow / (law.coefficient * law.width_m * law.height_m);
            let needed = speed * speed.abs() / (2.0 * branch.density_kg_m3);
            stack(&mut nodes, &mut branches, i, needed - dp);
        }
    }
    let fluid = Fluid { density_kg_m3: standard.density_kg_m3(), viscosity_pa_s: standard.viscosity_pa_s() };
    Case { fluid, nodes, branches }
}

/// Puts the buoyancy of a doorway before its orifice, as a fan of constant pressure: net flow and
/// pressure difference of an opening with flow both ways need not have the same sign.
fn stack(nodes: &mut Vec<CaseNode>, branches: &mut Vec<CaseBranch>, door: usize, rise_pa: f64) {
    const FAR_M3_S: f64 = 1e3;
    let id = branches[door].id.clone();
    let level = format!("{id}:level");
    nodes.push(CaseNode { id: level.clone(), total_pressure_pa: None, inflow_kg_s: None });
    let from = std::mem::replace(&mut branches[door].from, level.clone());
    let density = branches[door].density_kg_m3;
    branches.push(CaseBranch {
        id: format!("{id}:stack"),
        from,
        to: level,
        density_kg_m3: density,
        viscosity_pa_s: branches[door].viscosity_pa_s,
        law: CaseLaw::Fan {
            points: vec![(-FAR_M3_S, rise_pa), (FAR_M3_S, rise_pa)],
            points_density_kg_m3: density.unwrap_or(1.2),
            speed_ratio: 1.0,
        },
    });
}

fn frozen_law(branch: &Branch, flow: f64, dp: f64) -> CaseLaw {
    let density = branch.density_kg_m3;
    // A coefficient that gives `dp` at `flow` on `area`; nothing can be said at rest.
    let k_on = |area_m2: f64| {
        let velocity_pressure = flow * flow.abs() / (2.0 * density * area_m2 * area_m2);
        CaseLaw::K { k: if velocity_pressure == 0.0 { 0.0 } else { dp / velocity_pressure }, area_m2 }
    };
    let orifice = |area_m2: f64, fallback: f64| {
        let ideal = area_m2 * (2.0 * density * dp.abs()).sqrt();
        let found = flow.abs() / ideal;
        CaseLaw::Orifice { cd: if found.is_finite() && found > 0.0 { found } else { fallback }, area_m2 }
    };
    match &branch.law {
        Law::Duct(law) => {
            let (width, height) = sides(law.area_m2, law.hydraulic_diameter_m);
            let round = law.laminar_constant == friction::LAMINAR_CONSTANT_ROUND;
            CaseLaw::Duct {
                length_m: law.length_m,
                diameter_m: round.then_some(law.hydraulic_diameter_m),
                width_m: (!round).then_some(width),
                height_m: (!round).then_some(height),
                roughness_m: law.roughness_m,
                k: (law.k != 0.0).then_some(law.k),
            }
        }
        Law::Loss { k, area_m2 } => CaseLaw::K { k: *k, area_m2: *area_m2 },
        Law::Power { c, n } => CaseLaw::Power { c: *c, n: *n },
        Law::Orifice(law) => CaseLaw::Orifice { cd: law.coefficient, area_m2: law.area_m2 },
        Law::Doorway(law) => CaseLaw::Orifice { cd: law.coefficient, area_m2: law.width_m * law.height_m },
        Law::Leak(_) => orifice(1.0, 0.6),
        Law::Slot(law) => orifice(law.area_m2, 0.6),
        Law::Inlet(law) => orifice(law.area_m2, law.coefficient),
        Law::JunctionLeg(law) => k_on(law.common_area_m2),
        Law::Mixing(law) => k_on(law.area_m2),
        Law::Fan(curve) => CaseLaw::Fan {
            points: curve.points().collect(),
            points_density_kg_m3: curve.curve_density_kg_m3(),
            speed_ratio: curve.speed_ratio(),
        },
        Law::Prescribed { .. } => k_on(1.0),
    }
}

/// Sides of the rectangle of this area and hydraulic diameter.
fn sides(area: f64, hydraulic_diameter: f64) -> (f64, f64) {
    let half_sum = area / hydraulic_diameter;
    let root = (half_sum * half_sum - area).max(0.0).sqrt();
    (half_sum + root, half_sum - root)
}
