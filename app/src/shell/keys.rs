//! Keys that work anywhere on the page.

use crate::command::Command;
use crate::edit::{Edit, ItemKind, kind_of};
use crate::session::Session;
use wasm_bindgen::JsCast;
use web_sys::{Element, HtmlElement, KeyboardEvent};

/// What a key asks for.
pub enum Asked {
    /// A command.
    Do(Command),
    /// Save to a file.
    Save,
    /// Open a file.
    Open,
}

/// What `event` asks for; none where the key belongs to what has the focus.
pub fn asked(event: &KeyboardEvent, session: &Session) -> Option<Asked> {
    let target = event.target().and_then(|target| target.dyn_into::<Element>().ok());
    let typing = target.as_ref().is_some_and(is_text);
    let modifier = event.ctrl_key() || event.meta_key();
    if modifier && !event.alt_key() {
        return match (event.key().to_lowercase().as_str(), event.shift_key()) {
            ("s", false) => Some(Asked::Save),
            ("o", false) => Some(Asked::Open),
            // A field being typed in has its own undo.
            ("z", false) if !typing => Some(Asked::Do(Command::Undo)),
            ("z", true) | ("y", false) if !typing => Some(Asked::Do(Command::Redo)),
            _ => None,
        };
    }
    if !typing && matches!(event.key().as_str(), "Delete" | "Backspace") {
        let id = session.selection.clone()?;
        let can_go = !matches!(kind_of(&session.plan, &id)?, ItemKind::Heater | ItemKind::Slot(_));
        return can_go.then_some(Asked::Do(Command::Edit(Edit::Delete(id))));
    }
    None
}

fn is_text(element: &Element) -> bool {
    let tag = element.tag_name();
    let range = element.get_attribute("type").is_some_and(|kind| kind == "range" || kind == "file");
    (matches!(tag.as_str(), "INPUT") && !range)
        || matches!(tag.as_str(), "TEXTAREA" | "SELECT")
        || element.dyn_ref::<HtmlElement>().is_some_and(HtmlElement::is_content_editable)
}
