//! What the browser offers, behind small doors: nothing else touches storage, files or workers.

pub mod crash;
pub mod files;
pub mod focus;
pub mod frames;
pub mod links;
pub mod preferences;
pub mod solver;
pub mod storage;
pub mod tabs;
