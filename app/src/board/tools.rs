//! The hand on the board: pointer, wheel and key gestures become commands.
//!
//! A state machine without a browser: it is told what happened and what is in sight, and answers with
//! commands. One drag, or one key held down, is one step between `Begin` and `Commit`.

mod gesture;
mod keys;
pub mod snap;

pub use gesture::{Context, Cursor, Device, Gesture, Key, Outcome};

use super::camera::ScreenPoint;
use super::parts::{Handle, handle_under, handles};
use crate::command::Command;
use engine::plan::Point;
use engine::plan::geometry::{distance_m, length_m, nearest};
use engine::units::{Kind, show};
use snap::{Snap, shifted};

/// What a drag holds.
#[derive(Clone, Debug, PartialEq)]
enum Grip {
    /// A point of a duct, and how far off it the pointer took hold.
    End { duct: String, snap: Snap, off: (f64, f64) },
    /// A straight of a duct, by its first point, moved sideways from where it was.
    Straight { duct: String, first: usize, from: (Point, Point), taken: Point },
    /// A return opening along its duct.
    Return { id: String },
}

#[derive(Clone, Debug, Default, PartialEq)]
enum State {
    #[default]
    Idle,
    /// Down, not yet a drag.
    Pressed {
        pointer: i32,
        at: ScreenPoint,
        device: Device,
        grip: Option<Grip>,
        item: Option<String>,
        handle: Option<usize>,
    },
    /// Moves the picture.
    Panning { pointer: i32, last: ScreenPoint },
    /// Two fingers.
    Pinching { one: (i32, ScreenPoint), other: (i32, ScreenPoint) },
    /// Moves an item, between `Begin` and `Commit`.
    Moving { pointer: i32, grip: Grip, last: Vec<Point> },
    /// A key moves an item, between `Begin` and `Commit`.
    Nudging { key: Key },
    /// Aborted or taken over: waits until all pointers are up.
    Spent,
}

/// The state machine.
#[derive(Clone, Debug, Default)]
pub struct Tools {
    state: State,
    down: Vec<(i32, ScreenPoint, Device)>,
    space: bool,
    hovered: Option<String>,
    active: Option<(String, usize)>,
    note: Option<(Point, String)>,
    cursor: Cursor,
}

impl Tools {
    /// The item under a resting pointer.
    pub fn hovered(&self) -> Option<&str> {
        self.hovered.as_deref()
    }

    /// The note of a running drag: where and what.
    pub fn note(&self) -> Option<&(Point, String)> {
        self.note.as_ref()
    }

    /// The shape of the pointer.
    pub fn cursor(&self) -> Cursor {
        self.cursor
    }

    /// Whether a drag or a held key is between `Begin` and `Commit`.
    pub fn is_moving(&self) -> bool {
        matches!(self.state, State::Moving { .. } | State::Nudging { .. })
    }

    /// Whether a pointer drags an item.
    pub fn is_dragging(&self) -> bool {
        matches!(self.state, State::Moving { .. })
    }

    /// The point of the selected duct that keys move: the last one unless another was chosen.
    pub fn active_point(&self, cx: &Context) -> Option<usize> {
        let duct = cx.plan.ducts.iter().find(|duct| Some(duct.id.as_str()) == cx.selection)?;
        let last = duct.path.len().checked_sub(1)?;
        match &self.active {
            Some((id, point)) if *id == duct.id => Some((*point).min(last)),
            _ => Some(last),
        }
    }

    /// Takes a gesture and says what comes of it.
    pub fn handle(&mut self, gesture: Gesture, cx: &Context) -> Outcome {
        match gesture {
            Gesture::Down { pointer, at, device, button } => self.press(pointer, at, device, button, cx),
            Gesture::Move { pointer, at, device } => self.drag(pointer, at, device, cx),
            Gesture::Up { pointer, at } => self.release(pointer, at, cx),
            Gesture::Cancel { pointer } => self.cancel(pointer),
            Gesture::Leave => {
                self.hovered = None;
                Outcome::default()
            }
            Gesture::Wheel { at, dx, dy, pinch } => Self::wheel(at, dx, dy, pinch, cx),
            Gesture::KeyDown { key, shift } => self.key_down(key, shift, cx),
            Gesture::KeyUp { key } => self.key_up(key),
            Gesture::Blur => self.blur(),
        }
    }

    fn press(&mut self, pointer: i32, at: ScreenPoint, device: Device, button: i16, cx: &Context) -> Outcome {
        // A palm rests beside the pen.
        if device == Device::Touch && self.down.iter().any(|d| d.2 == Device::Pen) {
            return Outcome::handled(Vec::new());
        }
        self.down.retain(|d| d.0 != pointer);
        self.down.push((pointer, at, device));
        let mut commands = self.end_nudge();
        if let [.., one, other] = self.down.as_slice()
            && (one.2, other.2) == (Device::Touch, Device::Touch)
        {
            // A second finger: whatever the first one was about to do is off.
            let (one, other) = ((one.0, one.1), (other.0, other.1));
            if matches!(self.state, State::Moving { .. }) {
                commands.push(Command::Abort);
                self.note = None;
            }
            self.state = State::Pinching { one, other };
            return Outcome::handled(commands);
        }
        if button == 2 || !matches!(self.state, State::Idle) {
            return Outcome { commands, handled: button != 2 };
        }
        if button == 1 || self.space {
            self.state = State::Panning { pointer, last: at };
            self.cursor = Cursor::Grabbing;
            return Outcome::handled(commands);
        }
        let handle = handle_under(&handles(cx.plan, cx.selection), at, device.handle_reach_px(), &cx.look);
        let item = cx.scene.pick(at, device.reach_px(), &cx.look).map(|id| id.to_string());
        let grip = self.grip(handle, item.as_deref(), at, cx);
        self.state = State::Pressed { pointer, at, device, grip, item, handle: handle.map(|h| h.point) };
        Outcome::handled(commands)
    }

    /// What a drag from `at` would move: only what is selected already, so that nothing moves by accident.
    fn grip(
        &self,
        handle: Option<Handle>,
        item: Option<&str>,
        at: ScreenPoint,
        cx: &Context,
    ) -> Option<Grip> {
        let taken = cx.look.plan_from_screen(at);
        let selected = cx.selection?;
        if let Some(duct) = cx.plan.ducts.iter().find(|duct| duct.id == selected) {
            if let Some(handle) = handle {
                let off = (handle.at.x_m - taken.x_m, handle.at.y_m - taken.y_m);
                let snap = Snap::new(cx.plan, duct, handle.point, cx.units);
                return Some(Grip::End { duct: duct.id.clone(), snap, off });
            }
            // Its own sheet, or a slot cut in it.
            let own = item == Some(selected)
                || item.is_some_and(|id| {
                    cx.plan.slot_rows.iter().any(|row| {
                        row.duct == duct.id
                            && id.strip_prefix(row.id.as_str()).is_some_and(|r| r.starts_with('/'))
                    })
                });
            let first = (0..duct.path.len().saturating_sub(1)).min_by(|&a, &b| {
                let away = |i: usize| nearest(&duct.path[i..=i + 1], taken).1;
                away(a).total_cmp(&away(b))
            })?;
            let from = (duct.path[first], duct.path[first + 1]);
            return own.then(|| Grip::Straight { duct: duct.id.clone(), first, from, taken });
        }
        let opening = cx.plan.returns.iter().find(|r| r.id == selected && r.duct.is_some())?;
        (item == Some(selected)).then(|| Grip::Return { id: opening.id.clone() })
    }

    fn drag(&mut self, pointer: i32, at: ScreenPoint, device: Device, cx: &Context) -> Outcome {
        if let Some(down) = self.down.iter_mut().find(|d| d.0 == pointer) {
            down.1 = at;
        }
        match std::mem::take(&mut self.state) {
            State::Pressed { pointer: p, at: start, device, grip, .. }
                if p == pointer && start.distance(at) > device.slop_px() =>
            {
                match grip {
                    Some(grip) => {
                        let mut commands = vec![Command::Begin(label(&grip))];
                        if let Grip::End { duct, snap, .. } = &grip {
                            self.active = Some((duct.clone(), snap.point()));
                        }
                        self.state = State::Moving { pointer, grip, last: Vec::new() };
                        commands.extend(self.drag(pointer, at, device, cx).commands);
                        Outcome::handled(commands)
                    }
                    None => {
                        self.state = State::Panning { pointer, last: start };
                        self.drag(pointer, at, device, cx)
                    }
                }
            }
            State::Panning { pointer: p, last } if p == pointer => {
                self.state = State::Panning { pointer, last: at };
                self.cursor = Cursor::Grabbing;
                let look = cx.look.panned(at.x - last.x, at.y - last.y);
                Outcome::handled(vec![Command::SetCamera(Some(look.camera))])
            }
            State::Pinching { one, other } if one.0 == pointer || other.0 == pointer => {
                let now =
                    |finger: (i32, ScreenPoint)| if finger.0 == pointer { (pointer, at) } else { finger };
                let look = cx.look.pinched((one.1, other.1), (now(one).1, now(other).1));
                self.state = State::Pinching { one: now(one), other: now(other) };
                Outcome::handled(vec![Command::SetCamera(Some(look.camera))])
            }
            State::Moving { pointer: p, grip, last } if p == pointer => {
                let to = cx.look.plan_from_screen(at);
                let (commands, place) = self.moved(&grip, to, &last, cx);
                self.cursor = Cursor::Move;
                self.state = State::Moving { pointer, grip, last: place };
                Outcome::handled(commands)
            }
            same => {
                let resting = same == State::Idle && self.down.is_empty();
                self.state = same;
                if resting {
                    self.hover(at, device, cx);
                }
                Outcome::default()
            }
        }
    }

    fn hover(&mut self, at: ScreenPoint, device: Device, cx: &Context) {
        let handle = handle_under(&handles(cx.plan, cx.selection), at, device.handle_reach_px(), &cx.look);
        let item = cx.scene.pick(at, device.reach_px(), &cx.look).map(|id| id.to_string());
        let grip = self.grip(handle, item.as_deref(), at, cx);
        self.cursor = match (grip, self.space, &item) {
            (_, true, _) | (None, _, None) => Cursor::Grab,
            (Some(_), ..) => Cursor::Move,
            (None, _, Some(_)) => Cursor::Pointer,
        };
        self.hovered = if self.space { None } else { item };
    }

    /// The commands that bring what is held to `to`; none when it is there already.
    fn moved(&mut self, grip: &Grip, to: Point, last: &[Point], cx: &Context) -> (Vec<Command>, Vec<Point>) {
        match grip {
            Grip::End { duct, snap, off } => {
                let wanted = Point::new(to.x_m + off.0, to.y_m + off.1);
                let to = snap.place(wanted, cx.look.camera.px_per_m);
                let point = snap.point();
                let length = snap.length_m(to);
                self.note = Some((to, show(length, Kind::Length, cx.units)));
                if last == [to] {
                    return (Vec::new(), vec![to]);
                }
                (vec![Command::MoveDuctPoint { duct: duct.clone(), point, to }], vec![to])
            }
            Grip::Straight { duct, first, from, taken } => {
                let (a, b) = shifted(*from, (to.x_m - taken.x_m, to.y_m - taken.y_m), snap::grid_m(cx.units));
                self.note = Some((to, show(distance_m(from.0, a), Kind::Length, cx.units)));
                if last == [a, b] {
                    return (Vec::new(), vec![a, b]);
                }
                let commands = [(*first, a), (first + 1, b)].map(|(point, to)| Command::MoveDuctPoint {
                    duct: duct.clone(),
                    point,
                    to,
                });
                (commands.into(), vec![a, b])
            }
            Grip::Return { id } => {
                let Some((station_m, place)) = along_its_duct(cx, id, to) else {
                    return (Vec::new(), last.to_vec());
                };
                self.note = Some((place, show(station_m, Kind::Length, cx.units)));
                if last == [place] {
                    return (Vec::new(), vec![place]);
                }
                (vec![Command::MoveReturn { id: id.clone(), station_m }], vec![place])
            }
        }
    }

    fn release(&mut self, pointer: i32, at: ScreenPoint, cx: &Context) -> Outcome {
        let device = self.down.iter().find(|d| d.0 == pointer).map_or(Device::Mouse, |d| d.2);
        self.down.retain(|d| d.0 != pointer);
        let mut commands = Vec::new();
        match std::mem::take(&mut self.state) {
            State::Pressed { pointer: p, item, handle, .. } if p == pointer => match (handle, cx.selection) {
                // A press on a handle chooses the point that keys move.
                (Some(point), Some(duct)) => self.active = Some((duct.to_owned(), point)),
                _ => {
                    if item.as_deref() != cx.selection {
                        self.active = None;
                        commands.push(Command::Select(item));
                    }
                }
            },
            State::Moving { pointer: p, .. } if p == pointer => {
                commands.push(Command::Commit);
                self.note = None;
            }
            State::Panning { pointer: p, .. } if p == pointer => self.cursor = Cursor::Grab,
            State::Pinching { one, other } if one.0 == pointer || other.0 == pointer => {
                // The finger that stays goes on moving the picture.
                let stays = if one.0 == pointer { other } else { one };
                self.state = State::Panning { pointer: stays.0, last: stays.1 };
            }
            State::Spent if self.down.is_empty() => {}
            same => self.state = same,
        }
        if self.down.is_empty() && self.state == State::Idle && device != Device::Touch {
            self.hover(at, device, cx);
        }
        Outcome::handled(commands)
    }

    fn cancel(&mut self, pointer: i32) -> Outcome {
        self.down.retain(|d| d.0 != pointer);
        let commands = match std::mem::take(&mut self.state) {
            State::Moving { pointer: p, .. } if p == pointer => vec![Command::Abort],
            State::Nudging { key } => {
                self.state = State::Nudging { key };
                Vec::new()
            }
            _ => Vec::new(),
        };
        self.note = if self.is_moving() { self.note.take() } else { None };
        if self.state == State::Idle && !self.down.is_empty() {
            self.state = State::Spent;
        }
        Outcome::handled(commands)
    }

    fn wheel(at: ScreenPoint, dx: f64, dy: f64, pinch: bool, cx: &Context) -> Outcome {
        let look = if !pinch && dx.abs() > dy.abs() {
            cx.look.panned(-dx, 0.0)
        } else {
            let rate = if pinch { 0.01 } else { 0.0016 };
            // One notch of a coarse wheel can be hundreds of pixels.
            cx.look.zoomed((-dy.clamp(-240.0, 240.0) * rate).exp(), at)
        };
        Outcome::handled(vec![Command::SetCamera(Some(look.camera))])
    }
}

/// The name of the undo step.
fn label(grip: &Grip) -> &'static str {
    match grip {
        Grip::End { .. } => "Move duct end",
        Grip::Straight { .. } => "Shift duct",
        Grip::Return { .. } => "Move return",
    }
}

/// The station nearest to `to` on the duct of the return `id`, on the grid and clear of the duct's ends.
fn along_its_duct(cx: &Context, id: &str, to: Point) -> Option<(f64, Point)> {
    let opening = cx.plan.returns.iter().find(|r| r.id == id)?;
    let duct = cx.plan.ducts.iter().find(|duct| Some(&duct.id) == opening.duct.as_ref())?;
    let total = length_m(&duct.path);
    let margin = (opening.width_m / 2.0).min(total / 2.0);
    let station_m =
        snap::on_grid(nearest(&duct.path, to).0, snap::grid_m(cx.units)).clamp(margin, total - margin);
    Some((station_m, engine::plan::geometry::along(&duct.path, station_m).0))
}

#[cfg(test)]
mod tests;
