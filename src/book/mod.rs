//! What happened: the entry format, the book, the fold and every rule.
//!
//! Pure; uses `trade`, `units` and `encoding`. Knows no clock, no browser, no randomness: stamps and ids are arguments.
//! Knows nothing of findings: bodies are facts, never results. Reading order: `entry` (one line), `body` (what a line can
//! say), `log` (the book: union, chains, voids), `register`, `kit`, `visit`, `clock` (time in a test), `test`, `phase`, `profile run`,
//! `command`
//! and `decide` (the rules), `refusal`, `seal`, `stored` (JSON).

pub mod body;
pub mod clock;
pub mod command;
pub mod decide;
pub mod entry;
mod frozen;
pub mod group;
pub mod health;
pub mod kit;
pub mod lift;
pub mod log;
pub mod phase;
pub mod profile_run;
pub mod refusal;
pub mod register;
pub mod seal;
mod sorted;
mod stored;
pub mod test;
pub mod visit;

/// Identity of a thing: site, area, circuit, detector, heater, person, visit, test, phone, session.
pub type Id = uuid::Uuid;
