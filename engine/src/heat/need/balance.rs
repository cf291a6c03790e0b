//! The heat balance zone by zone, and from it air, exhaust, fan and burner.

use super::check::Asked;
use super::judge::LEAST_DIFFERENCE_K;
use super::line::Line;
use super::rows::{Hot, Zone, density, heat};
use super::{
    BurnerNeed, ExhaustReason, FanNeed, HUMIDITY_LIMIT, HeatItem, HeatRow, Need, OUTSIDE_RATIO, ZoneNeed,
};
use crate::heat::combustion;
use crate::heat::stream::{enthalpy_j_kg, temperature_c};
use crate::heat::water::{ZoneAir, contents, exhaust_for_humidity_kg_s};
use crate::plan::Fuel;
use crate::safety::{self, STANDARD_DENSITY_KG_M3};

/// Efficiency of the fan, and its share of losses not told apart (common practice).
const FAN_EFFICIENCY: f64 = 0.6;
/// Discharge speed the pressure budget counts on, m/s, and speeds in duct and return.
pub(super) const DISCHARGE_M_S: f64 = 16.0;
const DUCT_M_S: f64 = 11.0;
const RETURN_M_S: f64 = 8.0;
/// Burner box and filter, Pa (common practice).
pub(super) const HEATER_DROP_PA: f64 = 200.0;
/// The IEC series of motors, kW.
const MOTORS_KW: [f64; 20] = [
    0.37, 0.55, 0.75, 1.1, 1.5, 2.2, 3.0, 4.0, 5.5, 7.5, 11.0, 15.0, 18.5, 22.0, 30.0, 37.0, 45.0, 55.0,
    75.0, 90.0,
];

/// Supply air: the cure zone by its allowed difference and its least changes, the dry-off zone at the same supply.
fn air(asked: &Asked, zones: &[Zone], volumes: &[f64], loads: &[f64]) -> (f64, Vec<f64>) {
    let enquiry = asked.enquiry;
    let h = |t: f64| enthalpy_j_kg(t, OUTSIDE_RATIO);
    let cure = zones.len() - 1;
    let zone_c = zones[cure].temperature_c;
    let load = loads[cure].max(1.0);
    let by_load = load / (h(zone_c + enquiry.supply_difference_k) - h(zone_c));
    let by_changes = enquiry.least_changes_per_min / 60.0 * volumes[cure] * density(asked, zone_c);
    let flow = by_load.max(by_changes);
    let supply_c = temperature_c(h(zone_c) + load / flow, OUTSIDE_RATIO);
    let flows = zones
        .iter()
        .zip(loads)
        .enumerate()
        .map(|(i, (zone, load))| {
            if i == cure {
                flow
            } else {
                let least = h(zone.temperature_c + LEAST_DIFFERENCE_K);
                load.max(1.0) / (h(supply_c).max(least) - h(zone.temperature_c))
            }
        })
        .collect();
    (supply_c, flows)
}

fn fan(asked: &Asked, supply_c: f64, air_kg_s: f64) -> FanNeed {
    let rho = density(asked, supply_c);
    let velocity = |v: f64| 0.5 * rho * v * v;
    // Slots, two and a half velocity pressures of duct, two of return, burner box and filter.
    let pressure_pa =
        velocity(DISCHARGE_M_S) + 2.5 * velocity(DUCT_M_S) + 2.0 * velocity(RETURN_M_S) + HEATER_DROP_PA;
    let flow_m3_s = air_kg_s / rho;
    let shaft_w = flow_m3_s * pressure_pa / FAN_EFFICIENCY;
    let cold_shaft_w = shaft_w * density(asked, asked.plan.site.ambient_c) / rho;
    let wanted = 1.1 * cold_shaft_w;
    let motor_w = MOTORS_KW.iter().map(|kw| kw * 1e3).find(|w| *w >= wanted).unwrap_or(wanted);
    FanNeed { flow_m3_s, pressure_pa, shaft_w, cold_shaft_w, motor_w }
}

/// The whole balance; exhaust, air and burner depend on each other and are repeated until they agree.
pub(super) fn balance(asked: &Asked, line: &Line) -> Need {
    let enquiry = asked.enquiry;
    let width_m = enquiry.part_width_m + 2.0 * enquiry.side_clearance_m;
    let height_m = enquiry.part_height_m + enquiry.floor_clearance_m + enquiry.top_clearance_m;
    let cure =
        |openings| Zone { id: "cure", temperature_c: enquiry.cure_c, length_m: line.cure_length_m, openings };
    let zones = match enquiry.dry_off_c {
        Some(temperature_c) => {
            vec![Zone { id: "dry-off", temperature_c, length_m: line.dry_length_m, openings: 1.0 }, cure(1.0)]
        }
        None => vec![cure(2.0)],
    };
    let volumes: Vec<f64> = zones.iter().map(|zone| zone.length_m * width_m * height_m).collect();
    let direct = asked.burner.direct && asked.burner.fuel != Fuel::Electric;
    let per_watt = combustion::per_watt(asked.burner.fuel, asked.burner.excess_air_percent);
    let mut exhaust_kg_s = enquiry.exhaust_kg_s.unwrap_or(0.3);
    let (mut shaft_w, mut burned_air_kg_s, mut rounds) = (0.0, 0.0, 0);
    loop {
        rounds += 1;
        let split = split_exhaust(zones.len(), exhaust_kg_s);
        let hot = heat(asked, line, &zones, &split, burned_air_kg_s, shaft_w);
        let (supply_c, flows) = air(asked, &zones, &volumes, &hot.loads);
        let air_kg_s: f64 = flows.iter().sum();
        let fan = fan(asked, supply_c, air_kg_s);
        shaft_w = fan.shaft_w;
        let share = combustion::share_to_air(&asked.burner, supply_c);
        let sum = |pick: &dyn Fn(&HeatRow) -> f64| hot.rows.iter().map(pick).sum::<f64>().max(0.0);
        let net_w = sum(&|row| row.running_w);
        let moving =
            |item| matches!(item, HeatItem::Product | HeatItem::Hangers | HeatItem::Chain | HeatItem::Water);
        let idle_w = sum(&|row| if moving(row.item) { 0.0 } else { row.running_w }) / share;
        let heating_up_w = sum(&|row| row.heating_up_w) / share;
        let input_w = net_w / share;
        let rated_w = (input_w * (1.0 + 0.01 * enquiry.burner_margin_percent)).max(heating_up_w);
        let burner = BurnerNeed {
            net_w,
            share_to_air: share,
            input_w,
            heating_up_w,
            idle_w,
            rated_w,
            turn_down: rated_w.max(asked.burner.rated_w) / idle_w.max(1e-9),
        };
        let drawn =
            hot.rows.iter().filter(|row| row.item == HeatItem::Exhaust).map(|row| row.running_w).sum::<f64>();
        let drawn_share = drawn / hot.loads.iter().sum::<f64>().max(drawn).max(1.0);
        let burned = per_watt.water_kg_s * input_w;
        let reasons = reasons(asked, line, air_kg_s, rated_w, direct, burned, drawn_share);
        let asked_for = reasons.iter().map(|reason| reason.kg_s).fold(0.0, f64::max);
        let wanted = enquiry.exhaust_kg_s.unwrap_or(asked_for);
        let combustion_water = if direct { per_watt.water_kg_s * input_w } else { 0.0 };
        let before = burned_air_kg_s;
        burned_air_kg_s = if direct { per_watt.air_kg_s * input_w } else { 0.0 };
        let made =
            needs(&zones, &volumes, &hot, &flows, &split, line, supply_c, (before, combustion_water), asked);
        let agreed = |a: f64, b: f64| (a - b).abs() <= 1e-10 * a.abs().max(1e-3);
        let settled = agreed(wanted, exhaust_kg_s) && agreed(before, burned_air_kg_s);
        if settled || rounds >= 100 || !wanted.is_finite() {
            return Need {
                speed_m_s: asked.speed_m_s,
                width_m,
                height_m,
                parts: line.parts.clone(),
                zones: made,
                rows: hot.rows,
                supply_c,
                air_kg_s,
                exhaust_reasons: reasons,
                exhaust_kg_s: if wanted.is_finite() { exhaust_kg_s } else { wanted },
                fan,
                burner,
            };
        }
        exhaust_kg_s = wanted;
    }
}

/// Half of the exhaust from each of two zones.
fn split_exhaust(zones: usize, exhaust_kg_s: f64) -> Vec<f64> {
    vec![exhaust_kg_s / zones as f64; zones]
}

fn reasons(
    asked: &Asked,
    line: &Line,
    air_kg_s: f64,
    rated_w: f64,
    direct: bool,
    burned_kg_s: f64,
    exhaust_share: f64,
) -> Vec<ExhaustReason> {
    let mut reasons = Vec::new();
    let mut add = |what: &str, kg_s: f64| {
        if kg_s > 0.0 {
            reasons.push(ExhaustReason { what: what.to_owned(), kg_s });
        }
    };
    let water = line.water_kg_s + if direct { burned_kg_s } else { 0.0 };
    add("water", exhaust_for_humidity_kg_s(water, HUMIDITY_LIMIT, OUTSIDE_RATIO) + water);
    let mut plan = asked.plan.clone();
    plan.heater.burner =
        Some(crate::plan::Burner { rated_w: asked.burner.rated_w.max(rated_w), ..asked.burner.clone() });
    let dilution: f64 = safety::demands_of(&plan, asked.speed_m_s, asked.enquiry.cure_c)
        .iter()
        .map(|demand| demand.std_m3_s)
        .sum();
    add("dilution", dilution * STANDARD_DENSITY_KG_M3);
    // The air that the exhaust itself asks for does not count, or the rule would feed itself.
    add("tenth of the recirculated air", 0.1 * air_kg_s * (1.0 - exhaust_share));
    reasons
}

#[allow(clippy::too_many_arguments)] // one row of each zone from everything known
fn needs(
    zones: &[Zone],
    volumes: &[f64],
    hot: &Hot,
    flows: &[f64],
    split: &[f64],
    line: &Line,
    supply_c: f64,
    (combustion_air, combustion_water): (f64, f64),
    asked: &Asked,
) -> Vec<ZoneNeed> {
    let n = zones.len();
    let airs = |source: &dyn Fn(usize) -> f64| -> Vec<ZoneAir> {
        (0..n)
            .map(|i| ZoneAir {
                supply_kg_s: flows[i],
                // What comes in and is neither rolled out nor exhausted goes back to the heater.
                return_kg_s: (flows[i] + hot.inflow[i] - hot.roll_out[i] - split[i]).max(0.0),
                outside_kg_s: hot.inflow[i],
                from_zone_kg_s: (0..n).map(|j| if j == i { 0.0 } else { hot.between_kg_s }).collect(),
                source_kg_s: source(i),
            })
            .collect()
    };
    let humidity = contents(
        &airs(&|i| if i == 0 { line.water_kg_s } else { 0.0 }),
        OUTSIDE_RATIO,
        combustion_air,
        combustion_water,
    );
    let fumes = contents(&airs(&|i| if i + 1 == n { 1.0 } else { 0.0 }), 0.0, combustion_air, 0.0);
    let of = |found: &Option<Vec<f64>>, i: usize| found.as_ref().map_or(f64::MAX, |w| w[i]);
    (0..n)
        .map(|i| ZoneNeed {
            id: zones[i].id.to_owned(),
            temperature_c: zones[i].temperature_c,
            length_m: zones[i].length_m,
            load_w: hot.loads[i],
            air_kg_s: flows[i],
            supply_difference_k: supply_c - zones[i].temperature_c,
            changes_per_min: 60.0 * flows[i] / density(asked, zones[i].temperature_c) / volumes[i],
            exhaust_kg_s: split[i],
            humidity_ratio: of(&humidity, i).min(10.0),
            roll_out_kg_s: hot.roll_out[i],
            fume_share: (of(&fumes, i) / of(&fumes, n - 1).max(1e-300)).min(1.0),
        })
        .collect()
}
