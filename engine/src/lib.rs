//! Airflow physics, sizing and balancing of hot-air oven duct networks.
//!
//! ```text
//! Plan ──build──▶ Network ──solve──▶ Solution ──judge──▶ Findings
//! ```
pub mod analysis;
pub mod error;
pub mod finding;
pub mod plan;
pub mod units;
