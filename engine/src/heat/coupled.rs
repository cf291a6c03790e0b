//! Air and heat solved together: densities, temperatures, burner and modulated dampers.

use super::balance::{Control, Drawn, Frame, Link, Place, Shell, Thermal, balance};
use super::bays::Bays;
use super::convection::merged_jets_m_s;
use super::envelope::panel_loss;
use super::floor_slab::{FloorPlace, steady_floor};
use super::way::{self, Hung, Stretch};
use crate::air::Air;
use crate::laws::{Law, damper};
use crate::network::from_plan::{Built, damper_coefficient, damper_fraction, site_pressure_pa};
use crate::network::{Settings, Solution, Solver};
use crate::plan::{Blades, PanelBuildUp, Plan, SensorKind, geometry};

/// Air and temperatures agree when no temperature is farther than this from the one its air was solved with, K.
pub const AGREE_K: f64 = 0.05;
/// A damper holds its zone when it is nearer than this to its set temperature, K.
const HOLD_K: f64 = 0.02;
/// Air solves at most.
const MOST_SOLVES: usize = 14;
/// Speed with which neighbouring bays exchange air where a plan enters nothing, m/s: a guess with a band around it.
/// No published constant exists.
const EXCHANGE_M_S: [f64; 3] = [0.05, 0.02, 0.15];
/// Hooks and chain are taken as bar of these diameters, m.
const CARRIED_M: [f64; 2] = [0.008, 0.012];

/// A branch with less than this share of the fan's flow stands still.
const STILL_SHARE: f64 = 1e-6;

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

/// Why there is no heat balance.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Failure {
    /// The air balance did not close; worst there.
    Air(String),
    /// No temperatures within the physical range balance.
    Heat,
}

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

/// Losses of the shell by zone; a panel of 150 mm by the trade's factor where none is entered.
pub fn shells(plan: &Plan) -> Vec<Shell> {
    let panels = plan.enclosure.panels.clone().unwrap_or_default();
    let assumed = PanelBuildUp::new(0.15);
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
            let floor_w_m2k = panels.floor.as_ref().map_or(roof_w_m2k, |floor| {
                let outline = &plan.enclosure.outline;
                let around = outline.iter().zip(outline.iter().cycle().skip(1));
                let place = FloorPlace {
                    area_m2: super::bays::floor_area_m2(outline),
                    perimeter_m: around.map(|(a, b)| geometry::distance_m(*a, *b)).sum(),
                    inside_c: inside,
                    ambient_c: ambient,
                };
                steady_floor(floor, &place).flux_w_m2 / (inside - ambient).max(1.0)
            });
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

/// Weights by floor area of the bays of a zone.
fn mean_of_zone(bays: &Bays, zone: usize) -> Vec<f64> {
    let floor = |bay: &super::bays::Bay| if bay.zone == zone { bay.floor_m2 } else { 0.0 };
    let all: f64 = bays.bays.iter().map(floor).sum();
    bays.bays.iter().map(|bay| floor(bay) / all).collect()
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

    /// Travel of each modulated damper from its drop, and its next flow; whether any still has to move.
    fn move_dampers(&mut self) -> bool {
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
            // Well mixed, a zone takes ṁ·cp·(T_s − T) for a loss in proportion to T; the gain tells both apart.
            let gain = dot(&thermal.gain).clamp(0.02, 0.98);
            let (above, wanted) = (thermal.supply_c - now_c, thermal.supply_c - modulated.set_c);
            let next = match modulated.last {
                // Then by the secant: what returns and openings do follows too.
                Some((flow_before, before_c)) if (now_c - before_c).abs() > 1e-6 => {
                    flow + off * (flow - flow_before) / (now_c - before_c)
                }
                _ => flow * (above + (1.0 - gain) / gain * off) / wanted,
            };
            modulated.last = Some((flow, now_c));
            if wanted < 1.0 && hold_at.is_none() {
                hold_at = Some(most);
            }
            let law = match hold_at {
                Some(open) => {
                    (modulated.held, modulated.open_percent) = (true, open);
                    Law::Orifice(crate::laws::opening::Orifice {
                        coefficient: damper_coefficient(duct, blade, open),
                        area_m2: blade.area_m2(duct),
                    })
                }
                None => {
                    let fan = self.solution.flows_kg_s[self.built.fan].abs();
                    let mass_flow_kg_s =
                        next.clamp(0.2 * flow.abs(), 3.0 * flow.abs()).clamp(1e-4 * fan, 0.9 * fan);
                    Law::Prescribed { mass_flow_kg_s }
                }
            };
            // A shut plate that leaves a part without a level keeps its law; the solve then says so.
            let _ = self.built.network.set_law(modulated.branch, law);
        }
        wanting
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

/// Dampers that a plan lets a controller move, each on a duct that leads to the zone it holds.
fn modulated(plan: &Plan, built: &Built, bays: &Bays) -> Vec<Modulated> {
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
fn control(plan: &Plan, bays: &Bays, dampers: &[Modulated]) -> (Control, Option<usize>) {
    let is_free = |z: usize| dampers.iter().all(|damper| damper.zone != z);
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
