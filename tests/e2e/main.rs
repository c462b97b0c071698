//! End-to-end tests: the built app in a real Chromium, on a phone's screen.
//!
//! `cargo verify` says where the built app, the browser and the accessibility checker are: `SOAKBOOK_DIST`,
//! `SOAKBOOK_CHROMIUM`, `SOAKBOOK_CHROMEDRIVER`, `SOAKBOOK_AXE`; with `SOAKBOOK_SERVERS` nginx and Apache are there.
#![cfg(not(target_arch = "wasm32"))]
#![allow(clippy::unwrap_used, reason = "helpers of tests fail where they stand")]

mod area;
mod check;
#[cfg(unix)]
mod delivered;
mod demo;
mod devices;
mod estimate;
mod failure;
mod hand;
mod heaters;
mod host;
mod journeys;
mod killed;
#[path = "../native/kit.rs"]
#[allow(dead_code, reason = "the sample needs its procedure, the native tests the rest")]
mod kit;
mod large;
mod late;
mod marks;
#[cfg(unix)]
mod office;
mod offline;
mod paper;
mod phone;
mod photos;
mod profile_runs;
mod rare;
mod refused;
#[path = "../native/sample.rs"]
#[allow(dead_code, reason = "the native tests use the rest")]
mod sample;
mod screens;
mod senses;
mod setting_up;
mod sheet;
mod whole_visit;
