//! Friction factors and plain pressure drops.

use super::{Row, door};
use engine::laws::friction::{LAMINAR_CONSTANT_ROUND, friction_factor, laminar_constant_rectangular};
use engine::network::door::CaseLaw;

pub fn factor(row: &Row) -> f64 {
    friction_factor(row.number("reynolds"), row.number("relative_roughness"), LAMINAR_CONSTANT_ROUND).0
}

/// All measured Reynolds numbers are turbulent, so the laminar constant does not matter.
pub fn measured(row: &Row) -> f64 {
    let relative_roughness = row.number("roughness_m") / row.number("hydraulic_diameter_m");
    friction_factor(row.number("reynolds"), relative_roughness, LAMINAR_CONSTANT_ROUND).0
}

pub fn laminar_rectangle(row: &Row) -> f64 {
    laminar_constant_rectangular(1.0, row.number("aspect"))
}

/// Pressure a set flow needs to get through `law` into still air, Pa.
fn drop(row: &Row, viscosity_pa_s: f64, law: CaseLaw) -> f64 {
    let density = row.number("rho");
    let mut case = door::case(density, viscosity_pa_s);
    case.nodes = vec![door::fed("in", density * row.number("q_m3_s")), door::held("out", 0.0)];
    case.branches = vec![door::branch("element", "in", "out", law)];
    door::pressure(&door::solved(&case), "in")
}

pub fn duct_drop(row: &Row) -> f64 {
    let (width, height) = (Some(row.number("width_m")), Some(row.number("height_m")));
    let (diameter_m, width_m, height_m) =
        if row.text("shape") == "round" { (width, None, None) } else { (None, width, height) };
    let law = CaseLaw::Duct {
        length_m: row.number("length_m"),
        diameter_m,
        width_m,
        height_m,
        roughness_m: row.number("eps_m"),
        k: row.optional("k"),
    };
    drop(row, row.number("mu"), law)
}

pub fn simple_loss(row: &Row) -> f64 {
    let coefficient = row.number("coefficient");
    let law = match row.text("form") {
        "k" => CaseLaw::K { k: coefficient, area_m2: row.number("area_m2") },
        "power" => CaseLaw::Power { c: coefficient, n: row.number("exponent") },
        _ => row.unknown("form"),
    };
    drop(row, 2e-5, law)
}
