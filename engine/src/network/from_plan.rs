//! Builds a network from a plan.
