//! The enthalpy balance of all bays and ducts at given air flows.

use super::bays::Bays;
use super::convection::{film, inside_duct, radiation_w_m2k};
use super::envelope::stone_wool_w_mk;
use super::stream::{enthalpy_j_kg, specific_heat_j_kgk, temperature_c};
use crate::air::Air;
use crate::laws::Law;
use crate::network::Solution;
use crate::network::from_plan::Built;
use crate::numerics::exp;
use crate::plan::Plan;
use crate::plan::geometry::{self, along};

/// Steps of the iteration at most.
const MOST_STEPS: usize = 80;
/// The iteration ends when no temperature moves more, K.
const STILL_K: f64 = 1e-10;
/// Parts are followed anew until temperatures move less than this, K.
const PARTS_STILL_K: f64 = 1e-4;
/// Free and forced convection on the outside of a duct, W/(m²·K) (common practice, no published source).
const OUTSIDE_DUCT_W_M2K: f64 = 5.0;
/// Emissivity of bare galvanised duct.
const DUCT_EMISSIVITY: f64 = 0.26;
/// Where a temperature leaves what an oven can be, °C.
const PHYSICAL_C: (f64, f64) = (-60.0, 600.0);

/// Where air is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// A node of the network inside ducts or heater.
    Node(usize),
    /// A bay.
    Bay(usize),
    /// The plant.
    Outside,
}

/// A stream of air from one place to another.
#[derive(Clone, Debug, PartialEq)]
pub struct Link {
    /// Where it comes from.
    pub from: Place,
    /// Where it goes.
    pub to: Place,
    /// How much, kg/s.
    pub kg_s: f64,
    /// Share of the temperature difference to its surroundings that is left at its end.
    pub keep: f64,
    /// What surrounds the duct it flows in.
    pub around: Place,
    /// Index of what it is: a branch of the network, or none.
    pub branch: Option<usize>,
}

/// The wall of a stretch of duct.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Jacket {
    surface_m2: f64,
    area_m2: f64,
    diameter_m: f64,
    insulation_m: f64,
    around: Place,
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

/// What of the plan stays the same while flows and temperatures change.
#[derive(Clone, Debug)]
pub struct Frame {
    /// The bays.
    pub bays: Bays,
    /// Loss of each bay.
    pub loss: Vec<BayLoss>,
    /// Plant air, °C.
    pub ambient_c: f64,
    /// Barometer, Pa.
    pub pressure_pa: f64,
    /// Water in oven air, kg/kg.
    pub humidity_ratio: f64,
    /// Conductance of walls between zones, W/K, by partition.
    pub partition_w_k: Vec<f64>,
    /// Air that neighbours exchange each way, kg/s, by face.
    pub exchange_kg_s: Vec<f64>,
    /// Loss of the heater's house, W/K.
    pub house_w_k: f64,
    /// Node where the heater takes air in.
    pub intake: usize,
    ends: Vec<[Place; 2]>,
    /// Branches of product openings that the conveyor passes: their other half opens on the other side of the path.
    halves: Vec<(usize, [Place; 2])>,
    jackets: Vec<Option<Jacket>>,
    exhausts: Vec<(usize, f64)>,
    nodes: usize,
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

impl Frame {
    /// Reads a plan and its network; `shells` by zone, `exchange_kg_s` by face.
    pub fn new(
        plan: &Plan,
        built: &Built,
        bays: Bays,
        shells: &[Shell],
        exchange_kg_s: Vec<f64>,
        house_w_k: f64,
    ) -> Self {
        let network = &built.network;
        let mut spots = vec![None; network.branches().len()];
        for (site, place) in built.slots.iter().zip(geometry::slot_places(plan)) {
            spots[site.branch] = Some(place.at);
        }
        for (r, site) in built.returns.iter().enumerate() {
            spots[site.branch] = Some(geometry::return_place(plan, r));
        }
        for (opening, &branch) in plan.openings.iter().zip(&built.openings) {
            spots[branch] = Some(opening.at);
        }
        for &(branch, at) in &built.leaks {
            spots[branch] = Some(at);
        }
        let place = |node: usize, branch: usize| {
            if node == built.outside {
                return Place::Outside;
            }
            match built.zones.iter().position(|&zone| zone == node) {
                Some(zone) => {
                    let at = spots[branch].unwrap_or(bays.bays[0].at);
                    Place::Bay(bays.at(zone, at))
                }
                None => Place::Node(node),
            }
        };
        let ends = network
            .branches()
            .iter()
            .enumerate()
            .map(|(i, branch)| [place(branch.from, i), place(branch.to, i)])
            .collect();
        let mut halves = Vec::new();
        for (opening, &branch) in plan.openings.iter().zip(&built.openings) {
            let ends = [&network.branches()[branch].from, &network.branches()[branch].to];
            let [from, to] = ends.map(|&node| {
                let zone = built.zones.iter().position(|&zone| zone == node)?;
                Some(bays.across(plan, zone, opening).map_or(place(node, branch), Place::Bay))
            });
            let other = [from.unwrap_or(Place::Outside), to.unwrap_or(Place::Outside)];
            if other != [place(*ends[0], branch), place(*ends[1], branch)] {
                halves.push((branch, other));
            }
        }
        let exhausts = plan
            .exhausts
            .iter()
            .filter_map(|exhaust| {
                let zone = plan.zones.iter().position(|zone| zone.id == exhaust.zone)?;
                Some((bays.at(zone, exhaust.at), exhaust.mass_flow_kg_s))
            })
            .collect();
        let partition_w_k = bays
            .partitions
            .iter()
            .map(|face| shells[bays.bays[face.a].zone].wall_w_m2k * face.width_m * plan.enclosure.height_m)
            .collect();
        Self {
            loss: losses(plan, &bays, shells),
            jackets: jackets(plan, built, &bays),
            ambient_c: plan.site.ambient_c,
            pressure_pa: crate::network::from_plan::site_pressure_pa(plan),
            humidity_ratio: plan.site.oven_humidity_ratio,
            partition_w_k,
            exchange_kg_s,
            house_w_k,
            intake: built.intake,
            ends,
            halves,
            exhausts,
            nodes: network.nodes().len(),
            bays,
        }
    }

    /// The bay on the first side of a product opening, or both where the conveyor passes.
    pub fn bays_of_opening(&self, branch: usize) -> Vec<usize> {
        let halves = self.halves.iter().filter(|(half, _)| *half == branch).map(|(_, ends)| ends[0]);
        core::iter::once(self.ends[branch][0])
            .chain(halves)
            .filter_map(|place| if let Place::Bay(bay) = place { Some(bay) } else { None })
            .collect()
    }

    /// Enthalpy of oven air, J/kg.
    pub fn enthalpy(&self, celsius: f64) -> f64 {
        enthalpy_j_kg(celsius, self.humidity_ratio)
    }

    fn heat(&self, celsius: f64) -> f64 {
        specific_heat_j_kgk(celsius, self.humidity_ratio)
    }

    /// The streams of a solved network, the drift between bays, and what they exchange.
    pub fn links(&self, built: &Built, solution: &Solution, supply_c: f64) -> Vec<Link> {
        let network = &built.network;
        let mut links = Vec::with_capacity(network.branches().len() + 4 * self.bays.faces.len());
        let plain =
            |from, to, kg_s, branch| Link { from, to, kg_s, keep: 1.0, around: Place::Outside, branch };
        for (i, branch) in network.branches().iter().enumerate() {
            let [from, to] = self.ends[i];
            if let Law::Doorway(law) = &branch.law {
                let apart = solution.pressures_pa[branch.from] - solution.pressures_pa[branch.to];
                let exchange = law.exchange(apart);
                let other = self.halves.iter().find(|(branch, _)| *branch == i).map(|(_, ends)| *ends);
                let share = if other.is_some() { 0.5 } else { 1.0 };
                for [from, to] in core::iter::once([from, to]).chain(other) {
                    links.push(plain(from, to, share * exchange.out_kg_s, Some(i)));
                    links.push(plain(to, from, share * exchange.in_kg_s, Some(i)));
                }
                continue;
            }
            let flow = solution.flows_kg_s[i];
            let (from, to) = if flow >= 0.0 { (from, to) } else { (to, from) };
            let mut link = plain(from, to, flow.abs(), Some(i));
            if let Some(jacket) = &self.jackets[i] {
                link.around = jacket.around;
                link.keep = self.keep(jacket, link.kg_s, supply_c);
            }
            links.push(link);
        }
        links.extend(
            self.exhausts.iter().map(|&(bay, kg_s)| plain(Place::Bay(bay), Place::Outside, kg_s, None)),
        );
        for (bay, loss) in self.loss.iter().enumerate().filter(|(_, loss)| loss.leak_kg_s > 0.0) {
            links.push(plain(Place::Outside, Place::Bay(bay), loss.leak_kg_s, None));
        }
        links.retain(|link| link.kg_s > 0.0);
        let drift = self.drift(&links);
        for ((face, drift), exchange) in self.bays.faces.iter().zip(drift).zip(&self.exchange_kg_s) {
            let (a, b) = (Place::Bay(face.a), Place::Bay(face.b));
            let forward = exchange + drift.max(0.0);
            let back = exchange + (-drift).max(0.0);
            links.push(plain(a, b, forward, None));
            links.push(plain(b, a, back, None));
        }
        links.retain(|link| link.kg_s > 0.0);
        links
    }

    /// Share of the temperature difference left at the end of a stretch of duct.
    ///
    /// exp(−U·A/(ṁ·cp)), 1/U = 1/h_in + s/k + 1/h_out; h_in by Gnielinski, h_out 5 W/(m²·K) and radiation of
    /// galvanised sheet, s insulation of stone wool.
    fn keep(&self, jacket: &Jacket, kg_s: f64, air_c: f64) -> f64 {
        let (viscosity, conductivity, prandtl) = film(Air::at(air_c, self.pressure_pa, 0.0));
        let density = Air::at(air_c, self.pressure_pa, self.humidity_ratio).density_kg_m3();
        let reynolds = kg_s / (density * jacket.area_m2) * jacket.diameter_m / viscosity;
        let inner = inside_duct(reynolds, prandtl) * conductivity / jacket.diameter_m;
        let around_c = if jacket.around == Place::Outside { self.ambient_c } else { air_c };
        let outer = OUTSIDE_DUCT_W_M2K + radiation_w_m2k(DUCT_EMISSIVITY, 0.5 * (air_c + around_c), around_c);
        let wool = jacket.insulation_m / stone_wool_w_mk(0.5 * (air_c + around_c));
        let u = 1.0 / (1.0 / inner + wool + 1.0 / outer);
        exp(-u * jacket.surface_m2 / (kg_s * self.heat(air_c)).max(1e-9))
    }

    /// Air that passes each face from its first bay to its second so that every bay's air balances, kg/s.
    ///
    /// Of all flows that do, those with the least ∑ṁ²·L/A are taken: ṁ = (A/L)·(φ_a − φ_b), as air spreads where
    /// nothing but width resists it. The surplus of a bay is what its slots, leaks and openings bring less what
    /// returns, openings and exhaust take.
    fn drift(&self, links: &[Link]) -> Vec<f64> {
        let n = self.bays.bays.len();
        let mut surplus = vec![0.0; n];
        for link in links {
            if let Place::Bay(bay) = link.to {
                surplus[bay] += link.kg_s;
            }
            if let Place::Bay(bay) = link.from {
                surplus[bay] -= link.kg_s;
            }
        }
        let mut matrix = vec![0.0; n * n];
        for face in &self.bays.faces {
            let ease = face.width_m / face.distance_m;
            matrix[face.a * n + face.a] += ease;
            matrix[face.b * n + face.b] += ease;
            matrix[face.a * n + face.b] -= ease;
            matrix[face.b * n + face.a] -= ease;
        }
        // Zones are each in balance: one bay of each stands for the level of its zone.
        for bay in 0..n {
            if bay == 0 || self.bays.bays[bay].zone != self.bays.bays[bay - 1].zone {
                for k in 0..n {
                    matrix[bay * n + k] = 0.0;
                }
                matrix[bay * n + bay] = 1.0;
                surplus[bay] = 0.0;
            }
        }
        let level = &mut [surplus];
        eliminate(&mut matrix, level);
        let ease = |face: &super::bays::Face| face.width_m / face.distance_m;
        self.bays.faces.iter().map(|face| ease(face) * (level[0][face.a] - level[0][face.b])).collect()
    }
}

fn losses(plan: &Plan, bays: &Bays, shells: &[Shell]) -> Vec<BayLoss> {
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

fn jackets(plan: &Plan, built: &Built, bays: &Bays) -> Vec<Option<Jacket>> {
    let mut jackets = vec![None; built.network.branches().len()];
    for (duct, pieces) in plan.ducts.iter().zip(&built.pieces) {
        for piece in pieces.iter().filter(|piece| piece.to_m > piece.from_m) {
            let middle = 0.5 * (piece.from_m + piece.to_m);
            let at = along(&duct.path, middle).0;
            let is_inside = duct.underside_m < plan.enclosure.height_m;
            let zone = plan.zones.iter().position(|zone| is_inside && geometry::inside(&zone.outline, at));
            let section = geometry::section_at(duct, middle);
            jackets[piece.branch] = Some(Jacket {
                surface_m2: section.perimeter_m() * (piece.to_m - piece.from_m),
                area_m2: piece.area_m2,
                diameter_m: section.hydraulic_diameter_m(),
                insulation_m: duct.insulation_m.max(0.0),
                around: zone.map_or(Place::Outside, |z| Place::Bay(bays.at(z, at))),
            });
        }
    }
    jackets
}

/// Solves a row-major system for each right side in place, by elimination without exchange of rows: bay
/// balances are diagonally dominant.
pub fn eliminate(matrix: &mut [f64], right: &mut [Vec<f64>]) {
    let n = right.first().map_or(0, Vec::len);
    for k in 0..n {
        for i in k + 1..n {
            let factor = matrix[i * n + k] / matrix[k * n + k];
            if factor == 0.0 {
                continue;
            }
            for j in k..n {
                matrix[i * n + j] -= factor * matrix[k * n + j];
            }
            for side in right.iter_mut() {
                side[i] -= factor * side[k];
            }
        }
    }
    for side in right.iter_mut() {
        for k in (0..n).rev() {
            let known: f64 = (k + 1..n).map(|j| matrix[k * n + j] * side[j]).sum();
            side[k] = (side[k] - known) / matrix[k * n + k];
        }
    }
}

/// What sets the supply temperature.
#[derive(Clone, Debug, PartialEq)]
pub enum Control {
    /// The burner holds the weighted mean of some bays at a temperature, °C.
    Holds {
        /// Weight of each bay; they add up to one.
        weights: Vec<f64>,
        /// What it holds, °C.
        set_c: f64,
    },
    /// The supply air has this temperature, °C.
    Supply(f64),
}

/// Heat drawn from each bay by what passes through.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Drawn {
    /// By parts, W.
    pub parts_w: Vec<f64>,
    /// By hangers and chain, W.
    pub carried_w: Vec<f64>,
    /// By water, W.
    pub water_w: Vec<f64>,
    /// Water given off, kg/s.
    pub water_kg_s: Vec<f64>,
    /// Change of all of it with the bay's temperature, W/K, for the iteration.
    pub conductance_w_k: Vec<f64>,
}

/// Temperatures that balance.
#[derive(Clone, Debug, PartialEq)]
pub struct Thermal {
    /// Air of each bay, °C.
    pub bays_c: Vec<f64>,
    /// Supply air at the heater's discharge, °C.
    pub supply_c: f64,
    /// Air mixed at the intake, °C.
    pub mix_c: f64,
    /// Each stream at its beginning and end, °C.
    pub links_c: Vec<(f64, f64)>,
    /// Heat the streams of ducts give each bay through their walls, W.
    pub duct_w: Vec<f64>,
    /// Heat ducts lose to the plant, W.
    pub duct_out_w: f64,
    /// What passes through.
    pub drawn: Drawn,
    /// Heat the air takes up between intake and discharge, W.
    pub heater_w: f64,
    /// Change of each bay with the supply temperature, K/K.
    pub gain: Vec<f64>,
}

/// Finds bay and supply temperatures for given streams, by Newton's method on the bays with the ducts, and what
/// passes through, following.
///
/// For every bay Σ ṁ·h in − Σ ṁ·h out + heat through duct walls − losses·(T − T_a) − radiation − what passes = 0.
/// `None` where the controlled bay gets no supply air or a temperature leaves the physical range.
pub fn balance(
    frame: &Frame,
    links: &[Link],
    control: &Control,
    start: (&[f64], f64),
    drawn_at: &mut dyn FnMut(&[f64]) -> Drawn,
) -> Option<Thermal> {
    let n = frame.bays.bays.len();
    let order = order(frame, links);
    let (mut bays_c, mut supply_c) = (start.0.to_vec(), start.1);
    if let Control::Supply(celsius) = control {
        supply_c = *celsius;
    }
    let mut nodes = vec![(supply_c, 1.0); frame.nodes];
    let mut drawn = drawn_at(&bays_c);
    let mut moved = f64::INFINITY;
    for _ in 0..MOST_STEPS {
        mix_nodes(frame, links, &order, &bays_c, supply_c, &mut nodes);
        let mut residual = vec![0.0; n];
        let mut follows = vec![0.0; n];
        let mut matrix = vec![0.0; n * n];
        for link in links {
            let at = ends_of(frame, link, &bays_c, supply_c, &nodes);
            let flow = link.kg_s;
            let (h_in, h_out) = (frame.enthalpy(at.begin_c), frame.enthalpy(at.end_c));
            let cp = flow * frame.heat(at.end_c);
            if let Place::Bay(i) = link.from {
                residual[i] -= flow * h_in;
                matrix[i * n + i] += flow * frame.heat(at.begin_c);
            }
            if let Place::Bay(j) = link.to {
                residual[j] += flow * h_out;
                match link.from {
                    Place::Bay(i) => matrix[j * n + i] -= cp,
                    _ => follows[j] += cp * at.follows * link.keep,
                }
            }
            if let (Place::Bay(k), true) = (link.around, link.keep < 1.0) {
                residual[k] += flow * (h_in - h_out);
                matrix[k * n + k] += cp * (1.0 - link.keep);
                follows[k] += cp * (1.0 - link.keep) * at.follows;
            }
        }
        for (face, conductance) in frame.bays.partitions.iter().zip(&frame.partition_w_k) {
            let passed = conductance * (bays_c[face.a] - bays_c[face.b]);
            residual[face.a] -= passed;
            residual[face.b] += passed;
            matrix[face.a * n + face.a] += conductance;
            matrix[face.b * n + face.b] += conductance;
            matrix[face.a * n + face.b] -= conductance;
            matrix[face.b * n + face.a] -= conductance;
        }
        for i in 0..n {
            let loss = &frame.loss[i];
            let radiation = radiation_w_m2k(loss.radiating_m2, bays_c[i], frame.ambient_c);
            let conductance = loss.conductance_w_k() + radiation;
            residual[i] -= conductance * (bays_c[i] - frame.ambient_c);
            residual[i] -= drawn.parts_w[i] + drawn.carried_w[i] + drawn.water_w[i];
            matrix[i * n + i] += conductance + drawn.conductance_w_k[i];
            if matrix[i * n + i].is_nan() || matrix[i * n + i] <= 0.0 {
                // Nothing reaches this bay: it keeps its temperature.
                matrix[i * n + i] = 1.0;
            }
        }
        let mut sides = [residual, follows];
        eliminate(&mut matrix, &mut sides);
        let [alone, with_supply] = sides;
        let step = match control {
            Control::Supply(_) => 0.0,
            Control::Holds { weights, set_c } => {
                let dot = |x: &[f64]| weights.iter().zip(x).map(|(w, x)| w * x).sum::<f64>();
                let gain = dot(&with_supply);
                if gain.is_nan() || gain <= 1e-4 {
                    return None;
                }
                ((set_c - dot(&bays_c) - dot(&alone)) / gain).clamp(-200.0, 200.0)
            }
        };
        let last = moved;
        moved = step.abs();
        for i in 0..n {
            let change = alone[i] + with_supply[i] * step;
            moved = moved.max(change.abs());
            bays_c[i] += change;
        }
        supply_c += step;
        let sound = |c: &f64| (PHYSICAL_C.0..=PHYSICAL_C.1).contains(c);
        if !(bays_c.iter().all(sound) && (PHYSICAL_C.0..=3.0 * PHYSICAL_C.1).contains(&supply_c)) {
            return None;
        }
        if moved > PARTS_STILL_K {
            drawn = drawn_at(&bays_c);
        }
        if moved < STILL_K || (moved < 1e-7 && moved >= last) {
            return Some(finish(frame, links, &order, (bays_c, supply_c), nodes, drawn, with_supply));
        }
    }
    None
}

struct Ends {
    begin_c: f64,
    end_c: f64,
    /// Change of the beginning with the supply temperature, bays held.
    follows: f64,
}

fn ends_of(frame: &Frame, link: &Link, bays_c: &[f64], supply_c: f64, nodes: &[(f64, f64)]) -> Ends {
    let (begin_c, follows) = match link.from {
        Place::Outside => (frame.ambient_c, 0.0),
        Place::Bay(bay) => (bays_c[bay], 0.0),
        Place::Node(node) if node == frame.intake => (supply_c, 1.0),
        Place::Node(node) => nodes[node],
    };
    let around = match link.around {
        Place::Bay(bay) => bays_c[bay],
        _ => frame.ambient_c,
    };
    Ends { begin_c, end_c: around + (begin_c - around) * link.keep, follows }
}

/// Nodes in the order the air reaches them, each with the links that end there.
fn order(frame: &Frame, links: &[Link]) -> Vec<(usize, Vec<usize>)> {
    let mut waiting = vec![0usize; frame.nodes];
    let mut into: Vec<Vec<usize>> = vec![vec![]; frame.nodes];
    let mut out: Vec<Vec<usize>> = vec![vec![]; frame.nodes];
    for (i, link) in links.iter().enumerate() {
        let Place::Node(to) = link.to else { continue };
        into[to].push(i);
        if let Place::Node(from) = link.from
            && from != frame.intake
        {
            waiting[to] += 1;
            out[from].push(to);
        }
    }
    let mut ready: Vec<usize> = (0..frame.nodes).filter(|&node| waiting[node] == 0).collect();
    let mut order = Vec::with_capacity(frame.nodes);
    let mut done = vec![false; frame.nodes];
    let mut next = 0;
    loop {
        while let Some(node) = ready.pop() {
            if std::mem::replace(&mut done[node], true) {
                continue;
            }
            for &to in &out[node] {
                waiting[to] -= 1;
                if waiting[to] == 0 {
                    ready.push(to);
                }
            }
            if !into[node].is_empty() {
                order.push((node, std::mem::take(&mut into[node])));
            }
        }
        // Air that runs in a ring: the iteration closes it.
        let Some(stuck) = (next..frame.nodes).find(|&node| !done[node]) else { return order };
        next = stuck + 1;
        ready.push(stuck);
    }
}

fn mix_nodes(
    frame: &Frame,
    links: &[Link],
    order: &[(usize, Vec<usize>)],
    bays_c: &[f64],
    supply_c: f64,
    nodes: &mut [(f64, f64)],
) {
    for (node, into) in order {
        if let [only] = into.as_slice() {
            let link = &links[*only];
            let at = ends_of(frame, link, bays_c, supply_c, nodes);
            nodes[*node] = (at.end_c, at.follows * link.keep);
            continue;
        }
        let (mut flow, mut enthalpy, mut follows) = (0.0, 0.0, 0.0);
        for link in into.iter().map(|&i| &links[i]) {
            let at = ends_of(frame, link, bays_c, supply_c, nodes);
            flow += link.kg_s;
            enthalpy += link.kg_s * frame.enthalpy(at.end_c);
            follows += link.kg_s * at.follows * link.keep;
        }
        nodes[*node] = (temperature_c(enthalpy / flow, frame.humidity_ratio), follows / flow);
    }
}

#[allow(clippy::too_many_arguments)]
fn finish(
    frame: &Frame,
    links: &[Link],
    order: &[(usize, Vec<usize>)],
    (bays_c, supply_c): (Vec<f64>, f64),
    mut nodes: Vec<(f64, f64)>,
    drawn: Drawn,
    gain: Vec<f64>,
) -> Thermal {
    mix_nodes(frame, links, order, &bays_c, supply_c, &mut nodes);
    let mut duct_w = vec![0.0; bays_c.len()];
    let (mut duct_out_w, mut heater_w) = (0.0, 0.0);
    let mut links_c = Vec::with_capacity(links.len());
    for link in links {
        let at = ends_of(frame, link, &bays_c, supply_c, &nodes);
        let (h_in, h_out) = (frame.enthalpy(at.begin_c), frame.enthalpy(at.end_c));
        let lost = link.kg_s * (h_in - h_out);
        match link.around {
            Place::Bay(bay) => duct_w[bay] += lost,
            _ => duct_out_w += lost,
        }
        if link.to == Place::Node(frame.intake) {
            heater_w -= link.kg_s * h_out;
        }
        if link.from == Place::Node(frame.intake) {
            heater_w += link.kg_s * h_in;
        }
        links_c.push((at.begin_c, at.end_c));
    }
    let mix_c = nodes[frame.intake].0;
    Thermal { bays_c, supply_c, mix_c, links_c, duct_w, duct_out_w, drawn, heater_w, gain }
}
