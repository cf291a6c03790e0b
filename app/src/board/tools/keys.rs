//! The board from the keyboard: step through items, nudge what is selected, move the picture.

use super::snap::{grid_m, on_grid, shifted};
use super::{Context, Key, Outcome, State, Tools, along_its_duct};
use crate::board::camera::{Look, ScreenPoint};
use crate::board::outline::{direction, moved};
use crate::command::Command;
use engine::plan::geometry::{along, distance_m};
use engine::plan::{Duct, Point};

impl Tools {
    pub(super) fn key_down(&mut self, key: Key, shift: bool, cx: &Context) -> Outcome {
        match key {
            Key::Space => {
                self.space = true;
                Outcome::handled(Vec::new())
            }
            Key::Escape => self.escape(cx),
            Key::Plus => zoom(cx, 1.25),
            Key::Minus => zoom(cx, 0.8),
            Key::Zero => Outcome::handled(vec![Command::SetCamera(None)]),
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
        if self.is_moving() {
            self.note = None;
            self.state = if self.down.is_empty() { State::Idle } else { State::Spent };
            return Outcome::handled(vec![Command::Abort]);
        }
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
        let Some(duct) = selected_duct(cx) else { return Outcome::ignored() };
        let point = if last { duct.path.len().saturating_sub(1) } else { 0 };
        self.active = Some((duct.id.clone(), point));
        let commands = self.end_nudge().into_iter().chain(into_sight(cx, duct.path[point])).collect();
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
        let px = 40.0 * if shift { 5.0 } else { 1.0 };
        let look = cx.look.panned(-d.0 * px, d.1 * px);
        Outcome::handled(vec![Command::SetCamera(Some(look.camera))])
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
fn into_sight(cx: &Context, at: Point) -> Option<Command> {
    let look: &Look = &cx.look;
    let ScreenPoint { x, y } = look.screen_from_plan(at);
    let margin = 24.0;
    let seen = (margin..=look.width - margin).contains(&x) && (margin..=look.height - margin).contains(&y);
    let middle = look.middle();
    (!seen).then(|| Command::SetCamera(Some(look.panned(middle.x - x, middle.y - y).camera)))
}
