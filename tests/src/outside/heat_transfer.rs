//! Heat transfer, conduction, cure, openings and moist air.

use super::Row;
use engine::air::Air;
use engine::heat::part::{Body, Heated, Schedule};
use engine::heat::parts::cure_index;
use engine::heat::water::wet_bulb_c;
use engine::heat::way::PartPoint;
use engine::heat::{convection, openings, stream};
use engine::laws::doorway::Doorway;

pub fn nusselt(row: &Row) -> f64 {
    let (re, pr) = (row.number("re"), row.number("pr"));
    match row.text("law") {
        "convection::cylinder" => convection::cylinder(re, pr),
        "convection::plate" => convection::plate(re, pr),
        "convection::inside_duct" => convection::inside_duct(re, pr),
        _ => row.unknown("law"),
    }
}

/// Forced convection in oven air, W/(m²·K).
pub fn coefficient(row: &Row) -> f64 {
    let (viscosity, conductivity, prandtl) = convection::film(Air::at(row.number("film_c"), 101_325.0, 0.0));
    let length = row.number("length_m");
    let reynolds = row.number("speed_m_s") * length / viscosity;
    let nusselt = match row.text("law") {
        "convection::cylinder" => convection::cylinder(reynolds, prandtl),
        "convection::plate" => convection::plate(reynolds, prandtl),
        _ => row.unknown("law"),
    };
    nusselt * conductivity / length
}

fn body(row: &Row, depth_m: f64, conductivity_w_mk: f64, solid_bar: bool) -> Body {
    Body {
        depth_m,
        density_kg_m3: row.number("rho"),
        specific_heat_j_kgk: row.number("c"),
        conductivity_w_mk,
        emissivity: 0.9,
        length_m: depth_m,
        round: solid_bar,
        solid_bar,
    }
}

/// Time until a lumped body has a temperature, s, by halving.
pub fn lumped(row: &Row) -> f64 {
    let body = body(row, row.number("depth_m"), 1e6, false);
    let (start, air, wanted) = (row.number("start_c"), row.number("air_c"), row.number("wanted_c"));
    let (mut low, mut high) = (0.0, 1e6);
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        let mut heated = Heated::new(body, start, row.number("h"));
        heated.step(air, row.number("h"), middle);
        let reached = (heated.mean_c() - start) / (wanted - start) >= 1.0;
        if reached { high = middle } else { low = middle }
    }
    0.5 * (low + high)
}

/// Mean temperature of a plate heated from both sides or of a bar, °C.
pub fn conduction(row: &Row) -> f64 {
    let is_bar = row.text("shape") == "bar";
    let depth = row.number("reach_m") * if is_bar { 0.5 } else { 1.0 };
    let mut heated =
        Heated::new(body(row, depth, row.number("k"), is_bar), row.number("start_c"), row.number("h"));
    const STEPS: u32 = 200;
    for _ in 0..STEPS {
        heated.step(row.number("air_c"), row.number("h"), row.number("seconds") / f64::from(STEPS));
    }
    heated.mean_c()
}

/// Time a schedule asks for, min, or the share of its cure a sheet gets in constant air.
pub fn cure(row: &Row) -> f64 {
    let pairs = row.text("points").split_whitespace().filter_map(|pair| pair.split_once(':'));
    let number = |text: &str| text.parse::<f64>().unwrap_or_else(|_| row.unknown("points"));
    let schedule = Schedule::new(pairs.map(|(c, minutes)| (number(c), 60.0 * number(minutes))));
    let schedule = schedule.unwrap_or_else(|| row.unknown("points"));
    if row.text("law") == "part::Schedule" {
        return schedule.seconds_at(row.number("metal_c")).unwrap_or_else(|| row.unknown("metal_c")) / 60.0;
    }
    let (start, air, tau) = (row.number("start_c"), row.number("air_c"), row.number("tau_s"));
    let points: Vec<PartPoint> = (0..=row.count("seconds"))
        .map(|second| {
            let seconds = second as f64;
            let skin_c = air - (air - start) * engine::numerics::exp(-seconds / tau);
            PartPoint { station_m: seconds, skin_c, ..PartPoint::default() }
        })
        .collect();
    cure_index(&schedule, &points, 1.0)
}

/// Air that stops the spill of an opening, what still spills at a net inflow, kg/s, or what radiates through a square
/// metre of it, W.
pub fn door(row: &Row) -> f64 {
    let (from, to) = (row.number("rho_from"), row.number("rho_to"));
    let door = || Doorway {
        coefficient: row.number("cd"),
        width_m: row.number("width_m"),
        sill_m: row.number("sill_m"),
        height_m: row.number("height_m"),
        from_density: from,
        to_density: to,
    };
    match row.text("law") {
        "openings::stop_kg_s" => openings::stop_kg_s(&door()),
        "doorway::Doorway" => {
            let (door, net_kg_s) = (door(), row.number("net_kg_s"));
            let (mut low, mut high) = (-500.0, 500.0);
            for _ in 0..100 {
                let middle = 0.5 * (low + high);
                let exchange = door.exchange(middle);
                if exchange.in_kg_s - exchange.out_kg_s < net_kg_s { high = middle } else { low = middle }
            }
            door.exchange(low).out_kg_s
        }
        "convection::radiation_w_m2k" => convection::radiation_w_m2k(1.0, from, to) * (from - to),
        _ => row.unknown("law"),
    }
}

/// Rise of enthalpy, J/kg, or wet-bulb temperature, °C.
pub fn moist_air(row: &Row) -> f64 {
    let (t, w) = (row.number("t_c"), row.number("w"));
    match row.text("law") {
        "stream::enthalpy_j_kg" => stream::enthalpy_j_kg(t, w) - stream::enthalpy_j_kg(row.number("t0_c"), w),
        "water::wet_bulb_c" => wet_bulb_c(t, w, 101_325.0),
        _ => row.unknown("law"),
    }
}

/// Speed of a jet or of many merged ones, m/s, or what a wall in merged jets is given, W/(m²·K).
pub fn jet(row: &Row) -> f64 {
    let (u0, slot_m) = (row.number("u0"), row.number("b_m"));
    // Slots of a metre each, a pitch apart.
    let merged = || {
        let density = Air::at(row.number("film_c"), 101_325.0, 0.0).density().value;
        convection::merged_jets_m_s(density * u0 * u0 * slot_m, density, row.number("pitch_m"))
    };
    match row.text("law") {
        "convection::plane_jet_m_s" => convection::plane_jet_m_s(u0, slot_m, row.number("x_m")),
        "convection::merged_jets_m_s" => merged(),
        "part::Body" => {
            let film = row.number("film_c");
            let sheet = Body {
                depth_m: 0.001,
                density_kg_m3: 7_850.0,
                specific_heat_j_kgk: 490.0,
                conductivity_w_mk: 50.0,
                emissivity: 0.0,
                length_m: row.number("length_m"),
                round: row.text("shape") == "tube",
                solid_bar: false,
            };
            let speed = row.optional("speed_m_s").unwrap_or_else(merged);
            sheet.coefficient_w_m2k(film, film, speed, 101_325.0)
        }
        _ => row.unknown("law"),
    }
}
