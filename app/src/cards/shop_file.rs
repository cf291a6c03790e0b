//! The shop record by itself: saved to a file, and taken from one or from another plan.

use super::ViewProps;
use crate::command::Command;
use crate::edit::Edit;
use crate::platform::files;
use crate::session::Notice;
use engine::plan::{take_shop, write_shop};
use gloo::file::File;
use gloo::file::callbacks::FileReader;
use web_sys::HtmlInputElement;
use yew::prelude::*;

/// Saves the shop record and takes another.
#[component]
pub fn ShopFile(props: &ViewProps) -> Html {
    let ViewProps { session, dispatch } = props;
    let reader = use_mut_ref(|| None::<FileReader>);
    let pick = {
        let (session, dispatch) = (session.clone(), dispatch.clone());
        Callback::from(move |event: Event| {
            let Some(input) = event.target_dyn_into::<HtmlInputElement>() else { return };
            if let Some(picked) = input.files().and_then(|files| files.get(0)) {
                let (plan, dispatch) = (session.plan.clone(), dispatch.clone());
                let done = move |name: String, text: Result<&str, String>| {
                    let taken =
                        text.and_then(|text| take_shop(&plan, text).map_err(|error| error.to_string()));
                    let notice = match taken {
                        Ok(with) => {
                            dispatch.emit(Edit::Shop(Box::new(with.shop)).into());
                            Notice::news(format!(
                                "Shop record of {name} taken; speed limits of places stay as they were. Undo brings yours back."
                            ))
                        }
                        Err(reason) => Notice::alert(format!(
                            "No shop record taken from {name}: {reason}. Yours is as it was."
                        )),
                    };
                    dispatch.emit(Command::Tell(notice));
                };
                *reader.borrow_mut() = files::read(&File::from(picked), Box::new(done));
            }
            // So that the same file can be picked again.
            input.set_value("");
        })
    };
    let save = {
        let (session, dispatch) = (session.clone(), dispatch.clone());
        Callback::from(move |_: MouseEvent| {
            let saved = files::save_as("shop-record.json".to_owned(), &write_shop(&session.plan));
            dispatch.emit(Command::Tell(match saved {
                Ok(name) => Notice::news(format!("Shop record saved to {name}.")),
                Err(reason) => Notice::alert(format!("Shop record not saved: {reason}.")),
            }));
        })
    };
    html! {
        <p class="buttons">
            <button type="button" data-testid="shop-save" onclick={save}>{ "Save shop record" }</button>
            <label class="button" title="From a shop record's file, or from another plan's">{ "Take one from a file" }
                <input type="file" class="unseen" accept=".json,application/json" data-testid="shop-open"
                    aria-label="Take the shop record of a file" onchange={pick} />
            </label>
        </p>
    }
}
