//! Opening and saving files.

use crate::command::Command;
use crate::platform::files;
use crate::platform::storage::Store;
use crate::session::{Notice, SaveState, Session};
use crate::shell::panel::is_unfinished;
use crate::shell::plans::Plans;
use engine::plan::file;
use gloo::file::File;
use gloo::file::callbacks::FileReader;
use std::cell::RefCell;
use std::rc::Rc;
use web_sys::{HtmlElement, HtmlInputElement};
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

/// Opens, saves, and holds the menu of plans.
#[component]
pub fn FileMenu(props: &FileMenuProps) -> Html {
    let FileMenuProps { session, dispatch, store } = props;
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
    let close = {
        let open = open.clone();
        Callback::from(move |()| open.set(false))
    };
    let toggle = {
        let open = open.clone();
        Callback::from(move |_: MouseEvent| open.set(!*open))
    };
    let button = use_node_ref();
    let keys = {
        let (open, button) = (open.clone(), button.clone());
        Callback::from(move |event: KeyboardEvent| {
            if event.key() == "Escape" && *open {
                event.stop_propagation();
                open.set(false);
                if let Some(button) = button.cast::<HtmlElement>() {
                    let _ = button.focus();
                }
            }
        })
    };
    html! {
        <div class="files" onkeydown={keys}>
            <label class="button" title="Open a plan file (Ctrl O); dropping one on the page does the same">{ "Open" }
                <input type="file" class="unseen" accept=".json,application/json" data-testid="file-open" id="file-open"
                    aria-label="Open a plan file" onchange={pick} />
            </label>
            <button type="button" data-testid="file-save" title="Save the plan to a file (Ctrl S)" onclick={save}>{ "Save" }</button>
            <button ref={button} type="button" class="icon" aria-label="More about plans" aria-expanded={open.to_string()} aria-controls="file-menu"
                data-testid="file-menu" onclick={toggle}>{ "⋯" }</button>
            <div class="menu" id="file-menu" hidden={!*open}>
                if *open {
                    <Plans key="plans" session={session.clone()} dispatch={dispatch.clone()} store={store.clone()} {close} />
                }
            </div>
        </div>
    }
}

/// Reads a file and puts its plan in place of the present one, or says why not.
pub fn read_into(file: File, dispatch: &Callback<Command>, keep: &Rc<RefCell<Option<FileReader>>>) {
    let dispatch = dispatch.clone();
    let done = move |name: String, text: Result<&str, String>| match text
        .and_then(|text| file::read(text).map_err(|error| error.to_string()))
    {
        Ok(plan) => {
            let label = format!("Open {name}");
            // A plan that is only begun is no mistake; one with a mistake in it must not push out a good one.
            if let Some(error) = files::why_not_calculable(&plan).filter(|_| !is_unfinished(&plan)) {
                let reason = format!("{name} was not opened: {error}. The plan you had is as it was.");
                let saved = SaveState::InFile(0);
                dispatch.emit(Command::Offer { plan: Box::new(plan), label, reason, saved });
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
    };
    *keep.borrow_mut() = files::read(&file, Box::new(done));
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
