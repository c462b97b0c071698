//! One test as its entries leave it: marks in test time, readings, panel, end.

use super::Id;
use super::body::{Body, Ending, Fault, Point, Started, What};
use super::clock::{ClockNote, TestClock};
use super::entry::{Entry, Hash, Scope, Stamp};
use super::log::Book;
use super::sorted::{Line, Sorted};
use crate::order;
use crate::trade::detector::Marking;
use crate::units::Reading;
use std::collections::BTreeMap;
use std::sync::Arc;

/// So many readings or words on the panel are gone through one by one, as those of any check are: that is quicker than to look
/// them up.
const FEW: usize = 32;

/// One mark of a test.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MarkAt {
    /// The entry.
    pub hash: Hash,
    /// What happened.
    pub what: What,
    /// Test time, ms since heat on; after the last move.
    pub at: i64,
    /// How far it was moved from its tap, ms.
    pub moved_ms: i64,
    /// The stamp it counts at, for the next move.
    pub stamp: Stamp,
}

/// One reading of the heater's display.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ReadingAt {
    /// The entry.
    pub hash: Hash,
    /// Test time, ms since heat on.
    pub at: i64,
    /// As displayed.
    pub reading: Reading,
    /// The trip it was taken for.
    pub trip: Option<Hash>,
}

/// A correction of the marking that was frozen into a test.
#[derive(Clone, Debug, PartialEq)]
pub struct Correction {
    /// The entry.
    pub hash: Hash,
    /// The right marking.
    pub marking: Arc<Marking>,
    /// Attachment with the reason.
    pub reason: Hash,
}

/// What somebody said of the panel at a trip.
#[derive(Clone, Debug, PartialEq)]
struct PanelSaid {
    trip: Hash,
    place: (i64, Hash),
    point: Point,
    said: Option<String>,
}

/// One test.
#[derive(Clone, Debug, PartialEq)]
pub struct Test {
    /// Which.
    pub id: Id,
    /// The visit it belongs to.
    pub visit: Id,
    /// The phone that started it.
    pub phone: Id,
    /// The phone whose marks count now.
    pub keeper: Id,
    /// The entry that started it.
    pub start: Hash,
    /// Wall clock of the start, UTC ms, for people to read.
    pub started_wall: i64,
    /// What was frozen into it.
    pub frozen: Arc<Started>,
    /// Marks by test time.
    pub marks: Vec<MarkAt>,
    /// Readings by test time.
    pub readings: Vec<ReadingAt>,
    /// How and when it ended.
    pub ended: Option<(Ending, i64)>,
    /// The entry that ended it.
    pub ended_by: Option<Hash>,
    /// Attachments with notes about it.
    pub notes: Vec<Hash>,
    /// What is to be known about its time.
    pub clock_notes: Vec<(i64, ClockNote)>,
    /// Entries about it that do not fold into it: by the old phone after another took over, or by a phone that never kept it.
    pub after_take_over: Vec<Hash>,
    /// Faults found in it.
    pub faults: Vec<(Hash, Fault)>,
    /// Corrections of its marking, whoever made them, in the order of the clocks that people read.
    pub corrections: Vec<Correction>,
    /// The last entry of this test that is not void and can be undone.
    pub last: Option<Hash>,
    points: Vec<PanelSaid>,
    /// Where in `points` the last word on each trip stands; empty where they are few.
    point_of: BTreeMap<Hash, usize>,
    /// The same of the last reading of each trip.
    reading_of: BTreeMap<Hash, usize>,
    clock: Arc<TestClock>,
    zero: i64,
}

impl Test {
    /// What the test is judged by: the marking of the last correction that stands, by the clocks that people read, else the one frozen at
    /// its start.
    pub fn marking(&self) -> &Marking {
        self.corrections.last().map_or(&self.frozen.detector.marking, |correction| &correction.marking)
    }

    /// Folds a run out of the book; none while its start is unknown or void.
    pub fn of(book: &Book, id: Id) -> Option<Test> {
        let origins: Vec<&Entry> = book.test_origins(id).collect();
        let (_, _, visit) = origin(&origins)?;
        Test::among(book, id, &Sorted::of(book, Scope::Visit(visit), Some(id)))
    }

    /// Folds a run out of the sorted entries of its visit; none where it belongs to another one.
    pub(super) fn among(book: &Book, id: Id, sorted: &Sorted<'_>) -> Option<Test> {
        let origins: Vec<&Entry> = book.test_origins(id).collect();
        let (start, frozen, visit) = origin(&origins).filter(|(start, ..)| start.chain.scope == sorted.scope)?;
        let Line { entries, about, clock, keeper, beside } = sorted.line(book, id, start, &origins);
        let zero = clock.time(start.stamp);
        // About as many as come of each, where every trip has its reading and what the panel showed.
        let third = entries.len() / 3;
        let mut test = Test {
            id,
            visit,
            phone: start.chain.phone,
            keeper,
            start: start.hash,
            started_wall: start.stamp.wall,
            frozen: Arc::clone(frozen),
            marks: Vec::with_capacity(third),
            readings: Vec::with_capacity(third),
            ended: None,
            ended_by: None,
            notes: Vec::new(),
            clock_notes: Vec::new(),
            after_take_over: beside,
            faults: Vec::new(),
            corrections: Vec::new(),
            last: None,
            points: Vec::with_capacity(third),
            point_of: BTreeMap::new(),
            reading_of: BTreeMap::new(),
            clock,
            zero,
        };
        let moves = test.moves(book, &entries);
        entries.iter().for_each(|entry| test.fold(entry, &moves));
        // Only this phone's own last step can be undone; after a take-over the old phone's stand.
        let last = entries.iter().rfind(|entry| test.is_step(&entry.body));
        test.last = last.filter(|last| last.chain.phone == keeper).map(|last| last.hash);
        test.hear(about);
        // Heat on is the zero of a test, wherever its mark has been moved to.
        if let Some(heat_on) = test.marks.iter().find(|mark| mark.what == What::HeatOn).map(|mark| mark.at) {
            test.shift(heat_on);
        }
        test.marks = order::by_number(test.marks, |mark| mark.at);
        test.readings = order::by_number(test.readings, |reading| reading.at);
        if test.readings.len() > FEW {
            let places = test.readings.iter().enumerate();
            test.reading_of = order::map(places.filter_map(|(place, reading)| Some((reading.trip?, place))));
        }
        let from = test.zero;
        let notes = test.clock.notes().iter().filter(|(at, _)| *at >= from);
        test.clock_notes = notes.map(|(at, note)| (at.saturating_sub(from), *note)).collect();
        if let Some((_, end)) = test.ended {
            test.clock_notes.retain(|(at, _)| *at <= end);
        }
        Some(test)
    }

    fn shift(&mut self, by: i64) {
        self.zero = self.zero.saturating_add(by);
        self.marks.iter_mut().for_each(|mark| mark.at = mark.at.saturating_sub(by));
        self.readings.iter_mut().for_each(|reading| reading.at = reading.at.saturating_sub(by));
        if let Some((_, at)) = &mut self.ended {
            *at = at.saturating_sub(by);
        }
    }

    fn is_step(&self, body: &Body) -> bool {
        match body {
            Body::Mark { test, .. } | Body::ReadingTaken { test, .. } | Body::TestEnded { test, .. } => {
                *test == self.id
            }
            _ => false,
        }
    }

    fn fold(&mut self, entry: &Entry, moves: &BTreeMap<Hash, Stamp>) {
        match &entry.body {
            Body::Mark { test, what } if *test == self.id => {
                let at = self.time(entry.stamp);
                let (stamp, moved) = match moves.get(&entry.hash) {
                    Some(stamp) => (*stamp, self.time(*stamp)),
                    None => (entry.stamp, at),
                };
                let moved_ms = moved.saturating_sub(at);
                self.marks.push(MarkAt { hash: entry.hash, what: *what, at: moved, moved_ms, stamp });
            }
            Body::ReadingTaken { test, reading, trip } if *test == self.id => {
                let at = self.time(entry.stamp);
                self.readings.push(ReadingAt { hash: entry.hash, at, reading: *reading, trip: *trip });
            }
            Body::TestEnded { test, how } if *test == self.id => {
                self.ended = Some((*how, self.time(entry.stamp)));
                self.ended_by = Some(entry.hash);
            }
            Body::Noted { about, note } if *about == self.id => self.notes.push(*note),
            Body::DeficiencyFound { test: Some(test), fault, .. } if *test == self.id => {
                self.faults.push((entry.hash, *fault));
            }
            _ => {}
        }
    }

    /// Takes in what counts whichever phone says it: what the panel showed, and corrections of the marking.
    fn hear(&mut self, said: &[&Entry]) {
        let mut corrections = Vec::new();
        for entry in said {
            match &entry.body {
                Body::PanelPoint { trip, point, said } => {
                    let place = (entry.seq, entry.hash);
                    self.points.push(PanelSaid { trip: *trip, place, point: *point, said: said.clone() });
                }
                Body::MarkingCorrected { marking, reason, .. } => {
                    corrections
                        .push((*entry, Correction { hash: entry.hash, marking: Arc::clone(marking), reason: *reason }));
                }
                _ => {}
            }
        }
        if self.points.len() > FEW {
            for (place, said) in self.points.iter().enumerate() {
                let last = self.point_of.entry(said.trip).or_insert(place);
                if self.points[*last].place <= said.place {
                    *last = place;
                }
            }
        }
        let by_clock = order::by(corrections, |(entry, _)| (entry.stamp.wall, entry.seq, entry.hash.to_string()));
        self.corrections = by_clock.into_iter().map(|(_, correction)| correction).collect();
    }

    /// Where marks were moved to: by their own phone, while it kept the test, within a session that the line knows. The move
    /// with the highest place counts.
    fn moves(&self, book: &Book, line: &[&Entry]) -> BTreeMap<Hash, Stamp> {
        let mut moves = BTreeMap::new();
        for entry in line {
            let Body::Moved { mark, to_session, to_mono } = entry.body else { continue };
            let Some(mark) = book.get(mark).filter(|mark| mark.chain == entry.chain) else { continue };
            if self.clock.knows(to_session) {
                moves.insert(mark.hash, Stamp { session: to_session, mono: to_mono, ..mark.stamp });
            }
        }
        moves
    }

    /// Test time of a stamp, ms since heat on.
    pub fn time(&self, stamp: Stamp) -> i64 {
        self.clock.time(stamp).saturating_sub(self.zero)
    }

    /// Test time of a stamp on a phone, ms since heat on. The one to use for "now": after a restart with the wall clock behind
    /// [`Test::time`] stands still until the first entry, this one goes on.
    pub fn time_on(&self, phone: Id, stamp: Stamp) -> i64 {
        self.clock.time_on(phone, stamp).saturating_sub(self.zero)
    }

    /// The stamp in `session` at which this test's clock shows `at`, ms since heat on.
    pub(super) fn mono_at(&self, session: Id, at: i64) -> Option<i64> {
        self.clock.mono_at(session, at.saturating_add(self.zero))
    }

    /// Whether this phone's marks fold into it.
    pub fn kept_by(&self, phone: Id) -> bool {
        self.keeper == phone
    }

    /// What the panel showed at a trip, by the last word on it.
    pub fn panel(&self, trip: Hash) -> Option<(Point, Option<String>)> {
        let last = match self.points.len() > FEW {
            true => self.point_of.get(&trip).and_then(|place| self.points.get(*place)),
            false => self.points.iter().filter(|said| said.trip == trip).max_by_key(|said| said.place),
        };
        last.map(|last| (last.point, last.said.clone()))
    }

    /// The reading taken for a trip: the last one.
    pub fn reading_of(&self, trip: Hash) -> Option<&ReadingAt> {
        match self.readings.len() > FEW {
            true => self.reading_of.get(&trip).and_then(|place| self.readings.get(*place)),
            false => self.readings.iter().rfind(|reading| reading.trip == Some(trip)),
        }
    }
}

/// The start of a test that is not void, what it froze, and its visit.
fn origin<'a>(origins: &[&'a Entry]) -> Option<(&'a Entry, &'a Arc<Started>, Id)> {
    origins.iter().find_map(|entry| started(entry))
}

fn started(entry: &Entry) -> Option<(&Entry, &Arc<Started>, Id)> {
    match (&entry.body, entry.chain.scope) {
        (Body::TestStarted(frozen), Scope::Visit(visit)) => Some((entry, frozen, visit)),
        _ => None,
    }
}

/// The starts of a test that are not void. The first one counts.
pub(super) fn starts(book: &Book, test: Id) -> impl Iterator<Item = &Entry> {
    book.test_origins(test).filter(|entry| started(entry).is_some())
}
