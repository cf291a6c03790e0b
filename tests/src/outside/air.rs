//! Air properties.

use super::Row;
use engine::air::Air;
use uom::si::{f64::Length, length::meter};

fn dry(row: &Row) -> Air {
    Air::at(row.number("t_c"), row.number("p_pa"), 0.0)
}

pub fn density(row: &Row) -> f64 {
    Air::at(row.number("t_c"), row.number("p_pa"), row.number("humidity_ratio")).density().value
}

pub fn viscosity(row: &Row) -> f64 {
    dry(row).viscosity().value
}

pub fn specific_heat(row: &Row) -> f64 {
    dry(row).specific_heat().value
}

pub fn conductivity(row: &Row) -> f64 {
    dry(row).conductivity().value
}

pub fn barometer(row: &Row) -> f64 {
    engine::air::barometer(Length::new::<meter>(row.number("altitude_m"))).value
}
