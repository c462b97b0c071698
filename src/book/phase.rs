//! Where heater and detector are in the cycle: a pure function of procedure, heater, marks and now.
//!
//! Nothing here counts ticks. The heater's own clockwork is advanced from mark to mark and from the last mark to now, so the
//! answer is the same after a sleep, a kill or a repaint.

mod lay;

use super::body::Ending;
use super::entry::Hash;
use super::test::Test;
use lay::Rules;
pub use lay::SOAK_SHORT;

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
    pub from: i64,
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
    pub at: i64,
    /// The heat-up it belongs to, from 1.
    pub heat_up: u32,
    /// What the heater did.
    pub stage: Stage,
    /// When that heat-up began, test time in ms.
    pub heat_up_from: i64,
    /// Whether a restore was seen after it, and when.
    pub restore_at: Option<i64>,
    /// Why it does not count; absent when it does.
    pub not_counted: Option<NotCounted>,
}

/// What the test waits for. Times are tested time, ms since heat on; `until` is absent while nobody can say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Phase {
    /// The heater heat-ups.
    HeatUp {
        /// Which heat-up.
        heat_up: u32,
        /// Since when.
        since: i64,
        /// Nominal end. Absent when the heater has none: "at top temperature" has to be marked.
        until: Option<i64>,
    },
    /// The heater holds its top temperature.
    Soak {
        /// Which heat-up.
        heat_up: u32,
        /// Since when.
        since: i64,
        /// When it goes off, or is to be switched off.
        until: Option<i64>,
    },
    /// A hand-switched heater is to be switched off.
    SwitchOff {
        /// Which heat-up.
        heat_up: u32,
        /// Since when it should be off.
        since: i64,
    },
    /// The heater is off and the detector cools.
    Cool {
        /// After which heat-up.
        heat_up: u32,
        /// Since when.
        since: i64,
        /// When it comes on, or is to be switched on.
        until: i64,
    },
    /// A hand-switched heater is to be switched on.
    SwitchOn {
        /// After which heat-up.
        heat_up: u32,
        /// Since when it should be on.
        since: i64,
    },
    /// A full heat-up and soak without a trip: take the heater off, do not heat again.
    NoTrip {
        /// Since when.
        since: i64,
    },
    /// Functional test: tripped, heater off, the restore is watched for.
    AwaitRestore {
        /// Since when.
        since: i64,
    },
    /// Everything the procedure asks for was taken: take the heater off.
    Complete {
        /// Since when.
        since: i64,
    },
    /// Ended.
    Ended {
        /// How.
        how: Ending,
        /// When.
        at: i64,
    },
}

/// A test laid out in time.
#[derive(Clone, Debug, PartialEq)]
pub struct Timeline {
    /// Stages in order; the last one goes on.
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
    pub now: i64,
}

impl Timeline {
    /// Lays a run out up to `now`, ms since heat on.
    pub fn of(test: &Test, now: i64) -> Timeline {
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

    /// Trips that count.
    pub fn counted(&self) -> impl Iterator<Item = &Trip> {
        self.trips.iter().filter(|trip| trip.not_counted.is_none())
    }

    /// The heat-up the test is in.
    pub fn heat_up(&self) -> u32 {
        self.stretches.last().map_or(0, |stretch| stretch.heat_up)
    }

    /// The trip of a heat-up.
    pub fn trip_of(&self, heat_up: u32) -> Option<&Trip> {
        self.trips.iter().find(|trip| trip.heat_up == heat_up && trip.not_counted != Some(NotCounted::Repeat))
    }

    /// Whether the detector operated: one trip seen is a yes for good; a full heat-up and soak without one is a no.
    pub fn operated(&self) -> Option<bool> {
        if !self.trips.is_empty() {
            return Some(true);
        }
        let no = matches!(self.phase, Phase::NoTrip { .. } | Phase::Ended { how: Ending::DidNotOperate, .. });
        no.then_some(false)
    }
}

/// Every change of phase that the heater's clockwork alone will bring, up to `most` of them, in test time.
pub fn ahead(test: &Test, now: i64, most: usize) -> Vec<(i64, Phase)> {
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

/// When a phase ends if nobody marks anything.
pub fn ends(phase: Phase) -> Option<i64> {
    match phase {
        Phase::HeatUp { until, .. } | Phase::Soak { until, .. } => until,
        Phase::Cool { until, .. } => Some(until),
        _ => None,
    }
}
