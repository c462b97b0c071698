//! Lays the marks of a run out in time: the head's clockwork is advanced from mark to mark and from the last mark to now.

use super::{NotCounted, Phase, Stage, Stretch, Timeline, Trip};
use crate::book::body::What;
use crate::book::run::MarkAt;
use crate::trade::head::Cycle;
use crate::trade::procedure::{Procedure, Template};
use crate::trade::seen::Resets;

pub(super) struct Rules<'a> {
    pub(super) cycle: &'a Cycle,
    pub(super) procedure: &'a Procedure,
    pub(super) resets: Resets,
}

impl Rules<'_> {
    /// When the head leaves a stretch by itself or by its nominal climb time.
    fn end_of(&self, stretch: Stretch) -> Option<i64> {
        let length = match (stretch.stage, self.cycle) {
            (Stage::Climb, cycle) => cycle.climb_ms(stretch.climb)?,
            (Stage::Hold, Cycle::ByItself { hold_first_ms, hold_again_ms, .. }) => {
                if stretch.climb <= 1 {
                    *hold_first_ms
                } else {
                    *hold_again_ms
                }
            }
            (Stage::Off, Cycle::ByItself { off_ms, .. }) => *off_ms,
            (_, Cycle::ByHand { .. }) => return None,
        };
        // A length of nothing, or less, from a broken file must not stop time.
        Some(stretch.from.saturating_add(length.max(0)))
    }

    fn next(stretch: Stretch, from: i64, marked: bool) -> Stretch {
        match stretch.stage {
            Stage::Climb => Stretch { stage: Stage::Hold, climb: stretch.climb, from, marked },
            Stage::Hold => Stretch { stage: Stage::Off, climb: stretch.climb, from, marked },
            Stage::Off => Stretch { stage: Stage::Climb, climb: stretch.climb.saturating_add(1), from, marked },
        }
    }

    pub(super) fn lay_out(&self, marks: &[MarkAt], now: i64) -> Timeline {
        let mut lay = Lay {
            rules: self,
            // A climb, a hold and a heat-off for every trip of a procedure of five.
            stretches: Vec::with_capacity(16),
            trips: Vec::with_capacity(marks.len()),
            wanted: self.procedure.trips,
            appended: 0,
            reset_seen: true,
            taken_at: None,
        };
        for mark in marks.iter().filter(|mark| mark.at <= now) {
            lay.advance(mark.at);
            lay.take(mark);
        }
        lay.advance(now);
        lay.finish(now)
    }
}

struct Lay<'a> {
    rules: &'a Rules<'a>,
    stretches: Vec<Stretch>,
    trips: Vec<Trip>,
    /// Climbs that a trip is wanted from, so far.
    wanted: u32,
    /// How many of them were appended.
    appended: u32,
    /// Whether a reset was seen since the last climb's first trip.
    reset_seen: bool,
    /// When the last wanted trip came.
    taken_at: Option<i64>,
}

/// A run is laid out for at most so many stretches, so that a broken file cannot hang the app. At a minute each it is a week.
const MOST_STRETCHES: usize = 10_000;

impl Lay<'_> {
    fn advance(&mut self, to: i64) {
        while let Some(&last) = self.stretches.last() {
            // Once everything is taken the head comes off; what it does on the ground is not part of the run.
            if self.complete(last).is_some() || self.stretches.len() >= MOST_STRETCHES {
                return;
            }
            match self.rules.end_of(last) {
                Some(end) if end <= to => self.stretches.push(Rules::next(last, end, false)),
                _ => return,
            }
        }
    }

    /// When everything was taken: at the trip of the last wanted climb, or when that climb ended without one.
    fn complete(&self, last: Stretch) -> Option<i64> {
        let ran_out = self.wanted > 1 && last.climb >= self.wanted && last.stage == Stage::Off;
        self.taken_at.or(ran_out.then_some(last.from))
    }

    fn take(&mut self, mark: &MarkAt) {
        let at = mark.at;
        let Some(&last) = self.stretches.last() else {
            if mark.what == What::HeatOn {
                self.stretches.push(Stretch { stage: Stage::Climb, climb: 1, from: at, marked: true });
            }
            return;
        };
        match mark.what {
            What::HeatOn | What::PanelReset => {}
            What::AtUpper => self.at_upper(last, at),
            What::HeadOff => self.head_off(last, at),
            What::HeadOn => self.head_on(last, at),
            What::Tripped => self.tripped(last, mark),
            What::Reset => {
                self.reset_seen = true;
                if let Some(trip) = self.trips.last_mut() {
                    trip.reset_at.get_or_insert(at);
                }
            }
        }
    }

    fn at_upper(&mut self, last: Stretch, at: i64) {
        let hold = |climb| Stretch { stage: Stage::Hold, climb, from: at, marked: true };
        match last.stage {
            Stage::Climb => self.stretches.push(hold(last.climb)),
            // The head was slower than its nominal climb: the hold begins here.
            Stage::Hold if !last.marked => self.replace_last(hold(last.climb)),
            // The soak counts from reaching the upper temperature, so seeing it again changes nothing.
            Stage::Hold => {}
            // Somebody said it was off, so it must have come on unseen.
            Stage::Off if last.marked => self.stretches.push(hold(last.climb.saturating_add(1))),
            Stage::Off if !self.upper_was_marked(last) => {
                self.stretches.pop();
                match self.stretches.last().map(|before| before.stage) {
                    Some(Stage::Hold) => self.replace_last(hold(last.climb)),
                    _ => self.stretches.push(hold(last.climb)),
                }
            }
            Stage::Off => {
                // The upper temperature of this climb was marked already: this is the same one, still seen, or the next.
                let off = self.rules.end_of(last).unwrap_or(i64::MAX);
                let next = off.saturating_add(self.rules.cycle.climb_ms(last.climb.saturating_add(1)).unwrap_or(0));
                if at.saturating_sub(last.from) > next.saturating_sub(at) {
                    self.stretches.push(hold(last.climb.saturating_add(1)));
                }
            }
        }
    }

    fn upper_was_marked(&self, last: Stretch) -> bool {
        self.stretches.iter().rev().take(3).any(|s| s.stage == Stage::Hold && s.climb == last.climb && s.marked)
    }

    fn head_off(&mut self, last: Stretch, at: i64) {
        let off = |climb| Stretch { stage: Stage::Off, climb, from: at, marked: true };
        match last.stage {
            // A head that is off cannot go off: the first mark of it stands.
            Stage::Off if last.marked => {}
            Stage::Off => self.replace_last(off(last.climb)),
            Stage::Climb if self.ran_ahead(last, at) => {
                // The app let the head come on again too early: it is only now going off after the climb before.
                self.stretches.pop();
                self.replace_last(off(last.climb.saturating_sub(1)));
            }
            Stage::Climb | Stage::Hold => self.stretches.push(off(last.climb)),
        }
    }

    /// Whether a climb that the clock began is nearer to the last heat-off than to its own end.
    fn ran_ahead(&self, last: Stretch, at: i64) -> bool {
        let before = self.stretches.len().checked_sub(2).and_then(|index| self.stretches.get(index));
        let (Some(off), false) = (before, last.marked) else { return false };
        if off.stage != Stage::Off || off.marked || self.tripped_in(last.climb) {
            return false;
        }
        let next_off = self.rules.end_of(last).and_then(|end| self.rules.end_of(Rules::next(last, end, false)));
        // Without a nominal climb the app may be ahead by one heat-off, not by more.
        let next_off =
            next_off.unwrap_or(last.from.saturating_add(last.from.saturating_sub(off.from).saturating_mul(2)));
        at.saturating_sub(off.from) < next_off.saturating_sub(at)
    }

    fn head_on(&mut self, last: Stretch, at: i64) {
        let on = |climb| Stretch { stage: Stage::Climb, climb, from: at, marked: true };
        match last.stage {
            Stage::Off => self.stretches.push(on(last.climb.saturating_add(1))),
            Stage::Climb if !last.marked => self.replace_last(on(last.climb)),
            // The lamp comes on later than the app thought: the whole climb starts here.
            Stage::Hold if !last.marked && last.climb > 1 && !self.tripped_in(last.climb) => {
                self.stretches.pop();
                self.replace_last(on(last.climb));
            }
            // A second tap for a climb that somebody marked.
            Stage::Climb if !self.tripped_in(last.climb) => {}
            // It tripped or reached the upper temperature in this climb, so it went off unseen: this is the next one.
            Stage::Climb | Stage::Hold => self.stretches.push(on(last.climb.saturating_add(1))),
        }
    }

    /// Trips come in the order of their climbs.
    fn tripped_in(&self, climb: u32) -> bool {
        self.trips.binary_search_by_key(&climb, |trip| trip.climb).is_ok()
    }

    fn replace_last(&mut self, stretch: Stretch) {
        if let Some(last) = self.stretches.last_mut() {
            *last = stretch;
        }
    }

    fn tripped(&mut self, last: Stretch, mark: &MarkAt) {
        if self.came_on_unseen(last, mark.at) {
            let climb = last.climb.saturating_add(1);
            self.stretches.push(Stretch { stage: Stage::Climb, climb, from: mark.at, marked: true });
        }
        let last = self.stretches.last().copied().unwrap_or(last);
        let began = self.stretches.iter().rfind(|s| s.stage == Stage::Climb && s.climb == last.climb);
        let not_counted = self.not_counted(last.climb);
        self.trips.push(Trip {
            mark: mark.hash,
            at: mark.at,
            climb: last.climb,
            stage: last.stage,
            climb_from: began.map_or(last.from, |stretch| stretch.from),
            reset_at: None,
            not_counted,
        });
        if not_counted == Some(NotCounted::Repeat) {
            return;
        }
        self.reset_seen = false;
        if not_counted == Some(NotCounted::NoReset) && self.appended < self.rules.procedure.appended_at_most {
            self.appended += 1;
            self.wanted = self.wanted.saturating_add(1);
        }
        if last.climb >= self.wanted {
            self.taken_at.get_or_insert(mark.at);
        }
    }

    /// Whether a trip in heat-off says that the head came on earlier than the app thought: this climb has its trip, and the
    /// next climb is nearer than the end of this one. A detector does not trip again without heat.
    fn came_on_unseen(&self, last: Stretch, at: i64) -> bool {
        let off_ms = match self.rules.cycle {
            Cycle::ByItself { off_ms, .. } => *off_ms,
            Cycle::ByHand { .. } => self.rules.procedure.off_ms,
        };
        let since = at.saturating_sub(last.from);
        last.stage == Stage::Off && self.tripped_in(last.climb) && since > off_ms.saturating_sub(since)
    }

    /// Why the next trip, in `climb`, does not count.
    fn not_counted(&self, climb: u32) -> Option<NotCounted> {
        if self.tripped_in(climb) {
            Some(NotCounted::Repeat)
        } else if climb > self.wanted {
            Some(NotCounted::Surplus)
        } else if climb <= self.rules.procedure.uncounted {
            Some(NotCounted::First)
        } else if self.rules.resets == Resets::Watched && !self.reset_seen {
            Some(NotCounted::NoReset)
        } else {
            None
        }
    }

    fn finish(self, now: i64) -> Timeline {
        let phase = self.phase(now);
        let last = self.stretches.last().copied();
        let over = |climb: u32| last.is_some_and(|l| l.climb > climb || (l.climb == climb && l.stage == Stage::Off));
        let most = last.map_or(0, |last| last.climb.min(self.wanted));
        let missing = (1..=most).filter(|climb| over(*climb) && !self.tripped_in(*climb)).collect();
        Timeline { stretches: self.stretches, trips: self.trips, wanted: self.wanted, missing, phase, now }
    }

    fn phase(&self, now: i64) -> Phase {
        let Some(&last) = self.stretches.last() else { return Phase::Climb { climb: 1, since: now, until: None } };
        if let Some(since) = self.no_trip(now) {
            return Phase::NoTrip { since };
        }
        if let Some(since) = self.complete(last) {
            let trip = self.trips.last();
            let await_reset = self.rules.procedure.template == Template::Response
                && self.rules.resets == Resets::Watched
                && trip.is_some_and(|trip| trip.reset_at.is_none());
            return if await_reset { Phase::AwaitReset { since } } else { Phase::Complete { since } };
        }
        let Stretch { stage, climb, from: since, .. } = last;
        let until = self.rules.end_of(last);
        if self.rules.cycle.by_itself() {
            return match stage {
                Stage::Climb => Phase::Climb { climb, since, until },
                Stage::Hold => Phase::Soak { climb, since, until },
                Stage::Off => Phase::Cool { climb, since, until: until.unwrap_or(since) },
            };
        }
        self.by_hand(last, now)
    }

    fn by_hand(&self, last: Stretch, now: i64) -> Phase {
        let Stretch { stage, climb, from: since, .. } = last;
        let procedure = self.rules.procedure;
        let trip = self.trips.iter().find(|trip| trip.climb == climb);
        match stage {
            // After the first climb the soak warms the whole detector; later the head goes off at the trip.
            Stage::Climb | Stage::Hold if climb > 1 && trip.is_some() => {
                Phase::SwitchOff { climb, since: trip.map_or(since, |trip| trip.at) }
            }
            Stage::Climb => Phase::Climb { climb, since, until: self.rules.end_of(last) },
            Stage::Hold => {
                let until = since.saturating_add(procedure.soak_ms.max(0));
                if now < until {
                    Phase::Soak { climb, since, until: Some(until) }
                } else {
                    Phase::SwitchOff { climb, since: until }
                }
            }
            Stage::Off => {
                let until = since.saturating_add(procedure.off_ms.max(0));
                if now < until { Phase::Cool { climb, since, until } } else { Phase::SwitchOn { climb, since: until } }
            }
        }
    }

    /// Since when a full climb and soak is over without any trip.
    fn no_trip(&self, now: i64) -> Option<i64> {
        if !self.trips.is_empty() {
            return None;
        }
        let full = match self.rules.cycle {
            Cycle::ByItself { hold_first_ms, .. } => *hold_first_ms,
            Cycle::ByHand { .. } => self.rules.procedure.soak_ms,
        };
        let full = full.max(0);
        self.stretches.iter().enumerate().filter(|(_, stretch)| stretch.stage == Stage::Hold).find_map(
            |(index, hold)| {
                let since = hold.from.saturating_add(full);
                match self.stretches.get(index + 1) {
                    Some(next) => {
                        (next.from >= since.saturating_sub(full / SOAK_SHORT)).then_some(since.min(next.from))
                    }
                    None => (now >= since).then_some(since),
                }
            },
        )
    }
}

/// A soak that ends early by at most this part of itself is still a full one: finger and lamp are some seconds apart.
/// The project's own choice, no published source.
pub const SOAK_SHORT: i64 = 10;
