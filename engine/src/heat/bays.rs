//! Zones divided into bays along the conveyor and by side: areas, walls, neighbours and places.

use crate::plan::geometry::{along, distance_m, inside, length_m, nearest};
use crate::plan::{Opening, Plan, Point, Zone};

/// Length of a bay where the zone gives none, m.
pub const BAY_LENGTH_M: f64 = 2.0;
/// Bays of one zone along the conveyor, at most.
const MOST_BAYS: f64 = 60.0;
/// Cells across a zone, at least.
const CELLS_ACROSS: f64 = 16.0;
/// Cells of one zone in each direction, at most.
const MOST_CELLS: f64 = 240.0;
/// A wall of one zone nearer than this to another zone is shared, m.
const SHARED_WALL_M: f64 = 0.1;

/// Side of the conveyor, looking along it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    /// To the left of the path.
    #[default]
    Left,
    /// To the right of the path.
    Right,
}

/// A stretch of a zone on one side of the conveyor.
#[derive(Clone, Debug, PartialEq)]
pub struct Bay {
    /// Index of its zone.
    pub zone: usize,
    /// Which stretch of its zone, from 0 in the direction of travel.
    pub number: usize,
    /// Side of the path.
    pub side: Side,
    /// Where it begins and ends along the path, m.
    pub stations_m: (f64, f64),
    /// Middle of its floor.
    pub at: Point,
    /// Least and greatest corner of its floor.
    pub corners: (Point, Point),
    /// Floor, m².
    pub floor_m2: f64,
    /// Length of outside wall, m.
    pub wall_m: f64,
}

/// Where two bays meet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Face {
    /// One bay.
    pub a: usize,
    /// The other.
    pub b: usize,
    /// Length of the line between them on the floor, m.
    pub width_m: f64,
    /// Distance of their middles, m.
    pub distance_m: f64,
}

/// The line a zone is divided along: the conveyor where it passes, else the zone's longer axis.
#[derive(Clone, Debug, PartialEq)]
struct Line {
    /// The stretch of the path in the zone.
    path: Vec<Point>,
    /// Station on the whole path at which it begins, m.
    from_m: f64,
    bay_m: f64,
    count: usize,
}

impl Line {
    fn of(plan: &Plan, zone: &Zone) -> Self {
        let (low, high) = corners(&zone.outline);
        let conveyor = plan.conveyor.as_ref().map(|conveyor| conveyor.path.clone());
        let passed = conveyor.and_then(|path| stretch_inside(&path, zone).map(|range| (path, range)));
        let (path, (from_m, to_m)) = passed.unwrap_or_else(|| {
            let middle = Point::new(0.5 * (low.x_m + high.x_m), 0.5 * (low.y_m + high.y_m));
            let path = if high.x_m - low.x_m >= high.y_m - low.y_m {
                vec![Point::new(low.x_m, middle.y_m), Point::new(high.x_m, middle.y_m)]
            } else {
                vec![Point::new(middle.x_m, low.y_m), Point::new(middle.x_m, high.y_m)]
            };
            let length = length_m(&path);
            (path, (0.0, length))
        });
        let wanted = zone.bay_length_m.filter(|length| *length > 0.0).unwrap_or(BAY_LENGTH_M);
        let count = ((to_m - from_m) / wanted).round().clamp(1.0, MOST_BAYS);
        // Where the line goes outside is nothing to this zone, however near it passes.
        Self {
            path: between(&path, from_m, to_m),
            from_m,
            bay_m: (to_m - from_m) / count,
            count: count as usize,
        }
    }

    /// Which stretch and side a point belongs to.
    fn place(&self, p: Point) -> (usize, Side) {
        let (station, _) = nearest(&self.path, p);
        let number = (station / self.bay_m + 1e-9) as usize;
        let (on, direction) = along(&self.path, station);
        let left = direction.0 * (p.y_m - on.y_m) - direction.1 * (p.x_m - on.x_m);
        (number.min(self.count - 1), if left >= 0.0 { Side::Left } else { Side::Right })
    }
}

/// All bays of a plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Bays {
    /// The bays: by zone, along the path, left before right.
    pub bays: Vec<Bay>,
    /// Where bays of one zone meet.
    pub faces: Vec<Face>,
    /// Walls between bays of two zones.
    pub partitions: Vec<Face>,
    lines: Vec<Line>,
    /// Index of the bay by zone, number and side.
    index: Vec<Vec<[Option<usize>; 2]>>,
}

impl Bays {
    /// Divides every zone of `plan`.
    ///
    /// The floor is covered with square cells; each belongs to the stretch and side of the path nearest to it, so
    /// that bends, loops and outlines of any shape are divided alike.
    pub fn of(plan: &Plan) -> Self {
        let lines: Vec<Line> = plan.zones.iter().map(|zone| Line::of(plan, zone)).collect();
        let index = lines.iter().map(|line| vec![[None; 2]; line.count]).collect();
        let mut all = Self { bays: vec![], faces: vec![], partitions: vec![], lines, index };
        for (z, zone) in plan.zones.iter().enumerate() {
            all.divide(z, zone);
        }
        for (z, zone) in plan.zones.iter().enumerate() {
            all.walls(plan, z, zone);
        }
        all
    }

    /// The bay of zone `z` that a point of the floor belongs to.
    pub fn at(&self, z: usize, p: Point) -> usize {
        let (number, side) = self.lines[z].place(p);
        self.index[z][number][side as usize].unwrap_or_else(|| {
            let near = |i: &usize| distance_m(self.bays[*i].at, p);
            let of_zone = (0..self.bays.len()).filter(|&i| self.bays[i].zone == z);
            of_zone.min_by(|a, b| near(a).total_cmp(&near(b))).unwrap_or(0)
        })
    }

    /// The bay on the far side of the path from [`Self::at`] the middle of an opening that the conveyor passes.
    pub fn across(&self, plan: &Plan, z: usize, opening: &Opening) -> Option<usize> {
        let path = &plan.conveyor.as_ref()?.path;
        let is_passed = nearest(path, opening.at).1 < 0.5 * opening.width_m;
        let one = self.at(z, opening.at);
        self.both_sides(z, opening.at).into_iter().find(|&bay| is_passed && bay != one)
    }

    /// The bays left and right of a point on the path in zone `z`.
    pub fn both_sides(&self, z: usize, p: Point) -> [usize; 2] {
        let number = self.lines[z].place(p).0;
        let own = self.at(z, p);
        self.index[z][number].map(|bay| bay.unwrap_or(own))
    }

    fn divide(&mut self, z: usize, zone: &Zone) {
        let (low, high) = corners(&zone.outline);
        let (width, depth) = (high.x_m - low.x_m, high.y_m - low.y_m);
        let line = self.lines[z].clone();
        let wanted =
            (width.min(depth) / CELLS_ACROSS).min(line.bay_m / 4.0).max(width.max(depth) / MOST_CELLS);
        // Whole cells to a bay where the path runs straight along an axis, and even numbers of them across.
        let cells =
            |length: f64, unit: usize| unit * ((length / (unit as f64 * wanted)).ceil() as usize).max(1);
        let direction = along(&line.path, 0.5 * line.bay_m).1;
        let is_along_x = direction.0.abs() >= direction.1.abs();
        let nx = cells(width, if is_along_x { line.count.max(2) } else { 2 });
        let ny = cells(depth, if is_along_x { 2 } else { line.count.max(2) });
        let (dx, dy) = (width / nx as f64, depth / ny as f64);
        let middle =
            |i: usize, j: usize| Point::new(low.x_m + (i as f64 + 0.5) * dx, low.y_m + (j as f64 + 0.5) * dy);
        let mut sums = vec![[(0usize, 0.0, 0.0, high, low); 2]; line.count];
        let mut of_cell = vec![None; nx * ny];
        for j in 0..ny {
            for i in 0..nx {
                let p = middle(i, j);
                if !inside(&zone.outline, p) {
                    continue;
                }
                let (number, side) = line.place(p);
                of_cell[j * nx + i] = Some((number, side as usize));
                let sum = &mut sums[number][side as usize];
                *sum = (
                    sum.0 + 1,
                    sum.1 + p.x_m,
                    sum.2 + p.y_m,
                    Point::new(sum.3.x_m.min(p.x_m - 0.5 * dx), sum.3.y_m.min(p.y_m - 0.5 * dy)),
                    Point::new(sum.4.x_m.max(p.x_m + 0.5 * dx), sum.4.y_m.max(p.y_m + 0.5 * dy)),
                );
            }
        }
        let covered: usize = sums.iter().flatten().map(|sum| sum.0).sum();
        let area = floor_area_m2(&zone.outline) / (covered as f64).max(1.0);
        let first = self.bays.len();
        for (number, pair) in sums.iter().enumerate() {
            for (side, sum) in pair.iter().enumerate().filter(|(_, sum)| sum.0 > 0) {
                self.index[z][number][side] = Some(self.bays.len());
                let start = line.from_m + number as f64 * line.bay_m;
                let count = sum.0 as f64;
                self.bays.push(Bay {
                    zone: z,
                    number,
                    side: if side == 0 { Side::Left } else { Side::Right },
                    stations_m: (start, start + line.bay_m),
                    at: Point::new(sum.1 / count, sum.2 / count),
                    corners: (sum.3, sum.4),
                    floor_m2: area * count,
                    wall_m: 0.0,
                });
            }
        }
        if self.bays.len() == first {
            // A zone too thin for its cells is one bay.
            self.index[z][0][0] = Some(first);
            let at = Point::new(0.5 * (low.x_m + high.x_m), 0.5 * (low.y_m + high.y_m));
            self.bays.push(Bay {
                zone: z,
                number: 0,
                side: Side::Left,
                stations_m: (line.from_m, line.from_m + line.bay_m),
                at,
                corners: (low, high),
                floor_m2: floor_area_m2(&zone.outline),
                wall_m: 0.0,
            });
        }
        for j in 0..ny {
            for i in 0..nx {
                let here = of_cell[j * nx + i];
                let right = if i + 1 < nx { of_cell[j * nx + i + 1] } else { None };
                let above = if j + 1 < ny { of_cell[(j + 1) * nx + i] } else { None };
                for (other, length) in [(right, dy), (above, dx)] {
                    if let (Some(a), Some(b)) = (here, other)
                        && a != b
                        && let (Some(a), Some(b)) = (self.index[z][a.0][a.1], self.index[z][b.0][b.1])
                    {
                        add_face(&mut self.faces, &self.bays, a, b, length);
                    }
                }
            }
        }
        self.connect(first);
    }

    /// Ties together bays, from `first` on, that the cells leave apart.
    fn connect(&mut self, first: usize) {
        loop {
            let mut reached = vec![false; self.bays.len()];
            reached[first] = true;
            for _ in first..self.bays.len() {
                for face in &self.faces {
                    let either = reached[face.a] || reached[face.b];
                    (reached[face.a], reached[face.b]) = (either, either);
                }
            }
            let pairs = (first..self.bays.len()).flat_map(|a| (first..self.bays.len()).map(move |b| (a, b)));
            let apart = |(a, b): &(usize, usize)| distance_m(self.bays[*a].at, self.bays[*b].at);
            let nearest = pairs
                .filter(|&(a, b)| reached[a] && !reached[b])
                .min_by(|one, other| apart(one).total_cmp(&apart(other)));
            let Some((a, b)) = nearest else { return };
            add_face(&mut self.faces, &self.bays, a, b, 0.1);
        }
    }

    /// Outside walls of each bay, and walls it shares with another zone.
    fn walls(&mut self, plan: &Plan, z: usize, zone: &Zone) {
        let outline = &zone.outline;
        for (k, &a) in outline.iter().enumerate() {
            let b = outline[(k + 1) % outline.len()];
            let length = distance_m(a, b);
            let pieces = (length / 0.25).ceil().max(1.0);
            let step = length / pieces;
            let direction = crate::plan::geometry::direction(a, b);
            for i in 0..pieces as usize {
                let (p, _) = along(&[a, b], (i as f64 + 0.5) * step);
                let off = |by: f64| Point::new(p.x_m - direction.1 * by, p.y_m + direction.0 * by);
                let bay = self.at(z, p);
                let beyond = plan.zones.iter().enumerate().find(|(other, zone)| {
                    *other != z
                        && [SHARED_WALL_M, -SHARED_WALL_M].iter().any(|by| inside(&zone.outline, off(*by)))
                });
                match beyond {
                    None => self.bays[bay].wall_m += step,
                    // Each shared wall is met from both sides and counted from one.
                    Some((other, _)) if other > z => {
                        let across = self.at(other, p);
                        add_face(&mut self.partitions, &self.bays, bay, across, step);
                    }
                    Some(_) => {}
                }
            }
        }
    }
}

fn add_face(faces: &mut Vec<Face>, bays: &[Bay], a: usize, b: usize, width_m: f64) {
    let (a, b) = (a.min(b), a.max(b));
    match faces.iter_mut().find(|face| face.a == a && face.b == b) {
        Some(face) => face.width_m += width_m,
        None => {
            let distance_m = distance_m(bays[a].at, bays[b].at).max(0.05);
            faces.push(Face { a, b, width_m, distance_m });
        }
    }
}

/// Least and greatest corner around some points.
fn corners(points: &[Point]) -> (Point, Point) {
    let far = f64::INFINITY;
    points.iter().fold((Point::new(far, far), Point::new(-far, -far)), |(low, high), p| {
        (
            Point::new(low.x_m.min(p.x_m), low.y_m.min(p.y_m)),
            Point::new(high.x_m.max(p.x_m), high.y_m.max(p.y_m)),
        )
    })
}

/// Area of a polygon, m².
pub fn floor_area_m2(outline: &[Point]) -> f64 {
    let next = outline.iter().cycle().skip(1);
    0.5 * outline.iter().zip(next).map(|(a, b)| a.x_m * b.y_m - b.x_m * a.y_m).sum::<f64>().abs()
}

/// The piece of `path` between two stations.
fn between(path: &[Point], from_m: f64, to_m: f64) -> Vec<Point> {
    let mut station = 0.0;
    let mut piece = vec![along(path, from_m).0];
    for pair in path.windows(2) {
        station += distance_m(pair[0], pair[1]);
        if station > from_m + 1e-9 && station < to_m - 1e-9 {
            piece.push(pair[1]);
        }
    }
    piece.push(along(path, to_m).0);
    piece
}

/// First and last station of `path` inside a zone, m.
pub(super) fn stretch_inside(path: &[Point], zone: &Zone) -> Option<(f64, f64)> {
    let length = length_m(path);
    if !(length > 0.0 && length < 1e5) {
        return None;
    }
    let steps = (length / 0.05).ceil().min(20_000.0);
    let is_in = |s: f64| inside(&zone.outline, along(path, s).0);
    let hit = |k: f64| is_in((k + 0.5) * length / steps);
    let first = (0..steps as usize).find(|&k| hit(k as f64))?;
    let last = (0..steps as usize).rev().find(|&k| hit(k as f64))?;
    // The crossing lies between the last sample outside and the first inside.
    let edge = |mut out: f64, mut within: f64| {
        for _ in 0..40 {
            let mid = 0.5 * (out + within);
            if is_in(mid) { within = mid } else { out = mid }
        }
        within
    };
    let sample = |k: f64| (k + 0.5) * length / steps;
    let from = if first == 0 { 0.0 } else { edge(sample(first as f64 - 1.0), sample(first as f64)) };
    let to = if last + 1 == steps as usize {
        length
    } else {
        edge(sample(last as f64 + 1.0), sample(last as f64))
    };
    (to - from > 1e-6).then_some((from, to))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::file;

    fn gates() -> Plan {
        file::read(include_str!("../../tests/all/two-zones.evenrise.json")).expect("opens")
    }

    #[test]
    fn bays_cover_the_floor_and_every_wall_once() {
        let plan = gates();
        let bays = Bays::of(&plan);
        assert_eq!(bays.bays.len(), 2 * (4 + 9));
        let floor: f64 = bays.bays.iter().map(|bay| bay.floor_m2).sum();
        assert!((floor - 26.0 * 6.4).abs() < 1e-9);
        let wall: f64 = bays.bays.iter().map(|bay| bay.wall_m).sum();
        assert!((wall - 2.0 * (26.0 + 6.4)).abs() < 1e-9, "{wall}");
        let shared: f64 = bays.partitions.iter().map(|face| face.width_m).sum();
        assert!((shared - 6.4).abs() < 1e-9, "{shared}");
        for bay in &bays.bays {
            assert!((bay.floor_m2 - 6.4).abs() < 0.5, "{bay:?}");
        }
        // Each bay meets the one across and the next ones along.
        assert_eq!(bays.faces.len(), 13 + 2 * (3 + 8));
    }

    #[test]
    fn a_path_that_turns_back_has_bays_on_both_runs() {
        let mut plan = gates();
        plan.zones.truncate(1);
        let conveyor = plan.conveyor.as_mut().unwrap();
        conveyor.path =
            [(-1.0, 1.6), (7.0, 1.6), (7.0, 4.8), (-1.0, 4.8)].map(|(x, y)| Point::new(x, y)).to_vec();
        let bays = Bays::of(&plan);
        let floor: f64 = bays.bays.iter().map(|bay| bay.floor_m2).sum();
        assert!((floor - 8.0 * 6.4).abs() < 1e-9);
        let inner = bays.at(0, Point::new(2.0, 3.0));
        let back = bays.at(0, Point::new(2.0, 3.4));
        assert_ne!(inner, back);
        let pair = (inner.min(back), inner.max(back));
        assert!(bays.faces.iter().any(|face| (face.a, face.b) == pair), "bays of the two runs meet");
    }
}
