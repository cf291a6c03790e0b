//! Product openings: spill, what stops it, and the heat they lose.

use super::results::OpeningHeat;
use crate::laws::doorway::{Doorway, GRAVITY_M_S2, curtain_velocity_m_s};

/// Deflection modulus that a curtain is sized with: the least value 0.2 times a factor of safety of 1.5 (Hayes &
/// Stoecker 1969; from memory).
pub const CURTAIN_MODULUS: f64 = 0.3;
/// Nozzle of a curtain whose jet is told, m.
pub const CURTAIN_NOZZLE_M: f64 = 0.05;
/// Share of the height that a hood brings the upper edge down by, to show what it would save.
pub const HOOD_SHARE: f64 = 0.25;

/// Plant air that has to be drawn in through an opening so that nothing spills: all of it flows in, and the level
/// of equal pressure is at the upper edge, kg/s.
///
/// ṁ = (2/3)·C·W·√(2g·ρ_c·(ρ_c − ρ_h))·H^1.5, ρ kg/m³ of plant and oven, W and H m. Zero for air that is no lighter.
/// Source: hydrostatics of a vertical opening (Kawagoe 1958).
///
/// ```
/// use engine::{heat::openings::stop_kg_s, laws::doorway::Doorway};
/// let door = Doorway { coefficient: 0.6, width_m: 0.8, sill_m: 0.4, height_m: 1.6,
///                      from_density: 353.05 / 473.15, to_density: 353.05 / 293.15 };
/// assert!((stop_kg_s(&door) - 2.1305).abs() < 0.001);
/// ```
pub fn stop_kg_s(door: &Doorway) -> f64 {
    let lighter = door.to_density - door.from_density;
    if lighter <= 0.0 {
        return 0.0;
    }
    let height = door.height_m * door.height_m.sqrt();
    2.0 / 3.0
        * door.coefficient
        * door.width_m
        * (2.0 * GRAVITY_M_S2 * door.to_density * lighter).sqrt()
        * height
}

/// Momentum that the jet of an air curtain needs to reach across an opening, N per metre of its width.
///
/// J = D_m·g·H²·(ρ_c − ρ_h), D_m the deflection modulus of [`CURTAIN_MODULUS`]: with a nozzle b wide, u₀ = √(J/(ρ₀·b)).
/// It stops 40 to 80 % of the exchange when tuned; no curtain stops all. Source: Hayes & Stoecker 1969 (numbers from
/// memory).
///
/// ```
/// // 2 m high, 200 against 20 °C: 5.4 N/m, that is 9.5 m/s from a nozzle of 50 mm.
/// let j = engine::heat::openings::curtain_n_m(2.0, 1.20458 - 0.74581);
/// assert!((j - 5.40).abs() < 0.01 && ((j / (1.20458 * 0.05)).sqrt() - 9.47).abs() < 0.01);
/// ```
pub fn curtain_n_m(height_m: f64, density_step_kg_m3: f64) -> f64 {
    CURTAIN_MODULUS * GRAVITY_M_S2 * height_m * height_m * density_step_kg_m3.abs()
}

/// What an opening does at `apart_pa`, the pressure of its zone over that beyond it at floor level.
pub fn describe(id: &str, door: &Doorway, apart_pa: f64, air_w: f64, radiation_w: f64) -> OpeningHeat {
    let exchange = door.exchange(apart_pa);
    let hooded = Doorway { height_m: (1.0 - HOOD_SHARE) * door.height_m, ..*door };
    OpeningHeat {
        id: id.to_owned(),
        out_kg_s: exchange.out_kg_s,
        in_kg_s: exchange.in_kg_s,
        neutral_level_m: exchange.neutral_m,
        air_w,
        radiation_w,
        stop_kg_s: stop_kg_s(door),
        hooded_out_kg_s: hooded.exchange(apart_pa).out_kg_s,
        curtain_n_m: curtain_n_m(door.height_m, door.to_density - door.from_density),
        curtain_m_s: curtain_velocity_m_s(
            CURTAIN_MODULUS,
            door.height_m,
            CURTAIN_NOZZLE_M,
            door.to_density,
            (door.to_density - door.from_density).abs(),
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_curtains_jet_carries_its_momentum() {
        let door = Doorway {
            coefficient: 0.6,
            width_m: 0.8,
            sill_m: 0.4,
            height_m: 1.6,
            from_density: 353.05 / 473.15,
            to_density: 353.05 / 293.15,
        };
        let told = describe("entry", &door, 0.0, 0.0, 0.0);
        let carried = door.to_density * CURTAIN_NOZZLE_M * told.curtain_m_s * told.curtain_m_s;
        assert!((carried / told.curtain_n_m - 1.0).abs() < 1e-12 && told.curtain_m_s > 5.0, "{told:?}");
    }
}
