//! A link that carries the plan, and its QR code.

use crate::platform::links;
use engine::plan::Plan;
use qrcodegen::{QrCode, QrCodeEcc};
use std::fmt::Write;
use std::rc::Rc;
use wasm_bindgen_futures::{JsFuture, spawn_local};
use web_sys::HtmlInputElement;
use yew::prelude::*;

/// What is shared.
#[derive(Properties, PartialEq)]
pub struct ShareProps {
    /// The plan.
    pub plan: Rc<Plan>,
}

/// The link, or why there is none.
#[component]
pub fn Share(props: &ShareProps) -> Html {
    let link = use_state_eq(|| None::<Result<String, String>>);
    let copied = use_state_eq(|| false);
    {
        let (link, copied) = (link.clone(), copied.clone());
        use_effect_with(props.plan.clone(), move |plan| {
            let plan = plan.clone();
            copied.set(false);
            spawn_local(async move { link.set(Some(links::write(&plan).await)) });
        });
    }
    let address = match link.as_ref() {
        None => return html! { <p>{ "Making the link …" }</p> },
        Some(Err(reason)) => return html! { <p role="alert" data-testid="link-refused">{ reason }</p> },
        Some(Ok(address)) => address,
    };
    let copy = {
        let (address, copied) = (address.clone(), copied.clone());
        Callback::from(move |_: MouseEvent| {
            let copied = copied.clone();
            let promise = gloo::utils::window().navigator().clipboard().write_text(&address);
            // Where it is refused the field still holds the link.
            spawn_local(async move { copied.set(JsFuture::from(promise).await.is_ok()) });
        })
    };
    let mark = Callback::from(|event: FocusEvent| {
        if let Some(field) = event.target_dyn_into::<HtmlInputElement>() {
            field.select();
        }
    });
    html! {
        <div class="share">
            <input type="text" readonly=true aria-label="Link to this plan" data-testid="link" value={address.clone()} onfocus={mark} />
            <button type="button" data-testid="link-copy" onclick={copy}>{ if *copied { "Copied" } else { "Copy the link" } }</button>
            <p>{ "The link holds the whole plan as it is now. Who opens it has a copy; nothing passes through a server." }</p>
            { code(address) }
        </div>
    }
}

/// The link as a QR code, to be read from the screen; a sentence where it does not fit.
fn code(text: &str) -> Html {
    let Ok(code) = QrCode::encode_text(text, QrCodeEcc::Low) else {
        return html! { <p data-testid="qr-refused">{ "The link is too long for a QR code: send the link or the file." }</p> };
    };
    let size = code.size();
    // Four modules of quiet around it, as readers want.
    let view_box = format!("-4 -4 {0} {0}", size + 8);
    html! {
        <svg class="qr" viewBox={view_box} role="img" aria-label="QR code of the link" data-testid="qr" shape-rendering="crispEdges">
            <path fill="#fff" d={format!("M-4-4h{0}v{0}h-{0}z", size + 8)} />
            <path fill="#000" d={path(&code)} />
        </svg>
    }
}

/// The dark modules, one rectangle for each run in a row.
fn path(code: &QrCode) -> String {
    let mut path = String::new();
    for y in 0..code.size() {
        let mut x = 0;
        while x < code.size() {
            let start = x;
            while code.get_module(x, y) {
                x += 1;
            }
            if x > start {
                // Writing to a string cannot fail.
                let _ = write!(path, "M{start} {y}h{0}v1h-{0}z", x - start);
            }
            x += 1;
        }
    }
    path
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_dark_module_is_drawn_and_no_other() {
        let code = QrCode::encode_text("https://example.test/#plan=abc", QrCodeEcc::Low).unwrap();
        let dark: usize =
            (0..code.size()).map(|y| (0..code.size()).filter(|x| code.get_module(*x, y)).count()).sum();
        let drawn: usize = path(&code)
            .split('h')
            .skip(1)
            .filter_map(|part| part.split_once('v')?.0.parse::<usize>().ok())
            .sum();
        assert_eq!(drawn, dark);
    }
}
