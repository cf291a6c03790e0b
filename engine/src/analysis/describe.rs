//! Reads everything a solution says about a plan.

use super::results::*;
use crate::air::{Air, ZERO_CELSIUS_K};
use crate::laws::{Law, fan::FanCurve};
use crate::network::from_plan::{Built, site_pressure_pa};
use crate::network::{Solution, Status};
use crate::numerics::acos;
use crate::plan::{BuildStyle, Plan};

/// Target of each slot, kg/s: the plan's required flow by the slots' weights.
pub fn slot_targets(plan: &Plan, built: &Built) -> Vec<f64> {
    let weights: Vec<f64> =
        built.slots.iter().map(|site| plan.slot_rows[site.row].slot_weight(site.index)).collect();
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
    let mut analysis = of_the_air(plan, built, solution);
    let (heat, warm) = crate::heat::report::of_plan(plan, built, solution);
    analysis.heat = heat;
    analysis.findings = crate::judge::judge(plan, built, &analysis, warm);
    analysis
}

/// What a solution says of flows and pressures, without heat and findings.
pub(super) fn of_the_air(plan: &Plan, built: &Built, solution: &Solution) -> Analysis {
    let slots = slot_results(plan, built, solution);
    let mut analysis = Analysis {
        status: solution.status.word().to_owned(),
        iterations: solution.iterations,
        mass_residual: solution.mass_residual,
        pressure_residual_pa: solution.pressure_residual_pa,
        worst_branch: (solution.status != Status::Converged).then(|| solution.worst.clone()),
        evenness: evenness(plan, built, &slots),
        required_flow_kg_s: plan.required_flow_kg_s,
        // The sum of nothing is −0.
        total_flow_kg_s: slots.iter().map(|slot| slot.mass_flow_kg_s).sum::<f64>() + 0.0,
        returns: return_results(plan, built, solution),
        zones: zone_results(plan, built, solution),
        openings: opening_results(plan, built, solution),
        runs: run_profiles(plan, built, solution),
        slots,
        ..Analysis::default()
    };
    let slot_area: f64 = analysis.slots.iter().map(|slot| slot.area_m2).sum();
    let return_area: f64 = plan.returns.iter().map(|opening| opening.width_m * opening.open_m).sum();
    analysis.return_area_ratio = if slot_area > 0.0 { return_area / slot_area } else { 0.0 };
    if let Law::Fan(curve) = &built.network.branches()[built.fan].law {
        let density = built.network.branches()[built.fan].density_kg_m3;
        let cold = Air::at(plan.site.ambient_c, site_pressure_pa(plan), 0.0).density_kg_m3();
        let flow = solution.flows_kg_s[built.fan] / density;
        analysis.fan = fan_point(curve, flow, density, cold);
        analysis.fan_chart = fan_chart(curve, &analysis.fan, cold);
    }
    analysis
}

/// Each slot at a solution.
pub(crate) fn slot_results(plan: &Plan, built: &Built, solution: &Solution) -> Vec<SlotResult> {
    let targets = slot_targets(plan, built);
    let mut results = Vec::with_capacity(built.slots.len());
    for (site, target) in built.slots.iter().zip(targets) {
        let branch = &built.network.branches()[site.branch];
        let Law::Slot(law) = &branch.law else { continue };
        let row = &plan.slot_rows[site.row];
        let seen = built.network.seen(solution, site.branch);
        let (flow, e_pa) = (seen.m, seen.p_from - seen.p_to);
        let jet = (2.0 * e_pa.max(0.0) / branch.density_kg_m3).sqrt();
        let ideal = law.area_m2 * branch.density_kg_m3 * jet;
        // cos θ = V_mean / V_jet from the duct's axis: exact for a run without loss.
        let mean = 0.5 * (seen.others[0] + seen.others[1]) / (branch.density_kg_m3 * law.duct_area_m2);
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
    result.rounding_floor_percent = built
        .slots
        .iter()
        .filter(|site| plan.slot_rows[site.row].width_m(site.index) > 0.0)
        .map(|site| rounding_floor_percent(plan, site.row, site.index))
        .fold(0.0, f64::max);
    result.area_ratio = area_ratios(plan, built).into_iter().map(|(_, ratio)| ratio).fold(0.0, f64::max);
    result
}

/// What the step of what may change in a row costs at slot `k`: half a step over its size, %.
fn rounding_floor_percent(plan: &Plan, row: usize, k: usize) -> f64 {
    let (row, shop) = (&plan.slot_rows[row], &plan.shop);
    match row.build.unwrap_or(shop.build) {
        BuildStyle::SteppedLengths => 50.0 * 1e3 * shop.length_increment_m / (1e3 * row.slot_length_m(k)),
        // A row has whole slots.
        BuildStyle::PunchedCount => 50.0 / f64::from(row.count),
        _ => 50.0 * 1e3 * shop.width_increment_m / (1e3 * row.width_m(k)),
    }
}

/// Slot area over duct area of each duct that has slots: (index in the plan, ratio).
pub fn area_ratios(plan: &Plan, built: &Built) -> Vec<(usize, f64)> {
    let mut areas = vec![0.0; plan.ducts.len()];
    for site in &built.slots {
        let row = &plan.slot_rows[site.row];
        areas[site.duct] += row.slot_length_m(site.index) * row.width_m(site.index);
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
