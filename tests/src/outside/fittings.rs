//! Elbows, changes of area, junctions and blade dampers.

use super::Row;
use engine::laws::damper::{Blades, authority, installed_fraction};
use engine::laws::duct::DuctLaw;
use engine::laws::elbow;
use engine::laws::friction::LAMINAR_CONSTANT_ROUND;
use engine::laws::junction::{Losses, Shape, idelchik_converging};

pub fn elbow_mitred(row: &Row) -> f64 {
    match row.text("law") {
        "elbow::mitred" => elbow::mitred(row.number("angle_deg")),
        "elbow::vaned" => elbow::vaned(row.number("angle_deg")),
        _ => row.unknown("law"),
    }
}

/// The bend's own coefficient; with a Reynolds number, that plus the friction of its smooth arc.
pub fn elbow_radius(row: &Row) -> f64 {
    let (angle, ratio) = (row.number("angle_deg"), row.number("radius_ratio"));
    let k = elbow::radius(angle, ratio);
    let Some(reynolds) = row.optional("reynolds") else { return k };
    let arc = DuctLaw {
        length_m: angle.to_radians() * ratio,
        area_m2: 1.0,
        hydraulic_diameter_m: 1.0,
        roughness_m: 0.0,
        laminar_constant: LAMINAR_CONSTANT_ROUND,
        k,
    };
    // 1 kg/s of 1 kg/m³ through 1 m²: half a pascal of velocity pressure.
    arc.drop(1.0, 1.0, 1.0 / reynolds).0 / 0.5
}

pub fn area_change(row: &Row) -> f64 {
    let ratio = row.number("area_ratio");
    match row.text("law") {
        "elbow::sudden_expansion" => elbow::sudden_expansion(ratio),
        "elbow::sudden_contraction" => elbow::sudden_contraction(ratio),
        "elbow::gradual_expansion" => {
            let pyramid = row.text("fitting").contains("pyramid");
            elbow::gradual_expansion(ratio, row.number("angle_deg"), pyramid)
        }
        "elbow::rounded_entry" => elbow::rounded_entry(row.number("radius_ratio")),
        "elbow::SHARP_ENTRY" => elbow::SHARP_ENTRY,
        "elbow::REENTRANT_ENTRY" => elbow::REENTRANT_ENTRY,
        "elbow::EXIT" => elbow::EXIT,
        _ => row.unknown("law"),
    }
}

fn shape(row: &Row, angle_deg: f64) -> Shape {
    Shape { common_area_m2: 1.0, area_ratio: row.number("area_ratio"), angle_deg }
}

/// Coefficient of the row's leg when one unit of flow comes in by the row's inlet.
pub fn junction_diverging(row: &Row) -> f64 {
    let (shape, q) = (shape(row, row.number("angle_deg")), row.number("q"));
    match (row.text("inlet"), row.text("leg")) {
        ("common", leg) => leg_of(row, leg, shape.losses(1.0 - q, q)),
        // By the straight leg: on to the common leg is straight ahead.
        ("straight", "straight") => -shape.losses(-1.0, q).to_straight.0,
        ("straight", "branch") => {
            let losses = shape.losses(-1.0, q);
            losses.to_branch.0 - losses.to_straight.0
        }
        _ => row.unknown("inlet"),
    }
}

/// Coefficient of the row's leg when one unit of flow leaves by the row's inlet leg.
pub fn junction_converging(row: &Row) -> f64 {
    let (shape, q) = (shape(row, row.number("angle_deg")), row.number("q"));
    let tables = || idelchik_converging(q, shape.area_ratio, shape.angle_deg);
    match row.text("law") {
        "junction::idelchik_converging_straight" => return tables().0,
        "junction::idelchik_converging_branch" => return tables().1,
        _ => {}
    }
    match (row.text("inlet"), row.text("leg")) {
        ("common", leg) => -leg_of(row, leg, shape.losses(q - 1.0, -q)),
        ("straight", "straight") => shape.losses(1.0, -q).to_straight.0,
        ("straight", "branch") => {
            let losses = shape.losses(1.0, -q);
            losses.to_straight.0 - losses.to_branch.0
        }
        _ => row.unknown("inlet"),
    }
}

fn leg_of(row: &Row, leg: &str, losses: Losses) -> f64 {
    match leg {
        "straight" => losses.to_straight.0,
        "branch" => losses.to_branch.0,
        _ => row.unknown("leg"),
    }
}

/// The side leg is the common one; its velocity pressure is that of the run over the area ratio squared.
pub fn symmetric_tee(row: &Row) -> f64 {
    let (shape, q) = (shape(row, 90.0), row.number("q"));
    let to_side_pressure = shape.area_ratio * shape.area_ratio;
    match row.text("pattern") {
        // The branch brings 1, the straight leg takes q of it; p_branch − p_straight.
        "diverging" => {
            let losses = shape.losses(q, -1.0);
            (losses.to_straight.0 - losses.to_branch.0) * to_side_pressure
        }
        // The branch takes 1, the straight leg brings q of it; p_straight − p_branch.
        "converging" => {
            let losses = shape.losses(-q, 1.0);
            (losses.to_branch.0 - losses.to_straight.0) * to_side_pressure
        }
        _ => row.unknown("pattern"),
    }
}

fn blades(row: &Row) -> Blades {
    match row.text("blades") {
        "opposed" => Blades::Opposed,
        "parallel" => Blades::Parallel,
        _ => row.unknown("blades"),
    }
}

pub fn damper_blades(row: &Row) -> f64 {
    blades(row).loss(row.number("angle_deg"))
}

pub fn damper_travel(row: &Row) -> f64 {
    blades(row).flow_fraction(row.number("open_percent"), row.number("leakage_percent"))
}

/// Flow of a throttled path over its flow with the damper open; the authority by the two drops.
pub fn installed_flow(row: &Row) -> f64 {
    let share = authority(row.number("open_drop_pa"), row.number("path_drop_pa"));
    match row.text("law") {
        "damper::authority" => share,
        "damper::installed_fraction" => installed_fraction(row.number("free_fraction"), share),
        _ => row.unknown("law"),
    }
}
