//! Leakage, doorways and air curtains.

use super::Row;
use engine::laws::doorway::{Doorway, curtain_velocity_m_s};
use engine::laws::leakage::{LeakLaw, class_factor, factor_from_cl, factor_from_test};

/// Leakage of one square metre of duct, l/(s·m²).
pub fn leakage(row: &Row) -> f64 {
    let grade = row.text("grade");
    let factor = match row.text("law") {
        "leakage::class_factor" => {
            grade.chars().next().and_then(class_factor).unwrap_or_else(|| row.unknown("grade"))
        }
        "leakage::factor_from_cl" => factor_from_cl(row.number("grade")),
        // The grade is the flow of a test, m³/s, on 12 m² at 250 Pa.
        "leakage::factor_from_test" => factor_from_test(row.number("grade"), 12.0, 250.0),
        "leakage::LeakLaw" => row.number("grade"),
        _ => row.unknown("law"),
    };
    // 1 kg/m³ makes the mass flow a volume flow.
    1e3 * LeakLaw { conductance_m3_s: factor }.flow(row.number("dp_pa"), 1.0).0
}

fn door(row: &Row) -> Doorway {
    Doorway {
        coefficient: row.number("cd"),
        width_m: row.number("width_m"),
        sill_m: row.number("sill_m"),
        height_m: row.number("height_m"),
        from_density: row.number("rho_from"),
        to_density: row.number("rho_to"),
    }
}

/// The pressure difference at the floor at which as much leaves as enters, by halving.
fn balanced_pa(door: &Doorway) -> f64 {
    let (mut low, mut high) = (-500.0, 500.0);
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        let exchange = door.exchange(middle);
        if exchange.out_kg_s > exchange.in_kg_s { high = middle } else { low = middle }
    }
    0.5 * (low + high)
}

/// What passes a doorway at a set pressure difference, or where it is in balance when none is set.
pub fn doorway(row: &Row) -> f64 {
    let door = door(row);
    let dp = row.optional("dp_floor_pa").unwrap_or_else(|| balanced_pa(&door));
    let exchange = door.exchange(dp);
    match row.text("quantity") {
        "out" => exchange.out_kg_s,
        "in" => exchange.in_kg_s,
        "out_volume" => exchange.out_kg_s / door.from_density,
        "neutral" => exchange.neutral_m.unwrap_or_else(|| row.unknown("quantity")),
        "dp_floor" => dp,
        _ => row.unknown("quantity"),
    }
}

pub fn air_curtain(row: &Row) -> f64 {
    curtain_velocity_m_s(
        row.number("modulus"),
        row.number("height_m"),
        row.number("nozzle_m"),
        row.number("rho_jet"),
        row.number("rho_cold") - row.number("rho_hot"),
    )
}
