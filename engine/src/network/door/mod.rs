//! The second JSON door: a bare network in, pressures and flows out.
//!
//! Documented in the README; keys are only ever added, an unknown key is an error.

mod build;
mod case;
mod freeze;

pub use build::build;
pub use case::*;
pub use freeze::freeze;

use super::{Network, Settings, Solution, Status};
use crate::error::EngineError;

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
        starts: solution.starts,
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
