//! The worker's side: reads a request, lets the engine answer, posts the answer.

use crate::solve;
use js_sys::Uint8Array;
use wasm_bindgen::prelude::*;
use web_sys::{DedicatedWorkerGlobalScope, MessageEvent};

/// What the worker says of itself before it falls; everything else it posts is bytes.
pub const FALL: &str = "fall: ";

/// Answers every message.
pub fn main() {
    let scope: DedicatedWorkerGlobalScope = js_sys::global().unchecked_into();
    let last_words = scope.clone();
    std::panic::set_hook(Box::new(move |info| {
        // Nothing better can be done about a failure in the middle of failing.
        let _ = last_words.post_message(&format!("{FALL}{info}").into());
    }));
    let replies = scope.clone();
    let on_message = Closure::<dyn Fn(MessageEvent)>::new(move |event: MessageEvent| {
        let bytes = Uint8Array::new(&event.data()).to_vec();
        let mut post = |reply: solve::Answer| {
            let written = postcard::to_allocvec(&reply).map_err(|e| e.to_string());
            send(&replies, written);
        };
        match postcard::from_bytes::<solve::Request>(&bytes) {
            Ok(request) => {
                let last = solve::answer(&request, &mut post);
                post(last);
            }
            Err(error) => send(&replies, Err(error.to_string())),
        }
    });
    scope.set_onmessage(Some(on_message.as_ref().unchecked_ref()));
    // It answers for as long as the worker lives.
    on_message.forget();
}

fn send(replies: &DedicatedWorkerGlobalScope, written: Result<Vec<u8>, String>) {
    let message = match written {
        Ok(bytes) => Uint8Array::from(bytes.as_slice()).into(),
        Err(error) => JsValue::from(format!("{FALL}{error}")),
    };
    if let Err(error) = replies.post_message(&message) {
        wasm_bindgen::throw_val(error);
    }
}
