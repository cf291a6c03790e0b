//! What is known about a plan after one solve: plain data.

use super::numbers::Hash;
use crate::finding::Finding;
use crate::heat::results::Heat;
use serde::{Deserialize, Serialize};

/// All that is known about a plan after one solve. Serialised, it is the first JSON door.
///
/// It also travels from the worker to the page without keys: no field may be skipped when it is empty.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Analysis {
    /// "converged", or the reason why not.
    pub status: String,
    /// Newton steps taken.
    pub iterations: usize,
    /// Largest mass imbalance of a node over the fan flow.
    pub mass_residual: f64,
    /// Largest pressure imbalance of a branch, Pa.
    pub pressure_residual_pa: f64,
    /// The branch that closes worst, when not converged.
    pub worst_branch: Option<String>,
    /// How far slots are from their targets.
    pub evenness: Evenness,
    /// Supply air wanted, kg/s.
    pub required_flow_kg_s: f64,
    /// Supply air discharged by all slots, kg/s.
    pub total_flow_kg_s: f64,
    /// The fan at its operating point.
    pub fan: FanPointFound,
    /// Each slot, in plan order.
    pub slots: Vec<SlotResult>,
    /// Each return opening, in plan order.
    pub returns: Vec<ReturnResult>,
    /// Free area of all return openings over the area of all slots.
    #[serde(default)]
    pub return_area_ratio: f64,
    /// Each zone.
    pub zones: Vec<ZoneResult>,
    /// Each product opening, in plan order.
    #[serde(default)]
    pub openings: Vec<OpeningResult>,
    /// Pressures along each duct.
    pub runs: Vec<RunProfile>,
    /// Curves for the fan chart.
    pub fan_chart: FanChart,
    /// Heat, of a plan with a load; none where it could not be balanced.
    pub heat: Option<Heat>,
    /// What somebody should know.
    pub findings: Vec<Finding>,
}

/// How far slots are from their targets: |ṁ/target − 1| over all slots of the oven.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Evenness {
    /// The largest deviation, %.
    pub worst_percent: f64,
    /// The slot with the largest deviation.
    pub worst_slot: String,
    /// Weighted population standard deviation, %.
    pub cv_percent: f64,
    /// Largest over smallest flow against target; none when a slot does not discharge.
    pub max_over_min: Option<f64>,
    /// What the cutting step alone costs at the narrowest slot: 50·increment/width, %.
    pub rounding_floor_percent: f64,
    /// Slot area of a run over its duct area, the largest of all runs.
    pub area_ratio: f64,
}

/// The fan at its operating point.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct FanPointFound {
    /// Volume flow at the inlet, m³/s.
    pub flow_m3_s: f64,
    /// Fan total pressure, Pa.
    pub total_pressure_pa: f64,
    /// Fan static pressure: total less the outlet velocity pressure, Pa.
    pub static_pressure_pa: f64,
    /// Shaft power, W.
    pub shaft_power_w: f64,
    /// Shaft power at the same speed with cold air at site ambient, W.
    pub cold_shaft_power_w: f64,
    /// 100·(Q − Q at the pressure peak)/Q.
    pub stall_margin_percent: f64,
    /// Density at the inlet, kg/m³.
    pub density_kg_m3: f64,
}

/// One slot.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct SlotResult {
    /// `row/number`.
    pub id: String,
    /// The duct it is cut in.
    pub run: String,
    /// The zone it blows into.
    pub zone: String,
    /// Distance along the duct, m.
    pub station_m: f64,
    /// Length × width, m².
    pub area_m2: f64,
    /// Short side, mm.
    pub width_mm: f64,
    /// Discharge, kg/s.
    pub mass_flow_kg_s: f64,
    /// What it should discharge, kg/s.
    pub target_kg_s: f64,
    /// Jet velocity in the contracted jet, m/s.
    pub velocity_m_s: f64,
    /// Total pressure in the duct at the slot, against the zone, Pa.
    pub total_pressure_pa: f64,
    /// Discharge coefficient found.
    pub discharge_coefficient: f64,
    /// Lean of the jet from square to the duct, towards the flow, degrees.
    pub lean_deg: f64,
}

/// One return opening.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct ReturnResult {
    /// Name in the plan.
    pub id: String,
    /// The zone it draws from.
    pub zone: String,
    /// Air taken, kg/s.
    pub mass_flow_kg_s: f64,
    /// Share of all returned air.
    pub share: f64,
    /// Wanted share.
    pub target_share: f64,
    /// Free area over full area.
    pub free_fraction: f64,
    /// How far the slide stands open, mm.
    pub opening_mm: f64,
    /// Pressure difference over the opening, Pa: what a manometer reads.
    pub drop_pa: f64,
}

/// One zone.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct ZoneResult {
    /// Name in the plan.
    pub id: String,
    /// Temperature the solve used, °C.
    pub temperature_c: f64,
    /// Pressure against outside at the same height, Pa.
    pub pressure_pa: f64,
    /// Air from slots, kg/s.
    pub supply_kg_s: f64,
    /// Air into returns, kg/s.
    pub return_kg_s: f64,
}

/// One product opening.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct OpeningResult {
    /// Name in the plan.
    pub id: String,
    /// Air out of its zone, kg/s.
    pub out_kg_s: f64,
    /// Air into its zone, kg/s.
    pub in_kg_s: f64,
    /// Height above the floor where the pressures on both sides are equal, m; none when air passes one way.
    pub neutral_level_m: Option<f64>,
}

/// Pressures along one duct, from its first point to its last.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct RunProfile {
    /// The duct.
    pub id: String,
    /// By rising station; where the velocity jumps there are two at one place.
    pub stations: Vec<Station>,
}

/// One place along a duct.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Station {
    /// Distance from the duct's first point, m.
    pub station_m: f64,
    /// Total pressure, gauge, Pa.
    pub total_pa: f64,
    /// Static pressure, gauge, Pa.
    pub static_pa: f64,
    /// Velocity pressure, Pa.
    pub velocity_pa: f64,
    /// Mean velocity towards the last point, m/s.
    pub velocity_m_s: f64,
}

/// Curves for the fan chart; all total pressure over inlet volume flow.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct FanChart {
    /// The fan as it runs hot.
    pub hot: Vec<(f64, f64)>,
    /// The fan at the same speed in cold air.
    pub cold: Vec<(f64, f64)>,
    /// What the duct system needs hot: the square law through the operating point.
    pub system_hot: Vec<(f64, f64)>,
    /// The same system cold.
    pub system_cold: Vec<(f64, f64)>,
    /// Operating points (flow, pressure): hot, cold.
    pub points: Vec<(f64, f64)>,
    /// Flow at the pressure peak.
    pub peak_flow_m3_s: f64,
}

impl Analysis {
    /// A hash of the raw bits of every flow, pressure and chosen size: equal on every machine that
    /// computes the same digits (FNV-1a, 64 bits).
    pub fn fingerprint(&self) -> u64 {
        let slots = self
            .slots
            .iter()
            .flat_map(|s| [s.mass_flow_kg_s, s.total_pressure_pa, s.velocity_m_s, s.width_mm, s.lean_deg]);
        let returns = self.returns.iter().flat_map(|r| [r.mass_flow_kg_s, r.drop_pa, r.opening_mm]);
        let zones = self.zones.iter().map(|zone| zone.pressure_pa);
        let stations =
            self.runs.iter().flat_map(|run| &run.stations).flat_map(|s| [s.total_pa, s.velocity_m_s]);
        let fan = [
            self.fan.flow_m3_s,
            self.fan.total_pressure_pa,
            self.fan.shaft_power_w,
            self.evenness.cv_percent,
        ];
        let mut hash = Hash::new();
        let values = slots.chain(returns).chain(zones).chain(stations).chain(fan);
        values.for_each(|value| hash.bytes(&value.to_bits().to_le_bytes()));
        hash.0
    }
}
