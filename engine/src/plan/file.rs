//! Reading and writing plan files.

use super::{FORMAT, Plan, VERSION};
use crate::error::EngineError;
use serde::de::DeserializeOwned;
use serde_json::Value;

/// Reads a plan; fields this version does not know are kept.
///
/// The message of an error names the item and the field.
pub fn read(text: &str) -> Result<Plan, EngineError> {
    let value: Value = from_json(text)?;
    let word = value.get("format").and_then(Value::as_str);
    if word.is_some_and(|word| word != FORMAT) || !value.is_object() {
        return Err(EngineError::new(
            "format",
            "this is not an oven plan",
            format!("open a file whose \"format\" is \"{FORMAT}\""),
        ));
    }
    let version = value.get("version").map_or(Some(u64::from(VERSION)), Value::as_u64);
    match version {
        None | Some(0) => {
            return Err(EngineError::new(
                "version",
                "is not a version number",
                "write the number of the version",
            ));
        }
        Some(version) if version > u64::from(VERSION) => {
            return Err(EngineError::new(
                "version",
                format!("this plan was written by a newer version ({version}; this one knows {VERSION})"),
                "open it with the newer version",
            ));
        }
        Some(_) => {}
    }
    let plan: Plan = from_json(text).map_err(|error| named(&value, error))?;
    finite(&value, "")?;
    Ok(plan)
}

/// Writes a plan, two spaces to a level, a line feed at the end.
pub fn write(plan: &Plan) -> String {
    let mut text = serde_json::to_string_pretty(plan).unwrap_or_default();
    text.push('\n');
    text
}

/// Reads JSON; the error's place is the path of the field.
pub(crate) fn from_json<T: DeserializeOwned>(text: &str) -> Result<T, EngineError> {
    let mut reader = serde_json::Deserializer::from_str(text.trim_start_matches('\u{feff}'));
    let value = serde_path_to_error::deserialize(&mut reader).map_err(|error| {
        let place = match error.path().to_string() {
            path if path == "." => "the file".to_owned(),
            path => path,
        };
        let problem = error.inner().to_string();
        let remedy = match error.inner().classify() {
            serde_json::error::Category::Data if problem.starts_with("missing field") => "add the field",
            serde_json::error::Category::Data if problem.starts_with("unknown field") => {
                "remove or correct the field"
            }
            serde_json::error::Category::Data => "correct the value",
            _ => "the text is not complete JSON: correct it at that line",
        };
        EngineError::new(place, problem, remedy)
    })?;
    reader.end().map_err(|error| {
        EngineError::new("the file", error.to_string(), "remove what follows the closing brace")
    })?;
    Ok(value)
}

/// Adds the item's own id to a path such as `ducts[2].section`.
fn named(value: &Value, error: EngineError) -> EngineError {
    let mut parts = error.place.split(['[', ']']);
    let (list, index) =
        (parts.next().unwrap_or_default(), parts.next().and_then(|index| index.parse::<usize>().ok()));
    let id = index.and_then(|index| value.get(list)?.get(index)?.get("id")?.as_str());
    match id {
        Some(id) => EngineError { place: format!("{id} ({})", error.place), ..error },
        None => error,
    }
}

/// JSON has no NaN, but a number such as 1e999 may have been let in as infinite.
fn finite(value: &Value, place: &str) -> Result<(), EngineError> {
    match value {
        Value::Number(number) if number.as_f64().is_none_or(|x| !x.is_finite()) => {
            Err(EngineError::new(place, "is not a finite number", "enter a number"))
        }
        Value::Array(items) => {
            items.iter().enumerate().try_for_each(|(i, item)| finite(item, &format!("{place}[{i}]")))
        }
        Value::Object(fields) => fields.iter().try_for_each(|(key, item)| {
            finite(item, &if place.is_empty() { key.clone() } else { format!("{place}.{key}") })
        }),
        _ => Ok(()),
    }
}
