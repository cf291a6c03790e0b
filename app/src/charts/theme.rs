//! Reads the palette from the page and tells when it may have changed.

use super::palette::{Colour, Palette};
use gloo::events::EventListener;
use gloo::utils::{document, window};
use wasm_bindgen::JsCast;
use web_sys::{HtmlElement, MediaQueryList};

const DARK: &str = "(prefers-color-scheme: dark)";

/// The palette as the style sheet gives it now. Touches the document: call it once per theme, in a frame.
pub fn read_palette() -> Palette {
    let found = read_properties().unwrap_or([None; 17]);
    // Without a style sheet the system's wish decides.
    let dark = found[0].map_or_else(system_is_dark, |paper| paper.luminance() < 0.2);
    Palette::from_list(found, if dark { &Palette::DARK } else { &Palette::LIGHT })
}

/// Whether the system is dark now.
pub fn system_is_dark() -> bool {
    window().match_media(DARK).ok().flatten().is_some_and(|query| query.matches())
}

/// Lets the browser resolve each property on a passing element: a property may hold another one.
fn read_properties() -> Option<[Option<Colour>; 17]> {
    let root = document().document_element()?;
    let own = window().get_computed_style(&root).ok()??;
    let probe: HtmlElement = document().create_element("span").ok()?.dyn_into().ok()?;
    probe.set_hidden(true);
    document().body()?.append_child(&probe).ok()?;
    let seen = window().get_computed_style(&probe).ok()??;
    let found = Palette::PROPERTIES.map(|name| {
        let declared = own.get_property_value(name).ok().is_some_and(|v| !v.trim().is_empty());
        declared.then_some(())?;
        probe.style().set_property("color", &format!("var({name})")).ok()?;
        Colour::parse(&seen.get_property_value("color").ok()?)
    });
    probe.remove();
    Some(found)
}

/// Calls back when the system turns dark or light, for as long as it is kept.
pub struct SystemTheme {
    _query: Option<MediaQueryList>,
    _listener: Option<EventListener>,
}

impl SystemTheme {
    /// Watches until dropped.
    pub fn watch(changed: impl Fn() + 'static) -> Self {
        let query = window().match_media(DARK).ok().flatten();
        let listener = query.as_ref().map(|query| EventListener::new(query, "change", move |_| changed()));
        Self { _query: query, _listener: listener }
    }
}
