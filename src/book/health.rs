//! What does not fit: gaps, forks, broken links, entries that name nothing known, entries of a newer app.
//!
//! A list to look at. Nothing here is ever dropped from the book.

use super::body::Body;
use super::entry::{Chain, Entry, Hash, Scope};
use super::log::Book;
use super::test::starts as test_starts;
use std::collections::BTreeSet;

/// One thing that does not fit.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Misfit {
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
    /// It stands in a chain where its kind of fact does not belong.
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

/// Everything that does not fit, in a fixed order.
pub fn misfits(book: &Book) -> Vec<Misfit> {
    let mut found = Vec::new();
    for chain in book.chains() {
        let mut expected = 0;
        let mut before: Option<(i64, BTreeSet<Hash>)> = None;
        for (seq, hashes) in book.places(chain) {
            if seq > expected {
                found.push(Misfit::Missing { chain, from: expected, to: seq - 1 });
            }
            if hashes.len() > 1 {
                found.push(Misfit::Fork { chain, seq });
            }
            if let Some((_, links)) = before.filter(|(last, _)| *last == seq - 1) {
                let entries = hashes.iter().filter_map(|hash| book.get(*hash));
                let broken = entries.filter(|entry| entry.prev.is_none_or(|prev| !links.contains(&prev)));
                found.extend(broken.map(|entry| Misfit::BrokenLink { hash: entry.hash }));
            }
            before = Some((seq, hashes));
            expected = seq.saturating_add(1);
        }
    }
    for test in book.test_ids() {
        let mut starts = test_starts(book, test);
        let Some(counts) = starts.next() else { continue };
        // Two of one place are a fork and told as such.
        let others = starts.filter(|other| (other.chain, other.seq) != (counts.chain, counts.seq));
        found.extend(others.map(|other| Misfit::StartedAgain { hash: other.hash, counts: counts.hash }));
    }
    found.extend(book.entries().filter_map(|entry| misfit(book, entry)));
    for entry in book.entries() {
        let needs = |field| Misfit::NeedsNewerApp { hash: entry.hash, name: format!("{}.{field}", entry.body.name()) };
        found.extend(entry.not_understood().into_iter().map(needs));
    }
    found
}

fn misfit(book: &Book, entry: &Entry) -> Option<Misfit> {
    let hash = entry.hash;
    if let Body::Newer { name } = &entry.body {
        return Some(Misfit::NeedsNewerApp { hash, name: name.clone() });
    }
    if !fits_scope(&entry.body, entry.chain.scope) {
        return Some(Misfit::WrongScope { hash });
    }
    let known = |hash: &Hash| book.get(*hash).is_some();
    let names_known = match &entry.body {
        Body::Undone { target } => known(target),
        Body::Moved { mark, .. } => known(mark),
        Body::Restored { ends, .. } | Body::BackInService { ends } => known(ends),
        Body::ClockAnswered { gap, .. } => known(gap),
        Body::DeficiencyDisposed { deficiency, .. } => known(deficiency),
        Body::PanelPoint { trip, .. } => known(trip),
        Body::ReadingStands { reading } => known(reading),
        Body::TestTakenOver { test, last } => known(last) && book.test_started(*test),
        Body::ReadingTaken { trip: Some(trip), .. } if !known(trip) => false,
        Body::Mark { test, .. }
        | Body::ReadingTaken { test, .. }
        | Body::TestEnded { test, .. }
        | Body::Retest { test, .. }
        | Body::MarkingCorrected { test, .. }
        | Body::DeficiencyFound { test: Some(test), .. } => match entry.chain.scope {
            Scope::Kit => book.profile_run_started(*test),
            _ => book.test_started(*test),
        },
        Body::TestStarted(started) => started.heater.profile.iter().all(known),
        Body::ProfileRunEnded { profile_run, .. } => book.profile_run_started(*profile_run),
        _ => true,
    };
    (!names_known).then_some(Misfit::NamesUnknown { hash })
}

fn fits_scope(body: &Body, scope: Scope) -> bool {
    match body {
        Body::Site(_)
        | Body::Area(_)
        | Body::Circuit(_)
        | Body::DetectorPlace(_)
        | Body::DetectorMarking(_)
        | Body::DetectorDuty(_)
        | Body::DetectorPresence(_) => matches!(scope, Scope::Site(_)),
        Body::HeaterName(_)
        | Body::HeaterHeating(_)
        | Body::HeaterMetrology(_)
        | Body::Procedure(_)
        | Body::Person(_)
        | Body::RuleSet(_)
        | Body::ProfileRunStarted(_)
        | Body::ProfileRunEnded { .. } => scope == Scope::Kit,
        Body::Mark { .. }
        | Body::ReadingTaken { .. }
        | Body::ReadingStands { .. }
        | Body::ClockGap { .. }
        | Body::ClockAnswered { .. }
        | Body::Moved { .. } => !matches!(scope, Scope::Site(_)),
        Body::Undone { .. } | Body::Noted { .. } | Body::Newer { .. } => true,
        _ => matches!(scope, Scope::Visit(_)),
    }
}
