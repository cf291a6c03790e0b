//! Heat in the oven: bays, coupled zones and burner, parts, openings and warm-up.

pub mod bays;
pub mod convection;
pub mod part;
pub mod stream;
