//! One test as its entries leave it: marks in test time, readings, panel, end.

use super::Id;
use super::body::{About, Answer, Body, Ending, Happened, ItemWhat, Point, TestStart, What, Who};
use super::by_test::{Line, Sorted};
use super::clock::{ClockNote, TestClock};
use super::entries::Book;
use super::entry::{Entry, Hash, Scope, Stamp};
use super::sighting::Sighting;
use super::visit::Visit;
use crate::order;
use crate::trade::detector::Marking;
use crate::units::{Mono, Reading, Span, TestTime, Wall};
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
    pub at: TestTime,
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
    pub at: TestTime,
    /// As displayed, by the last correction.
    pub reading: Reading,
    /// The trip it was taken for.
    pub trip: Option<Hash>,
    /// As it was first entered, where it was corrected since.
    pub corrected_from: Option<Reading>,
}

/// A correction of the marking that was frozen into a test.
#[derive(Clone, Debug, PartialEq)]
pub struct Correction {
    /// The entry.
    pub hash: Hash,
    /// The right marking.
    pub marking: Arc<Marking>,
    /// Attachment with the reason.
    pub why: Hash,
}

/// Whether the detector restored, as answered later instead of marked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RestoreSaid {
    /// The entry.
    pub hash: Hash,
    /// What was said.
    pub restored: Answer,
    /// By whom.
    pub by: Who,
    /// When it was seen.
    pub happened: Happened,
    /// The phone that recorded it.
    pub phone: Id,
    /// When it recorded it, by its wall clock, UTC ms.
    pub wall: Wall,
}

/// A technician's judgment of a test that decided nothing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Judged {
    /// The entry.
    pub hash: Hash,
    /// Whether the detector did not operate.
    pub did_not_operate: bool,
    /// Who says so.
    pub by: Id,
    /// Attachment with the words.
    pub note: Option<Hash>,
}

/// What the panel showed at a trip.
#[derive(Clone, Debug, PartialEq)]
struct PanelSaid {
    trip: Hash,
    phone: Id,
    seq: i64,
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
    pub started_wall: Wall,
    /// What was frozen into it.
    pub frozen: Arc<TestStart>,
    /// Marks by test time.
    pub marks: Vec<MarkAt>,
    /// Readings by test time.
    pub readings: Vec<ReadingAt>,
    /// Marks that were taken for something they are not, e.g. a trip that was none. They are shown and count for nothing.
    pub struck: Vec<MarkAt>,
    /// Readings that are none.
    pub withdrawn: Vec<ReadingAt>,
    /// Answers to early trips: whether they are this detector's.
    pub early: BTreeMap<Hash, bool>,
    /// How and when it ended.
    pub ended: Option<(Ending, TestTime)>,
    /// The entry that ended it.
    pub ended_by: Option<Hash>,
    /// Attachments with notes about it.
    pub notes: Vec<Hash>,
    /// What is to be known about its time.
    pub clock_notes: Vec<(TestTime, ClockNote)>,
    /// Entries about it that do not fold into it: by the old phone after another took over, or by a phone that never kept it.
    pub after_take_over: Vec<Hash>,
    /// What else was said of the restore, in the order of the clocks that people read.
    pub restore_said: Vec<RestoreSaid>,
    /// The technician's judgment, by the last word.
    pub judged: Option<Judged>,
    /// Items found in it.
    pub items: Vec<(Hash, ItemWhat)>,
    /// Corrections of its marking by any phone, in the order of the clocks that people read.
    pub corrections: Vec<Correction>,
    /// The last entry of this test that is not void and can be undone.
    pub last: Option<Hash>,
    ended_wall: Wall,
    points: Vec<PanelSaid>,
    /// Trips for which what somebody saw at the panel was taken.
    seen: Vec<Hash>,
    /// Where in `points` the words on each trip stand; empty where they are few.
    points_of: BTreeMap<Hash, Vec<usize>>,
    /// The same of the last reading of each trip.
    reading_of: BTreeMap<Hash, usize>,
    clock: Arc<TestClock>,
    /// Its heat on, from the zero of `clock`.
    zero: Span,
}

impl Test {
    /// What the test is judged by: the marking of the last valid correction, by the clocks that people read, else the one frozen at
    /// its start.
    pub fn marking(&self) -> &Marking {
        self.corrections.last().map_or(&self.frozen.detector.marking, |correction| &correction.marking)
    }

    /// Folds a test out of the book; none while its start is unknown or void.
    pub fn of(book: &Book, id: Id) -> Option<Test> {
        let origins: Vec<&Entry> = book.test_origins(id).collect();
        let (_, _, visit) = origin(&origins)?;
        Visit::folded(book, visit).tests.iter().find(|test| test.id == id).cloned()
    }

    /// Folds a test out of the sorted entries of its visit; none where it belongs to another one.
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
            struck: Vec::new(),
            withdrawn: Vec::new(),
            early: BTreeMap::new(),
            ended: None,
            ended_by: None,
            notes: Vec::new(),
            clock_notes: Vec::new(),
            after_take_over: beside,
            restore_said: Vec::new(),
            judged: None,
            items: Vec::new(),
            corrections: Vec::new(),
            last: None,
            ended_wall: Wall::MAX,
            points: Vec::with_capacity(third),
            seen: Vec::new(),
            points_of: BTreeMap::new(),
            reading_of: BTreeMap::new(),
            clock,
            zero,
        };
        let moves = test.moves(book, &entries);
        entries.iter().for_each(|entry| test.fold(entry, &moves));
        entries.iter().for_each(|entry| test.correct(entry));
        // Only this phone's own last step can be undone; after a take-over the old phone's stand.
        let last = entries.iter().rfind(|entry| test.is_step(&entry.body));
        test.last = last.filter(|last| last.chain.phone == keeper).map(|last| last.hash);
        test.hear(book, about);
        // Heat on is the zero of a test, wherever its mark has been moved to.
        if let Some(heat_on) = test.marks.iter().find(|mark| mark.what == What::HeatOn).map(|mark| mark.at) {
            test.shift(heat_on);
        }
        test.marks = order::by_number(test.marks, |mark| mark.at.0);
        test.readings = order::by_number(test.readings, |reading| reading.at.0);
        if test.readings.len() > FEW {
            let places = test.readings.iter().enumerate();
            test.reading_of = order::map(places.filter_map(|(place, reading)| Some((reading.trip?, place))));
        }
        let from = test.zero;
        let notes = test.clock.notes().iter().filter(|(at, _)| *at >= from);
        test.clock_notes = notes.map(|(at, note)| (TestTime::HEAT_ON + at.saturating_sub(from), *note)).collect();
        if let Some((_, end)) = test.ended {
            test.clock_notes.retain(|(at, _)| *at <= end);
        }
        Some(test)
    }

    fn shift(&mut self, by: TestTime) {
        self.zero = self.zero.saturating_add(by.since_heat_on());
        let marks = self.marks.iter_mut().chain(&mut self.struck).map(|mark| &mut mark.at);
        let readings = self.readings.iter_mut().chain(&mut self.withdrawn).map(|reading| &mut reading.at);
        marks.chain(readings).for_each(|at| *at = *at - by.since_heat_on());
        if let Some((_, at)) = &mut self.ended {
            *at = *at - by.since_heat_on();
        }
    }

    fn is_step(&self, body: &Body) -> bool {
        match body {
            Body::Mark { of, .. } | Body::ReadingTaken { of, .. } => *of == self.id,
            Body::TestEnded { test, .. } => *test == self.id,
            Body::MarkStruck { .. } | Body::ReadingCorrected(_) => true,
            _ => false,
        }
    }

    fn fold(&mut self, entry: &Entry, moves: &BTreeMap<Hash, Stamp>) {
        match &entry.body {
            Body::Mark { of, what } if *of == self.id => {
                let at = self.time(entry.stamp);
                let (stamp, moved) = match moves.get(&entry.hash) {
                    Some(stamp) => (*stamp, self.time(*stamp)),
                    None => (entry.stamp, at),
                };
                let moved_ms = moved.saturating_sub(at);
                self.marks.push(MarkAt { hash: entry.hash, what: *what, at: moved, moved_ms, stamp });
            }
            Body::ReadingTaken { of, reading, trip } if *of == self.id => {
                let (hash, at) = (entry.hash, self.time(entry.stamp));
                self.readings.push(ReadingAt { hash, at, reading: *reading, trip: *trip, corrected_from: None });
            }
            Body::TestEnded { test, how } if *test == self.id => {
                self.ended = Some((*how, self.time(entry.stamp)));
                self.ended_by = Some(entry.hash);
                self.ended_wall = entry.stamp.wall;
            }
            Body::EarlyTripAnswered { trip, this_detector, .. } => {
                self.early.insert(*trip, *this_detector);
            }
            Body::Noted { about: About::Thing(about), note } if *about == self.id => self.notes.push(*note),
            Body::ItemFound(item) if item.test == Some(self.id) => self.items.push((entry.hash, item.what)),
            _ => {}
        }
    }

    /// Takes in what was said later of a mark or reading that has to be there first.
    fn correct(&mut self, entry: &Entry) {
        match &entry.body {
            Body::MarkStruck { mark, .. } => {
                if let Some(index) = self.marks.iter().position(|at| at.hash == *mark) {
                    self.struck.push(self.marks.remove(index));
                }
            }
            Body::ReadingCorrected(of) => {
                correct(&mut self.readings, &mut self.withdrawn, of.reading, of.now);
            }
            _ => {}
        }
    }

    /// Takes in what counts whichever phone says it: what the panel showed, whether it restored, a judgment, and corrections of the
    /// marking.
    fn hear(&mut self, book: &Book, said: &[&Entry]) {
        let (mut corrections, mut restores, mut judgments) = (Vec::new(), Vec::new(), Vec::new());
        for entry in said {
            match &entry.body {
                Body::PanelPoint { trip, point, said } => {
                    let (phone, seq) = (entry.chain.phone, entry.seq);
                    self.points.push(PanelSaid { trip: *trip, phone, seq, point: *point, said: said.clone() });
                }
                // Its words on the point count only as long as they are those that were accepted.
                Body::PanelSawAccepted { saw, trip } => {
                    let counts = Sighting::of(book, *saw).is_some_and(|seen| seen.taken_for(*trip));
                    self.seen.extend(counts.then_some(*trip));
                }
                Body::MarkingCorrected { marking, why, .. } => {
                    corrections
                        .push((*entry, Correction { hash: entry.hash, marking: Arc::clone(marking), why: *why }));
                }
                Body::RestoreSaid(of) => restores.push((
                    *entry,
                    RestoreSaid {
                        hash: entry.hash,
                        restored: of.restored,
                        by: of.by,
                        happened: of.happened,
                        phone: entry.chain.phone,
                        wall: entry.stamp.wall,
                    },
                )),
                Body::TestJudged { did_not_operate, by, note, .. } => judgments.push((
                    *entry,
                    Judged { hash: entry.hash, did_not_operate: *did_not_operate, by: *by, note: *note },
                )),
                _ => {}
            }
        }
        if self.points.len() > FEW {
            for (place, said) in self.points.iter().enumerate() {
                self.points_of.entry(said.trip).or_default().push(place);
            }
        }
        self.corrections = by_clock(corrections);
        self.restore_said = by_clock(restores);
        self.judged = by_clock(judgments).pop();
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
    pub fn time(&self, stamp: Stamp) -> TestTime {
        TestTime::HEAT_ON + self.clock.time(stamp).saturating_sub(self.zero)
    }

    /// Test time of a stamp on a phone, ms since heat on. The one to use for "now": after a restart with the wall clock behind
    /// [`Test::time`] stops until the first entry, this one does not.
    pub fn time_on(&self, phone: Id, stamp: Stamp) -> TestTime {
        TestTime::HEAT_ON + self.clock.time_on(phone, stamp).saturating_sub(self.zero)
    }

    /// The stamp in `session` at which this test's clock shows `at`, ms since heat on.
    pub(super) fn mono_at(&self, session: Id, at: TestTime) -> Option<Mono> {
        self.clock.mono_at(session, at.since_heat_on().saturating_add(self.zero))
    }

    /// Whether this phone's marks fold into it.
    pub fn kept_by(&self, phone: Id) -> bool {
        self.keeper == phone
    }

    /// Whether it restored, by the last word after the last trip: what was said before it was of another alarm. Of phones that
    /// disagree the one that says no counts.
    pub fn restored_word(&self) -> Option<Answer> {
        let trip = self.marks.iter().rfind(|mark| mark.what == What::Tripped).map_or(Wall::MIN, |mark| mark.stamp.wall);
        let said = || self.restore_said.iter().filter(|said| said.wall >= trip);
        let mut last: BTreeMap<Id, Answer> = BTreeMap::new();
        said().for_each(|said| {
            last.insert(said.phone, said.restored);
        });
        let any = |wanted: Answer| last.values().any(|answer| *answer == wanted);
        [Answer::No, Answer::NotChecked, Answer::Yes].into_iter().find(|answer| any(*answer))
    }

    /// Whether a word on the restore was recorded after the end of the test.
    pub fn restored_after_end(&self) -> bool {
        self.restore_said.last().is_some_and(|said| said.wall > self.ended_wall)
    }

    /// What the panel showed at a trip: what was answered, else the right point where somebody saw it come in at the panel.
    pub fn panel(&self, trip: Hash) -> Option<(Point, Option<String>)> {
        self.panel_answer(trip).or_else(|| self.seen.contains(&trip).then_some((Point::Right, None)))
    }

    /// What was answered of it, by each phone's last word on it; of phones that disagree the worst one counts.
    pub fn panel_answer(&self, trip: Hash) -> Option<(Point, Option<String>)> {
        let mut said: Vec<&PanelSaid> = match self.points.len() > FEW {
            true => self.points_of.get(&trip).into_iter().flatten().filter_map(|at| self.points.get(*at)).collect(),
            false => self.points.iter().filter(|said| said.trip == trip).collect(),
        };
        let newest = said.clone();
        said.retain(|one| !newest.iter().any(|other| other.phone == one.phone && other.seq > one.seq));
        let worse = |point: Point| match point {
            Point::Right => 0,
            Point::NotChecked => 1,
            Point::NotThere => 2,
            Point::Wrong => 3,
        };
        said.into_iter().max_by_key(|said| worse(said.point)).map(|last| (last.point, last.said.clone()))
    }

    /// The reading taken for a trip: the last one.
    pub fn reading_of(&self, trip: Hash) -> Option<&ReadingAt> {
        match self.readings.len() > FEW {
            true => self.reading_of.get(&trip).and_then(|place| self.readings.get(*place)),
            false => self.readings.iter().rfind(|reading| reading.trip == Some(trip)),
        }
    }
}

/// What was said, in the order of the clocks that people read.
fn by_clock<T>(said: Vec<(&Entry, T)>) -> Vec<T> {
    let said = order::by(said, |(entry, _)| (entry.stamp.wall.0, entry.seq, entry.hash.to_string()));
    said.into_iter().map(|(_, what)| what).collect()
}

/// Corrects a reading, or takes it out where it is none.
pub(super) fn correct(
    readings: &mut Vec<ReadingAt>,
    withdrawn: &mut Vec<ReadingAt>,
    reading: Hash,
    now: Option<Reading>,
) {
    let Some(index) = readings.iter().position(|at| at.hash == reading) else { return };
    match now {
        Some(now) => {
            let at = &mut readings[index];
            at.corrected_from.get_or_insert(at.reading);
            at.reading = now;
        }
        None => withdrawn.push(readings.remove(index)),
    }
}

/// The start of a test that is not void, what it froze, and its visit.
fn origin<'a>(origins: &[&'a Entry]) -> Option<(&'a Entry, &'a Arc<TestStart>, Id)> {
    origins.iter().find_map(|entry| started(entry))
}

fn started(entry: &Entry) -> Option<(&Entry, &Arc<TestStart>, Id)> {
    match (&entry.body, entry.chain.scope) {
        (Body::TestStarted(frozen), Scope::Visit(visit)) => Some((entry, frozen, visit)),
        _ => None,
    }
}

/// The starts of a test that are not void. The first one counts.
pub(super) fn starts(book: &Book, test: Id) -> impl Iterator<Item = &Entry> {
    book.test_origins(test).filter(|entry| started(entry).is_some())
}
