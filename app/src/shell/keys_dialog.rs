//! The keys, on one page.

use crate::board::tools::Tool;
use crate::cards::ViewProps;
use crate::command::{Command, on_press};
use crate::effects::{On, act, use_effect_on};
use wasm_bindgen::JsCast;
use web_sys::HtmlElement;
use yew::prelude::*;

const KEYS: [(&str, &[(&str, &str)]); 4] = [
    (
        "Anywhere",
        &[
            ("Ctrl Z, Ctrl Y", "undo, redo"),
            ("Ctrl S, Ctrl O", "save, open a file"),
            ("Ctrl A", "select everything on the floor"),
            ("Ctrl D", "duplicate what is selected"),
            ("Delete", "delete what is selected"),
            ("?", "these keys"),
        ],
    ),
    (
        "On the board",
        &[
            ("Tab, Page Down", "next item; with Shift, or Page Up, the one before"),
            ("Shift Page Down", "select the next item besides"),
            ("Arrows", "move what is selected by a step of the grid; with Shift by ten"),
            ("Home, End, comma, full stop", "choose the point that arrows move"),
            ("Enter", "first item; into the slots of a run"),
            ("Escape", "out, step by step"),
            ("+, −, 0", "closer, farther, all"),
            ("Space with a drag", "move the picture"),
            ("Shift with a click or drag", "select besides, select in a box"),
        ],
    ),
    (
        "While drawing",
        &[
            ("Arrows", "move the cross; with Shift ten steps"),
            ("Enter", "place a point; on the last point, finish"),
            ("3.5 m, then an arrow", "place the next point so far that way"),
            ("12, 4.6 then Enter", "place a point at x, y; on a duct one number is the station"),
            ("F, or Alt held", "ducts and conveyor at any angle"),
            ("3.5 at 30 then Enter", "so far at an angle, anticlockwise from the right"),
            ("Backspace", "take the last point back"),
            ("Escape", "give it up; then put the tool away"),
        ],
    ),
    (
        "On the strip",
        &[
            ("Left, Right", "from slot to slot"),
            ("Up, Down", "wider, narrower; the duct higher, lower where no slot is selected"),
        ],
    ),
];

/// The dialog; nothing while it is put away.
#[component]
pub fn KeysDialog(props: &ViewProps) -> Html {
    let open = props.session.view.keys;
    let (button, lists) = (use_node_ref(), use_node_ref());
    let before = use_mut_ref(|| None::<HtmlElement>);
    {
        let (button, before) = (button.clone(), before.clone());
        use_effect_on(
            On::Numbers(u64::from(open), 0),
            act(move || {
                if open {
                    let active = gloo::utils::document().active_element();
                    *before.borrow_mut() = active.and_then(|element| element.dyn_into().ok());
                    if let Some(button) = button.cast::<HtmlElement>() {
                        let _ = button.focus();
                    }
                } else if let Some(before) = before.borrow_mut().take() {
                    let _ = before.focus();
                }
                None
            }),
        );
    }
    if !open {
        return html! {};
    }
    let close = on_press(&props.dispatch, Command::ShowKeys(false));
    let onkeydown = {
        let (dispatch, button, lists) = (props.dispatch.clone(), button.clone(), lists.clone());
        Callback::from(move |event: KeyboardEvent| match event.key().as_str() {
            "Escape" | "?" => {
                event.prevent_default();
                event.stop_propagation();
                dispatch.emit(Command::ShowKeys(false));
            }
            // There are two places to go to: the other one is next.
            "Tab" => {
                event.prevent_default();
                let here = event.target_dyn_into::<HtmlElement>();
                let on_button = here.is_some_and(|here| here.tag_name() == "BUTTON");
                let next = if on_button { &lists } else { &button };
                if let Some(next) = next.cast::<HtmlElement>() {
                    let _ = next.focus();
                }
            }
            _ => {}
        })
    };
    let list = |title: &'static str, keys: Vec<(String, &'static str)>| {
        html! {
            <section key={title}><h3>{ title }</h3><dl>
                { for keys.into_iter().map(|(key, does)| html! { <div key={key.clone()}><dt>{ key }</dt><dd>{ does }</dd></div> }) }
            </dl></section>
        }
    };
    let tools =
        Tool::ALL.into_iter().map(|tool| (tool.about().1.to_ascii_uppercase().to_string(), tool.about().0));
    html! {
        <div class="keys-back" {onkeydown}>
            <div class="keys" role="dialog" aria-modal="true" aria-labelledby="keys-title" data-testid="keys-dialog">
                <h2 id="keys-title">{ "Keys" }</h2>
                <button type="button" ref={button} data-testid="keys-close" onclick={close}>{ "Close" }</button>
                <div ref={lists} class="keys-lists" tabindex="0" role="group" aria-label="List of the keys">
                    { for KEYS.iter().map(|(title, keys)| list(title, keys.iter().map(|(key, does)| ((*key).to_owned(), *does)).collect())) }
                    { list("Tools, on the board", tools.collect()) }
                </div>
            </div>
        </div>
    }
}
