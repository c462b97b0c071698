//! Time in a run, from two clocks that can each be wrong.
//!
//! Within a session the monotonic clock counts, except over a recorded sleep, in which it stood still. Across sessions only
//! the wall is left. The zero is the phone's first entry in the round; a run takes differences.

use super::Id;
use super::body::Body;
use super::entry::{Entry, Hash, Stamp};
use super::log::Book;

/// How far the two clocks may part between neighbouring looks before it is recorded, ms.
///
/// The same figure as in the browser measurements this rests on: timers of a hidden page are up to 1 s late.
pub const GAP_MS: i64 = 2_000;

/// Something to know about the time in a run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ClockNote {
    /// The wall clock was set back; it changes nothing.
    SetBack {
        /// By how much, ms.
        by_ms: i64,
    },
    /// The wall clock was set forward; it changes nothing.
    SetForward {
        /// By how much, ms.
        by_ms: i64,
    },
    /// The phone slept; the sleep counts as run time.
    Asleep {
        /// How long, ms.
        for_ms: i64,
        /// Whether somebody said so; otherwise it is assumed and asked once.
        answered: bool,
        /// The gap that is asked about.
        gap: Hash,
    },
    /// The app was started again; the wall clock bridges the time between.
    Restarted {
        /// How long, ms.
        away_ms: i64,
    },
    /// The app was started again and the wall clock lies before the last entry: the time between is unknown until the next
    /// mark of the head's lamp.
    RestartedBehind,
    /// Another phone went on; the two wall clocks bridge the time between.
    OtherPhone {
        /// How long, ms.
        away_ms: i64,
    },
}

#[derive(Clone, Copy, Debug, PartialEq)]
struct Anchor {
    phone: Id,
    stamp: Stamp,
    at: i64,
}

/// Run time for one line of entries.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RunClock {
    anchors: Vec<Anchor>,
    notes: Vec<(i64, ClockNote)>,
}

impl RunClock {
    /// Reads the clock off the entries of the phone (or phones, after a take-over) in their order.
    pub fn of<'a>(book: &Book, entries: impl Iterator<Item = &'a Entry>) -> RunClock {
        let mut clock = RunClock::default();
        for entry in entries {
            let at = clock.step(book, entry);
            clock.anchors.push(Anchor { phone: entry.chain.phone, stamp: entry.stamp, at });
        }
        clock
    }

    fn step(&mut self, book: &Book, entry: &Entry) -> i64 {
        let Some(last) = self.anchors.last().copied() else { return 0 };
        if last.stamp.session != entry.stamp.session {
            let away_ms = entry.stamp.wall.saturating_sub(last.stamp.wall);
            let note = match (last.phone == entry.chain.phone, away_ms < 0) {
                (_, true) => ClockNote::RestartedBehind,
                (true, false) => ClockNote::Restarted { away_ms },
                (false, false) => ClockNote::OtherPhone { away_ms },
            };
            self.notes.push((last.at, note));
            return last.at.saturating_add(away_ms.max(0));
        }
        let mut at = last.at.saturating_add(entry.stamp.mono.saturating_sub(last.stamp.mono).max(0));
        if let Body::ClockGap { wall_ms, mono_ms, hidden } = entry.body {
            let extra = wall_ms.saturating_sub(mono_ms);
            let answer = book.naming(entry.hash).find_map(|answer| match answer.body {
                Body::ClockAnswered { asleep, .. } => Some(asleep),
                _ => None,
            });
            let note = if extra < 0 {
                ClockNote::SetBack { by_ms: extra.saturating_neg() }
            } else if !hidden || answer == Some(false) {
                ClockNote::SetForward { by_ms: extra }
            } else {
                at = at.saturating_add(extra);
                ClockNote::Asleep { for_ms: extra, answered: answer.is_some(), gap: entry.hash }
            };
            self.notes.push((at, note));
        }
        at
    }

    /// Run time of a stamp, ms from the clock's zero.
    pub fn time(&self, stamp: Stamp) -> i64 {
        let same = || self.anchors.iter().filter(|anchor| anchor.stamp.session == stamp.session);
        if let Some(anchor) = same().rfind(|anchor| anchor.stamp.mono <= stamp.mono) {
            return anchor.at.saturating_add(stamp.mono.saturating_sub(anchor.stamp.mono));
        }
        if let Some(anchor) = same().next() {
            return anchor.at.saturating_sub(anchor.stamp.mono.saturating_sub(stamp.mono));
        }
        match self.anchors.last() {
            Some(last) => last.at.saturating_add(stamp.wall.saturating_sub(last.stamp.wall).max(0)),
            None => 0,
        }
    }

    /// What is to be known about the time, each with the run time it belongs to.
    pub fn notes(&self) -> &[(i64, ClockNote)] {
        &self.notes
    }
}
