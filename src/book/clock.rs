//! Time in a test, from two clocks that can each be wrong.
//!
//! Within a session the monotonic clock counts, except over a recorded sleep, in which it stood still. Across sessions only
//! the wall is left; where it lies behind, time continues from the start of the new session and the note says so. The zero is the phone's first entry in the visit; a test takes differences.

use super::Id;
use super::body::Body;
use super::entries::Book;
use super::entry::{Entry, Hash, Stamp};
use crate::units::{Mono, Span};

/// How far the two clocks may part between neighbouring looks before it is recorded, ms.
///
/// The same figure as in the browser measurements this rests on: timers of a hidden page are up to 1 s late.
pub const GAP_MS: Span = 2_000;

/// Something to know about the time in a test.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ClockNote {
    /// The wall clock was set back; it changes nothing.
    SetBack {
        /// By how much, ms.
        by_ms: Span,
    },
    /// The wall clock was set forward; it changes nothing.
    SetForward {
        /// By how much, ms.
        by_ms: Span,
    },
    /// The phone slept; the sleep counts as test time.
    Asleep {
        /// How long, ms.
        for_ms: Span,
        /// Whether this was answered; otherwise it is assumed and asked once.
        answered: bool,
        /// The gap that is asked about.
        gap: Hash,
    },
    /// The app was started again; the wall clock bridges the time between.
    Restarted {
        /// How long, ms.
        away_ms: Span,
    },
    /// The app was started again and the wall clock lies before the last entry: the time between is unknown until the next
    /// mark of the heater's lamp.
    RestartedBehind,
    /// Another phone went on; the two wall clocks bridge the time between.
    OtherPhone {
        /// How long, ms.
        away_ms: Span,
    },
}

#[derive(Clone, Copy, Debug, PartialEq)]
struct Anchor {
    phone: Id,
    stamp: Stamp,
    at: Span,
}

impl Anchor {
    /// Test time of a stamp of the same session. The clocks' order is kept when two entries were written the other way round.
    fn reach(&self, stamp: Stamp) -> Span {
        self.at.saturating_add(stamp.mono.saturating_sub(self.stamp.mono))
    }

    /// Test time of a stamp of another session, and whether the wall clock could bridge the time between.
    fn bridge(&self, phone: Id, stamp: Stamp) -> (Span, bool) {
        let away = stamp.wall.saturating_sub(self.stamp.wall);
        // The same phone lost time only until it was started again; from then on its monotonic clock counts. Another phone may
        // have been started long before, so there only the two walls are left.
        let began = stamp.wall - stamp.mono.since_start();
        if phone == self.phone && began < self.stamp.wall {
            return (self.at.saturating_add(stamp.mono.since_start().max(0)), false);
        }
        (self.at.saturating_add(away.max(0)), away >= 0)
    }
}

/// The answer whether a gap was a sleep.
pub(super) fn answer(book: &Book, gap: Hash) -> Option<bool> {
    book.naming(gap).find_map(|answer| match answer.body {
        Body::ClockAnswered { asleep, .. } => Some(asleep),
        _ => None,
    })
}

/// Test time for one line of entries.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TestClock {
    /// Where the time cannot be reckoned from the anchor before.
    anchors: Vec<Anchor>,
    /// The last entry.
    last: Option<Anchor>,
    notes: Vec<(Span, ClockNote)>,
}

impl TestClock {
    /// Reads the clock off the entries of the phone (or phones, after a take-over) in their order.
    pub fn of<'a>(book: &Book, entries: impl Iterator<Item = &'a Entry>) -> TestClock {
        TestClock::answered_by(entries, &|gap| answer(book, gap))
    }

    /// Like [`TestClock::of`], with another source for whether a gap was a sleep.
    pub(super) fn answered_by<'a>(
        entries: impl Iterator<Item = &'a Entry>,
        answer: &dyn Fn(Hash) -> Option<bool>,
    ) -> TestClock {
        let mut clock = TestClock::default();
        for entry in entries {
            clock.take(entry, answer);
        }
        clock
    }

    /// Reads the next entry.
    pub(super) fn take(&mut self, entry: &Entry, answer: &dyn Fn(Hash) -> Option<bool>) {
        let stamp = entry.stamp;
        if let Some(last) = &mut self.last
            && last.stamp.session == stamp.session
            && entry.body.can_be_undone()
        {
            // A tap that was stored after a later one (a reading counts from "read now" and is stored when its digits are in)
            // tells nothing new about the clocks, and one in order nothing that the last anchor does not.
            if last.stamp.mono <= stamp.mono {
                (last.at, last.stamp) = (last.reach(stamp), stamp);
            }
            return;
        }
        let (phone, at) = (entry.chain.phone, self.step(entry, answer));
        let follows = |before: &Anchor| {
            before.stamp.session == stamp.session && before.stamp.mono <= stamp.mono && before.reach(stamp) == at
        };
        if !self.anchors.last().is_some_and(follows) {
            self.anchors.push(Anchor { phone, stamp, at });
        }
        self.last = Some(Anchor { phone, stamp, at });
    }

    fn step(&mut self, entry: &Entry, answer: &dyn Fn(Hash) -> Option<bool>) -> Span {
        let Some(last) = self.last else { return 0 };
        let phone = entry.chain.phone;
        let last = if last.stamp.session == entry.stamp.session {
            last
        } else {
            // A gap that a new session noticed before it wrote anything lies after its bridge.
            let stamp = match entry.body {
                Body::ClockGap { wall_ms, mono_ms, .. } => {
                    Stamp { wall: entry.stamp.wall - wall_ms, mono: entry.stamp.mono - mono_ms, ..entry.stamp }
                }
                _ => entry.stamp,
            };
            let (at, bridged) = last.bridge(phone, stamp);
            let away_ms = at.saturating_sub(last.at);
            self.notes.push(match (last.phone == phone, bridged) {
                (_, false) => (last.at, ClockNote::RestartedBehind),
                (true, true) => (last.at, ClockNote::Restarted { away_ms }),
                (false, true) => (last.at, ClockNote::OtherPhone { away_ms }),
            });
            Anchor { phone, stamp, at }
        };
        let mut at = last.reach(entry.stamp);
        if let Body::ClockGap { wall_ms, mono_ms, hidden } = entry.body {
            let extra = wall_ms.saturating_sub(mono_ms);
            let answer = answer(entry.hash);
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

    /// Test time of a stamp, ms from the clock's zero; of a session that wrote nothing yet by the wall clock alone.
    pub fn time(&self, stamp: Stamp) -> Span {
        self.within(stamp).unwrap_or_else(|| {
            let away = |last: Anchor| last.at.saturating_add(stamp.wall.saturating_sub(last.stamp.wall).max(0));
            self.last.map_or(0, away)
        })
    }

    /// Test time of a stamp on a phone. Better than [`TestClock::time`] for a session that wrote nothing yet: where the wall clock
    /// lies behind after a restart, time continues from the start of the session.
    pub fn time_on(&self, phone: Id, stamp: Stamp) -> Span {
        self.within(stamp).or_else(|| self.last.map(|last| last.bridge(phone, stamp).0)).unwrap_or(0)
    }

    fn within(&self, stamp: Stamp) -> Option<Span> {
        let same = || self.anchors.iter().filter(|anchor| anchor.stamp.session == stamp.session);
        let anchor = same().rfind(|anchor| anchor.stamp.mono <= stamp.mono).or_else(|| same().next())?;
        Some(anchor.reach(stamp))
    }

    /// Whether entries of this session are in the line.
    pub fn knows(&self, session: Id) -> bool {
        self.anchors.iter().any(|anchor| anchor.stamp.session == session)
    }

    /// The monotonic time at which a session's clock shows `at`. Within a sleep, in which it stood still, the end of the sleep.
    pub fn mono_at(&self, session: Id, at: Span) -> Option<Mono> {
        let anchors: Vec<&Anchor> = self.anchors.iter().filter(|anchor| anchor.stamp.session == session).collect();
        let index = anchors.iter().rposition(|anchor| anchor.at <= at).unwrap_or(0);
        let anchor = anchors.get(index)?;
        let mono = anchor.stamp.mono.saturating_add(at.saturating_sub(anchor.at));
        Some(anchors.get(index + 1).map_or(mono, |next| mono.min(next.stamp.mono)))
    }

    /// What is to be known about the time, each with the test time it belongs to.
    pub fn notes(&self) -> &[(Span, ClockNote)] {
        &self.notes
    }
}
