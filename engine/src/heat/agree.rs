//! Whether air and heat agree, and what the air takes from the heat: temperatures, vapour, products of combustion.

use super::control::mean_of_zone;
use super::coupled::Coupled;
use crate::air::{Air, ZERO_CELSIUS_K};
use crate::laws::Law;

/// Water given off and what the burner adds agree with the air when they are nearer than this share of themselves.
const NEAR_SHARE: f64 = 1e-3;
/// The same after this many steps of the air.
const FAR_SHARE: f64 = 0.02;
const PATIENT_STEPS: usize = 40;
/// A branch with less than this share of the fan's flow stands still.
const STILL_SHARE: f64 = 1e-6;

/// Temperature, °C, and humidity ratio of air.
type State = (f64, f64);

impl Coupled<'_> {
    /// Whether the vapour of wet parts and what the burner adds are what the air was solved with.
    pub(super) fn sources_agree(&self) -> bool {
        let Some(thermal) = &self.thermal else { return false };
        if !self.lets_out() {
            return true;
        }
        // Where a part dries just at the end of a step, the last of it may go on changing bays.
        let share = if self.steps < PATIENT_STEPS { NEAR_SHARE } else { FAR_SHARE };
        let near = |now: f64, used: f64, all: f64| (now - used).abs() <= share * all;
        let burned = self.duty().burned_kg_s;
        let all: f64 = thermal.drawn.water_kg_s.iter().sum();
        let pairs = thermal.drawn.water_kg_s.iter().zip(&self.moist.vapour_kg_s);
        near(burned, self.burned_kg_s, burned) && pairs.into_iter().all(|(now, used)| near(*now, *used, all))
    }

    /// Whether air can leave the oven; where nothing opens it, neither vapour nor products of combustion are followed.
    pub fn lets_out(&self) -> bool {
        self.built.network.floating().is_empty()
    }

    /// Gives the air what parts and burner add to it.
    pub(super) fn take_up_sources(&mut self) {
        let Some(thermal) = &self.thermal else { return };
        if !self.lets_out() {
            return;
        }
        self.moist.vapour_kg_s.clone_from(&thermal.drawn.water_kg_s);
        self.burned_kg_s = self.duty().burned_kg_s;
        let nodes = &mut self.built.network.nodes;
        for (node, inflow) in nodes.iter_mut().zip(&self.inflows_kg_s) {
            node.inflow_kg_s = *inflow;
        }
        nodes[self.built.intake].inflow_kg_s += self.burned_kg_s;
        for (bay, vapour) in self.frame.bays.bays.iter().zip(&self.moist.vapour_kg_s) {
            nodes[self.built.zones[bay.zone]].inflow_kg_s += vapour;
        }
    }

    /// Temperature, °C, and humidity ratio of the air in each branch, and of each zone's air as a whole.
    fn present(&self) -> (Vec<State>, Vec<State>) {
        let Some(thermal) = &self.thermal else { return (self.used.clone(), vec![]) };
        let mean = |z: usize, of: &[f64]| {
            mean_of_zone(&self.frame.bays, z).iter().zip(of).map(|(w, x)| w * x).sum::<f64>()
        };
        let zones: Vec<State> = (0..self.plan.zones.len())
            .map(|z| (mean(z, &thermal.bays_c), mean(z, &self.moist.bays_w)))
            .collect();
        let mut now = self.used.clone();
        // Air that stands may turn either way; it keeps what it had.
        let still = STILL_SHARE * self.solution.flows_kg_s[self.built.fan].abs();
        for (link, (begin, end)) in self.links.iter().zip(&thermal.links_c) {
            if let Some(branch) = link.branch.filter(|_| link.kg_s > still) {
                now[branch] = (0.5 * (begin + end), link.humidity_ratio);
            }
        }
        // A doorway's law takes one density a side: that of the zone as a whole.
        for &opening in &self.built.openings {
            now[opening] = self.side(&zones, self.built.network.branches()[opening].from);
        }
        (now, zones)
    }

    /// Air on one side of a product opening.
    fn side(&self, zones: &[State], node: usize) -> (f64, f64) {
        // The plant's own humidity changes its density by less than a hundredth.
        let zone = self.built.zones.iter().position(|&zone| zone == node);
        zone.map_or((self.frame.ambient_c, 0.0), |z| zones[z])
    }

    /// How far the air is from the densities it was solved with, told as a difference of temperature, K.
    pub(super) fn air_is_behind_k(&self) -> f64 {
        let density = |(c, w): &(f64, f64)| Air::at(*c, self.frame.pressure_pa, *w).density_kg_m3();
        let behind = |(now, used): (&(f64, f64), &(f64, f64))| {
            (now.0 + ZERO_CELSIUS_K) * (density(now) / density(used) - 1.0).abs()
        };
        self.present().0.iter().zip(&self.used).map(behind).fold(0.0, f64::max)
    }

    /// Gives every branch the air it carries.
    pub(super) fn take_up_temperatures(&mut self) {
        let (now, zones) = self.present();
        let air = |(c, w): (f64, f64)| Air::at(c, self.frame.pressure_pa, w);
        let sides: Vec<[f64; 2]> = self
            .built
            .openings
            .iter()
            .map(|&i| {
                let branch = &self.built.network.branches()[i];
                [branch.from, branch.to].map(|node| air(self.side(&zones, node)).density_kg_m3())
            })
            .collect();
        let network = &mut self.built.network;
        for (branch, state) in network.branches.iter_mut().zip(&now) {
            let air = air(*state);
            branch.density_kg_m3 = air.density_kg_m3();
            branch.viscosity_pa_s = air.viscosity_pa_s();
        }
        for (&i, [from, to]) in self.built.openings.iter().zip(sides) {
            if let Law::Doorway(law) = &mut network.branches[i].law {
                (law.from_density, law.to_density) = (from, to);
            }
        }
        self.used = now;
    }
}
