//! The entries of one scope sorted by the run they are about, so that a round is walked once and not once for every run.

use super::Id;
use super::body::Body;
use super::clock::RunClock;
use super::entry::{Chain, Entry, Hash, Scope};
use super::log::Book;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// The chains of a scope.
pub(super) struct Sorted<'a> {
    /// The scope.
    pub(super) scope: Scope,
    /// One for every phone.
    pub(super) chains: Vec<SortedChain<'a>>,
}

pub(super) struct SortedChain<'a> {
    chain: Chain,
    /// Its entries that are not void, in order.
    pub(super) standing: Vec<&'a Entry>,
    /// The clock of the whole chain, where a run starts in it.
    clock: Option<Arc<RunClock>>,
    about: About<'a>,
}

/// Entries by run, in order.
#[derive(Default)]
struct About<'a> {
    places: BTreeMap<Id, usize>,
    lists: Vec<Vec<&'a Entry>>,
    /// The run of the last entry and its place: neighbours are mostly about the same run.
    last: Option<(Id, usize)>,
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
    /// The entries about the run that are not void, in order.
    pub(super) entries: Vec<&'a Entry>,
    /// Its clock.
    pub(super) clock: Arc<RunClock>,
    /// The phone whose marks count now.
    pub(super) keeper: Id,
    /// What other phones, or the old one after a take-over, say about the run. It is listed and changes nothing.
    pub(super) beside: Vec<Hash>,
}

impl<'a> Sorted<'a> {
    /// Sorts the entries of a scope; with `only`, those about that run alone.
    pub(super) fn of(book: &'a Book, scope: Scope, only: Option<Id>) -> Sorted<'a> {
        Sorted { scope, chains: book.chains_of(scope).map(|chain| SortedChain::of(book, chain, only)).collect() }
    }

    /// The entries of every chain that are about a run and not void.
    pub(super) fn about(&self, run: Id) -> impl Iterator<Item = &'a Entry> {
        self.chains.iter().flat_map(move |chain| chain.about.run(run)).copied()
    }

    /// What folds into a run of these origins: its phone's chain of that round, and after a take-over the next phone's.
    pub(super) fn line(&self, book: &'a Book, run: Id, start: &Entry, origins: &[&Entry]) -> Line<'a> {
        let pieces = pieces(book, start, origins);
        let of = |chain| self.chains.iter().find(|sorted| sorted.chain == chain);
        let mut entries = Vec::new();
        for piece in &pieces {
            let about = of(piece.chain).map_or(&[][..], |sorted| sorted.about.run(run));
            entries.extend(about.iter().filter(|entry| (piece.from..=piece.until).contains(&entry.seq)));
        }
        let whole = || of(start.chain)?.clock.clone();
        let clock = if pieces.len() == 1 { whole() } else { None }.unwrap_or_else(|| {
            let line = |piece: &Piece| book.chain_between(piece.chain, piece.from, piece.until);
            Arc::new(RunClock::of(book, pieces.iter().flat_map(line)))
        });
        let keeper = pieces.last().map_or(start.chain.phone, |piece| piece.chain.phone);
        Line { entries, clock, keeper, beside: self.beside(run, &pieces) }
    }

    fn beside(&self, run: Id, pieces: &[Piece]) -> Vec<Hash> {
        let within = |entry: &Entry| {
            pieces.iter().any(|piece| piece.chain == entry.chain && (piece.from..=piece.until).contains(&entry.seq))
        };
        let folds = |body: &Body| {
            matches!(body, Body::Mark { .. } | Body::ReadingTaken { .. } | Body::RunEnded { .. } | Body::Moved { .. })
        };
        let others = self.about(run).filter(|entry| folds(&entry.body) && !within(entry));
        others.map(|entry| entry.hash).collect()
    }
}

impl<'a> SortedChain<'a> {
    fn of(book: &'a Book, chain: Chain, only: Option<Id>) -> SortedChain<'a> {
        let line: Vec<&Entry> = book.chain(chain).collect();
        let mut about = About::default();
        let mut starts = false;
        let mut standing = Vec::with_capacity(line.len());
        for (index, entry) in line.iter().copied().enumerate() {
            let run = about_run(book, entry, &line[..index]).filter(|run| only.is_none_or(|only| only == *run));
            starts |= run.is_some() && matches!(entry.body, Body::RunStarted(_));
            if book.is_void(entry.hash) {
                continue;
            }
            standing.push(entry);
            if let Some(run) = run {
                about.add(run, entry);
            }
        }
        let clock = starts.then(|| Arc::new(RunClock::of(book, line.into_iter())));
        SortedChain { chain, standing, clock, about }
    }

    /// The phone that wrote it.
    pub(super) fn phone(&self) -> Id {
        self.chain.phone
    }
}

impl<'a> About<'a> {
    fn add(&mut self, run: Id, entry: &'a Entry) {
        let place = match self.last {
            Some((last, place)) if last == run => place,
            _ => *self.places.entry(run).or_insert(self.lists.len()),
        };
        if place == self.lists.len() {
            self.lists.push(Vec::with_capacity(16));
        }
        self.lists[place].push(entry);
        self.last = Some((run, place));
    }

    fn run(&self, run: Id) -> &[&'a Entry] {
        self.places.get(&run).map_or(&[], |place| self.lists[*place].as_slice())
    }
}

/// How far back in its chain a mark is looked for before the whole book is asked: what is said of a mark mostly follows it.
const NEAR: usize = 16;

/// The run that an entry is about; `before` are the entries before it in its chain.
fn about_run(book: &Book, entry: &Entry, before: &[&Entry]) -> Option<Id> {
    match &entry.body {
        Body::RunStarted(started) => Some(started.run),
        Body::Mark { run, .. }
        | Body::ReadingTaken { run, .. }
        | Body::RunEnded { run, .. }
        | Body::MarkingCorrected { run, .. } => Some(*run),
        Body::DeficiencyFound { run, .. } => *run,
        Body::Noted { about, .. } => Some(*about),
        Body::Moved { mark, .. } | Body::PanelPoint { trip: mark, .. } => {
            let near = before.iter().rev().take(NEAR).find(|entry| entry.hash == *mark);
            match near.copied().or_else(|| book.get(*mark))?.body {
                Body::Mark { run, .. } => Some(run),
                _ => None,
            }
        }
        _ => None,
    }
}

/// Where two phones took over the same run the one that came first in the old phone's chain counts; the other one's marks are
/// listed beside the run.
fn pieces(book: &Book, start: &Entry, origins: &[&Entry]) -> Vec<Piece> {
    let mut offers: BTreeMap<Chain, BTreeSet<(i64, Hash)>> = BTreeMap::new();
    for entry in origins.iter().filter(|entry| entry.chain.scope == start.chain.scope) {
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
