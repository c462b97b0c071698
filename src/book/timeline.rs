//! Where heater and detector are in the cycle: a pure function of procedure, heater, marks and now.
//!
//! Nothing here counts ticks. The heater's own clockwork is advanced from mark to mark and from the last mark to now, so the
//! answer is the same after a sleep, a kill or a repaint.

mod builder;

use super::body::{Ending, What};
use super::entry::Hash;
use super::test::Test;
use crate::trade::heater::Cycle;
use crate::units::TestTime;
use builder::Rules;

/// What the heater does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stage {
    /// Heating up to the top temperature.
    HeatUp,
    /// Holding there.
    Hold,
    /// Off.
    Off,
}

/// A stretch of one stage. Times are tested time, ms since heat on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stretch {
    /// What the heater does.
    pub stage: Stage,
    /// Number of the heat-up it belongs to, from 1.
    pub heat_up: u32,
    /// When it began.
    pub from: TestTime,
    /// Whether a mark says so, rather than the heater's nominal times.
    pub marked: bool,
}

/// Why a trip does not count.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotCounted {
    /// Among the first ones that the procedure leaves out.
    First,
    /// The restore before it was watched for and not seen.
    NoRestore,
    /// A second trip in the same heat-up.
    Repeat,
    /// After the trips the procedure asks for.
    Surplus,
}

/// One trip.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Trip {
    /// Its mark.
    pub mark: Hash,
    /// Test time, ms since heat on.
    pub at: TestTime,
    /// The heat-up it belongs to, from 1.
    pub heat_up: u32,
    /// What the heater did.
    pub stage: Stage,
    /// When that heat-up began, test time in ms.
    pub heat_up_from: TestTime,
    /// Whether a restore was seen after it, and when.
    pub restore_at: Option<TestTime>,
    /// Why it does not count; absent when it does.
    pub not_counted: Option<NotCounted>,
}

/// What the test waits for. Times are tested time, ms since heat on; `until` is absent while it is unknown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Phase {
    /// The heater heats up.
    HeatUp {
        /// Which heat-up.
        heat_up: u32,
        /// Since when.
        since: TestTime,
        /// Nominal end. Absent when the heater has none: "at top temperature" has to be marked.
        until: Option<TestTime>,
    },
    /// The heater holds its top temperature.
    Soak {
        /// Which heat-up.
        heat_up: u32,
        /// Since when.
        since: TestTime,
        /// When it goes off, or is to be switched off.
        until: Option<TestTime>,
    },
    /// A hand-switched heater is to be switched off.
    SwitchOff {
        /// Which heat-up.
        heat_up: u32,
        /// Since when it should be off.
        since: TestTime,
    },
    /// The heater is off and the detector cools.
    Cool {
        /// After which heat-up.
        heat_up: u32,
        /// Since when.
        since: TestTime,
        /// When it comes on, or is to be switched on; absent without a given time.
        until: Option<TestTime>,
    },
    /// A hand-switched heater is to be switched on.
    SwitchOn {
        /// After which heat-up.
        heat_up: u32,
        /// Since when it should be on.
        since: TestTime,
    },
    /// Functional test: tripped, heater off, the restore is watched for.
    AwaitRestore {
        /// Since when.
        since: TestTime,
    },
    /// Everything the procedure asks for was taken: take the heater off.
    Complete {
        /// Since when.
        since: TestTime,
    },
    /// Ended.
    Ended {
        /// How.
        how: Ending,
        /// When.
        at: TestTime,
    },
}

/// A test laid out in time.
#[derive(Clone, Debug, PartialEq)]
pub struct Timeline {
    /// Stages in order; the last one is open-ended.
    pub stretches: Vec<Stretch>,
    /// Trips in order.
    pub trips: Vec<Trip>,
    /// Heat-ups that a trip is wanted from: the procedure's and the appended ones.
    pub wanted: u32,
    /// Later heat-ups that ended without a trip.
    pub missing: Vec<u32>,
    /// What the test waits for.
    pub phase: Phase,
    /// Test time this was laid out for, ms.
    pub now: TestTime,
}

impl Timeline {
    /// Lays a run out up to `now`, ms since heat on.
    pub fn of(test: &Test, now: TestTime) -> Timeline {
        let frozen = &test.frozen;
        let rules = Rules {
            cycle: &frozen.heater.heating.cycle,
            procedure: &frozen.procedure,
            restores: frozen.indication.restores,
        };
        let end = test.ended.map(|(_, at)| at);
        let mut timeline = rules.lay_out(&test.marks, end.map_or(now, |end| end.min(now)));
        if let Some((how, at)) = test.ended {
            timeline.phase = Phase::Ended { how, at };
        }
        timeline.now = now;
        timeline
    }

    /// The heat-up the test is in.
    pub fn heat_up(&self) -> u32 {
        self.stretches.last().map_or(0, |stretch| stretch.heat_up)
    }

    /// The trip of a heat-up.
    pub fn trip_of(&self, heat_up: u32) -> Option<&Trip> {
        self.trips.iter().find(|trip| trip.heat_up == heat_up && trip.not_counted != Some(NotCounted::Repeat))
    }
}

/// A stretch of time in which the heater is known to have been at its top temperature on the detector, ms since heat on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Soak {
    /// When the heat-up before it began.
    pub heat_up_from: TestTime,
    /// Since when: it was seen.
    pub from: TestTime,
    /// Until when.
    pub until: TestTime,
}

impl Timeline {
    /// The soaks up to now. One begins where the top temperature was seen, by a mark or at one of `seen` (readings near enough to
    /// it), and lasts until the heater went off or was lowered. What its nominal times say begins none; where it shuts off on its
    /// own and has no given hold, a hold lasts only as long as it was seen.
    pub fn soaks(&self, test: &Test, seen: &[TestTime]) -> Vec<Soak> {
        let lowered = test.marks.iter().find(|mark| mark.what == What::Lowered).map_or(TestTime::MAX, |mark| mark.at);
        let end = test.ended.map_or(self.now, |(_, at)| at.min(self.now)).min(lowered);
        let marks = || test.marks.iter().filter(|mark| mark.what == What::AtTop).map(|mark| mark.at);
        let heater_on = || test.marks.iter().filter(|mark| mark.what == What::HeaterOn).map(|mark| mark.at);
        let timeout = test.frozen.heater.heating.timeout_ms;
        let mut soaks = Vec::new();
        for (index, stretch) in self.stretches.iter().enumerate() {
            if stretch.stage == Stage::Off || stretch.from >= end {
                continue;
            }
            let next = self.stretches.get(index + 1);
            let until = next.map_or(end, |next| next.from.min(end));
            // A heat-up and the hold after it are one stretch of heat.
            if stretch.stage == Stage::HeatUp && next.is_some_and(|next| next.stage == Stage::Hold) {
                continue;
            }
            let begun = match index.checked_sub(1).and_then(|before| self.stretches.get(before)) {
                Some(before) if stretch.stage == Stage::Hold && before.stage == Stage::HeatUp => before.from,
                _ => stretch.from,
            };
            // Past its safety time-out it may have switched itself off unseen.
            let until = timeout.map_or(until, |timeout| until.min(begun.saturating_add(timeout)));
            let here = |at: &TestTime| (begun..=until).contains(at);
            let times = || marks().chain(seen.iter().copied()).filter(here);
            let (Some(from), Some(last)) = (times().min(), times().max()) else { continue };
            let unseen_end = next.is_none() && test.frozen.heater.heating.cycle.is_auto() && {
                let hold = |first: Option<i64>, again: Option<i64>| if stretch.heat_up <= 1 { first } else { again };
                match test.frozen.heater.heating.cycle {
                    Cycle::Auto { hold_first_ms, hold_again_ms, .. } => hold(hold_first_ms, hold_again_ms).is_none(),
                    Cycle::Manual { .. } => false,
                }
            };
            // Heat that comes on while heat was on: it had gone off before, at an unknown time.
            let unseen_off = next.is_some_and(|next| next.stage == Stage::HeatUp);
            let heat_up_from = heater_on().filter(|on| (begun..=from).contains(on)).max().unwrap_or(begun);
            soaks.push(Soak { heat_up_from, from, until: if unseen_end || unseen_off { last } else { until } });
        }
        soaks
    }
}

/// Every change of phase that the heater's clockwork alone will bring, up to `most` of them, in test time.
pub fn ahead(test: &Test, now: TestTime, most: usize) -> Vec<(TestTime, Phase)> {
    let mut changes = Vec::new();
    let mut at = now;
    let mut phase = Timeline::of(test, now).phase;
    while changes.len() < most {
        let Some(until) = ends(phase).filter(|until| *until > at) else { return changes };
        at = until;
        phase = Timeline::of(test, at).phase;
        changes.push((at, phase));
    }
    changes
}

/// When a phase ends without further marks.
pub fn ends(phase: Phase) -> Option<TestTime> {
    match phase {
        Phase::HeatUp { until, .. } | Phase::Soak { until, .. } | Phase::Cool { until, .. } => until,
        _ => None,
    }
}
