//! The board from the keyboard: step through items, nudge what is selected, move the picture.

use super::grip::along_its_duct;
use super::snap::{grid_m, on_grid, shifted};
use super::{Context, Key, Outcome, State, Tool, Tools};
use crate::board::camera::{Look, ScreenPoint};
use crate::board::outline::{direction, moved};
use crate::board::parts::handles;
use crate::command::Command;
use crate::edit::{Edit, GroupEdit, can_move};
use engine::plan::geometry::{along, distance_m};
use engine::plan::{Duct, Point};

impl Tools {
    pub(super) fn key_down(&mut self, key: Key, shift: bool, cx: &Context) -> Outcome {
        // To take back what is still under way is to give it up.
        if matches!(key, Key::Escape | Key::Undo | Key::Redo)
            && (self.is_moving() || matches!(self.state, State::Drawing { .. } | State::Boxing { .. }))
        {
            return Outcome::handled(self.call_off());
        }
        // While something is being dragged only those count.
        if cx.tool.draws()
            && !self.is_moving()
            && let Some(outcome) = self.drawing_key(key, shift, cx)
        {
            return outcome;
        }
        match key {
            Key::Char('+' | '=') => zoom(cx, 1.25),
            Key::Char('-' | '_') => zoom(cx, 0.8),
            Key::Char('0') => Outcome::handled(vec![Command::SetCamera(None)]),
            Key::Char(c @ (',' | '.')) => self.next_point(c == '.', cx),
            Key::Char(c) => match Tool::of_key(c) {
                Some(tool) => Outcome::handled(vec![Command::UseTool(tool)]),
                None => Outcome::ignored(),
            },
            // The page deletes what is selected, and undoes.
            Key::Backspace | Key::Undo | Key::Redo => Outcome::ignored(),
            Key::Space => {
                self.space = true;
                Outcome::handled(Vec::new())
            }
            Key::Escape => self.escape(cx),
            Key::Next | Key::Previous if shift => self.step_too(key == Key::Next, cx),
            Key::Next | Key::Previous => self.step(key == Key::Next, cx, true),
            // Tab steps on from what is selected; with nothing selected it leaves the board.
            Key::Tab | Key::BackTab => match cx.selection {
                Some(_) => self.step(key == Key::Tab, cx, false),
                None => Outcome::ignored(),
            },
            Key::Enter => self.enter(cx),
            Key::Home | Key::End => self.choose_point(key == Key::End, cx),
            Key::Left => self.arrow(key, (-1.0, 0.0), shift, cx),
            Key::Right => self.arrow(key, (1.0, 0.0), shift, cx),
            Key::Up => self.arrow(key, (0.0, 1.0), shift, cx),
            Key::Down => self.arrow(key, (0.0, -1.0), shift, cx),
        }
    }

    /// Keys of a drawing; none for those that mean what they always mean.
    fn drawing_key(&mut self, key: Key, shift: bool, cx: &Context) -> Option<Outcome> {
        let steps = if shift { 10.0 } else { 1.0 };
        Some(match key {
            Key::Left => self.move_cross((-1.0, 0.0), steps, cx),
            Key::Right => self.move_cross((1.0, 0.0), steps, cx),
            Key::Up => self.move_cross((0.0, 1.0), steps, cx),
            Key::Down => self.move_cross((0.0, -1.0), steps, cx),
            Key::Enter => self.confirm(cx),
            Key::Backspace => self.take_back(cx),
            Key::Undo if self.is_drawing() => self.take_back(cx),
            Key::Escape => self.let_go(),
            // To the buttons of the drawing.
            Key::Tab | Key::BackTab => Outcome::ignored(),
            Key::Space => self.type_char(' ')?,
            Key::Char('f') if !self.is_typing() && cx.tool.turns() => self.turn_square(cx),
            Key::Char(c) => self.type_char(c)?,
            _ => return None,
        })
    }

    /// The next item, or the one before, selected besides.
    fn step_too(&mut self, forward: bool, cx: &Context) -> Outcome {
        let from = cx.also.last().map(String::as_str).or(cx.selection);
        let Some(item) = cx.scene.step(from, forward) else { return Outcome::handled(Vec::new()) };
        let mut ids: Vec<String> = cx.selection.map(str::to_owned).into_iter().collect();
        ids.extend(cx.also.iter().cloned());
        ids.push(item.id.to_string());
        let mut commands = self.end_nudge();
        commands.push(Command::SelectAll(ids));
        commands.extend(into_sight(cx, item.at));
        Outcome::handled(commands)
    }

    /// The next point of the selected item, or the one before, is the one that arrows move.
    fn next_point(&mut self, forward: bool, cx: &Context) -> Outcome {
        let points = handles(cx.plan, cx.selection.filter(|_| cx.also.is_empty()));
        let (Some(id), count @ 1..) = (cx.selection, points.len()) else { return Outcome::ignored() };
        let point = match (self.active_point(cx), forward) {
            (None, true) => 0,
            (None, false) => count - 1,
            (Some(point), true) => (point + 1) % count,
            (Some(point), false) => (point + count - 1) % count,
        };
        self.active = Some((id.to_owned(), point));
        let commands = self.end_nudge().into_iter().chain(into_sight(cx, points[point].at)).collect();
        Outcome::handled(commands)
    }

    pub(super) fn key_up(&mut self, key: Key) -> Outcome {
        if key == Key::Space {
            self.space = false;
        }
        match self.state {
            State::Nudging { key: held } if held == key => Outcome::handled(self.end_nudge()),
            _ => Outcome::ignored(),
        }
    }

    pub(super) fn blur(&mut self) -> Outcome {
        self.space = false;
        Outcome { commands: self.end_nudge(), handled: false }
    }

    /// A held key's step ends when anything else begins.
    pub(super) fn end_nudge(&mut self) -> Vec<Command> {
        if matches!(self.state, State::Nudging { .. }) {
            self.state = State::Idle;
            self.note = None;
            vec![Command::Commit]
        } else {
            Vec::new()
        }
    }

    fn escape(&mut self, cx: &Context) -> Outcome {
        let Some(selected) = cx.selection else { return Outcome::ignored() };
        let row =
            selected.rsplit_once('/').and_then(|(row, _)| cx.plan.slot_rows.iter().find(|r| r.id == row));
        self.active = None;
        Outcome::handled(vec![Command::Select(row.map(|row| row.duct.clone()))])
    }

    fn step(&mut self, forward: bool, cx: &Context, stay: bool) -> Outcome {
        let mut commands = self.end_nudge();
        match cx.scene.step(cx.selection, forward) {
            Some(item) => {
                self.active = None;
                commands.push(Command::Select(Some(item.id.to_string())));
                commands.extend(into_sight(cx, item.at));
                Outcome::handled(commands)
            }
            None => Outcome { commands, handled: stay },
        }
    }

    fn enter(&mut self, cx: &Context) -> Outcome {
        let Some(selected) = cx.selection else { return self.step(true, cx, true) };
        let row = cx.plan.slot_rows.iter().find(|row| row.duct == selected && row.count > 0);
        let Some(row) = row else { return Outcome::handled(Vec::new()) };
        let id = row.slot_id(0);
        let mut commands = self.end_nudge();
        if let Some(item) = cx.scene.slots.iter().find(|item| *item.id == *id) {
            commands.extend(into_sight(cx, item.at));
        }
        commands.push(Command::Select(Some(id)));
        Outcome::handled(commands)
    }

    fn choose_point(&mut self, last: bool, cx: &Context) -> Outcome {
        let points = handles(cx.plan, cx.selection.filter(|_| cx.also.is_empty()));
        let (Some(id), Some(end)) = (cx.selection, if last { points.last() } else { points.first() }) else {
            return Outcome::ignored();
        };
        self.active = Some((id.to_owned(), end.point));
        let commands = self.end_nudge().into_iter().chain(into_sight(cx, end.at)).collect();
        Outcome::handled(commands)
    }

    fn arrow(&mut self, key: Key, d: (f64, f64), shift: bool, cx: &Context) -> Outcome {
        if matches!(self.state, State::Moving { .. }) {
            return Outcome::handled(Vec::new());
        }
        let steps = if shift { 10.0 } else { 1.0 };
        let slot = cx.selection.is_some_and(|id| cx.scene.slots.iter().any(|item| *item.id == *id));
        if slot && d.0 != 0.0 {
            return self.step(self.slot_forward(d, cx), cx, true);
        }
        let by = grid_m(cx.units) * steps;
        if !cx.also.is_empty() {
            return Outcome::handled(self.nudge_items(key, d, by, cx));
        }
        if let Some(duct) = selected_duct(cx) {
            let point = self.active_point(cx).unwrap_or(0);
            let moves = nudged(duct, point, d, by, grid_m(cx.units));
            let commands = moves
                .into_iter()
                .map(|(point, to)| Command::MoveDuctPoint { duct: duct.id.clone(), point, to })
                .collect();
            return Outcome::handled(self.nudge(key, "Move duct end", commands));
        }
        if let Some(commands) = nudged_return(cx, d, by) {
            return Outcome::handled(self.nudge(key, "Move return", commands));
        }
        if let (Some(id), Some(point)) = (cx.selection, self.active_point(cx))
            && let Some(handle) = handles(cx.plan, Some(id)).get(point)
        {
            let on = |v: f64, d: f64| if d == 0.0 { v } else { on_grid(v + d * by, grid_m(cx.units)) };
            let to = Point::new(on(handle.at.x_m, d.0), on(handle.at.y_m, d.1));
            let edit = Edit::Corner { id: id.to_owned(), point, to };
            return Outcome::handled(self.nudge(key, "Move corner", vec![edit.into()]));
        }
        if cx.selection.is_some_and(|id| can_move(cx.plan, id)) {
            return Outcome::handled(self.nudge_items(key, d, by, cx));
        }
        let px = 40.0 * if shift { 5.0 } else { 1.0 };
        let look = cx.look.panned(-d.0 * px, d.1 * px);
        Outcome::handled(vec![Command::SetCamera(Some(look.camera))])
    }

    /// All that is selected goes a step.
    fn nudge_items(&mut self, key: Key, d: (f64, f64), by: f64, cx: &Context) -> Vec<Command> {
        let ids: Vec<String> =
            cx.selection.map(str::to_owned).into_iter().chain(cx.also.iter().cloned()).collect();
        let label = if ids.len() > 1 { "Move together" } else { "Move item" };
        let edit = GroupEdit::Move { dx_m: d.0 * by, dy_m: d.1 * by };
        self.nudge(key, label, vec![Edit::Group { ids, edit }.into()])
    }

    /// Whether the arrow along `d` leads to slots farther along the run.
    fn slot_forward(&self, d: (f64, f64), cx: &Context) -> bool {
        let duct = cx
            .selection
            .and_then(|id| id.rsplit_once('/'))
            .and_then(|(row, _)| cx.plan.slot_rows.iter().find(|r| r.id == row))
            .and_then(|row| cx.plan.ducts.iter().find(|duct| duct.id == row.duct));
        let run = duct.map_or((1.0, 0.0), |duct| along(&duct.path, 0.0).1);
        if run.0.abs() > 1e-6 { run.0 * d.0 > 0.0 } else { d.0 > 0.0 }
    }

    /// `commands` as part of the step of the key held down.
    fn nudge(&mut self, key: Key, label: &'static str, commands: Vec<Command>) -> Vec<Command> {
        if commands.is_empty() {
            return commands;
        }
        let mut all = Vec::new();
        if self.state != (State::Nudging { key }) {
            all.extend(self.end_nudge());
            all.push(Command::Begin(label));
            self.state = State::Nudging { key };
        }
        all.extend(commands);
        all
    }
}

fn selected_duct<'a>(cx: &Context<'a>) -> Option<&'a Duct> {
    cx.plan.ducts.iter().find(|duct| Some(duct.id.as_str()) == cx.selection)
}

/// Where an arrow along `d` takes point `point`: along its straight it alone, sideways the whole straight.
fn nudged(duct: &Duct, point: usize, d: (f64, f64), by: f64, grid: f64) -> Vec<(usize, Point)> {
    let neighbour = if point == 0 { 1 } else { point - 1 };
    let (Some(&here), Some(&next)) = (duct.path.get(point), duct.path.get(neighbour)) else {
        return Vec::new();
    };
    let Some(axis) = direction(next, here) else { return Vec::new() };
    let along_axis = axis.0 * d.0 + axis.1 * d.1;
    if along_axis.abs() > 0.5 {
        let length = distance_m(next, here) + along_axis.signum() * by;
        let to = moved(next, axis, length.max(grid));
        let square = axis.0.abs() < 1e-9 || axis.1.abs() < 1e-9;
        // Onto the grid along the axis, exactly on it across.
        let to = match (square, axis.0.abs() > 0.5) {
            (false, _) => to,
            (true, true) => Point::new(on_grid(to.x_m, grid), here.y_m),
            (true, false) => Point::new(here.x_m, on_grid(to.y_m, grid)),
        };
        let stays = to == here || distance_m(to, next) < grid * 0.5;
        return if stays { Vec::new() } else { vec![(point, to)] };
    }
    let (a, b) = shifted((here, next), (d.0 * by, d.1 * by), grid);
    if a == here { Vec::new() } else { vec![(point, a), (neighbour, b)] }
}

fn nudged_return(cx: &Context, d: (f64, f64), by: f64) -> Option<Vec<Command>> {
    let opening = cx.plan.returns.iter().find(|r| Some(r.id.as_str()) == cx.selection)?;
    let duct = cx.plan.ducts.iter().find(|duct| Some(&duct.id) == opening.duct.as_ref())?;
    let (at, run) = along(&duct.path, opening.station_m);
    let ahead = run.0 * d.0 + run.1 * d.1;
    if ahead.abs() < 0.5 {
        return Some(Vec::new());
    }
    let (station_m, _) = along_its_duct(cx, &opening.id, moved(at, run, ahead.signum() * by))?;
    if station_m == opening.station_m {
        return Some(Vec::new());
    }
    Some(vec![Command::MoveReturn { id: opening.id.clone(), station_m }])
}

fn zoom(cx: &Context, factor: f64) -> Outcome {
    let look = cx.look.zoomed(factor, cx.look.middle());
    Outcome::handled(vec![Command::SetCamera(Some(look.camera))])
}

/// Moves the picture when `at` is out of sight or at its very edge.
pub(super) fn into_sight(cx: &Context, at: Point) -> Option<Command> {
    let look: &Look = &cx.look;
    let ScreenPoint { x, y } = look.screen_from_plan(at);
    let margin = 24.0;
    let seen = (margin..=look.width - margin).contains(&x) && (margin..=look.height - margin).contains(&y);
    let middle = look.middle();
    (!seen).then(|| Command::SetCamera(Some(look.panned(middle.x - x, middle.y - y).camera)))
}
