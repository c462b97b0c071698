//! What does not fit: gaps, forks, broken links, entries that name nothing known, entries of a newer app.
//!
//! A list to look at. Nothing here is ever dropped from the book.

use super::Id;
use super::body::{About, Body};
use super::entries::Book;
use super::entry::{Chain, DecisionId, Entry, Hash, Scope};
use super::facts::TestLink;
use super::test::starts as test_starts;
use crate::order;
use std::collections::BTreeSet;

/// One thing that does not fit.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Anomaly {
    /// Places of a chain that are not here.
    Missing {
        /// The chain.
        chain: Chain,
        /// First missing place.
        from: i64,
        /// Last missing place.
        to: i64,
    },
    /// Two contents at one place.
    Fork {
        /// The chain.
        chain: Chain,
        /// The place.
        seq: i64,
    },
    /// The entry before it is here but is not the one it names.
    BrokenLink {
        /// The entry.
        hash: Hash,
    },
    /// It starts a test that another entry starts, too.
    StartedAgain {
        /// The entry.
        hash: Hash,
        /// The start that counts.
        counts: Hash,
    },
    /// It names something that is not here.
    NamesUnknown {
        /// The entry.
        hash: Hash,
    },
    /// Its kind of fact does not belong in this chain.
    WrongScope {
        /// The entry.
        hash: Hash,
    },
    /// It needs a newer app, or was written by hand.
    NeedsNewerApp {
        /// The entry.
        hash: Hash,
        /// The type it names; where only a field is not understood, type and field with a full stop between.
        name: String,
    },
}

impl Anomaly {
    /// Whether something is missing, was altered or is there twice; the others are only told.
    pub fn breaks(&self) -> bool {
        match self {
            Anomaly::Missing { .. }
            | Anomaly::Fork { .. }
            | Anomaly::BrokenLink { .. }
            | Anomaly::StartedAgain { .. } => true,
            Anomaly::NamesUnknown { .. } | Anomaly::WrongScope { .. } | Anomaly::NeedsNewerApp { .. } => false,
        }
    }
}

/// Everything that does not fit, in a fixed order.
pub fn anomalies(book: &Book) -> Vec<Anomaly> {
    let mut found = Vec::new();
    for chain in book.chains() {
        let mut expected = 0;
        let mut before: Option<(i64, BTreeSet<Hash>)> = None;
        for (seq, hashes) in book.places(chain) {
            if seq > expected {
                found.push(Anomaly::Missing { chain, from: expected, to: seq - 1 });
            }
            if hashes.len() > 1 {
                found.push(Anomaly::Fork { chain, seq });
            }
            if let Some((_, links)) = before.filter(|(last, _)| *last == seq - 1) {
                let entries = hashes.iter().filter_map(|hash| book.get(*hash));
                let broken = entries.filter(|entry| entry.prev.is_none_or(|prev| !links.contains(&prev)));
                found.extend(broken.map(|entry| Anomaly::BrokenLink { hash: entry.hash }));
            }
            before = Some((seq, hashes));
            expected = seq.saturating_add(1);
        }
    }
    for test in book.test_ids() {
        let mut starts = test_starts(book, test);
        let Some(counts) = starts.next() else { continue };
        // Two starts at one place are a fork, which is reported as one.
        let others = starts.filter(|other| (other.chain, other.seq) != (counts.chain, counts.seq));
        found.extend(others.map(|other| Anomaly::StartedAgain { hash: other.hash, counts: counts.hash }));
    }
    let decisions = order::set(book.entries().map(|entry| (entry.chain.scope, entry.decision())));
    found.extend(book.entries().filter_map(|entry| anomaly(book, &decisions, entry)));
    for entry in book.entries() {
        let needs = |field| Anomaly::NeedsNewerApp { hash: entry.hash, name: format!("{}.{field}", entry.body.name()) };
        found.extend(entry.not_understood().into_iter().map(needs));
    }
    found
}

/// Whether a body may stand in a chain about this; of rows every one, and none that holds rows itself.
fn belongs(body: &Body, scope: Scope) -> bool {
    let of_import = |row: &Body| matches!(row, Body::RowsImported { .. } | Body::ImportCommitted { .. });
    let rows_belong = body.rows().iter().all(|row| row.scopes().include(scope) && !of_import(row));
    body.scopes().include(scope) && rows_belong
}

fn anomaly(book: &Book, decisions: &BTreeSet<(Scope, DecisionId)>, entry: &Entry) -> Option<Anomaly> {
    let hash = entry.hash;
    if let Body::Newer { name } = &entry.body {
        return Some(Anomaly::NeedsNewerApp { hash, name: name.clone() });
    }
    if !belongs(&entry.body, entry.chain.scope) {
        return Some(Anomaly::WrongScope { hash });
    }
    let known = |hash: &Hash| book.get(*hash).is_some();
    let started =
        |of: Id| if entry.chain.scope == Scope::Kit { book.profile_run_started(of) } else { book.test_started(of) };
    let of_test = match entry.body.test_link() {
        TestLink::Conducts(About::Thing(test)) | TestLink::Says(About::Thing(test)) | TestLink::Mentions(test) => {
            Some(test)
        }
        // A mark or reading is among the entries that are named. A thing need not be a test.
        TestLink::Conducts(About::Act(_)) | TestLink::Says(About::Act(_)) | TestLink::MaySay(_) => None,
        TestLink::Starts(_) | TestLink::Nothing => None,
    };
    let names_known = match &entry.body {
        Body::Undone { undoes } => {
            undoes.phone == entry.chain.phone && decisions.contains(&(entry.chain.scope, *undoes))
        }
        // What it ends may be an item of an earlier visit that is not here.
        Body::ItemClassed { .. } | Body::ItemTold(_) | Body::ItemClosed(_) => true,
        body => body.names().iter().all(known) && of_test.is_none_or(started),
    };
    (!names_known).then_some(Anomaly::NamesUnknown { hash })
}
