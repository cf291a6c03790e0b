//! Charts drawn by plotters, and what they share.

pub mod display;
pub mod palette;
pub mod surface;
pub mod theme;
