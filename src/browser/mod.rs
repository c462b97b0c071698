//! Performs effects in the browser. Wasm only.
