//! Reads the palette from the page and tells when it may have changed.

use super::palette::{Colour, Palette};
use gloo::events::EventListener;
use gloo::utils::{document, window};
use std::rc::Rc;
use wasm_bindgen::JsCast;
use web_sys::{Event, EventTarget, HtmlElement, MediaQueryList};

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

/// Told by the window when the colours have changed: what was painted meanwhile has the old ones.
const SHADE: &str = "evenrise:shade";

/// Sets the colours that the style sheet shows.
pub fn set_shade(dark: bool) {
    if mark_shade(dark)
        && let Ok(event) = Event::new(SHADE)
    {
        let _ = window().dispatch_event(&event);
    }
}

/// The same without telling; whether it was another shade before.
fn mark_shade(dark: bool) -> bool {
    let shade = if dark { "dark" } else { "light" };
    let Some(root) = document().document_element() else { return false };
    let other = root.get_attribute("data-shade").as_deref() != Some(shade);
    // Failing to set an attribute leaves the colours as they are.
    other && root.set_attribute("data-shade", shade).is_ok()
}

/// Calls back when the system turns dark or light, and when the page goes to paper and comes back from it.
pub struct SystemTheme {
    _query: Option<MediaQueryList>,
    _listeners: Vec<EventListener>,
}

impl SystemTheme {
    /// Watches until dropped. `changed` is told whether it is for paper, which is light and waits for no frame.
    pub fn watch(changed: impl Fn(bool) + 'static) -> Self {
        let query = window().match_media(DARK).ok().flatten();
        let changed: Rc<dyn Fn(bool)> = Rc::new(changed);
        let on = |target: &EventTarget, name: &'static str, paper: bool| {
            let changed = changed.clone();
            EventListener::new(target, name, move |_| {
                // Whichever watcher hears first: all shall see the colours of the paper.
                if paper {
                    mark_shade(false);
                }
                changed(paper);
            })
        };
        let mut listeners = vec![
            on(&window(), "beforeprint", true),
            on(&window(), "afterprint", false),
            on(&window(), SHADE, false),
        ];
        listeners.extend(query.as_ref().map(|query| on(query, "change", false)));
        Self { _query: query, _listeners: listeners }
    }
}
