//! Nodes and branches with pressure laws, and the Newton solve over pressures and flows together.

pub mod door;
pub mod from_plan;
mod linear;
mod problem;
mod residual;
mod settings;
mod solution;
mod solver;

pub use problem::{Branch, Network, Node};
pub use settings::Settings;
pub use solution::{Solution, Status};
pub use solver::{Solver, solve};
