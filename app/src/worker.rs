//! The worker's side: reads a request, lets the engine answer, posts the answer.

use crate::solve::{self, wire::WorkerEnd};
use js_sys::{Array, Uint8Array};
use std::cell::RefCell;
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
    let end = RefCell::new(WorkerEnd::default());
    let on_message = Closure::<dyn Fn(MessageEvent)>::new(move |event: MessageEvent| {
        let bytes = Uint8Array::new(&event.data()).to_vec();
        let mut post = |reply: solve::Answer| send(&replies, end.borrow_mut().write(reply));
        let request = end.borrow_mut().read(&bytes);
        match request {
            Ok(request) => {
                let last = solve::answer(&request, &mut post);
                post(last);
            }
            Err(error) => send(&replies, Err(error)),
        }
    });
    scope.set_onmessage(Some(on_message.as_ref().unchecked_ref()));
    // It answers for as long as the worker lives.
    on_message.forget();
}

fn send(replies: &DedicatedWorkerGlobalScope, written: Result<Vec<u8>, String>) {
    let posted = match written {
        // Handed over, not copied: a thousand slots are a hundred kilobytes.
        Ok(bytes) => {
            let message = Uint8Array::from(bytes.as_slice());
            replies.post_message_with_transfer(&message, &Array::of1(&message.buffer()))
        }
        Err(error) => replies.post_message(&format!("{FALL}{error}").into()),
    };
    if let Err(error) = posted {
        wasm_bindgen::throw_val(error);
    }
}
