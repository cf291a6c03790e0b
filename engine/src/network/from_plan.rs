//! Builds a network from a plan: the only place where geometry becomes branches.
//!
//! Every branch remembers the plan item it came from, and [`Built`] keeps which branch is which slot,
//! return and stretch of duct, so that every result can be pointed at on the board.

use super::{Branch, Network, Node};
use crate::air::{Air, ZERO_CELSIUS_K, barometer_pa};
use crate::error::EngineError;
use crate::laws::{Law, damper, doorway, duct, elbow, fan, friction, junction, leakage, opening, slot};
use crate::plan::geometry::{self, Joint, Onto, SNAP_M, SlotPlace};
use crate::plan::{
    Blades, Duct, DuctRole, ElbowStyle, Fan, Plan, PressureBasis, Section, SlotModel, SlotVelocity,
};

/// Discharge coefficient of a slide plate over a wall opening (0.60…0.63; 0.611 by theory).
pub const SLIDE_COEFFICIENT: f64 = 0.61;
/// θ of a return header: momentum balance of inflow square to the axis.
const HEADER_THETA: f64 = 2.0;
/// Cuts of a duct closer than this are one.
const SAME_STATION_M: f64 = 1e-6;

/// A network and where its parts came from.
#[derive(Clone, Debug)]
pub struct Built {
    /// The network.
    pub network: Network,
    /// Slots in plan order.
    pub slots: Vec<SlotSite>,
    /// Return openings in plan order.
    pub returns: Vec<ReturnSite>,
    /// Branches of the product openings in plan order.
    pub openings: Vec<usize>,
    /// Stretches of each duct, by station; index as in the plan.
    pub pieces: Vec<Vec<Piece>>,
    /// The fan's branch.
    pub fan: usize,
    /// The node of each zone, index as in the plan.
    pub zones: Vec<usize>,
    /// State of the supply air.
    pub supply: Air,
}

/// One slot in the network.
#[derive(Clone, Debug, PartialEq)]
pub struct SlotSite {
    /// `row/number`.
    pub id: String,
    /// Its branch.
    pub branch: usize,
    /// Index of its row in the plan.
    pub row: usize,
    /// Index in the row.
    pub index: usize,
    /// Index of its duct in the plan.
    pub duct: usize,
    /// Index of the zone it blows into.
    pub zone: usize,
    /// Distance along the duct, m.
    pub station_m: f64,
}

/// One return opening in the network.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ReturnSite {
    /// Its branch.
    pub branch: usize,
    /// Index of the zone it draws from.
    pub zone: usize,
}

/// A stretch of duct without side flow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Piece {
    /// Where it begins, m from the duct's first point.
    pub from_m: f64,
    /// Where it ends, m.
    pub to_m: f64,
    /// Its branch.
    pub branch: usize,
    /// Free area, m².
    pub area_m2: f64,
}

/// Builds the network of a plan that passes [`crate::plan::check`].
pub fn build(plan: &Plan) -> Result<Built, EngineError> {
    crate::plan::check::check(plan)?;
    let joints = geometry::joints(plan);
    connected(plan, &joints)?;
    let mut builder = Builder::new(plan);
    builder.heater(plan)?;
    builder.zones_and_openings(plan);
    builder.ducts(plan, &joints);
    builder.plenum_returns(plan);
    builder.finish(plan)
}

/// Every duct must reach the heater over joints.
fn connected(plan: &Plan, joints: &[Joint]) -> Result<(), EngineError> {
    let mut reached: Vec<bool> = vec![false; plan.ducts.len()];
    loop {
        let before = reached.iter().filter(|&&r| r).count();
        for joint in joints {
            match joint.onto {
                Onto::Discharge | Onto::Intake => reached[joint.duct] = true,
                Onto::Duct { duct, .. } => {
                    let either = reached[joint.duct] || reached[duct];
                    reached[joint.duct] = either;
                    reached[duct] = either;
                }
            }
        }
        if reached.iter().filter(|&&r| r).count() == before {
            break;
        }
    }
    match reached.iter().position(|&r| !r) {
        None => Ok(()),
        Some(i) => {
            let duct = &plan.ducts[i];
            let (what, remedy) = match duct.role {
                DuctRole::Return => (
                    "is not connected to the heater's intake",
                    "move its last point onto the intake or another return duct",
                ),
                _ => (
                    "is not connected to the supply",
                    "move its first point onto the trunk, another supply duct or the heater's discharge",
                ),
            };
            Err(EngineError::new(&duct.id, what, remedy))
        }
    }
}

/// The fan of a plan as a curve at a speed ratio; fans side by side are one of that many times the flow.
pub fn fan_curve(fan: &Fan) -> Option<fan::FanCurve> {
    let count = f64::from(fan.count);
    let total: Vec<(f64, f64)> = fan
        .points
        .iter()
        .map(|point| {
            let outlet = point.flow_m3_s / fan.outlet_area_m2;
            let velocity_pressure = match fan.basis {
                PressureBasis::Total => 0.0,
                PressureBasis::Static => 0.5 * fan.curve_density_kg_m3 * outlet * outlet,
            };
            (count * point.flow_m3_s, point.pressure_pa + velocity_pressure)
        })
        .collect();
    let power: Option<Vec<(f64, f64)>> = fan
        .points
        .iter()
        .map(|point| Some((count * point.flow_m3_s, count * point.shaft_power_w?)))
        .collect();
    let curve = fan::FanCurve::new(&total, fan.curve_density_kg_m3, fan.speed_rpm / fan.curve_speed_rpm)?
        .with_outlet(fan.efficiency_percent / 100.0, count * fan.outlet_area_m2);
    Some(match power {
        Some(power) => curve.with_power(&power),
        None => curve,
    })
}

/// Absolute pressure at the site, Pa.
pub fn site_pressure_pa(plan: &Plan) -> f64 {
    plan.site.barometer_pa.unwrap_or_else(|| barometer_pa(plan.site.altitude_m))
}

/// The slot law of a plan.
pub fn slot_model(plan: &Plan) -> (slot::Model, slot::Velocity) {
    let model = match plan.models.slot {
        SlotModel::CrossFlowSharp => slot::Model::CrossFlowSharp,
        SlotModel::CrossFlowFormed => slot::Model::CrossFlowFormed,
        SlotModel::FreeStreamline => slot::Model::FreeStreamline,
        SlotModel::ConstantTotal { cd } => slot::Model::ConstantTotal(cd),
        SlotModel::ConstantStatic { cd } => slot::Model::ConstantStatic(cd),
    };
    let velocity = match plan.models.slot_velocity {
        SlotVelocity::Mean => slot::Velocity::Mean,
        SlotVelocity::Upstream => slot::Velocity::Upstream,
    };
    (model, velocity)
}

struct Builder {
    nodes: Vec<Node>,
    branches: Vec<Branch>,
    slots: Vec<SlotSite>,
    returns: Vec<Option<ReturnSite>>,
    openings: Vec<usize>,
    pieces: Vec<Vec<Piece>>,
    zones: Vec<usize>,
    /// Air of each zone.
    zone_air: Vec<Air>,
    ambient: Air,
    outside: usize,
    intake: usize,
    discharge: usize,
    fan: usize,
    supply: Air,
    site_pa: f64,
    humidity: f64,
    places: Vec<SlotPlace>,
}

/// What happens at one station of a duct.
#[derive(Default)]
struct Cut {
    station_m: f64,
    slots: Vec<usize>,
    returns: Vec<usize>,
    joined: Vec<usize>,
}

impl Builder {
    fn new(plan: &Plan) -> Self {
        let site_pa = site_pressure_pa(plan);
        let humidity = plan.site.oven_humidity_ratio;
        let air = |c: f64| Air::at(c, site_pa, humidity);
        let mut builder = Self {
            nodes: vec![],
            branches: vec![],
            slots: vec![],
            returns: vec![None; plan.returns.len()],
            openings: vec![],
            pieces: vec![vec![]; plan.ducts.len()],
            zones: vec![],
            zone_air: plan.zones.iter().map(|zone| air(zone.set_temperature_c)).collect(),
            // The plant's own humidity changes its density by less than a hundredth.
            ambient: Air::at(plan.site.ambient_c, site_pa, 0.0),
            outside: 0,
            intake: 0,
            discharge: 0,
            fan: 0,
            supply: air(plan.heater.supply_temperature_c),
            site_pa,
            humidity,
            places: geometry::slot_places(plan),
        };
        builder.outside = builder.node("outside", plan.site.ambient_c);
        builder.nodes[builder.outside].fixed_pressure_pa = Some(0.0);
        builder
    }

    fn node(&mut self, id: impl Into<String>, temperature_c: f64) -> usize {
        self.nodes.push(Node {
            id: id.into(),
            fixed_pressure_pa: None,
            inflow_kg_s: 0.0,
            temperature_k: temperature_c + ZERO_CELSIUS_K,
            humidity_ratio: self.humidity,
        });
        self.nodes.len() - 1
    }

    fn branch(
        &mut self,
        id: impl Into<String>,
        from: usize,
        to: usize,
        law: Law,
        air: Air,
        item: &str,
    ) -> usize {
        self.branches.push(Branch {
            id: id.into(),
            from,
            to,
            law,
            reads: [None; 2],
            density_kg_m3: air.density_kg_m3(),
            viscosity_pa_s: air.viscosity_pa_s(),
            item: Some(item.to_owned()),
        });
        self.branches.len() - 1
    }

    /// Intake → losses → fan → box → discharge. The fan draws through the burner box, so it handles
    /// air at supply temperature; its outlet velocity pressure is lost in the box it blows into.
    fn heater(&mut self, plan: &Plan) -> Result<(), EngineError> {
        let heater = &plan.heater;
        let id = &heater.id;
        let curve = fan_curve(&heater.fan).ok_or_else(|| {
            EngineError::new(id, "the fan curve cannot be used", "enter two or more points by rising flow")
        })?;
        let supply = self.supply;
        let hot = heater.supply_temperature_c;
        self.intake = self.node(format!("{id}:intake"), hot);
        let mut at = self.intake;
        for loss in &heater.fixed_losses {
            let next = self.node(format!("{id}:after-{}", loss.id), hot);
            // Δp = drop·(ρ/ρ₀)·(Q/Q₀)² as a coefficient on unit area.
            let k = 2.0 * loss.drop_pa / (loss.density_kg_m3 * loss.flow_m3_s * loss.flow_m3_s);
            self.branch(&loss.id, at, next, Law::Loss { k, area_m2: 1.0 }, supply, &loss.id);
            at = next;
        }
        let outlet = self.node(format!("{id}:fan-outlet"), hot);
        self.discharge = self.node(format!("{id}:discharge"), hot);
        self.fan = self.branch(format!("{id}:fan"), at, outlet, Law::Fan(curve), supply, id);
        let outlet_area_m2 = f64::from(heater.fan.count) * heater.fan.outlet_area_m2;
        let dump = Law::Loss { k: 1.0 + heater.fan.system_effect, area_m2: outlet_area_m2 };
        self.branch(format!("{id}:box"), outlet, self.discharge, dump, supply, id);
        Ok(())
    }

    fn zones_and_openings(&mut self, plan: &Plan) {
        for zone in &plan.zones {
            let node = self.node(&zone.id, zone.set_temperature_c);
            self.zones.push(node);
        }
        let index = |id: &str| plan.zones.iter().position(|zone| zone.id == id);
        for door in &plan.openings {
            let Some(zone) = index(&door.zone) else { continue };
            let to = door.to_zone.as_deref().and_then(index).map_or(self.outside, |to| self.zones[to]);
            let beyond = door.to_zone.as_deref().and_then(index).map_or(self.ambient, |to| self.zone_air[to]);
            let law = Law::Doorway(doorway::Doorway {
                coefficient: door.discharge_coefficient,
                width_m: door.width_m,
                sill_m: door.sill_m,
                height_m: door.height_m,
                from_density: self.zone_air[zone].density_kg_m3(),
                to_density: beyond.density_kg_m3(),
            });
            let branch = self.branch(&door.id, self.zones[zone], to, law, self.zone_air[zone], &door.id);
            self.openings.push(branch);
        }
        for exhaust in &plan.exhausts {
            if let Some(zone) = index(&exhaust.zone) {
                self.nodes[self.zones[zone]].inflow_kg_s -= exhaust.mass_flow_kg_s;
            }
        }
    }

    /// All ducts, their slots, returns, dampers and joints.
    fn ducts(&mut self, plan: &Plan, joints: &[Joint]) {
        // Ends first, so that a host can be joined to a guest whatever their order.
        let ends: Vec<[usize; 2]> = plan
            .ducts
            .iter()
            .map(|duct| {
                let c = self.duct_temperature_c(plan, duct);
                let first = self.node(format!("{}@0", duct.id), c);
                [first, self.node(format!("{}@end", duct.id), c)]
            })
            .collect();
        for (i, duct) in plan.ducts.iter().enumerate() {
            self.duct(plan, joints, i, duct, &ends);
        }
        for joint in joints {
            let duct = &plan.ducts[joint.duct];
            let node = ends[joint.duct][usize::from(joint.last)];
            let area_m2 = end_section(duct, joint.last).area_m2();
            let air = self.duct_air(plan, duct);
            match joint.onto {
                Onto::Discharge => {
                    let law = Law::Loss { k: elbow::SHARP_ENTRY, area_m2 };
                    self.branch(format!("{}:entry", duct.id), self.discharge, node, law, air, &duct.id);
                }
                Onto::Intake => {
                    // The duct's velocity pressure is lost in the intake plenum.
                    let law = Law::Loss { k: 1.0, area_m2 };
                    self.branch(format!("{}:exit", duct.id), node, self.intake, law, air, &duct.id);
                }
                Onto::Duct { .. } => {}
            }
        }
    }

    fn duct_temperature_c(&self, plan: &Plan, duct: &Duct) -> f64 {
        match duct.role {
            DuctRole::Return => geometry::zone_at(plan, duct.path[0])
                .map_or(plan.heater.supply_temperature_c, |zone| plan.zones[zone].set_temperature_c),
            _ => plan.heater.supply_temperature_c,
        }
    }

    fn duct_air(&self, plan: &Plan, duct: &Duct) -> Air {
        Air::at(self.duct_temperature_c(plan, duct), self.site_pa, self.humidity)
    }

    fn duct(&mut self, plan: &Plan, joints: &[Joint], index: usize, duct: &Duct, ends: &[[usize; 2]]) {
        let air = self.duct_air(plan, duct);
        let c = self.duct_temperature_c(plan, duct);
        let length_m = geometry::length_m(&duct.path);
        let corners = geometry::corners(&duct.path);
        let cuts = self.cuts(plan, joints, index, length_m);
        let [first, last] = ends[index];
        let mut at = first;
        if let Some(blade) = &duct.damper {
            at = self.node(format!("{}:after-damper", duct.id), c);
            let blades = match blade.blades {
                Blades::Opposed => damper::Blades::Opposed,
                Blades::Parallel => damper::Blades::Parallel,
            };
            let fraction = blades.flow_fraction(blade.open_percent, blade.leakage_percent);
            let law = Law::Orifice(opening::Orifice {
                coefficient: fraction / blades.open_loss().sqrt(),
                area_m2: duct.section.area_m2(),
            });
            self.branch(format!("{}:damper", duct.id), first, at, law, air, &duct.id);
        }
        // The stretch before the cut, once there is one.
        let mut before: Option<usize> = None;
        for (k, cut) in cuts.iter().enumerate() {
            let mut up = before;
            for &guest in &cut.joined {
                (at, up) = self.join(plan, &joints[guest], index, duct, cut, at, up, ends, air);
            }
            for &r in &cut.returns {
                (at, up) = self.inlet(plan, r, duct, cut, at, up, air);
            }
            let slots_at = at;
            let next = cuts.get(k + 1);
            let mut after = None;
            let mut regain = None;
            if !cut.slots.is_empty() && next.is_some() && plan.models.regain != 1.0 {
                let section = geometry::section_at(duct, cut.station_m);
                let law =
                    Law::Mixing(opening::Mixing { theta: plan.models.regain, area_m2: section.area_m2() });
                let past = self.node(format!("{}@{:.3}:past-slot", duct.id, cut.station_m), c);
                let id = format!("{}:regain@{:.3}", duct.id, cut.station_m);
                let branch = self.branch(id, at, past, law, air, &duct.id);
                self.branches[branch].reads[0] = up;
                regain = Some(branch);
                at = past;
            }
            if let Some(next) = next {
                let section = geometry::section_at(duct, 0.5 * (cut.station_m + next.station_m));
                at = self.size_change(duct, cut, section, at, air);
                let bend = corners.iter().find(|corner| (corner.0 - cut.station_m).abs() <= SAME_STATION_M);
                let is_last = k + 2 == cuts.len();
                let to =
                    if is_last { last } else { self.node(format!("{}@{:.3}", duct.id, next.station_m), c) };
                let law = Law::Duct(duct_law(
                    duct,
                    section,
                    next.station_m - cut.station_m,
                    bend.map_or(0.0, |b| b.1),
                ));
                let id = format!("{}:{:.3}-{:.3}", duct.id, cut.station_m, next.station_m);
                let branch = self.branch(id, at, to, law, air, &duct.id);
                self.pieces[index].push(Piece {
                    from_m: cut.station_m,
                    to_m: next.station_m,
                    branch,
                    area_m2: section.area_m2(),
                });
                after = Some(branch);
                at = to;
            }
            for &s in &cut.slots {
                self.slot(plan, s, slots_at, up, regain.or(after));
            }
            let reach =
                |other: Option<&Cut>| other.map_or(0.0, |o| 0.5 * (o.station_m - cut.station_m).abs());
            let behind = if k > 0 { cuts.get(k - 1) } else { None };
            self.leak(plan, duct, cut, slots_at, reach(behind) + reach(next), air);
            before = after;
        }
    }

    /// Everything that happens along a duct, by station; the two ends are always cuts.
    fn cuts(&self, plan: &Plan, joints: &[Joint], index: usize, length_m: f64) -> Vec<Cut> {
        let duct = &plan.ducts[index];
        let mut events: Vec<(f64, Cut)> = vec![(0.0, Cut::default()), (length_m, Cut::default())];
        events
            .extend(geometry::corners(&duct.path).into_iter().map(|(station, _)| (station, Cut::default())));
        events.extend(duct.steps.iter().map(|step| (step.station_m, Cut::default())));
        for (r, opening) in plan.returns.iter().enumerate() {
            if opening.duct.as_deref() == Some(&duct.id) {
                events.push((opening.station_m, Cut { returns: vec![r], ..Cut::default() }));
            }
        }
        for (s, place) in self.places.iter().enumerate() {
            if place.duct == index {
                events.push((place.station_m, Cut { slots: vec![s], ..Cut::default() }));
            }
        }
        for (g, joint) in joints.iter().enumerate() {
            if let Onto::Duct { duct, station_m } = joint.onto
                && duct == index
            {
                // An end that meets an end joins exactly there.
                let station = if station_m < SNAP_M {
                    0.0
                } else if station_m > length_m - SNAP_M {
                    length_m
                } else {
                    station_m
                };
                events.push((station, Cut { joined: vec![g], ..Cut::default() }));
            }
        }
        events.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut cuts: Vec<Cut> = Vec::new();
        for (station, event) in events {
            let station = station.clamp(0.0, length_m);
            match cuts.last_mut() {
                Some(cut) if station - cut.station_m <= SAME_STATION_M => {
                    cut.slots.extend(event.slots);
                    cut.returns.extend(event.returns);
                    cut.joined.extend(event.joined);
                }
                _ => cuts.push(Cut { station_m: station, ..event }),
            }
        }
        cuts
    }

    /// Joins the guest duct of `joint` to its host at a cut. Within the host's length this is a
    /// three-way junction; at its very end an elbow. Returns the node and the flow the host goes on with.
    #[allow(clippy::too_many_arguments)]
    fn join(
        &mut self,
        plan: &Plan,
        joint: &Joint,
        host_index: usize,
        host: &Duct,
        cut: &Cut,
        at: usize,
        up: Option<usize>,
        ends: &[[usize; 2]],
        air: Air,
    ) -> (usize, Option<usize>) {
        let guest = &plan.ducts[joint.duct];
        let guest_node = ends[joint.duct][usize::from(joint.last)];
        let guest_area = end_section(guest, joint.last).area_m2();
        let leaving = geometry::leaving_direction(guest, joint.last);
        let length_m = geometry::length_m(&host.path);
        let at_end = cut.station_m <= SAME_STATION_M || cut.station_m >= length_m - SAME_STATION_M;
        if at_end {
            let came = geometry::leaving_direction(host, cut.station_m > SAME_STATION_M);
            let turn = geometry::turn_deg((-came.0, -came.1), leaving);
            let law = Law::Loss { k: elbow_loss(guest.elbows, turn), area_m2: guest_area };
            let node = if host_index == joint.duct { at } else { guest_node };
            self.branch(format!("{}:joint", guest.id), at, node, law, air, &guest.id);
            return (at, up);
        }
        let (_, forward) = geometry::along(&host.path, cut.station_m);
        let run_area = geometry::section_at(host, cut.station_m - 2.0 * SAME_STATION_M).area_m2();
        let shape = junction::Shape {
            common_area_m2: run_area,
            // The coefficients are published for 0.1…1 and 30…150°.
            area_ratio: (guest_area / run_area).clamp(0.1, 1.0),
            angle_deg: geometry::turn_deg(forward, leaving).clamp(30.0, 150.0),
        };
        let through = self.node(format!("{}@{:.3}:past-{}", host.id, cut.station_m, guest.id), 0.0);
        self.nodes[through].temperature_k = self.nodes[at].temperature_k;
        let leg = |kind| Law::JunctionLeg(junction::Leg::new(shape, kind));
        let straight = self.branch(
            format!("{}:past-{}", host.id, guest.id),
            at,
            through,
            leg(junction::LegKind::Straight),
            air,
            &host.id,
        );
        let branch = self.branch(
            format!("{}:joint", guest.id),
            at,
            guest_node,
            leg(junction::LegKind::Branch),
            air,
            &guest.id,
        );
        self.branches[straight].reads[0] = Some(branch);
        self.branches[branch].reads[0] = Some(straight);
        (through, Some(straight))
    }

    /// A return opening into the header at `at`, and the mixing behind it.
    #[allow(clippy::too_many_arguments)]
    fn inlet(
        &mut self,
        plan: &Plan,
        r: usize,
        duct: &Duct,
        cut: &Cut,
        at: usize,
        up: Option<usize>,
        air: Air,
    ) -> (usize, Option<usize>) {
        let opening = &plan.returns[r];
        let header_area_m2 = geometry::section_at(duct, cut.station_m).area_m2();
        let zone = geometry::zone_at(plan, geometry::return_place(plan, r)).unwrap_or(0);
        let mixed = self.node(format!("{}@{:.3}:past-{}", duct.id, cut.station_m, opening.id), 0.0);
        self.nodes[mixed].temperature_k = self.nodes[at].temperature_k;
        let law = Law::Mixing(opening::Mixing { theta: HEADER_THETA, area_m2: header_area_m2 });
        let mixing = self.branch(format!("{}:past-{}", duct.id, opening.id), at, mixed, law, air, &duct.id);
        self.branches[mixing].reads[0] = up;
        let law = Law::Inlet(opening::Inlet {
            coefficient: SLIDE_COEFFICIENT,
            area_m2: opening.width_m * opening.open_m,
            header_area_m2,
            theta: HEADER_THETA,
        });
        let branch = self.branch(&opening.id, self.zones[zone], at, law, self.zone_air[zone], &opening.id);
        self.branches[branch].reads = [up, Some(mixing)];
        self.returns[r] = Some(ReturnSite { branch, zone });
        (mixed, Some(mixing))
    }

    fn plenum_returns(&mut self, plan: &Plan) {
        for (r, opening) in plan.returns.iter().enumerate().filter(|(_, opening)| opening.duct.is_none()) {
            let zone = geometry::zone_at(plan, geometry::return_place(plan, r)).unwrap_or(0);
            let law = Law::Orifice(opening::Orifice {
                coefficient: SLIDE_COEFFICIENT,
                area_m2: opening.width_m * opening.open_m,
            });
            let air = self.zone_air[zone];
            let branch = self.branch(&opening.id, self.zones[zone], self.intake, law, air, &opening.id);
            self.returns[r] = Some(ReturnSite { branch, zone });
        }
    }

    /// A loss where the section changes at this cut; the node the duct goes on from.
    fn size_change(&mut self, duct: &Duct, cut: &Cut, after: Section, at: usize, air: Air) -> usize {
        if cut.station_m <= SAME_STATION_M {
            return at;
        }
        let before = geometry::section_at(duct, cut.station_m - 2.0 * SAME_STATION_M);
        let (a1, a2) = (before.area_m2(), after.area_m2());
        if (a1 - a2).abs() < 1e-9 {
            return at;
        }
        let small = a1.min(a2);
        let k = if a2 < a1 { elbow::sudden_contraction(a2 / a1) } else { elbow::sudden_expansion(a1 / a2) };
        let next = self.node(format!("{}@{:.3}:resized", duct.id, cut.station_m), 0.0);
        self.nodes[next].temperature_k = self.nodes[at].temperature_k;
        let id = format!("{}:size@{:.3}", duct.id, cut.station_m);
        self.branch(id, at, next, Law::Loss { k, area_m2: small }, air, &duct.id);
        next
    }

    fn slot(&mut self, plan: &Plan, s: usize, at: usize, up: Option<usize>, after: Option<usize>) {
        let place = self.places[s].clone();
        let row = &plan.slot_rows[place.row];
        let duct = &plan.ducts[place.duct];
        let zone = geometry::zone_at(plan, place.at).unwrap_or(0);
        let (model, velocity) = slot_model(plan);
        let law = Law::Slot(slot::SlotLaw {
            model,
            velocity,
            area_m2: row.length_m * row.width_m(place.index),
            duct_area_m2: geometry::section_at(duct, place.station_m).area_m2(),
        });
        let branch = self.branch(&place.id, at, self.zones[zone], law, self.supply, &row.id);
        self.branches[branch].reads = [up, after];
        self.slots.push(SlotSite {
            id: place.id.clone(),
            branch,
            row: place.row,
            index: place.index,
            duct: place.duct,
            zone,
            station_m: place.station_m,
        });
    }

    /// Leakage of the half stretches around a cut, to the zone there or to outside.
    fn leak(&mut self, plan: &Plan, duct: &Duct, cut: &Cut, at: usize, length_m: f64, air: Air) {
        let factor = match duct.leakage_class {
            None => return,
            Some(class) => leakage::class_factor(class.letter()).unwrap_or(0.0),
        };
        let surface = geometry::section_at(duct, cut.station_m).perimeter_m() * length_m;
        let place = geometry::along(&duct.path, cut.station_m).0;
        let inside = plan.zones.iter().position(|zone| geometry::inside(&zone.outline, place));
        let to = inside.map_or(self.outside, |zone| self.zones[zone]);
        let law = Law::Leak(leakage::LeakLaw { conductance_m3_s: factor * surface });
        self.branch(format!("{}:leak@{:.3}", duct.id, cut.station_m), at, to, law, air, &duct.id);
    }

    fn finish(mut self, plan: &Plan) -> Result<Built, EngineError> {
        self.slots.sort_by_key(|slot| (slot.row, slot.index));
        let returns = self
            .returns
            .iter()
            .zip(&plan.returns)
            .map(|(site, opening)| {
                site.ok_or_else(|| {
                    EngineError::new(
                        &opening.id,
                        "is not on its return duct",
                        "give a station within the duct's length",
                    )
                })
            })
            .collect::<Result<Vec<_>, _>>()?;
        Ok(Built {
            network: Network::new(self.nodes, self.branches)?,
            slots: self.slots,
            returns,
            openings: self.openings,
            pieces: self.pieces,
            fan: self.fan,
            zones: self.zones,
            supply: self.supply,
        })
    }
}

fn end_section(duct: &Duct, last: bool) -> Section {
    if last { geometry::section_at(duct, f64::INFINITY) } else { duct.section }
}

fn elbow_loss(style: ElbowStyle, turn_deg: f64) -> f64 {
    match style {
        ElbowStyle::Mitred => elbow::mitred(turn_deg),
        ElbowStyle::Vaned => elbow::vaned(turn_deg),
        ElbowStyle::Radius => elbow::radius(turn_deg, 1.5),
    }
}

/// Friction over `length_m` of a duct, and the bend it begins with.
fn duct_law(duct: &Duct, section: Section, length_m: f64, bend_deg: f64) -> duct::DuctLaw {
    duct::DuctLaw {
        length_m,
        area_m2: section.area_m2(),
        hydraulic_diameter_m: section.hydraulic_diameter_m(),
        roughness_m: duct.roughness_m,
        laminar_constant: match section {
            Section::Rectangular { width_m, height_m } => {
                friction::laminar_constant_rectangular(width_m, height_m)
            }
            Section::Round { .. } => friction::LAMINAR_CONSTANT_ROUND,
        },
        k: elbow_loss(duct.elbows, bend_deg),
    }
}
