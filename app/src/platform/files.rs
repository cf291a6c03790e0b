//! Plan files: reading what the user picks or drops, saving by download.

use engine::error::EngineError;
use engine::plan::{Plan, file};
use gloo::file::callbacks::{FileReader, read_as_bytes};
use gloo::file::{Blob, File, ObjectUrl};
use wasm_bindgen::JsCast;
use web_sys::HtmlAnchorElement;

/// Larger files are not plans.
pub(super) const LARGEST_BYTES: u64 = 5_000_000;

/// Who hears of a file: its name and its text, or a sentence that says what is wrong and what to do.
type Hears = Box<dyn FnOnce(String, Result<&str, String>)>;

/// Reads a file. The reader must be kept until `done` has heard of it.
pub fn read(file: &File, done: Hears) -> Option<FileReader> {
    let name = file.name();
    if file.size() > LARGEST_BYTES {
        done(name, Err("the file is larger than 5 MB, so it is no plan; choose another file".to_owned()));
        return None;
    }
    Some(read_as_bytes(file, move |bytes| match bytes {
        Ok(bytes) => done(name, text_of(&bytes)),
        Err(error) => done(name, Err(format!("the file could not be read ({error}); try to open it again"))),
    }))
}

/// The text in the bytes of a file.
pub fn text_of(bytes: &[u8]) -> Result<&str, String> {
    std::str::from_utf8(bytes).map_err(|_| {
        "the file is not text in UTF-8, so it is no plan; choose a file that ends in .evenrise.json"
            .to_owned()
    })
}

/// What keeps a plan from being calculated, with its place and remedy.
pub fn why_not_calculable(plan: &Plan) -> Option<EngineError> {
    engine::network::from_plan::build(plan).err()
}

/// A file name from the plan's name.
pub fn file_name(plan: &Plan) -> String {
    let stem = plain_name(&plan.name.trim().replace('.', "-").chars().take(60).collect::<String>());
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
///
/// Beyond ASCII all but the block of signs passes: the table of every letter there is would be in the download.
pub fn plain_name(name: &str) -> String {
    let is_sign = |c: char| c < '\u{c0}' || ('\u{2000}'..='\u{206f}').contains(&c);
    let plain = |c: char| if c.is_ascii_alphanumeric() || c == '.' || !is_sign(c) { c } else { '-' };
    let mut name: String = name.to_ascii_lowercase().chars().map(plain).collect();
    while name.contains("--") {
        name = name.replace("--", "-");
    }
    name
}

/// Saves the plan by download.
pub fn save(plan: &Plan) -> Result<String, String> {
    save_as(file_name(plan), &file::write(plan))
}

/// Saves `text` by download under `name`, which is given back.
pub fn save_as(name: String, text: &str) -> Result<String, String> {
    let blob = Blob::new_with_options(text, Some("application/json"));
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
        assert_eq!(text_of(text.as_bytes()).map(file::read), Ok(Ok(plan)));
    }

    #[test]
    fn what_is_no_plan_is_refused_with_a_reason() {
        assert!(text_of(&[0xff, 0xfe, 0x00]).unwrap_err().contains("UTF-8"));
        assert!(file::read("{").is_err());
        assert!(file::read("[]").is_err());
        let broken = starter::DEMO.replacen(
            "\"required_flow_kg_s\": ",
            "\"required_flow_kg_s\": \"much\", \"was\": ",
            1,
        );
        assert!(file::read(&broken).unwrap_err().to_string().contains("required_flow_kg_s"));
    }

    #[test]
    fn file_names_are_safe_everywhere() {
        let mut plan = starter::empty();
        plan.name = "  Gates / line: 2?  ".into();
        assert_eq!(file_name(&plan), "gates-line-2.evenrise.json");
        plan.name = "Tür\u{202e}öfen – Süd".into();
        assert_eq!(file_name(&plan), "tür-öfen-süd.evenrise.json");
        plan.name = "..".into();
        assert_eq!(file_name(&plan), "oven.evenrise.json");
    }
}
