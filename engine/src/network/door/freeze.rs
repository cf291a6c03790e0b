//! From a solved network to a case with constant coefficients.

use super::{Case, CaseBranch, CaseLaw, CaseNode, Fluid};
use crate::air::{Air, STANDARD_PRESSURE_PA};
use crate::laws::{Law, friction};
use crate::network::{Branch, Network, Solution};

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
        Law::JunctionLeg(law) => k_on(law.shape.common_area_m2),
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
