//! In-browser tests.
#![cfg(target_arch = "wasm32")]
