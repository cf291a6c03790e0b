//! Heat: fuels, panels, floor, growth, water and safety arithmetic.

use super::Row;
use engine::heat::{combustion, envelope, expansion, floor_slab, material, water};
use engine::plan::{FloorBuildUp, FloorGap, Fuel, Joints, Material, PanelBuildUp, Slab};
use engine::safety;

const BTU_H_W: f64 = 0.293_071_07;
const FOOT3_M3: f64 = 0.028_316_846_592;
const GALLON_M3: f64 = 0.003_785_411_784;

fn fuel(row: &Row) -> Fuel {
    match row.text("fuel") {
        "natural_gas" => Fuel::NaturalGas,
        "propane" => Fuel::Propane,
        "methane" => Fuel::Methane,
        _ => row.unknown("fuel"),
    }
}

pub fn available(row: &Row) -> f64 {
    100.0 * combustion::available_heat(fuel(row), row.number("excess_percent"), row.number("t_c"))
}

pub fn fuels(row: &Row) -> f64 {
    let (fuel, excess) = (fuel(row), row.number("excess_percent"));
    let per_watt = combustion::per_watt(fuel, excess);
    let scfm = |m3_s_per_watt: f64| m3_s_per_watt * 1e6 * BTU_H_W / FOOT3_M3 * 60.0;
    match row.text("quantity") {
        "air_over_fuel" => combustion::air_over_fuel(fuel),
        "products" => scfm(per_watt.products_std_m3_s),
        // Air of 28.965 g/mol at 60 °F and one atmosphere.
        "air" => scfm(per_watt.air_kg_s / (28.965e-3 / 0.023_690_6)),
        "oxygen" => combustion::dry_oxygen_percent(fuel, excess),
        "net" => combustion::net_over_gross(fuel),
        // A watt takes so much air, and its fuel a share of that volume.
        "gross" => {
            let fuel_m3_s = per_watt.air_kg_s / (28.965e-3 / 0.023_690_6) / combustion::air_over_fuel(fuel);
            FOOT3_M3 / BTU_H_W / 3_600.0 / fuel_m3_s
        }
        _ => row.unknown("quantity"),
    }
}

pub fn panel(row: &Row) -> f64 {
    if row.text("quantity") == "wool" {
        return envelope::stone_wool_w_mk(row.number("inside_c"));
    }
    let mut panel = PanelBuildUp::new(row.number("wool_m"));
    panel.outer_emissivity = row.number("emissivity");
    let clear = envelope::clear_panel(&panel, row.number("inside_c"), 25.0, 3.0);
    match row.text("quantity") {
        "skin" => clear.skin_c,
        "u" => clear.u_w_m2k,
        "flux" => clear.flux_w_m2,
        _ => row.unknown("quantity"),
    }
}

/// Joints of two 1.2 mm webs across 100 mm between 1 mm skins each 600 mm, coefficients 15 and 8 W/(m²·K).
pub fn skin(row: &Row) -> f64 {
    let (a, b, c) = (row.optional("a"), row.optional("b"), row.optional("c"));
    let given = |value: Option<f64>| value.unwrap_or_else(|| row.unknown("quantity"));
    match (row.text("law_call"), row.text("quantity")) {
        ("joint", quantity) => {
            let joints = Joints { metal_percent: given(c), ..Joints::usual(0.6) };
            let found =
                envelope::through_metal(&joints, 0.1, (0.001, 0.001), (15.0, 8.0), given(a), given(b));
            match quantity {
                "psi" => found.psi_w_mk,
                "added" => found.added_u_w_m2k,
                "line" => found.line_c,
                _ => row.unknown("quantity"),
            }
        }
        ("surface", _) => envelope::outside_coefficient_w_m2k(given(a), given(b), given(c), 3.0),
        ("burn", "first") => envelope::contact_burn_c(given(a)).0,
        ("burn", "lasting") => envelope::contact_burn_c(given(a)).1,
        ("factor", "u") => envelope::trade_factor_w_m2k(given(a)) / 5.678_263,
        ("factor", "loss") => {
            let (area_m2, difference_k) = (given(b) * 0.092_903_04, given(c) / 1.8);
            envelope::trade_factor_w_m2k(given(a)) * area_m2 * difference_k / BTU_H_W
        }
        _ => row.unknown("law_call"),
    }
}

/// A floor of 6 × 30 m under 200 °C in a plant of 20 °C, ground 14 °C; air may be led through its gap.
pub fn floor(row: &Row) -> f64 {
    let (quantity, gap_m) = (row.text("quantity"), row.number("gap_m"));
    if quantity == "gap" {
        return floor_slab::still_gap_m2k_w(gap_m, 80.0, 60.0, 0.26, 0.9);
    }
    let place =
        floor_slab::FloorPlace { area_m2: 180.0, perimeter_m: 72.0, inside_c: 200.0, ambient_c: 20.0 };
    let mut floor = FloorBuildUp::new(row.number("wool_m"));
    (floor.ground_c, floor.soil_conductivity_w_mk, floor.soil_diffusivity_m2_s) = (14.0, 2.0, 1e-6);
    floor.slab = Slab { thickness_m: 0.2, conductivity_w_mk: 1.8, diffusivity_m2_s: 1.8 / (2_300.0 * 900.0) };
    let ventilation_m3_s = row.optional("flow_m3_s").unwrap_or(0.0);
    floor.gap =
        (gap_m > 0.0).then_some(FloorGap { height_m: gap_m, ventilation_m3_s, upper_emissivity: 0.26 });
    let steady = floor_slab::steady_floor(&floor, &place);
    match quantity {
        "flux" => steady.flux_w_m2,
        "top" => steady.slab_top_c,
        "into" => steady.into_ground_w_m2,
        "air" => steady.gap_air_out_c,
        "after" => floor_slab::slab_top_after_c(&floor, &place, &[row.number("hours")])[0],
        _ => row.unknown("quantity"),
    }
}

pub fn growth(row: &Row) -> f64 {
    let metal = match row.text("material") {
        "stainless" => Material::StainlessSteel,
        _ => Material::Steel,
    };
    let (t_c, length_m) = (row.number("t_c"), row.number("length_m"));
    match row.text("quantity") {
        "elongation" => expansion::elongation(metal, t_c),
        "growth" => 1e3 * expansion::growth_m(metal, length_m, 20.0, t_c),
        "bow" => 1e3 * expansion::panel_bow_m(12.2e-6 * t_c, length_m, row.number("thick_m")),
        "stress" => 1e-6 * expansion::restrained_stress_pa(12.3e-6 * t_c),
        _ => row.unknown("quantity"),
    }
}

pub fn safe(row: &Row) -> f64 {
    let a = row.number("a");
    match row.text("quantity") {
        "purge" => safety::purge_time_s(a, row.number("b"), row.number("c")) / 60.0,
        "relief" => a / safety::RELIEF_M / 0.092_903_04,
        "lfl" => safety::lfl_factor(a),
        "dilution" => {
            // A gallon of specific gravity a; water weighs 8.328 lb a gallon there.
            let kg = a * 8.328 * 0.453_592_37;
            let limit = row.number("c") * safety::lfl_factor(row.number("d"));
            safety::dilution_std_m3_s(kg, row.number("b"), limit, 25.0) / FOOT3_M3
        }
        "unknown" => {
            let kg = a * 8.328 * 0.453_592_37 / (1e3 * GALLON_M3);
            safety::dilution_std_m3_s(kg, row.number("b"), row.number("c"), 25.0)
        }
        "powder" => safety::powder_dilution_std_m3_s(a, 9.0, row.number("b"), 25.0) / FOOT3_M3 * 60.0,
        "products" => safety::PRODUCTS_M3_S_W * a / FOOT3_M3 * 60.0,
        _ => row.unknown("quantity"),
    }
}

pub fn wet(row: &Row) -> f64 {
    let a = row.number("a");
    match row.text("quantity") {
        "evaporation" => 1e-3 * water::evaporation_j_kg(a, row.number("b")),
        "saturation" => water::saturation_pressure_pa(a),
        "dew" => water::dew_point_c(a, 101_325.0),
        "wet" => water::wet_bulb_c(a, row.number("b"), 101_325.0),
        "steel" => material::steel_specific_heat_j_kgk(a),
        _ => row.unknown("quantity"),
    }
}
