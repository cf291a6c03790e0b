//! The jets of a plan at one height, and the slow air between them.

use super::jet::{self, Jet, Vector, velocity_at};
use crate::plan::geometry::{inside, zone_at};
use crate::plan::{Plan, Point};

/// Side of a cell of the grid, m, where the box is not too large for it.
const CELL_M: f64 = 0.1;
/// Cells at most.
const MOST_CELLS: f64 = 20_000.0;

/// Jets in a box, looked at from above.
pub struct Field<'a> {
    pub(super) plan: &'a Plan,
    pub(super) jets: &'a [(usize, Jet)],
    height_m: f64,
    /// Speed between the jets of each zone, m/s.
    pub between_m_s: Vec<f64>,
    /// Middle of the first cell of a grid over the box.
    pub first: Point,
    /// Side of its cells, m.
    pub cell_m: f64,
    /// Cells in a row.
    pub columns: usize,
    /// Zone of each cell and what the jets do there; none outside the box.
    pub cells: Vec<Option<(usize, Vector)>>,
}

impl<'a> Field<'a> {
    /// Follows `jets`, each with its zone, up to `height_m`.
    ///
    /// What the jets carry up beyond their own air comes down between them, at (Σ w·ΔA)/A_between by continuity, w m/s
    /// their upward velocity, A m² areas of the zone; returns are taken to lie below the parts.
    pub fn new(plan: &'a Plan, jets: &'a [(usize, Jet)], height_m: f64) -> Self {
        let outline = &plan.enclosure.outline;
        let bounds = |value: fn(&Point) -> f64| {
            let values = outline.iter().map(value);
            values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)))
        };
        let ((x0, x1), (y0, y1)) = (bounds(|p| p.x_m), bounds(|p| p.y_m));
        let cell_m = CELL_M.max(((x1 - x0) * (y1 - y0) / MOST_CELLS).sqrt());
        let count = |span: f64| ((span / cell_m - 1e-9).ceil() as usize).max(1);
        let (columns, rows) = (count(x1 - x0), count(y1 - y0));
        let first = Point::new(x0 + 0.5 * cell_m, y0 + 0.5 * cell_m);
        let at = |i: usize| {
            let (column, row) = ((i % columns) as f64, (i / columns) as f64);
            Point::new(first.x_m + column * cell_m, first.y_m + row * cell_m)
        };
        let zone = |i: usize| zone_at(plan, at(i)).filter(|_| inside(outline, at(i)));
        let mut cells: Vec<Option<(usize, Vector)>> =
            (0..rows * columns).map(|i| Some((zone(i)?, [0.0; 3]))).collect();
        for (of, jet) in jets {
            // A jet that rises touches few cells.
            let (low, high) = jet.reach_at(height_m);
            let index =
                |v: f64, from: f64, count: usize| ((v - from) / cell_m).clamp(0.0, count as f64) as usize;
            let range = |k: usize, from: f64, count: usize| {
                index(low[k], from, count)..(index(high[k], from, count) + 2).min(count)
            };
            for row in range(1, first.y_m, rows) {
                for column in range(0, first.x_m, columns) {
                    let i = row * columns + column;
                    let Some((zone, sum)) = &mut cells[i] else { continue };
                    if zone == of {
                        let place = [at(i).x_m, at(i).y_m, height_m];
                        let square = jet.square_at(place);
                        (0..3).for_each(|k| sum[k] += square * jet.axis[k]);
                    }
                }
            }
        }
        cells.iter_mut().flatten().for_each(|(_, v)| *v = jet::velocity_of(*v));
        let of_zone =
            |zone: usize| cells.iter().flatten().filter(move |(of, _)| *of == zone).map(|(_, v)| *v);
        let between_m_s = (0..plan.zones.len()).map(|z| between(&of_zone(z).collect::<Vec<_>>())).collect();
        Self { plan, jets, height_m, between_m_s, first, cell_m, columns, cells }
    }

    /// Zone of a place of the floor; none outside the box.
    pub fn zone_at(&self, at: Point) -> Option<usize> {
        zone_at(self.plan, at).filter(|_| inside(&self.plan.enclosure.outline, at))
    }

    /// Jets of one zone, by number.
    fn of_zone(&self, zone: usize) -> impl Iterator<Item = (usize, &Jet)> {
        self.jets.iter().enumerate().filter(move |(_, (of, _))| *of == zone).map(|(i, (_, jet))| (i, jet))
    }

    /// What the jets alone do at a place of the floor.
    pub fn by_jets(&self, at: Point, zone: usize) -> Vector {
        velocity_at(self.of_zone(zone).map(|(_, jet)| jet), [at.x_m, at.y_m, self.height_m])
    }

    /// Speed where the jets alone would make `by_jets`, m/s: both are added as squares (ours).
    pub fn speed(&self, by_jets: f64, zone: usize) -> f64 {
        (by_jets * by_jets + self.between_m_s[zone] * self.between_m_s[zone]).sqrt()
    }

    /// Speed at a place, m/s, and how much hotter than its surroundings the air is there, K, where jet `i` leaves its
    /// slot `hotter_k(i)` hotter.
    ///
    /// Heat is carried along and spreads like momentum (Reichardt 1941 with a turbulent Prandtl number of one), so
    /// ΔT = Σ u_i²·ΔT_i/U_i over the speed of all, u_i m/s the speed of jet i at the place, U_i and ΔT_i at its slot.
    /// Measured jets lose their heat sooner than their speed, by a fifth (from memory): the figure is on the high side.
    pub fn air(&self, at: Point, zone: usize, hotter_k: &dyn Fn(usize) -> f64) -> (f64, f64) {
        let place = [at.x_m, at.y_m, self.height_m];
        let (mut sum, mut heat, mut most) = ([0.0; 3], 0.0, 0.0_f64);
        for (i, jet) in self.of_zone(zone) {
            let square = jet.square_at(place);
            if square > 0.0 {
                (0..3).for_each(|k| sum[k] += square * jet.axis[k]);
                heat += square * hotter_k(i) / jet.velocity_m_s;
                most = if hotter_k(i).abs() > most.abs() { hotter_k(i) } else { most };
            }
        }
        let speed = self.speed(jet::size(jet::velocity_of(sum)), zone);
        let excess = if speed > 0.0 { heat / speed } else { 0.0 };
        (speed, if excess.abs() < most.abs() { excess } else { most })
    }
}

/// Speed at which what jets carry up comes down where they are not, by the cells of one zone.
fn between(cells: &[Vector]) -> f64 {
    let up: f64 = cells.iter().map(|v| v[2].max(0.0)).sum();
    let mut speed = 0.0;
    // Which cells lie between depends on the speed there.
    for _ in 0..8 {
        let free = cells.iter().filter(|v| jet::size(**v) <= speed).count();
        let next = up / (free.max(cells.len() / 20).max(1)) as f64;
        speed = 0.5 * (speed + next);
    }
    speed
}
