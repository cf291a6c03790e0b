//! How long the oven must be: every part marched through drying, bring-up and dwell.

use super::PartNeed;
use super::check::{Asked, refuse};
use crate::finding::Finding;
use crate::heat::material::surface_m2_per_m;
use crate::heat::part::{Body, Heated};
use crate::heat::water::{evaporation_j_kg, wet_bulb_c};
use crate::plan::HungPart;

/// Step of the march, s.
const STEP_S: f64 = 2.0;
/// Beyond this time a part does not get there, s.
const NEVER_S: f64 = 4.0 * 3_600.0;

/// The line as the parts need it.
pub(super) struct Line {
    pub parts: Vec<PartNeed>,
    pub dry_length_m: f64,
    pub cure_length_m: f64,
    /// Water evaporated, kg/s, of the wettest part.
    pub water_kg_s: f64,
}

/// A part on its way.
struct Way<'a> {
    asked: &'a Asked<'a>,
    body: Body,
    heated: Heated,
    water_kg_m2: f64,
    cures: f64,
}

impl<'a> Way<'a> {
    fn new(asked: &'a Asked<'a>, part: &HungPart) -> Self {
        let body = Body::of(part);
        let start = asked.load.entry_temperature_c;
        let air = asked.enquiry.dry_off_c.unwrap_or(asked.enquiry.cure_c);
        let h = body.coefficient_w_m2k(air, start, asked.enquiry.air_speed_m_s, asked.pressure_pa);
        Self { asked, body, heated: Heated::new(body, start, h), water_kg_m2: part.water_kg_m2, cures: 0.0 }
    }

    fn h(&self, air_c: f64) -> f64 {
        let skin = self.heated.skin_and_core_c().0;
        self.body.coefficient_w_m2k(air_c, skin, self.asked.enquiry.air_speed_m_s, self.asked.pressure_pa)
    }

    /// Moves on in air of one temperature until `done`; returns the time, or none where it never is.
    fn until(&mut self, air_c: f64, done: impl Fn(&Self, f64) -> bool) -> Option<f64> {
        // Metal under water stays at the wet bulb until the water is gone.
        let wet_c = wet_bulb_c(air_c, super::HUMIDITY_LIMIT, self.asked.pressure_pa);
        let mut time = 0.0;
        while !done(self, time) {
            if time > NEVER_S {
                return None;
            }
            let h = self.h(air_c);
            let skin = self.heated.skin_and_core_c().0;
            if self.water_kg_m2 > 0.0 && skin >= wet_c {
                let skin = skin.min(95.0);
                self.water_kg_m2 -= h * (air_c - skin).max(0.0) * STEP_S / evaporation_j_kg(skin, skin);
            } else {
                self.heated.step(air_c, h, STEP_S);
            }
            if let Some(schedule) = &self.asked.schedule {
                self.cures += STEP_S * schedule.rate(self.heated.skin_and_core_c().1);
            }
            time += STEP_S;
        }
        Some(time)
    }
}

pub(super) fn lay_out(asked: &Asked, findings: &mut Vec<Finding>) -> Option<Line> {
    let enquiry = asked.enquiry;
    let speed = asked.speed_m_s;
    let mut never = |part: &HungPart, what: &str| {
        refuse(
            findings,
            "need-never",
            Some(&part.id),
            &format!("This part is not {what} within four hours."),
            "Raise the zone temperature or the air speed, or bring less mass or water.",
        );
    };
    let mut ways: Vec<Way> = asked.parts.iter().map(|part| Way::new(asked, part)).collect();
    let mut drying = Vec::with_capacity(ways.len());
    for (way, part) in ways.iter_mut().zip(&asked.parts) {
        let wet_in = enquiry.dry_off_c.unwrap_or(enquiry.cure_c);
        match way.until(wet_in, |way, _| way.water_kg_m2 <= 0.0) {
            Some(time) => drying.push(time),
            None => {
                never(part, "dry");
                return None;
            }
        }
    }
    // The slowest to dry sets the length; the others stay as long.
    let dry_s = match enquiry.dry_off_c {
        Some(_) => drying.iter().copied().fold(enquiry.dry_off_s, f64::max),
        None => 0.0,
    };
    let dry_length_m = if enquiry.dry_off_c.is_some() { round_up(speed * dry_s).max(2.0) } else { 0.0 };
    let dry_s = dry_length_m / speed;
    let mut dry_exit = Vec::with_capacity(ways.len());
    for (way, time) in ways.iter_mut().zip(&drying) {
        if let Some(zone_c) = enquiry.dry_off_c {
            let rest = dry_s - time;
            way.until(zone_c, |_, time| time >= rest);
        }
        dry_exit.push(way.heated.mean_c());
    }
    // Between the zones a booth may let them cool.
    let mut bring_up = Vec::with_capacity(ways.len());
    let entry: Vec<f64> = dry_exit.iter().map(|exit| enquiry.cure_entry_c.unwrap_or(*exit)).collect();
    for (i, (way, part)) in ways.iter_mut().zip(&asked.parts).enumerate() {
        let entry = &entry[i];
        // Without a dry-off zone the part dries in the cure zone first.
        let already = if enquiry.dry_off_c.is_none() { drying[i] } else { 0.0 };
        if enquiry.cure_entry_c.is_some() {
            let h =
                way.body.coefficient_w_m2k(enquiry.cure_c, *entry, enquiry.air_speed_m_s, asked.pressure_pa);
            way.heated = Heated::new(way.body, *entry, h);
            // Coated on the way: what bare metal went through cures nothing.
            way.cures = 0.0;
        }
        match way.until(enquiry.cure_c, |way, _| way.heated.skin_and_core_c().1 >= asked.metal_c) {
            Some(time) => bring_up.push(already + time),
            None => {
                never(part, "at the metal temperature wanted");
                return None;
            }
        }
    }
    let longest = bring_up.iter().copied().fold(0.0, f64::max) + asked.dwell_s;
    let cure_length_m = round_up(speed * longest).max(3.0);
    let stay = cure_length_m / speed;
    let mut parts = Vec::with_capacity(ways.len());
    for (i, way) in ways.iter_mut().enumerate() {
        let part = asked.parts[i];
        let rest = stay - bring_up[i];
        way.until(enquiry.cure_c, |_, time| time >= rest);
        let exit_c = way.heated.mean_c();
        let flow = speed * part.kg_per_m * way.body.specific_heat_j_kgk;
        let first_air = enquiry.dry_off_c.unwrap_or(enquiry.cure_c);
        let start = asked.load.entry_temperature_c;
        let h = way.body.coefficient_w_m2k(first_air, start, enquiry.air_speed_m_s, asked.pressure_pa);
        let own = enquiry.dry_off_c.map_or(0.0, |_| enquiry.dry_off_s.max(drying[i]));
        parts.push(PartNeed {
            id: part.id.clone(),
            drying_s: if part.water_kg_m2 > 0.0 { drying[i] } else { 0.0 },
            dry_off_exit_c: dry_exit[i],
            bring_up_s: bring_up[i],
            exit_c,
            cures: asked.schedule.as_ref().map(|_| way.cures),
            biot: way.body.biot(h),
            length_m: speed * (own + bring_up[i] + asked.dwell_s),
            heat_w: if enquiry.dry_off_c.is_some() {
                (flow * (dry_exit[i] - start), flow * (exit_c - entry[i]))
            } else {
                (0.0, flow * (exit_c - start))
            },
        });
    }
    let water = asked.parts.iter().filter_map(|part| Some(part.water_kg_m2 * surface_m2_per_m(part)?));
    let water_kg_s = speed * water.fold(0.0, f64::max);
    Some(Line { parts, dry_length_m, cure_length_m, water_kg_s })
}

/// To the next half metre.
fn round_up(length_m: f64) -> f64 {
    0.5 * (2.0 * length_m - 1e-9).ceil()
}
