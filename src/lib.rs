//! Soakbook: times, judges and records the heat test of spot heat detectors.
//!
//! The map, in reading order. `units`, `stats` and `encoding` know nothing of the job; `trade` knows kinds, classes and procedures;
//! `book` holds what happened and every rule that may refuse; `findings` says what the numbers say; `handover` turns the
//! book into bytes and back; `view` shapes it for a screen; `session` holds what the app holds and says what is to be done about each
//! change, and `storage` is what it stores. All of these are pure: no clock, no browser, no randomness. `browser` performs effects, `ui`
//! draws, `desk` is the command, and nothing uses `ui`.

pub mod book;
pub mod encoding;
pub mod findings;
pub mod handover;
pub mod order;
pub mod session;
pub mod stats;
pub mod storage;
pub mod thermal;
pub mod trade;
pub mod units;
pub mod view;

#[cfg(target_arch = "wasm32")]
pub mod browser;
#[cfg(target_arch = "wasm32")]
pub mod ui;

#[cfg(not(target_arch = "wasm32"))]
pub mod desk;
