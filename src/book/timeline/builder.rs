//! Lays the marks of a run out in time: the heater's clockwork is advanced from mark to mark and from the last mark to now.

use super::{NotCounted, Phase, Stage, Stretch, Timeline, Trip};
use crate::book::body::What;
use crate::book::test::MarkAt;
use crate::trade::conditions::Restores;
use crate::trade::heater::Cycle;
use crate::trade::procedure::Procedure;
use crate::units::TestTime;

pub(super) struct Rules<'a> {
    pub(super) cycle: &'a Cycle,
    pub(super) procedure: &'a Procedure,
    pub(super) restores: Restores,
}

impl Rules<'_> {
    /// When the heater leaves a stretch by itself or by its nominal heat-up time.
    fn end_of(&self, stretch: Stretch) -> Option<TestTime> {
        let length = match (stretch.stage, self.cycle) {
            (Stage::HeatUp, cycle) => cycle.heat_up_ms(stretch.heat_up)?,
            (Stage::Hold, Cycle::Auto { hold_first_ms, .. }) if stretch.heat_up <= 1 => (*hold_first_ms)?,
            (Stage::Hold, Cycle::Auto { hold_again_ms, .. }) => (*hold_again_ms)?,
            (Stage::Off, Cycle::Auto { off_ms, .. }) => (*off_ms)?,
            (_, Cycle::Manual { .. }) => return None,
        };
        // A length of nothing, or less, from a broken file must not stop time.
        Some(stretch.from.saturating_add(length.max(0)))
    }

    fn next(stretch: Stretch, from: TestTime, marked: bool) -> Stretch {
        match stretch.stage {
            Stage::HeatUp => Stretch { stage: Stage::Hold, heat_up: stretch.heat_up, from, marked },
            Stage::Hold => Stretch { stage: Stage::Off, heat_up: stretch.heat_up, from, marked },
            Stage::Off => Stretch { stage: Stage::HeatUp, heat_up: stretch.heat_up.saturating_add(1), from, marked },
        }
    }

    pub(super) fn lay_out(&self, marks: &[MarkAt], now: TestTime) -> Timeline {
        let mut lay = Lay {
            rules: self,
            // A heat-up, a hold and a cool-down for every trip of a procedure of five.
            stretches: Vec::with_capacity(16),
            trips: Vec::with_capacity(marks.len()),
            wanted: self.procedure.trips,
            appended: 0,
            restore_seen: true,
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
    /// Heat-ups that a trip is wanted from, so far.
    wanted: u32,
    /// How many of them were appended.
    appended: u32,
    /// Whether a restore was seen since the last heat-up's first trip.
    restore_seen: bool,
    /// When the last wanted trip came.
    taken_at: Option<TestTime>,
}

/// A test is laid out for at most so many stretches, so that a broken file cannot hang the app. At a minute each it is a week.
const MOST_STRETCHES: usize = 10_000;

impl Lay<'_> {
    fn advance(&mut self, to: TestTime) {
        while let Some(&last) = self.stretches.last() {
            // Once everything is taken the heater comes off; what it does on the ground is not part of the test.
            if self.complete(last).is_some() || self.stretches.len() >= MOST_STRETCHES {
                return;
            }
            match self.rules.end_of(last) {
                Some(end) if end <= to => self.stretches.push(Rules::next(last, end, false)),
                _ => return,
            }
        }
    }

    /// When everything was taken: at the trip of the last wanted heat-up, or when that heat-up ended without one.
    fn complete(&self, last: Stretch) -> Option<TestTime> {
        let ran_out = self.wanted > 1 && last.heat_up >= self.wanted && last.stage == Stage::Off;
        self.taken_at.or(ran_out.then_some(last.from))
    }

    fn take(&mut self, mark: &MarkAt) {
        let at = mark.at;
        let Some(&last) = self.stretches.last() else {
            if mark.what == What::HeatOn {
                self.stretches.push(Stretch { stage: Stage::HeatUp, heat_up: 1, from: at, marked: true });
            }
            return;
        };
        match mark.what {
            What::HeatOn | What::PanelReset | What::Lowered => {}
            What::AtTop => self.at_top(last, at),
            What::HeaterOff => self.heater_off(last, at),
            What::HeaterOn => self.heater_on(last, at),
            What::Tripped => self.tripped(last, mark),
            What::Restored => {
                self.restore_seen = true;
                if let Some(trip) = self.trips.last_mut() {
                    trip.restore_at.get_or_insert(at);
                }
            }
        }
    }

    fn at_top(&mut self, last: Stretch, at: TestTime) {
        let hold = |heat_up| Stretch { stage: Stage::Hold, heat_up, from: at, marked: true };
        match last.stage {
            Stage::HeatUp => self.stretches.push(hold(last.heat_up)),
            // The heater was slower than its nominal heat-up: the hold begins here.
            Stage::Hold if !last.marked => self.replace_last(hold(last.heat_up)),
            // The soak counts from reaching the top temperature, so seeing it again changes nothing.
            Stage::Hold => {}
            // It was marked off, so it must have come on unseen.
            Stage::Off if last.marked => self.stretches.push(hold(last.heat_up.saturating_add(1))),
            Stage::Off if !self.top_was_marked(last) => {
                self.stretches.pop();
                match self.stretches.last().map(|before| before.stage) {
                    Some(Stage::Hold) => self.replace_last(hold(last.heat_up)),
                    _ => self.stretches.push(hold(last.heat_up)),
                }
            }
            Stage::Off => {
                // The top temperature of this heat-up was marked already: this is the same one, still seen, or the next.
                let off = self.rules.end_of(last).unwrap_or(TestTime::MAX);
                let next = off.saturating_add(self.rules.cycle.heat_up_ms(last.heat_up.saturating_add(1)).unwrap_or(0));
                if at.saturating_sub(last.from) > next.saturating_sub(at) {
                    self.stretches.push(hold(last.heat_up.saturating_add(1)));
                }
            }
        }
    }

    fn top_was_marked(&self, last: Stretch) -> bool {
        self.stretches.iter().rev().take(3).any(|s| s.stage == Stage::Hold && s.heat_up == last.heat_up && s.marked)
    }

    fn heater_off(&mut self, last: Stretch, at: TestTime) {
        let off = |heat_up| Stretch { stage: Stage::Off, heat_up, from: at, marked: true };
        match last.stage {
            // A heater that is off cannot go off: the first mark counts.
            Stage::Off if last.marked => {}
            Stage::Off => self.replace_last(off(last.heat_up)),
            Stage::HeatUp if self.ran_ahead(last, at) => {
                // The app let the heater come on again too early: it is only now going off after the heat-up before.
                self.stretches.pop();
                self.replace_last(off(last.heat_up.saturating_sub(1)));
            }
            Stage::HeatUp | Stage::Hold => self.stretches.push(off(last.heat_up)),
        }
    }

    /// Whether a heat-up that the clock began is nearer to the last cool-down than to its own end.
    fn ran_ahead(&self, last: Stretch, at: TestTime) -> bool {
        let before = self.stretches.len().checked_sub(2).and_then(|index| self.stretches.get(index));
        let (Some(off), false) = (before, last.marked) else { return false };
        if off.stage != Stage::Off || off.marked || self.tripped_in(last.heat_up) {
            return false;
        }
        let next_off = self.rules.end_of(last).and_then(|end| self.rules.end_of(Rules::next(last, end, false)));
        // Without a nominal heat-up the app may be ahead by one cool-down, not by more.
        let next_off =
            next_off.unwrap_or(last.from.saturating_add(last.from.saturating_sub(off.from).saturating_mul(2)));
        at.saturating_sub(off.from) < next_off.saturating_sub(at)
    }

    fn heater_on(&mut self, last: Stretch, at: TestTime) {
        let on = |heat_up| Stretch { stage: Stage::HeatUp, heat_up, from: at, marked: true };
        match last.stage {
            Stage::Off => self.stretches.push(on(last.heat_up.saturating_add(1))),
            Stage::HeatUp if !last.marked => self.replace_last(on(last.heat_up)),
            // The lamp comes on later than the app thought: the whole heat-up starts here.
            Stage::Hold if !last.marked && last.heat_up > 1 && !self.tripped_in(last.heat_up) => {
                self.stretches.pop();
                self.replace_last(on(last.heat_up));
            }
            // A second tap for a marked heat-up.
            Stage::HeatUp if !self.tripped_in(last.heat_up) => {}
            // It tripped or reached the top temperature in this heat-up, so it went off unseen: this is the next one.
            Stage::HeatUp | Stage::Hold => self.stretches.push(on(last.heat_up.saturating_add(1))),
        }
    }

    /// Trips come in the order of their heat-ups.
    fn tripped_in(&self, heat_up: u32) -> bool {
        self.trips.binary_search_by_key(&heat_up, |trip| trip.heat_up).is_ok()
    }

    fn replace_last(&mut self, stretch: Stretch) {
        if let Some(last) = self.stretches.last_mut() {
            *last = stretch;
        }
    }

    fn tripped(&mut self, last: Stretch, mark: &MarkAt) {
        if self.came_on_unseen(last, mark.at) {
            let heat_up = last.heat_up.saturating_add(1);
            self.stretches.push(Stretch { stage: Stage::HeatUp, heat_up, from: mark.at, marked: true });
        }
        let last = self.stretches.last().copied().unwrap_or(last);
        let began = self.stretches.iter().rfind(|s| s.stage == Stage::HeatUp && s.heat_up == last.heat_up);
        let not_counted = self.not_counted(last.heat_up);
        self.trips.push(Trip {
            mark: mark.hash,
            at: mark.at,
            heat_up: last.heat_up,
            stage: last.stage,
            heat_up_from: began.map_or(last.from, |stretch| stretch.from),
            restore_at: None,
            not_counted,
        });
        if not_counted == Some(NotCounted::Repeat) {
            return;
        }
        self.restore_seen = false;
        if not_counted == Some(NotCounted::NoRestore) && self.appended < self.rules.procedure.extra_trips {
            self.appended += 1;
            self.wanted = self.wanted.saturating_add(1);
        }
        if last.heat_up >= self.wanted {
            self.taken_at.get_or_insert(mark.at);
        }
    }

    /// Whether a trip in cool-down says that the heater came on earlier than the app thought: this heat-up has its trip, and the
    /// next heat-up is nearer than the end of this one. A detector does not trip again without heat.
    fn came_on_unseen(&self, last: Stretch, at: TestTime) -> bool {
        let off_ms = match self.rules.cycle {
            Cycle::Auto { off_ms, .. } => *off_ms,
            Cycle::Manual { .. } => self.rules.procedure.off_ms,
        };
        let since = at.saturating_sub(last.from);
        last.stage == Stage::Off
            && self.tripped_in(last.heat_up)
            && off_ms.is_none_or(|off_ms| since > off_ms.saturating_sub(since))
    }

    /// Why the next trip, in `heat-up`, does not count.
    fn not_counted(&self, heat_up: u32) -> Option<NotCounted> {
        if self.tripped_in(heat_up) {
            Some(NotCounted::Repeat)
        } else if heat_up > self.wanted {
            Some(NotCounted::Surplus)
        } else if heat_up <= self.rules.procedure.not_averaged {
            Some(NotCounted::First)
        } else if self.rules.restores == Restores::Watched && !self.restore_seen {
            Some(NotCounted::NoRestore)
        } else {
            None
        }
    }

    fn finish(self, now: TestTime) -> Timeline {
        let phase = self.phase(now);
        let last = self.stretches.last().copied();
        let over =
            |heat_up: u32| last.is_some_and(|l| l.heat_up > heat_up || (l.heat_up == heat_up && l.stage == Stage::Off));
        let most = last.map_or(0, |last| last.heat_up.min(self.wanted));
        let missing = (1..=most).filter(|heat_up| over(*heat_up) && !self.tripped_in(*heat_up)).collect();
        Timeline { stretches: self.stretches, trips: self.trips, wanted: self.wanted, missing, phase, now }
    }

    fn phase(&self, now: TestTime) -> Phase {
        let Some(&last) = self.stretches.last() else { return Phase::HeatUp { heat_up: 1, since: now, until: None } };
        if let Some(since) = self.complete(last) {
            let trip = self.trips.last();
            let await_restore =
                !self.rules.procedure.is_set_point() && trip.is_some_and(|trip| trip.restore_at.is_none());
            return if await_restore { Phase::AwaitRestore { since } } else { Phase::Complete { since } };
        }
        let Stretch { stage, heat_up, from: since, .. } = last;
        let until = self.rules.end_of(last);
        if self.rules.cycle.is_auto() {
            return match stage {
                Stage::HeatUp => Phase::HeatUp { heat_up, since, until },
                Stage::Hold => Phase::Soak { heat_up, since, until },
                Stage::Off => Phase::Cool { heat_up, since, until },
            };
        }
        self.manual(last, now)
    }

    fn manual(&self, last: Stretch, now: TestTime) -> Phase {
        let Stretch { stage, heat_up, from: since, .. } = last;
        let procedure = self.rules.procedure;
        let trip = self.trips.iter().find(|trip| trip.heat_up == heat_up);
        match stage {
            // After the first heat-up the soak warms the whole detector; later the heater goes off at the trip.
            Stage::HeatUp | Stage::Hold if heat_up > 1 && trip.is_some() => {
                Phase::SwitchOff { heat_up, since: trip.map_or(since, |trip| trip.at) }
            }
            Stage::HeatUp => Phase::HeatUp { heat_up, since, until: self.rules.end_of(last) },
            Stage::Hold => {
                let until = procedure.soak_ms.map(|soak_ms| since.saturating_add(soak_ms.max(0)));
                match until.filter(|until| now >= *until) {
                    // A functional test has nothing to cool down for: without a trip it keeps soaking.
                    Some(since) if procedure.is_set_point() => Phase::SwitchOff { heat_up, since },
                    _ => Phase::Soak { heat_up, since, until },
                }
            }
            Stage::Off => {
                let until = procedure.off_ms.map(|off_ms| since.saturating_add(off_ms.max(0)));
                match until.filter(|until| now >= *until) {
                    Some(since) => Phase::SwitchOn { heat_up, since },
                    None => Phase::Cool { heat_up, since, until },
                }
            }
        }
    }
}
