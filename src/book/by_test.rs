//! The entries of one scope sorted by the test they are about, so that a visit is walked once and not once for every test.

use super::Id;
use super::body::{About, Body};
use super::clock::{self, TestClock};
use super::entries::Book;
use super::entry::{Chain, Entry, Hash, Scope};
use super::facts::TestLink;
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// The chains of a scope.
pub(super) struct Sorted<'a> {
    /// The scope.
    pub(super) scope: Scope,
    /// One for every phone.
    pub(super) chains: Vec<SortedChain<'a>>,
    about: ByTest<'a>,
}

pub(super) struct SortedChain<'a> {
    chain: Chain,
    /// Its entries that are not void, in order.
    pub(super) standing: Vec<&'a Entry>,
    /// The clock of the whole chain, where a test starts in it.
    clock: Option<Arc<TestClock>>,
}

/// Entries by test: those of one test stand together, chain by chain and in order.
#[derive(Default)]
struct ByTest<'a> {
    /// Tests by the order in which they come.
    places: BTreeMap<Id, usize>,
    /// As they come, each with the place of its test.
    coming: Vec<(usize, &'a Entry)>,
    /// The test of the last entry and its place: neighbours are mostly about the same test.
    last: Option<(Id, usize)>,
    /// By place, once all have come.
    entries: Vec<&'a Entry>,
    /// Where each place begins among them, and last where they end.
    begins: Vec<usize>,
}

/// A stretch of a chain that folds into a test, its ends among it.
#[derive(Clone, Copy)]
struct Piece {
    chain: Chain,
    from: i64,
    until: i64,
}

/// What folds into a test.
pub(super) struct Line<'s, 'a> {
    /// The entries that fold into it, in order; none of them is void.
    pub(super) entries: Cow<'s, [&'a Entry]>,
    /// Everything in the scope that is about it and not void, chain by chain.
    pub(super) about: &'s [&'a Entry],
    /// Its clock.
    pub(super) clock: Arc<TestClock>,
    /// The phone whose marks count now.
    pub(super) keeper: Id,
    /// What other phones, or the old one after a take-over, say about the test. It is listed and changes nothing.
    pub(super) beside: Vec<Hash>,
}

impl<'a> Sorted<'a> {
    /// Sorts the entries of a scope.
    pub(super) fn of(book: &'a Book, scope: Scope) -> Sorted<'a> {
        let mut sorted = Sorted { scope, chains: Vec::new(), about: ByTest::default() };
        for chain in book.chains_of(scope) {
            sorted.add(book, chain);
        }
        sorted.about.all_here();
        sorted
    }

    fn add(&mut self, book: &'a Book, chain: Chain) {
        let line = book.line(chain);
        let answer = |gap| clock::answer(book, gap);
        let (mut clock, mut starts) = (TestClock::default(), false);
        let mut standing = Vec::with_capacity(line.len());
        self.about.coming.reserve(line.len());
        for (index, entry) in line.iter().map(Arc::as_ref).enumerate() {
            clock.take(entry, &answer);
            if book.is_void(entry) {
                continue;
            }
            standing.push(entry);
            if let Some(test) = about_test(book, entry, &line[..index]) {
                starts |= matches!(entry.body, Body::TestStarted(_));
                self.about.add(test, entry);
            }
        }
        let clock = starts.then(|| Arc::new(clock));
        self.chains.push(SortedChain { chain, standing, clock });
    }

    /// Everything that something here is about as if it were a test, by id.
    pub(super) fn tests(&self) -> impl Iterator<Item = Id> {
        self.about.places.keys().copied()
    }

    /// What folds into a test of these origins: its phone's chain of that visit, and after a take-over the next phone's.
    pub(super) fn line(&self, book: &'a Book, test: Id, start: &Entry, origins: &[&Entry]) -> Line<'_, 'a> {
        let about = self.about.test(test);
        // Take-overs and other people's facts need another phone's chain.
        if let [only] = &self.chains[..]
            && let Some(clock) = &only.clock
        {
            let (entries, clock) = (Cow::Borrowed(about), Arc::clone(clock));
            return Line { entries, about, clock, keeper: start.chain.phone, beside: Vec::new() };
        }
        let pieces = pieces(book, start, origins);
        let mut entries = Vec::with_capacity(about.len());
        for piece in &pieces {
            entries.extend(about.iter().filter(|entry| piece.has(entry)));
        }
        let of = |chain| self.chains.iter().find(|sorted| sorted.chain == chain);
        let of_whole = || of(start.chain)?.clock.clone();
        let clock = if pieces.len() == 1 { of_whole() } else { None }.unwrap_or_else(|| {
            let line = |piece: &Piece| book.chain_between(piece.chain, piece.from, piece.until);
            Arc::new(TestClock::of(book, pieces.iter().flat_map(line)))
        });
        let keeper = pieces.last().map_or(start.chain.phone, |piece| piece.chain.phone);
        let folds = |body: &Body| matches!(body.test_link(), TestLink::Conducts(_));
        let mut beside = Vec::new();
        // Without a take-over, mostly everything folds into the test.
        if pieces.len() > 1 || entries.len() < about.len() {
            let others = about.iter().filter(|entry| !pieces.iter().any(|piece| piece.has(entry)));
            beside.extend(others.filter(|entry| folds(&entry.body)).map(|entry| entry.hash));
        }
        Line { entries: Cow::Owned(entries), about, clock, keeper, beside }
    }
}

impl SortedChain<'_> {
    /// The phone that wrote it.
    pub(super) fn phone(&self) -> Id {
        self.chain.phone
    }
}

impl Piece {
    /// Whether an entry of the same scope is one of it.
    fn has(&self, entry: &Entry) -> bool {
        self.chain.phone == entry.chain.phone && (self.from..=self.until).contains(&entry.seq)
    }
}

impl<'a> ByTest<'a> {
    fn add(&mut self, test: Id, entry: &'a Entry) {
        let place = match self.last {
            Some((last, place)) if last == test => place,
            _ => {
                let next = self.places.len();
                *self.places.entry(test).or_insert(next)
            }
        };
        self.coming.push((place, entry));
        self.last = Some((test, place));
    }

    /// Puts those of one test together, each where the ones of the places before it leave room.
    fn all_here(&mut self) {
        self.begins = vec![0; self.places.len() + 1];
        self.coming.iter().for_each(|(place, _)| self.begins[place + 1] += 1);
        for place in 1..self.begins.len() {
            self.begins[place] += self.begins[place - 1];
        }
        let mut next = self.begins.clone();
        self.entries = self.coming.iter().map(|(_, entry)| *entry).collect();
        for (place, entry) in self.coming.drain(..) {
            self.entries[next[place]] = entry;
            next[place] += 1;
        }
    }

    fn test(&self, test: Id) -> &[&'a Entry] {
        self.places.get(&test).map_or(&[], |place| &self.entries[self.begins[*place]..self.begins[*place + 1]])
    }
}

/// How far back in its chain a mark is looked for before the whole book is asked: what is said of a mark mostly follows it.
const NEAR: usize = 16;

/// The test that an entry is about; `before` are the entries before it in its chain.
fn about_test(book: &Book, entry: &Entry, before: &[Arc<Entry>]) -> Option<Id> {
    let mark = match entry.body.test_link() {
        TestLink::Starts(test) | TestLink::MaySay(test) => return Some(test),
        TestLink::Conducts(About::Thing(test)) | TestLink::Says(About::Thing(test)) => return Some(test),
        TestLink::Conducts(About::Act(mark)) | TestLink::Says(About::Act(mark)) => mark,
        // A take-over is found by its own index, and what another phone saw at the panel counts by its acceptance.
        TestLink::Mentions(_) | TestLink::Nothing => return None,
    };
    let near = before.iter().rev().take(NEAR).find(|entry| entry.hash == mark);
    match near.map(Arc::as_ref).or_else(|| book.get(mark))?.body.test_link() {
        TestLink::Conducts(About::Thing(test)) => Some(test),
        _ => None,
    }
}

/// Where two phones took over the same test the one that came first in the old phone's chain counts; the other one's marks are
/// listed beside the test.
fn pieces(book: &Book, start: &Entry, origins: &[&Entry]) -> Vec<Piece> {
    let mut offers: BTreeMap<Chain, BTreeSet<(i64, Hash)>> = BTreeMap::new();
    for entry in origins.iter().filter(|entry| entry.chain.scope == start.chain.scope) {
        if let Body::TestTakenOver { last, .. } = entry.body
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
