//! Plain settings by their place in the plan's file: a table of places instead of code for each.
//!
//! A setting is a path into the plan as its file writes it, a name, and what may stand there; reading and
//! writing go through the file's own reader, which is in the page anyway. A new field of the plan is one
//! line in `tables`, and a test holds every line against the schema of the file.

mod list;
pub(crate) mod tables;
mod view;

#[cfg(test)]
mod fields_of_their_own;
#[cfg(test)]
mod tests;

pub use list::{List, fresh, list, list_at};
pub use view::{begin, devices, fields, fields_with, group, group_with};

use engine::error::EngineError;
use engine::plan::{Plan, file};
use engine::units::Kind;
use serde_json::Value;
use std::cell::RefCell;
use std::rc::Rc;

/// What may stand at a place.
#[derive(Clone, Copy, Debug)]
pub enum Holds {
    /// A number from low to high, SI.
    Number(Kind, f64, f64),
    /// A number from low to high that may be left out.
    Optional(Kind, f64, f64),
    /// A whole number from low to high.
    Whole(u32, u32),
    /// A whole number from low to high that may be left out.
    OptionalWhole(u32, u32),
    /// Any number of numbers from low to high, SI.
    Several(Kind, f64, f64),
    /// A line of text.
    Text,
    /// A line of text that may be left out.
    OptionalText,
    /// One of several, as JSON with what it is called. What holds figures of its own is told by its key.
    Choice(&'static [(&'static str, &'static str)]),
    /// Yes or no.
    Switch,
}

/// One thing that can be set.
#[derive(Clone, Copy, Debug)]
pub struct Setting {
    /// Where it stands below the item, as a JSON pointer without its first slash.
    pub at: &'static str,
    /// What people call it.
    pub label: &'static str,
    /// What may stand there.
    pub holds: Holds,
}

impl Setting {
    /// A setting that holds `holds` at `at`.
    pub const fn new(at: &'static str, label: &'static str, holds: Holds) -> Self {
        Self { at, label, holds }
    }
}

thread_local! {
    static READ: RefCell<Option<(Rc<Plan>, Rc<Value>)>> = const { RefCell::new(None) };
}

/// The plan as its file has it; read once for each state of the plan.
pub fn document(plan: &Rc<Plan>) -> Rc<Value> {
    READ.with_borrow_mut(|read| match read {
        Some((of, value)) if Rc::ptr_eq(of, plan) => value.clone(),
        _ => {
            let value = Rc::new(value_of(plan));
            *read = Some((plan.clone(), value.clone()));
            value
        }
    })
}

fn value_of(plan: &Plan) -> Value {
    serde_json::from_str(&file::write(plan)).unwrap_or_default()
}

/// Puts `value` at `path` of the plan's file, or takes away what stands there. In a list, `-` is its end.
pub fn set(plan: &mut Plan, path: &str, value: Option<&Value>) -> Result<(), EngineError> {
    let mut document = value_of(plan);
    if put(&mut document, path, value).is_none() {
        return Err(EngineError::new(path, "is no longer in the plan", "select another item"));
    }
    let text = serde_json::to_string_pretty(&document).unwrap_or_default();
    *plan = file::read(&text)?;
    Ok(())
}

fn put(document: &mut Value, path: &str, value: Option<&Value>) -> Option<()> {
    let mut tokens = path.split('/').skip(1).peekable();
    let mut place = document;
    while let Some(token) = tokens.next() {
        let last = tokens.peek().is_none();
        match place {
            Value::Object(object) => match (last, value) {
                (true, Some(value)) => {
                    object.insert(token.to_owned(), value.clone());
                    return Some(());
                }
                (true, None) => {
                    object.remove(token);
                    return Some(());
                }
                // What is described for the first time begins with its defaults.
                (false, _) => {
                    let next = tokens.peek().copied();
                    place = object.entry(token).or_insert_with(|| match next {
                        Some("-") => Value::Array(Vec::new()),
                        _ => Value::Object(serde_json::Map::new()),
                    });
                }
            },
            Value::Array(items) => {
                let index = token.parse::<usize>().ok().filter(|&index| index < items.len());
                match (last, value, index) {
                    (true, Some(value), None) if token == "-" => items.push(value.clone()),
                    (true, Some(value), Some(index)) => items[index] = value.clone(),
                    (true, None, Some(index)) => drop(items.remove(index)),
                    (false, _, Some(index)) => {
                        place = &mut items[index];
                        continue;
                    }
                    _ => return None,
                }
                return Some(());
            }
            _ => return None,
        }
    }
    None
}

/// What stands at `path`.
pub fn at<'a>(document: &'a Value, path: &str) -> Option<&'a Value> {
    document.pointer(path)
}
