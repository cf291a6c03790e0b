//! What stops a calculation, with the place and the remedy.

use serde::{Deserialize, Serialize};

/// Why a plan, a network or a file cannot be worked on.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, thiserror::Error)]
#[error("{place}: {problem}; {remedy}")]
pub struct EngineError {
    /// The plan item or the field, as the user knows it.
    pub place: String,
    /// What is wrong.
    pub problem: String,
    /// What to do.
    pub remedy: String,
}

impl EngineError {
    /// An error at `place`.
    pub fn new(place: impl Into<String>, problem: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self { place: place.into(), problem: problem.into(), remedy: remedy.into() }
    }
}
