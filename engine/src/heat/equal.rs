//! Air by the heat each bay needs: the target "equal temperature".

use super::coupled::Coupled;
use super::frame::Place;
use super::report::refusal;
use super::stream::enthalpy_j_kg;
use super::way::Hung;
use crate::error::EngineError;
use crate::laws::Law;
use crate::network::{Settings, from_plan, solve};
use crate::plan::Plan;
use crate::plan::geometry::distance_m;

/// A slot gets at least this share of what the slots of its zone get on average, so that it still reaches the part,
const LEAST_SHARE: f64 = 0.4;
/// and at most this: beside a product opening no slot makes up for all the cold air.
const MOST_SHARE: f64 = 3.0;

/// Share of the air of every slot, in the order of the analysis, at which each bay would stand at its zone's set
/// temperature. The shares of a zone's slots add up to what the plan's weights give them now.
///
/// With every bay at its set temperature T, drift and exchange between bays of a zone carry no heat, so bay i needs
/// Q_i = losses + load + ∑ṁ_in·(h(T) − h_in) − heat through duct walls, and its slots ṁ = Q_i/(h_s − h(T)); flows of
/// openings and temperatures of slots are those of the plan as it stands. A bay without slots is served by the
/// nearest of its zone that has some. No slot gets less than 0.4 or more than 3.0 of its zone's mean.
pub fn weights_for_equal_temperature(plan: &Plan) -> Result<Vec<f64>, EngineError> {
    if plan.load.is_none() {
        return Err(EngineError::new(
            "load",
            "the plan has no load, so nothing tells what heat each bay needs",
            "enter what the oven heats",
        ));
    }
    let built = from_plan::build(plan)?;
    let solution = solve(&built.network, &Settings::default());
    let mut coupled = Coupled::new(plan, &built, &solution);
    coupled.part = Hung::heaviest(plan);
    coupled.settle().map_err(|failure| refusal(&failure))?;
    let (frame, bays) = (&coupled.frame, &coupled.frame.bays.bays);
    let Some(thermal) = &coupled.thermal else { return Ok(vec![]) };
    // What is not heated stays as it is.
    let wanted = |(bay, now): (&super::bays::Bay, &f64)| {
        let zone = &plan.zones[bay.zone];
        if zone.unheated { *now } else { zone.set_temperature_c }
    };
    let set: Vec<f64> = bays.iter().zip(&thermal.bays_c).map(wanted).collect();
    let drawn = coupled.drawn(&set);
    let mut need_w: Vec<f64> = (0..bays.len())
        .map(|i| {
            let loss = &frame.loss[i];
            let radiation = super::convection::radiation_w_m2k(loss.radiating_m2, set[i], frame.ambient_c);
            (loss.conductance_w_k() + radiation) * (set[i] - frame.ambient_c)
                + drawn.parts_w[i]
                + drawn.carried_w[i]
                + drawn.water_w[i]
                - thermal.duct_w[i]
        })
        .collect();
    for (face, conductance) in frame.bays.partitions.iter().zip(&frame.partition_w_k) {
        let passed = conductance * (set[face.a] - set[face.b]);
        need_w[face.a] += passed;
        need_w[face.b] -= passed;
    }
    let rise = |from_c: f64, to_c: f64, w: f64| enthalpy_j_kg(to_c, w) - enthalpy_j_kg(from_c, w);
    let mut of_bay: Vec<Vec<usize>> = vec![vec![]; bays.len()];
    let mut gives = vec![1.0; built.slots.len()];
    for (link, (_, end)) in coupled.links.iter().zip(&thermal.links_c) {
        let Place::Bay(to) = link.to else { continue };
        let is_slot = link.branch.is_some_and(|b| matches!(built.network.branches()[b].law, Law::Slot(_)));
        if is_slot {
            let Some(slot) = built.slots.iter().position(|site| Some(site.branch) == link.branch) else {
                continue;
            };
            of_bay[to].push(slot);
            gives[slot] = rise(set[to], *end, link.humidity_ratio).max(1.0);
        } else {
            let from_c = match link.from {
                Place::Bay(from) => set[from],
                Place::Outside => frame.ambient_c,
                Place::Node(_) => *end,
            };
            need_w[to] += link.kg_s * rise(from_c, set[to], link.humidity_ratio);
        }
    }
    for i in 0..bays.len() {
        if of_bay[i].is_empty() {
            let served = (0..bays.len()).filter(|&j| bays[j].zone == bays[i].zone && !of_bay[j].is_empty());
            let apart = |j: &usize| distance_m(bays[*j].at, bays[i].at);
            if let Some(j) = served.min_by(|a, b| apart(a).total_cmp(&apart(b))) {
                need_w[j] += need_w[i];
            }
        }
    }
    let mut weights: Vec<f64> =
        built.slots.iter().map(|site| plan.slot_rows[site.row].slot_weight(site.index)).collect();
    for z in 0..plan.zones.len() {
        let slots: Vec<usize> =
            (0..bays.len()).filter(|&i| bays[i].zone == z).flat_map(|i| of_bay[i].clone()).collect();
        let total: f64 = slots.iter().map(|&slot| weights[slot]).sum();
        let mut wanted = vec![0.0; built.slots.len()];
        for (i, own) in of_bay.iter().enumerate().filter(|(i, _)| bays[*i].zone == z) {
            for &slot in own {
                wanted[slot] = need_w[i].max(0.0) / own.len() as f64 / gives[slot];
            }
        }
        let mean = slots.iter().map(|&slot| wanted[slot]).sum::<f64>() / slots.len().max(1) as f64;
        if mean <= 0.0 {
            continue;
        }
        // What the limits give or take is spread over the others.
        for _ in 0..20 {
            let sum: f64 = slots.iter().map(|&slot| wanted[slot]).sum();
            let scale = mean * slots.len() as f64 / sum;
            for &slot in &slots {
                wanted[slot] = (wanted[slot] * scale).clamp(LEAST_SHARE * mean, MOST_SHARE * mean);
            }
        }
        let sum: f64 = slots.iter().map(|&slot| wanted[slot]).sum();
        for slot in slots {
            weights[slot] = total * wanted[slot] / sum;
        }
    }
    Ok(weights)
}
