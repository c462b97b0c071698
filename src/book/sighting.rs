//! What somebody saw come in at the panel, as its entries leave it: the tap, then the point, then the restore.

use super::Id;
use super::body::{Body, PanelSighting, What};
use super::entries::Book;
use super::entry::{Entry, Hash};
use crate::units::Wall;
use std::sync::Arc;

/// One thing that came in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sighting {
    /// The first entry that says it, by which it is known.
    pub hash: Hash,
    /// The last one, which an undo takes back.
    pub last: Hash,
    /// The phone at the panel.
    pub phone: Id,
    /// When it was recorded first, wall clock, UTC ms.
    pub wall: Wall,
    /// What it says now.
    pub seen: Arc<PanelSighting>,
    /// The entry that takes it for a trip, and the trip.
    pub taken: Option<(Hash, Hash)>,
}

impl Sighting {
    /// The one that an entry belongs to; none where it is void, or its beginning is unknown.
    pub fn of(book: &Book, entry: Hash) -> Option<Sighting> {
        let mut first = book.get(entry)?;
        // An entry names only older ones, so there is an end to it.
        while let Some(before) = words(book, first)?.replaces {
            first = book.get(before).filter(|before| before.chain == first.chain)?;
        }
        let mut line = vec![first];
        let mut last = first;
        while let Some(next) = said_anew(book, last) {
            line.push(next);
            last = next;
        }
        let seen = words(book, last)?;
        Some(Sighting {
            hash: first.hash,
            last: last.hash,
            phone: first.chain.phone,
            wall: first.stamp.wall,
            seen: Arc::clone(seen),
            taken: taken(book, &line, seen),
        })
    }

    /// Whether somebody said which point it was.
    pub fn is_named(&self) -> bool {
        !self.seen.point.trim().is_empty()
    }

    /// Whether it counts for this trip.
    pub fn taken_for(&self, trip: Hash) -> bool {
        self.taken.is_some_and(|(_, of)| of == trip)
    }
}

fn words<'a>(book: &Book, entry: &'a Entry) -> Option<&'a Arc<PanelSighting>> {
    match &entry.body {
        Body::PanelSaw(seen) if !book.is_void(entry) => Some(seen),
        _ => None,
    }
}

/// The entry by which the same phone says it anew; of several the last.
fn said_anew<'a>(book: &'a Book, entry: &Entry) -> Option<&'a Entry> {
    let anew = |other: &&Entry| {
        let of = words(book, other).is_some_and(|seen| seen.replaces == Some(entry.hash));
        of && other.chain == entry.chain
    };
    book.naming(entry.hash).filter(anew).max_by_key(|other| other.seq)
}

/// The last acceptance, by the clocks that people read, of the point that is said now.
fn taken(book: &Book, line: &[&Entry], now: &PanelSighting) -> Option<(Hash, Hash)> {
    let same = |entry: &&&Entry| words(book, entry).is_some_and(|seen| seen.point == now.point);
    let accepted = line.iter().filter(same).flat_map(|entry| book.naming(entry.hash)).filter_map(|other| {
        let Body::PanelSawAccepted { trip, .. } = other.body else { return None };
        let mark = book.get(trip).filter(|mark| !book.is_void(mark))?;
        matches!(mark.body, Body::Mark { what: What::Tripped, .. }).then_some((other, trip))
    });
    let last = accepted.max_by_key(|(other, _)| (other.stamp.wall, other.hash));
    last.map(|(other, trip)| (other.hash, trip))
}
