//! The page: board, strip, cards, tables and charts over the engine.
//!
//! Data flows one way: a view dispatches a [`command::Command`], the [`session::Session`] applies it,
//! every view is drawn again from the session. No view holds a copy of the plan, and no physics is
//! computed here.

pub mod command;
pub mod edit;
pub mod history;
pub mod session;
pub mod starter;
