//! One profile run of a heater as its entries leave it, and the profile runs that make a heater profile.
//!
//! A profile run lies in one phone's kit chain and only that phone's own entries fold into it, undoes and answers about its clocks among
//! them. So a profile run up to the entry that ended it is fixed by that entry's hash: a test that froze the hash is judged by the same
//! profile run for ever, whatever was undone later.

use super::Id;
use super::body::{Body, ProfileRunStart, What};
use super::clock::{ClockNote, TestClock};
use super::entries::Book;
use super::entry::{DecisionId, Entry, Hash, Stamp};
use super::test::{MarkAt, ReadingAt, correct};
use crate::order;
use crate::units::{Mono, Span, TestTime, Wall};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Most profile runs that make one heater profile: the newest. Five tell their spread with four degrees of freedom, and older ones tell of
/// an element that has aged since. The project's own figure.
pub const PROFILE_OF: usize = 5;

/// Fewest readings while heating that a profile run is used with: below that nothing is left to tell how well a profile with two
/// parameters fits.
pub const READINGS_AT_LEAST: usize = 3;

/// What a profile run waits for. Times are profile run time, ms since heat on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ProfileRunPhase {
    /// The heater heats up.
    Heating {
        /// Since when.
        since: TestTime,
    },
    /// The heater holds its top temperature.
    Holding {
        /// Since when.
        since: TestTime,
    },
    /// The heater is off and cools.
    Cooling {
        /// Since when.
        since: TestTime,
    },
    /// Ended.
    Ended {
        /// When.
        at: TestTime,
        /// Whether it may be used for a profile.
        usable: bool,
    },
}

/// The end of a profile run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ProfileRunEnd {
    /// The entry; what a test's profile names.
    pub hash: Hash,
    /// When, ms since heat on.
    pub at: TestTime,
    /// Whether it may be used for a profile.
    pub usable: bool,
}

/// One profile run.
#[derive(Clone, Debug, PartialEq)]
pub struct ProfileRun {
    /// Which.
    pub id: Id,
    /// The phone that takes it.
    pub phone: Id,
    /// The entry that started it.
    pub start: Hash,
    /// Wall clock of the start, UTC ms, for people to read.
    pub started_wall: Wall,
    /// What was frozen into it: heater, setting, mode, detector, ambient temperature, who takes it.
    pub frozen: Arc<ProfileRunStart>,
    /// Marks by profile run time.
    pub marks: Vec<MarkAt>,
    /// Readings by profile run time.
    pub readings: Vec<ReadingAt>,
    /// Readings that are none.
    pub withdrawn: Vec<ReadingAt>,
    /// How and when it ended.
    pub ended: Option<ProfileRunEnd>,
    /// What is to be known about its time.
    pub clock_notes: Vec<(TestTime, ClockNote)>,
    /// The last entry of this profile run that is not void and can be undone.
    pub last: Option<Hash>,
    clock: TestClock,
    /// Its heat on, from the zero of `clock`.
    zero: Span,
}

impl ProfileRun {
    /// Folds a profile run out of the book as it is now; none while its start is unknown or void.
    pub fn of(book: &Book, id: Id) -> Option<ProfileRun> {
        book.profile_run_origins(id).find_map(|start| {
            let line: Vec<&Entry> = book.chain_between(start.chain, start.seq, i64::MAX).collect();
            ProfileRun::fold(id, &line)
        })
    }

    /// The profile run as it stood when this entry ended it, whatever came later. None when the entry ends no profile run, or a part of its
    /// chain is not here.
    pub fn ended_by(book: &Book, hash: Hash) -> Option<ProfileRun> {
        let end = book.get(hash)?;
        let Body::ProfileRunEnded { run: id, .. } = end.body else { return None };
        // Back along the links, so that a fork of the chain makes no second answer.
        let mut line = vec![end];
        loop {
            let entry = line.last().and_then(|entry| book.get(entry.prev?))?;
            if entry.chain != end.chain {
                return None;
            }
            line.push(entry);
            if matches!(&entry.body, Body::ProfileRunStarted(started) if started.run == id) {
                break;
            }
        }
        line.reverse();
        ProfileRun::fold(id, &line)
    }

    /// Folds a line of entries that begins with the start of the profile run.
    fn fold(id: Id, line: &[&Entry]) -> Option<ProfileRun> {
        let start = *line.first()?;
        let Body::ProfileRunStarted(frozen) = &start.body else { return None };
        let voids = voids(line);
        let is_void = |entry: &Entry| voids.contains(&entry.decision()) && entry.body.can_be_undone();
        let standing: Vec<&Entry> = line.iter().copied().filter(|entry| !is_void(entry)).collect();
        if is_void(start) {
            return None;
        }
        let answer = |asked: Hash| {
            standing.iter().find_map(|entry| match entry.body {
                Body::ClockAnswered { gap, asleep } if gap == asked => Some(asleep),
                _ => None,
            })
        };
        // The clocks are read off every entry, undone or not: it was written then.
        let clock = TestClock::answered_by(line.iter().copied(), &answer);
        let mut profile_run = ProfileRun {
            id,
            phone: start.chain.phone,
            start: start.hash,
            started_wall: start.stamp.wall,
            frozen: Arc::clone(frozen),
            marks: Vec::new(),
            readings: Vec::new(),
            withdrawn: Vec::new(),
            ended: None,
            clock_notes: Vec::new(),
            last: None,
            zero: clock.time(start.stamp),
            clock,
        };
        let mut moves = BTreeMap::new();
        for entry in &standing {
            match entry.body {
                Body::Moved { mark, to_session, to_mono } if profile_run.clock.knows(to_session) => {
                    moves.insert(mark, (to_session, to_mono));
                }
                _ => {}
            }
        }
        standing.iter().for_each(|entry| profile_run.take(entry, &moves));
        for entry in &standing {
            if let Body::ReadingCorrected(of) = &entry.body {
                let ProfileRun { readings, withdrawn, .. } = &mut profile_run;
                correct(readings, withdrawn, of.reading, of.now);
            }
        }
        // Heat on is the zero of a profile run, wherever its mark has been moved to.
        if let Some(heat_on) = profile_run.at(What::HeatOn) {
            profile_run.zero = profile_run.zero.saturating_add(heat_on.since_heat_on());
            let at = profile_run.marks.iter_mut().map(|mark| &mut mark.at);
            let readings = profile_run.readings.iter_mut().chain(&mut profile_run.withdrawn);
            let at = at.chain(readings.map(|reading| &mut reading.at));
            at.chain(profile_run.ended.iter_mut().map(|end| &mut end.at))
                .for_each(|at| *at = *at - heat_on.since_heat_on());
        }
        profile_run.marks = order::by_number(profile_run.marks, |mark| mark.at.0);
        profile_run.readings = order::by_number(profile_run.readings, |reading| reading.at.0);
        let (from, end) = (profile_run.zero, profile_run.ended.map_or(TestTime::MAX, |end| end.at));
        let notes =
            profile_run.clock.notes().iter().map(|(at, note)| (TestTime::HEAT_ON + at.saturating_sub(from), *note));
        profile_run.clock_notes = notes.filter(|(at, _)| (TestTime::HEAT_ON..=end).contains(at)).collect();
        Some(profile_run)
    }

    fn take(&mut self, entry: &Entry, moves: &BTreeMap<Hash, (Id, Mono)>) {
        let (hash, at) = (entry.hash, self.time(entry.stamp));
        match &entry.body {
            Body::Mark { of, what } if *of == self.id => {
                let moved =
                    moves.get(&hash).map(|(session, mono)| Stamp { session: *session, mono: *mono, ..entry.stamp });
                let stamp = moved.unwrap_or(entry.stamp);
                let to = self.time(stamp);
                self.marks.push(MarkAt { hash, what: *what, at: to, moved_ms: to.saturating_sub(at), stamp });
            }
            Body::ReadingTaken { of, reading, .. } if *of == self.id => {
                self.readings.push(ReadingAt { hash, at, reading: *reading, trip: None, corrected_from: None });
            }
            Body::ProfileRunEnded { run, usable } if *run == self.id => {
                self.ended = Some(ProfileRunEnd { hash, at, usable: *usable });
            }
            _ => return,
        }
        self.last = Some(hash);
    }

    fn time(&self, stamp: Stamp) -> TestTime {
        TestTime::HEAT_ON + self.clock.time(stamp).saturating_sub(self.zero)
    }

    /// Profile run time of a stamp on a phone, ms since heat on. The one to use for "now".
    pub fn time_on(&self, phone: Id, stamp: Stamp) -> TestTime {
        TestTime::HEAT_ON + self.clock.time_on(phone, stamp).saturating_sub(self.zero)
    }

    /// The monotonic time in `session` at which this profile run's clock shows `at`, ms since heat on.
    pub(super) fn mono_at(&self, session: Id, at: TestTime) -> Option<Mono> {
        self.clock.mono_at(session, at.since_heat_on().saturating_add(self.zero))
    }

    /// When something was first marked, ms since heat on.
    pub fn at(&self, what: What) -> Option<TestTime> {
        self.marks.iter().find(|mark| mark.what == what).map(|mark| mark.at)
    }

    /// What it waits for: a function of its marks alone, because a profile run lasts until it is ended.
    pub fn phase(&self) -> ProfileRunPhase {
        match (self.ended, self.at(What::HeaterOff), self.at(What::AtTop)) {
            (Some(ProfileRunEnd { at, usable, .. }), _, _) => ProfileRunPhase::Ended { at, usable },
            (None, Some(since), _) => ProfileRunPhase::Cooling { since },
            (None, None, Some(since)) => ProfileRunPhase::Holding { since },
            (None, None, None) => ProfileRunPhase::Heating { since: TestTime::HEAT_ON },
        }
    }

    /// The readings while the heater heated up: up to the top temperature, or where that was not marked until the heater went off.
    pub fn while_heating(&self) -> Vec<&ReadingAt> {
        let until = self.at(What::AtTop).or(self.at(What::HeaterOff)).unwrap_or(TestTime::MAX);
        self.readings.iter().filter(|reading| (TestTime::HEAT_ON..=until).contains(&reading.at)).collect()
    }

    /// Whether it was seen to its end with enough readings: only such a profile run is ended as usable, and only such a one, whoever
    /// ended it, makes a profile.
    pub fn is_whole(&self) -> bool {
        self.at(What::HeaterOff).is_some() && self.while_heating().len() >= READINGS_AT_LEAST
    }
}

/// The void decisions of one chain's line, by its own undoes alone. An undo follows what it names, so from the back each undo is
/// judged before what it names.
fn voids(line: &[&Entry]) -> BTreeSet<DecisionId> {
    let mut voids = BTreeSet::new();
    for entry in line.iter().rev() {
        match entry.body {
            Body::Undone { undoes } if undoes.phone == entry.chain.phone && !voids.contains(&entry.decision()) => {
                voids.insert(undoes);
            }
            _ => {}
        }
    }
    voids
}

/// The profile runs of a heater, newest first, going on or ended, of every phone known here.
pub fn profile_runs_of(book: &Book, heater: Id) -> Vec<ProfileRun> {
    let profile_runs = book
        .profile_run_ids()
        .filter_map(|id| ProfileRun::of(book, id))
        .filter(|profile_run| profile_run.frozen.heater.of == heater);
    order::by(profile_runs.collect(), |profile_run| {
        (profile_run.started_wall.0.saturating_neg(), 0, profile_run.id.to_string())
    })
}

/// The profile runs that a phone takes now.
pub fn going_on(book: &Book, phone: Id) -> Vec<ProfileRun> {
    let profile_runs = book.profile_run_ids().filter_map(|id| ProfileRun::of(book, id));
    profile_runs.filter(|profile_run| profile_run.phone == phone && profile_run.ended.is_none()).collect()
}

/// The entries that make the heater profile of a heater in a mode today, newest first: the ends of its newest usable profile runs, at most
/// [`PROFILE_OF`]. By mode and not by setting, because the power of the element makes the profile and the setting only says where
/// it stops. Which profile runs are the newest is asked of the phones' wall clocks; it decides nothing that safety hangs on.
pub fn profile_of(book: &Book, heater: Id, mode: Option<&String>) -> Vec<Hash> {
    let of_mode = |profile_run: &ProfileRun| profile_run.frozen.heater.mode.as_ref() == mode && profile_run.is_whole();
    let profile_runs = profile_runs_of(book, heater).into_iter().filter(of_mode);
    let ends = profile_runs.filter_map(|profile_run| profile_run.ended.filter(|end| end.usable));
    ends.take(PROFILE_OF).map(|end| end.hash).collect()
}

/// The profile runs that a test's profile names, as they stood when it started. Fewer than named when some are not here.
pub fn profile_runs(book: &Book, profile: &[Hash]) -> Vec<ProfileRun> {
    profile.iter().filter_map(|hash| ProfileRun::ended_by(book, *hash)).collect()
}
