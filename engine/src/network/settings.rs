/// Tolerances and limits of the solve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// Largest mass imbalance of a node over the reference (fan) flow.
    pub mass_tolerance: f64,
    /// Largest pressure imbalance of a branch, Pa.
    pub pressure_tolerance_pa: f64,
    /// Newton steps of one attempt.
    pub max_iterations: usize,
    /// Steps taken after both tolerances are met, which bring the residuals to rounding so that answers repeat.
    pub polish: usize,
}

impl Settings {
    /// For a picture that is drawn once: a slot's flow within about a hundred-thousandth.
    pub(crate) const PICTURE: Self =
        Self { mass_tolerance: 1e-9, pressure_tolerance_pa: 1e-3, max_iterations: 60, polish: 0 };
}

impl Default for Settings {
    fn default() -> Self {
        Self { mass_tolerance: 1e-9, pressure_tolerance_pa: 1e-6, max_iterations: 60, polish: 2 }
    }
}
