//! How even the oven will be as built: many draws of what is in doubt, each solved.
//!
//! Every draw changes slot areas, the slot law, regain, roughness, fan, slides, dampers and temperature of
//! one network, which is solved from the plan's own solution under that law. What each input matters is
//! found from the same draws: with an input taken out of a draw by the first-order answer of every slot to
//! it, the fall of P90 is what holding that input would be worth.

mod advice;
mod doubts;
mod figures;
mod results;
mod study;
mod trial;

pub use doubts::normal_quantile;
pub use figures::{BAY_M, Figures, Histogram, quantile};
pub use results::{BayResult, INPUTS, Input, InputEffect, Progress, Settings, ToleranceResult};
pub use study::{Tolerance, tolerance};
