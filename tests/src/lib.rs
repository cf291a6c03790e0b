//! What the checks from outside share.
//!
//! - [`browser`]: opens the built page in Chromium and drives it;
//! - [`golden`]: files that a test compares with, and rewrites only with `--bless`.

pub mod browser;
mod driver;
pub mod golden;
