//! What each bay loses by its temperature, and what neighbouring bays exchange.

use super::bays::Bays;
use super::envelope::panel_loss;
use super::floor_slab::{FloorPlace, steady_floor};
use crate::air::Air;
use crate::network::from_plan::site_pressure_pa;
use crate::plan::{FloorBuildUp, PanelBuildUp, Plan};

/// Speed with which neighbouring bays exchange air where a plan enters nothing, m/s: a guess with a band around it.
/// No published constant exists.
const EXCHANGE_M_S: [f64; 3] = [0.05, 0.02, 0.15];

/// Which of the band of exchange.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Exchange {
    /// As entered or assumed.
    Given = 0,
    /// The least.
    Low = 1,
    /// The most.
    High = 2,
}

/// What a bay loses by its temperature.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct BayLoss {
    /// Walls, W/K.
    pub wall_w_k: f64,
    /// Roof, W/K.
    pub roof_w_k: f64,
    /// Floor, W/K.
    pub floor_w_k: f64,
    /// Losses entered by the plan, W/K.
    pub other_w_k: f64,
    /// Openings to outside that it radiates through, m².
    pub radiating_m2: f64,
    /// Plant air that leaks in, kg/s.
    pub leak_kg_s: f64,
}

impl BayLoss {
    /// All that follows the temperature difference, W/K.
    pub fn conductance_w_k(&self) -> f64 {
        self.wall_w_k + self.roof_w_k + self.floor_w_k + self.other_w_k
    }
}

/// The losses of a plan's shell, W/(m²·K) above ambient, for one zone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shell {
    /// Walls.
    pub wall_w_m2k: f64,
    /// Roof.
    pub roof_w_m2k: f64,
    /// Floor.
    pub floor_w_m2k: f64,
}

/// The losses of every bay.
pub fn losses(plan: &Plan, bays: &Bays, shells: &[Shell]) -> Vec<BayLoss> {
    let height = plan.enclosure.height_m;
    let floor_of =
        |z: usize| bays.bays.iter().filter(|bay| bay.zone == z).map(|bay| bay.floor_m2).sum::<f64>();
    let floors: Vec<f64> = (0..plan.zones.len()).map(floor_of).collect();
    let mut losses: Vec<BayLoss> = bays
        .bays
        .iter()
        .map(|bay| {
            let (shell, zone) = (&shells[bay.zone], &plan.zones[bay.zone]);
            let share = bay.floor_m2 / floors[bay.zone];
            BayLoss {
                wall_w_k: shell.wall_w_m2k * bay.wall_m * height,
                roof_w_k: shell.roof_w_m2k * bay.floor_m2,
                floor_w_k: shell.floor_w_m2k * bay.floor_m2,
                other_w_k: zone.other_loss_w_k * share,
                radiating_m2: 0.0,
                leak_kg_s: zone.leak_kg_s * share,
            }
        })
        .collect();
    for opening in plan.openings.iter().filter(|opening| opening.to_zone.is_none()) {
        if let Some(zone) = plan.zones.iter().position(|zone| zone.id == opening.zone) {
            let one = bays.at(zone, opening.at);
            for bay in [one, bays.across(plan, zone, opening).unwrap_or(one)] {
                losses[bay].radiating_m2 += 0.5 * opening.width_m * opening.height_m;
            }
        }
    }
    losses
}

/// Losses of the shell by zone; where none is entered a panel of 150 mm by the trade's factor, and a floor of 150 mm
/// of wool on its slab.
pub fn shells(plan: &Plan) -> Vec<Shell> {
    let panels = plan.enclosure.panels.clone().unwrap_or_default();
    let assumed = PanelBuildUp::new(0.15);
    let floor = panels.floor.clone().unwrap_or_else(|| FloorBuildUp::new(0.15));
    let ambient = plan.site.ambient_c;
    let height = plan.enclosure.height_m;
    plan.zones
        .iter()
        .map(|zone| {
            let inside = zone.set_temperature_c;
            let by = |panel: Option<&PanelBuildUp>| match panel {
                Some(panel) => panel_loss(panel, inside, ambient, height).by(panels.basis),
                None => panel_loss(&assumed, inside, ambient, height).trade_w_m2k,
            };
            let wall_w_m2k = by(panels.wall.as_ref());
            let roof_w_m2k = by(panels.roof.as_ref().or(panels.wall.as_ref()));
            let floor_w_m2k = steady_floor(&floor, &FloorPlace::of(plan, inside)).hot_flux_w_m2
                / (inside - ambient).max(1.0);
            Shell { wall_w_m2k, roof_w_m2k, floor_w_m2k }
        })
        .collect()
}

/// Air exchanged over each face, kg/s each way.
pub fn exchange_kg_s(plan: &Plan, bays: &Bays, which: Exchange) -> Vec<f64> {
    let pressure = site_pressure_pa(plan);
    bays.faces
        .iter()
        .map(|face| {
            let zone = &plan.zones[bays.bays[face.a].zone];
            match zone.exchange {
                Some(exchange) => {
                    [exchange.kg_s, exchange.low_kg_s, exchange.high_kg_s][which as usize].max(0.0)
                }
                None => {
                    let air = Air::at(zone.set_temperature_c, pressure, plan.site.oven_humidity_ratio);
                    let area = face.width_m * plan.enclosure.height_m;
                    EXCHANGE_M_S[which as usize] * area * air.density_kg_m3()
                }
            }
        })
        .collect()
}
