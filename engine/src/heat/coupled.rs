//! Air and heat solved together: densities, temperatures, burner and modulated dampers.

use super::balance::{Control, Drawn, Thermal, balance};
use super::bays::Bays;
use super::control::{Modulated, control, mean_of_zone, modulated};
use super::convection::merged_jets_m_s;
use super::envelope::panel_loss;
use super::frame::{Frame, Link, Place};
use super::losses::{Exchange, exchange_kg_s, shells};
use super::way::{self, Hung, Stretch};
use crate::air::Air;
use crate::laws::Law;
use crate::network::from_plan::Built;
use crate::network::{Settings, Solution, Solver};
use crate::plan::{PanelBuildUp, Plan};

/// Air and temperatures agree when no temperature is farther than this from the one its air was solved with, K.
pub const AGREE_K: f64 = 0.05;
/// Air solves at most.
const MOST_SOLVES: usize = 14;
/// Hooks and chain are taken as bar of these diameters, m.
const CARRIED_M: [f64; 2] = [0.008, 0.012];
/// A branch with less than this share of the fan's flow stands still.
const STILL_SHARE: f64 = 1e-6;

/// Why there is no heat balance.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Failure {
    /// The air balance did not close; worst there.
    Air(String),
    /// No temperatures within the physical range balance.
    Heat,
}

/// A plan in the iteration.
pub struct Coupled<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// Its network with the air as last solved.
    pub built: Built,
    /// What stays the same.
    pub frame: Frame,
    /// Flows and pressures.
    pub solution: Solution,
    /// Streams of that solution.
    pub links: Vec<Link>,
    /// Temperatures.
    pub thermal: Option<Thermal>,
    /// Modulated dampers.
    pub dampers: Vec<Modulated>,
    /// What sets the supply temperature.
    pub control: Control,
    /// The zone the burner holds; none where it holds the supply.
    pub burner_zone: Option<usize>,
    /// Conveyor cut at every bay.
    pub way: Vec<Stretch>,
    /// The parts the air is reckoned with; none for an idle line.
    pub part: Option<Hung>,
    /// Hangers and chain.
    pub carried: Vec<Hung>,
    /// Air solves spent.
    pub solves: usize,
    /// Largest difference from the temperatures the air was solved with, K.
    pub behind_k: f64,
    solver: Solver,
    /// Temperature of each branch as last solved, °C.
    used_c: Vec<f64>,
}

impl<'a> Coupled<'a> {
    /// Sets out from a plan and its air at set temperatures.
    pub fn new(plan: &'a Plan, built: &Built, solution: &Solution) -> Self {
        let bays = Bays::of(plan);
        let shells = shells(plan);
        let exchange = exchange_kg_s(plan, &bays, Exchange::Given);
        let house_w_k = plan.heater.house.as_ref().map_or(0.0, |house| {
            let own = plan.enclosure.panels.as_ref().and_then(|panels| panels.wall.as_ref());
            let assumed = PanelBuildUp::new(0.1);
            let panel = house.panel.as_ref().or(own).unwrap_or(&assumed);
            let basis = plan.enclosure.panels.as_ref().map_or_else(Default::default, |panels| panels.basis);
            let hot = plan.heater.supply_temperature_c;
            panel_loss(panel, hot, plan.site.ambient_c, 2.5).by(basis) * house.surface_m2.max(0.0)
        });
        let way = way::stretches(plan, &bays);
        let dampers = modulated(plan, built, &bays);
        let (control, burner_zone) = control(plan, &bays, &dampers);
        let nodes = built.network.nodes();
        let used_c = built
            .network
            .branches()
            .iter()
            .map(|branch| nodes[branch.from].temperature_k - crate::air::ZERO_CELSIUS_K)
            .collect();
        let load = plan.load.as_ref();
        let entry = load.map_or(plan.site.ambient_c, |load| load.entry_temperature_c);
        let carried = load.map_or_else(Vec::new, |load| {
            let both = [(&load.hangers, CARRIED_M[0]), (&load.chain, CARRIED_M[1])];
            both.iter().filter_map(|(carried, size)| Hung::carried(carried.as_ref()?, entry, *size)).collect()
        });
        Self {
            frame: Frame::new(plan, built, bays, &shells, exchange, house_w_k),
            built: built.clone(),
            solution: solution.clone(),
            links: vec![],
            thermal: None,
            dampers,
            control,
            burner_zone,
            way,
            part: None,
            carried,
            solves: 0,
            behind_k: f64::INFINITY,
            solver: Solver::new(&built.network),
            used_c,
            plan,
        }
    }

    /// Line speed, m/s; none where nothing moves.
    pub fn line_m_s(&self) -> Option<f64> {
        self.plan.conveyor.as_ref().map(|conveyor| conveyor.speed_m_s).filter(|speed| *speed > 0.0)
    }

    /// Speed of the air that rises in each bay, m/s.
    pub fn air_speeds_m_s(&self) -> Vec<f64> {
        let mut momentum = vec![0.0; self.frame.bays.bays.len()];
        let network = &self.built.network;
        for link in &self.links {
            let Some(branch) = link.branch else { continue };
            if let (Law::Slot(_), Place::Bay(bay)) = (&network.branches()[branch].law, link.to) {
                let entry = &network.branches()[branch];
                let drop = self.solution.pressures_pa[entry.from] - self.solution.pressures_pa[entry.to];
                momentum[bay] += link.kg_s * (2.0 * drop.max(0.0) / entry.density_kg_m3).sqrt();
            }
        }
        let plan = self.plan;
        momentum
            .iter()
            .zip(&self.frame.bays.bays)
            .map(|(momentum, bay)| {
                let celsius = plan.zones[bay.zone].set_temperature_c;
                let air = Air::at(celsius, self.frame.pressure_pa, self.frame.humidity_ratio);
                merged_jets_m_s(*momentum, air.density_kg_m3(), bay.floor_m2)
            })
            .collect()
    }

    /// Heat balance at the flows as they are.
    pub fn temperatures(&mut self) -> Result<(), Failure> {
        let supply = self.thermal.as_ref().map_or(self.plan.heater.supply_temperature_c, |t| t.supply_c);
        self.links = self.frame.links(&self.built, &self.solution, supply);
        let speeds = self.air_speeds_m_s();
        let found = self.balanced(&speeds);
        self.thermal = Some(found.ok_or(Failure::Heat)?);
        Ok(())
    }

    fn balanced(&self, speeds: &[f64]) -> Option<Thermal> {
        let set: Vec<f64> =
            self.frame.bays.bays.iter().map(|bay| self.plan.zones[bay.zone].set_temperature_c).collect();
        let start =
            self.thermal.as_ref().map_or((set.as_slice(), self.plan.heater.supply_temperature_c), |t| {
                (t.bays_c.as_slice(), t.supply_c)
            });
        balance(&self.frame, &self.links, &self.control, start, &mut |air_c| self.drawn(air_c, speeds))
    }

    /// The same flows with another exchange between bays.
    pub fn with_exchange(&self, which: Exchange) -> Option<Thermal> {
        let mut frame = self.frame.clone();
        frame.exchange_kg_s = exchange_kg_s(self.plan, &frame.bays, which);
        let supply = self.thermal.as_ref()?.supply_c;
        let links = frame.links(&self.built, &self.solution, supply);
        let drawn = self.thermal.as_ref()?.drawn.clone();
        let start = self.thermal.as_ref().map(|t| (t.bays_c.as_slice(), t.supply_c))?;
        balance(&frame, &links, &self.control, start, &mut |_| drawn.clone())
    }

    /// Takes `hung` through air of these temperatures.
    pub fn pass(&self, hung: &Hung, line_m_s: f64, air_c: &[f64], speeds: &[f64]) -> way::Passed {
        let speed = |stretch: &Stretch| stretch.bays.map_or(0.0, |[a, b]| 0.5 * (speeds[a] + speeds[b]));
        let oven = way::Oven {
            way: &self.way,
            air_c,
            speed_m_s: &speed,
            pressure_pa: self.frame.pressure_pa,
            humidity_ratio: self.frame.humidity_ratio,
        };
        way::pass(hung, line_m_s, &oven)
    }

    /// Heat that everything on the conveyor draws from air of these temperatures.
    pub fn drawn(&self, air_c: &[f64], speeds: &[f64]) -> Drawn {
        let zeros = || vec![0.0; air_c.len()];
        let mut drawn = Drawn {
            parts_w: zeros(),
            carried_w: zeros(),
            water_w: zeros(),
            water_kg_s: zeros(),
            conductance_w_k: zeros(),
        };
        let Some(line) = self.line_m_s() else { return drawn };
        let mut add = |hung: &Hung, is_part: bool| {
            let passed = self.pass(hung, line, air_c, speeds);
            let into = if is_part { &mut drawn.parts_w } else { &mut drawn.carried_w };
            let pairs = [
                (into, &passed.heat_w),
                (&mut drawn.water_w, &passed.water_w),
                (&mut drawn.water_kg_s, &passed.water_kg_s),
                (&mut drawn.conductance_w_k, &passed.conductance_w_k),
            ];
            for (sum, more) in pairs {
                sum.iter_mut().zip(more).for_each(|(sum, more)| *sum += more);
            }
        };
        self.part.iter().for_each(|part| add(part, true));
        self.carried.iter().for_each(|carried| add(carried, false));
        drawn
    }

    /// Solves air and heat in turn until they agree and every modulated damper holds its zone or stands at a limit.
    pub fn settle(&mut self) -> Result<(), Failure> {
        if !self.solution.converged() {
            return Err(Failure::Air(self.solution.worst.clone()));
        }
        loop {
            self.temperatures()?;
            let wanting = self.move_dampers();
            self.behind_k = self.air_is_behind_k();
            if !wanting && self.behind_k < AGREE_K {
                return Ok(());
            }
            if self.solves == MOST_SOLVES {
                return Err(Failure::Heat);
            }
            self.take_up_temperatures();
            let network = &self.built.network;
            let solution = self.solver.solve(network, &Settings::default(), Some(&self.solution));
            self.solves += 1;
            if !solution.converged() {
                return Err(Failure::Air(solution.worst));
            }
            self.solution = solution;
        }
    }

    /// Temperature of the air in each branch, and of each zone's air as a whole, °C.
    fn present_c(&self) -> (Vec<f64>, Vec<f64>) {
        let Some(thermal) = &self.thermal else { return (self.used_c.clone(), vec![]) };
        let mean = |z: usize| {
            mean_of_zone(&self.frame.bays, z).iter().zip(&thermal.bays_c).map(|(w, t)| w * t).sum::<f64>()
        };
        let zones_c: Vec<f64> = (0..self.plan.zones.len()).map(mean).collect();
        let mut now_c = self.used_c.clone();
        // Air that stands may turn either way; it keeps what it had.
        let still = STILL_SHARE * self.solution.flows_kg_s[self.built.fan].abs();
        for (link, (begin, end)) in self.links.iter().zip(&thermal.links_c) {
            if let Some(branch) = link.branch.filter(|_| link.kg_s > still) {
                now_c[branch] = 0.5 * (begin + end);
            }
        }
        // A doorway's law takes one density a side: that of the zone as a whole.
        for &opening in &self.built.openings {
            now_c[opening] = self.side_c(&zones_c, self.built.network.branches()[opening].from);
        }
        (now_c, zones_c)
    }

    fn side_c(&self, zones_c: &[f64], node: usize) -> f64 {
        let zone = self.built.zones.iter().position(|&zone| zone == node);
        zone.map_or(self.frame.ambient_c, |z| zones_c[z])
    }

    fn air_is_behind_k(&self) -> f64 {
        let (now_c, _) = self.present_c();
        now_c.iter().zip(&self.used_c).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max)
    }

    /// Gives every branch the air it carries.
    fn take_up_temperatures(&mut self) {
        let (now_c, zones_c) = self.present_c();
        let (pressure, humidity) = (self.frame.pressure_pa, self.frame.humidity_ratio);
        let outside = self.built.outside;
        let sides: Vec<[f64; 2]> = self
            .built
            .openings
            .iter()
            .map(|&i| {
                let branch = &self.built.network.branches()[i];
                [branch.from, branch.to].map(|node| {
                    let air = |w: f64| Air::at(self.side_c(&zones_c, node), pressure, w).density_kg_m3();
                    air(if node == outside { 0.0 } else { humidity })
                })
            })
            .collect();
        let network = &mut self.built.network;
        for (branch, celsius) in network.branches.iter_mut().zip(&now_c) {
            let air = Air::at(*celsius, pressure, humidity);
            branch.density_kg_m3 = air.density_kg_m3();
            branch.viscosity_pa_s = air.viscosity_pa_s();
        }
        for (&i, [from, to]) in self.built.openings.iter().zip(sides) {
            if let Law::Doorway(law) = &mut network.branches[i].law {
                (law.from_density, law.to_density) = (from, to);
            }
        }
        self.used_c = now_c;
    }
}
