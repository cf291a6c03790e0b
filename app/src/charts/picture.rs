//! The frame of every picture: the drawing, its numbers as a table, and a button that saves it as an image.

use crate::platform::files;
use gloo::utils::document;
use wasm_bindgen::JsCast;
use web_sys::{Element, HtmlCanvasElement};
use yew::prelude::*;

/// The canvas `plot` in its frame, over `table`, the same in numbers, which is folded away under `summary`.
///
/// A saved picture has its `name` too.
pub fn picture(name: &'static str, plot: Html, summary: &'static str, table: Html) -> Html {
    html! {
        <figure class="fan-chart" aria-label={name}>
            { plot }
            <div class="picture-foot">
                <details class="strip-table">
                    <summary>{ summary }</summary>
                    <div class="strip-tables">{ table }</div>
                </details>
                { save_button(&name.into()) }
            </div>
        </figure>
    }
}

/// Saves the canvas of the figure or section around the button as an image.
pub fn save_button(name: &AttrValue) -> Html {
    let onclick = {
        let name = name.clone();
        Callback::from(move |event: MouseEvent| {
            let canvas = event
                .target_dyn_into::<Element>()
                .and_then(|button| button.closest("figure, section").ok()?)
                .and_then(|frame| frame.query_selector("canvas").ok()?)
                .and_then(|canvas| canvas.dyn_into::<HtmlCanvasElement>().ok());
            if let Some(address) = canvas.and_then(|canvas| canvas.to_data_url().ok()) {
                let name = format!("{}-{}.png", document().title(), name);
                files::download(&address, &files::plain_name(&name));
            }
        })
    };
    html! {
        <button type="button" class="mini save-picture" title="Save as an image" aria-label={format!("Save {name} as an image")} {onclick}>
            { "⤓" }
        </button>
    }
}

/// A table of numbers under a picture.
pub fn numbers(caption: &str, head: &[String], rows: impl IntoIterator<Item = Vec<String>>) -> Html {
    let rows = rows.into_iter().enumerate().map(|(i, row)| {
        html! { <tr key={i}>{ for row.into_iter().map(|cell| html! { <td>{ cell }</td> }) }</tr> }
    });
    html! {
        <table>
            <caption>{ caption.to_owned() }</caption>
            <thead><tr>{ for head.iter().map(|cell| html! { <th scope="col">{ cell }</th> }) }</tr></thead>
            <tbody>{ for rows }</tbody>
        </table>
    }
}
