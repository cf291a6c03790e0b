//! Turns the `index.html` of the repository into the page that is served.
//!
//! The file in the repository is one that the common Yew bundler accepts, so the two lines meant for a
//! bundler are understood here as well; any other such line is an error, never dropped in silence.

use anyhow::{Context, Result, bail};
use quick_xml::events::{BytesStart, Event};
use quick_xml::{Reader, Writer};

use crate::page::Mode;
use crate::policy;

/// The finished page and what belongs beside it.
#[derive(Debug)]
pub struct Page {
    /// The text of `index.html`.
    pub html: String,
    /// Folders, relative to the workspace, whose files go beside `index.html`.
    pub copied_folders: Vec<String>,
    /// Style sheets that go into [`SHEET`], in this order.
    pub sheets: Vec<String>,
}

/// All style sheets in one file, which compresses better than each alone.
pub const SHEET: &str = "style.css";

/// Reads `index` and exchanges its `data-trunk` lines.
pub fn page(index: &str, mode: Mode) -> Result<Page> {
    let mut reader = Reader::from_str(index);
    // HTML leaves `<link>` and `<meta>` open.
    reader.config_mut().check_end_names = false;
    let mut writer = Writer::new(Vec::new());
    let mut copied_folders = Vec::new();
    let mut sheets = Vec::new();
    let mut app_seen = false;
    loop {
        let event =
            reader.read_event().with_context(|| format!("index.html, byte {}", reader.buffer_position()))?;
        match &event {
            Event::Eof => break,
            Event::Start(tag) | Event::Empty(tag) if attribute(tag, "data-trunk")?.is_some() => {
                match attribute(tag, "rel")?.as_deref() {
                    Some("rust") => {
                        app_seen = true;
                        writer.get_mut().extend_from_slice(head(mode).as_bytes());
                    }
                    Some("copy-dir") if attribute(tag, "data-target-path")?.as_deref() == Some(".") => {
                        copied_folders
                            .push(attribute(tag, "href")?.context("index.html: copy-dir without href")?);
                    }
                    other => {
                        bail!("index.html: a data-trunk line with rel={other:?} is not known to app/launch")
                    }
                }
            }
            Event::Start(tag) | Event::Empty(tag)
                if attribute(tag, "rel")?.as_deref() == Some("stylesheet") =>
            {
                if sheets.is_empty() {
                    let link = format!("<link rel=\"stylesheet\" href=\"{SHEET}\">");
                    writer.get_mut().extend_from_slice(link.as_bytes());
                }
                sheets.push(attribute(tag, "href")?.context("index.html: a style sheet without href")?);
            }
            _ => writer.write_event(event)?,
        }
    }
    if !app_seen {
        bail!("index.html: no <link data-trunk rel=\"rust\"> line says where the app goes");
    }
    Ok(Page { html: String::from_utf8(writer.into_inner())?, copied_folders, sheets })
}

/// What stands where the bundler's `rel="rust"` line stood.
fn head(mode: Mode) -> String {
    let offline = if mode == Mode::Watch { "\n  <meta name=\"offline\" content=\"off\">" } else { "" };
    format!(
        r#"<meta http-equiv="Content-Security-Policy" content="{policy}">{offline}
  <link rel="modulepreload" href="app.js">
  <link rel="preload" href="app_bg.wasm" as="fetch" type="application/wasm" crossorigin>
  <script type="module" src="boot.js"></script>"#,
        policy = policy::CONTENT_SECURITY_POLICY,
    )
}

/// An attribute's value; empty for one without a value.
fn attribute(tag: &BytesStart, name: &str) -> Result<Option<String>> {
    for attribute in tag.html_attributes() {
        let attribute = attribute.context("index.html: a malformed attribute")?;
        if attribute.key.as_ref() == name {
            return Ok(Some(attribute.value.into_owned()));
        }
    }
    Ok(None)
}

#[cfg(test)]
mod tests {
    use super::*;

    const INDEX: &str = "<!doctype html>\n<html><head>\n<meta charset=\"utf-8\">\n\
        <link data-trunk rel=\"rust\" href=\"app/Cargo.toml\">\n\
        <link data-trunk rel=\"copy-dir\" href=\"app/static\" data-target-path=\".\">\n\
        <link rel=\"stylesheet\" href=\"a.css\"><link rel=\"stylesheet\" href=\"b.css\">\n\
        <title>A &amp; B</title></head>\n<body><p>one<br>two</p></body></html>\n";

    #[test]
    fn link_lines_are_exchanged_and_the_rest_is_kept() {
        let page = page(INDEX, Mode::Serve).unwrap();
        assert!(!page.html.contains("data-trunk"), "{}", page.html);
        assert!(page.html.contains(r#"<script type="module" src="boot.js"></script>"#));
        assert!(
            page.html.contains("<title>A &amp; B</title></head>\n<body><p>one<br>two</p></body></html>\n")
        );
        assert_eq!(page.copied_folders, ["app/static"]);
        assert!(page.html.contains("\n<link rel=\"stylesheet\" href=\"style.css\">\n"), "{}", page.html);
        assert_eq!(page.sheets, ["a.css", "b.css"]);
    }

    #[test]
    fn only_watching_switches_offline_use_off() {
        assert!(page(INDEX, Mode::Watch).unwrap().html.contains(r#"<meta name="offline" content="off">"#));
        assert!(!page(INDEX, Mode::Serve).unwrap().html.contains("name=\"offline\""));
    }

    #[test]
    fn an_unknown_link_line_is_refused_by_name() {
        let error =
            page("<link data-trunk rel=\"sass\" href=\"a.scss\">", Mode::Serve).unwrap_err().to_string();
        assert!(error.contains("sass"), "{error}");
    }

    #[test]
    fn a_page_without_an_app_is_refused() {
        assert!(page("<html></html>", Mode::Serve).is_err());
    }
}
