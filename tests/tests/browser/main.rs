//! The built page in a real browser.

mod harness;
mod offline;
mod planner;
mod start;
mod story;
