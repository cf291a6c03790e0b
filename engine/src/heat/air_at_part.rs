//! The air that parts meet along the conveyor, from the jets of the slots.

use super::coupled::Coupled;
use super::frame::Place;
use super::way::STEPS;
use crate::analysis::slot_results;
use crate::coverage::{Field, USUAL_HEIGHT_M, jet_of};
use crate::plan::geometry::{along, slot_places};

/// Places looked at in each step that a part takes.
const LOOKS: usize = 4;

/// The air around a part within one step of its way.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct AirAtPart {
    /// Speed, m/s.
    pub speed_m_s: f64,
    /// How much hotter than its bay it is, because jets bring air that has not mixed yet, K.
    pub hotter_k: f64,
}

/// All of it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct AirAtParts {
    /// Step by step, by stretch of the way.
    pub way: Vec<[AirAtPart; STEPS]>,
    /// Speed in each bay, m/s: along the conveyor where it passes, else in the middle of the bay.
    pub bays_m_s: Vec<f64>,
}

impl Coupled<'_> {
    /// Follows the jets of the air as last solved, with temperatures as last balanced.
    pub fn air_at_parts(&self) -> AirAtParts {
        let (plan, bays) = (self.plan, &self.frame.bays.bays);
        let supply_c = self.thermal.as_ref().map_or(plan.heater.supply_temperature_c, |t| t.supply_c);
        // Air arrives at each slot with what its duct left it.
        let mut arrives_c = vec![supply_c; self.built.network.branches().len()];
        for (link, ends) in self.links.iter().zip(self.thermal.iter().flat_map(|t| &t.links_c)) {
            if let (Some(branch), Place::Bay(_)) = (link.branch, link.to) {
                arrives_c[branch] = ends.1;
            }
        }
        let bay_c = |bay: usize| {
            let set = plan.zones[bays[bay].zone].set_temperature_c;
            self.thermal.as_ref().map_or(set, |thermal| thermal.bays_c[bay])
        };
        let slots = slot_results(plan, &self.built, &self.solution);
        let (mut jets, mut hotter) = (Vec::new(), Vec::new());
        for ((site, place), slot) in self.built.slots.iter().zip(slot_places(plan)).zip(&slots) {
            let (jet_c, around_c) = (arrives_c[site.branch], bay_c(self.frame.bay_behind(site.branch)));
            if let Some(jet) = jet_of(plan, &place, slot, jet_c, around_c) {
                jets.push((site.zone, jet));
                hotter.push(jet_c - around_c);
            }
        }
        let height_m = plan.conveyor.as_ref().map_or(USUAL_HEIGHT_M, |conveyor| conveyor.part_height_m);
        let field = Field::new(plan, &jets, height_m);
        let mut found =
            AirAtParts { way: Vec::with_capacity(self.way.len()), bays_m_s: vec![0.0; bays.len()] };
        let mut passed = vec![false; bays.len()];
        for stretch in &self.way {
            let mut steps = [AirAtPart::default(); STEPS];
            if let (Some(pair), Some(zone), Some(conveyor)) = (stretch.bays, stretch.zone, &plan.conveyor) {
                let look_m = (stretch.to_m - stretch.from_m) / (STEPS * LOOKS) as f64;
                for (k, step) in steps.iter_mut().enumerate() {
                    for look in 0..LOOKS {
                        let station = stretch.from_m + ((k * LOOKS + look) as f64 + 0.5) * look_m;
                        let (speed, hotter) =
                            field.air(along(&conveyor.path, station).0, zone, &|i| hotter[i]);
                        step.speed_m_s += speed / LOOKS as f64;
                        step.hotter_k += hotter / LOOKS as f64;
                    }
                }
                for bay in pair {
                    passed[bay] = true;
                    found.bays_m_s[bay] = steps.iter().map(|step| step.speed_m_s).sum::<f64>() / STEPS as f64;
                }
            }
            found.way.push(steps);
        }
        for (bay, speed) in found.bays_m_s.iter_mut().enumerate().filter(|(bay, _)| !passed[*bay]) {
            *speed = field.air(bays[bay].at, bays[bay].zone, &|i| hotter[i]).0;
        }
        found
    }
}
