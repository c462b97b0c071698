//! What the trade knows: kinds of detector, their EN 54-5 classes, procedures, heads, what may be heated how, cautions.
//!
//! Pure; uses `units`, and `encoding` to be written. Knows nothing of entries, rounds or screens. Reading order: `kind`,
//! `detector`, `head`, `procedure`, `seen`, `heating` (the kind × procedure table), `caution`; `stored` is their JSON.

pub mod caution;
pub mod detector;
pub mod head;
pub mod heating;
pub mod kind;
pub mod procedure;
pub mod seen;
mod stored;
