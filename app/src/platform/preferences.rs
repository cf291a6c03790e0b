//! Units and theme, remembered from visit to visit. Without storage the defaults are used.

use crate::session::Theme;
use engine::units::UnitSystem;
use gloo::storage::{LocalStorage, Storage};
use serde::{Deserialize, Serialize};

const KEY: &str = "evenrise-preferences";

/// What is remembered.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Preferences {
    /// Units people read.
    pub units: UnitSystem,
    /// Light or dark.
    pub theme: Theme,
}

/// What was remembered, or the defaults.
pub fn load() -> Preferences {
    if reachable() { LocalStorage::get(KEY).unwrap_or_default() } else { Preferences::default() }
}

/// Remembers; not being able to is no trouble worth a message.
pub fn save(preferences: Preferences) {
    if reachable() {
        let _ = LocalStorage::set(KEY, preferences);
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
