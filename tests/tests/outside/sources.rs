//! The engine against sources outside it. `cargo verify --bless` rewrites the two generated tables.

use std::collections::{BTreeMap, HashSet};
use tests::outside::{self, KINDS, TOPICS};

#[test]
fn every_row_is_within_its_tolerance() {
    let checked = outside::check();
    let red: Vec<String> = checked
        .iter()
        .filter(|c| !c.passes(c.got))
        .map(|c| {
            format!(
                "{} {}: expected {} {}, got {} ({:+.4} %, tolerance {} %)",
                c.row.topic,
                c.row.text("id"),
                c.row.text("expected"),
                c.row.text("unit"),
                c.got,
                c.deviation_percent(c.got),
                c.row.text("tolerance_percent"),
            )
        })
        .collect();
    assert!(red.is_empty(), "{} of {} rows are off:\n{}", red.len(), checked.len(), red.join("\n"));
}

#[test]
fn the_report_is_the_committed_one() {
    let differences = outside::report(&outside::check()).differences();
    assert!(differences.is_empty(), "`cargo verify --bless` accepts this:\n{}", differences.join("\n"));
}

/// A law is a piece of physics that one factor could get wrong; the rows that depend on it alone name it.
#[test]
fn five_percent_in_any_law_turns_a_row_red() {
    let table = outside::sensitivity(&outside::check());
    let named: Vec<&str> = table.lines().iter().map(|line| line[0].as_str()).collect();
    assert_eq!(named, LAWS, "the laws named by the rows are not the laws of the engine");
    let silent: Vec<&str> =
        table.lines().iter().filter(|line| line[2] == "0").map(|line| line[0].as_str()).collect();
    assert!(silent.is_empty(), "no row notices 5 % in {silent:?}");
    let differences = table.differences();
    assert!(differences.is_empty(), "`cargo verify --bless` accepts this:\n{}", differences.join("\n"));
}

#[test]
fn the_rows_keep_the_rules() {
    let rows = outside::rows();
    let count = |kind: &str| rows.iter().filter(|row| row.text("kind") == kind).count();
    assert!(rows.len() >= 150);
    assert!(count("published example") >= 20);
    assert!(count("measured") >= 10);
    let mut ids = HashSet::new();
    let mut topics: BTreeMap<&str, usize> = BTreeMap::new();
    for row in &rows {
        let id = row.text("id");
        assert!(ids.insert(id), "two rows are called {id}");
        assert!(KINDS.contains(&row.text("kind")), "{id}: {} is no kind of source", row.text("kind"));
        assert!(!row.text("source").is_empty(), "{id} names no source");
        assert!(row.number("tolerance_percent") > 0.0 && row.number("expected") != 0.0, "{id}");
        assert!(
            row.number("tolerance_percent") <= 1.0 || !row.text("uncertainty").is_empty(),
            "{id}: a tolerance over 1 % must state the source's own uncertainty"
        );
        *topics.entry(&row.topic).or_default() += 1;
    }
    for (topic, count) in &topics {
        assert!(10 * count <= rows.len(), "{topic} has {count} of {} rows, more than a tenth", rows.len());
    }
    let listed: Vec<&str> = TOPICS.iter().map(|(topic, _)| *topic).collect();
    let found: Vec<&str> = topics.into_keys().collect();
    assert_eq!(listed, found, "topics with an engine call and files with rows differ");
}

/// Every law of the engine. Whoever adds one adds rows that name it.
const LAWS: &[&str] = &[
    "air::barometer",
    "air::conductivity",
    "air::density",
    "air::specific_heat",
    "air::viscosity",
    "balance::balance",
    "combustion::air_over_fuel",
    "combustion::available_heat",
    "combustion::dry_oxygen_percent",
    "combustion::net_over_gross",
    "combustion::per_watt",
    "convection::cylinder",
    "convection::inside_duct",
    "convection::merged_jets_m_s",
    "convection::plane_jet_m_s",
    "convection::plate",
    "convection::radiation_w_m2k",
    "coverage::archimedes",
    "coverage::entrained",
    "coverage::momentum_length",
    "coverage::plane",
    "coverage::round",
    "damper::authority",
    "damper::flow_fraction",
    "damper::installed_fraction",
    "damper::opposed",
    "damper::parallel",
    "design::compare_slot_laws",
    "design::even_out",
    "design::find_speed",
    "design::fit_bench_pieces",
    "design::operating_points",
    "design::set_returns",
    "doorway::Doorway",
    "doorway::curtain_velocity",
    "duct::Duct",
    "elbow::EXIT",
    "elbow::REENTRANT_ENTRY",
    "elbow::SHARP_ENTRY",
    "elbow::gradual_expansion",
    "elbow::mitred",
    "elbow::radius",
    "elbow::rounded_entry",
    "elbow::sudden_contraction",
    "elbow::sudden_expansion",
    "elbow::vaned",
    "envelope::clear_panel",
    "envelope::contact_burn",
    "envelope::outside_coefficient",
    "envelope::stone_wool_w_mk",
    "envelope::through_metal",
    "envelope::trade_factor",
    "expansion::elongation",
    "expansion::growth",
    "expansion::panel_bow",
    "expansion::restrained_stress",
    "fan::FanCurve",
    "fan::belt_speed",
    "fan::cold_start_speed_ratio",
    "fan::shaft_power",
    "fan::speed",
    "fan::system_effect",
    "fan::temperature_rise",
    "fan::tolerance",
    "floor_slab::slab_top_after",
    "floor_slab::steady_floor",
    "floor_slab::still_gap",
    "friction::laminar",
    "friction::laminar_constant_rectangular",
    "friction::turbulent",
    "junction::converging_branch",
    "junction::converging_straight",
    "junction::diverging_branch",
    "junction::diverging_straight",
    "junction::idelchik_converging_branch",
    "junction::idelchik_converging_straight",
    "junction::symmetric_converging",
    "junction::symmetric_diverging",
    "laws::Loss",
    "laws::Power",
    "leakage::LeakLaw",
    "leakage::class_factor",
    "leakage::factor_from_cl",
    "leakage::factor_from_test",
    "material::steel_specific_heat",
    "need::need",
    "opening::Inlet",
    "opening::Mixing",
    "opening::Orifice",
    "openings::stop_kg_s",
    "part::Body",
    "part::Heated",
    "part::Schedule",
    "part::conduct",
    "parts::cure_index",
    "plan::regain",
    "safety::PRODUCTS",
    "safety::RELIEF_M",
    "safety::dilution",
    "safety::lfl_factor",
    "safety::powder_dilution",
    "safety::purge_time",
    "slot::ConstantStatic",
    "slot::ConstantTotal",
    "slot::CrossFlowFormed",
    "slot::CrossFlowSharp",
    "slot::FreeStreamline",
    "slot::free_streamline",
    "stream::enthalpy_j_kg",
    "units::parse",
    "units::show",
    "water::dew_point",
    "water::evaporation",
    "water::saturation_pressure",
    "water::wet_bulb",
    "water::wet_bulb_c",
];
