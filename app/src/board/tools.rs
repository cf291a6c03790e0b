//! The hand on the board: pointer, wheel and key gestures become commands.
//!
//! A state machine without a browser: it is told what happened and what is in sight, and answers with
//! commands. One drag, or one key held down, is one step between `Begin` and `Commit`.

mod gesture;
mod grip;
mod keys;
mod pen;
pub mod snap;
mod tool;

pub use gesture::{Context, Cursor, Device, Gesture, Key, Outcome};
pub use pen::Status;
pub use tool::Tool;

use super::camera::ScreenPoint;
use super::parts::handles;
use crate::command::Command;
use engine::plan::Point;
use grip::Grip;

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
        shift: bool,
    },
    /// A drag with a tool that draws, and how many points there were before it.
    Drawing { pointer: i32, before: usize },
    /// A rectangle to select in.
    Boxing { pointer: i32, from: Point, to: Point },
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

impl State {
    /// Whether this pointer is the one at work.
    fn is_of(&self, other: i32) -> bool {
        match self {
            Self::Idle | Self::Nudging { .. } | Self::Spent => false,
            Self::Pinching { one, other: two } => one.0 == other || two.0 == other,
            Self::Pressed { pointer, .. }
            | Self::Drawing { pointer, .. }
            | Self::Boxing { pointer, .. }
            | Self::Panning { pointer, .. }
            | Self::Moving { pointer, .. } => *pointer == other,
        }
    }
}

/// The state machine.
#[derive(Clone, Debug, Default)]
pub struct Tools {
    state: State,
    pen: pen::Pen,
    down: Vec<(i32, ScreenPoint, Device)>,
    space: bool,
    /// Lines run at any angle, by the button or the key.
    any_angle: bool,
    /// Alt is held, which says the opposite.
    alt: bool,
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

    /// The point of the selected item that keys move: of a duct the last one unless another was chosen,
    /// of anything else the one that was chosen.
    pub fn active_point(&self, cx: &Context) -> Option<usize> {
        let id = cx.selection.filter(|_| cx.also.is_empty())?;
        let last = handles(cx.plan, Some(id)).len().checked_sub(1)?;
        match &self.active {
            Some((other, point)) if other == id => Some((*point).min(last)),
            _ => cx.plan.ducts.iter().any(|duct| duct.id == id).then_some(last),
        }
    }

    /// Takes a gesture and says what comes of it.
    pub fn handle(&mut self, gesture: Gesture, cx: &Context) -> Outcome {
        self.take_tool(cx);
        match gesture {
            Gesture::Down { pointer, at, device, button, shift } => {
                self.press(pointer, at, device, (button, shift), cx)
            }
            Gesture::LongPress { pointer } => self.long_press(pointer),
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
            Gesture::Finish => Outcome::handled(self.finish(cx)),
            Gesture::Blur => self.blur(),
        }
    }

    /// The field beside the drawing: what is typed in it.
    pub fn typed(&mut self, text: &str, cx: &Context) {
        self.take_tool(cx);
        self.set_typed(text);
    }

    /// A finger that rests on something adds it to what is selected, or takes it out.
    fn long_press(&mut self, pointer: i32) -> Outcome {
        match &self.state {
            State::Pressed { pointer: p, item: Some(item), .. } if *p == pointer => {
                let commands = vec![Command::Toggle(item.clone())];
                self.state = State::Spent;
                Outcome::handled(commands)
            }
            _ => Outcome::ignored(),
        }
    }

    fn press(
        &mut self,
        pointer: i32,
        at: ScreenPoint,
        device: Device,
        (button, shift): (i16, bool),
        cx: &Context,
    ) -> Outcome {
        // A palm rests beside the pen.
        if device == Device::Touch && self.down.iter().any(|d| d.2 == Device::Pen) {
            return Outcome::handled(Vec::new());
        }
        let mut commands = self.end_nudge();
        // It may have come down before the pen.
        if device == Device::Pen && self.down.iter().any(|d| d.2 == Device::Touch) {
            self.down.retain(|d| d.2 != Device::Touch);
            commands.extend(self.call_off());
        }
        self.down.retain(|d| d.0 != pointer);
        self.down.push((pointer, at, device));
        if let [.., one, other] = self.down.as_slice()
            && (one.2, other.2) == (Device::Touch, Device::Touch)
        {
            // A second finger: whatever the first one was about to do is off.
            let (one, other) = ((one.0, one.1), (other.0, other.1));
            commands.extend(self.call_off());
            self.state = State::Pinching { one, other };
            return Outcome::handled(commands);
        }
        if button == 2 || !matches!(self.state, State::Idle) {
            return Outcome { commands, handled: button != 2 };
        }
        if button == 1 || self.space || cx.tool == Tool::Pan {
            self.state = State::Panning { pointer, last: at };
            self.cursor = Cursor::Grabbing;
            return Outcome::handled(commands);
        }
        if cx.tool.draws() {
            let (grip, item, handle) = (None, None, None);
            self.state = State::Pressed { pointer, at, device, grip, item, handle, shift };
            return Outcome::handled(commands);
        }
        let handle = self.handle_at(at, device, cx);
        let item = cx.scene.pick(at, device.reach_px(), &cx.look).map(|id| id.to_string());
        let grip = self.grip(handle, item.as_deref(), at, cx).filter(|_| !shift);
        let handle = handle.map(|h| h.point);
        self.state = State::Pressed { pointer, at, device, grip, item, handle, shift };
        Outcome::handled(commands)
    }

    fn drag(&mut self, pointer: i32, at: ScreenPoint, device: Device, cx: &Context) -> Outcome {
        if let Some(down) = self.down.iter_mut().find(|d| d.0 == pointer) {
            down.1 = at;
        }
        match std::mem::take(&mut self.state) {
            State::Pressed { pointer: p, at: start, device, grip, shift, .. }
                if p == pointer && start.distance(at) > device.slop_px() =>
            {
                if cx.tool.draws() && device != Device::Touch {
                    self.aim(cx.look.plan_from_screen(start), cx);
                    let before = self.points();
                    let mut commands = self.begin_drag(cx);
                    self.state = State::Drawing { pointer, before };
                    commands.extend(self.drag(pointer, at, device, cx).commands);
                    return Outcome::handled(commands);
                }
                if shift && device != Device::Touch {
                    let from = cx.look.plan_from_screen(start);
                    self.state = State::Boxing { pointer, from, to: cx.look.plan_from_screen(at) };
                    return Outcome::handled(Vec::new());
                }
                match grip {
                    Some(grip) => {
                        let mut commands = vec![Command::Begin(grip.label())];
                        match &grip {
                            Grip::End { duct, snap, .. } => self.active = Some((duct.clone(), snap.point())),
                            Grip::Corner { id, point, .. } => self.active = Some((id.clone(), *point)),
                            _ => {}
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
            State::Drawing { pointer: p, before } if p == pointer => {
                self.state = State::Drawing { pointer, before };
                self.aim(cx.look.plan_from_screen(at), cx);
                Outcome::handled(Vec::new())
            }
            State::Boxing { pointer: p, from, .. } if p == pointer => {
                self.state = State::Boxing { pointer, from, to: cx.look.plan_from_screen(at) };
                Outcome::handled(Vec::new())
            }
            State::Moving { pointer: p, mut grip, last } if p == pointer => {
                let to = cx.look.plan_from_screen(at);
                let (commands, place) = self.moved(&mut grip, to, &last, cx);
                self.cursor = Cursor::Move;
                self.state = State::Moving { pointer, grip, last: place };
                Outcome::handled(commands)
            }
            same => {
                // A palm that stays behind the pen points at nothing.
                let resting = same == State::Idle && self.down.is_empty() && device != Device::Touch;
                self.state = same;
                if resting && cx.tool.draws() {
                    self.hovered = None;
                    self.cursor = Cursor::Cross;
                    self.aim(cx.look.plan_from_screen(at), cx);
                    return Outcome::handled(Vec::new());
                }
                if resting {
                    self.hover(at, device, cx);
                }
                Outcome::default()
            }
        }
    }

    fn hover(&mut self, at: ScreenPoint, device: Device, cx: &Context) {
        if cx.tool == Tool::Pan {
            (self.hovered, self.cursor) = (None, Cursor::Grab);
            return;
        }
        let handle = self.handle_at(at, device, cx);
        let item = cx.scene.pick(at, device.reach_px(), &cx.look).map(|id| id.to_string());
        let grip = self.grip(handle, item.as_deref(), at, cx);
        self.cursor = match (grip, self.space, &item) {
            (_, true, _) | (None, _, None) => Cursor::Grab,
            (Some(_), ..) => Cursor::Move,
            (None, _, Some(_)) => Cursor::Pointer,
        };
        self.hovered = if self.space { None } else { item };
    }

    fn release(&mut self, pointer: i32, at: ScreenPoint, cx: &Context) -> Outcome {
        let device = self.down.iter().find(|d| d.0 == pointer).map_or(Device::Mouse, |d| d.2);
        self.down.retain(|d| d.0 != pointer);
        let mut commands = Vec::new();
        match std::mem::take(&mut self.state) {
            State::Pressed { pointer: p, .. } if p == pointer && cx.tool.draws() => {
                self.aim(cx.look.plan_from_screen(at), cx);
                commands.extend(self.put(cx));
            }
            State::Drawing { pointer: p, .. } if p == pointer => {
                self.aim(cx.look.plan_from_screen(at), cx);
                commands.extend(self.end_drag(cx));
            }
            State::Boxing { pointer: p, from, .. } if p == pointer => {
                let mut ids: Vec<String> = cx.selection.map(str::to_owned).into_iter().collect();
                ids.extend(cx.also.iter().cloned());
                ids.extend(pen::inside(cx, from, cx.look.plan_from_screen(at)));
                commands.push(Command::SelectAll(ids));
            }
            State::Pressed { pointer: p, item, shift: true, .. } if p == pointer => {
                commands.extend(item.map(Command::Toggle));
            }
            State::Pressed { pointer: p, item, handle, .. } if p == pointer => match (handle, cx.selection) {
                // A press on a handle chooses the point that keys move.
                (Some(point), Some(duct)) => self.active = Some((duct.to_owned(), point)),
                _ => {
                    if item.as_deref() != cx.selection || !cx.also.is_empty() {
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
        if self.down.is_empty() && self.state == State::Idle && device != Device::Touch && !cx.tool.draws() {
            self.hover(at, device, cx);
        }
        Outcome::handled(commands)
    }

    fn cancel(&mut self, pointer: i32) -> Outcome {
        self.down.retain(|d| d.0 != pointer);
        // Another pointer's loss ends nothing, and every pointer is lost once it is up.
        let commands = if self.state.is_of(pointer) { self.call_off() } else { Vec::new() };
        if self.state == State::Spent && self.down.is_empty() {
            self.state = State::Idle;
        }
        Outcome::handled(commands)
    }

    /// Whatever is under way is off, as if it had never begun; pointers that are down do nothing more.
    fn call_off(&mut self) -> Vec<Command> {
        let moving = self.is_moving();
        if let State::Drawing { before, .. } = self.state {
            self.drop_drag(before);
        }
        self.note = None;
        self.state = if self.down.is_empty() { State::Idle } else { State::Spent };
        if moving { vec![Command::Abort] } else { Vec::new() }
    }

    fn wheel(at: ScreenPoint, dx: f64, dy: f64, pinch: bool, cx: &Context) -> Outcome {
        let look = if !pinch && dx.abs() > dy.abs() {
            cx.look.panned(-dx, 0.0)
        } else {
            let rate = if pinch { 0.01 } else { 0.0016 };
            // One notch of a coarse wheel can be hundreds of pixels.
            cx.look.zoomed(engine::numerics::exp(-dy.clamp(-240.0, 240.0) * rate), at)
        };
        Outcome::handled(vec![Command::SetCamera(Some(look.camera))])
    }
}

#[cfg(test)]
mod draw_tests;
#[cfg(test)]
mod tests;
