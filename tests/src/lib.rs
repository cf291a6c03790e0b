//! What the checks from outside share.
//!
//! - [`axe`]: looks for what shuts people out of a page;
//! - [`browser`]: opens the built page in Chromium and drives it;
//! - [`golden`]: files that a test compares with, and rewrites only with `--bless`;
//! - [`npm`]: what tests fetch from npm;
//! - [`outside`]: the engine's answers beside values from outside it;
//! - [`picture`]: pictures compared with golden ones.

pub mod axe;
pub mod browser;
mod driver;
pub mod golden;
pub mod npm;
pub mod outside;
pub mod picture;
