//! The heat balance of an enquiry, row by row.

use super::check::Asked;
use super::line::Line;
use super::{HeatItem, HeatRow, OUTSIDE_RATIO};
use crate::air::Air;
use crate::heat::convection::radiation_w_m2k;
use crate::heat::envelope;
use crate::heat::floor_slab::{FloorPlace, steady_floor};
use crate::heat::stream::enthalpy_j_kg;
use crate::heat::water::evaporation_j_kg;
use crate::laws::doorway::Doorway;
use crate::plan::{PanelBasis, PanelBuildUp};

/// Metal of ducts for each metre of oven, kg/m (common practice: two runs, returns and their share of trunk).
const DUCT_KG_M: f64 = 60.0;

/// One zone while the exhaust is still being found.
pub(super) struct Zone {
    pub id: &'static str,
    pub temperature_c: f64,
    pub length_m: f64,
    /// Product openings to outside, 1 or 2.
    pub openings: f64,
}

pub(super) struct Hot {
    pub rows: Vec<HeatRow>,
    pub loads: Vec<f64>,
    pub roll_out: Vec<f64>,
    pub inflow: Vec<f64>,
    pub between_kg_s: f64,
}

pub(super) fn density(asked: &Asked, temperature_c: f64) -> f64 {
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
pub(super) fn heat(
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
            let loss = steady_floor(floor, &place).hot_flux_w_m2 * place.area_m2 * share;
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
