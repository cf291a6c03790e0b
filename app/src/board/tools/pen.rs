//! Drawing: point by point, held to the grid and to what is there, or by typed lengths.

use super::snap::{grid_m, on_grid};
use super::tool::{Shape, Tool};
use super::{Context, Outcome, Tools};
use crate::board::camera::Bounds;
use crate::board::parts::{Preview, rectangle_between};
use crate::command::Command;
use crate::edit::{Drawn, Edit, default_section, nearest_wall};
use crate::session::Notice;
use engine::plan::geometry::{along, direction, distance_m, length_m, nearest, section_at};
use engine::plan::{Duct, DuctRole, Point};
use engine::units::{Kind, parse, show};

/// How near to a line through something the next point is drawn onto it, px.
const NEAR_PX: f64 = 6.0;

/// What is being drawn.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Pen {
    tool: Tool,
    /// The points placed.
    points: Vec<Point>,
    /// Where the hand or the keys point.
    cross: Option<Point>,
    /// Where the next point would be placed.
    at: Option<Point>,
    /// On which duct that is, and where along it, m.
    on: Option<(String, f64)>,
    /// The same of the first point of a row.
    first_on: Option<(String, f64)>,
    /// A length or a place being typed.
    typed: String,
    /// Keys moved the cross last.
    by_key: bool,
    /// Lines that hold the next point.
    guides: Vec<(Point, Point)>,
    /// Two opposite corners are dragged.
    is_box: bool,
    /// What was placed last by a tool of one place: a double-click places once.
    placed: Option<Point>,
}

/// What the page shows and says of a drawing under way.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Status {
    /// Points placed.
    pub points: usize,
    /// Whether what is drawn can be ended here.
    pub can_finish: bool,
    /// The typed length or place so far.
    pub typed: String,
    /// Place and length, to be said.
    pub spoken: String,
}

fn role(tool: Tool) -> Option<DuctRole> {
    match tool {
        Tool::Supply => Some(DuctRole::Supply),
        Tool::Transfer => Some(DuctRole::Transfer),
        Tool::Return => Some(DuctRole::Return),
        _ => None,
    }
}

/// Whether the tool works along ducts.
fn on_ducts(tool: Tool) -> bool {
    matches!(tool, Tool::Step | Tool::Slots | Tool::Intake)
}

fn fits(tool: Tool, duct: &Duct) -> bool {
    match tool {
        Tool::Slots => duct.role != DuctRole::Return,
        Tool::Intake => duct.role == DuctRole::Return,
        _ => true,
    }
}

fn tell(text: impl Into<String>) -> Vec<Command> {
    vec![Command::Tell(Notice::alert(text))]
}

impl Tools {
    /// A drawing with another tool than the one in hand is off.
    pub(super) fn take_tool(&mut self, cx: &Context) {
        if self.pen.tool != cx.tool {
            self.pen = Pen { tool: cx.tool, cross: self.pen.cross, ..Pen::default() };
            self.note = None;
        }
    }

    /// What is drawn so far, with what a click would add.
    pub fn preview(&self, cx: &Context) -> Option<Preview> {
        if let super::State::Boxing { from, to, .. } = &self.state {
            let path = rectangle_between(*from, *to);
            return Some(Preview { path, closed: true, ..Preview::default() });
        }
        let pen = &self.pen;
        if !pen.tool.draws() || pen.tool != cx.tool {
            return None;
        }
        let mut path = pen.points.clone();
        path.extend(pen.at);
        let mut closed = pen.tool.shape() == Shape::Ring;
        if let ([from, to], true) = (path.as_slice(), pen.is_box || pen.tool == Tool::Box) {
            path = rectangle_between(*from, *to);
            closed = true;
        }
        let width_m = role(pen.tool).map_or(0.0, |role| {
            let run = path.first().is_some_and(|p| distance_m(*p, cx.plan.heater.discharge) > 0.05);
            default_section(role, run).plan_width_m()
        });
        Some(Preview { path, closed, width_m, cross: pen.at, guides: pen.guides.clone() })
    }

    /// What the page shows and says of it.
    pub fn status(&self, cx: &Context) -> Status {
        let pen = &self.pen;
        if !pen.tool.draws() || pen.tool != cx.tool {
            return Status::default();
        }
        let length = |m: f64| show(m, Kind::Length, cx.units);
        let mut spoken = match pen.points.last() {
            Some(last) => format!("Point {} at {}, {}", pen.points.len(), length(last.x_m), length(last.y_m)),
            None => String::new(),
        };
        // A hand that moves need not hear where it is.
        if let Some(at) = pen.at.filter(|_| pen.by_key) {
            spoken = match &pen.on {
                Some((duct, station_m)) => format!("{} along {duct}", length(*station_m)),
                None => format!("x {}, y {}", length(at.x_m), length(at.y_m)),
            };
            if let Some(last) = pen.points.last() {
                spoken.push_str(&format!("; length {}", length(distance_m(*last, at))));
            }
        }
        let least = if pen.tool.shape() == Shape::Ring { 3 } else { 2 };
        let can_finish = matches!(pen.tool.shape(), Shape::Line | Shape::Ring) && pen.points.len() >= least;
        Status { points: pen.points.len(), can_finish, typed: pen.typed.clone(), spoken }
    }

    /// The hand points at `wanted`.
    pub(super) fn aim(&mut self, wanted: Point, cx: &Context) {
        self.pen.cross = Some(wanted);
        self.pen.by_key = false;
        self.settle(cx);
    }

    /// Where the next point goes when the cross is where it is.
    fn settle(&mut self, cx: &Context) {
        let Some(cross) = self.pen.cross else { return };
        self.pen.guides.clear();
        self.pen.on = None;
        let at = if on_ducts(self.pen.tool) {
            self.on_a_duct(cross, cx)
        } else if self.pen.tool == Tool::Opening {
            on_a_wall(cross, cx)
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
            (None, Some(last)) => Some((at, length(distance_m(*last, at)))),
            (None, None) => None,
        };
    }

    fn is_square(&self) -> bool {
        self.pen.tool.is_square() && !self.pen.is_box
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
        let near = NEAR_PX / cx.look.camera.px_per_m;
        if let Some(role) = role(self.pen.tool)
            && !self.pen.by_key
        {
            let is_return = role == DuctRole::Return;
            let port = if is_return { cx.plan.heater.intake } else { cx.plan.heater.discharge };
            if distance_m(port, cross) < near * 2.0 {
                return port;
            }
            let ducts = cx.plan.ducts.iter().filter(|duct| (duct.role == DuctRole::Return) == is_return);
            let joined = ducts
                .map(|duct| (duct, nearest(&duct.path, cross)))
                .filter(|(duct, (station, away))| {
                    *away <= (section_at(duct, *station).plan_width_m() / 2.0).max(near)
                })
                .min_by(|a, b| a.1.1.total_cmp(&b.1.1));
            if let Some((duct, (station, _))) = joined {
                let (foot, way) = along(&duct.path, station);
                let grid = grid_m(cx.units);
                return match (way.0.abs() < 1e-9, way.1.abs() < 1e-9) {
                    (true, _) => Point::new(foot.x_m, on_grid(foot.y_m, grid)),
                    (_, true) => Point::new(on_grid(foot.x_m, grid), foot.y_m),
                    _ => foot,
                };
            }
        }
        Point::new(self.held(cross, true, cx), self.held(cross, false, cx))
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
    pub(super) fn move_cross(&mut self, d: (f64, f64), steps: f64, cx: &Context) -> Outcome {
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
        Outcome::handled(super::keys::into_sight(cx, to).into_iter().collect())
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

    /// A character of a length or a place; none where it is no part of one.
    pub(super) fn type_char(&mut self, c: char) -> Option<Outcome> {
        let begins = c.is_ascii_digit() || matches!(c, '.' | '-');
        let goes_on = !self.pen.typed.is_empty()
            && (c.is_ascii_alphabetic() || matches!(c, ' ' | ',' | ';' | '"' | '\'' | '/'));
        (begins || goes_on).then(|| {
            if self.pen.typed.len() < 40 {
                self.pen.typed.push(c);
            }
            Outcome::handled(Vec::new())
        })
    }

    /// The whole of what is typed, as a field gives it.
    pub(super) fn set_typed(&mut self, text: &str) -> Outcome {
        self.pen.typed = text.chars().take(40).collect();
        Outcome::handled(Vec::new())
    }

    /// Enter: what is typed is placed; keys place where the cross is; the hand is done.
    pub(super) fn confirm(&mut self, cx: &Context) -> Outcome {
        if !self.pen.typed.is_empty() {
            return Outcome::handled(self.place_typed(None, cx));
        }
        let Some(at) = self.pen.at else { return self.move_cross((0.0, 0.0), 1.0, cx) };
        if self.pen.points.last() == Some(&at) || (!self.pen.by_key && !self.pen.points.is_empty()) {
            return Outcome::handled(self.finish(cx));
        }
        Outcome::handled(self.put(cx))
    }

    /// Backspace: the last character typed goes, else the last point.
    pub(super) fn take_back(&mut self, cx: &Context) -> Outcome {
        if self.pen.typed.pop().is_none() && self.pen.points.pop().is_some() {
            self.pen.first_on = None;
            self.settle(cx);
            if self.pen.points.is_empty() {
                self.note = None;
            }
        }
        Outcome::handled(Vec::new())
    }

    /// Escape: what is typed goes, then the drawing, then the tool.
    pub(super) fn let_go(&mut self) -> Outcome {
        let pen = &mut self.pen;
        self.note = None;
        if !pen.typed.is_empty() {
            pen.typed.clear();
        } else if !pen.points.is_empty() {
            self.clear_pen();
        } else {
            return Outcome::handled(vec![Command::UseTool(Tool::Select)]);
        }
        Outcome::handled(Vec::new())
    }

    pub(super) fn is_drawing(&self) -> bool {
        !self.pen.points.is_empty() || !self.pen.typed.is_empty()
    }

    pub(super) fn clear_pen(&mut self) {
        let pen = std::mem::take(&mut self.pen);
        self.pen = Pen { tool: pen.tool, cross: pen.cross, at: pen.at, by_key: pen.by_key, ..Pen::default() };
        self.note = None;
    }

    /// Two opposite corners from here on, by a drag.
    pub(super) fn begin_drag(&mut self, cx: &Context) -> Vec<Command> {
        let ring = self.pen.tool.shape() == Shape::Ring;
        self.pen.is_box = ring && self.pen.points.is_empty();
        self.put(cx)
    }

    /// The drag ends where it aims.
    pub(super) fn end_drag(&mut self, cx: &Context) -> Vec<Command> {
        if std::mem::take(&mut self.pen.is_box)
            && let (Some(&from), Some(at)) = (self.pen.points.first(), self.pen.at)
        {
            self.pen.points = rectangle_between(from, at);
            return self.finish(cx);
        }
        if self.pen.points.last() == self.pen.at.as_ref() { Vec::new() } else { self.put(cx) }
    }

    /// Places what is typed: a length along a direction, a station, or a place "x, y".
    fn place_typed(&mut self, way: Option<(f64, f64)>, cx: &Context) -> Vec<Command> {
        let text = self.pen.typed.trim().to_owned();
        let number =
            |text: &str| parse(text.trim(), Kind::Length, cx.units).map_err(|error| error.to_string());
        let placed = if let Some((x, y)) = text.split_once([',', ';']) {
            number(x).and_then(|x| number(y).map(|y| (Point::new(x, y), None)))
        } else if on_ducts(self.pen.tool) {
            number(&text).and_then(|station| self.at_station(station, cx))
        } else {
            number(&text).and_then(|length| {
                let Some(&last) = self.pen.points.last() else {
                    return Err("the first point is typed as its place: x, y".to_owned());
                };
                let aimed = self.pen.at.filter(|at| *at != last).map(|at| direction(last, at));
                let Some((dx, dy)) = way.or(aimed) else {
                    return Err("an arrow key says which way this length goes".to_owned());
                };
                Ok((Point::new(tidy(last.x_m + dx * length), tidy(last.y_m + dy * length)), None))
            })
        };
        match placed {
            Ok((at, on)) if at.x_m.abs() < 1e4 && at.y_m.abs() < 1e4 => {
                self.pen.typed.clear();
                (self.pen.cross, self.pen.at, self.pen.on, self.pen.by_key) = (Some(at), Some(at), on, true);
                super::keys::into_sight(cx, at).into_iter().chain(self.put(cx)).collect()
            }
            Ok(_) => tell(format!("{text}: that is outside of any floor; type a shorter length")),
            Err(reason) => tell(format!("{text}: {reason}")),
        }
    }

    /// The place at a typed station of the duct pointed at, or else selected.
    fn at_station(&self, station_m: f64, cx: &Context) -> Result<(Point, Option<(String, f64)>), String> {
        let id = self.pen.first_on.as_ref().or(self.pen.on.as_ref()).map(|(duct, _)| duct.as_str());
        let duct = cx.plan.ducts.iter().find(|duct| Some(duct.id.as_str()) == id.or(cx.selection));
        let Some(duct) = duct.filter(|duct| fits(self.pen.tool, duct)) else {
            return Err("point at a duct first, or select one".to_owned());
        };
        let total = length_m(&duct.path);
        if !(0.0..=total).contains(&station_m) {
            return Err(format!("{} is {} long", duct.id, show(total, Kind::Length, cx.units)));
        }
        Ok((along(&duct.path, station_m).0, Some((duct.id.clone(), station_m))))
    }

    /// Places the next point.
    pub(super) fn put(&mut self, cx: &Context) -> Vec<Command> {
        let Some(at) = self.pen.at else { return Vec::new() };
        if matches!(self.pen.tool, Tool::Step | Tool::Slots) && self.pen.on.is_none() {
            return tell("There is no duct here for that; point at one, or draw it first.");
        }
        let shape = self.pen.tool.shape();
        if shape == Shape::Point && self.pen.placed == Some(at) {
            return Vec::new();
        }
        let again = self.pen.points.last() == Some(&at);
        let closes = shape == Shape::Ring && self.pen.points.len() > 2 && self.pen.points[0] == at;
        if matches!(shape, Shape::Line | Shape::Ring) && (again || closes) {
            return self.finish(cx);
        }
        if self.pen.points.is_empty() {
            self.pen.first_on = self.pen.on.clone();
        }
        self.pen.points.push(at);
        let ends = match shape {
            Shape::Point => true,
            Shape::Pair => self.pen.points.len() == 2,
            // A return duct ends where the heater draws.
            Shape::Line => {
                self.pen.tool == Tool::Return && self.pen.points.len() > 1 && at == cx.plan.heater.intake
            }
            _ => false,
        };
        if ends {
            return self.finish(cx);
        }
        self.pen.cross = Some(at);
        self.settle_after_put(at);
        Vec::new()
    }

    fn settle_after_put(&mut self, at: Point) {
        self.pen.at = Some(at);
        self.pen.guides.clear();
        self.note = None;
    }

    /// Ends the drawing: what there is becomes an item.
    pub(super) fn finish(&mut self, cx: &Context) -> Vec<Command> {
        let points = self.pen.points.clone();
        let (first, last) = (points.first().copied(), points.last().copied());
        let (Some(first), Some(last)) = (first, last) else { return Vec::new() };
        let shape = self.pen.tool.shape();
        let least = match shape {
            Shape::Ring => 3,
            Shape::Point | Shape::None => 1,
            Shape::Pair | Shape::Line => 2,
        };
        if points.len() < least {
            return tell(format!("{} takes {least} points; Escape gives it up.", self.pen.tool.about().0));
        }
        let station = |on: &Option<(String, f64)>| on.clone().unwrap_or_default();
        let drawn = match self.pen.tool {
            Tool::Select | Tool::Pan => return Vec::new(),
            Tool::Box => {
                let found = inside(cx, first, last);
                self.clear_pen();
                return vec![Command::SelectAll(found), Command::UseTool(Tool::Select)];
            }
            Tool::Outline => Drawn::Outline(points),
            Tool::Wall => Drawn::Wall(points),
            Tool::Zone => Drawn::Zone(points),
            Tool::Conveyor => Drawn::Conveyor(points),
            Tool::Column => Drawn::Column(last),
            Tool::Opening => Drawn::Opening(last),
            Tool::Exhaust => Drawn::Exhaust(last),
            Tool::Heater => Drawn::Heater { discharge: first, intake: last },
            Tool::Supply => Drawn::Duct { role: DuctRole::Supply, path: points },
            Tool::Transfer => Drawn::Duct { role: DuctRole::Transfer, path: points },
            Tool::Return => Drawn::Duct { role: DuctRole::Return, path: points },
            Tool::Step => {
                let (duct, station_m) = station(&self.pen.on);
                Drawn::Step { duct, station_m }
            }
            Tool::Intake => {
                let on = self.pen.on.clone();
                let station_m = on.as_ref().map_or(0.0, |(_, station)| *station);
                Drawn::Return { duct: on.map(|(duct, _)| duct), station_m, at: last }
            }
            Tool::Slots => {
                let ((duct, from_m), (_, to_m)) = (station(&self.pen.first_on), station(&self.pen.on));
                Drawn::Slots { duct, from_m, to_m, pitch_m: cx.pitch_m }
            }
        };
        let once = self.pen.tool.is_once();
        self.clear_pen();
        self.pen.placed = (shape == Shape::Point).then_some(last);
        let mut commands = vec![Command::Edit(Edit::Draw(drawn))];
        if once {
            commands.push(Command::UseTool(Tool::Select));
        }
        commands
    }
}

/// In whole nanometres: 0.1 and 0.2 make 0.3.
fn tidy(v: f64) -> f64 {
    (v * 1e9).round() / 1e9
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

/// The items that lie wholly between two corners.
pub(super) fn inside(cx: &Context, a: Point, b: Point) -> Vec<String> {
    let Some(bounds) = Bounds::around([a, b]) else { return Vec::new() };
    let within = |p: &Point| {
        (bounds.min.x_m..=bounds.max.x_m).contains(&p.x_m)
            && (bounds.min.y_m..=bounds.max.y_m).contains(&p.y_m)
    };
    // Items are few where shapes are many: names once out need not be looked at again.
    let out: Vec<&str> = cx
        .scene
        .shapes
        .iter()
        .filter(|shape| !shape.form.points().iter().all(within))
        .filter_map(|shape| shape.item.as_deref())
        .collect();
    let items = cx.scene.items.iter().map(|item| &*item.id);
    items.filter(|id| !out.contains(id) && crate::edit::can_move(cx.plan, id)).map(str::to_owned).collect()
}
