//! Checks from outside: published cases against the engine's public face, and the rules of the house.

mod house;
mod sources;
