//! Performs effects in the browser: storing, time, sound, sharing. Wasm only. It moves texts and events and knows nothing of
//! what they mean, nor of how anything is drawn.

pub mod clock;
pub mod cues;
pub mod dav;
pub mod ids;
mod js;
pub mod locks;
pub mod panic;
pub mod persist;
pub mod photo;
pub mod seal;
pub mod settings;
pub mod share;
pub mod store;
pub mod text;
pub mod trouble;
pub mod update;
pub mod wake;

pub(crate) use js::{after, next_piece, next_task};
