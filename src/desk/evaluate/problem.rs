//! What is wrong with a file or a book, as records.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::{Map, Value};

use crate::book::entries::Book;
use crate::book::entry::{Chain, Entry, Hash};
use crate::book::integrity::Anomaly;
use crate::handover::{BundleFault, Differs, FaultKind, Place, Spans};

/// A problem: its kind, its place and the sentence about it.
fn problem(kind: &str, place: Place, hash: Option<Hash>, words: String) -> Value {
    let mut map = Map::new();
    map.insert("kind".into(), "problem".into());
    map.insert("problem".into(), kind.into());
    let Place { chain, from, to, number } = place;
    if let Some(chain) = chain {
        map.insert("scope".into(), chain.scope.to_string().into());
        map.insert("phone".into(), chain.phone.to_string().into());
    }
    map.extend(from.map(|seq| ("seq".to_string(), seq.into())));
    map.extend(to.map(|seq| ("seq_to".to_string(), seq.into())));
    map.extend(number.map(|number| ("number".to_string(), number.into())));
    map.extend(hash.map(|hash| ("hash".to_string(), hash.to_string().into())));
    map.insert("words".into(), words.into());
    Value::Object(map)
}

/// What faults of files say of the book too, so that it is said once.
#[derive(Debug, Default)]
pub(super) struct Told {
    /// Places without an entry, by first and last. One whose entry was refused is empty in the book.
    missing: BTreeMap<Chain, Vec<(i64, i64)>>,
    /// Places of entries that do not name the one before them.
    broken: BTreeSet<(Chain, i64)>,
}

impl Told {
    pub(super) fn add(&mut self, fault: &BundleFault) {
        let Place { chain, from, to, .. } = fault.place();
        if let BundleFault::BrokenLink { chain, seq, .. } = fault {
            self.broken.insert((*chain, *seq));
        } else if let (FaultKind::Missing | FaultKind::Refused, Some(chain), Some(from), Some(to)) =
            (fault.kind(), chain, from, to)
        {
            self.missing.entry(chain).or_default().push((from, to));
        }
    }

    /// The anomalies of a book that are not reported yet.
    pub(super) fn rest(self, book: &Book, anomalies: Vec<Anomaly>) -> Vec<Anomaly> {
        let missing: BTreeMap<Chain, Spans> =
            self.missing.into_iter().map(|(chain, spans)| (chain, Spans::of(spans))).collect();
        let none = Spans::default();
        let mut rest = Vec::new();
        for anomaly in anomalies {
            match &anomaly {
                Anomaly::Missing { chain, from, to } => {
                    let left = missing.get(chain).unwrap_or(&none).without(*from, *to).into_iter();
                    rest.extend(left.map(|(from, to)| Anomaly::Missing { chain: *chain, from, to }));
                }
                Anomaly::BrokenLink { hash }
                    if book.get(*hash).is_some_and(|entry| self.broken.contains(&(entry.chain, entry.seq))) => {}
                _ => rest.push(anomaly),
            }
        }
        rest
    }
}

pub(super) fn of_fault(fault: &BundleFault) -> Value {
    problem(fault.kind().name(), fault.place(), None, fault.to_string())
}

/// A anomaly, and whether it means that a chain is broken.
pub(super) fn of_misfit(book: &Book, anomaly: &Anomaly) -> (bool, Value) {
    let span = |chain: &Chain, from, to| Place { chain: Some(*chain), from: Some(from), to: Some(to), number: None };
    let place =
        |hash: &Hash| book.get(*hash).map_or_else(Place::default, |entry| span(&entry.chain, entry.seq, entry.seq));
    let entry = |hash: &Hash| match book.get(*hash) {
        Some(entry) => {
            format!("the entry at place {} of {}, phone {}", entry.seq, entry.chain.scope, entry.chain.phone)
        }
        None => "an entry".to_string(),
    };
    let (kind, place, hash, words) = match anomaly {
        Anomaly::Missing { chain, from, to } => {
            let fault = BundleFault::Missing { chain: *chain, from: *from, to: *to };
            (FaultKind::Missing.name(), fault.place(), None, fault.to_string())
        }
        Anomaly::Fork { chain, seq } => {
            let words = format!("two contents at place {seq} of {}, phone {}: both are kept", chain.scope, chain.phone);
            ("fork", span(chain, *seq, *seq), None, words)
        }
        Anomaly::BrokenLink { hash } => {
            let words = format!("{} does not link to the one before it: one of them was altered", entry(hash));
            (FaultKind::Altered.name(), place(hash), Some(*hash), words)
        }
        Anomaly::StartedAgain { hash, counts } => {
            let words =
                format!("{} starts a test that {} starts, too: only that one counts", entry(hash), entry(counts));
            ("started again", place(hash), Some(*hash), words)
        }
        Anomaly::NamesUnknown { hash } => {
            let words = format!("{} names something that is not here", entry(hash));
            ("names unknown", place(hash), Some(*hash), words)
        }
        Anomaly::WrongScope { hash } => {
            let words = format!("{} stands in a chain where it does not belong", entry(hash));
            ("wrong scope", place(hash), Some(*hash), words)
        }
        Anomaly::NeedsNewerApp { hash, name } => {
            let words = format!("{} ({name}) needs a newer app", entry(hash));
            ("needs newer app", place(hash), Some(*hash), words)
        }
    };
    (anomaly.breaks(), problem(kind, place, hash, words))
}

/// An entry about a test that another phone kept when it was written.
pub(super) fn of_late(entry: &Entry) -> Value {
    of_entry(entry, "after take-over", "is about a test that another phone kept: it changes nothing")
}

/// The entry where it names an attachment that is not here.
pub(super) fn without_attachment(book: &Book, entry: &Entry) -> Option<Value> {
    let words = "names words or a picture that is not here: erased, or left out";
    let gone = entry.body.attachments().into_iter().any(|hash| !book.has_attachment(hash));
    gone.then(|| of_entry(entry, "no attachment", words))
}

fn of_entry(entry: &Entry, kind: &str, words: &str) -> Value {
    let Entry { chain, seq, .. } = entry;
    let words = format!("the entry at place {seq} of {}, phone {} {words}", chain.scope, chain.phone);
    let place = Place { chain: Some(*chain), from: Some(*seq), to: Some(*seq), number: None };
    problem(kind, place, Some(entry.hash), words)
}

/// A finding of a bundle that comes out otherwise.
pub(super) fn difference(file: &str, differs: &Differs) -> Value {
    let Differs { test, what, said, found } = differs;
    let mut map = Map::new();
    map.insert("kind".into(), "difference".into());
    map.insert("file".into(), file.into());
    map.extend(test.map(|test| ("test".to_string(), test.to_string().into())));
    map.insert("what".into(), what.clone().into());
    map.insert("said".into(), said.clone().into());
    map.insert("found".into(), found.clone().into());
    Value::Object(map)
}
