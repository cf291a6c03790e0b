//! Jets of slots, on their axis.

use super::Row;
use engine::air::{Air, ZERO_CELSIUS_K};
use engine::coverage::{Jet, velocity_at};
use uom::si::f64::{Pressure, ThermodynamicTemperature};
use uom::si::{mass_density::kilogram_per_cubic_meter, pressure::pascal, thermodynamic_temperature::kelvin};

/// A slot so long that its ends do not count, m.
const LONG_M: f64 = 1_000.0;

fn jet(length_m: f64, thickness_m: f64, velocity_m_s: f64) -> Jet {
    Jet {
        from: [0.0; 3],
        axis: [0.0, 0.0, 1.0],
        along: [1.0, 0.0, 0.0],
        length_m,
        thickness_m,
        velocity_m_s,
        density_ratio: 1.0,
        buoyancy_m_s2: 0.0,
    }
}

/// Axis velocity or air carried at a distance.
pub fn decay(row: &Row) -> f64 {
    let (size_m, x_m) = (row.number("size_m"), row.number("x_m"));
    let density_ratio = row.number("density_ratio");
    let shape =
        |length_m, thickness_m| Jet { density_ratio, ..jet(length_m, thickness_m, row.number("u0_m_s")) };
    let on_axis = |jet: Jet| velocity_at([jet].iter(), [0.0, 0.0, x_m])[2];
    // A round hole is a square one of its area: only the area counts so far away.
    let side_m = size_m * core::f64::consts::FRAC_PI_4.sqrt();
    match row.text("quantity") {
        "plane_velocity" => on_axis(shape(LONG_M, size_m)),
        "round_velocity" => on_axis(shape(side_m, side_m)),
        "plane_carried" => shape(LONG_M, size_m).entrained(x_m),
        _ => row.unknown("quantity"),
    }
}

/// Archimedes number or momentum length of a plane jet in warmer or colder air.
pub fn buoyancy(row: &Row) -> f64 {
    let kelvins = |column: &str| row.number(column) + ZERO_CELSIUS_K;
    let density = |k: f64| {
        let air = Air::new(ThermodynamicTemperature::new::<kelvin>(k), Pressure::new::<pascal>(1.0e5), 0.0);
        air.density().get::<kilogram_per_cubic_meter>()
    };
    let (warm, around) = (kelvins("jet_c"), kelvins("around_c"));
    let jet = Jet {
        density_ratio: density(warm) / density(around),
        buoyancy_m_s2: 9.806_65 * (warm - around) / around,
        ..jet(LONG_M, row.number("b_m"), row.number("u0_m_s"))
    };
    match row.text("quantity") {
        "archimedes" => jet.archimedes(),
        "momentum_length" => jet.momentum_length_m(),
        _ => row.unknown("quantity"),
    }
}
