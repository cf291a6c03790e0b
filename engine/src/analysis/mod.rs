//! `analyse(&Plan) -> Analysis`: build, solve and judge a plan in one call.

mod describe;
mod follow;
mod numbers;
mod results;

pub(crate) use describe::slot_results;
pub use describe::{area_ratios, describe, return_shares, slot_targets};
pub use follow::Follower;
pub use results::*;

use crate::error::EngineError;
use crate::network::from_plan::{self, Built};
use crate::network::{Settings, Solution, solve};
use crate::plan::Plan;

/// Builds, solves and judges a plan from cold.
///
/// An error means no calculation was possible; a solve that did not converge is an `Analysis` whose
/// `status` says so.
pub fn analyse(plan: &Plan) -> Result<Analysis, EngineError> {
    let (built, solution) = solved(plan)?;
    Ok(describe(plan, &built, &solution))
}

/// The same without heat and findings: where only flows and pressures are asked for.
pub(crate) fn analyse_air(plan: &Plan) -> Result<Analysis, EngineError> {
    let (built, solution) = solved(plan)?;
    Ok(describe::of_the_air(plan, &built, &solution))
}

fn solved(plan: &Plan) -> Result<(Built, Solution), EngineError> {
    crate::plan::check::numbers(plan)?;
    let built = from_plan::build(plan)?;
    let solution = solve(&built.network, &Settings::default());
    Ok((built, solution))
}
