//! Where in a JSON text an error is: from the line and column that the reader gives to the path of the
//! field.
//!
//! A path that is tracked while reading doubles the code of every reader (28 KB of the page's download,
//! Brotli); here the text is gone through a second time, and only when there is an error.

/// One step of a path.
#[derive(Clone)]
enum Step {
    Key(String),
    Index(usize),
}

/// An object or array that has been opened.
struct Open {
    step: Option<Step>,
    is_object: bool,
    /// Whether the next string is a key.
    at_key: bool,
    /// The last value that ended in it, and whether that one is an object or array.
    last: Option<(Step, bool)>,
    count: usize,
}

/// What was read last before the error.
enum Last {
    /// A value that ended; what it ended with if it is an object.
    Value(Vec<Step>, Option<(Step, bool)>),
    /// A key, whose value has not begun.
    Key(Vec<Step>),
    /// Something in the middle of a value.
    Inside(Vec<Step>),
}

/// The path of the field that `error`, raised while `text` was read, is about: `ducts[2].section`.
/// None for the text as a whole.
pub fn path(text: &str, error: &serde_json::Error) -> Option<String> {
    let start: usize = text.split_inclusive('\n').take(error.line().saturating_sub(1)).map(str::len).sum();
    let before = text.as_bytes().get(..(start + error.column()).min(text.len()))?;
    let problem = error.to_string();
    let steps = match scan(before) {
        // What is only known at an object's end is about what ended last in it, unless something is missing or
        // its word is none of those it may have.
        Last::Value(mut steps, last) => {
            let of_the_whole =
                ["missing field", "unknown variant"].iter().any(|words| problem.starts_with(words));
            if let Some((step, true)) = last.filter(|_| error.is_data() && !of_the_whole) {
                steps.push(step);
            }
            steps
        }
        Last::Key(mut steps) => {
            if problem.starts_with("unknown variant") {
                steps.pop();
            }
            steps
        }
        Last::Inside(mut steps) => {
            // A word was wanted and a list began.
            if before.ends_with(b"[") && !error.is_data() {
                steps.pop();
            }
            steps
        }
    };
    let mut path = String::new();
    for step in steps {
        match step {
            Step::Key(key) if path.is_empty() => path = key,
            Step::Key(key) => path = path + "." + &key,
            Step::Index(index) => path = format!("{path}[{index}]"),
        }
    }
    (!path.is_empty()).then_some(path)
}

fn scan(text: &[u8]) -> Last {
    let mut open: Vec<Open> = Vec::new();
    let mut key: Option<String> = None;
    let mut at = 0;
    let mut last = Last::Inside(Vec::new());
    while let Some(&byte) = text.get(at) {
        at += 1;
        match byte {
            b'{' | b'[' => {
                let step = here(&open, &key);
                key = None;
                open.push(Open { step, is_object: byte == b'{', at_key: true, last: None, count: 0 });
                last = Last::Inside(steps(&open, here(&open, &key)));
            }
            b'}' | b']' => {
                let Some(closed) = open.pop() else { break };
                let path = steps(&open, closed.step.clone());
                last = Last::Value(path, closed.last);
                ended(&mut open, closed.step, true);
            }
            b',' => {
                if let Some(parent) = open.last_mut() {
                    parent.at_key = true;
                    parent.count += 1;
                }
                key = None;
                last = Last::Inside(steps(&open, here(&open, &key)));
            }
            b':' => last = Last::Inside(steps(&open, here(&open, &key))),
            b' ' | b'\n' | b'\r' | b'\t' => {}
            b'"' => {
                let start = at;
                while let Some(&byte) = text.get(at).filter(|byte| **byte != b'"') {
                    at += if byte == b'\\' { 2 } else { 1 };
                }
                let word = String::from_utf8_lossy(&text[start..at.min(text.len())]).into_owned();
                at += 1;
                let is_key = open.last().is_some_and(|parent| parent.is_object && parent.at_key);
                if let Some(parent) = open.last_mut().filter(|_| is_key) {
                    parent.at_key = false;
                    key = Some(word);
                    last = Last::Key(steps(&open, here(&open, &key)));
                } else {
                    last = value(&mut open, &mut key);
                }
            }
            _ => {
                while text.get(at).is_some_and(|byte| !b",]}: \n\r\t".contains(byte)) {
                    at += 1;
                }
                last = value(&mut open, &mut key);
            }
        }
    }
    last
}

/// A number, word or string ended.
fn value(open: &mut [Open], key: &mut Option<String>) -> Last {
    let step = here(open, key);
    *key = None;
    ended(open, step.clone(), false);
    Last::Value(steps(open, step), None)
}

fn ended(open: &mut [Open], step: Option<Step>, is_container: bool) {
    if let Some(parent) = open.last_mut() {
        parent.last = step.map(|step| (step, is_container)).filter(|_| parent.is_object);
    }
}

/// The step to the value that is next or under way.
fn here(open: &[Open], key: &Option<String>) -> Option<Step> {
    let parent = open.last()?;
    if parent.is_object { key.clone().map(Step::Key) } else { Some(Step::Index(parent.count)) }
}

fn steps(open: &[Open], last: Option<Step>) -> Vec<Step> {
    open.iter().filter_map(|open| open.step.clone()).chain(last).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::Plan;
    use serde_json::{Value, json};

    /// Every value of `value` by its pointer.
    fn pointers(value: &Value, here: &str, all: &mut Vec<String>) {
        all.push(here.to_owned());
        match value {
            Value::Array(items) => {
                items.iter().enumerate().for_each(|(i, item)| pointers(item, &format!("{here}/{i}"), all));
            }
            Value::Object(fields) => {
                fields.iter().for_each(|(key, item)| pointers(item, &format!("{here}/{key}"), all));
            }
            _ => {}
        }
    }

    fn tracked(text: &str) -> Option<String> {
        let mut reader = serde_json::Deserializer::from_str(text);
        let error = serde_path_to_error::deserialize::<_, Plan>(&mut reader).err()?;
        Some(error.path().to_string())
    }

    #[test]
    fn the_path_is_the_one_a_tracking_reader_gives() {
        let whole: Value =
            serde_json::from_str(include_str!("../../../tests/plans/versions/v1-all-keys.evenrise.json"))
                .unwrap();
        let mut all = Vec::new();
        pointers(&whole, "", &mut all);
        let mut compared = 0;
        let mut differ = Vec::new();
        for pointer in &all[1..] {
            for wrong in
                [json!("x\\\"{"), json!(-1), json!(null), json!({}), json!([]), json!({"a": {"b": 1}})]
            {
                let mut broken = whole.clone();
                *broken.pointer_mut(pointer).unwrap() = wrong;
                for text in [broken.to_string(), serde_json::to_string_pretty(&broken).unwrap()] {
                    let Some(expected) = tracked(&text) else { continue };
                    let error = serde_json::from_str::<Plan>(&text).unwrap_err();
                    compared += 1;
                    let found = path(&text, &error).unwrap_or_else(|| ".".into());
                    if found != expected {
                        differ.push(format!("{pointer}: {found}, not {expected}: {error}"));
                    }
                }
            }
        }
        assert!(compared > 1000, "{compared}");
        assert!(differ.is_empty(), "{} of {compared}\n{}", differ.len(), differ.join("\n"));
    }

    #[test]
    fn a_text_cut_short_names_the_value_that_is_not_whole() {
        let at = |text: &str| path(text, &serde_json::from_str::<Plan>(text).unwrap_err());
        assert_eq!(at("{\"site\": {\"altitude_m\": tru").as_deref(), Some("site.altitude_m"));
        assert_eq!(at("{\"zones\": [{}, "), Some("zones[0]".into()));
        assert_eq!(at(""), None);
    }
}
