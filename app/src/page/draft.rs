//! The draft in this browser's storage: it follows the plan, and tells the tabs apart.

use crate::command::Command;
use crate::effects::{On, act, use_effect_on};
use crate::latest::Latest;
use crate::platform::storage::Store;
use crate::platform::tabs::Tabs;
use crate::session::{SaveState, Session};
use crate::starter;
use gloo::events::{EventListener, EventListenerOptions};
use gloo::timers::callback::Timeout;
use js_sys::Reflect;
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
    {
        let (store, dispatch, latest) = (store.clone(), dispatch.clone(), latest.clone());
        let (tabs, generation) = (tabs.clone(), session.generation);
        use_effect_on(
            On::Numbers(generation, 0),
            act(move || {
                // What was just loaded is kept already.
                let timer = (generation > 1).then(|| {
                    Timeout::new(DRAFT_DELAY_MS, move || {
                        let session = latest.get();
                        // Several tabs may have heard that the draft is free.
                        if let (SaveState::Freed(_), Some(tabs)) = (&session.saved, tabs.borrow().as_ref()) {
                            tabs.claim_again();
                        }
                        if session.may_keep() {
                            keep(&store, &session, &dispatch);
                        }
                    })
                });
                Some(Box::new(timer))
            }),
        );
    }
    let (store, dispatch, latest) = (store.clone(), dispatch.clone(), latest.clone());
    let line = tabs.clone();
    use_effect_on(
        On::Start,
        act(move || {
            *line.borrow_mut() = Tabs::claim({
                let (store, dispatch) = (store.clone(), dispatch.clone());
                move |freed| {
                    dispatch.emit(if freed {
                        // What it has written last is not this tab's to write over before it is on the shelf.
                        store.take_over();
                        Command::Freed
                    } else {
                        Command::SetSaved(SaveState::OtherTab)
                    });
                }
            });
            let (window, document) = (gloo::utils::window(), gloo::utils::document());
            let aside = EventListener::new(&document, "visibilitychange", {
                let latest = latest.clone();
                move |_| {
                    let session = latest.get();
                    let hidden = gloo::utils::document().hidden();
                    // Even when it is in a file: what comes back after a reload is the draft.
                    if hidden && session.generation > 1 && session.may_keep() {
                        keep(&store, &session, &dispatch);
                    }
                }
            });
            let options = EventListenerOptions::enable_prevent_default();
            let leaving = EventListener::new_with_options(&window, "beforeunload", options, {
                let latest = latest.clone();
                move |event| {
                    if is_unkept(&latest.get())
                        && let Some(event) = event.dyn_ref::<BeforeUnloadEvent>()
                    {
                        event.prevent_default();
                        event.set_return_value("The newest changes are not kept yet.");
                    }
                }
            });
            let gone = EventListener::new(&window, "pagehide", move |event| {
                // One that the browser may bring back keeps its claim.
                let comes_back =
                    Reflect::get(event, &"persisted".into()).is_ok_and(|value| value.is_truthy());
                if let Some(tabs) = line.borrow().as_ref()
                    && !comes_back
                    && latest.get().saved != SaveState::OtherTab
                {
                    tabs.release();
                }
            });
            Some(Box::new([aside, leaving, gone]))
        }),
    );
    tabs
}

/// Whether leaving now would lose something the user made.
fn is_unkept(session: &Session) -> bool {
    match &session.saved {
        _ if session.in_file == session.generation => false,
        SaveState::Kept(generation) | SaveState::InFile(generation) => *generation < session.generation,
        SaveState::NotKept(_) | SaveState::OtherTab | SaveState::Freed(_) => session.generation > 1,
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
        let (store, last, document) = (store.clone(), last.clone(), session.document);
        use_effect_on(
            On::Numbers(document, 0),
            act(move || {
                // Known from now on, whatever is opened next.
                store.key(document);
                let gone = last.borrow().clone();
                // The demonstration is there anyway.
                let made = gone.document != document && *gone.plan != starter::demo();
                if made && gone.may_keep() {
                    spawn_local(async move {
                        // Undo still has it, and the chip tells when storage fails.
                        let _ = store.put_plan(gone.document, &gone.plan).await;
                    });
                }
                None
            }),
        );
    }
    // After the effect above, which wants the session before this one.
    let session = session.clone();
    use_effect_on(
        On::Drawing,
        act(move || {
            *last.borrow_mut() = session;
            None
        }),
    );
}
