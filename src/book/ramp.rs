//! One guided ramp of a head as its entries leave it, and the ramps that make a heat curve.
//!
//! A ramp lies in one phone's kit chain and only that phone's own entries fold into it, undoes and answers about its clocks among
//! them. So a ramp up to the entry that ended it is fixed by that entry's hash: a run that froze the hash is judged by the same
//! ramp for ever, whatever was undone later.

use super::Id;
use super::body::{Body, RampStart, What};
use super::clock::{ClockNote, RunClock};
use super::entry::{Entry, Hash, Stamp};
use super::log::Book;
use super::run::{MarkAt, ReadingAt};
use crate::order;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Most ramps that make one heat curve: the newest. Five tell their spread with four degrees of freedom, and older ones tell of
/// an element that has aged since. The project's own figure.
pub const CURVE_OF: usize = 5;

/// Fewest readings while heating that a ramp is used with: below that nothing is left to tell how well a curve with two
/// parameters fits.
pub const READINGS_AT_LEAST: usize = 3;

/// What a ramp waits for. Times are ramp time, ms since heat on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RampPhase {
    /// The head climbs.
    Heating {
        /// Since when.
        since: i64,
    },
    /// The head holds its upper temperature.
    Holding {
        /// Since when.
        since: i64,
    },
    /// The head is off and cools.
    Cooling {
        /// Since when.
        since: i64,
    },
    /// Ended.
    Ended {
        /// When.
        at: i64,
        /// Whether it may be used for a curve.
        usable: bool,
    },
}

/// The end of a ramp.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RampEnd {
    /// The entry; what a run's curve names.
    pub hash: Hash,
    /// When, ms since heat on.
    pub at: i64,
    /// Whether it may be used for a curve.
    pub usable: bool,
}

/// One ramp.
#[derive(Clone, Debug, PartialEq)]
pub struct Ramp {
    /// Which.
    pub id: Id,
    /// The phone that takes it.
    pub phone: Id,
    /// The entry that started it.
    pub start: Hash,
    /// Wall clock of the start, UTC ms, for people to read.
    pub started_wall: i64,
    /// What was frozen into it: head, setting, mode, detector, ambient temperature, who takes it.
    pub frozen: Arc<RampStart>,
    /// Marks by ramp time.
    pub marks: Vec<MarkAt>,
    /// Readings by ramp time.
    pub readings: Vec<ReadingAt>,
    /// How and when it ended.
    pub ended: Option<RampEnd>,
    /// What is to be known about its time.
    pub clock_notes: Vec<(i64, ClockNote)>,
    /// The last entry of this ramp that is not void and can be undone.
    pub last: Option<Hash>,
    clock: RunClock,
    zero: i64,
}

impl Ramp {
    /// Folds a ramp out of the book as it stands now; none while its start is unknown or void.
    pub fn of(book: &Book, id: Id) -> Option<Ramp> {
        book.ramp_origins(id).find_map(|start| {
            let line: Vec<&Entry> = book.chain_between(start.chain, start.seq, i64::MAX).collect();
            Ramp::fold(id, &line)
        })
    }

    /// The ramp as it stood when this entry ended it, whatever came later. None when the entry ends no ramp, or a part of its
    /// chain is not here.
    pub fn ended_by(book: &Book, hash: Hash) -> Option<Ramp> {
        let end = book.get(hash)?;
        let Body::RampEnded { ramp: id, .. } = end.body else { return None };
        // Back along the links, so that a fork of the chain makes no second answer.
        let mut line = vec![end];
        loop {
            let entry = line.last().and_then(|entry| book.get(entry.prev?))?;
            if entry.chain != end.chain {
                return None;
            }
            line.push(entry);
            if matches!(&entry.body, Body::RampStarted(started) if started.ramp == id) {
                break;
            }
        }
        line.reverse();
        Ramp::fold(id, &line)
    }

    /// Folds a line of entries that begins with the start of the ramp.
    fn fold(id: Id, line: &[&Entry]) -> Option<Ramp> {
        let start = *line.first()?;
        let Body::RampStarted(frozen) = &start.body else { return None };
        let voids = voids(line);
        let standing: Vec<&Entry> = line.iter().copied().filter(|entry| !voids.contains(&entry.hash)).collect();
        if voids.contains(&start.hash) {
            return None;
        }
        let answer = |asked: Hash| {
            standing.iter().find_map(|entry| match entry.body {
                Body::ClockAnswered { gap, asleep } if gap == asked => Some(asleep),
                _ => None,
            })
        };
        // The clocks are read off every entry, undone or not: it was written then.
        let clock = RunClock::answered_by(line.iter().copied(), &answer);
        let mut ramp = Ramp {
            id,
            phone: start.chain.phone,
            start: start.hash,
            started_wall: start.stamp.wall,
            frozen: Arc::clone(frozen),
            marks: Vec::new(),
            readings: Vec::new(),
            ended: None,
            clock_notes: Vec::new(),
            last: None,
            zero: clock.time(start.stamp),
            clock,
        };
        let mut moves = BTreeMap::new();
        for entry in &standing {
            match entry.body {
                Body::Moved { mark, to_session, to_mono } if ramp.clock.knows(to_session) => {
                    moves.insert(mark, (to_session, to_mono));
                }
                _ => {}
            }
        }
        standing.iter().for_each(|entry| ramp.take(entry, &moves));
        // Heat on is the zero of a ramp, wherever its mark has been moved to.
        if let Some(heat_on) = ramp.at(What::HeatOn) {
            ramp.zero = ramp.zero.saturating_add(heat_on);
            let at = ramp.marks.iter_mut().map(|mark| &mut mark.at);
            let at = at.chain(ramp.readings.iter_mut().map(|reading| &mut reading.at));
            at.chain(ramp.ended.iter_mut().map(|end| &mut end.at)).for_each(|at| *at = at.saturating_sub(heat_on));
        }
        ramp.marks = order::by_number(ramp.marks, |mark| mark.at);
        ramp.readings = order::by_number(ramp.readings, |reading| reading.at);
        let (from, end) = (ramp.zero, ramp.ended.map_or(i64::MAX, |end| end.at));
        let notes = ramp.clock.notes().iter().map(|(at, note)| (at.saturating_sub(from), *note));
        ramp.clock_notes = notes.filter(|(at, _)| (0..=end).contains(at)).collect();
        Some(ramp)
    }

    fn take(&mut self, entry: &Entry, moves: &BTreeMap<Hash, (Id, i64)>) {
        let (hash, at) = (entry.hash, self.time(entry.stamp));
        match &entry.body {
            Body::Mark { run, what } if *run == self.id => {
                let moved =
                    moves.get(&hash).map(|(session, mono)| Stamp { session: *session, mono: *mono, ..entry.stamp });
                let stamp = moved.unwrap_or(entry.stamp);
                let to = self.time(stamp);
                self.marks.push(MarkAt { hash, what: *what, at: to, moved_ms: to.saturating_sub(at), stamp });
            }
            Body::ReadingTaken { run, reading, .. } if *run == self.id => {
                self.readings.push(ReadingAt { hash, at, reading: *reading, trip: None });
            }
            Body::RampEnded { ramp, usable } if *ramp == self.id => {
                self.ended = Some(RampEnd { hash, at, usable: *usable });
            }
            _ => return,
        }
        self.last = Some(hash);
    }

    fn time(&self, stamp: Stamp) -> i64 {
        self.clock.time(stamp).saturating_sub(self.zero)
    }

    /// Ramp time of a stamp on a phone, ms since heat on. The one to use for "now".
    pub fn time_on(&self, phone: Id, stamp: Stamp) -> i64 {
        self.clock.time_on(phone, stamp).saturating_sub(self.zero)
    }

    /// The monotonic time in `session` at which this ramp's clock shows `at`, ms since heat on.
    pub(super) fn mono_at(&self, session: Id, at: i64) -> Option<i64> {
        self.clock.mono_at(session, at.saturating_add(self.zero))
    }

    /// When something was first marked, ms since heat on.
    pub fn at(&self, what: What) -> Option<i64> {
        self.marks.iter().find(|mark| mark.what == what).map(|mark| mark.at)
    }

    /// What it waits for: a function of its marks alone, because a ramp goes on until somebody says otherwise.
    pub fn phase(&self) -> RampPhase {
        match (self.ended, self.at(What::HeadOff), self.at(What::AtUpper)) {
            (Some(RampEnd { at, usable, .. }), _, _) => RampPhase::Ended { at, usable },
            (None, Some(since), _) => RampPhase::Cooling { since },
            (None, None, Some(since)) => RampPhase::Holding { since },
            (None, None, None) => RampPhase::Heating { since: 0 },
        }
    }

    /// The readings while the head climbed: up to the upper temperature, or where that was not marked until the head went off.
    pub fn while_heating(&self) -> Vec<&ReadingAt> {
        let until = self.at(What::AtUpper).or(self.at(What::HeadOff)).unwrap_or(i64::MAX);
        self.readings.iter().filter(|reading| (0..=until).contains(&reading.at)).collect()
    }

    /// Whether it was seen to its end with enough readings: only such a ramp is ended as usable, and only such a one, whoever
    /// ended it, makes a curve.
    pub fn is_whole(&self) -> bool {
        self.at(What::HeadOff).is_some() && self.while_heating().len() >= READINGS_AT_LEAST
    }

    /// The readings while the head cooled, and when it went off, ms since heat on.
    pub fn while_cooling(&self) -> (i64, Vec<&ReadingAt>) {
        let from = self.at(What::HeadOff).unwrap_or(i64::MAX);
        (from, self.readings.iter().filter(|reading| reading.at >= from).collect())
    }
}

/// The void entries of one chain's line, by its own undoes alone. An undo names an entry before it, so from the back each undo
/// is judged before what it names.
fn voids(line: &[&Entry]) -> BTreeSet<Hash> {
    let mut voids = BTreeSet::new();
    for entry in line.iter().rev() {
        match entry.body {
            Body::Undone { target } if !voids.contains(&entry.hash) => {
                voids.insert(target);
            }
            _ => {}
        }
    }
    voids
}

/// The ramps of a head, newest first, going on or ended, of every phone known here.
pub fn ramps_of(book: &Book, head: Id) -> Vec<Ramp> {
    let ramps = book.ramp_ids().filter_map(|id| Ramp::of(book, id)).filter(|ramp| ramp.frozen.head.of == head);
    order::by(ramps.collect(), |ramp| (ramp.started_wall.saturating_neg(), 0, ramp.id.to_string()))
}

/// The ramps that a phone takes now.
pub fn going_on(book: &Book, phone: Id) -> Vec<Ramp> {
    let ramps = book.ramp_ids().filter_map(|id| Ramp::of(book, id));
    ramps.filter(|ramp| ramp.phone == phone && ramp.ended.is_none()).collect()
}

/// The entries that make the heat curve of a head in a mode today, newest first: the ends of its newest usable ramps, at most
/// [`CURVE_OF`]. By mode and not by setting, because the power of the element makes the curve and the setting only says where
/// it stops. Which ramps are the newest is asked of the phones' wall clocks; it decides nothing that safety hangs on.
pub fn curve_of(book: &Book, head: Id, mode: Option<&String>) -> Vec<Hash> {
    let of_mode = |ramp: &Ramp| ramp.frozen.head.mode.as_ref() == mode && ramp.is_whole();
    let ramps = ramps_of(book, head).into_iter().filter(of_mode);
    let ends = ramps.filter_map(|ramp| ramp.ended.filter(|end| end.usable));
    ends.take(CURVE_OF).map(|end| end.hash).collect()
}

/// The ramps that a run's curve names, as they stood when it started. Fewer than named when some are not here.
pub fn ramps(book: &Book, curve: &[Hash]) -> Vec<Ramp> {
    curve.iter().filter_map(|hash| Ramp::ended_by(book, *hash)).collect()
}
