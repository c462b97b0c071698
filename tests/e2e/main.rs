//! End-to-end tests.
#![cfg(not(target_arch = "wasm32"))]
