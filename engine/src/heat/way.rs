//! Parts, hangers and chain on their way through the bays.

use super::air_at_part::AirAtPart;
use super::bays::Bays;
use super::part::{Body, Heated};
use super::water::{evaporation_j_kg, wet_bulb_c};
use crate::numerics::ln;
use crate::plan::geometry::{along, inside, length_m};
use crate::plan::{Carried, HungPart, Plan};

/// Steps a part takes through one bay.
pub const STEPS: usize = 4;
/// Steps through plant air, m at most.
const COOLING_STEP_M: f64 = 0.5;
/// Slowest air that a hanging part feels, m/s: what free convection amounts to in oven air (common practice).
pub const STILL_AIR_M_S: f64 = 0.2;

/// A stretch of the conveyor inside one bay on each side of it, or outside every zone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    /// Where it begins on the path, m.
    pub from_m: f64,
    /// Where it ends, m.
    pub to_m: f64,
    /// Bays left and right; none outside the zones.
    pub bays: Option<[usize; 2]>,
    /// Zone it lies in.
    pub zone: Option<usize>,
}

/// The conveyor of a plan cut at every bay; empty without a conveyor.
pub fn stretches(plan: &Plan, bays: &Bays) -> Vec<Stretch> {
    let Some(conveyor) = &plan.conveyor else { return Vec::new() };
    let length = length_m(&conveyor.path);
    let mut cuts = vec![0.0, length];
    for bay in &bays.bays {
        cuts.extend([bay.stations_m.0, bay.stations_m.1]);
    }
    cuts.retain(|cut| (0.0..=length).contains(cut));
    crate::numerics::sort_numbers(&mut cuts);
    cuts.dedup_by(|a, b| *a - *b < 1e-6);
    cuts.windows(2)
        .map(|pair| {
            let (p, _) = along(&conveyor.path, 0.5 * (pair[0] + pair[1]));
            let zone = plan.zones.iter().position(|zone| inside(&zone.outline, p));
            Stretch { from_m: pair[0], to_m: pair[1], bays: zone.map(|z| bays.both_sides(z, p)), zone }
        })
        .collect()
}

/// Something that hangs on the conveyor.
#[derive(Clone, Debug, PartialEq)]
pub struct Hung {
    /// Name of its item in the plan; empty for hangers and chain.
    pub id: String,
    /// The metal.
    pub body: Body,
    /// Heat stored by a metre of line per kelvin, J/(m·K).
    pub store_j_mk: f64,
    /// Temperature it comes in with, °C.
    pub entry_c: f64,
    /// Heated surface per metre of line, m²/m.
    pub surface_m2_m: f64,
    /// Water it carries, kg per m² of surface.
    pub water_kg_m2: f64,
}

impl Hung {
    /// A kind of part; none where its mass or size is not above zero.
    pub fn part(plan: &Plan, part: &HungPart) -> Option<Self> {
        let load = plan.load.as_ref()?;
        let body = Body::of(part);
        let surface_m2_m = super::material::surface_m2_per_m(part)?;
        let store_j_mk = part.kg_per_m * body.specific_heat_j_kgk;
        let sound = [store_j_mk, body.store_j_m2k(), body.conductivity_w_mk, body.length_m];
        sound.iter().all(|x| x.is_finite() && *x > 0.0).then(|| Self {
            id: part.id.clone(),
            body,
            store_j_mk,
            entry_c: load.entry_temperature_c,
            surface_m2_m,
            water_kg_m2: part.water_kg_m2.max(0.0),
        })
    }

    /// The kinds of parts of a plan that have mass and size.
    pub fn kinds(plan: &Plan) -> Vec<Self> {
        let parts = plan.load.iter().flat_map(|load| &load.parts);
        parts.filter_map(|part| Self::part(plan, part)).collect()
    }

    /// The kind that takes the most heat from the oven, with the water it carries.
    pub fn heaviest(plan: &Plan) -> Option<Self> {
        let hot_c = plan.zones.iter().map(|zone| zone.set_temperature_c).fold(f64::NEG_INFINITY, f64::max);
        let takes_j_m = |hung: &Self| {
            let water = hung.surface_m2_m * hung.water_kg_m2;
            hung.store_j_mk * (hot_c - hung.entry_c) + water * evaporation_j_kg(hung.entry_c, hot_c)
        };
        Self::kinds(plan).into_iter().max_by(|a, b| takes_j_m(a).total_cmp(&takes_j_m(b)))
    }

    /// Hangers or chain, taken as steel bar of `diameter_m` (common practice: 8 mm hooks, 12 mm chain).
    pub fn carried(carried: &Carried, entry_c: f64, diameter_m: f64) -> Option<Self> {
        let body = Body {
            depth_m: 0.25 * diameter_m,
            density_kg_m3: 7_850.0,
            specific_heat_j_kgk: carried.specific_heat_j_kgk,
            conductivity_w_mk: 50.0,
            emissivity: 0.9,
            length_m: diameter_m,
            round: true,
            solid_bar: false,
        };
        let store_j_mk = carried.kg_per_m * carried.specific_heat_j_kgk;
        (store_j_mk.is_finite() && store_j_mk > 0.0).then(|| Self {
            id: String::new(),
            body,
            store_j_mk,
            entry_c: carried.entry_temperature_c.unwrap_or(entry_c),
            surface_m2_m: carried.kg_per_m / (body.density_kg_m3 * body.depth_m),
            water_kg_m2: 0.0,
        })
    }
}

/// One place on the way.
#[derive(Clone, Copy, Debug, Default, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct PartPoint {
    /// Station on the conveyor's path, m.
    pub station_m: f64,
    /// Skin, °C.
    pub skin_c: f64,
    /// Innermost metal, °C.
    pub core_c: f64,
    /// Air around it, °C.
    pub air_c: f64,
    /// Speed of that air, m/s.
    pub air_m_s: f64,
    /// Heat transfer coefficient with radiation, W/(m²·K).
    pub coefficient_w_m2k: f64,
}

/// What the way does to the body and to the bays.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Passed {
    /// Heat taken up from each bay, W.
    pub heat_w: Vec<f64>,
    /// Heat for its water from each bay, W.
    pub water_w: Vec<f64>,
    /// Water given off in each bay, kg/s.
    pub water_kg_s: Vec<f64>,
    /// Heat from each bay per kelvin of its air, W/K: for the iteration only.
    pub conductance_w_k: Vec<f64>,
    /// Temperatures along the way.
    pub points: Vec<PartPoint>,
    /// Station from which it carries its powder, m: where the line last comes back from outside, else its beginning.
    pub coated_from_m: f64,
    /// Share of its water still there at the end.
    pub wet_share: f64,
    /// The largest Biot number on the way.
    pub biot: f64,
    /// Whether conduction inside was followed.
    pub is_thick: bool,
}

impl Passed {
    /// The way from where it carries its powder: what bare metal goes through before cures nothing.
    pub fn coated(&self) -> &[PartPoint] {
        let bare = self.points.partition_point(|point| point.station_m < self.coated_from_m);
        &self.points[bare..]
    }
}

/// What the way is made of besides the body.
pub struct Oven<'a> {
    /// Stretches of the conveyor.
    pub way: &'a [Stretch],
    /// Air of each bay, °C.
    pub air_c: &'a [f64],
    /// Water in the air of each bay, kg per kg of dry air.
    pub humidity_ratio: &'a [f64],
    /// The air around the part in each step, stretch by stretch.
    pub at_part: &'a [[AirAtPart; STEPS]],
    /// Barometer, Pa.
    pub pressure_pa: f64,
    /// Plant air, °C.
    pub ambient_c: f64,
}

/// Takes a body through the oven at `line_m_s`.
///
/// In each bay it sees the mean of the air left and right of it, warmed by jets that have not mixed yet, and takes half its
/// heat from each. While it is wet its skin stays at the wet-bulb temperature once it has got there, and what it takes up
/// turns water into vapour. Where the line leaves the zones and comes back it cools in still plant air.
pub fn pass(hung: &Hung, line_m_s: f64, oven: &Oven) -> Passed {
    let count = oven.air_c.len();
    let zeros = || vec![0.0; count];
    let mut passed = Passed {
        heat_w: zeros(),
        water_w: zeros(),
        water_kg_s: zeros(),
        conductance_w_k: zeros(),
        ..Passed::default()
    };
    let body = hung.body;
    let hottest = oven.air_c.iter().copied().fold(hung.entry_c, f64::max);
    let steps = || oven.at_part.iter().flatten();
    let hottest = steps().map(|step| step.hotter_k).fold(0.0, f64::max) + hottest;
    let fastest = steps().map(|step| step.speed_m_s).fold(STILL_AIR_M_S, f64::max);
    passed.biot = body.biot(body.coefficient_w_m2k(hottest, hung.entry_c, fastest, oven.pressure_pa));
    let mut heated = Heated::new(body, hung.entry_c, passed.biot * body.conductivity_w_mk / body.depth_m);
    passed.is_thick = heated.thick();
    let mut water = hung.water_kg_m2;
    let line_store = line_m_s * hung.store_j_mk;
    let inside = |stretch: &Stretch| stretch.bays.is_some();
    let first = oven.way.iter().position(inside).unwrap_or(0);
    let end = oven.way.iter().rposition(inside).map_or(0, |last| last + 1);
    for (stretch, at_part) in oven.way.iter().zip(oven.at_part).take(end).skip(first) {
        let Some(bays) = stretch.bays else {
            cool(&mut heated, body, stretch, line_m_s, oven, &mut passed);
            continue;
        };
        let mean = |of: &[f64]| 0.5 * (of[bays[0]] + of[bays[1]]);
        let humidity = mean(oven.humidity_ratio);
        let seconds = (stretch.to_m - stretch.from_m) / line_m_s / STEPS as f64;
        let step_m = (stretch.to_m - stretch.from_m) / STEPS as f64;
        let mut exponent = 0.0;
        for (k, step) in at_part.iter().enumerate() {
            let air = mean(oven.air_c) + step.hotter_k;
            let speed = step.speed_m_s.max(STILL_AIR_M_S);
            let wet_bulb = if water > 0.0 { wet_bulb_c(air, humidity, oven.pressure_pa) } else { 0.0 };
            let skin = heated.skin_and_core_c().0;
            let coefficient = body.coefficient_w_m2k(air, skin, speed, oven.pressure_pa);
            if k == 0 {
                push(&mut passed.points, stretch.from_m, &heated, air, speed, coefficient);
            }
            exponent += coefficient * seconds / body.store_j_m2k();
            // Its vapour ends at the temperature of the bay.
            let per_kg = evaporation_j_kg(hung.entry_c.min(wet_bulb), mean(oven.air_c));
            let mut left = seconds;
            let mut warm = |heated: &mut Heated, time: f64| {
                let gained = heated.step(air, coefficient, time) / body.store_j_m2k();
                for bay in bays {
                    passed.heat_w[bay] += 0.5 * line_store * gained;
                }
            };
            // Wet metal first comes to the wet bulb; of thick metal the skin gets there within a step.
            let is_wet = water > 0.0 && air > wet_bulb;
            if is_wet && skin < wet_bulb && !heated.thick() {
                let reached = body.store_j_m2k() / coefficient * ln((air - skin) / (air - wet_bulb));
                let time = reached.min(left);
                warm(&mut heated, time);
                left -= time;
            }
            let skin = heated.skin_and_core_c().0;
            if is_wet && left > 0.0 && skin > wet_bulb - 1e-6 {
                // Wet metal: everything taken up goes into its water until that is gone.
                let flux = coefficient * (air - wet_bulb);
                // The vapour's warming to the air's temperature is not drawn through the skin.
                let latent = evaporation_j_kg(hung.entry_c.min(wet_bulb), wet_bulb);
                let dried = (flux * left / latent).min(water);
                water -= dried;
                left -= dried * latent / flux;
                let rate = line_m_s * hung.surface_m2_m * dried;
                for bay in bays {
                    passed.water_w[bay] += 0.5 * rate * per_kg;
                    passed.water_kg_s[bay] += 0.5 * rate;
                }
                if water < 1e-9 * hung.water_kg_m2 {
                    water = 0.0;
                }
            }
            if left > 1e-9 * seconds {
                warm(&mut heated, left);
            }
            let skin = &heated;
            push(&mut passed.points, stretch.from_m + (k + 1) as f64 * step_m, skin, air, speed, coefficient);
        }
        for bay in bays {
            passed.conductance_w_k[bay] += 0.5 * line_store * (1.0 - crate::numerics::exp(-exponent));
        }
    }
    passed.wet_share = if hung.water_kg_m2 > 0.0 { water / hung.water_kg_m2 } else { 0.0 };
    passed
}

/// A stretch outside the zones, between two passes: free convection and radiation to the plant.
fn cool(heated: &mut Heated, body: Body, stretch: &Stretch, line_m_s: f64, oven: &Oven, passed: &mut Passed) {
    let count = ((stretch.to_m - stretch.from_m) / COOLING_STEP_M).ceil().max(1.0);
    let step_m = (stretch.to_m - stretch.from_m) / count;
    let at = |k: f64| stretch.from_m + k * step_m;
    for k in 0..count as usize {
        let skin = heated.skin_and_core_c().0;
        let coefficient = body.coefficient_w_m2k(oven.ambient_c, skin, STILL_AIR_M_S, oven.pressure_pa);
        if k == 0 {
            push(&mut passed.points, stretch.from_m, heated, oven.ambient_c, STILL_AIR_M_S, coefficient);
        }
        heated.step(oven.ambient_c, coefficient, step_m / line_m_s);
        push(&mut passed.points, at(k as f64 + 1.0), heated, oven.ambient_c, STILL_AIR_M_S, coefficient);
    }
    passed.coated_from_m = stretch.to_m;
}

fn push(
    points: &mut Vec<PartPoint>,
    station_m: f64,
    heated: &Heated,
    air_c: f64,
    air_m_s: f64,
    coefficient_w_m2k: f64,
) {
    let (skin_c, core_c) = heated.skin_and_core_c();
    points.push(PartPoint { station_m, skin_c, core_c, air_c, air_m_s, coefficient_w_m2k });
}
