//! What is wrong with a file or a book, as records.

use serde_json::{Map, Value};

use crate::book::entry::{Chain, Hash};
use crate::book::health::Misfit;
use crate::book::log::Book;
use crate::handover::{BundleFault, Differs, FaultKind, Place};

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

/// What a fault of a file says of the book too, so that it is said once: chain, place, kind.
pub(super) type Named = (Chain, i64, FaultKind);

/// What of a fault a book would say again.
pub(super) fn named_by_fault(fault: &BundleFault) -> Option<Named> {
    let Place { chain, from, .. } = fault.place();
    let seq = if let BundleFault::BrokenLink { seq, .. } = fault { Some(*seq) } else { from };
    // A place whose entry was refused is empty in the book.
    let kind = if fault.kind() == FaultKind::Refused { FaultKind::Missing } else { fault.kind() };
    Some((chain?, seq?, kind))
}

/// The same of a misfit.
pub(super) fn named_by_misfit(book: &Book, misfit: &Misfit) -> Option<Named> {
    match misfit {
        Misfit::Missing { chain, from, .. } => Some((*chain, *from, FaultKind::Missing)),
        Misfit::BrokenLink { hash } => book.get(*hash).map(|entry| (entry.chain, entry.seq, FaultKind::Altered)),
        _ => None,
    }
}

pub(super) fn of_fault(fault: &BundleFault) -> Value {
    problem(fault.kind().name(), fault.place(), None, fault.to_string())
}

/// A misfit, and whether it means that a chain is broken.
pub(super) fn of_misfit(book: &Book, misfit: &Misfit) -> (bool, Value) {
    let span = |chain: &Chain, from, to| Place { chain: Some(*chain), from: Some(from), to: Some(to), number: None };
    let place =
        |hash: &Hash| book.get(*hash).map_or_else(Place::default, |entry| span(&entry.chain, entry.seq, entry.seq));
    let entry = |hash: &Hash| match book.get(*hash) {
        Some(entry) => {
            format!("the entry at place {} of {}, phone {}", entry.seq, entry.chain.scope, entry.chain.phone)
        }
        None => "an entry".to_string(),
    };
    let (breaks, kind, place, hash, words) = match misfit {
        Misfit::Missing { chain, from, to } => {
            let fault = BundleFault::Missing { chain: *chain, from: *from, to: *to };
            (true, FaultKind::Missing.name(), fault.place(), None, fault.to_string())
        }
        Misfit::Fork { chain, seq } => {
            let words = format!("two contents at place {seq} of {}, phone {}: both are kept", chain.scope, chain.phone);
            (true, "fork", span(chain, *seq, *seq), None, words)
        }
        Misfit::BrokenLink { hash } => {
            let words = format!("{} does not link to the one before it: one of them was altered", entry(hash));
            (true, FaultKind::Altered.name(), place(hash), Some(*hash), words)
        }
        Misfit::NamesUnknown { hash } => {
            let words = format!("{} names something that is not here", entry(hash));
            (false, "names unknown", place(hash), Some(*hash), words)
        }
        Misfit::WrongScope { hash } => {
            let words = format!("{} stands in a chain where it does not belong", entry(hash));
            (false, "wrong scope", place(hash), Some(*hash), words)
        }
        Misfit::NeedsNewerApp { hash, name } => {
            let words = format!("{} ({name}) needs a newer app", entry(hash));
            (false, "needs newer app", place(hash), Some(*hash), words)
        }
    };
    (breaks, problem(kind, place, hash, words))
}

/// A finding of a bundle that comes out otherwise.
pub(super) fn difference(file: &str, differs: &Differs) -> Value {
    let Differs { run, what, said, found } = differs;
    let mut map = Map::new();
    map.insert("kind".into(), "difference".into());
    map.insert("file".into(), file.into());
    map.extend(run.map(|run| ("run".to_string(), run.to_string().into())));
    map.insert("what".into(), what.clone().into());
    map.insert("said".into(), said.clone().into());
    map.insert("found".into(), found.clone().into());
    Value::Object(map)
}
