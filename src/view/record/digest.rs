//! What the record is bound to: its canonical data without signatures.

use super::Recorded;
use crate::book::body::{Attendance, Body};
use crate::book::entry::{Chain, ChainEnd, Entry, Hash, Scope};
use crate::encoding::canonical;
use crate::encoding::stored::Stored;
use crate::findings::METHOD;
use serde_json::{Value, json};

/// Version of the data that is hashed.
const VERSION: u32 = 2;

impl Recorded<'_> {
    /// Where the visit's chains end for the record: at the last entry of each that says anything of it. A phone that only signs has no part
    /// in it, so that all who sign sign the same.
    pub(super) fn ends(&self) -> Vec<ChainEnd> {
        let scope = Scope::Visit(self.visit.id);
        let end = |chain: Chain| {
            let places = (1..).zip(self.book.chain(chain)).filter(|(_, entry)| !self.is_beside(entry));
            let (count, last) = places.last()?;
            Some(ChainEnd { scope, phone: chain.phone, count, last: last.hash })
        };
        self.book.chains_of(scope).filter_map(end).collect()
    }

    /// Who took part, as far as the record is made from it.
    pub(super) fn people(&self) -> Vec<&Attendance> {
        let mut people: Vec<&Attendance> = Vec::new();
        for ChainEnd { scope, phone, count, .. } in self.ends() {
            let entries = self.book.chain(Chain { scope, phone }).take(usize::try_from(count).unwrap_or_default());
            for entry in entries.filter(|entry| !self.book.is_void(entry)) {
                let Body::Attended(of) = &entry.body else { continue };
                if !people.contains(&&**of) {
                    people.push(of);
                }
            }
        }
        people
    }

    /// Whether an entry says nothing of the record: a signature, who has the phone to sign, that it left the phone, or that one of these was
    /// taken back.
    pub(super) fn is_beside(&self, entry: &Entry) -> bool {
        let beside = |body: &Body| {
            matches!(body, Body::Signature(_) | Body::Delivered(_) | Body::VisitJoined { .. } | Body::Attended(_))
        };
        match &entry.body {
            Body::Undone { undoes } => {
                let mut undone = self.book.chain(entry.chain).filter(|other| other.decision() == *undoes).peekable();
                undone.peek().is_some() && undone.all(|other| beside(&other.body))
            }
            body => beside(body),
        }
    }

    /// SHA-256 of the canonical JSON (RFC 8785) of version, method, visit, chains, and what is printed of each position and as a photo: photos of
    /// positions are in the chains of the site.
    pub(super) fn digest(&self) -> Hash {
        let positions: Vec<String> =
            self.lines.iter().map(|line| format!("{}\t{}", line.position, line.as_bound())).collect();
        let measured: Vec<String> = self.found.by_start().into_iter().map(|found| self.measured_line(found)).collect();
        let photos: Vec<Value> = self.pictured().iter().map(Stored::to_value).collect();
        let data = json!({
            "soakbook_record": VERSION,
            "method": METHOD,
            "visit": self.visit.id.to_string(),
            "site": [self.site_name(), self.site().and_then(|site| site.address.as_deref()).unwrap_or_default()],
            "chains": self.ends().to_value(),
            "positions": positions,
            "measured": measured,
            "photos": photos,
        });
        Hash::of(canonical(&data).as_bytes())
    }
}
