//! Small networks put through the engine's network door.

use engine::network::door::{Answer, Case, CaseBranch, CaseLaw, CaseNode, Fluid, answer, solve};

/// A case of one fluid, to be filled.
pub fn case(density_kg_m3: f64, viscosity_pa_s: f64) -> Case {
    Case { fluid: Fluid { density_kg_m3, viscosity_pa_s }, nodes: Vec::new(), branches: Vec::new() }
}

/// A node with nothing set.
pub fn node(id: impl Into<String>) -> CaseNode {
    CaseNode { id: id.into(), total_pressure_pa: None, inflow_kg_s: None }
}

/// A node at a set total pressure.
pub fn held(id: &str, total_pressure_pa: f64) -> CaseNode {
    CaseNode { total_pressure_pa: Some(total_pressure_pa), ..node(id) }
}

/// A node that takes in a set flow.
pub fn fed(id: &str, inflow_kg_s: f64) -> CaseNode {
    CaseNode { inflow_kg_s: Some(inflow_kg_s), ..node(id) }
}

/// A branch in the fluid of the case.
pub fn branch(
    id: impl Into<String>,
    from: impl Into<String>,
    to: impl Into<String>,
    law: CaseLaw,
) -> CaseBranch {
    CaseBranch {
        id: id.into(),
        from: from.into(),
        to: to.into(),
        density_kg_m3: None,
        viscosity_pa_s: None,
        law,
    }
}

/// A rectangular duct of no roughness and no length: it carries a flow that others read.
pub fn joint(width_m: f64, height_m: f64) -> CaseLaw {
    let (width_m, height_m) = (Some(width_m), Some(height_m));
    CaseLaw::Duct { length_m: 0.0, diameter_m: None, width_m, height_m, roughness_m: 0.0, k: None }
}

/// The door's answer to a case, which must converge.
pub fn solved(case: &Case) -> Answer {
    let (network, solution) = solve(case).unwrap_or_else(|error| panic!("{error}"));
    assert!(solution.converged(), "{} at {}", solution.status.word(), solution.worst);
    answer(&network, &solution)
}

/// Mass flow of a branch, kg/s.
pub fn flow(answer: &Answer, id: &str) -> f64 {
    let found = answer.branches.iter().find(|branch| branch.id == id);
    found.unwrap_or_else(|| panic!("no branch {id}")).mass_flow_kg_s
}

/// Total pressure of a node, Pa.
pub fn pressure(answer: &Answer, id: &str) -> f64 {
    let found = answer.nodes.iter().find(|node| node.id == id);
    found.unwrap_or_else(|| panic!("no node {id}")).total_pressure_pa
}
