//! Bench pieces: what their readings say.

use super::Row;
use engine::air::{GAS_CONSTANT_DRY_J_KGK, STANDARD_PRESSURE_PA, ZERO_CELSIUS_K};
use engine::design::fit_bench_pieces;
use engine::plan::{BenchPiece, Extra, Section, SlotReading, SlotVelocity, file};

/// Doubt small enough for what was thought before to weigh nothing, %.
const DOUBT_PERCENT: f64 = 0.1;
const SLOT_M: f64 = 0.4;

/// The coefficient or the regain factor under the row's own law.
pub fn fit(row: &Row) -> f64 {
    let text = include_str!("../../plans/minimal.evenrise.json");
    let mut plan = file::read(text).unwrap_or_else(|error| panic!("{error}"));
    plan.site.barometer_pa = Some(STANDARD_PRESSURE_PA);
    plan.models.slot_velocity = match row.text("velocity") {
        "mean" => SlotVelocity::Mean,
        "upstream" => SlotVelocity::Upstream,
        _ => row.unknown("velocity"),
    };
    let area_m2 = row.number("nominal_area_m2");
    let readings = row.numbers("slots").into_iter().zip(row.numbers("slot_flows_m3_s"));
    plan.bench_pieces = vec![BenchPiece {
        id: "piece".to_owned(),
        section: Section::Rectangular { width_m: row.number("duct_w_m"), height_m: row.number("duct_h_m") },
        roughness_m: row.number("eps_m"),
        root_m: 0.0,
        end_m: 0.1,
        pitch_m: row.number("spacing_m"),
        count: row.count("n_ports") as u32,
        length_m: SLOT_M,
        width_m: area_m2 / SLOT_M,
        temperature_c: STANDARD_PRESSURE_PA / (GAS_CONSTANT_DRY_J_KGK * row.number("rho")) - ZERO_CELSIUS_K,
        root_static_pa: row.number("root_static_pa"),
        end_static_pa: row.number("end_static_pa"),
        flow_m3_s: row.number("q_total_m3_s"),
        slots: readings
            .map(|(slot, flow)| SlotReading { slot: slot as u32, velocity_m_s: flow / area_m2 })
            .collect(),
        static_doubt_percent: DOUBT_PERCENT,
        flow_doubt_percent: DOUBT_PERCENT,
        slot_doubt_percent: DOUBT_PERCENT,
        extra: Extra::new(),
    }];
    let fit = fit_bench_pieces(&plan).unwrap_or_else(|error| panic!("{error}"));
    let edge = match row.text("model") {
        "cross_flow_sharp" => "sharp edge",
        "cross_flow_formed" => "formed edge",
        _ => row.unknown("model"),
    };
    let law = &fit.laws[0];
    assert!(law.law.starts_with(edge), "{}: the likeliest law is {}", row.text("id"), law.law);
    match row.text("quantity") {
        "coefficient" => law.coefficient,
        "regain" => law.regain,
        _ => row.unknown("quantity"),
    }
}
