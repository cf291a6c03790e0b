//! What the heat balance says about a plan: plain data.

use super::bays::Side;
use super::way::PartPoint;
use crate::plan::Point;
use serde::{Deserialize, Serialize};

/// Heat of a plan with a load, in a steady state that closes.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Heat {
    /// Largest misfit of an enthalpy balance (the whole oven; all bays together) over the burner's duty.
    pub energy_residual: f64,
    /// Heat the burner gives to the air and the heater's house, W.
    pub burner_w: f64,
    /// What it burns for that, on the gross heating value, W; as much as the duty where no burner is entered.
    pub burner_input_w: f64,
    /// What it burns with the line empty and standing, W: the same air and temperatures, less what parts, water,
    /// hangers and chain take.
    pub idle_input_w: f64,
    /// Shaft power of the fan, all of which becomes heat, W.
    pub fan_w: f64,
    /// Air through the fan, kg/s.
    pub fan_kg_s: f64,
    /// Supply air at the discharge, °C.
    pub supply_temperature_c: f64,
    /// Air mixed at the intake, °C.
    pub mix_temperature_c: f64,
    /// Plant air, °C.
    pub ambient_c: f64,
    /// Water in the supply air, kg per kg of dry air.
    pub humidity_ratio: f64,
    /// Combustion air and fuel that a direct-fired burner adds to the air, kg/s.
    pub combustion_kg_s: f64,
    /// Air solves spent until temperatures and flows agreed.
    pub air_solves: usize,
    /// Newton steps of the air, those of the solves included.
    pub air_steps: usize,
    /// Largest difference between a temperature and the one its air was solved with, K.
    pub air_behind_k: f64,
    /// Where burner and fan heat go.
    pub goes: Goes,
    /// The bay farthest from its zone's set temperature.
    pub worst: WorstBay,
    /// Where water in the air comes from and goes.
    pub water: WaterHeat,
    /// Each zone.
    pub zones: Vec<ZoneHeat>,
    /// Each bay.
    pub bays: Vec<BayHeat>,
    /// Every stream of air that leaves or enters a bay, or passes between supply, return and plant.
    pub streams: Vec<Stream>,
    /// Each damper that holds a zone.
    pub dampers: Vec<DamperHeat>,
    /// Each product opening.
    pub openings: Vec<OpeningHeat>,
    /// The part that takes the most heat, its water included; none without parts.
    pub part: Option<PartHeat>,
    /// The part that stores the least, where there are two kinds or more.
    pub lightest: Option<PartHeat>,
    /// All other kinds.
    pub others: Vec<PartHeat>,
    /// From cold to temperature; none without a burner.
    pub warm_up: Option<WarmUp>,
}

impl Heat {
    /// Every kind of part, the heaviest and the lightest first.
    pub fn parts(&self) -> impl Iterator<Item = &PartHeat> {
        self.part.iter().chain(&self.lightest).chain(&self.others)
    }
}

/// Where heat goes, W. All of it together is burner and fan.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Goes {
    /// Parts.
    pub parts_w: f64,
    /// Hangers and chain.
    pub carried_w: f64,
    /// Water that parts carry in.
    pub water_w: f64,
    /// Walls.
    pub wall_w: f64,
    /// Roof.
    pub roof_w: f64,
    /// Floor.
    pub floor_w: f64,
    /// Losses entered in the plan.
    pub other_w: f64,
    /// Air through product openings.
    pub openings_w: f64,
    /// Radiation through product openings.
    pub radiation_w: f64,
    /// Exhaust.
    pub exhaust_w: f64,
    /// Ducts outside the zones, with the air that leaks from them there.
    pub ducts_w: f64,
    /// The heater's house.
    pub house_w: f64,
}

impl Goes {
    /// All of it, W.
    pub fn sum_w(&self) -> f64 {
        self.parts_w
            + self.carried_w
            + self.water_w
            + self.wall_w
            + self.roof_w
            + self.floor_w
            + self.other_w
            + self.openings_w
            + self.radiation_w
            + self.exhaust_w
            + self.ducts_w
            + self.house_w
    }
}

/// Where water in the oven's air comes from and goes, kg/s.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct WaterHeat {
    /// Off wet parts.
    pub parts_kg_s: f64,
    /// From burnt fuel.
    pub combustion_kg_s: f64,
    /// In with plant air.
    pub plant_kg_s: f64,
    /// Out with the exhaust.
    pub exhaust_kg_s: f64,
    /// Out through product openings.
    pub openings_kg_s: f64,
    /// Out of ducts that leak into the plant.
    pub ducts_kg_s: f64,
    /// What comes less what goes, over the larger.
    pub residual: f64,
    /// Whether it was balanced; where nothing lets air out of the oven it cannot be, and the plan's humidity stands.
    pub is_balanced: bool,
}

/// The bay farthest from its zone's set temperature.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct WorstBay {
    /// The bay.
    pub bay: String,
    /// How far it is from the set temperature, K; below it, negative.
    pub off_k: f64,
    /// The same, were the air between bays exchanged as little as the band allows, K.
    pub off_low_exchange_k: f64,
    /// The same, were it exchanged as much, K.
    pub off_high_exchange_k: f64,
    /// Whether the exchange is entered in the plan; else it is assumed.
    pub is_exchange_entered: bool,
}

/// One zone.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct ZoneHeat {
    /// Name in the plan.
    pub id: String,
    /// Temperature wanted, °C.
    pub set_temperature_c: f64,
    /// Mean over its floor, °C.
    pub mean_c: f64,
    /// What holds it reads this, °C.
    pub control_c: f64,
    /// "burner", the duct of a modulated damper, or nothing.
    pub held_by: String,
    /// Coldest bay, °C.
    pub least_c: f64,
    /// Hottest bay, °C.
    pub most_c: f64,
    /// Change of its mean for each kelvin of supply temperature, K/K.
    pub gain: f64,
    /// Where its heat goes; ducts outside the zones and the heater's house belong to none.
    pub goes: Goes,
    /// Heat it passes to other zones through inner walls and openings, W; what it gains is below zero.
    pub to_others_w: f64,
    /// Water in its air, kg per kg of dry air.
    pub humidity_ratio: f64,
    /// Metal colder than this collects water, °C.
    pub dew_point_c: f64,
    /// Cure fumes in its air over those in the zone they come off in.
    pub fume_share: f64,
}

/// One bay.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct BayHeat {
    /// Zone, number along the path and side.
    pub id: String,
    /// Its zone.
    pub zone: String,
    /// Number along the path, from 1.
    pub number: usize,
    /// Side of the path.
    pub side: Side,
    /// Least corner of its floor.
    pub from: Option<Point>,
    /// Greatest corner of its floor.
    pub to: Option<Point>,
    /// Air, °C.
    pub temperature_c: f64,
    /// Distance from the set temperature, K.
    pub off_k: f64,
    /// Air of its slots, kg/s.
    pub supply_kg_s: f64,
    /// Speed of its air at part height by merged jets, along the conveyor where it passes: within some 30 %.
    pub air_m_s: f64,
    /// Water in its air, kg per kg of dry air.
    pub humidity_ratio: f64,
    /// Heat through the walls of ducts in it, W: a gain.
    pub ducts_w: f64,
    /// Heat through inner walls from other zones, W: a gain.
    pub partition_w: f64,
    /// Outside walls, W.
    pub wall_w: f64,
    /// Roof, W.
    pub roof_w: f64,
    /// Floor, W.
    pub floor_w: f64,
    /// Other losses of the plan, W.
    pub other_w: f64,
    /// Radiation through openings, W.
    pub radiation_w: f64,
    /// Parts, W.
    pub parts_w: f64,
    /// Hangers and chain, W.
    pub carried_w: f64,
    /// Drying, W.
    pub water_w: f64,
    /// Water given off, kg/s.
    pub water_kg_s: f64,
}

/// A stream of air.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Stream {
    /// The slot, return, opening, exhaust or duct it is; "drift" between bays, with what they exchange; "combustion".
    pub id: String,
    /// A bay, "outside", "supply" or "return".
    pub from: String,
    /// Likewise.
    pub to: String,
    /// How much, kg/s.
    pub mass_flow_kg_s: f64,
    /// Temperature with which it gets there, °C.
    pub temperature_c: f64,
    /// Water in it, kg per kg of dry air.
    pub humidity_ratio: f64,
}

/// A damper that holds a zone.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct DamperHeat {
    /// Its duct.
    pub id: String,
    /// The zone it holds.
    pub zone: String,
    /// Travel at which it holds, %.
    pub open_percent: f64,
    /// Whether the zone is held; else the travel is at its limit.
    pub holds: bool,
    /// Air through it, kg/s.
    pub mass_flow_kg_s: f64,
    /// Pressure drop over it, Pa.
    pub drop_pa: f64,
    /// Drop over the open damper as share of the drop from discharge to zone, its own included, at this flow.
    pub authority: f64,
    /// Change of the zone for each percent of travel here, K.
    pub gain_k: f64,
}

/// One product opening.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct OpeningHeat {
    /// Name in the plan.
    pub id: String,
    /// Hot air out of its zone, kg/s.
    pub out_kg_s: f64,
    /// Air in, kg/s.
    pub in_kg_s: f64,
    /// Level above the floor where no air passes, m; none when all passes one way.
    pub neutral_level_m: Option<f64>,
    /// Heat carried out and not brought back, W.
    pub air_w: f64,
    /// Radiation, W.
    pub radiation_w: f64,
    /// Plant air drawn in that would just stop the spill, kg/s.
    pub stop_kg_s: f64,
    /// Spill, were the upper edge hooded down by a quarter of the height at the same level of pressure, kg/s.
    pub hooded_out_kg_s: f64,
    /// Momentum a curtain's jet needs to hold it, N per metre of width.
    pub curtain_n_m: f64,
    /// Speed of that jet of plant air from a nozzle of 50 mm, m/s.
    pub curtain_m_s: f64,
}

/// One part on its way.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct PartHeat {
    /// Its item.
    pub id: String,
    /// Largest Biot number on the way; below 0.1 it has one temperature.
    pub biot: f64,
    /// Whether conduction inside was followed.
    pub is_thick: bool,
    /// Skin as it leaves the last zone, °C.
    pub exit_c: f64,
    /// Hottest skin once it carries its powder, °C.
    pub peak_c: f64,
    /// Temperature that counts as cure, °C; none without a schedule.
    pub cure_c: Option<f64>,
    /// Time until the skin gets there, s, from the first zone, or from where the line comes back from the booth.
    pub bring_up_s: Option<f64>,
    /// Time above it from there on, s.
    pub dwell_s: f64,
    /// Share of the schedule done: 1 is cured.
    pub cure_index: Option<f64>,
    /// Fastest line that still cures it in this air, m/s; none where no speed does.
    pub fastest_m_s: Option<f64>,
    /// Slowest line that does not over-bake it, m/s; none where nothing limits.
    pub slowest_m_s: Option<f64>,
    /// Where on the path its schedule is done, m; none where it never is.
    pub cured_at_m: Option<f64>,
    /// Where on the path it has had all the cure it bears, m; none where it never has, or nothing limits.
    pub over_baked_at_m: Option<f64>,
    /// Time at its hottest skin that would cure it as much, s; none without a schedule or below it.
    pub equivalent_s: Option<f64>,
    /// Station from which it carries its powder, m: behind the booth where the line leaves the oven and comes back.
    pub coated_from_m: f64,
    /// Share of its water still on it at the end.
    pub wet_share: f64,
    /// Where its water is gone, station on the path, m.
    pub points: Vec<PartPoint>,
}

/// From cold to temperature.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct WarmUp {
    /// Time to the set temperature, s; none where the burner does not get there.
    pub seconds: Option<f64>,
    /// Metal and insulation that heat up, J/K.
    pub stored_j_k: f64,
    /// Shaft power of the fan cold, W.
    pub fan_cold_w: f64,
    /// Shaft power of the fan at temperature, W.
    pub fan_hot_w: f64,
    /// Time, s, and oven temperature, °C.
    pub curve: Vec<(f64, f64)>,
}
