//! Where heat and water go, and whether that adds up.

use super::balance::Thermal;
use super::convection::radiation_w_m2k;
use super::coupled::Coupled;
use super::frame::{Frame, Link, Place};
use super::moisture::content;
use super::report::partition_gains;
use super::results::{BayHeat, Goes, OpeningHeat, WaterHeat};
use super::stream::{enthalpy_j_kg, vapour_j_kg};

/// Where the heat of the zones goes: of one, or of all with what is lost on the way to and from them.
pub(super) fn goes(
    coupled: &Coupled,
    thermal: &Thermal,
    bays: &[BayHeat],
    openings: &[OpeningHeat],
    zone: Option<usize>,
) -> Goes {
    let (plan, frame) = (coupled.plan, &coupled.frame);
    let is_own = |bay: usize| zone.is_none_or(|zone| frame.bays.bays[bay].zone == zone);
    let own: Vec<&BayHeat> =
        bays.iter().enumerate().filter(|(i, _)| is_own(*i)).map(|(_, bay)| bay).collect();
    let sum = |what: fn(&BayHeat) -> f64| own.iter().map(|bay| what(bay)).sum::<f64>();
    let mut goes = Goes {
        parts_w: sum(|bay| bay.parts_w),
        carried_w: sum(|bay| bay.carried_w),
        // Of its vapour, what it carries above plant temperature leaves with the air.
        water_w: own
            .iter()
            .map(|bay| {
                bay.water_w - bay.water_kg_s * (vapour_j_kg(bay.temperature_c) - vapour_j_kg(frame.ambient_c))
            })
            .sum(),
        wall_w: sum(|bay| bay.wall_w),
        roof_w: sum(|bay| bay.roof_w),
        floor_w: sum(|bay| bay.floor_w),
        other_w: sum(|bay| bay.other_w),
        radiation_w: sum(|bay| bay.radiation_w),
        ..Goes::default()
    };
    let outward = plan.openings.iter().zip(openings).filter(|(opening, _)| {
        opening.to_zone.is_none() && zone.is_none_or(|zone| plan.zones[zone].id == opening.zone)
    });
    goes.openings_w = outward.map(|(_, found)| found.air_w).sum();
    for (link, (_, end)) in coupled.links.iter().zip(&thermal.links_c) {
        let above = above_plant_w(frame, link, *end);
        match (link.from, link.to, link.branch) {
            (Place::Bay(bay), Place::Outside, None) if is_own(bay) => goes.exhaust_w += above,
            (Place::Node(_), Place::Outside, _) if zone.is_none() => goes.ducts_w += above,
            _ => {}
        }
    }
    goes
}

/// Heat of a stream above plant temperature, W.
pub(super) fn above_plant_w(frame: &Frame, link: &Link, celsius: f64) -> f64 {
    let h = |c| enthalpy_j_kg(c, link.humidity_ratio);
    link.kg_s * (h(celsius) - h(frame.ambient_c))
}

/// Misfit of the whole oven or of all bays together, whichever is larger, W.
pub(super) fn residual(coupled: &Coupled, thermal: &Thermal, given_w: f64, goes: &Goes) -> f64 {
    let frame = &coupled.frame;
    let mut left = partition_gains(frame, thermal);
    for (i, left) in left.iter_mut().enumerate() {
        let above = thermal.bays_c[i] - frame.ambient_c;
        let radiation = radiation_w_m2k(frame.loss[i].radiating_m2, thermal.bays_c[i], frame.ambient_c);
        let drawn = thermal.drawn.parts_w[i] + thermal.drawn.carried_w[i] + thermal.drawn.water_w[i];
        *left += coupled.moist.vapour_kg_s[i] * vapour_j_kg(thermal.bays_c[i]);
        *left += thermal.duct_w[i] - (frame.loss[i].conductance_w_k() + radiation) * above - drawn;
    }
    for (link, (begin, end)) in coupled.links.iter().zip(&thermal.links_c) {
        if let Place::Bay(bay) = link.from {
            left[bay] -= link.kg_s * enthalpy_j_kg(*begin, link.humidity_ratio);
        }
        if let Place::Bay(bay) = link.to {
            left[bay] += link.kg_s * enthalpy_j_kg(*end, link.humidity_ratio);
        }
    }
    let bays: f64 = left.iter().map(|left| left.abs()).sum();
    bays.max((given_w - goes.sum_w()).abs())
}

/// Where the water of the air comes from and goes.
pub(super) fn water(coupled: &Coupled) -> WaterHeat {
    let mut water = WaterHeat {
        parts_kg_s: coupled.moist.vapour_kg_s.iter().sum(),
        is_balanced: coupled.moist.is_balanced,
        ..WaterHeat::default()
    };
    for link in &coupled.links {
        let with = link.kg_s * content(link.humidity_ratio);
        match (link.from, link.to, link.branch) {
            (Place::Outside, _, None) if link.is_burned(&coupled.frame) => water.combustion_kg_s += with,
            (Place::Outside, ..) => water.plant_kg_s += with,
            (Place::Bay(_), Place::Outside, None) => water.exhaust_kg_s += with,
            (Place::Bay(_), Place::Outside, Some(_)) => water.openings_kg_s += with,
            (_, Place::Outside, _) => water.ducts_kg_s += with,
            _ => {}
        }
    }
    let comes = water.parts_kg_s + water.combustion_kg_s + water.plant_kg_s;
    let goes = water.exhaust_kg_s + water.openings_kg_s + water.ducts_kg_s;
    water.residual = (comes - goes).abs() / comes.max(goes).max(1e-12);
    water
}
