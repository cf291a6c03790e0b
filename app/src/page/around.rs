//! The page around the views: title and colours, what scrolls into sight, keys, links, dropped files.

use super::{from_link, look_only};
use crate::charts::theme::{SystemTheme, set_shade, system_is_dark};
use crate::command::Command;
use crate::effects::{On, act, use_effect_on};
use crate::latest::Latest;
use crate::platform::links;
use crate::platform::preferences::{self, Preferences};
use crate::session::{Notice, SaveState, Session, Theme};
use crate::shell::keys::{self, Asked};
use crate::shell::menu;
use gloo::events::{EventListener, EventListenerOptions};
use gloo::file::File;
use std::cell::RefCell;
use std::rc::Rc;
use wasm_bindgen::JsCast;
use wasm_bindgen_futures::spawn_local;
use web_sys::{HtmlElement, KeyboardEvent};
use yew::prelude::*;

/// Theme and units take effect and are remembered.
#[hook]
pub(super) fn use_looks(session: &Session) {
    let (units, theme) = (session.view.units, session.view.theme);
    use_effect_on(
        On::Numbers(units as u64, theme as u64),
        act(move || {
            let name = match theme {
                Theme::System => "system",
                Theme::Light => "light",
                Theme::Dark => "dark",
            };
            if let Some(root) = gloo::utils::document().document_element() {
                // Failing to set an attribute leaves the colours as they are.
                let _ = root.set_attribute("data-theme", name);
            }
            let shade = move |paper: bool| {
                set_shade(!paper && (theme == Theme::Dark || (theme == Theme::System && system_is_dark())));
            };
            shade(false);
            preferences::save(Preferences { units, theme });
            let watch = SystemTheme::watch(shade);
            Some(Box::new(watch))
        }),
    );
    let name = AttrValue::from(session.plan.name.clone());
    use_effect_on(
        On::Words(name.clone()),
        act(move || {
            gloo::utils::document().set_title(&if name.is_empty() {
                "Evenrise".to_owned()
            } else {
                format!("{name} · Evenrise")
            });
            None
        }),
    );
}

/// What is newly selected shows its card, unless somebody works further down in the same column.
#[hook]
pub(super) fn use_card_in_sight(session: &Session) {
    let selection = session.selection.clone();
    use_effect_on(
        On::Words(selection.clone().unwrap_or_default().into()),
        act(move || {
            let document = gloo::utils::document();
            let side = document.get_element_by_id("card-side").filter(|_| selection.is_some())?;
            if !side.contains(document.active_element().as_deref()) {
                side.set_scroll_top(0);
            }
            None
        }),
    );
}

/// A step that is gone to shows its panel, below whatever card is open.
#[hook]
pub(super) fn use_panel_in_sight(session: &Session) {
    let first = use_mut_ref(|| true);
    use_effect_on(
        On::Numbers(session.view.step as u64, 0),
        act(move || {
            if std::mem::take(&mut *first.borrow_mut()) {
                return None;
            }
            let document = gloo::utils::document();
            let side = document.get_element_by_id("card-side");
            let panel = document.get_element_by_id("panel");
            if let (Some(side), Some(panel)) = (side, panel) {
                let down = panel.get_bounding_client_rect().top() - side.get_bounding_client_rect().top();
                side.set_scroll_top(side.scroll_top() + down as i32);
            }
            None
        }),
    );
}

#[hook]
pub(super) fn use_page_keys(latest: &Latest, dispatch: &Callback<Command>) {
    let (latest, dispatch) = (latest.clone(), dispatch.clone());
    use_effect_on(
        On::Start,
        act(move || {
            let options = EventListenerOptions::enable_prevent_default();
            let window = gloo::utils::window();
            let keys = EventListener::new_with_options(&window, "keydown", options, move |event| {
                let Some(event) = event.dyn_ref::<KeyboardEvent>() else { return };
                if event.default_prevented() {
                    return;
                }
                let session = latest.get();
                let Some(asked) = keys::asked(event, &session) else { return };
                event.prevent_default();
                match asked {
                    Asked::Do(command) => {
                        let looks = session.as_before().is_some();
                        dispatch.emit(if looks { look_only(command) } else { command });
                    }
                    Asked::Save => {
                        // What is being typed belongs to the plan; the field has the keyboard again after.
                        let field = gloo::utils::document().active_element();
                        let field = field.and_then(|field| field.dyn_into::<HtmlElement>().ok());
                        let field = field.filter(|field| keys::is_text(field));
                        if let Some(field) = &field {
                            let _ = field.blur();
                        }
                        menu::save_file(&latest.get(), &dispatch);
                        if let Some(field) = &field {
                            let _ = field.focus();
                        }
                    }
                    Asked::Open => {
                        let input = gloo::utils::document().get_element_by_id("file-open");
                        if let Some(input) = input.and_then(|input| input.dyn_into::<HtmlElement>().ok()) {
                            input.click();
                        }
                    }
                }
            });
            Some(Box::new(keys))
        }),
    );
}

/// A link that the page was opened with, or that is pasted over the address of the open page.
#[hook]
pub(super) fn use_link(session: &Session, dispatch: &Callback<Command>) {
    let dispatch = dispatch.clone();
    use_effect_on(
        On::Start,
        act(move || {
            let listener = EventListener::new(&gloo::utils::window(), "hashchange", move |_| {
                let dispatch = dispatch.clone();
                spawn_local(async move {
                    if let Some(linked) = links::look().await {
                        if linked.is_err() {
                            links::take_out();
                        }
                        dispatch.emit(from_link(linked));
                    }
                });
            });
            Some(Box::new(listener))
        }),
    );
    // Until its plan is kept or put away, loading the page again brings it again.
    let done =
        session.offered.is_none() && matches!(session.saved, SaveState::Kept(1..) | SaveState::InFile(_));
    use_effect_on(
        On::Numbers(u64::from(done), 0),
        act(move || {
            if done {
                links::take_out();
            }
            None
        }),
    );
}

/// A plan file dropped anywhere on the page is opened.
#[hook]
pub(super) fn use_file_drop(dispatch: &Callback<Command>) {
    let dispatch = dispatch.clone();
    use_effect_on(
        On::Start,
        act(move || {
            let options = EventListenerOptions::enable_prevent_default();
            let document = gloo::utils::document();
            let reader = Rc::new(RefCell::new(None));
            let over = EventListener::new_with_options(&document, "dragover", options, |event| {
                event.prevent_default()
            });
            let drop_file = EventListener::new_with_options(&document, "drop", options, move |event| {
                event.prevent_default();
                let transfer = event.dyn_ref::<DragEvent>().and_then(DragEvent::data_transfer);
                match transfer.and_then(|transfer| transfer.files()).and_then(|files| files.get(0)) {
                    Some(file) => menu::read_into(File::from(file), &dispatch, &reader),
                    None => dispatch
                        .emit(Command::Tell(Notice::alert("What was dropped is no file; drop a plan file."))),
                }
            });
            Some(Box::new((over, drop_file)))
        }),
    );
}
