//! The row under the board: what the tool in hand needs, or what can be done with the selection.

use super::tools::{Key, Status, Tool};
use super::{Board, Msg};
use crate::command::Command;
use crate::edit::{Axis, Edit, GroupEdit, can_move};
use crate::quantity_input::QuantityInput;
use crate::session::Session;
use engine::plan::Point;
use engine::units::Kind;
use web_sys::HtmlInputElement;
use yew::html::Scope;
use yew::prelude::*;

/// What is asked about the selection.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Asks {
    /// Nothing.
    #[default]
    Nothing,
    /// About which axis to mirror.
    Mirror {
        /// Where the axis is, m.
        at_m: f64,
        /// The originals stay.
        copy: bool,
    },
    /// How often to repeat, and how far.
    Repeat {
        /// Copies.
        copies: u32,
        /// To the right, m.
        dx_m: f64,
        /// Up the page, m.
        dy_m: f64,
    },
}

/// The row.
pub(super) fn bar(
    session: &Session,
    status: &Status,
    asks: &Asks,
    dispatch: &Callback<Command>,
    link: &Scope<Board>,
    hint: &'static str,
) -> Html {
    if session.view.tool.draws() {
        return drawing(session, status, dispatch, link);
    }
    let ids: Vec<String> =
        session.selected().filter(|id| can_move(&session.plan, id)).map(str::to_owned).collect();
    if ids.is_empty() {
        return html! { <p class="board-hint" key="hint">{ hint }</p> };
    }
    let row = Row { session, dispatch, link, ids };
    match asks {
        Asks::Nothing => row.actions(hint),
        Asks::Mirror { at_m, copy } => row.mirror(*at_m, *copy),
        Asks::Repeat { copies, dx_m, dy_m } => row.repeat(*copies, *dx_m, *dy_m),
    }
}

fn drawing(session: &Session, status: &Status, dispatch: &Callback<Command>, link: &Scope<Board>) -> Html {
    let tool = session.view.tool;
    let (name, _, how) = tool.about();
    let press = |text: &'static str, label: &'static str, testid: &'static str, key: Key, disabled: bool| {
        let onclick = link.callback(move |_: MouseEvent| Msg::Press(key));
        html! {
            <button key={testid} type="button" aria-label={label} title={label} data-testid={testid} {disabled} {onclick}>{ text }</button>
        }
    };
    let oninput = link.callback(|event: InputEvent| {
        Msg::Typed(event.target_dyn_into::<HtmlInputElement>().map(|input| input.value()).unwrap_or_default())
    });
    let onkeydown = link.batch_callback(|event: KeyboardEvent| match event.key().as_str() {
        "Enter" => {
            event.prevent_default();
            Some(Msg::Press(Key::Enter))
        }
        _ => None,
    });
    let along = matches!(tool, Tool::Slots | Tool::Step | Tool::Intake);
    let label = match (along, status.points) {
        (true, _) => "Station",
        (false, 0) => "Place x, y",
        (false, _) => "Length",
    };
    let set_pitch = dispatch.reform(Command::SetPitch);
    let begun = status.points > 0;
    html! {
        <div class="board-bar" key="drawing" role="group" aria-label={name} data-testid="drawing" data-points={status.points.to_string()}>
            <p class="board-hint"><strong>{ name }</strong>{ " · " }{ how }</p>
            if tool == Tool::Slots {
                <span key="pitch" class="labelled">{ "Pitch" }
                    <QuantityInput label="Pitch of the slots" testid="draw-pitch" kind={Kind::ShopLength} system={session.view.units}
                        value={Some(session.view.pitch_m)} min={0.01} max={10.0} whole=false on_commit={set_pitch} on_clear={None::<Callback<()>>} />
                </span>
            }
            <label key="typed">{ label }
                <input type="text" class="typed" autocomplete="off" data-testid="draw-typed" value={status.typed.clone()} {oninput} {onkeydown} />
            </label>
            if let Some(any_angle) = status.any_angle {
                <button key="angle" type="button" aria-label="Any angle" aria-pressed={any_angle.to_string()} data-testid="draw-angle"
                    title="Any angle (F, or hold Alt); a typed length may say it: 3.5 at 30" onclick={link.callback(|_: MouseEvent| Msg::Press(Key::Char('f')))}>{ "∠" }<span class="wide">{ "Any angle" }</span></button>
            }
            <span key="ways" class="ways" role="group" aria-label="Direction">
                { press("←", "To the left", "draw-left", Key::Left, false) }
                { press("↑", "Up", "draw-up", Key::Up, false) }
                { press("↓", "Down", "draw-down", Key::Down, false) }
                { press("→", "To the right", "draw-right", Key::Right, false) }
            </span>
            { press("Place", "Place a point (Enter)", "draw-place", Key::Enter, false) }
            { press("Back", "Take the last point back (Backspace)", "draw-back", Key::Backspace, !begun) }
            <button key="finish" type="button" data-testid="draw-finish" title="Finish (double-click)" disabled={!status.can_finish}
                onclick={link.callback(|_: MouseEvent| Msg::Finish)}>{ "Finish" }</button>
            { press("Cancel", "Cancel: give it up (Escape)", "draw-cancel", Key::Escape, false) }
        </div>
    }
}

/// The row of a selection.
struct Row<'a> {
    session: &'a Session,
    dispatch: &'a Callback<Command>,
    link: &'a Scope<Board>,
    ids: Vec<String>,
}

impl Row<'_> {
    fn does(&self, text: &'static str, testid: &'static str, edit: GroupEdit) -> Html {
        let command = Command::from(Edit::Group { ids: self.ids.clone(), edit });
        let dispatch = self.dispatch.clone();
        let link = self.link.clone();
        let onclick = Callback::from(move |_: MouseEvent| {
            dispatch.emit(command.clone());
            link.send_message(Msg::Ask(Asks::Nothing));
        });
        html! { <button key={testid} type="button" data-testid={testid} {onclick}>{ text }</button> }
    }

    fn asks(&self, text: &'static str, testid: &'static str, asks: Asks) -> Html {
        let onclick = self.link.callback(move |_: MouseEvent| Msg::Ask(asks.clone()));
        html! { <button key={testid} type="button" data-testid={testid} {onclick}>{ text }</button> }
    }

    fn number(
        &self,
        label: &'static str,
        testid: &'static str,
        value: f64,
        asks: impl Fn(f64) -> Asks + 'static,
    ) -> Html {
        let on_commit = self.link.callback(move |value| Msg::Ask(asks(value)));
        let whole = testid == "repeat-copies";
        let (kind, min) = if whole { (Kind::Number, 1.0) } else { (Kind::Length, -1000.0) };
        let max = if whole { 200.0 } else { 1000.0 };
        html! {
            <span key={testid} class="labelled">{ label }
                <QuantityInput {label} {testid} {kind} system={self.session.view.units} value={Some(value)}
                    {min} {max} {whole} {on_commit} on_clear={None::<Callback<()>>} />
            </span>
        }
    }

    /// The middle of what is selected.
    fn middle(&self) -> Point {
        let mut plan = (*self.session.plan).clone();
        let mut points = Vec::new();
        crate::edit::each_point(&mut plan, &self.ids, &mut |p| points.push(*p));
        let b = super::camera::Bounds::around(points);
        b.map_or(Point::new(0.0, 0.0), |b| {
            Point::new((b.min.x_m + b.max.x_m) / 2.0, (b.min.y_m + b.max.y_m) / 2.0)
        })
    }

    fn actions(&self, hint: &'static str) -> Html {
        let step = super::tools::snap::grid_m(self.session.view.units) * 10.0;
        let floor = &self.session.plan.enclosure.outline;
        let middle = super::camera::Bounds::around(floor.iter().copied())
            .map_or(0.0, |b| (b.min.x_m + b.max.x_m) / 2.0);
        let title = match self.ids.as_slice() {
            [_] => String::new(),
            many => format!("{} selected", many.len()),
        };
        let several = self.ids.len() > 1;
        let hint = if several { "Drag one and all move · arrow keys do the same" } else { hint };
        let deletes = self.ids.len() > 1 || self.ids[0] != self.session.plan.heater.id;
        html! {
            <div class="board-bar" key="selection" role="group" aria-label="What is selected" data-testid="arrange">
                <p class="board-hint"><strong>{ title }</strong>{ if several { " · " } else { "" } }{ hint }</p>
                { self.does("Duplicate", "duplicate", GroupEdit::Repeat { copies: 1, dx_m: step, dy_m: step }) }
                { self.asks("Repeat …", "ask-repeat", Asks::Repeat { copies: 1, dx_m: 0.0, dy_m: step }) }
                { self.asks("Mirror …", "ask-mirror", Asks::Mirror { at_m: middle, copy: true }) }
                if deletes {
                    { self.does("Delete", "delete-selection", GroupEdit::Delete) }
                }
            </div>
        }
    }

    fn mirror(&self, at_m: f64, copy: bool) -> Html {
        let toggle = self.link.callback(move |_: Event| Msg::Ask(Asks::Mirror { at_m, copy: !copy }));
        let own = self.middle();
        let about = |axis, at_m, copy| GroupEdit::Mirror { axis, at_m, copy };
        html! {
            <div class="board-bar" key="mirror" role="group" aria-label="Mirror">
                { self.number("Axis at", "mirror-at", at_m, move |at_m| Asks::Mirror { at_m, copy }) }
                { self.does("Left – right", "mirror-upright", about(Axis::Upright, at_m, copy)) }
                { self.does("Up – down", "mirror-level", about(Axis::Level, at_m, copy)) }
                { self.does("In place ↔", "mirror-own-upright", about(Axis::Upright, own.x_m, false)) }
                { self.does("In place ↕", "mirror-own-level", about(Axis::Level, own.y_m, false)) }
                <label key="copy" class="check"><input type="checkbox" checked={copy} data-testid="mirror-copy" onchange={toggle} />{ "keep the original" }</label>
                { self.asks("Close", "ask-nothing", Asks::Nothing) }
            </div>
        }
    }

    fn repeat(&self, copies: u32, dx_m: f64, dy_m: f64) -> Html {
        html! {
            <div class="board-bar" key="repeat" role="group" aria-label="Repeat">
                { self.number("Copies", "repeat-copies", f64::from(copies), move |v| Asks::Repeat { copies: v as u32, dx_m, dy_m }) }
                { self.number("each to the right by", "repeat-x", dx_m, move |dx_m| Asks::Repeat { copies, dx_m, dy_m }) }
                { self.number("and up by", "repeat-y", dy_m, move |dy_m| Asks::Repeat { copies, dx_m, dy_m }) }
                { self.does("Repeat", "repeat", GroupEdit::Repeat { copies, dx_m, dy_m }) }
                { self.asks("Close", "ask-nothing", Asks::Nothing) }
            </div>
        }
    }
}
