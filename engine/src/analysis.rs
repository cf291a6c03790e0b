//! `analyse(&Plan) -> Analysis`: build, solve and judge a plan in one call.

use crate::air::{Air, ZERO_CELSIUS_K};
use crate::error::EngineError;
use crate::finding::Finding;
use crate::laws::{Law, fan::FanCurve};
use crate::network::from_plan::{self, Built, site_pressure_pa};
use crate::network::{Settings, Solution, Status, solve};
use crate::numerics::acos;
use crate::plan::Plan;
use serde::{Deserialize, Serialize};

/// Builds, solves and judges a plan from cold.
///
/// An error means no calculation was possible; a solve that did not converge is an `Analysis` whose
/// `status` says so.
pub fn analyse(plan: &Plan) -> Result<Analysis, EngineError> {
    let built = from_plan::build(plan)?;
    let solution = solve(&built.network, &Settings::default());
    Ok(describe(plan, &built, &solution))
}

/// All that is known about a plan after one solve. Serialised, it is the first JSON door.
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
    #[serde(skip_serializing_if = "Option::is_none")]
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
    /// Each zone.
    pub zones: Vec<ZoneResult>,
    /// Each product opening, in plan order.
    #[serde(default)]
    pub openings: Vec<OpeningResult>,
    /// Pressures along each duct.
    pub runs: Vec<RunProfile>,
    /// Curves for the fan chart.
    pub fan_chart: FanChart,
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

/// Target of each slot, kg/s: the plan's required flow by the slots' weights.
pub fn slot_targets(plan: &Plan, built: &Built) -> Vec<f64> {
    let weights: Vec<f64> = built.slots.iter().map(|site| plan.slot_rows[site.row].weight).collect();
    let all: f64 = weights.iter().sum();
    weights.iter().map(|weight| plan.required_flow_kg_s * weight / all).collect()
}

/// Wanted share of each return opening.
pub fn return_shares(plan: &Plan) -> Vec<f64> {
    let all: f64 = plan.returns.iter().map(|opening| opening.weight).sum();
    plan.returns.iter().map(|opening| opening.weight / all).collect()
}

/// Everything a solution says about a plan.
pub fn describe(plan: &Plan, built: &Built, solution: &Solution) -> Analysis {
    let slots = slot_results(plan, built, solution);
    let mut analysis = Analysis {
        status: solution.status.word().to_owned(),
        iterations: solution.iterations,
        mass_residual: solution.mass_residual,
        pressure_residual_pa: solution.pressure_residual_pa,
        worst_branch: (solution.status != Status::Converged).then(|| solution.worst.clone()),
        evenness: evenness(plan, built, &slots),
        required_flow_kg_s: plan.required_flow_kg_s,
        total_flow_kg_s: slots.iter().map(|slot| slot.mass_flow_kg_s).sum(),
        returns: return_results(plan, built, solution),
        zones: zone_results(plan, built, solution),
        openings: opening_results(plan, built, solution),
        runs: run_profiles(plan, built, solution),
        slots,
        ..Analysis::default()
    };
    if let Law::Fan(curve) = &built.network.branches()[built.fan].law {
        let density = built.network.branches()[built.fan].density_kg_m3;
        let cold = Air::at(plan.site.ambient_c, site_pressure_pa(plan), 0.0).density_kg_m3();
        let flow = solution.flows_kg_s[built.fan] / density;
        analysis.fan = fan_point(curve, flow, density, cold);
        analysis.fan_chart = fan_chart(curve, &analysis.fan, cold);
    }
    analysis.findings = crate::judge::judge(plan, built, &analysis);
    analysis
}

fn slot_results(plan: &Plan, built: &Built, solution: &Solution) -> Vec<SlotResult> {
    let targets = slot_targets(plan, built);
    let mut results = Vec::with_capacity(built.slots.len());
    for (site, target) in built.slots.iter().zip(targets) {
        let branch = &built.network.branches()[site.branch];
        let Law::Slot(law) = &branch.law else { continue };
        let row = &plan.slot_rows[site.row];
        let flow = solution.flows_kg_s[site.branch];
        let e_pa = solution.pressures_pa[branch.from] - solution.pressures_pa[branch.to];
        let others = branch.reads.map(|read| read.map_or(0.0, |i| solution.flows_kg_s[i]));
        let jet = (2.0 * e_pa.max(0.0) / branch.density_kg_m3).sqrt();
        let ideal = law.area_m2 * branch.density_kg_m3 * jet;
        // cos θ = V_mean / V_jet from the duct's axis: exact for a run without loss.
        let mean = 0.5 * (others[0] + others[1]) / (branch.density_kg_m3 * law.duct_area_m2);
        let lean = if jet > 0.0 { 90.0 - acos((mean / jet).clamp(-1.0, 1.0)).to_degrees() } else { 0.0 };
        results.push(SlotResult {
            id: site.id.clone(),
            run: row.duct.clone(),
            zone: plan.zones[site.zone].id.clone(),
            station_m: site.station_m,
            area_m2: law.area_m2,
            width_mm: 1e3 * row.width_m(site.index),
            mass_flow_kg_s: flow,
            target_kg_s: target,
            velocity_m_s: jet,
            total_pressure_pa: e_pa,
            discharge_coefficient: if ideal > 0.0 { flow / ideal } else { 0.0 },
            lean_deg: lean,
        });
    }
    results
}

fn evenness(plan: &Plan, built: &Built, slots: &[SlotResult]) -> Evenness {
    let ratios: Vec<f64> = slots.iter().map(|slot| slot.mass_flow_kg_s / slot.target_kg_s).collect();
    let all: f64 = slots.iter().map(|slot| slot.target_kg_s).sum();
    let weighted = |value: &dyn Fn(f64) -> f64| -> f64 {
        slots.iter().zip(&ratios).map(|(slot, &ratio)| slot.target_kg_s * value(ratio)).sum::<f64>() / all
    };
    let mut result = Evenness::default();
    if slots.is_empty() {
        return result;
    }
    for (slot, ratio) in slots.iter().zip(&ratios) {
        let off = 100.0 * (ratio - 1.0).abs();
        if off > result.worst_percent {
            (result.worst_percent, result.worst_slot) = (off, slot.id.clone());
        }
    }
    let mean = weighted(&|ratio| ratio);
    result.cv_percent = 100.0 * weighted(&|ratio| (ratio - mean) * (ratio - mean)).sqrt();
    let (low, high) =
        ratios.iter().fold((f64::INFINITY, 0.0_f64), |(low, high), &r| (low.min(r), high.max(r)));
    result.max_over_min = (low > 0.0).then(|| high / low);
    let narrowest = slots.iter().map(|slot| slot.width_mm).filter(|w| *w > 0.0).fold(f64::INFINITY, f64::min);
    if narrowest.is_finite() {
        result.rounding_floor_percent = 50.0 * 1e3 * plan.shop.width_increment_m / narrowest;
    }
    result.area_ratio =
        area_ratios(plan, built, slots).into_iter().map(|(_, ratio)| ratio).fold(0.0, f64::max);
    result
}

/// Slot area over duct area of each duct that has slots: (index in the plan, ratio).
pub fn area_ratios(plan: &Plan, built: &Built, slots: &[SlotResult]) -> Vec<(usize, f64)> {
    let mut areas = vec![0.0; plan.ducts.len()];
    for (site, slot) in built.slots.iter().zip(slots) {
        areas[site.duct] += slot.area_m2;
    }
    areas
        .into_iter()
        .enumerate()
        .filter(|(_, area)| *area > 0.0)
        .map(|(duct, area)| (duct, area / plan.ducts[duct].section.area_m2()))
        .collect()
}

fn return_results(plan: &Plan, built: &Built, solution: &Solution) -> Vec<ReturnResult> {
    let all: f64 = built.returns.iter().map(|site| solution.flows_kg_s[site.branch]).sum();
    let shares = return_shares(plan);
    built
        .returns
        .iter()
        .zip(&plan.returns)
        .zip(shares)
        .map(|((site, opening), target_share)| {
            let branch = &built.network.branches()[site.branch];
            let flow = solution.flows_kg_s[site.branch];
            let seen = built.network.seen(solution, site.branch);
            let drop_pa = match &branch.law {
                Law::Inlet(law) => law.drive(&seen).0,
                _ => seen.p_from - seen.p_to,
            };
            ReturnResult {
                id: opening.id.clone(),
                zone: plan.zones[site.zone].id.clone(),
                mass_flow_kg_s: flow,
                share: if all > 0.0 { flow / all } else { 0.0 },
                target_share,
                free_fraction: opening.open_m / opening.height_m,
                opening_mm: 1e3 * opening.open_m,
                drop_pa,
            }
        })
        .collect()
}

fn zone_results(plan: &Plan, built: &Built, solution: &Solution) -> Vec<ZoneResult> {
    let sum = |flows: &mut dyn Iterator<Item = usize>| -> f64 { flows.map(|i| solution.flows_kg_s[i]).sum() };
    plan.zones
        .iter()
        .enumerate()
        .map(|(i, zone)| {
            let node = built.zones[i];
            let slots = built.slots.iter().filter(|site| site.zone == i).map(|site| site.branch);
            let returns = built.returns.iter().filter(|site| site.zone == i).map(|site| site.branch);
            ZoneResult {
                id: zone.id.clone(),
                temperature_c: built.network.nodes()[node].temperature_k - ZERO_CELSIUS_K,
                pressure_pa: solution.pressures_pa[node],
                supply_kg_s: sum(&mut slots.into_iter()),
                return_kg_s: sum(&mut returns.into_iter()),
            }
        })
        .collect()
}

fn opening_results(plan: &Plan, built: &Built, solution: &Solution) -> Vec<OpeningResult> {
    let found = plan.openings.iter().zip(&built.openings).filter_map(|(opening, &i)| {
        let branch = &built.network.branches()[i];
        let Law::Doorway(law) = &branch.law else { return None };
        let exchange = law.exchange(solution.pressures_pa[branch.from] - solution.pressures_pa[branch.to]);
        Some(OpeningResult {
            id: opening.id.clone(),
            out_kg_s: exchange.out_kg_s,
            in_kg_s: exchange.in_kg_s,
            neutral_level_m: exchange.neutral_m,
        })
    });
    found.collect()
}

fn run_profiles(plan: &Plan, built: &Built, solution: &Solution) -> Vec<RunProfile> {
    plan.ducts
        .iter()
        .zip(&built.pieces)
        .map(|(duct, pieces)| {
            let mut stations = Vec::with_capacity(2 * pieces.len());
            for piece in pieces {
                let branch = &built.network.branches()[piece.branch];
                let velocity = solution.flows_kg_s[piece.branch] / (branch.density_kg_m3 * piece.area_m2);
                let velocity_pa = 0.5 * branch.density_kg_m3 * velocity * velocity;
                for (station_m, node) in [(piece.from_m, branch.from), (piece.to_m, branch.to)] {
                    let total_pa = solution.pressures_pa[node];
                    stations.push(Station {
                        station_m,
                        total_pa,
                        static_pa: total_pa - velocity_pa,
                        velocity_pa,
                        velocity_m_s: velocity,
                    });
                }
            }
            RunProfile { id: duct.id.clone(), stations }
        })
        .collect()
}

fn fan_point(curve: &FanCurve, flow_m3_s: f64, density: f64, cold_density: f64) -> FanPointFound {
    let total = curve.rise(flow_m3_s, density).0;
    let outlet = flow_m3_s / curve.outlet_area_m2;
    FanPointFound {
        flow_m3_s,
        total_pressure_pa: total,
        static_pressure_pa: total - 0.5 * density * outlet * outlet,
        shaft_power_w: curve.shaft_power_w(flow_m3_s, density),
        // A fan moves the same volume cold; the square-law system follows density like the curve.
        cold_shaft_power_w: curve.shaft_power_w(flow_m3_s, cold_density),
        stall_margin_percent: if flow_m3_s > 0.0 {
            100.0 * (flow_m3_s - curve.peak_flow_m3_s()) / flow_m3_s
        } else {
            -100.0
        },
        density_kg_m3: density,
    }
}

fn fan_chart(curve: &FanCurve, point: &FanPointFound, cold_density: f64) -> FanChart {
    const STEPS: u32 = 40;
    let end = curve.last_flow_m3_s().max(1.05 * point.flow_m3_s).max(1e-3);
    let flows = || (0..=STEPS).map(|k| end * f64::from(k) / f64::from(STEPS));
    let fan = |density: f64| flows().map(|q| (q, curve.rise(q, density).0)).collect();
    let heavier = cold_density / point.density_kg_m3;
    let system = |factor: f64| {
        let c = factor * point.total_pressure_pa / (point.flow_m3_s * point.flow_m3_s).max(1e-12);
        flows().map(|q| (q, c * q * q)).collect()
    };
    FanChart {
        hot: fan(point.density_kg_m3),
        cold: fan(cold_density),
        system_hot: system(1.0),
        system_cold: system(heavier),
        points: vec![
            (point.flow_m3_s, point.total_pressure_pa),
            (point.flow_m3_s, heavier * point.total_pressure_pa),
        ],
        peak_flow_m3_s: curve.peak_flow_m3_s(),
    }
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
        slots
            .chain(returns)
            .chain(zones)
            .chain(stations)
            .chain(fan)
            .flat_map(|value| value.to_bits().to_le_bytes())
            .fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
    }
}
