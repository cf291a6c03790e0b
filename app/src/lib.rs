//! The page and, from the same wasm module, its worker.
//!
//! Data flows one way: a view dispatches a [`command::Command`], the [`session::Session`] applies it,
//! every view is drawn again from the session. No view holds a copy of the plan, and no physics is
//! computed here. `boot.js` starts the module in the page, `worker.js` starts it in the worker;
//! [`start`] looks where it is and goes the right way.

use js_sys::global;
use wasm_bindgen::JsCast;

pub mod board;
pub mod cards;
pub mod charts;
pub mod command;
pub mod edit;
pub mod effects;
pub mod fields;
pub mod heat;
pub mod history;
pub mod latest;
pub mod list_input;
mod page;
pub mod platform;
pub mod quantity_input;
pub mod session;
pub mod settings;
pub mod shell;
pub mod solve;
pub mod starter;
pub mod strip;
pub mod studies;
pub mod tables;
pub mod text_input;
mod worker;

/// Starts the page where there is a window, and answers messages where there is none.
pub fn start() {
    if global().has_type::<web_sys::Window>() {
        page::main();
    } else {
        worker::main();
    }
}
