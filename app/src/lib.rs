//! The page and, from the same wasm module, its worker.
//!
//! `boot.js` starts the module in the page, `worker.js` starts it in the worker; [`start`] looks where
//! it is and goes the right way.

use js_sys::global;
use wasm_bindgen::JsCast;

mod page;
mod worker;

/// Starts the page where there is a window, and answers messages where there is none.
pub fn start() {
    if global().has_type::<web_sys::Window>() {
        page::main();
    } else {
        worker::main();
    }
}
