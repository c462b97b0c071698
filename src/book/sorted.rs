//! The entries of one scope sorted by the run they are about, so that a round is walked once and not once for every run.

use super::Id;
use super::body::Body;
use super::clock::RunClock;
use super::entry::{Chain, Entry, Hash, Scope};
use super::log::Book;
use std::collections::{BTreeMap, BTreeSet};

/// The chains of a scope.
pub(super) struct Sorted<'a> {
    /// The scope.
    pub(super) scope: Scope,
    chains: Vec<SortedChain<'a>>,
}

struct SortedChain<'a> {
    chain: Chain,
    /// The clock of the whole chain, where a run starts in it.
    clock: Option<RunClock>,
    /// Entries about each run, in order.
    about: BTreeMap<Id, Vec<&'a Entry>>,
}

/// A stretch of a chain that folds into a run, its ends among it.
#[derive(Clone, Copy)]
struct Piece {
    chain: Chain,
    from: i64,
    until: i64,
}

/// What folds into a run.
pub(super) struct Line<'a> {
    /// The entries about the run, in order.
    pub(super) entries: Vec<&'a Entry>,
    /// Its clock.
    pub(super) clock: RunClock,
    /// The phone whose marks count now.
    pub(super) keeper: Id,
    /// What other phones, or the old one after a take-over, say about the run. It is listed and changes nothing.
    pub(super) beside: Vec<Hash>,
}

impl<'a> Sorted<'a> {
    /// Sorts the entries of a scope; with `only`, those about that run alone.
    pub(super) fn of(book: &'a Book, scope: Scope, only: Option<Id>) -> Sorted<'a> {
        let chains = book.chains_of(scope).map(|chain| {
            let mut about: BTreeMap<Id, Vec<&Entry>> = BTreeMap::new();
            let mut starts = false;
            for entry in book.chain(chain) {
                let run = about_run(book, entry);
                starts |= matches!(entry.body, Body::RunStarted(_)) && (only.is_none() || run == only);
                if let Some(run) = run.filter(|run| only.is_none_or(|only| only == *run)) {
                    about.entry(run).or_default().push(entry);
                }
            }
            let clock = starts.then(|| RunClock::of(book, book.chain(chain)));
            SortedChain { chain, clock, about }
        });
        Sorted { scope, chains: chains.collect() }
    }

    /// What folds into a run: its phone's chain of that round, and after a take-over the next phone's.
    pub(super) fn line(&self, book: &Book, run: Id, start: &Entry) -> Line<'a> {
        let pieces = pieces(book, run, start);
        let mut entries = Vec::new();
        for piece in &pieces {
            let about = self.about(piece.chain, run);
            entries.extend(about.iter().filter(|entry| (piece.from..=piece.until).contains(&entry.seq)));
        }
        let whole = || self.chains.iter().find(|sorted| sorted.chain == start.chain)?.clock.clone();
        let clock = if pieces.len() == 1 { whole() } else { None }.unwrap_or_else(|| {
            let line = |piece: &Piece| book.chain_between(piece.chain, piece.from, piece.until);
            RunClock::of(book, pieces.iter().flat_map(line))
        });
        let keeper = pieces.last().map_or(start.chain.phone, |piece| piece.chain.phone);
        Line { entries, clock, keeper, beside: self.beside(book, run, &pieces) }
    }

    fn about(&self, chain: Chain, run: Id) -> &[&'a Entry] {
        let sorted = self.chains.iter().find(|sorted| sorted.chain == chain);
        sorted.and_then(|sorted| sorted.about.get(&run)).map_or(&[], Vec::as_slice)
    }

    fn beside(&self, book: &Book, run: Id, pieces: &[Piece]) -> Vec<Hash> {
        let within = |entry: &Entry| {
            pieces.iter().any(|piece| piece.chain == entry.chain && (piece.from..=piece.until).contains(&entry.seq))
        };
        let folds = |body: &Body| {
            matches!(body, Body::Mark { .. } | Body::ReadingTaken { .. } | Body::RunEnded { .. } | Body::Moved { .. })
        };
        let mut beside = Vec::new();
        for sorted in &self.chains {
            let about = self.about(sorted.chain, run).iter();
            let others = about.filter(|entry| folds(&entry.body) && !within(entry) && !book.is_void(entry.hash));
            beside.extend(others.map(|entry| entry.hash));
        }
        beside
    }
}

/// The run that an entry is about.
fn about_run(book: &Book, entry: &Entry) -> Option<Id> {
    match &entry.body {
        Body::RunStarted(started) => Some(started.run),
        Body::Mark { run, .. } | Body::ReadingTaken { run, .. } | Body::RunEnded { run, .. } => Some(*run),
        Body::DeficiencyFound { run, .. } => *run,
        Body::Noted { about, .. } => Some(*about),
        Body::Moved { mark, .. } => match book.get(*mark)?.body {
            Body::Mark { run, .. } => Some(run),
            _ => None,
        },
        _ => None,
    }
}

/// Where two phones took over the same run the one that came first in the old phone's chain counts; the other one's marks are
/// listed beside the run.
fn pieces(book: &Book, run: Id, start: &Entry) -> Vec<Piece> {
    let mut offers: BTreeMap<Chain, BTreeSet<(i64, Hash)>> = BTreeMap::new();
    for entry in book.run_origins(run).filter(|entry| entry.chain.scope == start.chain.scope) {
        if let Body::RunTakenOver { last, .. } = entry.body
            && let Some(last) = book.get(last)
            && last.chain.phone != entry.chain.phone
        {
            offers.entry(last.chain).or_default().insert((last.seq, entry.hash));
        }
    }
    let mut pieces = Vec::new();
    let (mut chain, mut from) = (start.chain, 0);
    loop {
        let offer = offers.get_mut(&chain).and_then(|offers| {
            let offer = offers.range((from, Hash::LOWEST)..).next().copied()?;
            // Each is followed once, so a broken file cannot lead in a circle.
            offers.remove(&offer);
            Some(offer)
        });
        pieces.push(Piece { chain, from, until: offer.map_or(i64::MAX, |(last, _)| last) });
        let Some(next) = offer.and_then(|(_, hash)| book.get(hash)) else { return pieces };
        (chain, from) = (next.chain, next.seq);
    }
}
