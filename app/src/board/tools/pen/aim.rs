//! Where the next point goes: on ducts and walls, square or at an angle, held to the grid and to what is there.

use super::{role, tidy};
use crate::board::outline::direction;
use crate::board::tools::snap::{grid_m, on_grid};
use crate::board::tools::{Context, Outcome, Tool, Tools, keys};
use crate::edit::nearest_wall;
use engine::numerics;
use engine::plan::geometry::{along, distance_m, length_m, nearest, section_at};
use engine::plan::{Duct, DuctRole, Point};
use engine::units::{Kind, UnitSystem, show};

/// How near to a line through something the next point is drawn onto it, px.
const NEAR_PX: f64 = 6.0;
/// How near to a multiple of fifteen degrees an angle is held to it, degrees.
const HOLD_DEG: f64 = 2.0;

/// Whether the tool works along ducts.
pub(super) fn on_ducts(tool: Tool) -> bool {
    matches!(tool, Tool::Step | Tool::Slots | Tool::Intake)
}

pub(super) fn fits(tool: Tool, duct: &Duct) -> bool {
    match tool {
        Tool::Slots => duct.role != DuctRole::Return,
        Tool::Intake => duct.role == DuctRole::Return,
        _ => true,
    }
}

/// Length, and the angle to the level where it is neither level nor upright.
pub(in crate::board::tools) fn way_words(from: Point, to: Point, units: UnitSystem) -> String {
    let length = show(distance_m(from, to), Kind::Length, units);
    let square = (from.x_m - to.x_m).abs() < 1e-6 || (from.y_m - to.y_m).abs() < 1e-6;
    match direction(from, to).filter(|_| !square) {
        Some(way) => format!("{length} at {}", show(degrees_of(way), Kind::Angle, units)),
        None => length,
    }
}

/// Anticlockwise from the right, degrees.
fn degrees_of(way: (f64, f64)) -> f64 {
    let degrees = numerics::acos(way.0.clamp(-1.0, 1.0)).to_degrees();
    if way.1 < 0.0 { -degrees } else { degrees }
}

/// The place so far from `from` at an angle, degrees anticlockwise from the right.
pub(super) fn towards(from: Point, length_m: f64, degrees: f64) -> Point {
    let angle = degrees.to_radians();
    Point::new(
        tidy(from.x_m + length_m * numerics::cos(angle)),
        tidy(from.y_m + length_m * numerics::sin(angle)),
    )
}

impl Tools {
    /// The hand points at `wanted`.
    pub(in crate::board::tools) fn aim(&mut self, wanted: Point, cx: &Context) {
        self.pen.cross = Some(wanted);
        self.pen.by_key = false;
        self.settle(cx);
    }

    /// Where the next point goes when the cross is where it is.
    pub(super) fn settle(&mut self, cx: &Context) {
        let Some(cross) = self.pen.cross else { return };
        self.pen.guides.clear();
        self.pen.on = None;
        let at = if on_ducts(self.pen.tool) {
            self.on_a_duct(cross, cx)
        } else if self.pen.tool == Tool::Opening {
            on_a_wall(cross, cx)
        } else if let Some(last) =
            self.pen.points.last().copied().filter(|_| self.is_turned() && !self.pen.by_key)
        {
            self.turned(last, cross, cx)
        } else if let Some(last) = self.pen.points.last().copied().filter(|_| self.is_square()) {
            self.squared(last, cross, cx)
        } else {
            self.free(cross, cx)
        };
        self.pen.at = Some(at);
        self.pen.placed = self.pen.placed.filter(|placed| *placed == at);
        let length = |m: f64| show(m, Kind::Length, cx.units);
        self.note = match (&self.pen.on, self.pen.points.last()) {
            (Some((_, station)), _) => Some((at, length(*station))),
            (None, Some(last)) if self.pen.is_box || self.pen.tool == Tool::Box => {
                let (w, h) = ((at.x_m - last.x_m).abs(), (at.y_m - last.y_m).abs());
                Some((at, format!("{} × {}", length(w), length(h))))
            }
            (None, Some(last)) => Some((at, way_words(*last, at, cx.units))),
            (None, None) => None,
        };
    }

    fn is_square(&self) -> bool {
        self.pen.tool.is_square() && !self.pen.is_box && !self.is_turned()
    }

    /// Whether lines run at any angle: by the button or the key, and the other way while Alt is held.
    fn is_turned(&self) -> bool {
        self.pen.tool.turns() && self.any_angle != self.alt
    }

    /// The browser says whether Alt is held.
    pub fn hold_alt(&mut self, alt: bool) {
        self.alt = alt;
    }

    /// Lines run at any angle from now on, or square again.
    pub(in crate::board::tools) fn turn_square(&mut self, cx: &Context) -> Outcome {
        self.any_angle = !self.any_angle;
        self.settle(cx);
        Outcome::handled(Vec::new())
    }

    /// The place on the nearest duct this tool works on.
    fn on_a_duct(&mut self, cross: Point, cx: &Context) -> Point {
        let tool = self.pen.tool;
        let begun = self.pen.first_on.as_ref().map(|(duct, _)| duct);
        let reach = |duct: &Duct, station: f64| {
            section_at(duct, station).plan_width_m() / 2.0 + 24.0 / cx.look.camera.px_per_m
        };
        let found = cx
            .plan
            .ducts
            .iter()
            .filter(|duct| begun.map_or_else(|| fits(tool, duct), |begun| duct.id == *begun))
            .map(|duct| (duct, nearest(&duct.path, cross)))
            .filter(|(duct, (station, away))| begun.is_some() || *away <= reach(duct, *station))
            .min_by(|a, b| a.1.1.total_cmp(&b.1.1));
        let Some((duct, (station, _))) = found else { return self.free(cross, cx) };
        let station = on_grid(station, grid_m(cx.units)).clamp(0.0, length_m(&duct.path));
        self.pen.on = Some((duct.id.clone(), station));
        along(&duct.path, station).0
    }

    /// A first point: the heater's port, a duct, a line through something, the grid.
    fn free(&mut self, cross: Point, cx: &Context) -> Point {
        if let Some(joined) = self.joined(cross, cx) {
            return joined;
        }
        Point::new(self.held(cross, true, cx), self.held(cross, false, cx))
    }

    /// The heater's port or the duct that a duct would join here.
    fn joined(&self, cross: Point, cx: &Context) -> Option<Point> {
        let near = NEAR_PX / cx.look.camera.px_per_m;
        let role = role(self.pen.tool).filter(|_| !self.pen.by_key)?;
        let is_return = role == DuctRole::Return;
        let port = if is_return { cx.plan.heater.intake } else { cx.plan.heater.discharge };
        if distance_m(port, cross) < near * 2.0 {
            return Some(port);
        }
        let ducts = cx.plan.ducts.iter().filter(|duct| (duct.role == DuctRole::Return) == is_return);
        let (duct, (station, _)) = ducts
            .map(|duct| (duct, nearest(&duct.path, cross)))
            .filter(|(duct, (station, away))| {
                *away <= (section_at(duct, *station).plan_width_m() / 2.0).max(near)
            })
            .min_by(|a, b| a.1.1.total_cmp(&b.1.1))?;
        let (foot, way) = along(&duct.path, station);
        let grid = grid_m(cx.units);
        Some(match (way.0.abs() < 1e-9, way.1.abs() < 1e-9) {
            (true, _) => Point::new(foot.x_m, on_grid(foot.y_m, grid)),
            (_, true) => Point::new(on_grid(foot.x_m, grid), foot.y_m),
            _ => foot,
        })
    }

    /// The next point by its angle, to a whole degree and held to every fifteenth, and its length on the grid.
    fn turned(&mut self, last: Point, cross: Point, cx: &Context) -> Point {
        if let Some(joined) = self.joined(cross, cx) {
            return joined;
        }
        let Some(way) = direction(last, cross) else { return last };
        let degrees = degrees_of(way);
        let fifteenth = (degrees / 15.0).round() * 15.0;
        let angle = if (degrees - fifteenth).abs() <= HOLD_DEG { fifteenth } else { degrees.round() };
        let length = on_grid(distance_m(last, cross), grid_m(cx.units));
        towards(last, length, angle)
    }

    /// The next point of a line that runs level and upright.
    fn squared(&mut self, last: Point, cross: Point, cx: &Context) -> Point {
        let (dx, dy) = (cross.x_m - last.x_m, cross.y_m - last.y_m);
        if dx.abs() >= dy.abs() {
            Point::new(self.held(Point::new(cross.x_m, last.y_m), true, cx), last.y_m)
        } else {
            Point::new(last.x_m, self.held(Point::new(last.x_m, cross.y_m), false, cx))
        }
    }

    /// One coordinate of `p`, brought onto a line through something near, else onto the grid.
    fn held(&mut self, p: Point, is_x: bool, cx: &Context) -> f64 {
        let of = |q: &Point| if is_x { q.x_m } else { q.y_m };
        let here = of(&p);
        if self.pen.by_key {
            // Keys have brought it where it belongs.
            return here;
        }
        let near = NEAR_PX / cx.look.camera.px_per_m;
        let line = self
            .landmarks(cx)
            .into_iter()
            .filter(|q| (of(q) - here).abs() <= near)
            .min_by(|a, b| (of(a) - here).abs().total_cmp(&(of(b) - here).abs()));
        match line {
            Some(mark) => {
                let v = of(&mark);
                let foot = if is_x { Point::new(v, p.y_m) } else { Point::new(p.x_m, v) };
                self.pen.guides.push((mark, foot));
                v
            }
            None => on_grid(here, grid_m(cx.units)),
        }
    }

    /// Places whose lines hold new points: corners, ends, ports, columns.
    fn landmarks(&self, cx: &Context) -> Vec<Point> {
        let plan = cx.plan;
        let mut marks = self.pen.points.clone();
        marks.extend([plan.heater.discharge, plan.heater.intake]);
        marks.extend(&plan.enclosure.outline);
        marks.extend(plan.enclosure.walls.iter().flatten());
        marks.extend(plan.enclosure.columns.iter().map(|column| column.at));
        marks.extend(plan.zones.iter().flat_map(|zone| &zone.outline));
        marks.extend(plan.openings.iter().map(|opening| opening.at));
        marks.extend(plan.conveyor.iter().flat_map(|conveyor| &conveyor.path));
        marks.extend(plan.ducts.iter().flat_map(|duct| &duct.path));
        marks
    }

    /// Arrow keys move the cross by steps of the grid, and stop at lines on the way.
    pub(in crate::board::tools) fn move_cross(&mut self, d: (f64, f64), steps: f64, cx: &Context) -> Outcome {
        if !self.pen.typed.is_empty() {
            return Outcome::handled(self.place_typed(Some(d), cx));
        }
        let first = self.pen.at.is_none() || self.pen.cross.is_none();
        let from = if self.pen.by_key { self.pen.cross } else { self.pen.at };
        let from = from.unwrap_or_else(|| self.start(cx));
        self.pen.by_key = true;
        let mut to = from;
        if !first {
            let grid = grid_m(cx.units);
            let stops = if steps > 1.0 { Vec::new() } else { self.landmarks(cx) };
            let go = |v: f64, d: f64, of: fn(&Point) -> f64| {
                if d == 0.0 {
                    return v;
                }
                let wanted = on_grid(v + d * grid * steps, grid);
                let ahead = |q: &f64| (q - v) * d > 1e-6 && (wanted - q) * d > 1e-6;
                stops
                    .iter()
                    .map(of)
                    .filter(ahead)
                    .min_by(|a, b| (a - v).abs().total_cmp(&(b - v).abs()))
                    .unwrap_or(wanted)
            };
            to = Point::new(go(from.x_m, d.0, |q| q.x_m), go(from.y_m, d.1, |q| q.y_m));
        }
        self.pen.cross = Some(to);
        self.settle(cx);
        Outcome::handled(keys::into_sight(cx, to).into_iter().collect())
    }

    /// Where the keyboard begins: at the heater's port, on the selected duct, in the middle of what is seen.
    fn start(&self, cx: &Context) -> Point {
        let selected = cx.plan.ducts.iter().find(|duct| Some(duct.id.as_str()) == cx.selection);
        let middle = cx.look.camera.centre;
        let grid = grid_m(cx.units);
        match self.pen.tool {
            Tool::Supply | Tool::Transfer if selected.is_none() => cx.plan.heater.discharge,
            _ => selected
                .and_then(|duct| duct.path.first().copied())
                .unwrap_or_else(|| Point::new(on_grid(middle.x_m, grid), on_grid(middle.y_m, grid))),
        }
    }
}

fn on_a_wall(cross: Point, cx: &Context) -> Point {
    let grid = grid_m(cx.units);
    match nearest_wall(cx.plan, cross) {
        Some((foot, way)) if way.0.abs() < 1e-9 => Point::new(foot.x_m, on_grid(foot.y_m, grid)),
        Some((foot, way)) if way.1.abs() < 1e-9 => Point::new(on_grid(foot.x_m, grid), foot.y_m),
        Some((foot, _)) => foot,
        None => Point::new(on_grid(cross.x_m, grid), on_grid(cross.y_m, grid)),
    }
}
