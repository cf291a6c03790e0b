//! Keys that work anywhere on the page.

use crate::command::Command;
use crate::edit::{Edit, GroupEdit, ItemKind, can_move, kind_of};
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
        return match (event.key().to_ascii_lowercase().as_str(), event.shift_key()) {
            ("s", false) => Some(Asked::Save),
            ("o", false) => Some(Asked::Open),
            // A field being typed in has its own undo.
            ("z", false) if !typing => Some(Asked::Do(Command::Undo)),
            ("z", true) | ("y", false) if !typing => Some(Asked::Do(Command::Redo)),
            ("a", false) if !typing => all_or_again(true, session).map(Asked::Do),
            ("d", false) if !typing => all_or_again(false, session).map(Asked::Do),
            _ => None,
        };
    }
    // A list goes to what is typed.
    if typing || target.is_some_and(|target| target.tag_name() == "SELECT") {
        return None;
    }
    if event.key() == "?" {
        return Some(Asked::Do(Command::ShowKeys(!session.view.keys)));
    }
    if matches!(event.key().as_str(), "Delete" | "Backspace") {
        let stays = |id: &&str| {
            !matches!(kind_of(&session.plan, id), None | Some(ItemKind::Heater | ItemKind::Slot(_)))
        };
        let mut ids: Vec<String> = session.selected().filter(stays).map(str::to_owned).collect();
        let edit = match ids.len() {
            0 => return None,
            1 => Edit::Delete(ids.remove(0)),
            _ => Edit::Group { ids, edit: GroupEdit::Delete },
        };
        return Some(Asked::Do(edit.into()));
    }
    None
}

/// All that has a place of its own, or a copy of what is selected beside it.
fn all_or_again(all: bool, session: &Session) -> Option<Command> {
    if all {
        let ids = session.plan.item_ids().filter(|id| can_move(&session.plan, id));
        return Some(Command::SelectAll(ids.map(str::to_owned).collect()));
    }
    let ids: Vec<String> =
        session.selected().filter(|id| can_move(&session.plan, id)).map(str::to_owned).collect();
    let by = crate::board::tools::snap::grid_m(session.view.units) * 10.0;
    let edit = GroupEdit::Repeat { copies: 1, dx_m: by, dy_m: by };
    (!ids.is_empty()).then(|| Edit::Group { ids, edit }.into())
}

/// Whether somebody types in it.
pub fn is_text(element: &Element) -> bool {
    let tag = element.tag_name();
    let kind = element.get_attribute("type").unwrap_or_default();
    (tag == "INPUT" && !matches!(kind.as_str(), "range" | "file" | "checkbox" | "radio"))
        || tag == "TEXTAREA"
        || element.dyn_ref::<HtmlElement>().is_some_and(HtmlElement::is_content_editable)
}
