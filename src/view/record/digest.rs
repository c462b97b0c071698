//! What the record is bound to: its canonical data without signatures.

use super::Recorded;
use crate::book::body::Body;
use crate::book::entry::{ChainEnd, Entry, Hash, Scope};
use crate::encoding::canonical;
use crate::encoding::stored::Stored;
use crate::findings::METHOD;
use serde_json::json;

/// Version of the data that is hashed.
const VERSION: u32 = 1;

impl Recorded<'_> {
    /// Where the visit's chains end for the record. Signatures, and notes that the record left the phone, are none of it: all who sign sign
    /// the same.
    pub(super) fn ends(&self) -> Vec<ChainEnd> {
        let scope = Scope::Visit(self.visit.id);
        let chains = self.book.chains_of(scope);
        let end = chains.filter_map(|chain| {
            let mut entries = self.book.chain(chain).filter(|entry| !self.is_beside(entry));
            let first = entries.next()?;
            let (count, last) = entries.fold((1, first.hash), |(count, _), entry| (count + 1, entry.hash));
            Some(ChainEnd { scope, phone: chain.phone, count, last })
        });
        end.collect()
    }

    /// Whether an entry is none of what the record is made from: a signature, that it left the phone, or that one of these was taken back.
    pub(super) fn is_beside(&self, entry: &Entry) -> bool {
        let beside = |body: &Body| matches!(body, Body::Signature(_) | Body::Delivered(_));
        match &entry.body {
            Body::Undone { undoes } => {
                let mut undone = self.book.chain(entry.chain).filter(|other| other.decision() == *undoes).peekable();
                undone.peek().is_some() && undone.all(|other| beside(&other.body))
            }
            body => beside(body),
        }
    }

    /// SHA-256 of the canonical JSON (RFC 8785) of version, method, visit, chains and what is printed of each position.
    pub(super) fn digest(&self) -> Hash {
        let positions: Vec<String> =
            self.lines.iter().map(|line| format!("{}\t{}", line.position, line.as_printed())).collect();
        let measured: Vec<String> = self.found.by_start().into_iter().map(|found| self.measured_line(found)).collect();
        let data = json!({
            "soakbook_record": VERSION,
            "method": METHOD,
            "visit": self.visit.id.to_string(),
            "site": [self.site_name(), self.site().and_then(|site| site.address.as_deref()).unwrap_or_default()],
            "chains": self.ends().to_value(),
            "positions": positions,
            "measured": measured,
        });
        Hash::of(canonical(&data).as_bytes())
    }
}
