//! The built page in a real browser.

mod answers;
mod bad_input;
mod barriers;
mod bits;
mod choosing;
mod compare;
mod drawing;
mod empty;
mod harness;
mod heat;
mod offline;
mod pictures;
mod planner;
mod plans;
mod screens;
mod start;
mod story;
mod tour;
mod typing;
mod worker;
