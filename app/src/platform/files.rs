//! Plan files: reading what the user picks or drops, saving by download.

use engine::error::EngineError;
use engine::plan::{Plan, file};
use gloo::file::callbacks::{FileReader, read_as_bytes};
use gloo::file::{Blob, File, ObjectUrl};
use wasm_bindgen::JsCast;
use web_sys::HtmlAnchorElement;

/// Larger files are not plans.
const LARGEST_BYTES: u64 = 5_000_000;

/// Reads a plan file and hands over the plan, or a sentence that says what is wrong and what to do.
/// The reader must be kept until then.
pub fn read(file: &File, done: impl FnOnce(String, Result<Plan, String>) + 'static) -> Option<FileReader> {
    let name = file.name();
    if file.size() > LARGEST_BYTES {
        done(name, Err("the file is larger than 5 MB, so it is no plan; choose another file".to_owned()));
        return None;
    }
    Some(read_as_bytes(file, move |bytes| {
        let plan = match bytes {
            Ok(bytes) => plan_from_bytes(&bytes),
            Err(error) => Err(format!("the file could not be read ({error}); try to open it again")),
        };
        done(name, plan);
    }))
}

/// The plan in the bytes of a file.
pub fn plan_from_bytes(bytes: &[u8]) -> Result<Plan, String> {
    let text = std::str::from_utf8(bytes).map_err(
        |_| "the file is not text in UTF-8, so it is no plan; choose a file that ends in .evenrise.json",
    )?;
    file::read(text.trim_start_matches('\u{feff}')).map_err(|error| error.to_string())
}

/// What keeps a plan from being calculated, with its place and remedy.
pub fn why_not_calculable(plan: &Plan) -> Option<EngineError> {
    engine::network::from_plan::build(plan).err()
}

/// A file name from the plan's name.
pub fn file_name(plan: &Plan) -> String {
    let mut stem: String = plan
        .name
        .trim()
        .chars()
        .map(|c| if c.is_alphanumeric() { c.to_lowercase().next().unwrap_or(c) } else { '-' })
        .take(60)
        .collect();
    while stem.contains("--") {
        stem = stem.replace("--", "-");
    }
    let stem = stem.trim_matches('-');
    format!("{}.evenrise.json", if stem.is_empty() { "oven" } else { stem })
}

/// Saves what is at `address` as a file of this name; none where the browser cannot.
pub fn download(address: &str, name: &str) -> Option<()> {
    let link: HtmlAnchorElement = gloo::utils::document().create_element("a").ok()?.dyn_into().ok()?;
    link.set_href(address);
    link.set_download(name);
    link.click();
    Some(())
}

/// A name that every system takes: letters, digits, dots and dashes.
pub fn plain_name(name: &str) -> String {
    let plain = |c: char| if c.is_alphanumeric() || c == '.' { c } else { '-' };
    let mut name: String = name.to_lowercase().chars().map(plain).collect();
    while name.contains("--") {
        name = name.replace("--", "-");
    }
    name
}

/// Saves the plan by download.
pub fn save(plan: &Plan) -> Result<String, String> {
    let name = file_name(plan);
    let text = file::write(plan);
    let blob = Blob::new_with_options(text.as_str(), Some("application/json"));
    let url = ObjectUrl::from(blob);
    download(&url, &name).ok_or("this browser cannot make a download; copy the plan from another browser")?;
    // The address must outlive the click's handling.
    gloo::timers::callback::Timeout::new(10_000, move || drop(url)).forget();
    Ok(name)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::starter;

    #[test]
    fn a_written_plan_opens_again_and_a_mark_at_its_start_does_not_matter() {
        let plan = starter::demo();
        let text = format!("\u{feff}{}", file::write(&plan));
        assert_eq!(plan_from_bytes(text.as_bytes()), Ok(plan));
    }

    #[test]
    fn what_is_no_plan_is_refused_with_a_reason() {
        assert!(plan_from_bytes(&[0xff, 0xfe, 0x00]).unwrap_err().contains("UTF-8"));
        assert!(plan_from_bytes(b"{").is_err());
        assert!(plan_from_bytes(b"[]").is_err());
        let broken = starter::DEMO.replacen(
            "\"required_flow_kg_s\": ",
            "\"required_flow_kg_s\": \"much\", \"was\": ",
            1,
        );
        assert!(plan_from_bytes(broken.as_bytes()).unwrap_err().contains("required_flow_kg_s"));
    }

    #[test]
    fn file_names_are_safe_everywhere() {
        let mut plan = starter::empty();
        plan.name = "  Gates / line: 2?  ".into();
        assert_eq!(file_name(&plan), "gates-line-2.evenrise.json");
        plan.name = "..".into();
        assert_eq!(file_name(&plan), "oven.evenrise.json");
    }
}
