//! Reading and writing plan files.

use super::Plan;
use crate::error::EngineError;

/// Reads a plan; fields this version does not know are kept.
pub fn read(text: &str) -> Result<Plan, EngineError> {
    serde_json::from_str(text).map_err(|e| EngineError::new("plan", e.to_string(), "correct the file"))
}

/// Writes a plan, two spaces to a level, a line feed at the end.
pub fn write(plan: &Plan) -> String {
    let mut text = serde_json::to_string_pretty(plan).expect("a plan is always JSON");
    text.push('\n');
    text
}
