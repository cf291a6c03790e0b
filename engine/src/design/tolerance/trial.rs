//! The network of a plan with one draw applied to it, solved warm.

use super::doubts::{Counts, Doubts, Draw};
use crate::air::Air;
use crate::analysis::slot_targets;
use crate::error::EngineError;
use crate::laws::{Law, opening};
use crate::network::from_plan::{self, Built, fan_curve, site_pressure_pa};
use crate::network::{Branch, Settings, Solution, Solver};
use crate::plan::Plan;

/// Evenness needs four digits, not twelve.
const CLOSE_ENOUGH: Settings =
    Settings { mass_tolerance: 1e-7, pressure_tolerance_pa: 1e-3, max_iterations: 60, polish: 0 };

/// What a draw does to one branch.
#[derive(Clone, Copy)]
enum Touch {
    Slot(usize),
    Slide(usize),
    /// Index of the damper and of its duct in the plan.
    Damper(usize, usize),
    Regain,
    Friction,
    Fan,
}

/// A plan's network, built once and changed in place by each draw.
pub struct Trial {
    plan: Plan,
    built: Built,
    /// The branches as the plan has them.
    base: Vec<Branch>,
    touches: Vec<(usize, Touch)>,
    /// Branches that carry oven air, with its temperature, K.
    hot: Vec<(usize, f64)>,
    solver: Solver,
    /// A solution to start from under each law.
    starts: Vec<Option<Solution>>,
    pub targets: Vec<f64>,
    pub counts: Counts,
}

impl Trial {
    /// Builds the network with a place for a regain loss at every slot.
    pub fn new(plan: &Plan, laws: usize) -> Result<Self, EngineError> {
        let mut with_regain = plan.clone();
        if with_regain.models.regain == 1.0 {
            with_regain.models.regain = 0.99;
        }
        let built = from_plan::build(&with_regain)?;
        let targets = slot_targets(plan, &built);
        let base = built.network.branches().to_vec();
        let mut touches = Vec::new();
        touches.extend(built.slots.iter().enumerate().map(|(i, site)| (site.branch, Touch::Slot(i))));
        touches.extend(built.returns.iter().enumerate().map(|(i, site)| (site.branch, Touch::Slide(i))));
        touches.push((built.fan, Touch::Fan));
        let mut dampers = 0;
        for (i, branch) in base.iter().enumerate() {
            match &branch.law {
                Law::Duct(_) => touches.push((i, Touch::Friction)),
                Law::Mixing(_) if branch.id.contains(":regain@") => touches.push((i, Touch::Regain)),
                Law::Orifice(_) if branch.id.ends_with(":damper") => {
                    if let Some(duct) =
                        plan.ducts.iter().position(|duct| branch.item.as_ref() == Some(&duct.id))
                    {
                        touches.push((i, Touch::Damper(dampers, duct)));
                        dampers += 1;
                    }
                }
                _ => {}
            }
        }
        // ρ·T is the same for all air of the oven.
        let supply_k = plan.heater.supply_temperature_c + crate::air::ZERO_CELSIUS_K;
        let product = built.supply.density_kg_m3() * supply_k;
        let ambient_k = plan.site.ambient_c + crate::air::ZERO_CELSIUS_K;
        let hot = base
            .iter()
            .enumerate()
            .map(|(i, branch)| (i, product / branch.density_kg_m3))
            .filter(|(_, k)| *k > ambient_k + 1.0)
            .collect();
        let counts = Counts { slots: built.slots.len(), slides: built.returns.len(), dampers };
        let solver = Solver::new(&built.network);
        let starts = vec![None; laws];
        Ok(Self { plan: plan.clone(), built, base, touches, hot, solver, starts, targets, counts })
    }

    /// The plan.
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// The network's sites.
    pub fn built(&self) -> &Built {
        &self.built
    }

    /// Flow of every slot under `draw`, kg/s; none where the air balance did not close.
    pub fn flows(&mut self, doubts: &Doubts, draw: &Draw) -> Option<Vec<f64>> {
        self.apply(doubts, draw);
        // The plan's own law is nearer to any other than rest is.
        let start = self.starts[draw.law].as_ref().or(self.starts[0].as_ref());
        let solution = self.solver.solve(&self.built.network, &CLOSE_ENOUGH, start);
        if !solution.converged() {
            return None;
        }
        let flows = self.built.slots.iter().map(|site| solution.flows_kg_s[site.branch]).collect();
        if self.starts[draw.law].is_none() {
            self.starts[draw.law] = Some(solution);
        }
        Some(flows)
    }

    /// The name of the place that closes worst in the plan as it is.
    pub fn worst(&mut self) -> String {
        self.solver.solve(&self.built.network, &CLOSE_ENOUGH, None).worst
    }

    fn apply(&mut self, doubts: &Doubts, draw: &Draw) {
        let law_now = &doubts.laws[draw.law];
        let branches = &mut self.built.network.branches;
        for &(i, touch) in &self.touches {
            let mut law = self.base[i].law.clone();
            match (&mut law, touch) {
                (Law::Slot(slot), Touch::Slot(s)) => {
                    let site = &self.built.slots[s];
                    let length_m = self.plan.slot_rows[site.row].slot_length_m(site.index);
                    let factor = cut_factor(slot.area_m2, length_m, draw.cuts[s]);
                    slot.area_m2 *= factor * draw.coefficient * (1.0 + draw.slot_to_slot[s]);
                    slot.model = law_now.model;
                }
                (
                    Law::Inlet(opening::Inlet { area_m2, .. })
                    | Law::Orifice(opening::Orifice { area_m2, .. }),
                    Touch::Slide(r),
                ) => {
                    let slide = &self.plan.returns[r];
                    // A slide that is shut is shut; one that is open is not shut by a slip.
                    if slide.open_m > 0.0 {
                        let open_m = slide.open_m + draw.slides[r];
                        *area_m2 = slide.width_m * open_m.clamp(0.1 * slide.open_m, slide.height_m);
                    }
                }
                (Law::Orifice(plate), Touch::Damper(d, duct)) => {
                    let duct = &self.plan.ducts[duct];
                    if let Some(blade) = &duct.damper {
                        let open = (blade.open_percent + draw.dampers[d]).clamp(0.0, 100.0);
                        plate.coefficient = from_plan::damper_coefficient(duct, blade, open);
                    }
                }
                (Law::Mixing(mixing), Touch::Regain) => mixing.theta = draw.regain,
                (Law::Duct(duct), Touch::Friction) => duct.roughness_m *= draw.roughness,
                (law @ Law::Fan(_), Touch::Fan) => {
                    let mut fan = self.plan.heater.fan.clone();
                    for point in &mut fan.points {
                        point.flow_m3_s *= 1.0 + draw.fan;
                        point.pressure_pa *= 1.0 + draw.fan;
                    }
                    if let Some(curve) = fan_curve(&fan) {
                        *law = Law::Fan(curve);
                    }
                }
                _ => {}
            }
            branches[i].law = law;
        }
        for &(i, kelvin) in &self.hot {
            let branch = &mut branches[i];
            let cooler = kelvin / (kelvin + draw.temperature_k);
            branch.density_kg_m3 = self.base[i].density_kg_m3 * cooler;
            branch.viscosity_pa_s = self.base[i].viscosity_pa_s
                * viscosity_at(&self.plan, kelvin + draw.temperature_k)
                / viscosity_at(&self.plan, kelvin);
            if let (Law::Doorway(door), Law::Doorway(was)) = (&mut branch.law, &self.base[i].law) {
                door.from_density = was.from_density * cooler;
                // Beyond the door may be the plant, which stays as it is.
                let zone_beyond = branch.to != 0;
                door.to_density = was.to_density * if zone_beyond { cooler } else { 1.0 };
            }
        }
    }
}

/// Area of a slot as cut over its area as drawn.
pub fn cut_factor(area_m2: f64, length_m: f64, cut_m: f64) -> f64 {
    let width_m = area_m2 / length_m;
    if width_m > 0.0 { (1.0 + cut_m / width_m).max(0.05) } else { 1.0 }
}

fn viscosity_at(plan: &Plan, kelvin: f64) -> f64 {
    Air::at(kelvin - crate::air::ZERO_CELSIUS_K, site_pressure_pa(plan), 0.0).viscosity_pa_s()
}
