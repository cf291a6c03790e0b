//! `cargo start`, `cargo verify` and `cargo pack`: builds the page, serves it, checks everything.
//!
//! | module | says |
//! |---|---|
//! | [`cargo`] | where the workspace is, how cargo and rustup are called |
//! | [`page`] | wasm build, bindings, `index.html` → one folder of files |
//! | [`arrange`] | the order of the module's functions and locals |
//! | [`html`] | what happens to the bundler's link lines |
//! | [`slim`] | scripts and stylesheets without comments and indents |
//! | [`policy`] | content-security policy and the other headers |
//! | [`offline`] | the service worker's list of files |
//! | [`serve`] | the static server |
//! | [`watch`] | rebuild on change |
//! | [`verify`] | the list of checks, their tools, the size limit |

pub mod arrange;
pub mod cargo;
pub mod html;
pub mod offline;
pub mod page;
pub mod policy;
pub mod serve;
pub mod slim;
pub mod verify;
pub mod watch;
