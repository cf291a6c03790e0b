//! Settings as fields of a card.

use super::{Holds, Setting, at, document};
use crate::edit::Edit;
use crate::fields::{Field, Form, stacked};
use engine::units::Kind;
use serde_json::Value;
use web_sys::HtmlInputElement;
use yew::prelude::*;

/// The edit that puts `value` at `path`; `what` stands beside Undo.
pub(super) fn put(what: &'static str, path: &str, value: Option<Value>) -> Edit {
    Edit::Set { what, path: path.to_owned(), value }
}

fn json(text: &str) -> Value {
    serde_json::from_str(text).unwrap_or_default()
}

/// Whether `value` is the choice written `option`; one with figures of its own by its words, or by its key.
pub(super) fn is_choice(value: &Value, option: &Value) -> bool {
    match (value, option) {
        (Value::Object(value), Value::Object(option)) => {
            let mut words = option.iter().filter(|(_, word)| word.is_string()).peekable();
            match words.peek() {
                Some(_) => words.all(|(key, word)| value.get(key) == Some(word)),
                None => value.keys().eq(option.keys()),
            }
        }
        (Value::Array(value), Value::Array(option)) => value.is_empty() == option.is_empty(),
        _ => value == option,
    }
}

/// Whether a setting below a choice belongs to what is chosen: its key is in what the choice is written with.
fn is_chosen(settings: &[Setting], place: &str, base: &str, document: &Value) -> bool {
    let Some((choice, below)) = place.split_once('/') else { return true };
    let Some(Setting { holds: Holds::Choice(options), .. }) =
        settings.iter().find(|other| other.at == choice)
    else {
        return true;
    };
    let value = at(document, &format!("{base}/{choice}")).unwrap_or(&Value::Null);
    let option = options.iter().map(|(option, _)| json(option)).find(|option| is_choice(value, option));
    let key = below.split('/').next().unwrap_or_default();
    option.is_some_and(|option| option.pointer(&format!("/{key}")).is_some())
}

/// The fields of `settings` of the item at `base`; one whose place is not there is left out.
pub fn fields(form: &Form, what: &'static str, base: &str, settings: &'static [Setting]) -> Vec<Field> {
    fields_with(form, what, base, settings, "{}")
}

/// The same of an item that is left out of the file, in whole or in part, while it is `usual`, as JSON.
pub fn fields_with(
    form: &Form,
    what: &'static str,
    base: &str,
    settings: &'static [Setting],
    usual: &str,
) -> Vec<Field> {
    let (document, usual) = (document(&form.session.plan), json(usual));
    let there = |setting: &&Setting| is_chosen(settings, setting.at, base, &document);
    let shown = settings.iter().filter(there);
    shown.filter_map(|setting| field(form, what, base, setting, (&document, &usual))).collect()
}

fn field(
    form: &Form,
    what: &'static str,
    base: &str,
    setting: &'static Setting,
    (document, usual): (&Value, &Value),
) -> Option<Field> {
    let Setting { at: place, label, holds } = *setting;
    let path = format!("{base}/{place}");
    let value = at(document, &path).or_else(|| at(usual, &format!("/{place}")));
    let (parent, _) = path.rsplit_once('/')?;
    // Figures of a choice are there only while it is chosen.
    if parent != base && at(document, parent).is_none() {
        return None;
    }
    let name = path[1..].replace('/', "-");
    let number = value.and_then(Value::as_f64);
    let set = {
        let path = path.clone();
        // Written as nothing rather than taken away: what is left out may have a default.
        move |value: Option<f64>| put(what, &path, Some(Value::from(value)))
    };
    Some(match holds {
        Holds::Number(kind, low, high) => {
            form.quantity(label, &name, kind, number.unwrap_or(0.0), low..=high, move |v| set(Some(v)))
        }
        Holds::Optional(kind, low, high) => form.optional(label, &name, kind, number, low..=high, set),
        Holds::Whole(low, high) => {
            let whole = number.unwrap_or(0.0) as u32;
            form.count(label, &name, whole, low..=high, move |v| put(what, &path, Some(Value::from(v))))
        }
        Holds::OptionalWhole(low, high) => {
            let set = move |value: Option<f64>| put(what, &path, Some(value.map(|v| v as u32).into()));
            form.optional_count(label, &name, number, low..=high, set)
        }
        Holds::Several(kind, low, high) => {
            several(form, what, (label, &name), (kind, low, high), &path, value)
        }
        Holds::OptionalText => {
            let text = value.and_then(Value::as_str).unwrap_or_default();
            let set = move |text: String| put(what, &path, Some(Some(text).filter(|t| !t.is_empty()).into()));
            form.text(label, &name, text, set)
        }
        Holds::Text => {
            let text = value.and_then(Value::as_str).unwrap_or_default();
            form.text(label, &name, text, move |v| put(what, &path, Some(Value::from(v))))
        }
        Holds::Choice(options) => {
            let options: Vec<_> =
                options.iter().map(|(option, words)| (json(option), (*words).to_owned())).collect();
            let chosen = value.and_then(|value| options.iter().find(|(option, _)| is_choice(value, option)));
            let chosen = chosen.map(|(option, _)| option.clone()).unwrap_or_default();
            form.choice(label, &name, &chosen, options, move |v| put(what, &path, Some(v)))
        }
        Holds::Switch => {
            let on = value.and_then(Value::as_bool).unwrap_or_default();
            let options = vec![(true, "yes".to_owned()), (false, "no".to_owned())];
            form.choice(label, &name, &on, options, move |v| put(what, &path, Some(Value::from(v))))
        }
    })
}

/// A field for each number there is, which goes when it is emptied, and one for another.
fn several(
    form: &Form,
    what: &'static str,
    (label, name): (&'static str, &str),
    (kind, low, high): (Kind, f64, f64),
    path: &str,
    value: Option<&Value>,
) -> Field {
    let there: Vec<f64> = value
        .and_then(Value::as_array)
        .map(|list| list.iter().filter_map(Value::as_f64).collect())
        .unwrap_or_default();
    let controls = (0..=there.len()).map(|i| {
        let here = there.get(i).copied();
        let path = format!("{path}/{}", here.map_or("-".to_owned(), |_| i.to_string()));
        let set = move |value: Option<f64>| put(what, &path, value.map(Value::from));
        form.optional(label, &format!("{name}-{i}"), kind, here, low..=high, set).control
    });
    Field { label, control: html! { <span class="several">{ for controls }</span> }, column: false }
}

/// The fields of `settings` one below the other.
pub fn group(form: &Form, what: &'static str, base: &str, settings: &'static [Setting]) -> Html {
    stacked(fields(form, what, base, settings))
}

/// The same of an item that is left out of the file while it is `usual`, as JSON.
pub fn group_with(
    form: &Form,
    what: &'static str,
    base: &str,
    settings: &'static [Setting],
    usual: &str,
) -> Html {
    stacked(fields_with(form, what, base, settings, usual))
}

/// A part of the plan that may be there or not: what it is for and the button that begins it, or `body`
/// with the button that takes it away.
pub fn begin(
    form: &Form,
    what: &'static str,
    path: &str,
    (teach, button, template): (&'static str, &'static str, &'static str),
    body: impl FnOnce() -> Html,
) -> Html {
    let name = path[1..].replace('/', "-");
    if at(&document(&form.session.plan), path).is_none() {
        return html! {
            <div key={name.clone()}>
                <p class="teach">{ teach }</p>
                <p class="buttons">
                    { form.button(button, &format!("begin-{name}"), put(what, path, Some(json(template)))) }
                </p>
            </div>
        };
    }
    html! {
        <div key={name.clone()}>
            { body() }
            <p class="buttons">{ form.button(format!("Leave out {what}"), &format!("drop-{name}"), put(what, path, None)) }</p>
        </div>
    }
}

/// A list of which each thing is there or not, as boxes to tick.
pub fn devices(
    form: &Form,
    what: &'static str,
    path: &'static str,
    all: &'static [(&'static str, &'static str)],
) -> Html {
    let document = document(&form.session.plan);
    let there: Vec<Value> = at(&document, path).and_then(Value::as_array).cloned().unwrap_or_default();
    let boxes = all.iter().map(|&(name, label)| {
        let fitted = there.iter().any(|device| device == name);
        let there = there.clone();
        let onchange = form.dispatch.reform(move |event: Event| {
            let on = event.target_dyn_into::<HtmlInputElement>().is_some_and(|input| input.checked());
            let mut now = there.clone();
            now.retain(|device| device != name);
            if on {
                now.push(Value::from(name));
            }
            put(what, path, Some(Value::Array(now))).into()
        });
        html! {
            <li key={name}><label><input type="checkbox" checked={fitted} data-testid={format!("{}-{name}", form.prefix)} {onchange} />{ label }</label></li>
        }
    });
    html! { <ul class="ticks">{ for boxes }</ul> }
}
