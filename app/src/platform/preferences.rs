//! Units and theme, remembered from visit to visit. Without storage the defaults are used.

use crate::session::Theme;
use engine::units::UnitSystem;
use gloo::storage::{LocalStorage, Storage};
use serde_json::{Value, json};

const KEY: &str = "evenrise-preferences";

/// What is remembered.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Preferences {
    /// Units people read.
    pub units: UnitSystem,
    /// Light or dark.
    pub theme: Theme,
}

// By their words and not by derived readers, each of which is in the download.
const INCH_POUND: &str = "inch_pound";
const LIGHT: &str = "light";
const DARK: &str = "dark";

/// What was remembered, or the defaults.
pub fn load() -> Preferences {
    let kept: Value = if reachable() { LocalStorage::get(KEY).unwrap_or_default() } else { Value::Null };
    Preferences {
        units: if kept["units"] == INCH_POUND { UnitSystem::InchPound } else { UnitSystem::Si },
        theme: match kept["theme"].as_str() {
            Some(LIGHT) => Theme::Light,
            Some(DARK) => Theme::Dark,
            _ => Theme::System,
        },
    }
}

/// Remembers; not being able to is no trouble worth a message.
pub fn save(preferences: Preferences) {
    let units = if preferences.units == UnitSystem::InchPound { INCH_POUND } else { "si" };
    let theme = match preferences.theme {
        Theme::Light => LIGHT,
        Theme::Dark => DARK,
        Theme::System => "system",
    };
    if reachable() {
        let _ = LocalStorage::set(KEY, json!({ "units": units, "theme": theme }));
    }
}

const HINTS: &str = "evenrise-hints";

/// Whether the first hints have not been put away yet.
pub fn hints_wanted() -> bool {
    let storage = gloo::utils::window().local_storage().ok().flatten();
    storage.is_some_and(|storage| storage.get_item(HINTS).is_ok_and(|seen| seen.is_none()))
}

/// The first hints are not wanted again.
pub fn hide_hints() {
    if let Ok(Some(storage)) = gloo::utils::window().local_storage() {
        // They come again where nothing can be remembered.
        let _ = storage.set_item(HINTS, "seen");
    }
}

/// The library's own access panics where storage is forbidden.
fn reachable() -> bool {
    gloo::utils::window().local_storage().is_ok_and(|storage| storage.is_some())
}
