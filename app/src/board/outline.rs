//! Outlines in plan: walls to their thickness, ducts to their width, with tapers and mitred corners.

use engine::numerics::{cos, sin};
use engine::plan::geometry::{Joint, Onto, distance_m, length_m, nearest, section_at};
use engine::plan::{Duct, Plan, Point};

/// How thick an oven panel is drawn, m: 150 mm of insulation is usual.
pub const WALL_M: f64 = 0.15;
/// How long a change of size is drawn, m.
const TAPER_M: f64 = 0.25;

/// A direction or an offset on the floor.
pub type Vector = (f64, f64);

/// `p` moved by `by` times `d`.
pub fn moved(p: Point, d: Vector, by: f64) -> Point {
    Point::new(p.x_m + d.0 * by, p.y_m + d.1 * by)
}

/// The left-hand normal of `d`.
pub fn left(d: Vector) -> Vector {
    (-d.1, d.0)
}

/// `d` turned to the left by `angle`.
pub fn turned(d: Vector, angle: f64) -> Vector {
    let (sin, cos) = (sin(angle), cos(angle));
    (d.0 * cos - d.1 * sin, d.0 * sin + d.1 * cos)
}

/// Unit direction from `a` to `b`; none when they coincide.
pub fn direction(a: Point, b: Point) -> Option<Vector> {
    let d = distance_m(a, b);
    (d > 1e-9).then(|| ((b.x_m - a.x_m) / d, (b.y_m - a.y_m) / d))
}

/// A rectangle around `at`, `along_m` long in direction `d` and `across_m` wide.
pub fn rectangle(at: Point, d: Vector, along_m: f64, across_m: f64) -> Vec<Point> {
    let n = left(d);
    [(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)]
        .into_iter()
        .map(|(s, t)| moved(moved(at, d, s * along_m), n, t * across_m))
        .collect()
}

/// The offset of a corner between directions `a` and `b` that keeps both sides one unit away.
fn mitre(a: Vector, b: Vector) -> Vector {
    let (na, nb) = (left(a), left(b));
    let sum = (na.0 + nb.0, na.1 + nb.1);
    let dot = sum.0 * na.0 + sum.1 * na.1;
    // A turn back on itself has no mitre; a very sharp one is cut short.
    if dot < 0.2 { na } else { (sum.0 / dot, sum.1 / dot) }
}

/// The closed ring `outline` moved outwards by `by_m`.
pub fn ring_outside(outline: &[Point], by_m: f64) -> Vec<Point> {
    let mut ring: Vec<Point> = Vec::with_capacity(outline.len());
    for &p in outline {
        if ring.last().is_none_or(|q| distance_m(*q, p) > 1e-9) {
            ring.push(p);
        }
    }
    if ring.len() > 1 && distance_m(ring[0], ring[ring.len() - 1]) < 1e-9 {
        ring.pop();
    }
    let n = ring.len();
    if n < 3 {
        return ring;
    }
    let doubled_area: f64 = (0..n)
        .map(|i| {
            let (a, b) = (ring[i], ring[(i + 1) % n]);
            a.x_m * b.y_m - b.x_m * a.y_m
        })
        .sum();
    // Counter-clockwise rings have their outside on the right.
    let outwards = if doubled_area > 0.0 { -by_m } else { by_m };
    (0..n)
        .map(|i| {
            let before = direction(ring[(i + n - 1) % n], ring[i]).unwrap_or((1.0, 0.0));
            let after = direction(ring[i], ring[(i + 1) % n]).unwrap_or(before);
            moved(ring[i], mitre(before, after), outwards)
        })
        .collect()
}

/// A line of points drawn `thickness_m` wide.
pub fn thick_line(path: &[Point], thickness_m: f64) -> Vec<Point> {
    let length = length_m(path);
    ribbon(path, &[(0.0, thickness_m / 2.0), (length, thickness_m / 2.0)])
}

/// The body of a duct to its width, running `past_m` beyond its first and last point.
pub fn duct_body(duct: &Duct, past_m: (f64, f64)) -> Vec<Point> {
    let mut path = duct.path.clone();
    path.dedup_by(|a, b| distance_m(*a, *b) < 1e-9);
    if path.len() < 2 {
        return Vec::new();
    }
    let last = path.len() - 1;
    if let Some(d) = direction(path[1], path[0]) {
        path[0] = moved(path[0], d, past_m.0);
    }
    if let Some(d) = direction(path[last - 1], path[last]) {
        path[last] = moved(path[last], d, past_m.1);
    }
    let total = length_m(&path);
    let mut widths = vec![(0.0, duct.section.plan_width_m() / 2.0)];
    for step in &duct.steps {
        let station = step.station_m + past_m.0;
        let half = step.section.plan_width_m() / 2.0;
        let before = widths.last().map_or(half, |w| w.1);
        widths.push((station.clamp(0.0, total), before));
        widths.push(((station + TAPER_M).clamp(0.0, total), half));
    }
    widths.push((total, widths.last().map_or(0.0, |w| w.1)));
    ribbon(&path, &widths)
}

/// A band around `path` whose half width is given at rising stations, linear between.
fn ribbon(path: &[Point], half_widths: &[(f64, f64)]) -> Vec<Point> {
    let (mut lefts, mut rights) = (Vec::new(), Vec::new());
    let mut push = |p: Point, offset: Vector, half: f64| {
        lefts.push(moved(p, offset, half));
        rights.push(moved(p, offset, -half));
    };
    let mut start = 0.0;
    let segments: Vec<(Point, Point, Vector)> =
        path.windows(2).filter_map(|w| direction(w[0], w[1]).map(|d| (w[0], w[1], d))).collect();
    for (i, &(a, b, d)) in segments.iter().enumerate() {
        let end = start + distance_m(a, b);
        if i == 0 {
            push(a, left(d), half_at(half_widths, start));
        }
        for &(station, half) in half_widths {
            if station > start + 1e-9 && station < end - 1e-9 {
                push(moved(a, d, station - start), left(d), half);
            }
        }
        let offset = segments.get(i + 1).map_or(left(d), |next| mitre(d, next.2));
        push(b, offset, half_at(half_widths, end));
        start = end;
    }
    rights.reverse();
    lefts.extend(rights);
    lefts
}

fn half_at(half_widths: &[(f64, f64)], station: f64) -> f64 {
    let after = half_widths.iter().position(|w| w.0 >= station - 1e-9);
    match after {
        None => half_widths.last().map_or(0.0, |w| w.1),
        Some(0) => half_widths[0].1,
        Some(i) => {
            let (a, b) = (half_widths[i - 1], half_widths[i]);
            let t = if b.0 > a.0 { ((station - a.0) / (b.0 - a.0)).clamp(0.0, 1.0) } else { 1.0 };
            a.1 + t * (b.1 - a.1)
        }
    }
}

/// The joints as drawn: where two ends meet each is joined to the other, and the wider one is the one joined.
pub fn drawn_joints(plan: &Plan, joints: &[Joint]) -> Vec<Joint> {
    let onto = |joint: &Joint| match joint.onto {
        Onto::Duct { duct, .. } => Some(duct),
        _ => None,
    };
    let width = |i: usize| plan.ducts[i].section.plan_width_m();
    joints
        .iter()
        .filter(|joint| {
            let Some(other) = onto(joint) else { return true };
            let mutual = joints.iter().any(|back| back.duct == other && onto(back) == Some(joint.duct));
            let (own, others) = (width(joint.duct), width(other));
            !mutual || own < others || (own == others && joint.duct > other)
        })
        .copied()
        .collect()
}

/// Where an end of a duct leaves the body of the duct it joins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Collar {
    /// The duct whose end it is.
    pub duct: usize,
    /// Distance from that end to the other duct's side, m.
    pub inside_m: f64,
    /// The middle of the collar.
    pub at: Point,
    /// Unit direction into the duct.
    pub into: Vector,
    /// Width of the duct there, m.
    pub width_m: f64,
}

/// The collars of all joints between ducts.
pub fn collars(plan: &Plan, joints: &[Joint]) -> Vec<Collar> {
    joints.iter().filter_map(|joint| collar(plan, joint)).collect()
}

fn collar(plan: &Plan, joint: &Joint) -> Option<Collar> {
    let Onto::Duct { duct: parent, station_m } = joint.onto else { return None };
    let (child, parent) = (plan.ducts.get(joint.duct)?, plan.ducts.get(parent)?);
    let end = if joint.last { *child.path.last()? } else { *child.path.first()? };
    let into = end_direction(child, joint.last)?;
    let side = engine::plan::geometry::along(&parent.path, station_m).1;
    let across = (side.0 * into.1 - side.1 * into.0).abs();
    let half = section_at(parent, station_m).plan_width_m() / 2.0;
    let (_, away) = nearest(&parent.path, end);
    let inside_m = if across > 0.2 { (half - away).max(0.0) / across } else { 0.0 };
    let station = if joint.last { length_m(&child.path) } else { 0.0 };
    Some(Collar {
        duct: joint.duct,
        inside_m,
        at: moved(end, into, inside_m),
        into,
        width_m: section_at(child, station).plan_width_m(),
    })
}

/// Unit direction from an end of a duct into it.
pub fn end_direction(duct: &Duct, last: bool) -> Option<Vector> {
    let path = &duct.path;
    if last {
        let end = *path.last()?;
        path.iter().rev().skip(1).find_map(|&p| direction(end, p))
    } else {
        let end = *path.first()?;
        path.iter().skip(1).find_map(|&p| direction(end, p))
    }
}

/// How far a duct's body is drawn past its first and last point, so that branches joining at the very
/// end still meet sheet over their whole width.
pub fn past_ends_m(plan: &Plan, joints: &[Joint], duct: usize) -> (f64, f64) {
    let Some(parent) = plan.ducts.get(duct) else { return (0.0, 0.0) };
    let total = length_m(&parent.path);
    let joined = |last: bool| joints.iter().any(|j| j.duct == duct && j.last == last);
    let mut past = (0.0f64, 0.0f64);
    for joint in joints {
        let Onto::Duct { duct: onto, station_m } = joint.onto else { continue };
        if onto != duct {
            continue;
        }
        let Some(child) = plan.ducts.get(joint.duct) else { continue };
        let station = if joint.last { length_m(&child.path) } else { 0.0 };
        let half = section_at(child, station).plan_width_m() / 2.0;
        if !joined(false) {
            past.0 = past.0.max(half - station_m);
        }
        if !joined(true) {
            past.1 = past.1.max(half - (total - station_m));
        }
    }
    past
}

/// The ducts in painting order: branches first, so that what they join covers their ends.
pub fn painting_order(plan: &Plan, joints: &[Joint]) -> Vec<usize> {
    let depth = |start: usize| {
        let (mut at, mut depth) = (start, 0);
        while let Some(Onto::Duct { duct, .. }) =
            joints.iter().find(|j| j.duct == at && matches!(j.onto, Onto::Duct { .. })).map(|j| j.onto)
        {
            // Ducts may join in a ring.
            if depth > plan.ducts.len() {
                break;
            }
            at = duct;
            depth += 1;
        }
        depth
    };
    let mut order: Vec<(bool, usize, usize)> = (0..plan.ducts.len())
        .map(|i| (plan.ducts[i].role != engine::plan::DuctRole::Return, usize::MAX - depth(i), i))
        .collect();
    engine::numerics::sort_short(&mut order, |a, b| a.cmp(b));
    order.into_iter().map(|(_, _, i)| i).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::board::fixture::demo;
    use engine::plan::geometry::{inside, joints};

    #[test]
    fn a_ring_grows_outwards_whichever_way_it_runs() {
        let mut ring =
            vec![Point::new(0.0, 0.0), Point::new(4.0, 0.0), Point::new(4.0, 3.0), Point::new(0.0, 3.0)];
        for _ in 0..2 {
            let outer = ring_outside(&ring, 0.5);
            assert_eq!(outer.len(), 4);
            assert!(ring.iter().all(|p| inside(&outer, *p)));
            let xs: Vec<f64> = outer.iter().map(|p| p.x_m).collect();
            assert!((xs.iter().cloned().fold(f64::INFINITY, f64::min) + 0.5).abs() < 1e-12);
            ring.reverse();
        }
    }

    #[test]
    fn a_bent_duct_keeps_its_width_through_the_corner() {
        let plan = demo();
        let transfer = plan.ducts.iter().find(|d| d.id == "transfer").unwrap();
        let body = duct_body(transfer, (0.0, 0.0));
        // Outer and inner corner of the mitre, 0.225 m off the centre line on both axes.
        for corner in [Point::new(3.775, 5.525), Point::new(4.225, 5.075)] {
            assert!(body.iter().any(|p| distance_m(*p, corner) < 1e-9), "{corner:?} in {body:?}");
        }
    }

    #[test]
    fn a_change_of_size_is_drawn_as_a_taper() {
        let plan = demo();
        let trunk = plan.ducts.iter().find(|d| d.id == "trunk").unwrap();
        let body = duct_body(trunk, (0.0, 0.0));
        let width_at = |y: f64| {
            let xs: Vec<f64> = body.iter().filter(|p| (p.y_m - y).abs() < 1e-9).map(|p| p.x_m).collect();
            xs.iter().cloned().fold(f64::NEG_INFINITY, f64::max)
                - xs.iter().cloned().fold(f64::INFINITY, f64::min)
        };
        assert!((width_at(7.0) - 0.9).abs() < 1e-9);
        assert!((width_at(7.0 - 3.2) - 0.9).abs() < 1e-9);
        assert!((width_at(7.0 - 3.2 - 0.25) - 0.7).abs() < 1e-9);
        assert!((width_at(1.6) - 0.7).abs() < 1e-9);
    }

    #[test]
    fn branches_are_painted_before_what_they_join() {
        let plan = demo();
        let joints = drawn_joints(&plan, &joints(&plan));
        let order = painting_order(&plan, &joints);
        let place = |id: &str| order.iter().position(|&i| plan.ducts[i].id == id).unwrap();
        assert!(place("cure-1") < place("trunk"));
        assert!(place("dry-3") < place("transfer") && place("transfer") < place("trunk"));
        assert_eq!(order.len(), plan.ducts.len());
    }

    #[test]
    fn the_collar_sits_on_the_trunks_side() {
        let plan = demo();
        let joints = drawn_joints(&plan, &joints(&plan));
        let run = plan.ducts.iter().position(|d| d.id == "cure-1").unwrap();
        let collar = collars(&plan, &joints).into_iter().find(|c| c.duct == run).unwrap();
        assert!((collar.at.x_m - 11.45).abs() < 1e-9 && (collar.at.y_m - 4.6).abs() < 1e-9);
        assert_eq!(collar.into, (1.0, 0.0));
        let trunk = plan.ducts.iter().position(|d| d.id == "trunk").unwrap();
        assert!((past_ends_m(&plan, &joints, trunk).1 - 0.225).abs() < 1e-9);
    }
}
