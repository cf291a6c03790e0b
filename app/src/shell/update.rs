//! A newer version of the page waits (see `offline.js`): it takes over when the user says so, and the
//! draft is written first.

use crate::command::Command;
use crate::effects::{On, act, use_effect_on};
use crate::platform::storage::Store;
use crate::session::{SaveState, Session};
use gloo::events::EventListener;
use std::rc::Rc;
use wasm_bindgen_futures::spawn_local;
use yew::prelude::*;

/// What the notice is given.
#[derive(Clone, Properties, PartialEq)]
pub struct UpdateProps {
    /// The session shown.
    pub session: Rc<Session>,
    /// Takes commands.
    pub dispatch: Callback<Command>,
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
        use_effect_on(
            On::Start,
            act(move || {
                let listener = EventListener::new(&gloo::utils::window(), "evenrise:update", {
                    let found = found.clone();
                    move |_| found.set(state())
                });
                // It may have been said between the first drawing and now.
                found.set(state());
                Some(Box::new(listener))
            }),
        );
    }
    let replaced = match found.as_deref() {
        Some("ready") => false,
        Some("replaced") => true,
        _ => return html! {},
    };
    let onclick = {
        let UpdateProps { session, dispatch, store } = props.clone();
        Callback::from(move |_: MouseEvent| {
            let (session, dispatch, store) = (session.clone(), dispatch.clone(), store.clone());
            spawn_local(async move {
                // Without storage the page asks before it is left.
                if session.may_keep() && store.keep(session.document, &session.plan).await.is_ok() {
                    dispatch.emit(Command::SetSaved(SaveState::Kept(session.generation)));
                }
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
