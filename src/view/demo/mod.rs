//! An invented site to try everything on. No such place, heaters or numbers exist; every screen and print of it says so.
//!
//! `small` makes a works of nine positions, `works` enlarges it to sixty, and `story` tells three years of those, as `past` has
//! them, through the rules, which `record` asks as a phone does; `figures` has what heater and detectors are taken to do.

mod figures;
mod past;
mod record;
mod small;
mod story;
mod works;

pub use small::{Demo, demo};
pub use story::{Story, Told};
