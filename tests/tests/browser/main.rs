//! The built page in a real browser.

mod answers;
mod bad_input;
mod barriers;
mod bits;
mod empty;
mod harness;
mod offline;
mod pictures;
mod planner;
mod start;
mod story;
mod worker;
