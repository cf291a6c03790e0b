//! Builds a network from a plan: the only place where geometry becomes branches.
//!
//! Every branch remembers the plan item it came from, and [`Built`] keeps which branch is which slot,
//! return and stretch of duct, so that every result can be pointed at on the board.
//!
//! Density is that of the branch's temperature at the site's barometer; the gauge pressure in it is left out. By
//! ρ = p/(R·T) a duct at 500 Pa holds air 0.5 % denser than that, at 1,000 Pa 1.0 %, so a flow found from a pressure is
//! low there by half as much: 0.25 %, 0.5 %. Along a run the pressure differs by tens of pascals, so the evenness of its
//! slots is off by some hundredths of a percent. Discharge coefficients are uncertain by far more, ±5 %.

mod ducts;

use super::{Branch, Network, Node};
use crate::air::{Air, ZERO_CELSIUS_K, barometer_pa};
use crate::error::EngineError;
use crate::laws::{Law, damper, doorway, elbow, fan, opening, slot};
use crate::numerics::sorted_by_key;
use crate::plan::geometry::{self, Joint, Onto, SlotPlace};
use crate::plan::{
    BladeDamper, Blades, Duct, DuctRole, Fan, Plan, Point, PressureBasis, SlotModel, SlotVelocity,
};
use core::fmt;

/// Discharge coefficient of a slide plate over a wall opening (0.60…0.63; 0.611 by theory).
pub const SLIDE_COEFFICIENT: f64 = 0.61;

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
    /// The node that stands for the plant.
    pub outside: usize,
    /// The node where the heater takes air in.
    pub intake: usize,
    /// Branches of duct leakage into a zone or the plant, and where they are.
    pub leaks: Vec<(usize, Point)>,
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
    build_as(plan, true)
}

/// The same network, its nodes and branches without names.
pub(crate) fn build_nameless(plan: &Plan) -> Result<Built, EngineError> {
    build_as(plan, false)
}

fn build_as(plan: &Plan, named: bool) -> Result<Built, EngineError> {
    crate::plan::check::check(plan)?;
    let joints = geometry::joints(plan);
    connected(plan, &joints)?;
    let mut builder = Builder::new(plan, named);
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
    let velocity = match plan.models.slot_velocity {
        SlotVelocity::Mean => slot::Velocity::Mean,
        SlotVelocity::Upstream => slot::Velocity::Upstream,
    };
    (model_of(plan.models.slot), velocity)
}

/// The pressure law a plan's word for it stands for.
pub fn model_of(law: SlotModel) -> slot::Model {
    match law {
        SlotModel::CrossFlowSharp => slot::Model::CrossFlowSharp,
        SlotModel::CrossFlowFormed => slot::Model::CrossFlowFormed,
        SlotModel::FreeStreamline => slot::Model::FreeStreamline,
        SlotModel::ConstantTotal { cd } => slot::Model::ConstantTotal(cd),
        SlotModel::ConstantStatic { cd } => slot::Model::ConstantStatic(cd),
    }
}

fn blades(blade: &BladeDamper) -> damper::Blades {
    match blade.blades {
        Blades::Opposed => damper::Blades::Opposed,
        Blades::Parallel => damper::Blades::Parallel,
    }
}

/// What the air loses getting into and out of a damper smaller than its duct, ζ on the damper's area: sudden
/// contraction and expansion, of [`elbow`].
fn mounting_loss(duct: &Duct, blade: &BladeDamper) -> f64 {
    let ratio = blade.area_m2(duct) / duct.section.area_m2();
    elbow::sudden_contraction(ratio) + elbow::sudden_expansion(ratio)
}

/// Coefficient, on its own area, of a blade damper in `duct` that stands `open_percent` of its travel: φ/√(ζ₀ + φ²·ζ_m),
/// φ the share of the open flow left, ζ₀ its loss fully open, ζ_m that of its mounting.
pub fn damper_coefficient(duct: &Duct, blade: &BladeDamper, open_percent: f64) -> f64 {
    let kind = blades(blade);
    let fraction = kind.flow_fraction(open_percent, blade.leakage_percent);
    fraction / (kind.open_loss() + fraction * fraction * mounting_loss(duct, blade)).sqrt()
}

/// Share of the open flow φ at which a blade damper in `duct` has this coefficient; infinite where no travel does.
pub fn damper_fraction(duct: &Duct, blade: &BladeDamper, coefficient: f64) -> f64 {
    let left = 1.0 - coefficient * coefficient * mounting_loss(duct, blade);
    if left > 0.0 { coefficient * (blades(blade).open_loss() / left).sqrt() } else { f64::INFINITY }
}

struct Builder {
    /// Whether nodes and branches have names: three thousand of them, for those who do not only want the answer.
    named: bool,
    nodes: Vec<Node>,
    branches: Vec<Branch>,
    slots: Vec<SlotSite>,
    returns: Vec<Option<ReturnSite>>,
    openings: Vec<usize>,
    leaks: Vec<(usize, Point)>,
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

impl Builder {
    fn new(plan: &Plan, named: bool) -> Self {
        let site_pa = site_pressure_pa(plan);
        let humidity = plan.site.oven_humidity_ratio;
        let air = |c: f64| Air::at(c, site_pa, humidity);
        let mut builder = Self {
            named,
            nodes: vec![],
            branches: vec![],
            slots: vec![],
            returns: vec![None; plan.returns.len()],
            openings: vec![],
            leaks: vec![],
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
        builder.outside = builder.node(format_args!("outside"), plan.site.ambient_c);
        builder.nodes[builder.outside].fixed_pressure_pa = Some(0.0);
        builder
    }

    fn name(&self, id: fmt::Arguments) -> String {
        if self.named { id.to_string() } else { String::new() }
    }

    fn node(&mut self, id: fmt::Arguments, temperature_c: f64) -> usize {
        self.nodes.push(Node {
            id: self.name(id),
            fixed_pressure_pa: None,
            inflow_kg_s: 0.0,
            temperature_k: temperature_c + ZERO_CELSIUS_K,
            humidity_ratio: self.humidity,
        });
        self.nodes.len() - 1
    }

    fn branch(
        &mut self,
        id: fmt::Arguments,
        from: usize,
        to: usize,
        law: Law,
        air: Air,
        item: &str,
    ) -> usize {
        self.branches.push(Branch {
            id: self.name(id),
            from,
            to,
            law,
            reads: [None; 2],
            density_kg_m3: air.density_kg_m3(),
            viscosity_pa_s: air.viscosity_pa_s(),
            item: self.named.then(|| item.to_owned()),
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
        self.intake = self.node(format_args!("{id}:intake"), hot);
        let mut at = self.intake;
        for loss in &heater.fixed_losses {
            let next = self.node(format_args!("{id}:after-{}", loss.id), hot);
            // Δp = drop·(ρ/ρ₀)·(Q/Q₀)² as a coefficient on unit area.
            let k = 2.0 * loss.present_drop_pa() / (loss.density_kg_m3 * loss.flow_m3_s * loss.flow_m3_s);
            self.branch(
                format_args!("{}", loss.id),
                at,
                next,
                Law::Loss { k, area_m2: 1.0 },
                supply,
                &loss.id,
            );
            at = next;
        }
        let outlet = self.node(format_args!("{id}:fan-outlet"), hot);
        self.discharge = self.node(format_args!("{id}:discharge"), hot);
        self.fan = self.branch(format_args!("{id}:fan"), at, outlet, Law::Fan(curve), supply, id);
        let outlet_area_m2 = f64::from(heater.fan.count) * heater.fan.outlet_area_m2;
        let dump = Law::Loss { k: 1.0 + heater.fan.system_effect, area_m2: outlet_area_m2 };
        self.branch(format_args!("{id}:box"), outlet, self.discharge, dump, supply, id);
        Ok(())
    }

    fn zones_and_openings(&mut self, plan: &Plan) {
        for zone in &plan.zones {
            let node = self.node(format_args!("{}", zone.id), zone.set_temperature_c);
            // Plant air that leaks in leaves with the exhaust.
            self.nodes[node].inflow_kg_s += zone.leak_kg_s;
            self.zones.push(node);
        }
        let index = |id: &str| plan.zones.iter().position(|zone| zone.id == id);
        for door in &plan.openings {
            let Some(zone) = index(&door.zone) else { continue };
            let to = door.to_zone.as_deref().and_then(index).map_or(self.outside, |to| self.zones[to]);
            let beyond = door.to_zone.as_deref().and_then(index).map_or(self.ambient, |to| self.zone_air[to]);
            let law = Law::Doorway(doorway::Doorway {
                // What a curtain stops is taken off both ways alike.
                coefficient: door.discharge_coefficient * (1.0 - door.curtain_effectiveness.unwrap_or(0.0)),
                width_m: door.width_m,
                sill_m: door.sill_m,
                height_m: door.height_m,
                from_density: self.zone_air[zone].density_kg_m3(),
                to_density: beyond.density_kg_m3(),
            });
            let branch = self.branch(
                format_args!("{}", door.id),
                self.zones[zone],
                to,
                law,
                self.zone_air[zone],
                &door.id,
            );
            self.openings.push(branch);
        }
        for exhaust in &plan.exhausts {
            if let Some(zone) = index(&exhaust.zone) {
                self.nodes[self.zones[zone]].inflow_kg_s -= exhaust.mass_flow_kg_s;
            }
        }
    }

    fn plenum_returns(&mut self, plan: &Plan) {
        for (r, opening) in plan.returns.iter().enumerate().filter(|(_, opening)| opening.duct.is_none()) {
            let zone = geometry::zone_at(plan, geometry::return_place(plan, r)).unwrap_or(0);
            let law = Law::Orifice(opening::Orifice {
                coefficient: SLIDE_COEFFICIENT,
                area_m2: opening.width_m * opening.open_m,
            });
            let air = self.zone_air[zone];
            let branch = self.branch(
                format_args!("{}", opening.id),
                self.zones[zone],
                self.intake,
                law,
                air,
                &opening.id,
            );
            self.returns[r] = Some(ReturnSite { branch, zone });
        }
    }

    fn finish(mut self, plan: &Plan) -> Result<Built, EngineError> {
        self.slots = sorted_by_key(self.slots, |slot| ((slot.row as u64) << 32) | slot.index as u64);
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
            outside: self.outside,
            intake: self.intake,
            leaks: self.leaks,
        })
    }
}
