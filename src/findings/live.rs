//! Where the heater's display stands in a test without anybody seeing it.

use super::profile::{AMBIENT_U, NoProfile, heater_profile};
use super::scores::{Score, Share};
use crate::book::log::Book;
use crate::book::phase::{Stage, Stretch, Timeline};
use crate::book::profile_run::profile_runs;
use crate::book::test::{ReadingAt, Test};
use crate::order;
use crate::thermal::{Clockwork, Estimate, Event, HeaterProfile, Live, Start, Unknown};
use crate::trade::conditions::Warmth;
use crate::trade::heater::Cycle;
use crate::units::{Kelvin, KelvinPerSecond, Seconds};
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
    /// Nobody took the ambient temperature.
    NoAmbient,
    /// The heater is off, and its profile runs carry no cooling.
    NoCooling,
    /// The heater cycles on its own and nobody gave its times.
    NoTimes,
    /// Its safety time-out is over: it may have switched itself off, seen by nobody.
    TimedOut,
    /// It went beyond all that the heater can have.
    OutOfRange,
    /// A reading far from it stands, or too many of the test lie outside its band.
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

/// The heater profile frozen into a test.
///
/// # Errors
/// Why there is none.
pub fn profile_of_test(book: &Book, test: &Test) -> Result<HeaterProfile, NoEstimate> {
    let heater = &test.frozen.heater;
    if heater.profile.is_empty() {
        return Err(NoEstimate::NoProfile(NoProfile::NoProfileRun));
    }
    let profile_runs = profile_runs(book, &heater.profile);
    // A part of them would be another profile than the one that was frozen.
    if profile_runs.len() < heater.profile.len() {
        return Err(NoEstimate::NotHere);
    }
    heater_profile(&profile_runs, heater.setting).map_err(NoEstimate::NoProfile)
}

/// The estimate of one test under way: asked at times that go forward, it takes up what was seen until each of them. A reading far
/// from it is left out: it is a slip of the finger, or the heater is not the one of the profile, and narrows nothing either way.
#[derive(Clone, Debug, PartialEq)]
pub struct Follower {
    live: Live,
    display: Kelvin,
    lag: Seconds,
    /// When the heater's safety time-out is over, ms since heat on.
    timeout: i64,
    seen: Vec<(i64, Seen)>,
    taken: usize,
}

/// What was seen of the heater.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Seen {
    Lamp(Event),
    Read(ReadingAt),
}

impl Follower {
    /// At heat on of a test.
    ///
    /// # Errors
    /// Why there is none.
    pub fn of(test: &Test, timeline: &Timeline, profile: &HeaterProfile) -> Result<Follower, NoEstimate> {
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
        let mut seen: Vec<(i64, Seen)> = Vec::new();
        // A heat-up that is told by its trip alone began some time before it, by the heater's own clockwork.
        let own = clockwork.is_some();
        let by_trip = |stretch: &Stretch| own && timeline.trips.iter().any(|trip| trip.at == stretch.from);
        let marked = |stretch: &&Stretch| stretch.marked && stretch.from > 0 && !by_trip(stretch);
        for stretch in timeline.stretches.iter().filter(marked) {
            let event = match stretch.stage {
                Stage::HeatUp => Event::HeaterOn(stretch.heat_up),
                Stage::Hold => Event::AtTop(stretch.heat_up),
                Stage::Off => Event::HeaterOff(stretch.heat_up),
            };
            seen.push((stretch.from, Seen::Lamp(event)));
        }
        for taken in &test.readings {
            // A reading says what the display showed at its trip, whenever it was dialled; with an undone trip nobody knows when.
            let when = match taken.trip {
                None => Some(taken.at),
                Some(trip) => test.marks.iter().find(|mark| mark.hash == trip).map(|mark| mark.at),
            };
            seen.extend(when.map(|when| (when, Seen::Read(*taken))));
        }
        let seen = order::by_number(seen, |(when, _)| *when);
        let display = heater.heating.resolution.map_or(Kelvin(0.0), |step| step.kelvin().abs());
        let lag = seconds(test.frozen.indication.lag_ms.max(0));
        let timeout = heater.heating.timeout_ms.unwrap_or(i64::MAX);
        Ok(Follower { live, display, lag, timeout, seen, taken: 0 })
    }

    /// The display's temperature at `at`, ms since heat on, by everything seen until then. Not before what it was asked last.
    ///
    /// # Errors
    /// Why there is none.
    pub fn at(&mut self, at: i64) -> Result<Estimate, NoEstimate> {
        if at >= self.timeout {
            return Err(NoEstimate::TimedOut);
        }
        while let Some((when, seen)) = self.next().filter(|(when, _)| *when <= at) {
            self.take(when, seen);
        }
        Ok(self.live.at(Seconds::from_millis(at))?)
    }

    /// The same by what it has taken up, whatever else was seen.
    pub(super) fn here(&self, at: i64) -> Option<Estimate> {
        if at >= self.timeout {
            return None;
        }
        self.live.at(Seconds::from_millis(at)).ok()
    }

    /// What the display showed when somebody saw it who tapped at `at`, by what has been taken up.
    pub(super) fn seen(&self, at: i64) -> Option<Estimate> {
        if at >= self.timeout {
            return None;
        }
        self.live.seen(Seconds::from_millis(at))
    }

    /// Whether it is open that it still heated up `ago` before a tap at `at`.
    pub(super) fn may_heat_up(&self, at: i64, ago: Seconds) -> bool {
        self.live.may_heat_up(Seconds::from_millis(at), ago)
    }

    /// How fast it heat-ups to its top temperature.
    pub(super) fn top_rate(&self) -> KelvinPerSecond {
        self.live.top_rate()
    }

    /// The same with everything taken up that was seen until `at`, ms since heat on.
    pub(super) fn through(mut self, at: i64) -> Follower {
        while let Some((when, seen)) = self.next().filter(|(when, _)| *when <= at) {
            self.take(when, seen);
        }
        self
    }

    /// Each reading that is still to come against the estimate just before it.
    pub(super) fn scores(mut self) -> Vec<Score> {
        let mut scores = Vec::new();
        while let Some((when, seen)) = self.next() {
            if let Seen::Read(taken) = seen {
                scores.extend(self.score(when, &taken));
            }
            self.take(when, seen);
        }
        scores
    }

    /// What was seen next.
    pub(super) fn next(&self) -> Option<(i64, Seen)> {
        self.seen.get(self.taken).copied()
    }

    /// Takes up what was seen next.
    pub(super) fn take(&mut self, when: i64, seen: Seen) {
        self.taken += 1;
        let event = match seen {
            Seen::Lamp(event) => event,
            Seen::Read(taken) if self.score(when, &taken).is_some_and(|score| score.far) => return,
            Seen::Read(taken) => match taken.trip {
                Some(_) => Event::AtTrip(taken.reading.celsius(), self.lag),
                None => Event::Reading(taken.reading.celsius()),
            },
        };
        self.live.take(Seconds::from_millis(when), event);
    }

    fn score(&self, when: i64, taken: &ReadingAt) -> Option<Score> {
        let before = self.seen(when)?;
        Some(Score::of(taken, before, self.display))
    }
}

/// The display's temperature at `at`, ms since heat on, by everything seen until then.
///
/// # Errors
/// Why there is none.
pub fn estimate(test: &Test, timeline: &Timeline, profile: &HeaterProfile, at: i64) -> Result<Estimate, NoEstimate> {
    Follower::of(test, timeline, profile)?.at(at)
}
