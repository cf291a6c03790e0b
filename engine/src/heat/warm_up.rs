//! From cold to temperature.

use super::results::{Heat, WarmUp};
use super::{combustion, envelope};
use crate::air::Air;
use crate::network::from_plan::site_pressure_pa;
use crate::plan::geometry::length_m;
use crate::plan::{PanelBuildUp, Plan};

/// Steps of the integration.
const STEPS: usize = 60;
/// Sheet that ducts are made of, m, and its heat, J/(m³·K).
const DUCT_SHEET_M: f64 = 0.001;
const STEEL_J_M3K: f64 = 7_850.0 * 490.0;

/// Heat that the oven stores per kelvin, J/K: inner skins and half of the insulation, ducts of 1 mm sheet, the chain
/// inside, the heater's house and the air.
pub fn stored_j_k(plan: &Plan) -> f64 {
    let panels = plan.enclosure.panels.clone().unwrap_or_default();
    let assumed = PanelBuildUp::new(0.15);
    let wall = panels.wall.as_ref().unwrap_or(&assumed);
    let outline = &plan.enclosure.outline;
    let mut ring = outline.clone();
    ring.extend(outline.first().copied());
    let (floor, height) = (super::bays::floor_area_m2(outline), plan.enclosure.height_m);
    let roof = envelope::stored_j_m2k(panels.roof.as_ref().unwrap_or(wall));
    let below = panels.floor.as_ref().map_or(roof, |floor| {
        STEEL_J_M3K * floor.deck_m.max(0.0) + 0.5 * 840.0 * 90.0 * floor.insulation_m.max(0.0)
    });
    let shell = envelope::stored_j_m2k(wall) * length_m(&ring) * height + (roof + below) * floor;
    let sheet: f64 = plan.ducts.iter().map(|duct| duct.section.perimeter_m() * length_m(&duct.path)).sum();
    let house = plan.heater.house.as_ref().map_or(0.0, |house| {
        490.0 * house.metal_kg
            + envelope::stored_j_m2k(house.panel.as_ref().unwrap_or(wall)) * house.surface_m2.max(0.0)
    });
    let inside = |zone| plan.conveyor.as_ref().and_then(|line| super::bays::stretch_inside(&line.path, zone));
    let chain_m: f64 = plan.zones.iter().filter_map(inside).map(|(from, to)| to - from).sum();
    let chain = plan.load.as_ref().and_then(|load| load.chain.as_ref());
    let chain = chain.map_or(0.0, |chain| chain.kg_per_m.max(0.0) * chain.specific_heat_j_kgk * chain_m);
    let air = 1_010.0 * 0.9 * floor * height;
    shell + STEEL_J_M3K * DUCT_SHEET_M * sheet + house + chain + air
}

/// Time from plant temperature to `set_c` with the burner at its rating and an empty line.
///
/// C·dT/dt = P·η + P_fan·ρ(T)/ρ_hot − K·(T − T_a), integrated in steps of equal temperature; C J/K of [`stored_j_k`], K the
/// loss of the balance without what passes through, W/K. Usual targets are 30 to 60 min. Source: heat balance of one
/// lump (common practice); insulation takes longer than its half share says, so the last kelvins come slower.
pub fn warm_up(plan: &Plan, heat: &Heat, set_c: f64) -> Option<WarmUp> {
    let burner = plan.heater.burner.as_ref().filter(|burner| burner.rated_w > 0.0)?;
    let ambient = plan.site.ambient_c;
    let stored = stored_j_k(plan);
    let goes = &heat.goes;
    let kept = goes.sum_w() - goes.parts_w - goes.carried_w - goes.water_w;
    let loss = kept / (set_c - ambient).max(1.0);
    let pressure = site_pressure_pa(plan);
    let density = |c: f64| Air::at(c, pressure, 0.0).density_kg_m3();
    let hot = density(heat.supply_temperature_c);
    let fan = |c: f64| heat.fan_w * density(c) / hot;
    let given = burner.rated_w * combustion::share_to_air(burner, set_c);
    let step = (set_c - ambient) / STEPS as f64;
    let (mut seconds, mut curve) = (0.0, vec![(0.0, ambient)]);
    let mut reached = step > 0.0;
    for k in 0..STEPS {
        let middle = ambient + (k as f64 + 0.5) * step;
        let power = given + fan(middle) - loss * (middle - ambient);
        if power <= 1e-3 * given {
            reached = false;
            break;
        }
        seconds += stored * step / power;
        curve.push((seconds, middle + 0.5 * step));
    }
    Some(WarmUp {
        seconds: reached.then_some(seconds),
        stored_j_k: stored,
        fan_cold_w: fan(ambient),
        fan_hot_w: heat.fan_w,
        curve,
    })
}
