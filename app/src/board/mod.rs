//! The board: the plan drawn to scale, and the hand on it.
//!
//! ```text
//! plan + analysis ──parts──▶ scene ──canvas──▶ pixels
//!        gesture ──tools (over scene, camera)──▶ commands
//! ```

mod bar;
pub mod camera;
pub mod canvas;
#[cfg(test)]
pub(crate) mod fixture;
pub mod labels;
pub mod outline;
mod palette;
pub mod parts;
pub mod scene;
pub mod sketch;
pub mod tools;

use self::parts::BAY_FULL_K;
use crate::charts::display::signed_percent;
use crate::charts::palette::FULL_DEVIATION;
use crate::command::{Command, on_press};
use crate::latest::Latest;
use crate::session::Session;
use bar::Asks;
use std::rc::Rc;
use tools::{Gesture, Key, Status, Tool};
use web_sys::HtmlCanvasElement;
use yew::prelude::*;

/// What the board shows and whom it tells.
#[derive(Clone, Debug, PartialEq, Properties)]
pub struct BoardProps {
    /// Everything the page knows.
    pub session: Rc<Session>,
    /// Takes commands.
    pub dispatch: Callback<Command>,
    /// Where the hand finds the session it acts on; none where it may only look.
    pub latest: Option<Latest>,
}

/// The board with its palette and its foot: what the tool in hand needs, zoom buttons, the legend.
pub struct Board {
    canvas: NodeRef,
    board: Option<canvas::Board>,
    spoken: String,
    status: Status,
    /// What the row under the board is used for besides.
    asks: Asks,
}

/// What the board tells itself.
#[derive(Debug)]
pub enum Msg {
    /// Zoom by a factor.
    Zoom(f64),
    /// The drawing under way is now so.
    Status(Status),
    /// The field beside the drawing reads so.
    Typed(String),
    /// As if this key had been pressed on the canvas.
    Press(Key),
    /// Take a tool in hand and go to the canvas.
    Take(Tool),
    /// End the drawing here.
    Finish,
    /// Ask for more about what is selected.
    Ask(Asks),
}

impl Board {
    fn focus(&self) {
        if let Some(canvas) = self.canvas.cast::<HtmlCanvasElement>() {
            let _ = canvas.focus();
        }
    }
}

impl Component for Board {
    type Message = Msg;
    type Properties = BoardProps;

    fn create(_: &Context<Self>) -> Self {
        Self {
            canvas: NodeRef::default(),
            board: None,
            spoken: String::new(),
            status: Status::default(),
            asks: Asks::default(),
        }
    }

    fn update(&mut self, ctx: &Context<Self>, msg: Msg) -> bool {
        let Some(board) = &self.board else { return false };
        match msg {
            Msg::Zoom(factor) => board.zoom(factor),
            Msg::Typed(text) => board.typed(&text),
            Msg::Press(key) => {
                board.perform(Gesture::KeyDown { key, shift: false });
                board.perform(Gesture::KeyUp { key });
            }
            Msg::Take(tool) => {
                ctx.props().dispatch.emit(Command::UseTool(tool));
                self.focus();
            }
            Msg::Finish => {
                board.perform(Gesture::Finish);
                // Its button can no longer be pressed.
                self.focus();
            }
            Msg::Ask(asks) => self.asks = asks,
            Msg::Status(status) => self.status = status,
        }
        true
    }

    fn changed(&mut self, ctx: &Context<Self>, old: &Self::Properties) -> bool {
        if let Some(board) = &self.board {
            let props = ctx.props();
            board.show(Rc::clone(&props.session), props.dispatch.clone(), props.latest.clone());
            // A picture in motion, on the board or on the strip, is made once a frame, not once for every word about it.
            let moving = board.is_dragging() || props.session.history.in_gesture();
            if !moving {
                self.spoken = board.spoken();
                self.status = board.status();
            }
            if old.session.selection != props.session.selection {
                self.asks = Asks::default();
            }
            // Then only the picture changes.
            let (was, is) = (&old.session, &props.session);
            let same = was.view == is.view && was.selection == is.selection && was.also == is.also;
            return !(same && moving);
        }
        true
    }

    fn rendered(&mut self, ctx: &Context<Self>, first: bool) {
        if !first {
            return;
        }
        if let Some(canvas) = self.canvas.cast::<HtmlCanvasElement>() {
            let props = ctx.props();
            let told = ctx.link().callback(Msg::Status);
            let (session, dispatch) = (Rc::clone(&props.session), props.dispatch.clone());
            self.board = Some(canvas::Board::new(canvas, session, dispatch, props.latest.clone(), told));
        }
    }

    fn view(&self, ctx: &Context<Self>) -> Html {
        let session = &ctx.props().session;
        let zoom = |factor: f64| ctx.link().callback(move |_: MouseEvent| Msg::Zoom(factor));
        let fit = on_press(&ctx.props().dispatch, Command::SetCamera(None));
        let end = signed_percent(FULL_DEVIATION, 0);
        let start = signed_percent(-FULL_DEVIATION, 0);
        let drawing = session.view.tool.draws();
        let spoken = if drawing { &self.status.spoken } else { &self.spoken };
        let keys = on_press(&ctx.props().dispatch, Command::ShowKeys(true));
        html! {
            <section class="board" aria-label="Board">
                { palette::palette(session.view.tool, ctx.link()) }
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
                        <button type="button" data-testid="keys" aria-label="Keys" title="Keys (?)" onclick={keys}>{ "?" }</button>
                    </div>
                    if ctx.props().latest.is_none() {
                        <p class="board-hint" key="before" data-testid="as-before">{ "Before: the version that was kept, to look at" }</p>
                    } else if let Some(words) = crate::studies::coverage::legend(session).filter(|_| !drawing) {
                        <p class="board-hint" key="coverage" data-testid="coverage-legend">{ words }</p>
                    } else {
                    { bar::bar(session, &self.status, &self.asks, &ctx.props().dispatch, ctx.link(), hint(session)) }
                    }
                    <div class="board-legend" role="img" aria-label={legend_words()} hidden={drawing || session.selected().any(|id| crate::edit::can_move(&session.plan, id))}>
                        <span>{ format!("{start}\u{a0}%") }</span>
                        <span class="board-scale"></span>
                        <span>{ format!("{end}\u{a0}%") }</span>
                        <span class="board-legend-words">{ "slot flow against target" }</span>
                        if session.shows_bays() {
                            <span class="board-legend-words" data-testid="legend-bays">{ bay_words(session.view.units) }</span>
                        }
                    </div>
                </div>
                <p id="board-keys" class="unseen">{ KEYS }</p>
                <p class="unseen" role="status" data-testid="board-spoken">{ spoken }</p>
            </section>
        }
    }
}

const KEYS: &str = "Enter selects the first item; Tab or Page Down the next, Shift Tab or Page Up the one before; \
    with Shift Page Down and Page Up select besides. Arrows move what is selected, or else the picture; with Shift \
    ten times as far. Comma and full stop choose which corner moves. Enter on a run goes to its slots, Escape back. \
    Letters take a tool: arrows then move a cross, Enter places a point, a typed number is a length. \
    Question mark lists all keys. Escape until nothing is selected, then Tab leaves the board.";

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
        return match session.view.tool {
            _ if session.plan.enclosure.outline.is_empty() => {
                "Nothing is drawn yet: take the outline (O) and place its corners, or press Add enclosure"
            }
            Tool::Pan => "Drag the picture · wheel or pinch to zoom",
            _ => "Click to select · drag the floor to pan, with Shift a box · wheel or pinch to zoom",
        };
    };
    let plan = &session.plan;
    if plan.ducts.iter().any(|duct| duct.id == id) {
        "Drag an end for length, the sheet to shift it · or arrow keys, Shift ×10"
    } else if plan.returns.iter().any(|opening| opening.id == id && opening.duct.is_some()) {
        "Drag it along its duct · arrow keys do the same, Shift ×10"
    } else if id.contains('/') {
        "Arrow keys go from slot to slot · Escape to the run"
    } else if crate::edit::can_move(plan, id) {
        "Drag it or use the arrow keys · Escape to let go"
    } else {
        "Tab to the next item · Escape to let go"
    }
}
