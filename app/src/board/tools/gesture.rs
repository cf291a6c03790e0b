//! What the tools are told and what they answer.

use super::tool::Tool;
use crate::board::camera::{Look, ScreenPoint};
use crate::board::scene::Scene;
use crate::command::Command;
use engine::plan::Plan;
use engine::units::UnitSystem;

/// What points.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Device {
    /// A mouse or a track-pad.
    Mouse,
    /// A pen.
    Pen,
    /// A finger.
    Touch,
}

impl Device {
    /// How far beside a shape it may come down, px.
    pub(super) fn reach_px(self) -> f64 {
        if self == Self::Touch { 14.0 } else { 5.0 }
    }

    /// How far beside a handle, px.
    pub(super) fn handle_reach_px(self) -> f64 {
        if self == Self::Touch { 24.0 } else { 11.0 }
    }

    /// How far it may tremble before a press is a drag, px.
    pub(super) fn slop_px(self) -> f64 {
        if self == Self::Touch { 9.0 } else { 3.0 }
    }
}

/// A key the board knows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Key {
    /// Arrow left.
    Left,
    /// Arrow right.
    Right,
    /// Arrow up.
    Up,
    /// Arrow down.
    Down,
    /// To the first point.
    Home,
    /// To the last point.
    End,
    /// Into a run's slots; with nothing selected, the first item.
    Enter,
    /// Out: of a drag, of a slot to its run, of the selection.
    Escape,
    /// The next item.
    Next,
    /// The item before.
    Previous,
    /// The next item, or out of the board past the last.
    Tab,
    /// The item before, or out of the board.
    BackTab,
    /// Held: any drag moves the picture.
    Space,
    /// Takes the last point back, or deletes what is selected.
    Backspace,
    /// Undo: while drawing, of the last point; during a drag, of the drag.
    Undo,
    /// Redo: during a drag as undo.
    Redo,
    /// Any other character.
    Char(char),
}

/// What happened.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Gesture {
    /// A button or finger goes down.
    Down {
        /// The pointer's number.
        pointer: i32,
        /// Where.
        at: ScreenPoint,
        /// With what.
        device: Device,
        /// 0 the main one, 1 the middle one, 2 the other one.
        button: i16,
        /// With Shift.
        shift: bool,
    },
    /// A pointer moves, pressed or not.
    Move {
        /// The pointer's number.
        pointer: i32,
        /// Where to.
        at: ScreenPoint,
        /// With what.
        device: Device,
    },
    /// A button or finger comes up.
    Up {
        /// The pointer's number.
        pointer: i32,
        /// Where.
        at: ScreenPoint,
    },
    /// The browser took the pointer away.
    Cancel {
        /// The pointer's number.
        pointer: i32,
    },
    /// A finger has rested where it came down.
    LongPress {
        /// The pointer's number.
        pointer: i32,
    },
    /// The pointer left the board.
    Leave,
    /// The wheel, or two fingers on a track-pad.
    Wheel {
        /// Where.
        at: ScreenPoint,
        /// Right, px.
        dx: f64,
        /// Down, px.
        dy: f64,
        /// A pinch on a track-pad.
        pinch: bool,
    },
    /// A key goes down, again and again while it is held.
    KeyDown {
        /// Which.
        key: Key,
        /// With Shift.
        shift: bool,
    },
    /// A key comes up.
    KeyUp {
        /// Which.
        key: Key,
    },
    /// The button that ends a drawing.
    Finish,
    /// The board loses the keyboard.
    Blur,
}

/// What is in sight when a gesture happens.
#[derive(Clone, Copy, Debug)]
pub struct Context<'a> {
    /// What is selected besides.
    pub also: &'a [String],
    /// The tool in hand.
    pub tool: Tool,
    /// From slot to slot in rows that are drawn, m.
    pub pitch_m: f64,
    /// The plan.
    pub plan: &'a Plan,
    /// Its picture.
    pub scene: &'a Scene,
    /// The look at it.
    pub look: Look,
    /// What is selected.
    pub selection: Option<&'a str>,
    /// Units people read: they decide the grid.
    pub units: UnitSystem,
}

/// What comes of a gesture.
#[derive(Clone, Debug, Default)]
pub struct Outcome {
    /// What to do.
    pub commands: Vec<Command>,
    /// The browser must not act on it too.
    pub handled: bool,
}

impl Outcome {
    pub(super) fn handled(commands: Vec<Command>) -> Self {
        Self { commands, handled: true }
    }

    pub(super) fn ignored() -> Self {
        Self::default()
    }
}

/// The pointer's shape.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Cursor {
    /// Over the floor.
    #[default]
    Grab,
    /// Moving the picture.
    Grabbing,
    /// Over something to select.
    Pointer,
    /// Over something to move.
    Move,
    /// Drawing.
    Cross,
}
