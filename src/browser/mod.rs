//! Performs effects in the browser: storing, time, sound, sharing. Wasm only. It moves texts and events and knows nothing of
//! what they mean, nor of how anything is drawn.

pub mod clock;
mod js;
pub mod store;
pub mod trouble;

pub use js::{Listening, Repeating};
