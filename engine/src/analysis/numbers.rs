//! The numbers of an analysis apart from its names.
//!
//! While a hand drags, names stay and numbers change: they alone then travel to whoever knows the rest.

use super::results::Analysis;

/// Adds up what is told to it (FNV-1a, 64 bits).
pub(super) struct Hash(pub(super) u64);

impl Hash {
    pub(super) fn new() -> Self {
        Self(0xcbf2_9ce4_8422_2325)
    }

    pub(super) fn bytes(&mut self, bytes: &[u8]) {
        for &byte in bytes {
            self.0 = (self.0 ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
        }
    }

    fn word(&mut self, word: &str) {
        self.count(word.len());
        self.bytes(word.as_bytes());
    }

    fn count(&mut self, count: usize) {
        self.bytes(&(count as u64).to_le_bytes());
    }
}

impl Analysis {
    /// Equal for two analyses that differ only in what [`Self::numbers`] hands out and the name of the worst slot,
    /// findings and heat aside.
    pub fn shape(&self) -> u64 {
        let mut hash = Hash::new();
        hash.word(&self.status);
        hash.word(self.worst_branch.as_deref().unwrap_or_default());
        hash.count(self.slots.len());
        for slot in &self.slots {
            hash.word(&slot.id);
            hash.word(&slot.run);
            hash.word(&slot.zone);
        }
        for names in [
            self.returns.iter().flat_map(|item| [&item.id, &item.zone]).collect::<Vec<_>>(),
            self.zones.iter().map(|item| &item.id).collect(),
            self.openings.iter().map(|item| &item.id).collect(),
        ] {
            hash.count(names.len());
            names.iter().for_each(|name| hash.word(name));
        }
        hash.count(self.runs.len());
        for run in &self.runs {
            hash.word(&run.id);
            hash.count(run.stations.len());
        }
        let chart = &self.fan_chart;
        for curve in [&chart.hot, &chart.cold, &chart.system_hot, &chart.system_cold, &chart.points] {
            hash.count(curve.len());
        }
        hash.0
    }

    /// Hands out every number in its place, always in the same order; one that may be missing as not-a-number.
    pub fn numbers(&mut self, each: &mut dyn FnMut(&mut f64)) {
        let mut all = |numbers: &mut [&mut f64]| numbers.iter_mut().for_each(|number| each(number));
        let mut iterations = self.iterations as f64;
        all(&mut [&mut iterations, &mut self.mass_residual, &mut self.pressure_residual_pa]);
        self.iterations = iterations as usize;
        all(&mut [&mut self.required_flow_kg_s, &mut self.total_flow_kg_s, &mut self.return_area_ratio]);
        let even = &mut self.evenness;
        let mut ratio = even.max_over_min.unwrap_or(f64::NAN);
        all(&mut [&mut even.worst_percent, &mut even.cv_percent, &mut ratio]);
        all(&mut [&mut even.rounding_floor_percent, &mut even.area_ratio]);
        even.max_over_min = (!ratio.is_nan()).then_some(ratio);
        let fan = &mut self.fan;
        all(&mut [&mut fan.flow_m3_s, &mut fan.total_pressure_pa, &mut fan.static_pressure_pa]);
        all(&mut [&mut fan.shaft_power_w, &mut fan.cold_shaft_power_w]);
        all(&mut [&mut fan.stall_margin_percent, &mut fan.density_kg_m3]);
        for slot in &mut self.slots {
            all(&mut [
                &mut slot.station_m,
                &mut slot.area_m2,
                &mut slot.width_mm,
                &mut slot.mass_flow_kg_s,
                &mut slot.target_kg_s,
                &mut slot.velocity_m_s,
                &mut slot.total_pressure_pa,
                &mut slot.discharge_coefficient,
                &mut slot.lean_deg,
            ]);
        }
        for item in &mut self.returns {
            all(&mut [&mut item.mass_flow_kg_s, &mut item.share, &mut item.target_share]);
            all(&mut [&mut item.free_fraction, &mut item.opening_mm, &mut item.drop_pa]);
        }
        for zone in &mut self.zones {
            all(&mut [&mut zone.temperature_c, &mut zone.pressure_pa]);
            all(&mut [&mut zone.supply_kg_s, &mut zone.return_kg_s]);
        }
        for opening in &mut self.openings {
            let mut level = opening.neutral_level_m.unwrap_or(f64::NAN);
            all(&mut [&mut opening.out_kg_s, &mut opening.in_kg_s, &mut level]);
            opening.neutral_level_m = (!level.is_nan()).then_some(level);
        }
        for station in self.runs.iter_mut().flat_map(|run| &mut run.stations) {
            all(&mut [&mut station.station_m, &mut station.total_pa, &mut station.static_pa]);
            all(&mut [&mut station.velocity_pa, &mut station.velocity_m_s]);
        }
        let chart = &mut self.fan_chart;
        let curves = [
            &mut chart.hot,
            &mut chart.cold,
            &mut chart.system_hot,
            &mut chart.system_cold,
            &mut chart.points,
        ];
        for point in curves.into_iter().flatten() {
            all(&mut [&mut point.0, &mut point.1]);
        }
        all(&mut [&mut chart.peak_flow_m3_s]);
    }

    /// The name of the slot with the largest deviation, read from the numbers.
    pub fn name_worst_slot(&mut self) {
        let off = |slot: &&super::SlotResult| (slot.mass_flow_kg_s / slot.target_kg_s - 1.0).abs();
        let worst = self.slots.iter().fold(None, |worst: Option<&super::SlotResult>, slot| {
            if worst.is_some_and(|worst| off(&worst) >= off(&slot)) { worst } else { Some(slot) }
        });
        let name = worst.map(|slot| slot.id.as_str()).unwrap_or_default();
        if self.evenness.worst_slot != name {
            self.evenness.worst_slot = name.to_owned();
        }
    }
}
