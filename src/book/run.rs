//! One run as its entries leave it: marks in run time, readings, panel, end.

use super::Id;
use super::body::{Body, Ending, Fault, Point, Started, What};
use super::clock::{ClockNote, RunClock};
use super::entry::{Chain, Entry, Hash, Scope, Stamp};
use super::log::Book;
use crate::units::Reading;

/// One mark of a run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MarkAt {
    /// The entry.
    pub hash: Hash,
    /// What happened.
    pub what: What,
    /// Run time, ms since heat on; after the last move.
    pub at: i64,
    /// How far it was moved from its tap, ms.
    pub moved_ms: i64,
    /// The stamp it counts at, for the next move.
    pub stamp: Stamp,
}

/// One reading of the head's display.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ReadingAt {
    /// The entry.
    pub hash: Hash,
    /// Run time, ms since heat on.
    pub at: i64,
    /// As displayed.
    pub reading: Reading,
    /// The trip it was taken for.
    pub trip: Option<Hash>,
}

/// One run.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// Which.
    pub id: Id,
    /// The round it belongs to.
    pub round: Id,
    /// The phone that started it.
    pub phone: Id,
    /// The phone whose marks count now.
    pub keeper: Id,
    /// The entry that started it.
    pub start: Hash,
    /// Wall clock of the start, UTC ms, for people to read.
    pub started_wall: i64,
    /// What was frozen into it.
    pub frozen: Started,
    /// Marks by run time.
    pub marks: Vec<MarkAt>,
    /// Readings by run time.
    pub readings: Vec<ReadingAt>,
    /// How and when it ended.
    pub ended: Option<(Ending, i64)>,
    /// The entry that ended it.
    pub ended_by: Option<Hash>,
    /// Attachments with notes about it.
    pub notes: Vec<Hash>,
    /// What is to be known about its time.
    pub clock_notes: Vec<(i64, ClockNote)>,
    /// Entries about it that the old phone made after another took over.
    pub after_take_over: Vec<Hash>,
    /// Faults found in it.
    pub faults: Vec<(Hash, Fault)>,
    /// The last entry of this run that is not void and can be undone.
    pub last: Option<Hash>,
    clock: RunClock,
    zero: i64,
}

impl Run {
    /// Folds a run out of the book; none while its start is unknown or void.
    pub fn of(book: &Book, id: Id) -> Option<Run> {
        let start = book.run_origins(id).find(|entry| matches!(entry.body, Body::RunStarted(_)))?;
        let (Body::RunStarted(frozen), Scope::Round(round)) = (&start.body, start.chain.scope) else { return None };
        let (line, after_take_over) = line_of(book, id, start);
        let clock = RunClock::of(book, line.iter().copied());
        let zero = clock.time(start.stamp);
        let mut run = Run {
            id,
            round,
            phone: start.chain.phone,
            keeper: line.last().map_or(start.chain.phone, |entry| entry.chain.phone),
            start: start.hash,
            started_wall: start.stamp.wall,
            frozen: (**frozen).clone(),
            marks: Vec::new(),
            readings: Vec::new(),
            ended: None,
            ended_by: None,
            notes: Vec::new(),
            clock_notes: Vec::new(),
            after_take_over,
            faults: Vec::new(),
            last: None,
            clock,
            zero,
        };
        for entry in &line {
            run.fold(book, entry);
        }
        // Heat on is the zero of a run, wherever its mark has been moved to.
        if let Some(heat_on) = run.marks.iter().find(|mark| mark.what == What::HeatOn).map(|mark| mark.at) {
            run.shift(heat_on);
        }
        run.marks.sort_by_key(|mark| mark.at);
        run.readings.sort_by_key(|reading| reading.at);
        let from = run.zero;
        let notes = run.clock.notes().iter().filter(|(at, _)| *at >= from);
        run.clock_notes = notes.map(|(at, note)| (at.saturating_sub(from), *note)).collect();
        if let Some((_, end)) = run.ended {
            run.clock_notes.retain(|(at, _)| *at <= end);
        }
        Some(run)
    }

    fn shift(&mut self, by: i64) {
        self.zero = self.zero.saturating_add(by);
        self.marks.iter_mut().for_each(|mark| mark.at = mark.at.saturating_sub(by));
        self.readings.iter_mut().for_each(|reading| reading.at = reading.at.saturating_sub(by));
        if let Some((_, at)) = &mut self.ended {
            *at = at.saturating_sub(by);
        }
    }

    fn fold(&mut self, book: &Book, entry: &Entry) {
        if book.is_void(entry.hash) {
            return;
        }
        let at = self.time(entry.stamp);
        match &entry.body {
            Body::Mark { run, what } if *run == self.id => {
                let mut stamp = entry.stamp;
                if let Some(Body::Moved { to_session, to_mono, .. }) = book.moves(entry.hash).last().map(|e| &e.body) {
                    stamp = Stamp { session: *to_session, mono: *to_mono, wall: stamp.wall };
                }
                let moved = self.time(stamp);
                let moved_ms = moved.saturating_sub(at);
                self.marks.push(MarkAt { hash: entry.hash, what: *what, at: moved, moved_ms, stamp });
                self.last = Some(entry.hash);
            }
            Body::ReadingTaken { run, reading, trip } if *run == self.id => {
                self.readings.push(ReadingAt { hash: entry.hash, at, reading: *reading, trip: *trip });
                self.last = Some(entry.hash);
            }
            Body::RunEnded { run, how } if *run == self.id => {
                self.ended = Some((*how, at));
                self.ended_by = Some(entry.hash);
                self.last = Some(entry.hash);
            }
            Body::Noted { about, note } if *about == self.id => self.notes.push(*note),
            Body::DeficiencyFound { run: Some(run), fault, .. } if *run == self.id => {
                self.faults.push((entry.hash, *fault));
            }
            _ => {}
        }
    }

    /// Run time of a stamp, ms since heat on.
    pub fn time(&self, stamp: Stamp) -> i64 {
        self.clock.time(stamp).saturating_sub(self.zero)
    }

    /// Whether this phone's marks fold into it.
    pub fn kept_by(&self, phone: Id) -> bool {
        self.keeper == phone
    }

    /// What the panel showed at a trip, by the last word on it.
    pub fn panel(&self, book: &Book, trip: Hash) -> Option<(Point, Option<String>)> {
        let mut said: Vec<&Entry> =
            book.naming(trip).filter(|entry| matches!(entry.body, Body::PanelPoint { .. })).collect();
        said.sort_by_key(|entry| (entry.seq, entry.hash));
        match &said.last()?.body {
            Body::PanelPoint { point, said, .. } => Some((*point, said.clone())),
            _ => None,
        }
    }

    /// The reading taken for a trip: the last one.
    pub fn reading_of(&self, trip: Hash) -> Option<&ReadingAt> {
        self.readings.iter().rfind(|reading| reading.trip == Some(trip))
    }
}

/// The entries that fold into a run: its phone's chain of that round, and after a take-over the next phone's. What the old
/// phone said about the run later is returned apart.
fn line_of<'a>(book: &'a Book, run: Id, start: &'a Entry) -> (Vec<&'a Entry>, Vec<Hash>) {
    let mut line: Vec<&Entry> = Vec::new();
    let mut late: Vec<Hash> = Vec::new();
    let mut chain = start.chain;
    let mut from = 0;
    let mut seen = vec![chain.phone];
    loop {
        let part: Vec<&Entry> = book.chain(chain).filter(|entry| entry.seq >= from).collect();
        let take_over = book.run_origins(run).find_map(|entry| match entry.body {
            Body::RunTakenOver { last, .. } if !seen.contains(&entry.chain.phone) => {
                let last = part.iter().find(|old| old.hash == last)?;
                Some((entry, last.seq))
            }
            _ => None,
        });
        let Some((entry, last)) = take_over else {
            line.extend(part);
            return (line, late);
        };
        let about = |entry: &Entry| match &entry.body {
            Body::Mark { run: of, .. } | Body::ReadingTaken { run: of, .. } | Body::RunEnded { run: of, .. } => {
                *of == run
            }
            _ => false,
        };
        late.extend(part.iter().filter(|old| old.seq > last && about(old)).map(|old| old.hash));
        line.extend(part.into_iter().filter(|old| old.seq <= last));
        chain = Chain { scope: chain.scope, phone: entry.chain.phone };
        seen.push(chain.phone);
        from = entry.seq;
    }
}
