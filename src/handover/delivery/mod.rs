//! Files on their way to the office's folder, and what the office has not fetched yet.
//!
//! Pure: what is to be asked of the server comes out as [`Job`]s, what it answered goes in as [`Answer`]s, and the time is an argument.
//! A file is immutable and named by its content, so sending it twice changes nothing; it counts as delivered once the server said
//! that it made it, or gave back the same bytes. Reading order: `answer` (what an answer means), `outbox` (which file is next and when),
//! `folder` (an address, a listing).

mod answer;
mod folder;
mod outbox;

pub use answer::{Answer, Meaning, Rule, Step, Why};
pub use folder::{AddressFault, Listed, address, is_whole, password_for, patience_ms, unseen};
pub use outbox::{Job, Next, Outbox, Parcel, State, WAITS_MS};
