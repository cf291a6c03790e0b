//! Two tabs of one page: the draft belongs to the one that claimed it last.

use wasm_bindgen::prelude::*;
use web_sys::{BroadcastChannel, MessageEvent};

/// This tab's line to the others.
pub struct Tabs {
    channel: BroadcastChannel,
    me: f64,
    _on_message: Closure<dyn Fn(MessageEvent)>,
}

impl Tabs {
    /// Claims the draft; `heard` is told when another tab claims it (false) or gives it up (true). None where tabs
    /// cannot talk.
    pub fn claim(heard: impl Fn(bool) + 'static) -> Option<Self> {
        let channel = BroadcastChannel::new("evenrise-draft").ok()?;
        let me = js_sys::Math::random();
        let on_message = Closure::<dyn Fn(MessageEvent)>::new(move |event: MessageEvent| {
            if let Some(other) = event.data().as_f64().filter(|other| other.abs() != me) {
                heard(other < 0.0);
            }
        });
        channel.set_onmessage(Some(on_message.as_ref().unchecked_ref()));
        let tabs = Self { channel, me, _on_message: on_message };
        tabs.claim_again();
        Some(tabs)
    }

    /// Takes the draft over.
    pub fn claim_again(&self) {
        // A closed channel has nobody to tell.
        let _ = self.channel.post_message(&self.me.into());
    }

    /// Gives the draft up: the same number, below zero.
    pub fn release(&self) {
        let _ = self.channel.post_message(&(-self.me).into());
    }
}

impl Drop for Tabs {
    fn drop(&mut self) {
        self.channel.close();
    }
}
