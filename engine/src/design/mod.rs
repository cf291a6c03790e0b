//! Commands that design.
