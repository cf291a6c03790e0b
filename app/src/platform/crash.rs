//! A fault of ours: the plan is kept and can be saved, and nothing pretends to go on.

use super::files;
use engine::plan::{Plan, file};
use gloo::file::{Blob, ObjectUrl};
use gloo::utils::document;
use std::cell::RefCell;
use std::rc::Rc;
use wasm_bindgen::{JsCast, JsValue};
use web_sys::{Element, HtmlAnchorElement};

thread_local! {
    static LAST: RefCell<Option<Rc<Plan>>> = const { RefCell::new(None) };
}

/// The plan to hand out should the page fall.
pub fn remember(plan: &Rc<Plan>) {
    LAST.with(|last| *last.borrow_mut() = Some(plan.clone()));
}

/// From now on a fault shows a dialog from which the plan can be saved.
pub fn watch() {
    // By way of yew: mounting would put its own hook in place of one set past it.
    yew::set_custom_panic_hook(Box::new(|info| {
        let text = info.to_string();
        web_sys::console::error_1(&JsValue::from(&text));
        // Failing to draw the dialog leaves the console message and the kept draft.
        let _ = show(&text);
    }));
}

/// Built of plain links: after a fault no more of our code may run.
fn show(what: &str) -> Result<(), JsValue> {
    let document = document();
    if document.get_element_by_id("fault").is_some() {
        return Ok(());
    }
    let body = document.body().ok_or("no body")?;
    let dialog = document.create_element("dialog")?;
    dialog.set_id("fault");
    dialog.set_attribute("open", "")?;
    dialog.set_attribute("role", "alertdialog")?;
    dialog.set_attribute("aria-labelledby", "fault-title")?;
    dialog.set_attribute("data-testid", "fault")?;
    let child = |tag: &str, text: &str| -> Result<Element, JsValue> {
        let element = document.create_element(tag)?;
        element.set_text_content(Some(text));
        dialog.append_child(&element)?;
        Ok(element)
    };
    child("h2", "Evenrise has come to a fault and stopped")?.set_id("fault-title");
    child("p", "Your plan is kept. Save it to a file to be on the safe side, then load the page again.")?;
    let plan = LAST.with(|last| last.try_borrow().ok().and_then(|plan| plan.clone()));
    if let Some(plan) = plan {
        let url =
            ObjectUrl::from(Blob::new_with_options(file::write(&plan).as_str(), Some("application/json")));
        let link: HtmlAnchorElement = child("a", "Save the plan")?.unchecked_into();
        link.set_class_name("button primary");
        link.set_href(&url);
        link.set_download(&files::file_name(&plan));
        // The link outlives us.
        std::mem::forget(url);
    }
    let again: HtmlAnchorElement = child("a", "Load the page again")?.unchecked_into();
    again.set_class_name("button");
    again.set_href("");
    child("pre", what)?;
    body.append_child(&dialog)?;
    Ok(())
}
