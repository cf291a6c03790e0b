//! What can be asked of a plan beyond one solve: commands that size ducts, level runs and fit drives, and
//! studies of the oven as built, of the air at the parts, of plans to choose from.
//!
//! ```text
//! ask ──worker──▶ engine ──answer──▶ sheet (words, figures, curves, plans) ──view──▶ the Answers tab
//! ```
//!
//! Every answer travels and is shown as one kind of sheet, so that a new question costs a row of [`ask::ASKS`]
//! and a function in [`answer`], and next to nothing of the download. An answer belongs to the plan it was
//! asked of; of any other plan it is shown as out of date.

pub mod answer;
pub mod ask;
pub mod card;
pub mod coverage;
pub mod picture;
pub mod run;
pub mod settings;
pub mod sheet;
pub mod state;
#[cfg(test)]
mod tests;
pub mod view;

pub use ask::{Ask, What};
pub use sheet::Sheet;
pub use state::{Intent, Studies, Study};
