//! A zone's temperature against the travel of the damper that holds it.

use super::coupled::Coupled;
use super::report::refusal;
use super::way::Hung;
use crate::error::EngineError;
use crate::laws::{Law, damper, opening};
use crate::network::from_plan::{self, damper_coefficient};
use crate::network::{Settings, solve};
use crate::plan::Plan;
use serde::{Deserialize, Serialize};

/// Travel between two points of the picture, %.
const STEP_PERCENT: usize = 10;

/// The picture of one modulated damper.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct DamperTravel {
    /// Its duct.
    pub id: String,
    /// The zone it holds.
    pub zone: String,
    /// What it holds, °C.
    pub set_c: f64,
    /// Travel and temperature, by rising travel.
    pub points: Vec<TravelPoint>,
    /// Travel that holds the zone with an empty line, %; none where none does.
    pub idle_percent: Option<f64>,
    /// Travel that holds it under the heaviest load, %.
    pub loaded_percent: Option<f64>,
    /// Authority under the heaviest load: drop over the open damper as share of the drop from the heater's discharge to
    /// the zone, its own included; none where nothing balances.
    pub authority: Option<f64>,
    /// The same over the rest of that path, its own left out: the other definition in use.
    pub authority_over_rest: Option<f64>,
}

/// What the zone does at one travel.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct TravelPoint {
    /// Travel, %.
    pub open_percent: f64,
    /// Zone with an empty line, °C; none where no physical balance exists.
    pub idle_c: Option<f64>,
    /// Zone under the heaviest load, °C; none likewise.
    pub loaded_c: Option<f64>,
    /// Air through the damper under load, kg/s.
    pub loaded_kg_s: Option<f64>,
}

/// Zone temperature over the whole travel of every modulated damper, idle and loaded, the burner holding its own zone.
///
/// Each point is a balance of air and heat of its own. A travel at which the zone would fall below plant air, or no
/// balance exists, has no temperature.
pub fn damper_travel(plan: &Plan) -> Result<Vec<DamperTravel>, EngineError> {
    if plan.load.is_none() {
        return Err(EngineError::new("load", "the plan has no load", "enter what the oven heats"));
    }
    let built = from_plan::build(plan)?;
    let solution = solve(&built.network, &Settings::default());
    let heaviest = Hung::heaviest(plan);
    let at_rest = Coupled::new(plan, &built, &solution);
    let mut pictures = Vec::new();
    for index in 0..at_rest.dampers.len() {
        let damper = &at_rest.dampers[index];
        let mut picture = DamperTravel {
            id: plan.ducts[damper.duct].id.clone(),
            zone: plan.zones[damper.zone].id.clone(),
            set_c: damper.set_c,
            points: (0..=100)
                .step_by(STEP_PERCENT)
                .map(|k| TravelPoint { open_percent: k as f64, ..TravelPoint::default() })
                .collect(),
            ..DamperTravel::default()
        };
        for loaded in [false, true] {
            let fresh = || {
                let mut coupled = Coupled::new(plan, &built, &solution);
                coupled.part = heaviest.clone().filter(|_| loaded);
                coupled
            };
            let mut holding = fresh();
            let found = match holding.settle() {
                Ok(()) if !holding.dampers[index].held => Some(holding.dampers[index].open_percent),
                Ok(()) => None,
                Err(failure @ super::coupled::Failure::Air(_)) => return Err(refusal(&failure)),
                Err(_) => None,
            };
            *(if loaded { &mut picture.loaded_percent } else { &mut picture.idle_percent }) = found;
            if loaded && let Some((open_pa, path_pa)) = holding.thermal.as_ref().and(holding.drops_pa(index))
            {
                picture.authority = Some(damper::authority(open_pa, path_pa));
                picture.authority_over_rest = Some(open_pa / (path_pa - open_pa));
            }
            for point in &mut picture.points {
                let mut coupled = fresh();
                coupled.hold(index, point.open_percent);
                let zone_c = coupled.settle().ok().and_then(|()| {
                    let thermal = coupled.thermal.as_ref()?;
                    let weights = &coupled.dampers[index].weights;
                    let zone_c = weights.iter().zip(&thermal.bays_c).map(|(w, t)| w * t).sum::<f64>();
                    let coldest = thermal.bays_c.iter().copied().fold(f64::INFINITY, f64::min);
                    (coldest > plan.site.ambient_c - 0.1).then_some(zone_c)
                });
                if loaded {
                    point.loaded_c = zone_c;
                    let branch = coupled.dampers[index].branch;
                    point.loaded_kg_s = zone_c.map(|_| coupled.solution.flows_kg_s[branch]);
                } else {
                    point.idle_c = zone_c;
                }
            }
            if found.is_none() {
                // A search that ended elsewhere; the curve has the answer where it crosses.
                let crossing = crossing_percent(&picture, loaded);
                *(if loaded { &mut picture.loaded_percent } else { &mut picture.idle_percent }) = crossing;
            }
        }
        pictures.push(picture);
    }
    Ok(pictures)
}

/// Travel at which the curve crosses what the damper is to hold, straight between two points.
fn crossing_percent(picture: &DamperTravel, loaded: bool) -> Option<f64> {
    let off = |point: &TravelPoint| {
        let zone_c = if loaded { point.loaded_c } else { point.idle_c };
        zone_c.map(|zone_c| (point.open_percent, zone_c - picture.set_c))
    };
    picture.points.windows(2).find_map(|pair| {
        let ((from, a), (to, b)) = (off(&pair[0])?, off(&pair[1])?);
        (a * b <= 0.0 && a != b).then(|| from + (to - from) * a / (a - b))
    })
}

impl Coupled<'_> {
    /// Drop over a modulated damper were it open, at the flow it passes, and over its path with it: from the heater's
    /// discharge to the zone, Pa.
    pub fn drops_pa(&self, index: usize) -> Option<(f64, f64)> {
        let modulated = &self.dampers[index];
        let duct = &self.plan.ducts[modulated.duct];
        let (network, pressures) = (&self.built.network, &self.solution.pressures_pa);
        let branch = &network.branches()[modulated.branch];
        let flow = self.solution.flows_kg_s[modulated.branch];
        let blade = duct.damper.as_ref()?;
        let velocity =
            flow / (branch.density_kg_m3 * blade.area_m2(duct) * damper_coefficient(duct, blade, 100.0));
        let open_pa = 0.5 * branch.density_kg_m3 * velocity * velocity;
        let drop_pa = pressures[branch.from] - pressures[branch.to];
        let fan = &network.branches()[self.built.fan];
        let discharge = network.branches().iter().find(|branch| branch.from == fan.to)?.to;
        let path_pa = pressures[discharge] - pressures[self.built.zones[modulated.zone]];
        Some((open_pa, path_pa - drop_pa + open_pa))
    }

    /// Holds a modulated damper at a travel.
    pub fn hold(&mut self, index: usize, open_percent: f64) {
        let modulated = &mut self.dampers[index];
        (modulated.held, modulated.open_percent) = (true, open_percent);
        let duct = &self.plan.ducts[modulated.duct];
        let Some(blade) = &duct.damper else { return };
        let coefficient = damper_coefficient(duct, blade, open_percent);
        let law = Law::Orifice(opening::Orifice { coefficient, area_m2: blade.area_m2(duct) });
        // A plate that shuts a part off keeps its law; its solve then says that it does not close.
        let _ = self.built.network.set_law(modulated.branch, law);
        self.is_exact = false;
    }
}
