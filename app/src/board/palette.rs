//! The palette: the tools of the board.

use super::tools::Tool;
use super::{Board, Msg};
use wasm_bindgen::JsCast;
use web_sys::HtmlElement;
use yew::html::Scope;
use yew::prelude::*;

/// The tools as buttons; one Tab stop, arrow keys go along.
pub(super) fn palette(tool: Tool, link: &Scope<Board>) -> Html {
    let onkeydown = Callback::from(|event: KeyboardEvent| {
        let Some(here) = event.target_dyn_into::<HtmlElement>() else { return };
        let next = match event.key().as_str() {
            "ArrowRight" => here.next_element_sibling(),
            "ArrowLeft" => here.previous_element_sibling(),
            _ => return,
        };
        event.prevent_default();
        if let Some(next) = next.and_then(|next| next.dyn_into::<HtmlElement>().ok()) {
            let _ = next.focus();
        }
    });
    html! {
        <div class="palette" role="toolbar" aria-label="Tools of the board" {onkeydown}>
            { for Tool::ALL.into_iter().map(|one| {
                let (name, key, _) = one.about();
                let here = one == tool;
                html! {
                    <button key={name} type="button" aria-pressed={here.to_string()} aria-label={name}
                        tabindex={if here { "0" } else { "-1" }} title={format!("{name} ({key})")}
                        data-testid={format!("tool-{key}")} onclick={link.callback(move |_: MouseEvent| Msg::Take(one))}>
                        <svg viewBox="0 0 24 24" width="20" height="20" aria-hidden="true"><path d={icon(one)} /></svg>
                    </button>
                }
            }) }
        </div>
    }
}

/// Its picture, as lines on a square of 24.
fn icon(tool: Tool) -> &'static str {
    match tool {
        Tool::Select => "M6 3l12 9-5 1 3 6-3 1-3-6-4 4z",
        Tool::Box => "M4 7V4h3M11 4h3M18 4h2v3M20 11v3M20 18v2h-2M14 20h-3M7 20H4v-2M4 14v-3M9 9h6v6H9z",
        Tool::Pan => "M12 3v18M3 12h18M9 6l3-3 3 3M9 18l3 3 3-3M6 9l-3 3 3 3M18 9l3 3-3 3",
        Tool::Outline => "M4 4h16v9h-7v7H4z",
        Tool::Wall => "M10 3v18M14 3v18M10 9l4-3M10 14l4-3M10 19l4-3",
        Tool::Column => "M6 6h12v12H6zM6 6l12 12M18 6L6 18",
        Tool::Zone => "M3 5h18v14H3zM3 12l7-7M3 18L16 5M8 19L21 6M15 19l6-6",
        Tool::Opening => "M2 12h6M16 12h6M8 7v10M16 7v10",
        Tool::Conveyor => "M2 8h20M2 16h20M7 12h9M13 9l3 3-3 3",
        Tool::Heater => "M4 3h16v18H4zM12 18c-3 0-4-2-3-4 1-2 3-3 3-7 2 2 4 5 3 8 0 2-1 3-3 3z",
        Tool::Supply => "M5 3v11h16M11 3v5h10M14 11h4",
        Tool::Transfer => "M3 8h18M3 16h18M8 16l8-8",
        Tool::Return => "M19 3v11H3M13 3v5H3M10 11H6M8 9l-2 2 2 2",
        Tool::Step => "M3 6h7l4 3h7M3 18h7l4-3h7",
        Tool::Slots => "M2 8h20v8H2zM6 10v4M10 10v4M14 10v4M18 10v4",
        Tool::Intake => "M3 14h5v6h8v-6h5M12 3v12M9 12l3 3 3-3",
        Tool::Exhaust => "M12 12V3M9 6l3-3 3 3M6 17a6 6 0 1 0 12 0 6 6 0 1 0-12 0M8 13l8 8M16 13l-8 8",
    }
}
