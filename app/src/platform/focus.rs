//! The keyboard's place: when what had it leaves the page, what took that place has it next.

use crate::effects::Kept;
use gloo::events::{EventListener, EventListenerOptions};
use gloo::utils::document;
use std::cell::{Cell, RefCell};
use wasm_bindgen::JsCast;
use web_sys::{Element, HtmlElement};

const TAKES_IT: &str = "button:not([disabled]),input,select,textarea,[tabindex=\"0\"]";

thread_local! {
    /// What had the keyboard last, and all that it stood in, each with its number among its neighbours.
    static LAST: RefCell<Vec<(Element, u32)>> = const { RefCell::new(Vec::new()) };
    /// What was done last was done by key. A hand needs no place, and a finger would call up the keys on the screen.
    static BY_KEY: Cell<bool> = const { Cell::new(false) };
}

/// Follows the keyboard from now on.
pub fn watch() {
    let follow = |event: &web_sys::Event| {
        let mut here = event.target().and_then(|target| target.dyn_into::<Element>().ok());
        let mut last = Vec::new();
        while let Some(element) = here {
            let mut number = 0;
            let mut before = element.previous_element_sibling();
            while let Some(sibling) = before {
                number += 1;
                before = sibling.previous_element_sibling();
            }
            here = element.parent_element();
            last.push((element, number));
        }
        LAST.set(last);
    };
    let options = EventListenerOptions::run_in_capture_phase();
    EventListener::new_with_options(&document(), "focusin", options, follow).forget();
    for (event, by_key) in [("keydown", true), ("pointerdown", false)] {
        EventListener::new_with_options(&document(), event, options, move |_| BY_KEY.set(by_key)).forget();
    }
}

/// After a drawing: gives the keyboard to what is now where it was.
pub fn restore() -> Kept {
    let fallen =
        BY_KEY.get() && document().active_element().is_none_or(|element| element.tag_name() == "BODY");
    let last = LAST.take();
    let gone = last.first().is_some_and(|(element, _)| !element.is_connected());
    if !fallen || !gone {
        LAST.set(last);
        return None;
    }
    let name = last[0].0.get_attribute("data-testid");
    for pair in last.windows(2) {
        let ((_, number), (parent, _)) = (&pair[0], &pair[1]);
        if !parent.is_connected() {
            continue;
        }
        let mut next = parent.first_element_child();
        for _ in 0..*number {
            next = next.and_then(|next| next.next_element_sibling().or(Some(next)));
        }
        let find = |within: &Element, what: &str| {
            if within.matches(what).unwrap_or(false) {
                return Some(within.clone());
            }
            within.query_selector(what).ok().flatten()
        };
        // The same field of another item first, then the board's own place, then whatever is next.
        let found = name.as_ref().and_then(|name| find(parent, &format!("[data-testid=\"{name}\"]")));
        let found = found.or_else(|| find(parent.closest(".board").ok().flatten().as_ref()?, "canvas"));
        let found = found.or_else(|| find(next.as_ref()?, TAKES_IT));
        if let Some(found) = found.and_then(|found| found.dyn_into::<HtmlElement>().ok()) {
            let _ = found.focus();
            break;
        }
    }
    None
}
