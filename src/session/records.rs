//! Entries and attachments as the storage has them, and back.

use crate::book::entries::Attachment;
use crate::book::entry::Entry;
use crate::storage::{self, Batch, Record};

/// Entries and attachments that are stored together.
pub fn batch(entries: &[Entry], attachments: &[Attachment]) -> Batch {
    Batch {
        records: entries.iter().map(record_of).collect(),
        attachments: attachments.iter().cloned().map(stored_attachment).collect(),
    }
}

pub(super) fn record_of(entry: &Entry) -> Record {
    Record {
        scope: entry.chain.scope.to_string(),
        phone: entry.chain.phone.to_string(),
        seq: entry.seq.unsigned_abs(),
        hash: entry.hash.to_string(),
        text: entry.text.clone(),
    }
}

/// An attachment as it is stored.
pub fn stored_attachment(attachment: Attachment) -> storage::Attachment {
    storage::Attachment {
        hash: attachment.hash().to_string(),
        salt: attachment.salt.to_vec(),
        media: attachment.media,
        bytes: attachment.bytes,
    }
}

/// An attachment as it was stored; none where its salt is none.
pub fn attachment_of(stored: storage::Attachment) -> Option<Attachment> {
    let salt = stored.salt.try_into().ok()?;
    Some(Attachment { salt, media: stored.media, bytes: stored.bytes })
}
