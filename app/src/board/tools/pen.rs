//! Drawing: point by point, held to the grid and to what is there, or by typed lengths.

mod aim;
mod typed;

pub(super) use aim::way_words;

use super::tool::{Shape, Tool};
use super::{Context, Outcome, Tools};
use crate::board::camera::Bounds;
use crate::board::parts::{Preview, rectangle_between};
use crate::command::Command;
use crate::edit::{Drawn, Edit, default_section};
use crate::session::Notice;
use engine::plan::geometry::distance_m;
use engine::plan::{DuctRole, Point};
use engine::units::{Kind, show};

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
    /// Whether lines run at any angle; none where the tool draws no lines.
    pub any_angle: Option<bool>,
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
        let any_angle = cx.tool.turns().then_some(self.any_angle);
        if !pen.tool.draws() || pen.tool != cx.tool {
            return Status { any_angle, ..Status::default() };
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
                spoken.push_str(&format!("; length {}", way_words(*last, at, cx.units)));
            }
        }
        let least = if pen.tool.shape() == Shape::Ring { 3 } else { 2 };
        let can_finish = matches!(pen.tool.shape(), Shape::Line | Shape::Ring) && pen.points.len() >= least;
        Status { points: pen.points.len(), can_finish, typed: pen.typed.clone(), any_angle, spoken }
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

    pub(super) fn is_typing(&self) -> bool {
        !self.pen.typed.is_empty()
    }

    pub(super) fn is_drawing(&self) -> bool {
        !self.pen.points.is_empty() || !self.pen.typed.is_empty()
    }

    pub(super) fn clear_pen(&mut self) {
        let pen = std::mem::take(&mut self.pen);
        self.pen = Pen { tool: pen.tool, cross: pen.cross, at: pen.at, by_key: pen.by_key, ..Pen::default() };
        self.note = None;
    }

    /// How many points are placed.
    pub(super) fn points(&self) -> usize {
        self.pen.points.len()
    }

    /// A drag that is given up leaves the points there were before it.
    pub(super) fn drop_drag(&mut self, before: usize) {
        self.pen.points.truncate(before);
        self.pen.is_box = false;
        if before == 0 {
            self.pen.first_on = None;
        }
    }

    /// Two opposite corners from here on, by a drag; a single place is where the drag ends.
    pub(super) fn begin_drag(&mut self, cx: &Context) -> Vec<Command> {
        if self.pen.tool.shape() == Shape::Point {
            return Vec::new();
        }
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
        let mut commands = vec![Command::from(Edit::Draw(drawn))];
        if once {
            commands.push(Command::UseTool(Tool::Select));
        }
        commands
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

/// In whole nanometres: 0.1 and 0.2 make 0.3.
fn tidy(v: f64) -> f64 {
    (v * 1e9).round() / 1e9
}
