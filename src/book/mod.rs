//! What happened: the entry format, the book, the fold and every rule.
//!
//! Pure; uses `trade`, `units` and `encoding`. Knows no clock, no browser, no randomness: stamps and ids are arguments.
//! Knows nothing of findings: bodies are facts, never results. Reading order: `entry` (one line), `body` (what a line can
//! say), `log` (the book: union, chains, voids), `register`, `kit`, `round`, `clock` (time in a run), `run`, `phase`, `ramp`,
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
pub mod ramp;
pub mod refusal;
pub mod register;
pub mod round;
pub mod run;
pub mod seal;
mod sorted;
mod stored;

/// Identity of a thing: site, area, circuit, detector, head, person, round, run, phone, session.
pub type Id = uuid::Uuid;
