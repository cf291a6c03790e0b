//! Lists of the plan, of which things are added, changed and taken away.

use super::view::{group, put};
use super::{Setting, at, document};
use crate::fields::Form;
use serde_json::Value;
use yew::prelude::*;

/// A list in the plan.
#[derive(Clone, Copy, Debug)]
pub struct List {
    /// Where it stands, as a JSON pointer.
    pub path: &'static str,
    /// What one of it is called, in small letters.
    pub one: &'static str,
    /// What can be set on each.
    pub settings: &'static [Setting],
    /// A new one, as JSON; an `id` in it gets a number that is free.
    pub template: &'static str,
    /// What is said while there is none.
    pub none: &'static str,
}

/// A new thing for the list, its `id` numbered.
pub fn fresh(list: &List, there: &[Value]) -> Value {
    let mut new: Value = serde_json::from_str(list.template).unwrap_or_default();
    if let Some(id) = new.get_mut("id") {
        let stem = id.as_str().unwrap_or_default().to_owned();
        let taken = |id: &Value| there.iter().any(|other| other.get("id") == Some(id));
        *id = (1..).map(|n| Value::from(format!("{stem}-{n}"))).find(|id| !taken(id)).unwrap_or_default();
    }
    new
}

/// The things of a list one below the other, each with its fields.
pub fn list(form: &Form, list: &'static List) -> Html {
    list_at(form, list, list.path, &|_, _| html! {})
}

/// The same of a list that stands at `base`, each thing followed by what `more` makes of it and its place.
pub fn list_at(form: &Form, list: &'static List, base: &str, more: &dyn Fn(&Form, &str) -> Html) -> Html {
    let document = document(&form.session.plan);
    let there = at(&document, base).and_then(Value::as_array).map_or(&[][..], Vec::as_slice);
    let name = base[1..].replace('/', "-");
    let rows = there.iter().enumerate().map(|(i, item)| {
        let path = format!("{base}/{i}");
        let title = item.get("id").or_else(|| item.get("name")).and_then(Value::as_str);
        let title = title.filter(|title| !title.is_empty());
        let title = title.map_or_else(|| format!("{} {}", list.one, i + 1), str::to_owned);
        let mut of = form.clone();
        of.of = format!("{title}: ");
        html! {
            <li key={i}>
                <p class="item-head">
                    <strong>{ &title }</strong>
                    { form.button("Remove", &format!("drop-{name}-{i}"), put(list.one, &path, None)) }
                </p>
                { group(&of, list.one, &path, list.settings) }
                { more(&of, &path) }
            </li>
        }
    });
    let add = put(list.one, &format!("{base}/-"), Some(fresh(list, there)));
    html! {
        <div key={name.clone()}>
            if there.is_empty() {
                <p key="none" class="teach">{ list.none }</p>
            } else {
                <ol key="list" class="items" data-testid={format!("{}-{name}", form.prefix)}>{ for rows }</ol>
            }
            <p class="buttons" key="add">{ form.button(format!("Add {}", list.one), &format!("add-{name}"), add) }</p>
        </div>
    }
}
