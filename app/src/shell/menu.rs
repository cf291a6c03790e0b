//! Opening, saving, beginning anew, and plans that another took the place of.

use crate::command::Command;
use crate::platform::files;
use crate::platform::storage::{Shelved, Store};
use crate::session::{Notice, SaveState, Session};
use crate::shell::panel::is_unfinished;
use crate::starter;
use engine::plan::Plan;
use gloo::file::File;
use gloo::file::callbacks::FileReader;
use std::cell::RefCell;
use std::rc::Rc;
use wasm_bindgen_futures::spawn_local;
use web_sys::HtmlInputElement;
use yew::prelude::*;

/// What the file menu is given.
#[derive(Properties, PartialEq)]
pub struct FileMenuProps {
    /// The session shown.
    pub session: Rc<Session>,
    /// Takes commands.
    pub dispatch: Callback<Command>,
    /// Where plans are kept.
    pub store: Store,
}

/// Opens, saves, begins anew.
#[component]
pub fn FileMenu(props: &FileMenuProps) -> Html {
    let FileMenuProps { session, dispatch, store } = props;
    let shelf = use_state(Vec::<Shelved>::new);
    let open = use_state_eq(|| false);
    let reader = use_mut_ref(|| None::<FileReader>);

    let pick = {
        let (dispatch, reader) = (dispatch.clone(), reader.clone());
        Callback::from(move |event: Event| {
            let Some(input) = event.target_dyn_into::<HtmlInputElement>() else { return };
            if let Some(file) = input.files().and_then(|files| files.get(0)) {
                read_into(File::from(file), &dispatch, &reader);
            }
            // So that the same file can be picked again.
            input.set_value("");
        })
    };
    let save = {
        let (dispatch, session) = (dispatch.clone(), session.clone());
        Callback::from(move |_: MouseEvent| save_file(&session, &dispatch))
    };
    let begin = |plan: fn() -> Plan, label: &'static str| {
        let (dispatch, open) = (dispatch.clone(), open.clone());
        Callback::from(move |_: MouseEvent| {
            open.set(false);
            dispatch.emit(Command::ReplacePlan {
                plan: Box::new(plan()),
                label: label.into(),
                saved: SaveState::Kept(0),
            });
        })
    };
    let toggle = {
        let (open, shelf, store) = (open.clone(), shelf.clone(), store.clone());
        Callback::from(move |_: MouseEvent| {
            open.set(!*open);
            let (shelf, store) = (shelf.clone(), store.clone());
            spawn_local(async move {
                // Without storage there is no shelf, and the chip says so already.
                if let Ok(plans) = store.shelf().await {
                    shelf.set(plans);
                }
            });
        })
    };
    let keys = {
        let open = open.clone();
        Callback::from(move |event: KeyboardEvent| {
            if event.key() == "Escape" && *open {
                event.stop_propagation();
                open.set(false);
            }
        })
    };
    let shelved = shelf.iter().map(|kept| {
        let (dispatch, open, plan) = (dispatch.clone(), open.clone(), kept.plan.clone());
        let name = if plan.name.is_empty() { "Unnamed oven".to_owned() } else { plan.name.clone() };
        let when = js_sys::Date::new(&(kept.sequence as f64).into());
        let when = String::from(when.to_locale_string("default", &wasm_bindgen::JsValue::UNDEFINED));
        let label = format!("Open {name} again");
        let onclick = Callback::from(move |_: MouseEvent| {
            open.set(false);
            dispatch.emit(Command::ReplacePlan {
                plan: Box::new((*plan).clone()),
                label: label.clone(),
                saved: SaveState::Kept(0),
            });
        });
        html! { <li key={kept.sequence.to_string()}><button type="button" {onclick}>{ name }<small>{ when }</small></button></li> }
    });
    html! {
        <div class="files" onkeydown={keys}>
            <label class="button" title="Open a plan file (Ctrl O); dropping one on the page does the same">{ "Open" }
                <input type="file" class="unseen" accept=".json,application/json" data-testid="file-open" id="file-open"
                    aria-label="Open a plan file" onchange={pick} />
            </label>
            <button type="button" data-testid="file-save" title="Save the plan to a file (Ctrl S)" onclick={save}>{ "Save" }</button>
            <button type="button" class="icon" aria-label="More about plans" aria-expanded={open.to_string()} aria-controls="file-menu"
                data-testid="file-menu" onclick={toggle}>{ "⋯" }</button>
            <div class="menu" id="file-menu" hidden={!*open}>
                <button type="button" data-testid="file-new" onclick={begin(starter::empty, "Begin a new plan")}>{ "New, empty plan" }</button>
                <button type="button" data-testid="file-demo" onclick={begin(starter::demo, "Open the demonstration")}>{ "Demonstration: garden gate line" }</button>
                if shelf.is_empty() {
                    <p key="none">{ "Plans that give way to another one are kept here." }</p>
                } else {
                    <p key="title">{ "Gave way to another plan" }</p>
                    <ul key="list">{ for shelved }</ul>
                }
                <p class="about">{ "Plans stay in this browser and in your files; nothing is sent anywhere." }</p>
            </div>
        </div>
    }
}

/// Reads a file and puts its plan in place of the present one, or says why not.
pub fn read_into(file: File, dispatch: &Callback<Command>, keep: &Rc<RefCell<Option<FileReader>>>) {
    let dispatch = dispatch.clone();
    let reader = files::read(&file, move |name, plan| match plan {
        Ok(plan) => {
            let label = format!("Open {name}");
            // A plan that is only begun is no mistake; one with a mistake in it must not push out a good one.
            if let Some(error) = files::why_not_calculable(&plan).filter(|_| !is_unfinished(&plan)) {
                let reason = format!("{name} was not opened: {error}. The plan you had is as it was.");
                dispatch.emit(Command::Offer { plan: Box::new(plan), label, reason });
                return;
            }
            dispatch.emit(Command::ReplacePlan { plan: Box::new(plan), label, saved: SaveState::InFile(0) });
            dispatch.emit(Command::Tell(Notice::news(format!(
                "Opened {name}. Undo brings the plan before it back."
            ))));
        }
        Err(reason) => {
            let text = format!("{name} was not opened: {reason}. The plan you had is as it was.");
            dispatch.emit(Command::Tell(Notice::alert(text)));
        }
    });
    *keep.borrow_mut() = reader;
}

/// Saves the plan to a file.
pub fn save_file(session: &Session, dispatch: &Callback<Command>) {
    match files::save(&session.plan) {
        Ok(name) => {
            dispatch.emit(Command::SetSaved(SaveState::InFile(session.generation)));
            dispatch.emit(Command::Tell(Notice::news(format!("Saved to {name}."))));
        }
        Err(reason) => dispatch.emit(Command::Tell(Notice::alert(format!("Not saved: {reason}.")))),
    }
}
