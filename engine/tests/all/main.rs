//! The engine from outside: one binary, so that it is linked once and its tests run side by side.

mod as_built;
mod coverage;
mod drawing;
mod examples;
mod fan_and_returns;
mod heat;
mod heat_closes;
mod heat_findings;
mod heat_layout;
mod heat_need;
mod heated;
mod laws;
mod network;
mod plans;
mod schema;
mod sizing;
mod styles;
mod sweep;
mod targets;
mod tree;
mod verified;
