//! The board: the plan drawn to scale, and the hand on it.
//!
//! ```text
//! plan + analysis ──parts──▶ scene ──canvas──▶ pixels
//!        gesture ──tools (over scene, camera)──▶ commands
//! ```

pub mod camera;
pub mod canvas;
#[cfg(test)]
pub(crate) mod fixture;
pub mod labels;
pub mod outline;
pub mod parts;
pub mod scene;
pub mod tools;

use self::parts::BAY_FULL_K;
use crate::charts::display::signed_percent;
use crate::charts::palette::FULL_DEVIATION;
use crate::command::Command;
use crate::session::Session;
use std::rc::Rc;
use web_sys::HtmlCanvasElement;
use yew::prelude::*;

/// What the board shows and whom it tells.
#[derive(Clone, Debug, PartialEq, Properties)]
pub struct BoardProps {
    /// Everything the page knows.
    pub session: Rc<Session>,
    /// Takes commands.
    pub dispatch: Callback<Command>,
}

/// The board with its foot: zoom buttons, a hint for the hand, the legend.
pub struct Board {
    canvas: NodeRef,
    board: Option<canvas::Board>,
    spoken: String,
}

/// What the board tells itself.
#[derive(Debug)]
pub enum Msg {
    /// Zoom by a factor.
    Zoom(f64),
}

impl Component for Board {
    type Message = Msg;
    type Properties = BoardProps;

    fn create(_: &Context<Self>) -> Self {
        Self { canvas: NodeRef::default(), board: None, spoken: String::new() }
    }

    fn update(&mut self, _: &Context<Self>, Msg::Zoom(factor): Msg) -> bool {
        if let Some(board) = &self.board {
            board.zoom(factor);
        }
        false
    }

    fn changed(&mut self, ctx: &Context<Self>, _: &Self::Properties) -> bool {
        if let Some(board) = &self.board {
            let props = ctx.props();
            board.show(Rc::clone(&props.session), props.dispatch.clone());
            self.spoken = board.spoken();
        }
        true
    }

    fn rendered(&mut self, ctx: &Context<Self>, first: bool) {
        if !first {
            return;
        }
        if let Some(canvas) = self.canvas.cast::<HtmlCanvasElement>() {
            let props = ctx.props();
            self.board = Some(canvas::Board::new(canvas, Rc::clone(&props.session), props.dispatch.clone()));
        }
    }

    fn view(&self, ctx: &Context<Self>) -> Html {
        let session = &ctx.props().session;
        let zoom = |factor: f64| ctx.link().callback(move |_: MouseEvent| Msg::Zoom(factor));
        let fit = ctx.props().dispatch.reform(|_: MouseEvent| Command::SetCamera(None));
        let end = signed_percent(FULL_DEVIATION, 0);
        let start = signed_percent(-FULL_DEVIATION, 0);
        html! {
            <section class="board" aria-label="Board">
                <canvas
                    ref={self.canvas.clone()}
                    class="board-canvas"
                    data-testid="board"
                    tabindex="0"
                    role="application"
                    aria-roledescription="floor plan"
                    aria-label="Plan of the oven, to scale"
                    aria-describedby="board-keys"
                />
                <div class="board-foot">
                    <div class="board-zoom" role="group" aria-label="Zoom">
                        <button type="button" data-testid="board-zoom-out" aria-label="Zoom out" onclick={zoom(0.8)}>
                            { "\u{2212}" }
                        </button>
                        <button type="button" data-testid="board-zoom-in" aria-label="Zoom in" onclick={zoom(1.25)}>
                            { "+" }
                        </button>
                        <button type="button" data-testid="board-fit" onclick={fit}>{ "Fit" }</button>
                    </div>
                    <p class="board-hint">{ crate::studies::coverage::legend(session).unwrap_or_else(|| hint(session).to_owned()) }</p>
                    <div class="board-legend" role="img" aria-label={legend_words()}>
                        <span>{ format!("{start}\u{a0}%") }</span>
                        <span class="board-scale"></span>
                        <span>{ format!("{end}\u{a0}%") }</span>
                        <span class="board-legend-words">{ "slot flow against target" }</span>
                        if session.shows_bays() {
                            <span class="board-legend-words" data-testid="legend-bays">{ bay_words(session.view.units) }</span>
                        }
                    </div>
                </div>
                <p id="board-keys" class="visually-hidden">{ KEYS }</p>
                <p class="visually-hidden" role="status" data-testid="board-spoken">{ &self.spoken }</p>
            </section>
        }
    }
}

const KEYS: &str = "Enter selects the first item; Tab or Page Down the next, Shift Tab or Page Up the one before. \
    Arrows move the end of a selected duct, a selected return, or else the picture; with Shift ten times as far. \
    Home and End choose which end moves. Enter on a run goes to its slots, Escape back. \
    Plus, minus and zero zoom. Escape until nothing is selected, then Tab leaves the board.";

fn legend_words() -> String {
    let percent = FULL_DEVIATION * 100.0;
    format!(
        "Colours: blue discharges up to {percent:.0} percent too little, white is on target, orange up to \
         {percent:.0} percent too much. A tick to the left of the flow marks more than 5 percent too much, \
         to the right too little."
    )
}

/// What the colour of a bay means.
fn bay_words(units: engine::units::UnitSystem) -> String {
    use crate::heat::signed;
    format!("· bays {} to {} off set", signed(-BAY_FULL_K, units), signed(BAY_FULL_K, units))
}

/// One line for the hand: what can be done now.
fn hint(session: &Session) -> &'static str {
    let Some(id) = session.selection.as_deref() else {
        return "Click to select · drag the floor to pan · wheel or pinch to zoom";
    };
    let plan = &session.plan;
    if plan.ducts.iter().any(|duct| duct.id == id) {
        "Drag an end for length, the sheet to shift it · or arrow keys, Shift ×10"
    } else if plan.returns.iter().any(|opening| opening.id == id && opening.duct.is_some()) {
        "Drag it along its duct · arrow keys do the same, Shift ×10"
    } else if id.contains('/') {
        "Arrow keys go from slot to slot · Escape to the run"
    } else {
        "Tab to the next item · Escape to let go"
    }
}
