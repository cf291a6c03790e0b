//! Outside checks: rows of data with a source and a tolerance, each answered by the public engine.
//!
//! `outside/<topic>.csv` holds the rows; [`TOPICS`] says which engine call answers them.

mod air;
mod bench;
mod design;
mod door;
mod fans;
mod fittings;
mod friction;
mod heat;
mod heat_transfer;
mod jets;
mod need;
mod networks;
mod openings;
mod plans;
mod returns;
mod row;
mod slots;
mod tables;
mod units;
mod zones;

pub use row::{KINDS, Row, rows};
pub use tables::{Checked, Table, check, report, sensitivity};

/// What answers the rows of a topic.
pub type Answer = fn(&Row) -> f64;

/// Every topic by the name of its file.
pub const TOPICS: &[(&str, Answer)] = &[
    ("air_conductivity", air::conductivity),
    ("air_curtain", openings::air_curtain),
    ("air_density", air::density),
    ("air_loop", networks::from_file),
    ("air_specific_heat", air::specific_heat),
    ("air_viscosity", air::viscosity),
    ("area_change", fittings::area_change),
    ("authority", networks::authority),
    ("balancing", networks::from_file),
    ("barometer", air::barometer),
    ("bench_fit", bench::fit),
    ("continuous_slot", slots::continuous),
    ("damper_blades", fittings::damper_blades),
    ("damper_travel", fittings::damper_travel),
    ("dead_end_march", slots::dead_end_march),
    ("design_shares", design::share),
    ("doorway", openings::doorway),
    ("duct_drop", friction::duct_drop),
    ("elbow_mitred", fittings::elbow_mitred),
    ("elbow_radius", fittings::elbow_radius),
    ("even_round_trip", slots::even_round_trip),
    ("even_sizing", slots::even_sizing),
    ("fan_curve", fans::curve),
    ("fan_data", fans::data),
    ("fan_laws", fans::laws),
    ("fan_power", fans::power),
    ("fan_table", fans::table),
    ("friction_factor", friction::factor),
    ("heat_available", heat::available),
    ("heat_coefficient", heat_transfer::coefficient),
    ("heat_conduction", heat_transfer::conduction),
    ("heat_cure", heat_transfer::cure),
    ("heat_door", heat_transfer::door),
    ("heat_floor", heat::floor),
    ("heat_fuel", heat::fuels),
    ("heat_growth", heat::growth),
    ("heat_jet", heat_transfer::jet),
    ("heat_lumped", heat_transfer::lumped),
    ("heat_moist_air", heat_transfer::moist_air),
    ("heat_need", need::needed),
    ("heat_nusselt", heat_transfer::nusselt),
    ("heat_panel", heat::panel),
    ("heat_safety", heat::safe),
    ("heat_skin", heat::skin),
    ("heat_water", heat::wet),
    ("installed_flow", fittings::installed_flow),
    ("jeppson_chapter_5", networks::from_file),
    ("jeppson_chapter_7", networks::from_file),
    ("jet_buoyancy", jets::buoyancy),
    ("jet_decay", jets::decay),
    ("junction_converging", fittings::junction_converging),
    ("junction_diverging", fittings::junction_diverging),
    ("laminar_rectangle", friction::laminar_rectangle),
    ("larock", networks::from_file),
    ("leakage", openings::leakage),
    ("measured_rectangle", friction::measured),
    ("measured_round", friction::measured),
    ("measured_square", friction::measured),
    ("operating_point", fans::operating_point),
    ("optimised_returns", design::opening),
    ("optimised_slots", design::width),
    ("orifice", networks::orifice),
    ("plan_points", plans::points),
    ("plan_regain", plans::run),
    ("plan_run", plans::run),
    ("plan_slot_laws", plans::comparison),
    ("plan_speed", plans::speed),
    ("return_element", returns::element),
    ("return_header", returns::header),
    ("simple_loss", friction::simple_loss),
    ("slot_coefficient", slots::coefficient),
    ("slot_free_streamline", slots::free_streamline),
    ("slot_single", slots::single),
    ("symmetric_tee", fittings::symmetric_tee),
    ("trade_units", units::trade),
    ("two_zones", zones::two_zones),
];
