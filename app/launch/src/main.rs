//! `cargo start`, `cargo verify` and `cargo pack`.
fn main() {}
