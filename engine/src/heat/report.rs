//! Puts a settled balance into words and figures.

use super::accounts::{above_plant_w, goes, residual, water};
use super::balance::Thermal;
use super::convection::radiation_w_m2k;
use super::coupled::{Coupled, Failure};
use super::frame::{Frame, Link, Place};
use super::losses::Exchange;
use super::results::*;
use super::water::dew_point_c;
use super::way::Hung;
use super::{judge, openings, warm_up};
use crate::finding::Finding;
use crate::laws::{Law, damper};
use crate::network::Solution;
use crate::network::from_plan::Built;
use crate::plan::{DuctRole, Plan};

/// Heat of a plan whose air is known at set temperatures; none for a plan without a load.
///
/// Findings say what is assumed, what does not hold, and why there is no balance where there is none.
pub fn of_plan(plan: &Plan, built: &Built, solution: &Solution) -> (Option<Heat>, Vec<Finding>) {
    if plan.load.is_none() {
        return (None, vec![]);
    }
    let mut findings = judge::inputs(plan);
    let mut coupled = Coupled::new(plan, built, solution);
    // The oven's air is reckoned with the kind that takes the most heat.
    coupled.part = Hung::heaviest(plan);
    match coupled.settle() {
        Ok(()) => {
            let heat = describe(&coupled, &Hung::kinds(plan));
            findings.extend(judge::heat(plan, &heat));
            (Some(heat), findings)
        }
        Err(failure) => {
            findings.push(judge::failure(&failure));
            (None, findings)
        }
    }
}

/// Name of a bay: its zone, its number along the path and its side.
pub fn bay_name(plan: &Plan, frame: &Frame, bay: usize) -> String {
    let bay = &frame.bays.bays[bay];
    let side = if bay.side == super::bays::Side::Left { "left" } else { "right" };
    format!("{} {} {side}", plan.zones[bay.zone].id, bay.number + 1)
}

fn describe(coupled: &Coupled, kinds: &[Hung]) -> Heat {
    let (plan, frame) = (coupled.plan, &coupled.frame);
    let Some(thermal) = &coupled.thermal else { return Heat::default() };
    let duty = coupled.duty();
    let (burner_w, fan_w) = (duty.burner_w, duty.fan_w);
    let bays = bays(coupled, thermal);
    let openings = product_openings(coupled, thermal);
    let zones = zones(coupled, thermal, &bays, &openings);
    let goes = goes(coupled, thermal, &bays, &openings, None);
    let goes = Goes { ducts_w: goes.ducts_w + thermal.duct_out_w, house_w: duty.house_w, ..goes };
    let mut parts: Vec<PartHeat> = kinds.iter().filter_map(|hung| coupled.judge_part(hung)).collect();
    let heaviest = coupled.part.as_ref().map(|hung| &hung.id);
    let others = kinds.iter().filter(|hung| Some(&hung.id) != heaviest);
    let lightest = others.min_by(|a, b| a.store_j_mk.total_cmp(&b.store_j_mk));
    let mut take = |hung: Option<&Hung>| {
        let at = parts.iter().position(|part| hung.is_some_and(|hung| part.id == hung.id));
        at.map(|at| parts.remove(at))
    };
    let (part, lightest) = (take(coupled.part.as_ref()), take(lightest));
    // Without parts the burner idles.
    let moving_w = goes.parts_w + goes.carried_w + goes.water_w;
    let mut heat = Heat {
        energy_residual: residual(coupled, thermal, burner_w + fan_w, &goes) / burner_w.abs().max(1.0),
        burner_w,
        burner_input_w: duty.input_w,
        idle_input_w: (burner_w - moving_w).max(0.0) / duty.share_to_air,
        fan_w,
        fan_kg_s: coupled.solution.flows_kg_s[coupled.built.fan],
        supply_temperature_c: thermal.supply_c,
        mix_temperature_c: thermal.mix_c,
        ambient_c: frame.ambient_c,
        humidity_ratio: coupled.moist.supply_w,
        combustion_kg_s: coupled.burned_kg_s,
        air_solves: coupled.solves,
        air_steps: coupled.steps,
        air_behind_k: coupled.behind_k,
        goes,
        worst: worst(coupled, thermal),
        water: water(coupled),
        zones,
        bays,
        streams: streams(coupled, thermal),
        dampers: dampers(coupled, thermal),
        openings,
        part,
        lightest,
        others: parts,
        warm_up: None,
    };
    let set_c = plan.zones.iter().map(|zone| zone.set_temperature_c).fold(f64::NEG_INFINITY, f64::max);
    heat.warm_up = warm_up::warm_up(plan, &heat, set_c);
    heat
}

pub(super) fn partition_gains(frame: &Frame, thermal: &Thermal) -> Vec<f64> {
    let mut gains = vec![0.0; thermal.bays_c.len()];
    for (face, conductance) in frame.bays.partitions.iter().zip(&frame.partition_w_k) {
        let passed = conductance * (thermal.bays_c[face.a] - thermal.bays_c[face.b]);
        gains[face.a] -= passed;
        gains[face.b] += passed;
    }
    gains
}

/// Distance of a bay from its zone's set temperature, K; none of that in a zone that is not heated.
fn off_k(plan: &Plan, bay: &super::bays::Bay, celsius: f64) -> f64 {
    let zone = &plan.zones[bay.zone];
    if zone.unheated { 0.0 } else { celsius - zone.set_temperature_c }
}

fn bays(coupled: &Coupled, thermal: &Thermal) -> Vec<BayHeat> {
    let (plan, frame) = (coupled.plan, &coupled.frame);
    let mut supply = vec![0.0; thermal.bays_c.len()];
    for link in &coupled.links {
        if let (Place::Bay(bay), Some(branch)) = (link.to, link.branch)
            && matches!(coupled.built.network.branches()[branch].law, Law::Slot(_))
        {
            supply[bay] += link.kg_s;
        }
    }
    let gains = partition_gains(frame, thermal);
    let drawn = &thermal.drawn;
    (0..thermal.bays_c.len())
        .map(|i| {
            let (bay, loss, celsius) = (&frame.bays.bays[i], &frame.loss[i], thermal.bays_c[i]);
            let above = celsius - frame.ambient_c;
            BayHeat {
                id: bay_name(plan, frame, i),
                zone: plan.zones[bay.zone].id.clone(),
                number: bay.number + 1,
                side: bay.side,
                from: Some(bay.corners.0),
                to: Some(bay.corners.1),
                temperature_c: celsius,
                off_k: off_k(plan, bay, celsius),
                supply_kg_s: supply[i],
                air_m_s: coupled.air.bays_m_s[i],
                humidity_ratio: coupled.moist.bays_w[i],
                ducts_w: thermal.duct_w[i],
                partition_w: gains[i],
                wall_w: loss.wall_w_k * above,
                roof_w: loss.roof_w_k * above,
                floor_w: loss.floor_w_k * above,
                other_w: loss.other_w_k * above,
                radiation_w: radiation_w_m2k(loss.radiating_m2, celsius, frame.ambient_c) * above,
                parts_w: drawn.parts_w[i],
                carried_w: drawn.carried_w[i],
                water_w: drawn.water_w[i],
                water_kg_s: coupled.moist.vapour_kg_s[i],
            }
        })
        .collect()
}

fn product_openings(coupled: &Coupled, thermal: &Thermal) -> Vec<OpeningHeat> {
    let (plan, frame) = (coupled.plan, &coupled.frame);
    plan.openings
        .iter()
        .zip(&coupled.built.openings)
        .filter_map(|(opening, &i)| {
            let branch = &coupled.built.network.branches()[i];
            let Law::Doorway(door) = &branch.law else { return None };
            let apart = coupled.solution.pressures_pa[branch.from] - coupled.solution.pressures_pa[branch.to];
            let mut air_w = 0.0;
            let mut radiation_w = 0.0;
            for (link, (begin, _)) in coupled.links.iter().zip(&thermal.links_c) {
                if link.branch == Some(i) {
                    let above = above_plant_w(frame, link, *begin);
                    air_w += if link.to == Place::Outside { above } else { 0.0 };
                    // Between zones: what the first zone loses to the second.
                    if opening.to_zone.is_some()
                        && let (Place::Bay(from), Some(zone)) =
                            (link.from, plan.zones.iter().position(|zone| zone.id == opening.zone))
                    {
                        air_w += if frame.bays.bays[from].zone == zone { above } else { -above };
                    }
                }
            }
            if opening.to_zone.is_none() {
                let seen = frame.bays_of_opening(i);
                let area = opening.width_m * opening.height_m / seen.len().max(1) as f64;
                for celsius in seen.into_iter().map(|bay| thermal.bays_c[bay]) {
                    radiation_w +=
                        radiation_w_m2k(area, celsius, frame.ambient_c) * (celsius - frame.ambient_c);
                }
            }
            Some(openings::describe(&opening.id, door, apart, air_w, radiation_w))
        })
        .collect()
}

fn worst(coupled: &Coupled, thermal: &Thermal) -> WorstBay {
    let plan = coupled.plan;
    let bays = &coupled.frame.bays.bays;
    let off = |thermal: &Thermal, i: usize| off_k(plan, &bays[i], thermal.bays_c[i]);
    let worst_of = |thermal: &Thermal| {
        (0..bays.len()).max_by(|&a, &b| off(thermal, a).abs().total_cmp(&off(thermal, b).abs())).unwrap_or(0)
    };
    let bay = worst_of(thermal);
    let with = |which| {
        coupled.with_exchange(which).map_or(off(thermal, bay), |thermal| off(&thermal, worst_of(&thermal)))
    };
    WorstBay {
        bay: bay_name(plan, &coupled.frame, bay),
        off_k: off(thermal, bay),
        off_low_exchange_k: with(Exchange::Low),
        off_high_exchange_k: with(Exchange::High),
        is_exchange_entered: plan.zones.iter().all(|zone| zone.exchange.is_some()),
    }
}

fn zones(coupled: &Coupled, thermal: &Thermal, found: &[BayHeat], openings: &[OpeningHeat]) -> Vec<ZoneHeat> {
    let (plan, bays) = (coupled.plan, &coupled.frame.bays.bays);
    let to_others_w = |id: &str| {
        let walls: f64 = found.iter().filter(|bay| bay.zone == id).map(|bay| -bay.partition_w).sum();
        let inner = plan.openings.iter().zip(openings).filter_map(|(opening, heat)| {
            let to = opening.to_zone.as_ref()?;
            let sign = f64::from(opening.zone == id) - f64::from(to == id);
            Some(sign * heat.air_w)
        });
        walls + inner.sum::<f64>()
    };
    let sum = |weights: &[f64], of: &[f64]| weights.iter().zip(of).map(|(w, x)| w * x).sum::<f64>();
    // Fumes come off where the coating cures: the hottest zone, over its floor.
    let hottest = plan.zones.iter().map(|zone| zone.set_temperature_c).fold(f64::NEG_INFINITY, f64::max);
    let source: Vec<f64> = bays
        .iter()
        .map(|bay| if plan.zones[bay.zone].set_temperature_c == hottest { bay.floor_m2 } else { 0.0 })
        .collect();
    let fumes = coupled.fumes(&source);
    let fume_of_source = sum(&source, &fumes) / source.iter().sum::<f64>();
    plan.zones
        .iter()
        .enumerate()
        .map(|(z, zone)| {
            let own = || bays.iter().zip(&thermal.bays_c).filter(|(bay, _)| bay.zone == z);
            let floor: f64 = own().map(|(bay, _)| bay.floor_m2).sum();
            let share: Vec<f64> =
                bays.iter().map(|bay| if bay.zone == z { bay.floor_m2 / floor } else { 0.0 }).collect();
            let mean_c = sum(&share, &thermal.bays_c);
            let damper = coupled.dampers.iter().find(|damper| damper.zone == z);
            let (held_by, control_c) = match (damper, &coupled.control) {
                (Some(damper), _) => {
                    (plan.ducts[damper.duct].id.clone(), sum(&damper.weights, &thermal.bays_c))
                }
                (None, super::balance::Control::Holds { weights, .. }) if coupled.burner_zone == Some(z) => {
                    ("burner".to_owned(), sum(weights, &thermal.bays_c))
                }
                _ => (String::new(), mean_c),
            };
            ZoneHeat {
                id: zone.id.clone(),
                set_temperature_c: zone.set_temperature_c,
                mean_c,
                control_c,
                held_by,
                least_c: own().map(|(_, t)| *t).fold(f64::INFINITY, f64::min),
                most_c: own().map(|(_, t)| *t).fold(f64::NEG_INFINITY, f64::max),
                gain: sum(&share, &thermal.gain),
                goes: goes(coupled, thermal, found, openings, Some(z)),
                to_others_w: to_others_w(&zone.id),
                humidity_ratio: sum(&share, &coupled.moist.bays_w),
                dew_point_c: dew_point_c(sum(&share, &coupled.moist.bays_w), coupled.frame.pressure_pa),
                fume_share: if fume_of_source > 0.0 { sum(&share, &fumes) / fume_of_source } else { 0.0 },
            }
        })
        .collect()
}

fn streams(coupled: &Coupled, thermal: &Thermal) -> Vec<Stream> {
    let (plan, frame) = (coupled.plan, &coupled.frame);
    let branches = coupled.built.network.branches();
    let role = |item: &str| plan.ducts.iter().find(|duct| duct.id == item).map(|duct| duct.role);
    let name = |place: Place, link: &Link| match place {
        Place::Bay(bay) => bay_name(plan, frame, bay),
        Place::Outside => "outside".to_owned(),
        Place::Node(_) => {
            let item = link.branch.and_then(|branch| branches[branch].item.as_deref()).unwrap_or("");
            let is_return =
                role(item) == Some(DuctRole::Return) || plan.returns.iter().any(|opening| opening.id == item);
            if is_return { "return" } else { "supply" }.to_owned()
        }
    };
    let mut exhausts = plan.exhausts.iter();
    coupled
        .links
        .iter()
        .zip(&thermal.links_c)
        .filter(|(link, _)| !matches!((link.from, link.to), (Place::Node(_), Place::Node(_))))
        .map(|(link, (_, end))| {
            let id = match (link.branch, link.from, link.to) {
                (Some(branch), ..) => match &branches[branch].law {
                    Law::Leak(_) => branches[branch].item.clone().unwrap_or_default(),
                    _ => branches[branch].id.clone(),
                },
                (None, Place::Bay(_), Place::Outside) => exhausts
                    .find(|exhaust| exhaust.mass_flow_kg_s > 0.0)
                    .map_or_else(String::new, |e| e.id.clone()),
                (None, _, Place::Node(_)) => "combustion".to_owned(),
                (None, Place::Outside, Place::Bay(bay)) => plan.zones[frame.bays.bays[bay].zone].id.clone(),
                _ => "drift".to_owned(),
            };
            Stream {
                id,
                from: name(link.from, link),
                to: name(link.to, link),
                mass_flow_kg_s: link.kg_s,
                temperature_c: *end,
                humidity_ratio: link.humidity_ratio,
            }
        })
        .collect()
}

fn dampers(coupled: &Coupled, thermal: &Thermal) -> Vec<DamperHeat> {
    let plan = coupled.plan;
    let pressures = &coupled.solution.pressures_pa;
    coupled
        .dampers
        .iter()
        .enumerate()
        .filter_map(|(i, modulated)| {
            let duct = &plan.ducts[modulated.duct];
            let blade = duct.damper.as_ref()?;
            let blades = super::control::blades(blade.blades);
            let branch = &coupled.built.network.branches()[modulated.branch];
            let drop_pa = pressures[branch.from] - pressures[branch.to];
            let (open_pa, with_open_pa) = coupled.drops_pa(i)?;
            let path_pa = with_open_pa - open_pa + drop_pa;
            let sum = |x: &[f64]| modulated.weights.iter().zip(x).map(|(w, x)| w * x).sum::<f64>();
            let (now_c, gain) = (sum(&thermal.bays_c), sum(&thermal.gain));
            let fraction = |open: f64| blades.flow_fraction(open, blade.leakage_percent);
            let open = modulated.open_percent;
            let slope = (fraction((open + 0.5).min(100.0)) - fraction((open - 0.5).max(0.0)))
                / ((open + 0.5).min(100.0) - (open - 0.5).max(0.0));
            let follows = slope / fraction(open) * (drop_pa / path_pa).clamp(0.0, 1.0);
            Some(DamperHeat {
                id: duct.id.clone(),
                zone: plan.zones[modulated.zone].id.clone(),
                open_percent: open,
                holds: !modulated.held,
                mass_flow_kg_s: coupled.solution.flows_kg_s[modulated.branch],
                drop_pa,
                authority: damper::authority(open_pa, with_open_pa),
                gain_k: gain * (thermal.supply_c - now_c) * follows,
            })
        })
        .collect()
}

/// Why a balance failed, for callers that want an error.
pub fn refusal(failure: &Failure) -> crate::error::EngineError {
    match failure {
        Failure::Air(worst) => crate::error::EngineError::new(
            worst,
            "the air balance does not close there",
            "check this item, then try again",
        ),
        Failure::Heat => crate::error::EngineError::new(
            "zones",
            "no temperatures an oven can have balance at these flows",
            "bring more supply air to the zone, or ask for less load there",
        ),
    }
}
