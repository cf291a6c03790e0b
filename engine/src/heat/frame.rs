//! What of a plan stays the same while flows and temperatures change, and the streams of a solved network in it.

use super::bays::Bays;
use super::convection::{film, inside_duct, radiation_w_m2k};
use super::drift::drift;
use super::envelope::stone_wool_w_mk;
use super::losses::{BayLoss, Shell, losses};
use super::stream::specific_heat_j_kgk;
use crate::air::Air;
use crate::laws::Law;
use crate::network::Solution;
use crate::network::from_plan::Built;
use crate::numerics::exp;
use crate::plan::Plan;
use crate::plan::geometry::{self, along};

/// Free and forced convection on the outside of a duct, W/(m²·K) (common practice, no published source).
const OUTSIDE_DUCT_W_M2K: f64 = 5.0;
/// Emissivity of bare galvanised duct.
const DUCT_EMISSIVITY: f64 = 0.26;

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
    /// Water in it, kg per kg of dry air.
    pub humidity_ratio: f64,
}

impl Link {
    /// Whether it is what a direct-fired burner adds to the air of the heater.
    pub fn is_burned(&self, frame: &Frame) -> bool {
        self.branch.is_none() && self.to == Place::Node(frame.intake)
    }
}

/// What besides flows the streams of a solved network follow.
pub struct Given<'a> {
    /// Supply air, °C.
    pub supply_c: f64,
    /// Water in it, kg per kg of dry air.
    pub supply_w: f64,
    /// Water given off in each bay, kg/s.
    pub vapour_kg_s: &'a [f64],
    /// Combustion air and fuel that a direct-fired burner adds, kg/s.
    pub burned_kg_s: f64,
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
    /// Nodes of the network.
    pub nodes: usize,
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

    /// The bay that a branch leads to.
    pub fn bay_behind(&self, branch: usize) -> usize {
        if let Place::Bay(bay) = self.ends[branch][1] { bay } else { 0 }
    }

    /// The streams of a solved network, the drift between bays, and what they exchange; their water is not yet known.
    pub fn links(&self, built: &Built, solution: &Solution, given: &Given) -> Vec<Link> {
        let network = &built.network;
        let mut links = Vec::with_capacity(network.branches().len() + 4 * self.bays.faces.len());
        let plain = |from, to, kg_s, branch| Link {
            from,
            to,
            kg_s,
            keep: 1.0,
            around: Place::Outside,
            branch,
            humidity_ratio: 0.0,
        };
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
                link.keep = self.keep(jacket, link.kg_s, given);
            }
            links.push(link);
        }
        links.extend(
            self.exhausts.iter().map(|&(bay, kg_s)| plain(Place::Bay(bay), Place::Outside, kg_s, None)),
        );
        for (bay, loss) in self.loss.iter().enumerate().filter(|(_, loss)| loss.leak_kg_s > 0.0) {
            links.push(plain(Place::Outside, Place::Bay(bay), loss.leak_kg_s, None));
        }
        links.push(plain(Place::Outside, Place::Node(self.intake), given.burned_kg_s, None));
        links.retain(|link| link.kg_s > 0.0);
        let drift = drift(&self.bays, &links, given.vapour_kg_s);
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
    fn keep(&self, jacket: &Jacket, kg_s: f64, given: &Given) -> f64 {
        let air_c = given.supply_c;
        let (viscosity, conductivity, prandtl) = film(Air::at(air_c, self.pressure_pa, 0.0));
        let density = Air::at(air_c, self.pressure_pa, given.supply_w).density_kg_m3();
        let reynolds = kg_s / (density * jacket.area_m2) * jacket.diameter_m / viscosity;
        let inner = inside_duct(reynolds, prandtl) * conductivity / jacket.diameter_m;
        let around_c = if jacket.around == Place::Outside { self.ambient_c } else { air_c };
        let outer = OUTSIDE_DUCT_W_M2K + radiation_w_m2k(DUCT_EMISSIVITY, 0.5 * (air_c + around_c), around_c);
        let wool = jacket.insulation_m / stone_wool_w_mk(0.5 * (air_c + around_c));
        let u = 1.0 / (1.0 / inner + wool + 1.0 / outer);
        exp(-u * jacket.surface_m2 / (kg_s * specific_heat_j_kgk(air_c, given.supply_w)).max(1e-9))
    }
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
