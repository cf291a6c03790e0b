//! The frame around board, strip and card.

pub mod accept;
pub mod dock;
pub mod findings;
pub mod hints;
pub mod in_turn;
pub mod keys;
pub mod keys_dialog;
pub mod menu;
pub mod messages;
pub mod panel;
pub mod plans;
pub mod share;
pub mod steps;
pub mod tally;
pub mod top_bar;
pub mod update;
