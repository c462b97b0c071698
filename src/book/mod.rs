//! What happened: the entry format, the book, the fold and every rule.
//!
//! Pure; uses `trade`, `units` and `encoding`. Knows no clock, no browser, no randomness: stamps and ids are arguments.
//! Knows nothing of findings: bodies are facts, never results.
//!
//! What holds of it whatever comes in: `decide` holds every rule and is the only thing that says no; `apply` holds none, is total and never
//! fails. Nothing is dropped: what fits nothing is in `health::anomalies`, what is no entry is a scrap. The book is a function of the
//! set of its entries, in any order, with any duplicates, however split into files. The phase of a test is a pure function of
//! procedure, heater, marks and now; ticks are never counted. A file, however hostile, ends no loop late and makes no panic:
//! arithmetic saturates, a test is laid out for at most 10,000 stretches, undo chains and take-overs are walked without recursion.
//! What `decide` and `seal` write, `Entry::read` reads.
//!
//! Reading order. What is written: `chain` (its position), `entry` (one line), `body` (what it can say, with the format's tables), `acts`,
//! `things`, `off`, `work` and `snapshot` (of what bodies are made), `described` and `stored` (all of it as JSON), `upcast` (older formats), `facts` (what a body is, whatever it
//! says). What is kept: `entries` (the book: union, chains, voids), `integrity` (what does not fit). What it comes to: `versions`
//! (edits), `register`, `kit`, `clock` (time in a test), `by_test`, `test`, `timeline`, `profile_run`, `visit`, `photos`. What is allowed: `command`,
//! `decide`, `refusal`, `seal`.

pub mod acts;
pub mod body;
mod by_test;
mod chain;
pub mod clock;
pub mod command;
pub mod decide;
mod described;
pub mod early;
pub mod entries;
pub mod entry;
pub mod facts;
pub mod integrity;
pub mod kit;
pub mod off;
pub mod photos;
pub mod profile_run;
pub mod refusal;
pub mod register;
pub mod seal;
pub mod sighting;
pub mod snapshot;
mod stored;
pub mod test;
pub mod things;
pub mod timeline;
pub mod upcast;
pub mod versions;
pub mod visit;
pub mod work;

/// Identity of a thing: site, area, circuit, detector, heater, person, visit, test, phone, session.
pub type Id = uuid::Uuid;
