//! What goes into the store and what it answers.

use super::trouble::Trouble;

/// One text and the key it is kept under. `scope` may hold slashes, `phone` and `hash` may not.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Record {
    /// What the text's chain is about.
    pub scope: String,
    /// The phone that wrote it.
    pub phone: String,
    /// Its number within the chain.
    pub seq: u64,
    /// Its identity, lower-case hex.
    pub hash: String,
    /// The exact text that was hashed.
    pub text: String,
}

/// Bytes that an entry names by hash: a photo, a name, a signature. They have no second copy.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Attachment {
    /// SHA-256 of salt and bytes, lower-case hex.
    pub hash: String,
    /// The random salt.
    pub salt: Vec<u8>,
    /// Media type.
    pub media: String,
    /// The bytes.
    pub bytes: Vec<u8>,
}

/// What a start reads of the attachments.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Attachments {
    /// Those that are no pictures.
    pub read: Vec<Attachment>,
    /// The hashes of the pictures.
    pub pictures: Vec<String>,
}

/// What belongs in one transaction: all of it is stored or none.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Batch {
    /// Texts.
    pub records: Vec<Record>,
    /// The attachments they name.
    pub attachments: Vec<Attachment>,
}

/// What became of a write. `hashes` are those of the batch's records.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Written {
    /// On the disk: it survives the browser being killed and power lost.
    Recorded {
        /// The records.
        hashes: Vec<String>,
    },
    /// Not recorded yet, trying again. Sent at each failure.
    Waiting {
        /// The records.
        hashes: Vec<String>,
        /// What to do.
        why: Trouble,
        /// Failures so far, from 1.
        tries: u32,
    },
    /// Not recorded, because there is no database; opening it is tried again. Sent at each failure.
    NotSafe {
        /// The records.
        hashes: Vec<String>,
        /// What to do.
        why: Trouble,
    },
    /// The database was erased while the app was open, by the browser or the person. What the app still holds can be put back with
    /// an import.
    Erased,
    /// The second copy fails; sent once until it works again. It blocks nothing.
    NoCopy {
        /// What to do.
        why: Trouble,
    },
}

/// What a start found.
#[derive(Debug, Default)]
pub struct Found {
    /// The union of both copies outside of the settled stretches, each text once.
    pub records: Vec<Record>,
    /// How many of them only the second copy had; they are in the database now, unless `trouble` says otherwise.
    pub restored: usize,
    /// Why the database could not be read or filled.
    pub trouble: Option<Trouble>,
    /// Why the second copy could not be read.
    pub copy_trouble: Option<Trouble>,
    /// Second copies of what lies in settled stretches, to be held against what is read of these later.
    pub copies_later: Vec<Record>,
}
