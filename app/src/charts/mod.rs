//! Charts drawn by plotters, and what they share.

pub mod axes;
pub mod axis;
pub mod display;
pub mod fan;
pub mod fan_view;
pub mod ink;
#[cfg(test)]
pub(crate) mod mock;
pub mod palette;
pub mod picture;
pub mod plot;
pub mod surface;
pub mod theme;
pub mod xy;
