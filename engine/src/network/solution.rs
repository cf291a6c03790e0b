/// How a solve ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// Both residuals are below their tolerances.
    Converged,
    /// The iteration ended above them; the last iterate is returned, marked as such.
    NotConverged,
    /// The equations have no single solution near the last iterate.
    Singular,
}

impl Status {
    /// The word used at the JSON doors.
    pub fn word(self) -> &'static str {
        match self {
            Self::Converged => "converged",
            Self::NotConverged => "not converged: the iteration stalled",
            Self::Singular => "not converged: the equations became singular",
        }
    }
}

/// Pressures and flows of a network with the record of how they were found.
#[derive(Clone, Debug, PartialEq)]
pub struct Solution {
    /// How the solve ended.
    pub status: Status,
    /// Total pressure at each node, Pa gauge.
    pub pressures_pa: Vec<f64>,
    /// Mass flow of each branch, kg/s, positive from → to.
    pub flows_kg_s: Vec<f64>,
    /// Largest mass imbalance of a node over the reference flow.
    pub mass_residual: f64,
    /// Largest pressure imbalance of a branch, Pa.
    pub pressure_residual_pa: f64,
    /// The branch or node that closes worst.
    pub worst: String,
    /// Newton steps taken, all attempts together.
    pub iterations: usize,
    /// Starts tried until this answer was found. Where several different fans work against each other
    /// there may be other answers; this says from how many starts one was searched.
    pub starts: usize,
}

impl Solution {
    /// Whether both residuals are below their tolerances.
    pub fn converged(&self) -> bool {
        self.status == Status::Converged
    }
}
