//! An estimate of the heater's display in a test while it is not read.

use super::profile::{AMBIENT_U, NoProfile};
use super::score::{Score, Share};
use crate::book::test::{ReadingAt, Test};
use crate::book::timeline::{Stage, Stretch, Timeline};
use crate::order;
use crate::thermal::{Clockwork, Estimate, Event, HeaterProfile, Live, Start, Unknown};
use crate::trade::conditions::Warmth;
use crate::trade::heater::Cycle;
use crate::units::{Kelvin, KelvinPerSecond, Seconds, TestTime};
use std::fmt;

/// Standard uncertainty of the top temperature of a heater that no profile run has shown holding it, K. The project's own figure.
pub const TOP_U: Kelvin = Kelvin(2.0);

/// Why there is no estimate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoEstimate {
    /// The heater has no heater profile.
    NoProfile(NoProfile),
    /// Profile runs that make it are not here: the other phone's bundle has them.
    NotHere,
    /// The ambient temperature was not taken.
    NoAmbient,
    /// The heater is off, and its profile runs carry no cooling.
    NoCooling,
    /// The heater cycles on its own and its times are not given.
    NoTimes,
    /// Its safety time-out is over: it may have switched itself off unseen.
    TimedOut,
    /// It went beyond all that the heater can have.
    OutOfRange,
    /// A reading far from it was confirmed, or too many of the test lie outside its band.
    Contradicted,
    /// So many readings with this profile lay outside the band.
    Withdrawn(Share),
}

impl From<Unknown> for NoEstimate {
    fn from(why: Unknown) -> NoEstimate {
        match why {
            Unknown::NoCooling => NoEstimate::NoCooling,
            Unknown::OutOfRange => NoEstimate::OutOfRange,
        }
    }
}

impl fmt::Display for NoEstimate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            NoEstimate::NoProfile(NoProfile::NoProfileRun) => "no heater profile",
            NoEstimate::NoProfile(NoProfile::Refused(_)) => "no usable profile",
            NoEstimate::NotHere => "profile not here",
            NoEstimate::NoAmbient => "no ambient",
            NoEstimate::NoCooling => "cooling unknown",
            NoEstimate::NoTimes => "cycle times missing",
            NoEstimate::TimedOut => "past the safety time-out",
            NoEstimate::OutOfRange => "out of range",
            NoEstimate::Contradicted => "a reading contradicts it",
            NoEstimate::Withdrawn(_) => "withdrawn",
        })
    }
}

/// The estimate of one test under way: asked at times that go forward, it takes up what was seen until each of them. A reading far
/// from it is left out: it is a slip of the finger, or the heater is not the one of the profile, and narrows nothing either way.
#[derive(Clone, Debug, PartialEq)]
pub struct LiveEstimator {
    live: Live,
    display: Kelvin,
    lag: Seconds,
    /// When the heater's safety time-out is over, ms since heat on.
    timeout: TestTime,
    seen: Vec<(TestTime, Seen)>,
    taken: usize,
}

/// What was seen of the heater.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Seen {
    Lamp(Event),
    Read(ReadingAt),
}

impl LiveEstimator {
    /// At heat on of a test.
    ///
    /// # Errors
    /// Why there is none.
    pub fn of(test: &Test, timeline: &Timeline, profile: &HeaterProfile) -> Result<LiveEstimator, NoEstimate> {
        let heater = &test.frozen.heater;
        let ambient = test.frozen.ambient.ok_or(NoEstimate::NoAmbient)?.celsius();
        let seconds = Seconds::from_millis;
        let clockwork = match heater.heating.cycle {
            Cycle::Auto {
                hold_first_ms: Some(hold_first), hold_again_ms: Some(hold_again), off_ms: Some(off), ..
            } => {
                Some(Clockwork { hold_first: seconds(hold_first), hold_again: seconds(hold_again), off: seconds(off) })
            }
            Cycle::Auto { .. } => return Err(NoEstimate::NoTimes),
            Cycle::Manual { .. } => None,
        };
        let live = Live::start(
            profile,
            &Start {
                ambient,
                ambient_u: AMBIENT_U,
                cold: test.frozen.heater_warmth == Warmth::Cold,
                top: heater.heating.top(&heater.setting),
                top_u: TOP_U,
                resolution: heater.heating.resolution.map_or(Kelvin(1.0), |step| step.kelvin().abs()),
                clockwork,
            },
        );
        let mut seen: Vec<(TestTime, Seen)> = Vec::new();
        // A heat-up known by its trip alone began some time before it, by the heater's own clockwork.
        let own = clockwork.is_some();
        let by_trip = |stretch: &Stretch| own && timeline.trips.iter().any(|trip| trip.at == stretch.from);
        let marked = |stretch: &&Stretch| stretch.marked && stretch.from > TestTime::HEAT_ON && !by_trip(stretch);
        for stretch in timeline.stretches.iter().filter(marked) {
            let event = match stretch.stage {
                Stage::HeatUp => Event::HeaterOn(stretch.heat_up),
                Stage::Hold => Event::AtTop(stretch.heat_up),
                Stage::Off => Event::HeaterOff(stretch.heat_up),
            };
            seen.push((stretch.from, Seen::Lamp(event)));
        }
        for taken in &test.readings {
            // A reading says what the display showed at its trip, whenever it was dialled; with an undone trip the time is unknown.
            let when = match taken.trip {
                None => Some(taken.at),
                Some(trip) => test.marks.iter().find(|mark| mark.hash == trip).map(|mark| mark.at),
            };
            seen.extend(when.map(|when| (when, Seen::Read(*taken))));
        }
        let seen = order::by_number(seen, |(when, _)| when.0);
        let display = heater.heating.resolution.map_or(Kelvin(0.0), |step| step.kelvin().abs());
        let lag = seconds(test.frozen.indication.lag_ms.max(0));
        let timeout = heater.heating.timeout_ms.map_or(TestTime::MAX, |timeout| TestTime::HEAT_ON + timeout);
        Ok(LiveEstimator { live, display, lag, timeout, seen, taken: 0 })
    }

    /// The display's temperature at `at`, ms since heat on, by everything seen until then. Not before what it was asked last.
    ///
    /// # Errors
    /// Why there is none.
    pub fn at(&mut self, at: TestTime) -> Result<Estimate, NoEstimate> {
        if at >= self.timeout {
            return Err(NoEstimate::TimedOut);
        }
        while let Some((when, seen)) = self.next().filter(|(when, _)| *when <= at) {
            self.take(when, seen);
        }
        Ok(self.live.at(at.seconds())?)
    }

    /// The same by what it has taken up, whatever else was seen.
    pub(super) fn here(&self, at: TestTime) -> Option<Estimate> {
        if at >= self.timeout {
            return None;
        }
        self.live.at(at.seconds()).ok()
    }

    /// What the display showed when it was read by a person who tapped at `at`, by what has been taken up.
    pub(super) fn seen(&self, at: TestTime) -> Option<Estimate> {
        if at >= self.timeout {
            return None;
        }
        self.live.seen(at.seconds())
    }

    /// Whether it is open that it still heated up `ago` before a tap at `at`.
    pub(super) fn may_heat_up(&self, at: TestTime, ago: Seconds) -> bool {
        self.live.may_heat_up(at.seconds(), ago)
    }

    /// How fast it heats up to its top temperature.
    pub(super) fn top_rate(&self) -> KelvinPerSecond {
        self.live.top_rate()
    }

    /// The same with everything taken up that was seen until `at`, ms since heat on.
    pub(super) fn through(mut self, at: TestTime) -> LiveEstimator {
        while let Some((when, seen)) = self.next().filter(|(when, _)| *when <= at) {
            self.take(when, seen);
        }
        self
    }

    /// Each reading that is still to come against the estimate just before it.
    pub(super) fn scores(mut self) -> Vec<Score> {
        let mut scores = Vec::new();
        while let Some((when, seen)) = self.next() {
            scores.extend(self.take(when, seen));
        }
        scores
    }

    /// What was seen next.
    pub(super) fn next(&self) -> Option<(TestTime, Seen)> {
        self.seen.get(self.taken).copied()
    }

    /// Takes up what was seen next; of a reading, its score against the estimate before it.
    pub(super) fn take(&mut self, when: TestTime, seen: Seen) -> Option<Score> {
        self.taken += 1;
        let (event, score) = match seen {
            Seen::Lamp(event) => (event, None),
            Seen::Read(taken) => {
                let score = self.seen(when).map(|before| Score::of(&taken, before, self.display));
                if score.is_some_and(|score| score.far) {
                    return score;
                }
                let shown = taken.reading.celsius();
                let event = if taken.trip.is_some() { Event::AtTrip(shown, self.lag) } else { Event::Reading(shown) };
                (event, score)
            }
        };
        self.live.take(when.seconds(), event);
        score
    }
}
