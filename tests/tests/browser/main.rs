//! The built page in a real browser.

mod bad_input;
mod bits;
mod empty;
mod harness;
mod offline;
mod planner;
mod start;
mod story;
mod worker;
