//! The frame of every picture: the drawing, its numbers as a table, and a button that saves it as an image.

use crate::platform::files;
use gloo::utils::document;
use wasm_bindgen::JsCast;
use web_sys::{Element, HtmlCanvasElement};
use yew::prelude::*;

/// What a picture is made of.
#[derive(PartialEq, Properties)]
pub struct PictureProps {
    /// What it is called; the file too.
    pub name: AttrValue,
    /// For the style sheet.
    #[prop_or("picture".into())]
    pub class: AttrValue,
    /// The canvas.
    pub plot: Html,
    /// What the table is called while it is folded.
    pub summary: AttrValue,
    /// The same in numbers.
    pub table: Html,
}

/// A picture in its frame.
#[component]
pub fn Picture(props: &PictureProps) -> Html {
    html! {
        <figure class={props.class.clone()} aria-label={props.name.clone()}>
            { props.plot.clone() }
            <div class="picture-foot">
                <details class="strip-table">
                    <summary>{ &props.summary }</summary>
                    <div class="strip-tables">{ props.table.clone() }</div>
                </details>
                { save_button(&props.name) }
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
