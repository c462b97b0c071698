//! Where head and detector are in the cycle: a pure function of procedure, head, marks and now.
//!
//! Nothing here counts ticks. The head's own clockwork is advanced from mark to mark and from the last mark to now, so the
//! answer is the same after a sleep, a kill or a repaint.

mod lay;

use super::body::Ending;
use super::entry::Hash;
use super::run::Run;
use lay::Rules;
pub use lay::SOAK_SHORT;

/// What the head does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stage {
    /// Climbing to the upper temperature.
    Climb,
    /// Holding there.
    Hold,
    /// Off.
    Off,
}

/// A stretch of one stage. Times are run time, ms since heat on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stretch {
    /// What the head does.
    pub stage: Stage,
    /// Number of the climb it belongs to, from 1.
    pub climb: u32,
    /// When it began.
    pub from: i64,
    /// Whether a mark says so, rather than the head's nominal times.
    pub marked: bool,
}

/// Why a trip does not count.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotCounted {
    /// Among the first ones that the procedure leaves out.
    First,
    /// The reset before it was watched for and not seen.
    NoReset,
    /// A second trip in the same climb.
    Repeat,
    /// After the trips the procedure asks for.
    Surplus,
}

/// One trip.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Trip {
    /// Its mark.
    pub mark: Hash,
    /// Run time, ms since heat on.
    pub at: i64,
    /// The climb it belongs to, from 1.
    pub climb: u32,
    /// What the head did.
    pub stage: Stage,
    /// When that climb began, run time in ms.
    pub climb_from: i64,
    /// Whether a reset was seen after it, and when.
    pub reset_at: Option<i64>,
    /// Why it does not count; absent when it does.
    pub not_counted: Option<NotCounted>,
}

/// What the run waits for. Times are run time, ms since heat on; `until` is absent while nobody can say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Phase {
    /// The head climbs.
    Climb {
        /// Which climb.
        climb: u32,
        /// Since when.
        since: i64,
        /// Nominal end. Absent when the head has none: "at upper temperature" has to be marked.
        until: Option<i64>,
    },
    /// The head holds its upper temperature.
    Soak {
        /// Which climb.
        climb: u32,
        /// Since when.
        since: i64,
        /// When it goes off, or is to be switched off.
        until: Option<i64>,
    },
    /// A hand-switched head is to be switched off.
    SwitchOff {
        /// Which climb.
        climb: u32,
        /// Since when it should be off.
        since: i64,
    },
    /// The head is off and the detector cools.
    Cool {
        /// After which climb.
        climb: u32,
        /// Since when.
        since: i64,
        /// When it comes on, or is to be switched on.
        until: i64,
    },
    /// A hand-switched head is to be switched on.
    SwitchOn {
        /// After which climb.
        climb: u32,
        /// Since when it should be on.
        since: i64,
    },
    /// A full climb and soak without a trip: take the head off, do not heat again.
    NoTrip {
        /// Since when.
        since: i64,
    },
    /// Response check: tripped, head off, the reset is watched for.
    AwaitReset {
        /// Since when.
        since: i64,
    },
    /// Everything the procedure asks for was taken: take the head off.
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

/// A run laid out in time.
#[derive(Clone, Debug, PartialEq)]
pub struct Timeline {
    /// Stages in order; the last one goes on.
    pub stretches: Vec<Stretch>,
    /// Trips in order.
    pub trips: Vec<Trip>,
    /// Climbs that a trip is wanted from: the procedure's and the appended ones.
    pub wanted: u32,
    /// Later climbs that ended without a trip.
    pub missing: Vec<u32>,
    /// What the run waits for.
    pub phase: Phase,
    /// Run time this was laid out for, ms.
    pub now: i64,
}

impl Timeline {
    /// Lays a run out up to `now`, ms since heat on.
    pub fn of(run: &Run, now: i64) -> Timeline {
        let frozen = &run.frozen;
        let rules =
            Rules { cycle: &frozen.head.heating.cycle, procedure: &frozen.procedure, resets: frozen.seen_by.resets };
        let end = run.ended.map(|(_, at)| at);
        let mut timeline = rules.lay_out(&run.marks, end.map_or(now, |end| end.min(now)));
        if let Some((how, at)) = run.ended {
            timeline.phase = Phase::Ended { how, at };
        }
        timeline.now = now;
        timeline
    }

    /// Trips that count.
    pub fn counted(&self) -> impl Iterator<Item = &Trip> {
        self.trips.iter().filter(|trip| trip.not_counted.is_none())
    }

    /// The climb the run is in.
    pub fn climb(&self) -> u32 {
        self.stretches.last().map_or(0, |stretch| stretch.climb)
    }

    /// The trip of a climb.
    pub fn trip_of(&self, climb: u32) -> Option<&Trip> {
        self.trips.iter().find(|trip| trip.climb == climb && trip.not_counted != Some(NotCounted::Repeat))
    }

    /// Whether the detector operated: one trip seen is a yes for good; a full climb and soak without one is a no.
    pub fn operated(&self) -> Option<bool> {
        if !self.trips.is_empty() {
            return Some(true);
        }
        let no = matches!(self.phase, Phase::NoTrip { .. } | Phase::Ended { how: Ending::DidNotOperate, .. });
        no.then_some(false)
    }
}

/// Every change of phase that the head's clockwork alone will bring, up to `most` of them, in run time.
pub fn ahead(run: &Run, now: i64, most: usize) -> Vec<(i64, Phase)> {
    let mut changes = Vec::new();
    let mut at = now;
    let mut phase = Timeline::of(run, now).phase;
    while changes.len() < most {
        let Some(until) = ends(phase).filter(|until| *until > at) else { return changes };
        at = until;
        phase = Timeline::of(run, at).phase;
        changes.push((at, phase));
    }
    changes
}

/// When a phase ends if nobody marks anything.
pub fn ends(phase: Phase) -> Option<i64> {
    match phase {
        Phase::Climb { until, .. } | Phase::Soak { until, .. } => until,
        Phase::Cool { until, .. } => Some(until),
        _ => None,
    }
}
