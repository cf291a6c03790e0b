//! Yew's effects for one type of value and of closure: each other pair would be in the download once more.

use std::any::Any;
use yew::prelude::*;

/// When an effect acts.
#[derive(Clone, Debug)]
pub enum On {
    /// Once, after the first drawing.
    Start,
    /// After each drawing.
    Drawing,
    /// When one of two numbers is another than at the last drawing.
    Numbers(u64, u64),
    /// When words are other than at the last drawing.
    Words(AttrValue),
}

impl PartialEq for On {
    fn eq(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Start, Self::Start) => true,
            (Self::Numbers(a, b), Self::Numbers(c, d)) => (a, b) == (c, d),
            (Self::Words(a), Self::Words(b)) => a == b,
            _ => false,
        }
    }
}

/// What an effect leaves behind, such as listeners: dropped before it acts again, and when the view goes.
pub type Kept = Option<Box<dyn Any>>;

/// What an effect does.
pub fn act(act: impl FnOnce() -> Kept + 'static) -> Box<dyn FnOnce() -> Kept> {
    Box::new(act)
}

/// Acts after a drawing.
#[hook]
pub fn use_effect_on(on: On, act: Box<dyn FnOnce() -> Kept>) {
    use_effect_with(on, move |_| {
        let kept = act();
        move || drop(kept)
    });
}
