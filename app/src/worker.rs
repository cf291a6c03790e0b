//! The worker's side.

use wasm_bindgen::prelude::*;
use web_sys::{DedicatedWorkerGlobalScope, MessageEvent};

/// Answers every message.
pub fn main() {
    let scope: DedicatedWorkerGlobalScope = js_sys::global().unchecked_into();
    let replies = scope.clone();
    let on_message = Closure::<dyn Fn(MessageEvent)>::new(move |event: MessageEvent| {
        if event.data() == "ping" {
            replies.post_message(&"pong".into()).expect("a string can be posted");
        }
    });
    scope.set_onmessage(Some(on_message.as_ref().unchecked_ref()));
    // It answers for as long as the worker lives.
    on_message.forget();
}
