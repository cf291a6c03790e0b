//! What stands beside the board is drawn in a turn of its own while a hand drags: the board goes first.

use crate::session::Session;
use gloo::render::{AnimationFrame, request_animation_frame};
use gloo::timers::callback::Timeout;
use std::rc::Rc;
use yew::prelude::*;

/// From a change to its drawing where no figures come for it, ms.
const LATEST_MS: u32 = 120;
/// The same where the hand is at work, ms.
const LATEST_FIRST_MS: u32 = 40;
/// A hand that has not moved for so long pauses, ms.
const PAUSE_MS: u32 = 80;
/// So long what waits for a pause waits at most, ms: its numbers move on in a long drag too.
const LATEST_PAUSE_MS: u32 = 1_000;

/// When a part is drawn while a hand drags.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum When {
    /// With the figures, in the same picture: the hand is at work on it.
    First,
    /// After each picture of the board.
    Next,
    /// When the hand pauses: the browser takes longer to lay out fields and tables than a picture has.
    #[default]
    Pause,
}

/// What is drawn, and of what.
#[derive(Properties, PartialEq)]
pub struct InTurnProps {
    /// The session.
    pub session: Rc<Session>,
    /// When.
    #[prop_or_default]
    pub when: When,
    /// Draws the part of a session, of one that may be a moment older.
    pub view: Callback<Rc<Session>, Html>,
}

/// A part of the page, drawn at once, or after the board while a hand drags.
pub struct InTurn {
    shown: Rc<Session>,
    late: Option<Timeout>,
    frame: Option<AnimationFrame>,
    turn: Option<Timeout>,
}

/// The turns of a drawing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turn {
    /// The board's frame is made.
    Framed,
    /// Now.
    Now,
}

impl InTurn {
    fn call_off(&mut self) {
        (self.late, self.frame, self.turn) = (None, None, None);
    }
}

impl Component for InTurn {
    type Message = Turn;
    type Properties = InTurnProps;

    fn create(ctx: &Context<Self>) -> Self {
        Self { shown: ctx.props().session.clone(), late: None, frame: None, turn: None }
    }

    fn changed(&mut self, ctx: &Context<Self>, _: &Self::Properties) -> bool {
        let (was, is) = (&self.shown, &ctx.props().session);
        let when = ctx.props().when;
        let only_moved = !(when == When::First && is.analysis_is_current())
            && is.history.in_gesture()
            && was.view == is.view
            && was.selection == is.selection;
        if !only_moved {
            self.shown = is.clone();
            self.call_off();
            return true;
        }
        let link = ctx.link().clone();
        if when == When::Pause {
            let now = move || link.send_message(Turn::Now);
            self.turn = Some(Timeout::new(PAUSE_MS, now.clone()));
            self.late.get_or_insert_with(|| Timeout::new(LATEST_PAUSE_MS, now));
        } else if is.analysis_is_current() {
            if self.frame.is_none() && self.turn.is_none() {
                self.frame = Some(request_animation_frame(move |_| link.send_message(Turn::Framed)));
            }
        } else if self.late.is_none() {
            let latest = if when == When::First { LATEST_FIRST_MS } else { LATEST_MS };
            self.late = Some(Timeout::new(latest, move || link.send_message(Turn::Now)));
        }
        false
    }

    fn update(&mut self, ctx: &Context<Self>, turn: Turn) -> bool {
        match turn {
            Turn::Framed => {
                let link = ctx.link().clone();
                self.turn = Some(Timeout::new(0, move || link.send_message(Turn::Now)));
                false
            }
            Turn::Now => {
                self.shown = ctx.props().session.clone();
                self.call_off();
                true
            }
        }
    }

    fn view(&self, ctx: &Context<Self>) -> Html {
        ctx.props().view.emit(self.shown.clone())
    }
}
