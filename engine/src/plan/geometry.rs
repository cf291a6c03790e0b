//! Pure geometry of the plan: stations along ducts, joints, places of slots and returns.

use super::{Duct, Plan, Point, Section};

/// Ends closer than this to another duct's centre line join it, m.
pub const SNAP_M: f64 = 0.05;

/// Distance between two points, m.
pub fn distance_m(a: Point, b: Point) -> f64 {
    let (dx, dy) = (b.x_m - a.x_m, b.y_m - a.y_m);
    (dx * dx + dy * dy).sqrt()
}

/// Length of a centre line, m.
pub fn length_m(path: &[Point]) -> f64 {
    path.windows(2).map(|pair| distance_m(pair[0], pair[1])).sum()
}

/// The point at `station_m` along `path` and the unit direction there.
pub fn along(path: &[Point], station_m: f64) -> (Point, (f64, f64)) {
    let mut left = station_m.max(0.0);
    let last = path.len().saturating_sub(2);
    for (i, pair) in path.windows(2).enumerate() {
        let (a, b) = (pair[0], pair[1]);
        let span = distance_m(a, b);
        if span == 0.0 {
            continue;
        }
        let direction = ((b.x_m - a.x_m) / span, (b.y_m - a.y_m) / span);
        if left <= span || i == last {
            let t = left.min(span);
            return (Point::new(a.x_m + direction.0 * t, a.y_m + direction.1 * t), direction);
        }
        left -= span;
    }
    (path.first().copied().unwrap_or(Point::new(0.0, 0.0)), (1.0, 0.0))
}

/// The nearest place on `path` to `p`: (station m, distance m).
pub fn nearest(path: &[Point], p: Point) -> (f64, f64) {
    let mut best = (0.0, f64::INFINITY);
    let mut start = 0.0;
    for pair in path.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let span = distance_m(a, b);
        if span > 0.0 {
            let t = ((p.x_m - a.x_m) * (b.x_m - a.x_m) + (p.y_m - a.y_m) * (b.y_m - a.y_m)) / (span * span);
            let t = t.clamp(0.0, 1.0);
            let q = Point::new(a.x_m + t * (b.x_m - a.x_m), a.y_m + t * (b.y_m - a.y_m));
            let d = distance_m(p, q);
            if d < best.1 {
                best = (start + t * span, d);
            }
        }
        start += span;
    }
    best
}

/// Whether `p` lies inside the polygon (even–odd rule).
pub fn inside(outline: &[Point], p: Point) -> bool {
    let mut odd = false;
    let mut previous = match outline.last() {
        Some(last) => *last,
        None => return false,
    };
    for &corner in outline {
        if (corner.y_m > p.y_m) != (previous.y_m > p.y_m) {
            let x = previous.x_m
                + (p.y_m - previous.y_m) / (corner.y_m - previous.y_m) * (corner.x_m - previous.x_m);
            if p.x_m < x {
                odd = !odd;
            }
        }
        previous = corner;
    }
    odd
}

/// The zone a point of the floor belongs to: the one around it, else the nearest outline.
pub fn zone_at(plan: &Plan, p: Point) -> Option<usize> {
    let closed = |outline: &[Point]| {
        let mut ring = outline.to_vec();
        ring.extend(outline.first().copied());
        ring
    };
    plan.zones.iter().position(|zone| inside(&zone.outline, p)).or_else(|| {
        (0..plan.zones.len()).min_by(|&a, &b| {
            let d = |i: usize| {
                plan.zones.get(i).map_or(f64::INFINITY, |zone| nearest(&closed(&zone.outline), p).1)
            };
            d(a).total_cmp(&d(b))
        })
    })
}

/// Inside size of `duct` just after `station_m`.
pub fn section_at(duct: &Duct, station_m: f64) -> Section {
    duct.steps
        .iter()
        .rev()
        .find(|step| step.station_m <= station_m + 1e-9)
        .map_or(duct.section, |step| step.section)
}

/// Where one slot is.
#[derive(Clone, Debug, PartialEq)]
pub struct SlotPlace {
    /// `row/number`.
    pub id: String,
    /// Index of the row in the plan.
    pub row: usize,
    /// Index of the slot in the row.
    pub index: usize,
    /// Index of the duct in the plan.
    pub duct: usize,
    /// Distance along the duct, m.
    pub station_m: f64,
    /// Where on the floor.
    pub at: Point,
    /// Unit direction of the duct there.
    pub direction: (f64, f64),
}

/// All slots in plan order. Left out, and told as findings: slots beyond the ends of their duct.
pub fn slot_places(plan: &Plan) -> Vec<SlotPlace> {
    let mut places = Vec::new();
    for (row_index, row) in plan.slot_rows.iter().enumerate() {
        let Some(duct) = plan.ducts.iter().position(|duct| duct.id == row.duct) else { continue };
        let end_m = length_m(&plan.ducts[duct].path) + 1e-9;
        for index in 0..row.count as usize {
            let station_m = row.station_m(index);
            if !(0.0..=end_m).contains(&station_m) {
                continue;
            }
            let (at, direction) = along(&plan.ducts[duct].path, station_m);
            places.push(SlotPlace {
                id: row.slot_id(index),
                row: row_index,
                index,
                duct,
                station_m,
                at,
                direction,
            });
        }
    }
    places
}

/// Where a return opening is on the floor.
pub fn return_place(plan: &Plan, index: usize) -> Point {
    let opening = &plan.returns[index];
    opening
        .duct
        .as_ref()
        .and_then(|id| plan.ducts.iter().find(|duct| &duct.id == id))
        .map(|duct| along(&duct.path, opening.station_m).0)
        .or(opening.at)
        .unwrap_or(plan.heater.intake)
}

/// An end of a duct that touches another duct or the heater.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Joint {
    /// The duct whose end it is.
    pub duct: usize,
    /// The last point (true) or the first (false).
    pub last: bool,
    /// What it touches.
    pub onto: Onto,
}

/// What an end of a duct touches.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Onto {
    /// Another duct, at a station, m.
    Duct {
        /// Index in the plan.
        duct: usize,
        /// Station on that duct, m.
        station_m: f64,
    },
    /// The heater's discharge.
    Discharge,
    /// The heater's intake.
    Intake,
}

/// Every end of every duct that touches something, in plan order.
///
/// An end joins the nearest other duct whose centre line passes within half that duct's width
/// plus [`SNAP_M`], supply with supply and return with return.
pub fn joints(plan: &Plan) -> Vec<Joint> {
    use super::DuctRole::Return;
    let mut joints = Vec::new();
    for (i, duct) in plan.ducts.iter().enumerate() {
        for last in [false, true] {
            let Some(&end) = (if last { duct.path.last() } else { duct.path.first() }) else { continue };
            let is_return = duct.role == Return;
            let port = if is_return { plan.heater.intake } else { plan.heater.discharge };
            if distance_m(end, port) <= SNAP_M {
                joints.push(Joint {
                    duct: i,
                    last,
                    onto: if is_return { Onto::Intake } else { Onto::Discharge },
                });
                continue;
            }
            let hosts =
                plan.ducts.iter().enumerate().filter(|&(j, other)| {
                    j != i && other.path.len() > 1 && (other.role == Return) == is_return
                });
            let nearest_duct = hosts
                .filter_map(|(j, other)| {
                    let (station_m, away) = nearest(&other.path, end);
                    let reach = section_at(other, station_m).plan_width_m() / 2.0 + SNAP_M;
                    (away <= reach).then_some((away, j, station_m))
                })
                .min_by(|a, b| host_rank(plan, a).cmp(&host_rank(plan, b)));
            if let Some((_, j, station_m)) = nearest_duct {
                joints.push(Joint { duct: i, last, onto: Onto::Duct { duct: j, station_m } });
            }
        }
    }
    one_joint_where_two_ends_meet(plan, joints)
}

/// What makes a duct the better host, smallest first: near to the millimetre, met within its length
/// rather than at an end, large, and by name, so that the order of items in a plan means nothing.
fn host_rank<'a>(plan: &'a Plan, &(away, duct, station_m): &(f64, usize, f64)) -> (i64, bool, i64, &'a str) {
    let host = &plan.ducts[duct];
    let at_end = station_m <= SNAP_M || station_m >= length_m(&host.path) - SNAP_M;
    let (area, id) = size_rank(host, station_m);
    ((away * 1e3).round() as i64, at_end, area, id)
}

/// Large ducts first, then by name.
fn size_rank(duct: &Duct, station_m: f64) -> (i64, &str) {
    (-(section_at(duct, station_m).area_m2() * 1e6).round() as i64, &duct.id)
}

/// Two ends that meet see each other; one joint is enough: the larger duct is the host.
fn one_joint_where_two_ends_meet(plan: &Plan, joints: Vec<Joint>) -> Vec<Joint> {
    let meets_end = |joint: &Joint| match joint.onto {
        Onto::Duct { duct, station_m } if station_m <= SNAP_M => Some((duct, false)),
        Onto::Duct { duct, station_m } if station_m >= length_m(&plan.ducts[duct].path) - SNAP_M => {
            Some((duct, true))
        }
        _ => None,
    };
    let kept = |joint: &Joint| {
        let Some((host, end)) = meets_end(joint) else { return true };
        let mirrored = joints.iter().any(|other| {
            other.duct == host && other.last == end && meets_end(other) == Some((joint.duct, joint.last))
        });
        let end_station = |last: bool| if last { f64::INFINITY } else { 0.0 };
        let (own, other) = (&plan.ducts[joint.duct], &plan.ducts[host]);
        let own_rank = size_rank(own, end_station(joint.last));
        !(mirrored && own_rank < size_rank(other, end_station(end)))
    };
    joints.iter().filter(|joint| kept(joint)).copied().collect()
}

/// Turn of a path at each inner corner: (station m, angle in degrees, 0 straight on).
pub fn corners(path: &[Point]) -> Vec<(f64, f64)> {
    let mut station = 0.0;
    path.windows(3)
        .map(|corner| {
            station += distance_m(corner[0], corner[1]);
            (station, turn_deg(direction(corner[0], corner[1]), direction(corner[1], corner[2])))
        })
        .collect()
}

/// Unit direction from `a` to `b`.
pub fn direction(a: Point, b: Point) -> (f64, f64) {
    let d = distance_m(a, b);
    if d == 0.0 { (1.0, 0.0) } else { ((b.x_m - a.x_m) / d, (b.y_m - a.y_m) / d) }
}

/// Angle between two unit directions, degrees.
pub fn turn_deg(a: (f64, f64), b: (f64, f64)) -> f64 {
    crate::numerics::acos((a.0 * b.0 + a.1 * b.1).clamp(-1.0, 1.0)).to_degrees()
}

/// Direction in which air leaves a joint into `duct` through its first or `last` end.
pub fn leaving_direction(duct: &Duct, last: bool) -> (f64, f64) {
    let n = duct.path.len();
    if last { direction(duct.path[n - 1], duct.path[n - 2]) } else { direction(duct.path[0], duct.path[1]) }
}
