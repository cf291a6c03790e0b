//! What a person decides: the plan document.
//!
//! Plain data in SI with the unit in every name; nothing here is computed. A plan changes only by
//! commands, and everything else (network, solution, findings, sheets) is derived from it.
//! Fields this version does not know are kept in `extra` and written back, so a plan from a newer
//! version survives an older one.

pub mod change;
pub mod check;
pub mod file;
pub mod geometry;
mod items;
mod place;
mod reader;
mod record;
mod shop;

pub use items::*;
pub use shop::{SHOP_FORMAT, take_shop, write_shop};
