//! Everything a person or the worker can ask of the session: a closed list.

use crate::board::tools::Tool;
use crate::edit::Edit;
use crate::session::{Camera, Dock, Notice, SaveState, Step, Theme};
use crate::solve::{Look, Seen};
use engine::analysis::Analysis;
use engine::error::EngineError;
use engine::plan::{Plan, Point, Section};
use engine::units::UnitSystem;
use std::rc::Rc;
use yew::{Callback, MouseEvent};

/// One intent. Only edits, gestures, `Undo`, `Redo`, `ReplacePlan` and `Study` can change the plan.
#[derive(Clone, Debug)]
pub enum Command {
    /// Select the item or slot of this name, or nothing.
    Select(Option<String>),
    /// Select all of these; the first shows its card.
    SelectAll(Vec<String>),
    /// Select this too, or no longer.
    Toggle(String),
    /// Take a tool in hand.
    UseTool(Tool),
    /// From slot to slot in rows drawn from now on, m.
    SetPitch(f64),
    /// Show the keys, or put them away.
    ShowKeys(bool),
    /// Show another part of the board; none fits the whole plan.
    SetCamera(Option<Camera>),
    /// Read and write in other units.
    SetUnits(UnitSystem),
    /// Light, dark or as the system has it.
    SetTheme(Theme),
    /// Go to a step of the work.
    GoTo(Step),
    /// Show the strip or the tables under the board.
    ShowDock(Dock),

    /// A gesture begins: all edits until `Commit` are one undo step of this name.
    Begin(&'static str),
    /// The gesture ends and stands.
    Commit,
    /// The gesture ends and the plan is as it was before.
    Abort,
    /// Take the last step back.
    Undo,
    /// Take the last undone step again.
    Redo,

    /// Move a point of a duct's centre line.
    MoveDuctPoint {
        /// The duct.
        duct: String,
        /// Which point, from 0.
        point: usize,
        /// Where to.
        to: Point,
    },
    /// Move a return opening along its duct.
    MoveReturn {
        /// The opening.
        id: String,
        /// Distance from the duct's first point, m.
        station_m: f64,
    },
    /// Set the short side of one slot.
    SetSlotWidth {
        /// The slot row.
        row: String,
        /// Which slot, from 0.
        slot: usize,
        /// Short side, m.
        width_m: f64,
    },
    /// Set the inside size of a duct from its first point on.
    SetDuctSection {
        /// The duct.
        duct: String,
        /// Inside size.
        section: Section,
    },
    /// Any other change of the plan.
    Edit(Rc<Edit>),

    /// Put another plan in place of this one.
    ReplacePlan {
        /// The new plan.
        plan: Box<Plan>,
        /// What was done: "Open garden.json".
        label: String,
        /// Whether it counts as saved.
        saved: SaveState,
    },

    /// A file holds a plan that cannot be calculated, or a link holds one: the present one stays, the other is offered.
    Offer {
        /// The plan of the file.
        plan: Box<Plan>,
        /// What opening it would be called.
        label: String,
        /// What is wrong with it and what to do, as a sentence.
        reason: String,
        /// Whether it counts as saved.
        saved: SaveState,
    },
    /// Take the offered plan all the same.
    TakeOffer,

    /// The worker answered for a state under a drag: its air alone.
    Followed {
        /// Which state of the plan.
        generation: u64,
        /// What was found.
        analysis: Box<Analysis>,
    },
    /// The worker gives the analysis of the plan of this generation, or says why there is none.
    Analysed {
        /// Generation of the plan that was analysed.
        generation: u64,
        /// The analysis.
        outcome: Result<Box<Analysis>, EngineError>,
    },
    /// The worker gives what somebody looks at.
    Seen {
        /// What.
        look: Look,
        /// Generation of the plan it belongs to.
        generation: u64,
        /// What there is to see, or why there is nothing.
        outcome: Result<Seen, EngineError>,
    },
    /// The worker stopped and was started again.
    WorkerRestarted {
        /// Why, as a sentence.
        reason: String,
    },

    /// Whatever belongs to questions and answers.
    Study(crate::studies::Intent),

    /// Storage has this generation of the plan, or not; no news while another tab has the draft.
    SetSaved(SaveState),
    /// The draft is this tab's from now on, and still to be written.
    TakeOver,
    /// The tab that had the draft has closed.
    Freed,
    /// Keep the plan as it is, with its figures, to compare later ones with.
    KeepBefore,
    /// Show the board as it was kept, or as it is.
    ShowBefore(bool),
    /// Compare no more.
    ForgetBefore,
    /// Tell the user something.
    Tell(Notice),
    /// Put the message away.
    Dismiss,
}

impl From<Edit> for Command {
    fn from(edit: Edit) -> Self {
        Self::Edit(Rc::new(edit))
    }
}

/// Sends `command` when something is pressed. One closure for all, so that it is in the download once.
pub fn on_press(dispatch: &Callback<Command>, command: Command) -> Callback<MouseEvent> {
    dispatch.reform(move |_| command.clone())
}
