//! Air and heat solved together: densities, temperatures, burner and modulated dampers.

use super::air_at_part::AirAtParts;
use super::balance::{Control, Drawn, Thermal, balance};
use super::bays::Bays;
use super::combustion;
use super::control::{Modulated, control, modulated};
use super::envelope::panel_loss;
use super::frame::{Frame, Given, Link};
use super::losses::{Exchange, exchange_kg_s, shells};
use super::moisture::{Blend, Moist};
use super::water::wet_bulb_c;
use super::way::{self, Hung, Stretch};
use crate::air::ZERO_CELSIUS_K;
use crate::laws::Law;
use crate::network::from_plan::Built;
use crate::network::{Settings, Solution, Solver};
use crate::plan::{PanelBuildUp, Plan};

/// Air and temperatures agree when no temperature is farther than this from the one its air was solved with, K.
pub const AGREE_K: f64 = 0.05;
/// Air is solved to the end only where temperatures are nearer than this share of [`AGREE_K`] to it.
const NEAR: f64 = 0.4;
/// How far beyond what can be a temperature may lie by rounding, K.
const SLACK_K: f64 = 0.1;
/// Air solves and single steps of it at most.
const MOST_SOLVES: usize = 14;
const MOST_STEPS: usize = 240;
/// Hooks and chain are taken as bar of these diameters, m.
const CARRIED_M: [f64; 2] = [0.008, 0.012];

/// Why there is no heat balance.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Failure {
    /// The air balance did not close; worst there.
    Air(String),
    /// No temperatures within the physical range balance.
    Heat,
}

/// What heats the air.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Duty {
    /// Heat the burner gives to the air and the heater's house, W.
    pub burner_w: f64,
    /// Share of what it burns that it gives; 1 where no burner is entered.
    pub share_to_air: f64,
    /// What it burns for that, on the gross heating value, W.
    pub input_w: f64,
    /// Shaft power of the fan, W.
    pub fan_w: f64,
    /// Loss of the heater's house, W.
    pub house_w: f64,
    /// Combustion air and fuel that enter the oven's air, kg/s.
    pub burned_kg_s: f64,
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
    /// Water in the air of those streams.
    pub moist: Moist,
    /// Combustion air and fuel that a direct-fired burner adds to the air, kg/s.
    pub burned_kg_s: f64,
    /// The air that parts meet.
    pub air: AirAtParts,
    /// Air solves spent.
    pub solves: usize,
    /// Newton steps of the air spent, those of the solves included.
    pub steps: usize,
    /// Whether the air is solved to the end, rather than nearly.
    pub is_exact: bool,
    /// Whether a damper asks for that.
    pub asks_exact: bool,
    /// Mass that enters each node apart from vapour and combustion, kg/s.
    pub(super) inflows_kg_s: Vec<f64>,
    /// Largest difference from the temperatures the air was solved with, K.
    pub behind_k: f64,
    solver: Solver,
    /// Temperature, °C, and humidity ratio of each branch as last solved.
    pub(super) used: Vec<(f64, f64)>,
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
        let used = built
            .network
            .branches()
            .iter()
            .map(|branch| {
                let node = &nodes[branch.from];
                (node.temperature_k - ZERO_CELSIUS_K, node.humidity_ratio)
            })
            .collect();
        let load = plan.load.as_ref();
        let entry = load.map_or(plan.site.ambient_c, |load| load.entry_temperature_c);
        let carried = load.map_or_else(Vec::new, |load| {
            let both = [(&load.hangers, CARRIED_M[0]), (&load.chain, CARRIED_M[1])];
            both.iter().filter_map(|(carried, size)| Hung::carried(carried.as_ref()?, entry, *size)).collect()
        });
        let frame = Frame::new(plan, built, bays, &shells, exchange, house_w_k);
        Self {
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
            moist: Moist::uniform(&frame, plan.site.oven_humidity_ratio),
            burned_kg_s: 0.0,
            air: AirAtParts::default(),
            solves: 0,
            steps: 0,
            is_exact: true,
            asks_exact: false,
            inflows_kg_s: nodes.iter().map(|node| node.inflow_kg_s).collect(),
            behind_k: f64::INFINITY,
            solver: Solver::new(&built.network),
            used,
            plan,
            frame,
        }
    }

    /// Line speed, m/s; none where nothing moves.
    pub fn line_m_s(&self) -> Option<f64> {
        self.plan.conveyor.as_ref().map(|conveyor| conveyor.speed_m_s).filter(|speed| *speed > 0.0)
    }

    /// Heat balance at the flows as they are.
    pub fn temperatures(&mut self) -> Result<(), Failure> {
        self.air = self.air_at_parts();
        (self.links, self.moist) = self.streams(&self.frame);
        let set: Vec<f64> =
            self.frame.bays.bays.iter().map(|bay| self.plan.zones[bay.zone].set_temperature_c).collect();
        let start =
            self.thermal.as_ref().map_or((set.as_slice(), self.plan.heater.supply_temperature_c), |t| {
                (t.bays_c.as_slice(), t.supply_c)
            });
        let found = balance(&self.frame, &self.links, &self.moist, &self.control, start, &mut |air_c| {
            self.drawn(air_c)
        });
        self.thermal = Some(found.ok_or(Failure::Heat)?);
        Ok(())
    }

    /// Nothing gets hotter than the hottest thing that comes in, nor colder than drying makes the coldest.
    fn is_physical(&self) -> bool {
        let Some(found) = &self.thermal else { return false };
        let hung = self.part.iter().chain(&self.carried).map(|hung| hung.entry_c);
        let (low, high) = hung
            .chain([self.frame.ambient_c])
            .fold((f64::INFINITY, found.supply_c), |(low, high), c| (low.min(c), high.max(c)));
        let low = wet_bulb_c(low.max(0.0), 0.0, self.frame.pressure_pa).min(low);
        found.bays_c.iter().all(|c| (low - SLACK_K..=high + SLACK_K).contains(c))
    }

    /// Streams of the air as last solved, and the water in them.
    fn streams(&self, frame: &Frame) -> (Vec<Link>, Moist) {
        let given = Given {
            supply_c: self.thermal.as_ref().map_or(self.plan.heater.supply_temperature_c, |t| t.supply_c),
            supply_w: self.moist.supply_w,
            vapour_kg_s: &self.moist.vapour_kg_s,
            burned_kg_s: self.burned_kg_s,
        };
        let mut links = frame.links(&self.built, &self.solution, &given);
        let burned_w = self.plan.heater.burner.as_ref().map_or(0.0, combustion::products_humidity_ratio);
        let unknown_w = self.plan.site.oven_humidity_ratio;
        let moist = Moist::of(
            frame,
            &mut links,
            self.moist.vapour_kg_s.clone(),
            burned_w,
            unknown_w,
            self.lets_out(),
        );
        (links, moist)
    }

    /// Content of every bay of what is given off in the bays in these shares, by a measure of its own.
    pub fn fumes(&self, source: &[f64]) -> Vec<f64> {
        let blend = Blend::of(&self.frame, &self.links, &self.moist.order);
        // A trace of them.
        let all: f64 = source.iter().sum();
        let trace: Vec<f64> = source.iter().map(|share| 1e-3 * share / all).collect();
        let found = blend.contents(&self.frame, &self.links, &trace, 0.0, 0.0);
        found.map_or_else(|| vec![0.0; source.len()], |found| found.bays)
    }

    /// The same flows with another exchange between bays.
    pub fn with_exchange(&self, which: Exchange) -> Option<Thermal> {
        let mut frame = self.frame.clone();
        frame.exchange_kg_s = exchange_kg_s(self.plan, &frame.bays, which);
        let (links, moist) = self.streams(&frame);
        let drawn = self.thermal.as_ref()?.drawn.clone();
        let start = self.thermal.as_ref().map(|t| (t.bays_c.as_slice(), t.supply_c))?;
        balance(&frame, &links, &moist, &self.control, start, &mut |_| drawn.clone())
    }

    /// What burner and fan give at the temperatures as they are.
    pub fn duty(&self) -> Duty {
        let Some(thermal) = &self.thermal else { return Duty::default() };
        let fan = &self.built.network.branches()[self.built.fan];
        let flow_m3_s = self.solution.flows_kg_s[self.built.fan] / fan.density_kg_m3;
        let fan_w = match &fan.law {
            Law::Fan(curve) => curve.shaft_power_w(flow_m3_s, fan.density_kg_m3).max(0.0),
            _ => 0.0,
        };
        let house_w = self.frame.house_w_k * (thermal.supply_c - self.frame.ambient_c);
        let burner_w = thermal.heater_w - fan_w + house_w;
        let burner = self.plan.heater.burner.as_ref();
        let share_to_air = burner.map_or(1.0, |burner| combustion::share_to_air(burner, thermal.supply_c));
        let input_w = burner_w / share_to_air;
        let burned_kg_s = burner.map_or(0.0, |burner| combustion::added_kg_s(burner, input_w));
        Duty { burner_w, share_to_air, input_w, fan_w, house_w, burned_kg_s }
    }

    /// Takes `hung` through air of these temperatures.
    pub fn pass(&self, hung: &Hung, line_m_s: f64, air_c: &[f64]) -> way::Passed {
        let oven = way::Oven {
            way: &self.way,
            air_c,
            humidity_ratio: &self.moist.bays_w,
            at_part: &self.air.way,
            pressure_pa: self.frame.pressure_pa,
            ambient_c: self.frame.ambient_c,
        };
        way::pass(hung, line_m_s, &oven)
    }

    /// Heat that everything on the conveyor draws from air of these temperatures.
    pub fn drawn(&self, air_c: &[f64]) -> Drawn {
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
            let passed = self.pass(hung, line, air_c);
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
            self.asks_exact = false;
            let wanting = self.move_dampers();
            let adds_agree = self.sources_agree();
            self.behind_k = self.air_is_behind_k();
            let near = if self.is_exact { 1.0 } else { NEAR };
            let agrees = !wanting && adds_agree && self.behind_k < near * AGREE_K;
            if agrees && self.is_exact {
                return if self.is_physical() { Ok(()) } else { Err(Failure::Heat) };
            }
            if self.solves == MOST_SOLVES || self.steps > MOST_STEPS {
                return Err(Failure::Heat);
            }
            self.take_up_temperatures();
            self.take_up_sources();
            self.air_again(agrees || self.asks_exact)?;
        }
    }

    /// The air with what changed: one Newton step from what it was, which is enough while temperatures still move, or
    /// solved to the end.
    fn air_again(&mut self, to_the_end: bool) -> Result<(), Failure> {
        let network = &self.built.network;
        if !to_the_end && let Some(nearly) = self.solver.step(network, &self.solution) {
            self.steps += nearly.iterations;
            self.is_exact = false;
            self.solution = nearly;
            return Ok(());
        }
        let solution = self.solver.solve(network, &Settings::default(), Some(&self.solution));
        self.steps += solution.iterations;
        self.solves += 1;
        if !solution.converged() {
            return Err(Failure::Air(solution.worst));
        }
        self.is_exact = true;
        self.solution = solution;
        Ok(())
    }
}
