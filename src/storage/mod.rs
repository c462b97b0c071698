//! What goes into the phone's storage and what it answers, as plain data between the session, which decides what is stored, and the
//! browser, which stores it. Knows nothing of what the texts mean.

mod records;
mod settled;
mod trouble;

pub use records::{Attachment, Attachments, Batch, Found, Record, Written};
pub use settled::Settled;
pub use trouble::Trouble;
