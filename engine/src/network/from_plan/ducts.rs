//! Ducts: cut at every slot, return, joint, bend and change of size, then joined.

use super::{Builder, Piece, ReturnSite, SLIDE_COEFFICIENT, SlotSite, damper_coefficient, slot_model};
use crate::air::Air;
use crate::laws::{Law, duct, elbow, friction, junction, leakage, opening, slot};
use crate::numerics::{rising, sorted_by_key};
use crate::plan::geometry::{self, Joint, Onto, SNAP_M};
use crate::plan::{Duct, DuctRole, ElbowStyle, Plan, Section};

/// θ of a return header: momentum balance of inflow square to the axis.
const HEADER_THETA: f64 = 2.0;
/// Cuts of a duct closer than this are one.
const SAME_STATION_M: f64 = 1e-6;

/// What happens at one station of a duct.
#[derive(Default)]
struct Cut {
    station_m: f64,
    slots: Vec<usize>,
    returns: Vec<usize>,
    joined: Vec<usize>,
}

impl Builder {
    /// All ducts, their slots, returns, dampers and joints.
    pub(super) fn ducts(&mut self, plan: &Plan, joints: &[Joint]) {
        // Ends first, so that a host can be joined to a guest whatever their order.
        let ends: Vec<[usize; 2]> = plan
            .ducts
            .iter()
            .map(|duct| {
                let c = self.duct_temperature_c(plan, duct);
                let first = self.node(format_args!("{}@0", duct.id), c);
                [first, self.node(format_args!("{}@end", duct.id), c)]
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
                    self.branch(format_args!("{}:entry", duct.id), self.discharge, node, law, air, &duct.id);
                }
                Onto::Intake => {
                    // The duct's velocity pressure is lost in the intake plenum.
                    let law = Law::Loss { k: 1.0, area_m2 };
                    self.branch(format_args!("{}:exit", duct.id), node, self.intake, law, air, &duct.id);
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
            at = self.node(format_args!("{}:after-damper", duct.id), c);
            let law = Law::Orifice(opening::Orifice {
                coefficient: damper_coefficient(duct, blade, blade.open_percent),
                area_m2: blade.area_m2(duct),
            });
            self.branch(format_args!("{}:damper", duct.id), first, at, law, air, &duct.id);
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
                let past = self.node(format_args!("{}@{:.3}:past-slot", duct.id, cut.station_m), c);
                let id = format_args!("{}:regain@{:.3}", duct.id, cut.station_m);
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
                let to = if is_last {
                    last
                } else {
                    self.node(format_args!("{}@{:.3}", duct.id, next.station_m), c)
                };
                let law = Law::Duct(duct_law(
                    duct,
                    section,
                    next.station_m - cut.station_m,
                    bend.map_or(0.0, |b| b.1),
                ));
                let id = format_args!("{}:{:.3}-{:.3}", duct.id, cut.station_m, next.station_m);
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
        let events = sorted_by_key(events, |event| rising(event.0));
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
        split_ends(cuts)
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
            self.branch(format_args!("{}:joint", guest.id), at, node, law, air, &guest.id);
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
        let through = self.node(format_args!("{}@{:.3}:past-{}", host.id, cut.station_m, guest.id), 0.0);
        self.nodes[through].temperature_k = self.nodes[at].temperature_k;
        let leg = |kind| Law::JunctionLeg(junction::Leg::new(shape, kind));
        let straight = self.branch(
            format_args!("{}:past-{}", host.id, guest.id),
            at,
            through,
            leg(junction::LegKind::Straight),
            air,
            &host.id,
        );
        let branch = self.branch(
            format_args!("{}:joint", guest.id),
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
        let mixed = self.node(format_args!("{}@{:.3}:past-{}", duct.id, cut.station_m, opening.id), 0.0);
        self.nodes[mixed].temperature_k = self.nodes[at].temperature_k;
        let law = Law::Mixing(opening::Mixing { theta: HEADER_THETA, area_m2: header_area_m2 });
        let mixing =
            self.branch(format_args!("{}:past-{}", duct.id, opening.id), at, mixed, law, air, &duct.id);
        self.branches[mixing].reads[0] = up;
        let law = Law::Inlet(opening::Inlet {
            coefficient: SLIDE_COEFFICIENT,
            area_m2: opening.width_m * opening.open_m,
            header_area_m2,
            theta: HEADER_THETA,
        });
        let branch = self.branch(
            format_args!("{}", opening.id),
            self.zones[zone],
            at,
            law,
            self.zone_air[zone],
            &opening.id,
        );
        self.branches[branch].reads = [up, Some(mixing)];
        self.returns[r] = Some(ReturnSite { branch, zone });
        (mixed, Some(mixing))
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
        let next = self.node(format_args!("{}@{:.3}:resized", duct.id, cut.station_m), 0.0);
        self.nodes[next].temperature_k = self.nodes[at].temperature_k;
        let id = format_args!("{}:size@{:.3}", duct.id, cut.station_m);
        self.branch(id, at, next, Law::Loss { k, area_m2: small }, air, &duct.id);
        next
    }

    fn slot(&mut self, plan: &Plan, s: usize, at: usize, up: Option<usize>, after: Option<usize>) {
        // Nobody else asks for its name.
        let id = std::mem::take(&mut self.places[s].id);
        let place = &self.places[s];
        let row = &plan.slot_rows[place.row];
        let duct = &plan.ducts[place.duct];
        let zone = geometry::zone_at(plan, place.at).unwrap_or(0);
        let (model, velocity) = slot_model(plan);
        let law = Law::Slot(slot::SlotLaw {
            model,
            velocity,
            area_m2: row.slot_length_m(place.index) * row.width_m(place.index),
            duct_area_m2: geometry::section_at(duct, place.station_m).area_m2(),
        });
        let (row_index, index, on, station_m) = (place.row, place.index, place.duct, place.station_m);
        let branch = self.branch(format_args!("{id}"), at, self.zones[zone], law, self.supply, &row.id);
        self.branches[branch].reads = [up, after];
        self.slots.push(SlotSite { id, branch, row: row_index, index, duct: on, zone, station_m });
    }

    /// Leakage of the half stretches around a cut, to the zone there or to outside.
    fn leak(&mut self, plan: &Plan, duct: &Duct, cut: &Cut, at: usize, length_m: f64, air: Air) {
        let factor = match (duct.leakage_test, duct.leakage_class) {
            (Some(test), _) => leakage::factor_from_test(test.flow_m3_s, test.surface_m2, test.pressure_pa),
            (None, Some(class)) => leakage::class_factor(class.letter()).unwrap_or(0.0),
            (None, None) => return,
        };
        let surface = geometry::section_at(duct, cut.station_m).perimeter_m() * length_m;
        let place = geometry::along(&duct.path, cut.station_m).0;
        let inside = plan.zones.iter().position(|zone| geometry::inside(&zone.outline, place));
        let to = inside.map_or(self.outside, |zone| self.zones[zone]);
        let law = Law::Leak(leakage::LeakLaw { conductance_m3_s: factor * surface });
        let id = format_args!("{}:leak@{:.3}", duct.id, cut.station_m);
        let branch = self.branch(id, at, to, law, air, &duct.id);
        self.leaks.push((branch, place));
    }
}

/// Slots and returns at the very end of a duct get a cut of their own, so that a stretch without length
/// lies between them and the joint: they must see the air that passes there.
fn split_ends(mut cuts: Vec<Cut>) -> Vec<Cut> {
    let busy = |cut: &Cut| !(cut.slots.is_empty() && cut.returns.is_empty());
    if cuts.last().is_some_and(busy)
        && let Some(last) = cuts.last_mut()
    {
        let joined = std::mem::take(&mut last.joined);
        let station_m = last.station_m;
        cuts.push(Cut { station_m, joined, ..Cut::default() });
    }
    if cuts.first().is_some_and(busy) {
        let joined = std::mem::take(&mut cuts[0].joined);
        let station_m = cuts[0].station_m;
        cuts.insert(0, Cut { station_m, joined, ..Cut::default() });
    }
    cuts
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
