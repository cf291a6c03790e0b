//! Reading and writing plan files.

use super::{FORMAT, Plan, VERSION, place};
use crate::error::EngineError;
use serde::de::DeserializeOwned;
use serde_json::Value;

/// Reads a plan; fields this version does not know are kept.
///
/// The message of an error names the item and the field.
pub fn read(text: &str) -> Result<Plan, EngineError> {
    let plan: Plan = match from_json(text) {
        Ok(plan) => plan,
        // What is not of this kind or version is told as that, whatever else is wrong with it.
        Err(error) => {
            let value: Value = from_json(text)?;
            let known = Plan::known(value.get("format"), value.get("version"));
            return Err(if value.is_object() { known.err() } else { Some(not_a_plan()) }
                .unwrap_or_else(|| named(&value, error)));
        }
    };
    Plan::known(Some(&plan.format.as_str().into()), Some(&plan.version.into()))?;
    Ok(plan)
}

impl Plan {
    /// Whether this engine knows the kind and version of a document.
    pub(super) fn known(format: Option<&Value>, version: Option<&Value>) -> Result<(), EngineError> {
        if format.and_then(Value::as_str).is_some_and(|word| word != FORMAT) {
            return Err(not_a_plan());
        }
        match version.map_or(Some(u64::from(VERSION)), Value::as_u64) {
            None | Some(0) => {
                Err(EngineError::new("version", "is not a version number", "write the number of the version"))
            }
            Some(version) if version > u64::from(VERSION) => Err(EngineError::new(
                "version",
                format!("this plan was written by a newer version ({version}; this one knows {VERSION})"),
                "open it with the newer version",
            )),
            Some(_) => Ok(()),
        }
    }
}

fn not_a_plan() -> EngineError {
    EngineError::new(
        "format",
        "this is not an oven plan",
        format!("open a file whose \"format\" is \"{FORMAT}\""),
    )
}

/// Writes a plan, two spaces to a level, a line feed at the end.
pub fn write(plan: &Plan) -> String {
    let mut text = serde_json::to_string_pretty(plan).unwrap_or_default();
    text.push('\n');
    text
}

/// Reads JSON; the error's place is the path of the field.
pub(crate) fn from_json<T: DeserializeOwned>(text: &str) -> Result<T, EngineError> {
    let text = text.trim_start_matches('\u{feff}');
    serde_json::from_str(text).map_err(|error| explained(text, &error))
}

fn explained(text: &str, error: &serde_json::Error) -> EngineError {
    let problem = error.to_string();
    if problem.starts_with("trailing characters") {
        return EngineError::new("the file", problem, "remove what follows the closing brace");
    }
    let remedy = match error.classify() {
        serde_json::error::Category::Data if problem.starts_with("missing field") => "add the field",
        serde_json::error::Category::Data if problem.starts_with("unknown field") => {
            "remove or correct the field"
        }
        serde_json::error::Category::Data => "correct the value",
        _ => "the text is not complete JSON: correct it at that line",
    };
    EngineError::new(place::path(text, error).unwrap_or_else(|| "the file".to_owned()), problem, remedy)
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
