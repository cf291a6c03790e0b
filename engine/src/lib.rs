//! Airflow physics, sizing and balancing of hot-air oven duct networks.
pub mod air;
pub mod analysis;
pub mod design;
pub mod error;
pub mod finding;
pub mod judge;
pub mod laws;
pub mod network;
pub mod numerics;
pub mod plan;
pub mod units;
