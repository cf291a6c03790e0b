//! Where a dragged point comes to rest: on the duct's own axis, on another duct, on the grid.

use crate::board::outline::{direction, left, moved};
use engine::plan::geometry::{distance_m, nearest};
use engine::plan::{Duct, DuctRole, Plan, Point};
use engine::units::UnitSystem;

/// Shortest straight a drag leaves, m.
const SHORTEST_M: f64 = 0.1;

/// The grid of drags and nudges: 0.1 m, or 3 inches.
pub fn grid_m(units: UnitSystem) -> f64 {
    match units {
        UnitSystem::Si => 0.1,
        UnitSystem::InchPound => 0.0762,
    }
}

/// `v` on the grid. Divided by a whole number where it can be, so that 0.3 is the number 0.3.
pub fn on_grid(v: f64, grid: f64) -> f64 {
    let per_metre = (1.0 / grid).round();
    if (per_metre * grid - 1.0).abs() < 1e-9 {
        (v * per_metre).round() / per_metre
    } else {
        (v / grid).round() * grid
    }
}

/// What one dragged point of a duct can snap to, as it was when the drag began.
#[derive(Clone, Debug, PartialEq)]
pub struct Snap {
    point: usize,
    grid: f64,
    /// The neighbours on its own duct, with the direction from each to the point.
    neighbours: Vec<(Point, (f64, f64))>,
    /// Centre lines an end can join.
    others: Vec<Vec<Point>>,
    /// The heater's port an end can join.
    port: Option<Point>,
}

impl Snap {
    /// For point `point` of `duct`.
    pub fn new(plan: &Plan, duct: &Duct, point: usize, units: UnitSystem) -> Self {
        let here = duct.path[point];
        let last = duct.path.len() - 1;
        let neighbours = [point.checked_sub(1), (point < last).then_some(point + 1)]
            .into_iter()
            .flatten()
            .map(|i| duct.path[i])
            .filter_map(|n| direction(n, here).map(|d| (n, d)))
            .collect();
        let is_return = duct.role == DuctRole::Return;
        let is_end = point == 0 || point == last;
        let others = plan
            .ducts
            .iter()
            .filter(|other| is_end && other.id != duct.id && (other.role == DuctRole::Return) == is_return)
            .map(|other| other.path.clone())
            .collect();
        let port = if is_return { plan.heater.intake } else { plan.heater.discharge };
        Self { point, grid: grid_m(units), neighbours, others, port: is_end.then_some(port) }
    }

    /// Which point of the centre line.
    pub fn point(&self) -> usize {
        self.point
    }

    /// The other end of the straight that the point ends.
    pub fn neighbour(&self) -> Option<Point> {
        self.neighbours.first().map(|(neighbour, _)| *neighbour)
    }

    /// Where the point comes to rest when the hand wants it at `wanted`.
    pub fn place(&self, wanted: Point, px_per_m: f64) -> Point {
        let near = 12.0 / px_per_m;
        if let Some(port) = self.port.filter(|port| distance_m(*port, wanted) < near) {
            return port;
        }
        let on_axis = self.on_axis(wanted, px_per_m);
        if let Some(joined) = self.joined(on_axis, near) {
            return joined;
        }
        let place = self.gridded(on_axis, wanted, px_per_m);
        self.apart(place)
    }

    /// `wanted` brought onto the axes of the straights it ends, where it is near them.
    fn on_axis(&self, wanted: Point, px_per_m: f64) -> Point {
        // A hand drifts some way off the axis before it means to leave it.
        let near = (20.0 / px_per_m).max(0.3);
        self.neighbours.iter().fold(wanted, |p, (n, d)| {
            let ahead = (p.x_m - n.x_m) * d.0 + (p.y_m - n.y_m) * d.1;
            let foot = moved(*n, *d, ahead);
            if distance_m(foot, p) < near { foot } else { p }
        })
    }

    /// The nearest place on another duct's centre line, when `p` is near one.
    fn joined(&self, p: Point, near: f64) -> Option<Point> {
        self.others
            .iter()
            .map(|path| nearest(path, p))
            .zip(&self.others)
            .filter(|((_, away), _)| *away < near)
            .min_by(|a, b| a.0.1.total_cmp(&b.0.1))
            .map(|((station, _), path)| engine::plan::geometry::along(path, station).0)
            .filter(|q| *q == self.apart(*q))
    }

    fn gridded(&self, p: Point, wanted: Point, px_per_m: f64) -> Point {
        let held = |v: f64, pick: fn(Point) -> f64, across: fn((f64, f64)) -> f64| {
            // Held by the axis of a straight across this direction.
            self.neighbours
                .iter()
                .find(|(n, d)| across(*d).abs() < 1e-6 && (v - pick(*n)).abs() < 1e-9)
                .map(|(n, _)| pick(*n))
        };
        let slanted = self.neighbours.iter().find(|(_, d)| d.0.abs() > 1e-6 && d.1.abs() > 1e-6);
        if let Some((n, d)) = slanted
            && distance_m(p, wanted) < (20.0 / px_per_m).max(0.3)
        {
            let ahead = (p.x_m - n.x_m) * d.0 + (p.y_m - n.y_m) * d.1;
            return moved(*n, *d, on_grid(ahead, self.grid));
        }
        let x = held(p.x_m, |q| q.x_m, |d| d.0).unwrap_or_else(|| on_grid(p.x_m, self.grid));
        let y = held(p.y_m, |q| q.y_m, |d| d.1).unwrap_or_else(|| on_grid(p.y_m, self.grid));
        Point::new(x, y)
    }

    /// `p`, kept off its neighbours: a straight of no length has no direction.
    fn apart(&self, p: Point) -> Point {
        self.neighbours.iter().fold(p, |p, (n, d)| {
            let ahead = (p.x_m - n.x_m) * d.0 + (p.y_m - n.y_m) * d.1;
            let aside = distance_m(p, moved(*n, *d, ahead));
            if aside < 1e-9 && ahead < SHORTEST_M { moved(*n, *d, SHORTEST_M.max(self.grid)) } else { p }
        })
    }
}

/// A straight moved sideways by `by`, its place across the direction on the grid.
pub fn shifted(from: (Point, Point), by: (f64, f64), grid: f64) -> (Point, Point) {
    let Some(d) = direction(from.0, from.1) else { return from };
    let n = left(d);
    let wanted = by.0 * n.0 + by.1 * n.1;
    // For upright and level straights the coordinate itself comes onto the grid.
    let place = from.0.x_m * n.0 + from.0.y_m * n.1;
    let level = n.0.abs() < 1e-9 || n.1.abs() < 1e-9;
    let offset = if level { on_grid(place + wanted, grid) - place } else { on_grid(wanted, grid) };
    let offset = if wanted.abs() < grid / 2.0 { 0.0 } else { offset };
    let set = |p: Point| {
        let q = moved(p, n, offset);
        // Keep the coordinate that does not change exactly as it was, and the other one round.
        if n.0.abs() < 1e-9 {
            Point::new(p.x_m, if offset == 0.0 { p.y_m } else { on_grid(q.y_m, grid) })
        } else if n.1.abs() < 1e-9 {
            Point::new(if offset == 0.0 { p.x_m } else { on_grid(q.x_m, grid) }, p.y_m)
        } else {
            q
        }
    };
    (set(from.0), set(from.1))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::board::fixture::demo;

    fn snap(id: &str, point: usize) -> Snap {
        let plan = demo();
        let duct = plan.ducts.iter().find(|d| d.id == id).unwrap();
        Snap::new(&plan, duct, point, UnitSystem::Si)
    }

    #[test]
    fn an_end_runs_along_its_axis_on_the_grid() {
        let place = snap("cure-1", 1).place(Point::new(23.1734, 4.83), 40.0);
        assert_eq!(place, Point::new(23.2, 4.6));
    }

    #[test]
    fn far_off_the_axis_it_is_free_on_the_grid() {
        let place = snap("cure-1", 1).place(Point::new(23.1734, 5.432), 100.0);
        assert_eq!(place, Point::new(23.2, 5.4));
    }

    #[test]
    fn it_never_comes_onto_or_past_its_other_end() {
        for x in [11.02, 10.0, -4.0] {
            let place = snap("cure-1", 1).place(Point::new(x, 4.6), 200.0);
            assert!(place.x_m >= 11.1 - 1e-9, "{place:?}");
        }
    }

    #[test]
    fn the_first_point_joins_the_trunks_centre_line() {
        let place = snap("cure-1", 0).place(Point::new(11.13, 4.55), 40.0);
        assert_eq!(place, Point::new(11.0, 4.6));
    }

    #[test]
    fn a_return_duct_snaps_to_the_intake_and_not_to_supply_ducts() {
        let plan = demo();
        let duct = plan.ducts.iter().find(|d| d.id == "return-cure").unwrap();
        let snap = Snap::new(&plan, duct, 3, UnitSystem::Si);
        assert_eq!(snap.place(Point::new(11.1, 8.1), 60.0), plan.heater.intake);
        assert!(snap.others.iter().all(|path| *path != plan.ducts[0].path));
    }

    #[test]
    fn a_bend_keeps_both_its_straights_square() {
        // Corner of the transfer duct at (4, 5.3): level on one side, upright on the other.
        let place = snap("transfer", 1).place(Point::new(4.1, 5.2), 200.0);
        assert_eq!(place, Point::new(4.0, 5.3));
    }

    #[test]
    fn a_straight_shifts_sideways_only() {
        let from = (Point::new(11.0, 4.6), Point::new(25.2, 4.6));
        let (a, b) = shifted(from, (3.0, 0.37), 0.1);
        assert_eq!((a, b), (Point::new(11.0, 5.0), Point::new(25.2, 5.0)));
        assert_eq!(shifted(from, (3.0, 0.01), 0.1), from);
    }

    #[test]
    fn the_grid_gives_the_number_a_person_would_write() {
        assert_eq!(on_grid(0.29999, 0.1), 0.3);
        assert_eq!(on_grid(2.6999, 0.1), 2.7);
        assert!((on_grid(0.16, 0.0762) - 0.1524).abs() < 1e-12);
    }
}
