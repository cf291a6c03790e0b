//! Commands that design: even out, set returns, find speed.
//!
//! Each takes a plan and gives a plan. All flows the plan asks for are known before sizing begins, so
//! sizing solves the network with those flows set, reads the pressures left for each opening, and takes
//! the opening from its law in one step; only the rounding to what a shop can cut or set needs search.

mod alternatives;
mod bench_piece;
mod candidate;
mod compare;
mod course;
mod cutting;
mod drive;
mod even_out;
mod even_out_p90;
mod exact;
mod find_speed;
mod first_layout;
mod gauge;
mod level;
mod rounding;
mod sections;
mod set_returns;
mod spacing;
mod stepped_duct;
mod target;
mod tolerance;

pub use alternatives::{Alternative, Alternatives, AlternativesFound, Merit, alternatives};
pub use bench_piece::{BenchFit, LawFit, Reading, fit_bench_pieces};
pub use candidate::fan_kwh_per_year;
pub use compare::{OperatingPoint, SLOT_LAWS, UnderLaw, compare_slot_laws, operating_points};
pub use course::{Course, Method, compare_courses};
pub use drive::{BeltPair, DutyPoint, FanDuty, MotorChoice, duty_findings, fan_duty, fit_drive};
pub use even_out::even_out;
pub use even_out_p90::{EvenOutP90, EvenedForP90, even_out_p90};
pub use find_speed::find_speed;
pub use first_layout::FirstLayout;
pub use gauge::{gauges_m, highest_pressure_pa, least_sheet_m, sheet_kg, sheet_m2};
pub use level::{LevelBy, Levelled, compare_levels, level_runs};
pub use sections::{Budget, DuctCost, Sized, suggest_sections};
pub use set_returns::set_returns;
pub use target::{EvenTarget, even_out_to};
pub use tolerance::{
    BAY_M, BayResult, Figures, Histogram, INPUTS, Input, InputEffect, Progress,
    Settings as ToleranceSettings, Tolerance, ToleranceResult, normal_quantile, quantile, tolerance,
};

use crate::analysis::{Analysis, return_shares, slot_targets};
use crate::error::EngineError;
use crate::finding::Finding;
use crate::laws::Law;
use crate::network::from_plan::Built;
use crate::numerics::{rising, sort_keys};
use crate::plan::Plan;

/// A plan after a command, with the figures before and after.
#[derive(Clone, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Designed {
    /// The plan with the command applied.
    pub plan: Plan,
    /// The plan as it was.
    pub before: Analysis,
    /// The plan as it is.
    pub after: Analysis,
    /// What the command could not reach, and why.
    pub findings: Vec<Finding>,
}

/// `n` steps as a length, m; rounded to a nanometre so that files stay readable.
fn in_steps(n: i64, step_m: f64) -> f64 {
    (n as f64 * step_m * 1e9).round() / 1e9
}

/// Orders indices by the size of their deviation, largest first, then by index.
fn worst_first(order: &mut [usize], deviations: &[f64]) {
    let key = |&i: &usize| (u128::from(rising(-deviations[i].abs())) << 64) | i as u128;
    let mut keys: Vec<u128> = order.iter().map(key).collect();
    sort_keys(&mut keys);
    for (place, key) in order.iter_mut().zip(keys) {
        *place = key as usize;
    }
}

/// Sets every slot to its target flow.
fn prescribe_slots(plan: &Plan, built: &mut Built) -> Result<(), EngineError> {
    let targets = slot_targets(plan, built);
    let each = built.slots.iter().zip(targets);
    built
        .network
        .set_laws(each.map(|(site, mass_flow_kg_s)| (site.branch, Law::Prescribed { mass_flow_kg_s })))
}

/// Sets every return but `index` to its share of the required flow.
fn prescribe_returns_but(plan: &Plan, built: &mut Built, index: usize) -> Result<(), EngineError> {
    let shares = return_shares(plan);
    let each = built.returns.iter().zip(shares).enumerate().filter(|(i, _)| *i != index);
    built.network.set_laws(each.map(|(_, (site, share))| {
        (site.branch, Law::Prescribed { mass_flow_kg_s: share * plan.required_flow_kg_s })
    }))
}
