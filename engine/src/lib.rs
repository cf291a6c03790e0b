//! Airflow physics, sizing and balancing of hot-air oven duct networks.
//!
//! ```text
//! Plan ──build──▶ Network ──solve──▶ Solution ──judge──▶ Findings
//! ```
//!
//! A plan ([`plan`]) is what a person decides. [`network::from_plan`] turns its geometry into nodes and
//! branches, each with a pressure law ([`laws`]): a residual g(p, ṁ) = 0 with its whole gradient.
//! [`network`] solves all laws and all mass balances together by Newton's method,
//!
//! ```text
//! g_b(p_from, p_to, ṁ_b, …) = 0   for every branch b
//! Σ ṁ_b into n + inflow_n   = 0   for every node n of free pressure
//! ```
//!
//! [`analysis`] says what the solution means, [`judge`] what a practitioner would say about it, and
//! [`design`] changes the plan: even out, set returns, find speed.
#![deny(missing_docs)]
pub mod air;
pub mod analysis;
pub mod coverage;
pub mod design;
pub mod error;
pub mod finding;
pub mod heat;
pub mod judge;
pub mod laws;
pub mod limits;
pub mod network;
pub mod numerics;
pub mod plan;
pub mod safety;
pub mod units;
