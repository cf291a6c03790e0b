//! A newer version of the page waits (see `offline.js`): it takes over when the user says so, and the
//! draft is written first.

use crate::platform::storage::Store;
use crate::session::Session;
use gloo::events::EventListener;
use std::rc::Rc;
use wasm_bindgen_futures::spawn_local;
use yew::prelude::*;

/// What the notice is given.
#[derive(Properties, PartialEq)]
pub struct UpdateProps {
    /// The session shown.
    pub session: Rc<Session>,
    /// Where plans are kept.
    pub store: Store,
}

/// What `offline.js` says of a newer version.
fn state() -> Option<String> {
    gloo::utils::document().document_element()?.get_attribute("data-update")
}

/// Offers the newer version; nothing where there is none.
#[component]
pub fn UpdateNotice(props: &UpdateProps) -> Html {
    let found = use_state_eq(state);
    {
        let found = found.clone();
        use_effect_with((), move |()| {
            let listener =
                EventListener::new(&gloo::utils::window(), "evenrise:update", move |_| found.set(state()));
            move || drop(listener)
        });
    }
    let replaced = match found.as_deref() {
        Some("ready") => false,
        Some("replaced") => true,
        _ => return html! {},
    };
    let onclick = {
        let (session, store) = (props.session.clone(), props.store.clone());
        Callback::from(move |_: MouseEvent| {
            let (session, store) = (session.clone(), store.clone());
            spawn_local(async move {
                // Without storage the page asks before it is left.
                let _ = store.keep(&session.plan).await;
                let window = gloo::utils::window();
                if replaced {
                    let _ = window.location().reload();
                } else if let Ok(event) = web_sys::Event::new("evenrise:update-accept") {
                    let _ = window.dispatch_event(&event);
                }
            });
        })
    };
    html! {
        <button type="button" class="update" data-testid="update" {onclick}
            title="The draft is written first; the page then loads again">{ "New version ready: switch" }</button>
    }
}
