//! Findings about a drawing that could not be built, or not be kept clean. They need no calculation.

use super::COMMON_PRACTICE;
use crate::finding::{Finding, Message, Severity};
use crate::plan::geometry::{
    Joint, Onto, SNAP_M, along, direction, distance_m, joints, length_m, nearest, section_at, slot_places,
};
use crate::plan::{Duct, DuctRole, Face, Plan, Point, Section};
use crate::units::Kind;

const DRAWN: &str = "geometry of the plan";
/// A sleeve this near to a crossing belongs to it, m: half a panel and what a hand is off.
const SLEEVE_M: f64 = 0.3;
/// Half the width of hanging parts where nothing better is known, m.
const HALF_PART_M: f64 = 0.25;
/// Bodies that share less than this only touch, m.
const TOUCH_M: f64 = 0.005;

/// Everything about the drawing alone, in the order of the plan.
pub fn drawing(plan: &Plan) -> Vec<Finding> {
    let mut findings = Vec::new();
    let joints = joints(plan);
    let bodies: Vec<Vec<Body>> = plan.ducts.iter().map(|duct| bodies(duct, (0.0, 0.0))).collect();
    for (duct, bodies) in plan.ducts.iter().zip(&bodies) {
        columns(plan, duct, bodies, &mut findings);
        walls(plan, duct, &mut findings);
    }
    overlaps(plan, &joints, &mut findings);
    for index in 0..plan.ducts.len() {
        ends(plan, &joints, index, &mut findings);
    }
    under_the_conveyor(plan, &mut findings);
    findings
}

/// An upright box on the floor: middle, direction, half its length and half its width, m.
#[derive(Clone, Copy)]
struct Body {
    at: Point,
    along: (f64, f64),
    half_m: (f64, f64),
    /// Underside and top above the floor, m.
    level_m: (f64, f64),
}

impl Body {
    /// Whether two boxes share room: neither lies over the other, and no line along an edge separates them.
    fn meets(&self, other: &Self) -> bool {
        if self.level_m.1.min(other.level_m.1) - self.level_m.0.max(other.level_m.0) < TOUCH_M {
            return false;
        }
        let off = (other.at.x_m - self.at.x_m, other.at.y_m - self.at.y_m);
        let dot = |a: (f64, f64), b: (f64, f64)| a.0 * b.0 + a.1 * b.1;
        let reach = |body: &Self, axis: (f64, f64)| {
            let across = (-body.along.1, body.along.0);
            body.half_m.0 * dot(body.along, axis).abs() + body.half_m.1 * dot(across, axis).abs()
        };
        [self.along, (-self.along.1, self.along.0), other.along, (-other.along.1, other.along.0)]
            .into_iter()
            .all(|axis| dot(off, axis).abs() + TOUCH_M < reach(self, axis) + reach(other, axis))
    }
}

/// The straights of a duct at their width, without the first and last stretches given, m.
fn bodies(duct: &Duct, without_m: (f64, f64)) -> Vec<Body> {
    let total = length_m(&duct.path);
    let mut start: f64 = 0.0;
    let mut found = Vec::new();
    for pair in duct.path.windows(2) {
        let span = distance_m(pair[0], pair[1]);
        let (mut from, end) = (start.max(without_m.0), (start + span).min(total - without_m.1));
        // A change of size divides a straight.
        for to in duct.steps.iter().map(|step| step.station_m).filter(|s| *s > start && *s < end).chain([end])
        {
            if to - from > 1e-6 {
                let way = direction(pair[0], pair[1]);
                let middle = (from + to) / 2.0 - start;
                let at = Point::new(pair[0].x_m + way.0 * middle, pair[0].y_m + way.1 * middle);
                let section = section_at(duct, from);
                let height_m = match section {
                    Section::Rectangular { height_m, .. } => height_m,
                    Section::Round { diameter_m } => diameter_m,
                };
                let half_m = ((to - from) / 2.0, section.plan_width_m() / 2.0);
                let level_m = (duct.underside_m, duct.underside_m + height_m);
                found.push(Body { at, along: way, half_m, level_m });
                from = to;
            }
        }
        start += span;
    }
    found
}

fn columns(plan: &Plan, duct: &Duct, bodies: &[Body], findings: &mut Vec<Finding>) {
    for column in &plan.enclosure.columns {
        let half_m = (column.width_m / 2.0, column.depth_m / 2.0);
        let level_m = (f64::NEG_INFINITY, f64::INFINITY);
        let post = Body { at: column.at, along: (1.0, 0.0), half_m, level_m };
        if bodies.iter().any(|body| body.meets(&post)) {
            findings.push(
                Finding::new(
                    Severity::Problem,
                    "through-column",
                    Some(&duct.id),
                    Message::new(format!("This duct runs through {}.", column.id)),
                    "Move the duct aside or lead it around the column with two bends.",
                    DRAWN,
                )
                .at(column.at),
            );
        }
    }
}

/// Where `duct` passes a wall: the station, the place and whether it is an inner wall. Over the roof it passes none.
pub fn wall_crossings(plan: &Plan, duct: &Duct) -> Vec<(f64, Point, bool)> {
    if duct.underside_m >= plan.enclosure.height_m {
        return Vec::new();
    }
    let ring = &plan.enclosure.outline;
    let closing = ring.last().copied().zip(ring.first().copied()).filter(|_| ring.len() > 2);
    let outer = ring.windows(2).map(|w| (w[0], w[1])).chain(closing).map(|edge| (edge, false));
    let inner = plan.enclosure.walls.iter().flat_map(|wall| wall.windows(2).map(|w| ((w[0], w[1]), true)));
    let mut found: Vec<(f64, Point, bool)> = Vec::new();
    for ((a, b), is_inner) in outer.chain(inner) {
        let mut start = 0.0;
        for pair in duct.path.windows(2) {
            let span = distance_m(pair[0], pair[1]);
            if let Some(t) = crossing(pair[0], pair[1], a, b) {
                let station_m = start + t * span;
                // A wall's corner is met by both its edges.
                if found.iter().all(|(other, ..)| (other - station_m).abs() > 1e-6) {
                    found.push((station_m, along(&duct.path, station_m).0, is_inner));
                }
            }
            start += span;
        }
    }
    found
}

/// The share of the way from `p` to `q` at which it passes the wall from `a` to `b`; none where it only
/// touches.
fn crossing(p: Point, q: Point, a: Point, b: Point) -> Option<f64> {
    let side =
        |o: Point, e: Point, x: Point| (e.x_m - o.x_m) * (x.y_m - o.y_m) - (e.y_m - o.y_m) * (x.x_m - o.x_m);
    let (from, to) = (side(a, b, p), side(a, b, q));
    let (left, right) = (side(p, q, a), side(p, q, b));
    (from * to < 0.0 && left * right <= 0.0 && left != right).then(|| from / (from - to))
}

fn walls(plan: &Plan, duct: &Duct, findings: &mut Vec<Finding>) {
    for (station_m, at, is_inner) in wall_crossings(plan, duct) {
        if duct.sleeves_m.iter().any(|sleeve| (sleeve - station_m).abs() <= SLEEVE_M) {
            continue;
        }
        let wall = if is_inner { "an inner wall" } else { "the enclosure's wall" };
        findings.push(
            Finding::new(
                Severity::Caution,
                "no-sleeve",
                Some(&duct.id),
                Message::new(format!("This duct passes {wall} without a sleeve, "))
                    .value(Kind::Length, station_m)
                    .text(" from its first point: hot sheet would lie against the panel's skins."),
                "Put a sleeve there, sealed on one side so that the duct can grow, or lead the duct elsewhere.",
                COMMON_PRACTICE,
            )
            .at(at),
        );
    }
}

/// How much of each end of duct `index` lies within what it is joined to, m.
fn joined_ends(plan: &Plan, joints: &[Joint], index: usize) -> (f64, f64) {
    let own = &plan.ducts[index];
    let inside = |last: bool| {
        let Some(joint) = joints.iter().find(|joint| joint.duct == index && joint.last == last) else {
            return 0.0;
        };
        let way = crate::plan::geometry::leaving_direction(own, last);
        match joint.onto {
            Onto::Duct { duct, station_m } => {
                let host = &plan.ducts[duct];
                let host_way = along(&host.path, station_m).1;
                let across = (host_way.0 * way.1 - host_way.1 * way.0).abs().max(0.2);
                // A slanting end reaches in with one corner farther than with its middle.
                let slant = (host_way.0 * way.0 + host_way.1 * way.1).abs();
                let own_m = section_at(own, if last { f64::INFINITY } else { 0.0 }).plan_width_m();
                (section_at(host, station_m).plan_width_m() + own_m * slant) / 2.0 / across
            }
            // All that meet at the heater's port share its box.
            port => joints
                .iter()
                .filter(|other| other.onto == port)
                .map(|other| plan.ducts[other.duct].section.plan_width_m() / 2.0)
                .fold(0.0, f64::max),
        }
    };
    (inside(false), inside(true))
}

fn overlaps(plan: &Plan, joints: &[Joint], findings: &mut Vec<Finding>) {
    let bodies: Vec<Vec<Body>> = plan
        .ducts
        .iter()
        .enumerate()
        .map(|(i, duct)| {
            let (first, last) = joined_ends(plan, joints, i);
            bodies(duct, (first + TOUCH_M, last + TOUCH_M))
        })
        .collect();
    for (i, own) in bodies.iter().enumerate() {
        for (j, others) in bodies.iter().enumerate().take(i) {
            let clash = own.iter().find(|body| others.iter().any(|other| body.meets(other)));
            if let Some(clash) = clash {
                let (a, b) = (&plan.ducts[i], &plan.ducts[j]);
                let there = others.iter().find(|other| clash.meets(other)).map_or(clash.at, |other| {
                    let narrow = if other.half_m.0 < clash.half_m.0 { other.at } else { clash.at };
                    let path = if other.half_m.0 < clash.half_m.0 { &a.path } else { &b.path };
                    along(path, nearest(path, narrow).0).0
                });
                findings.push(
                    Finding::new(
                        Severity::Problem,
                        "overlap",
                        Some(&a.id),
                        Message::new(format!("This duct lies across {} without a joint.", b.id)),
                        "Move one of them, lead it over the other, or end it on the other one's centre line so that they join.",
                        DRAWN,
                    )
                    .at(there),
                );
            }
        }
    }
}

/// Ends that touch nothing: air finds no way in, nothing leaves, or nobody can clean.
fn ends(plan: &Plan, joints: &[Joint], index: usize, findings: &mut Vec<Finding>) {
    let duct = &plan.ducts[index];
    let (Some(&first), Some(&last)) = (duct.path.first(), duct.path.last()) else { return };
    let total = length_m(&duct.path);
    let joined = |last: bool| {
        joints.iter().any(|joint| match joint.onto {
            _ if joint.duct == index => joint.last == last,
            // What joins it at its very end takes the place of an end piece.
            Onto::Duct { duct, station_m } => {
                duct == index && (station_m - if last { total } else { 0.0 }).abs() <= SNAP_M
            }
            _ => false,
        })
    };
    let hosts = joints.iter().any(|joint| matches!(joint.onto, Onto::Duct { duct, .. } if duct == index));
    let is_return = duct.role == DuctRole::Return;
    let heater_end = if is_return { "intake" } else { "discharge" };
    if !joined(false) && !joined(true) && !hosts {
        findings.push(
            Finding::new(
                Severity::Problem,
                "open-end",
                Some(&duct.id),
                Message::new("Neither end of this duct touches another duct or the heater."),
                format!("Bring an end onto the heater's {heater_end} or another duct's centre line."),
                DRAWN,
            )
            .at(if is_return { last } else { first }),
        );
        return;
    }
    let used = hosts
        || plan.slot_rows.iter().any(|row| row.duct == duct.id)
        || plan.returns.iter().any(|opening| opening.duct.as_ref() == Some(&duct.id));
    let free = [(false, first), (true, last)].into_iter().find(|(end, _)| !joined(*end));
    let Some((_, at)) = free else { return };
    if !used {
        let what = if is_return { "No air comes into this duct" } else { "No air leaves this duct" };
        findings.push(
            Finding::new(
                Severity::Caution,
                "dead-end",
                Some(&duct.id),
                Message::new(format!("{what}: its free end is closed and nothing is cut in it.")),
                if is_return {
                    "Add a return opening."
                } else {
                    "Add a slot row, or lead it to another duct."
                },
                DRAWN,
            )
            .at(at),
        );
    }
    if !duct.clean_out {
        findings.push(
            Finding::new(
                Severity::Note,
                "no-clean-out",
                Some(&duct.id),
                Message::new(
                    "This duct's free end has no clean-out: dust and fallen parts stay in it and can burn.",
                ),
                "Close the end with a cover that can be taken off, and say so on the duct's card.",
                COMMON_PRACTICE,
            )
            .at(at),
        );
    }
}

fn under_the_conveyor(plan: &Plan, findings: &mut Vec<Finding>) {
    let Some(conveyor) = plan.conveyor.as_ref().filter(|conveyor| conveyor.path.len() > 1) else { return };
    let mut told = None;
    for place in slot_places(plan) {
        let row = &plan.slot_rows[place.row];
        if row.face != Face::Top || told == Some(place.row) {
            continue;
        }
        let across = (-place.direction.1 * row.length_m / 2.0, place.direction.0 * row.length_m / 2.0);
        let tip = |sign: f64| Point::new(place.at.x_m + sign * across.0, place.at.y_m + sign * across.1);
        let mouth = [tip(-1.0), tip(1.0)];
        let near = |p: Point| nearest(&conveyor.path, p).1;
        let crossed =
            conveyor.path.windows(2).any(|pair| crossing(mouth[0], mouth[1], pair[0], pair[1]).is_some());
        if crossed || near(mouth[0]).min(near(mouth[1])) < HALF_PART_M {
            told = Some(place.row);
            findings.push(
                Finding::new(
                    Severity::Caution,
                    "slots-under-conveyor",
                    Some(&row.id),
                    Message::new(format!(
                        "Slot {} faces up under the conveyor: drips and fallen parts go into the duct.",
                        place.id
                    )),
                    "Move the run to the side of the conveyor, or cut the slots in its side walls.",
                    COMMON_PRACTICE,
                )
                .at(place.at),
            );
        }
    }
}
