//! The heat balance zone by zone, and from it air, exhaust, fan and burner.

use super::check::Asked;
use super::line::Line;
use super::{
    BurnerNeed, ExhaustReason, FanNeed, HUMIDITY_LIMIT, HeatItem, HeatRow, Need, OUTSIDE_RATIO, ZoneNeed,
};
use crate::air::Air;
use crate::finding::{Finding, Message, Severity};
use crate::heat::convection::radiation_w_m2k;
use crate::heat::floor_slab::{FloorPlace, steady_floor};
use crate::heat::stream::{enthalpy_j_kg, temperature_c};
use crate::heat::water::{ZoneAir, contents, dew_point_c, evaporation_j_kg, exhaust_for_humidity_kg_s};
use crate::heat::{combustion, envelope};
use crate::laws::doorway::Doorway;
use crate::plan::{Fuel, PanelBasis, PanelBuildUp};
use crate::safety::{self, STANDARD_DENSITY_KG_M3};
use crate::units::Kind;

/// Efficiency of the fan, and its share of losses not told apart (common practice).
const FAN_EFFICIENCY: f64 = 0.6;
/// Discharge speed the pressure budget counts on, m/s, and speeds in duct and return.
pub(super) const DISCHARGE_M_S: f64 = 16.0;
const DUCT_M_S: f64 = 11.0;
const RETURN_M_S: f64 = 8.0;
/// Burner box and filter, Pa (common practice).
pub(super) const HEATER_DROP_PA: f64 = 200.0;
/// Metal of ducts for each metre of oven, kg/m (common practice: two runs, returns and their share of trunk).
const DUCT_KG_M: f64 = 60.0;
/// The IEC series of motors, kW.
const MOTORS_KW: [f64; 20] = [
    0.37, 0.55, 0.75, 1.1, 1.5, 2.2, 3.0, 4.0, 5.5, 7.5, 11.0, 15.0, 18.5, 22.0, 30.0, 37.0, 45.0, 55.0,
    75.0, 90.0,
];
const COMMON: &str = "common practice, no published source";

/// One zone while the exhaust is still being found.
struct Zone {
    id: &'static str,
    temperature_c: f64,
    length_m: f64,
    /// Product openings to outside, 1 or 2.
    openings: f64,
}

struct Hot {
    rows: Vec<HeatRow>,
    loads: Vec<f64>,
    roll_out: Vec<f64>,
    inflow: Vec<f64>,
    between_kg_s: f64,
}

fn density(asked: &Asked, temperature_c: f64) -> f64 {
    Air::at(temperature_c, asked.pressure_pa, 0.0).density_kg_m3()
}

/// A product opening of the enquiry between air of two temperatures.
fn doorway(asked: &Asked, hot_c: f64, cold_c: f64) -> Doorway {
    let enquiry = asked.enquiry;
    let clear = 2.0 * enquiry.opening_clearance_m;
    Doorway {
        coefficient: 0.65,
        width_m: enquiry.part_width_m + clear,
        sill_m: (enquiry.floor_clearance_m - enquiry.opening_clearance_m).max(0.0),
        height_m: enquiry.part_height_m + clear,
        from_density: density(asked, hot_c),
        to_density: density(asked, cold_c),
    }
}

/// What a doorway passes each way when it lets in a net flow, kg/s: the neutral level is moved until it does.
fn passes(door: &Doorway, net_in_kg_s: f64) -> (f64, f64) {
    let dp = crate::heat::bisect(-400.0, 100.0, |dp| {
        let exchange = door.exchange(dp);
        exchange.in_kg_s - exchange.out_kg_s - net_in_kg_s
    });
    let exchange = door.exchange(dp);
    (exchange.out_kg_s, exchange.in_kg_s)
}

/// All rows at an exhaust drawn from each zone, kg/s.
fn heat(
    asked: &Asked,
    line: &Line,
    zones: &[Zone],
    exhaust: &[f64],
    burned_air_kg_s: f64,
    shaft_w: f64,
) -> Hot {
    let (enquiry, ambient) = (asked.enquiry, asked.plan.site.ambient_c);
    let speed = asked.speed_m_s;
    let width = enquiry.part_width_m + 2.0 * enquiry.side_clearance_m;
    let height = enquiry.part_height_m + enquiry.floor_clearance_m + enquiry.top_clearance_m;
    let seconds = enquiry.heat_up_s;
    let mut rows = Vec::new();
    let mut add = |zone: &str, item, running_w: f64, heating_up_w: f64, other_method_w| {
        if running_w != 0.0 || heating_up_w != 0.0 {
            rows.push(HeatRow { zone: zone.to_owned(), item, running_w, heating_up_w, other_method_w });
        }
    };
    let total: f64 = zones.iter().map(|zone| zone.length_m).sum();
    let (mut roll_out, mut inflow) = (Vec::new(), Vec::new());
    let mut metal_in = [asked.load.hangers, asked.load.chain]
        .map(|carried| carried.and_then(|c| c.entry_temperature_c).unwrap_or(asked.load.entry_temperature_c));
    for (i, zone) in zones.iter().enumerate() {
        let (id, inside) = (zone.id, zone.temperature_c);
        let product = |part: &super::PartNeed| if id == "cure" { part.heat_w.1 } else { part.heat_w.0 };
        add(id, HeatItem::Product, line.parts.iter().map(product).fold(0.0, f64::max), 0.0, None);
        let carried = [(asked.load.hangers, HeatItem::Hangers), (asked.load.chain, HeatItem::Chain)];
        for (k, (carried, item)) in carried.into_iter().enumerate() {
            let Some(carried) = carried else { continue };
            let per_m = carried.kg_per_m.max(0.0) * carried.specific_heat_j_kgk.max(0.0);
            let standing = per_m * zone.length_m * (inside - ambient) / seconds;
            add(id, item, speed * per_m * (inside - metal_in[k]).max(0.0), standing, None);
            metal_in[k] = inside;
        }
        if line.water_kg_s > 0.0 && i == 0 {
            let entry = asked.load.entry_temperature_c.clamp(0.0, 100.0);
            add(id, HeatItem::Water, line.water_kg_s * evaporation_j_kg(entry, inside), 0.0, None);
        }
        let ends = if zones.len() == 1 { 2.0 } else { 1.0 };
        let walls = 2.0 * zone.length_m * height + ends * width * height;
        let roof = zone.length_m * width;
        let default = PanelBuildUp::new(0.15);
        let wall = asked.panels.wall.as_ref().unwrap_or(&default);
        let basis = asked.panels.basis;
        let other = match basis {
            PanelBasis::ClearAndJoints => PanelBasis::TradeFactor,
            PanelBasis::TradeFactor => PanelBasis::ClearAndJoints,
        };
        let faces = [
            (HeatItem::Walls, wall, walls),
            (HeatItem::Roof, asked.panels.roof.as_ref().unwrap_or(wall), roof),
        ];
        for (item, panel, area) in faces {
            let loss = envelope::panel_loss(panel, inside, ambient, height);
            let by = |basis| loss.by(basis) * area * (inside - ambient);
            let warming = envelope::stored_j_m2k(panel) * area * (inside - ambient) / seconds;
            add(id, item, by(basis), warming + 0.5 * by(basis), Some(by(other)));
        }
        if let Some(floor) = &asked.panels.floor {
            let share = zone.length_m / total;
            let place = FloorPlace {
                area_m2: total * width,
                perimeter_m: 2.0 * (total + width),
                inside_c: inside,
                ambient_c: ambient,
            };
            let loss = steady_floor(floor, &place).flux_w_m2 * place.area_m2 * share;
            let as_panel =
                PanelBuildUp { inner_skin_m: floor.deck_m, ..PanelBuildUp::new(floor.insulation_m) };
            let warming = envelope::stored_j_m2k(&as_panel) * roof * (inside - ambient) / seconds;
            add(id, HeatItem::Floor, loss, warming + 0.5 * loss, None);
        }
        let door = doorway(asked, inside, ambient);
        // Combustion air comes in through the burner, the rest of the make-up through the openings.
        let net_in = (exhaust[i] - burned_air_kg_s / zones.len() as f64).max(0.0);
        let held = zone.openings * (1.0 - enquiry.opening_seal);
        // A seal holds back exchange, never the air the exhaust draws in.
        let spill = held * passes(&door, net_in / zone.openings).0;
        let lift = enthalpy_j_kg(inside, OUTSIDE_RATIO) - enthalpy_j_kg(ambient, OUTSIDE_RATIO);
        let black = radiation_w_m2k(1.0, inside, ambient) * (inside - ambient);
        let lost = spill * lift + held * door.width_m * door.height_m * black;
        add(id, HeatItem::Openings, lost, 0.5 * lost, None);
        roll_out.push(spill);
        inflow.push(net_in + spill);
        add(id, HeatItem::Exhaust, exhaust[i] * lift, 0.5 * exhaust[i] * lift, None);
        let ducts = DUCT_KG_M * 490.0 * zone.length_m * (inside - ambient) / seconds;
        add(id, HeatItem::Ducts, 0.0, ducts, None);
    }
    let mut between_kg_s = 0.0;
    if let [dry, cure] = zones {
        let door = doorway(asked, cure.temperature_c, dry.temperature_c);
        between_kg_s = (1.0 - enquiry.opening_seal) * passes(&door, 0.0).0;
        let carried = between_kg_s
            * (enthalpy_j_kg(cure.temperature_c, OUTSIDE_RATIO)
                - enthalpy_j_kg(dry.temperature_c, OUTSIDE_RATIO));
        add(dry.id, HeatItem::BetweenZones, -carried, -0.5 * carried, None);
        add(cure.id, HeatItem::BetweenZones, carried, 0.5 * carried, None);
    }
    add("heater", HeatItem::Fan, -shaft_w, -shaft_w, None);
    let loads = zones
        .iter()
        .map(|zone| rows.iter().filter(|row| row.zone == zone.id).map(|row| row.running_w).sum())
        .collect();
    Hot { rows, loads, roll_out, inflow, between_kg_s }
}

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
    let flows =
        zones
            .iter()
            .zip(loads)
            .enumerate()
            .map(|(i, (zone, load))| {
                if i == cure { flow } else { load.max(1.0) / (h(supply_c) - h(zone.temperature_c)).max(1.0) }
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
            turn_down: rated_w / idle_w.max(1e-9),
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

/// What somebody should know about a need.
pub(super) fn judge(asked: &Asked, need: &Need, findings: &mut Vec<Finding>) {
    let mut add = |severity, id: &str, item: Option<&str>, message: Message, remedy: &str, basis: &str| {
        findings.push(Finding::new(severity, id, item, message, remedy, basis));
    };
    let coating = asked.plan.coating.as_ref();
    for part in &need.parts {
        let allowed = coating.and_then(|coating| coating.over_bake_times);
        if let Some((cures, allowed)) = part.cures.zip(allowed)
            && cures > allowed
        {
            add(
                Severity::Caution,
                "need-over-bake",
                Some(&part.id),
                Message::new("At the speed of the slowest part this one gets ")
                    .value(Kind::Number, cures)
                    .text(" times its cure; the coating bears ")
                    .value(Kind::Number, allowed)
                    .text("."),
                "Run light and heavy parts apart, or lower the zone temperature and lengthen the oven.",
                "the coating's schedule; counted by ln t linear in temperature",
            );
        }
        let limit = coating.and_then(|coating| coating.over_bake_c);
        if limit.is_some_and(|limit| part.exit_c > limit) {
            add(
                Severity::Problem,
                "need-over-heat",
                Some(&part.id),
                Message::new("This part reaches ")
                    .value(Kind::Temperature, part.exit_c)
                    .text(", more than the coating bears."),
                "Lower the zone temperature.",
                "the coating's limit",
            );
        }
    }
    for zone in &need.zones {
        if zone.changes_per_min < 1.0 || zone.changes_per_min > 6.0 {
            add(
                Severity::Caution,
                "need-changes",
                None,
                Message::new(format!("The air of the {} zone changes ", zone.id))
                    .value(Kind::Number, zone.changes_per_min)
                    .text(" times a minute; 2 to 4 are usual in conveyor powder ovens, 5 in batch ovens."),
                "Change the allowed difference from supply to zone, or the room round the parts.",
                COMMON,
            );
        }
        if zone.supply_difference_k > 60.0 {
            add(
                Severity::Caution,
                "need-hot-supply",
                None,
                Message::new("The supply air is ")
                    .value(Kind::TemperatureDifference, zone.supply_difference_k)
                    .text(format!(" above the {} zone: a bay 10 % short of air is ", zone.id))
                    .value(Kind::TemperatureDifference, zone.supply_difference_k / 9.0)
                    .text(" colder."),
                "Mix return air into its supply, or bring the zones' temperatures nearer.",
                "δT = ΔT·e/(1 − e) of a bay with its share of air short by e",
            );
        }
        let dew = dew_point_c(zone.humidity_ratio, asked.pressure_pa);
        if dew > asked.load.entry_temperature_c {
            add(
                Severity::Note,
                "need-condensation",
                None,
                Message::new(format!("The dew point of the {} zone is ", zone.id))
                    .value(Kind::Temperature, dew)
                    .text(": metal colder than that, as it comes in, collects water before it dries."),
                "Draw more exhaust, or bring parts in warmer.",
                "psychrometrics",
            );
        }
        if zone.id == "dry-off" && zone.fume_share > 0.05 {
            add(
                Severity::Note,
                "need-fumes",
                None,
                Message::new("Both zones share one heater: air of the dry-off zone holds ")
                    .value(Kind::Percent, 100.0 * zone.fume_share)
                    .text(" of the cure fumes of the cure zone, and they settle on cold parts."),
                "Draw the exhaust from the cure zone, or give dry-off its own heater.",
                "mass balance of well-mixed zones",
            );
        }
    }
    let least = need.exhaust_reasons.iter().map(|reason| reason.kg_s).fold(0.0, f64::max);
    if need.exhaust_kg_s < 0.999 * least {
        add(
            Severity::Problem,
            "need-exhaust",
            None,
            Message::new("The exhaust of the enquiry is ")
                .value(Kind::MassFlow, need.exhaust_kg_s)
                .text("; water, dilution or practice ask for ")
                .value(Kind::MassFlow, least)
                .text("."),
            "Draw more. The code in force decides, and a licensed engineer must confirm it.",
            "the largest of the listed reasons",
        );
    }
    let burner = &need.burner;
    if burner.turn_down > asked.burner.turn_down {
        add(
            Severity::Caution,
            "need-turn-down",
            None,
            Message::new("Idling takes ")
                .value(Kind::HeatRate, burner.idle_w)
                .text(", a turn-down of ")
                .value(Kind::Number, burner.turn_down)
                .text(" that the burner does not hold."),
            "Choose a burner with more turn-down, or it cycles and the limit trips.",
            "industrial burners 10:1 to 40:1 (common practice)",
        );
    }
    let entered = asked.plan.heater.burner.as_ref().map(|burner| burner.rated_w);
    if entered.is_some_and(|rated| rated < burner.input_w.max(burner.heating_up_w)) {
        add(
            Severity::Problem,
            "need-burner",
            Some(&asked.plan.heater.id),
            Message::new("The burner is rated ")
                .value(Kind::HeatRate, entered.unwrap_or_default())
                .text("; running takes ")
                .value(Kind::HeatRate, burner.input_w)
                .text(" and heating up ")
                .value(Kind::HeatRate, burner.heating_up_w)
                .text("."),
            "Choose a larger burner, or allow more time to heat up.",
            "the heat balance",
        );
    }
}
