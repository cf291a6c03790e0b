//! The draft in this browser's storage: it follows the plan, and tells the tabs apart.

use crate::command::Command;
use crate::latest::Latest;
use crate::platform::storage::Store;
use crate::platform::tabs::Tabs;
use crate::session::{SaveState, Session};
use crate::starter;
use gloo::events::{EventListener, EventListenerOptions};
use gloo::timers::callback::Timeout;
use std::cell::RefCell;
use std::rc::Rc;
use wasm_bindgen::JsCast;
use wasm_bindgen_futures::spawn_local;
use web_sys::BeforeUnloadEvent;
use yew::prelude::*;

/// From the last change until the draft is written, ms.
const DRAFT_DELAY_MS: u32 = 500;

/// The draft follows the plan; at once when the page is put aside. The tabs' line is handed back.
#[hook]
pub(super) fn use_draft(
    session: &Rc<Session>,
    dispatch: &Callback<Command>,
    store: &Store,
    latest: &Latest,
) -> Rc<RefCell<Option<Tabs>>> {
    let tabs = use_mut_ref(|| None::<Tabs>);
    let first = use_mut_ref(|| true);
    {
        let (tabs, dispatch) = (tabs.clone(), dispatch.clone());
        use_effect_with((), move |()| {
            *tabs.borrow_mut() = Tabs::claim(move || dispatch.emit(Command::SetSaved(SaveState::OtherTab)));
        });
    }
    {
        let (store, dispatch, latest) = (store.clone(), dispatch.clone(), latest.clone());
        use_effect_with(session.generation, move |_| {
            // What was just loaded is kept already.
            let timer = (!std::mem::take(&mut *first.borrow_mut())).then(|| {
                Timeout::new(DRAFT_DELAY_MS, move || {
                    let session = latest.get();
                    if session.saved != SaveState::OtherTab {
                        keep(&store, &session, &dispatch);
                    }
                })
            });
            move || drop(timer)
        });
    }
    {
        let (store, dispatch, latest) = (store.clone(), dispatch.clone(), latest.clone());
        use_effect_with((), move |()| {
            let document = gloo::utils::document();
            let aside = EventListener::new(&document, "visibilitychange", move |_| {
                let session = latest.get();
                let hidden = gloo::utils::document().hidden();
                // Even when it is in a file: what comes back after a reload is the draft.
                if hidden && session.generation > 1 && session.saved != SaveState::OtherTab {
                    keep(&store, &session, &dispatch);
                }
            });
            move || drop(aside)
        });
    }
    {
        let latest = latest.clone();
        use_effect_with((), move |()| {
            let options = EventListenerOptions::enable_prevent_default();
            let window = gloo::utils::window();
            let leaving = EventListener::new_with_options(&window, "beforeunload", options, move |event| {
                if is_unkept(&latest.get())
                    && let Some(event) = event.dyn_ref::<BeforeUnloadEvent>()
                {
                    event.prevent_default();
                    event.set_return_value("The newest changes are not kept yet.");
                }
            });
            move || drop(leaving)
        });
    }
    tabs
}

/// Whether leaving now would lose something the user made.
fn is_unkept(session: &Session) -> bool {
    match &session.saved {
        SaveState::Kept(generation) | SaveState::InFile(generation) => *generation < session.generation,
        SaveState::NotKept(_) | SaveState::OtherTab => session.generation > 1,
    }
}

/// Writes the draft and says how it went.
pub(super) fn keep(store: &Store, session: &Rc<Session>, dispatch: &Callback<Command>) {
    let (store, session, dispatch) = (store.clone(), session.clone(), dispatch.clone());
    spawn_local(async move {
        let saved = match store.keep(session.document, &session.plan).await {
            Ok(()) if session.saved == SaveState::InFile(session.generation) => return,
            Ok(()) => SaveState::Kept(session.generation),
            Err(reason) => SaveState::NotKept(reason),
        };
        dispatch.emit(Command::SetSaved(saved));
    });
}

/// A plan that another one takes the place of is kept in its own place, so that it outlives the history.
#[hook]
pub(super) fn use_shelf(session: &Rc<Session>, store: &Store) {
    let last = use_mut_ref(|| session.clone());
    {
        let (store, last) = (store.clone(), last.clone());
        use_effect_with(session.document, move |&document| {
            // Known from now on, whatever is opened next.
            store.key(document);
            let gone = last.borrow().clone();
            // The demonstration is there anyway.
            let made = gone.document != document && *gone.plan != starter::demo();
            if made && gone.saved != SaveState::OtherTab {
                spawn_local(async move {
                    // Undo still has it, and the chip tells when storage fails.
                    let _ = store.put_plan(gone.document, &gone.plan).await;
                });
            }
        });
    }
    // After the effect above, which wants the session before this one.
    use_effect_with(session.clone(), move |session| *last.borrow_mut() = session.clone());
}
