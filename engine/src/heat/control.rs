//! What holds the temperatures: the burner by its sensor, and modulated dampers.

use super::balance::Control;
use super::bays::Bays;
use super::coupled::Coupled;
use crate::laws::{Law, damper};
use crate::network::from_plan::{Built, damper_coefficient, damper_fraction};
use crate::plan::{Blades, Plan, SensorKind};

/// A damper holds its zone when it is nearer than this to its set temperature, K.
const HOLD_K: f64 = 0.02;
/// Whether a damper comes to a limit is told when its zone is nearer than this to its set temperature, K.
const NEARLY_K: f64 = 1.0;
/// Flow that a damper may be given, as share of the fan's.
const LEAST_SHARE: f64 = 1e-4;
const MOST_SHARE: f64 = 0.9;
/// A secant is taken within this factor of what a well-mixed zone would need.
const SECANT_BAND: f64 = 4.0;

/// A modulated damper in the iteration.
#[derive(Clone, Debug)]
pub struct Modulated {
    /// Index of its duct.
    pub duct: usize,
    /// Its branch.
    pub branch: usize,
    /// Zone it holds.
    pub zone: usize,
    /// Weights of what it reads.
    pub weights: Vec<f64>,
    /// What it holds, °C.
    pub set_c: f64,
    /// Travel found or given, %.
    pub open_percent: f64,
    /// It stands at a limit, or by hand.
    pub held: bool,
    /// Flow and reading before this one, kg/s and °C.
    last: Option<(f64, f64)>,
}

/// Weights by floor area of the bays of a zone.
pub(super) fn mean_of_zone(bays: &Bays, zone: usize) -> Vec<f64> {
    let floor = |bay: &super::bays::Bay| if bay.zone == zone { bay.floor_m2 } else { 0.0 };
    let all: f64 = bays.bays.iter().map(floor).sum();
    bays.bays.iter().map(|bay| floor(bay) / all).collect()
}

impl Coupled<'_> {
    /// Travel of each modulated damper from its drop, and its next flow; whether any still has to move.
    pub(super) fn move_dampers(&mut self) -> bool {
        let Some(thermal) = &self.thermal else { return false };
        let mut wanting = false;
        for modulated in self.dampers.iter_mut().filter(|modulated| !modulated.held) {
            let duct = &self.plan.ducts[modulated.duct];
            let Some(blade) = &duct.damper else { continue };
            let Some(limits) = &blade.modulation else { continue };
            let blades = blades(blade.blades);
            let (least, most) =
                (limits.least_percent.clamp(0.0, 100.0), limits.most_percent.clamp(0.0, 100.0));
            let fraction = |open: f64| blades.flow_fraction(open, blade.leakage_percent);
            let branch = &self.built.network.branches()[modulated.branch];
            let flow = self.solution.flows_kg_s[modulated.branch];
            let mut hold_at = None;
            if let Law::Prescribed { .. } = branch.law {
                let drop = self.solution.pressures_pa[branch.from] - self.solution.pressures_pa[branch.to];
                let ideal = blade.area_m2(duct) * (2.0 * branch.density_kg_m3 * drop.max(1e-9)).sqrt();
                let needed = damper_fraction(duct, blade, flow / ideal);
                if needed > fraction(most) || drop <= 0.0 {
                    hold_at = Some(most);
                } else if needed < fraction(least) {
                    hold_at = Some(least);
                } else {
                    modulated.open_percent = super::bisect(least, most, |open| fraction(open) - needed);
                }
            }
            let dot = |x: &[f64]| modulated.weights.iter().zip(x).map(|(w, x)| w * x).sum::<f64>();
            let now_c = dot(&thermal.bays_c);
            let off = modulated.set_c - now_c;
            let law = &branch.law;
            if hold_at.is_none() && matches!(law, Law::Prescribed { .. }) && off.abs() < HOLD_K {
                continue;
            }
            wanting = true;
            let fan = self.solution.flows_kg_s[self.built.fan].abs();
            let bounds = (LEAST_SHARE * fan, MOST_SHARE * fan);
            if thermal.supply_c - modulated.set_c < 1.0 && hold_at.is_none() {
                hold_at = Some(most);
            }
            // It stays at a limit where the zone, still or nearly, asks for more than that. Told from air that is solved,
            // not nearly so.
            hold_at = hold_at.filter(|&open| if open == least { off < NEARLY_K } else { off > -NEARLY_K });
            if hold_at.is_some() && !self.is_exact {
                self.asks_exact = true;
                continue;
            }
            // Well mixed, a zone takes ṁ·cp·(T_s − T) for a loss in proportion to T; the gain tells both apart.
            let gain = dot(&thermal.gain).clamp(0.02, 0.98);
            let (above, wanted) = (thermal.supply_c - now_c, thermal.supply_c - modulated.set_c);
            let mixed = flow * (above + (1.0 - gain) / gain * off) / wanted - flow;
            let more = match modulated.last {
                // Then by the secant, as what returns and openings do follows too; never far from the first.
                Some((flow_before, before_c)) if (now_c - before_c).abs() > 1e-6 => {
                    let secant = off * (flow - flow_before) / (now_c - before_c);
                    let (near, far) = (mixed / SECANT_BAND, mixed * SECANT_BAND);
                    secant.clamp(near.min(far), near.max(far))
                }
                _ => mixed,
            };
            let next = flow + more;
            modulated.last = Some((flow, now_c));
            let law = match hold_at {
                Some(open) => {
                    (modulated.held, modulated.open_percent) = (true, open);
                    Law::Orifice(crate::laws::opening::Orifice {
                        coefficient: damper_coefficient(duct, blade, open),
                        area_m2: blade.area_m2(duct),
                    })
                }
                None => {
                    let mass_flow_kg_s =
                        next.clamp(0.2 * flow.abs(), 3.0 * flow.abs()).clamp(bounds.0, bounds.1);
                    Law::Prescribed { mass_flow_kg_s }
                }
            };
            // A shut plate that leaves a part without a level keeps its law; the solve then says so.
            let _ = self.built.network.set_law(modulated.branch, law);
        }
        wanting
    }
}

/// Dampers that a plan lets a controller move, each on a duct that leads to the zone it holds.
pub(super) fn modulated(plan: &Plan, built: &Built, bays: &Bays) -> Vec<Modulated> {
    let branches = built.network.branches();
    plan.ducts
        .iter()
        .enumerate()
        .filter_map(|(d, duct)| {
            let blade = duct.damper.as_ref()?;
            let wanted = &blade.modulation.as_ref()?.zone;
            let zone = plan.zones.iter().position(|zone| &zone.id == wanted)?;
            let name = format!("{}:damper", duct.id);
            let branch = branches.iter().position(|branch| branch.id == name)?;
            let (weights, set_c) = reads(plan, bays, zone);
            Some(Modulated {
                duct: d,
                branch,
                zone,
                weights,
                set_c,
                open_percent: blade.open_percent,
                held: false,
                last: None,
            })
        })
        .collect()
}

/// What a controller of a zone reads, as weights of bays, and what it holds: its sensor's bay, else the zone's mean.
fn reads(plan: &Plan, bays: &Bays, zone: usize) -> (Vec<f64>, f64) {
    let id = &plan.zones[zone].id;
    let sensor = plan
        .sensors
        .iter()
        .find(|sensor| sensor.kind == SensorKind::Control && sensor.zone.as_ref() == Some(id));
    let set = plan.zones[zone].set_temperature_c;
    match sensor {
        Some(sensor) => {
            let mut weights = vec![0.0; bays.bays.len()];
            weights[bays.at(zone, sensor.at)] = 1.0;
            (weights, sensor.set_c.unwrap_or(set))
        }
        None => (mean_of_zone(bays, zone), set),
    }
}

/// What the burner holds: the control sensor of a zone that no damper holds, else a control sensor in the supply
/// air, else the mean of the hottest zone that no damper holds.
pub(super) fn control(plan: &Plan, bays: &Bays, dampers: &[Modulated]) -> (Control, Option<usize>) {
    let is_free = |z: usize| !plan.zones[z].unheated && dampers.iter().all(|damper| damper.zone != z);
    let of_zone = |id: &Option<String>| plan.zones.iter().position(|zone| Some(&zone.id) == id.as_ref());
    let mut sensors = plan.sensors.iter().filter(|sensor| sensor.kind == SensorKind::Control);
    let sensed = sensors.clone().filter_map(|sensor| of_zone(&sensor.zone)).find(|&z| is_free(z));
    if sensed.is_none()
        && let Some(sensor) = sensors.find(|sensor| sensor.zone.is_none())
    {
        return (Control::Supply(sensor.set_c.unwrap_or(plan.heater.supply_temperature_c)), None);
    }
    let set = |z: &usize| plan.zones[*z].set_temperature_c;
    let hottest = || (0..plan.zones.len()).filter(|&z| is_free(z)).max_by(|a, b| set(a).total_cmp(&set(b)));
    match sensed.or_else(hottest) {
        Some(zone) => {
            let (weights, set_c) = reads(plan, bays, zone);
            (Control::Holds { weights, set_c }, Some(zone))
        }
        None => (Control::Supply(plan.heater.supply_temperature_c), None),
    }
}

pub(super) fn blades(blades: Blades) -> damper::Blades {
    match blades {
        Blades::Opposed => damper::Blades::Opposed,
        Blades::Parallel => damper::Blades::Parallel,
    }
}
