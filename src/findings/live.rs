//! Where the head's display stands in a run without anybody seeing it.

use super::curve::{AMBIENT_U, NoCurve, heat_curve};
use super::hot::Cooling;
use super::scores::{Score, Share};
use crate::book::log::Book;
use crate::book::phase::{Stage, Stretch, Timeline};
use crate::book::ramp::ramps;
use crate::book::run::{ReadingAt, Run};
use crate::order;
use crate::thermal::{Clockwork, Estimate, Event, HeatCurve, Live, Start};
use crate::trade::head::Cycle;
use crate::trade::seen::Warmth;
use crate::units::{Kelvin, KelvinPerSecond, Seconds};
use std::fmt;

/// Standard uncertainty of the upper temperature of a head that no ramp has shown holding it, K. The project's own figure.
pub const UPPER_U: Kelvin = Kelvin(2.0);

/// Why there is no estimate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoEstimate {
    /// The head has no heat curve.
    NoCurve(NoCurve),
    /// Ramps that make it are not here: the other phone's bundle has them.
    NotHere,
    /// Nobody took the ambient temperature.
    NoAmbient,
    /// The head is off, and its ramps carry no cooling.
    NoCooling,
    /// A reading far from it stands.
    Contradicted,
    /// So many runs with this curve began outside the band.
    Withdrawn(Share),
}

impl fmt::Display for NoEstimate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            NoEstimate::NoCurve(NoCurve::NoRamp) => "no heat curve",
            NoEstimate::NoCurve(NoCurve::Refused(_)) => "no usable curve",
            NoEstimate::NotHere => "curve not here",
            NoEstimate::NoAmbient => "no ambient",
            NoEstimate::NoCooling => "cooling unknown",
            NoEstimate::Contradicted => "a reading contradicts it",
            NoEstimate::Withdrawn(_) => "withdrawn",
        })
    }
}

/// The heat curve frozen into a run.
///
/// # Errors
/// Why there is none.
pub fn curve_of_run(book: &Book, run: &Run) -> Result<HeatCurve, NoEstimate> {
    let head = &run.frozen.head;
    if head.curve.is_empty() {
        return Err(NoEstimate::NoCurve(NoCurve::NoRamp));
    }
    let ramps = ramps(book, &head.curve);
    // A part of them would be another curve than the one that was frozen.
    if ramps.len() < head.curve.len() {
        return Err(NoEstimate::NotHere);
    }
    heat_curve(&ramps, head.setting).map_err(NoEstimate::NoCurve)
}

/// How a head cools by its heat curve; none where its readings carry no cooling.
pub(super) fn cooling_of(curve: &HeatCurve) -> Option<Cooling> {
    let (tau, u_tau) = curve.single_cooling()?;
    Some(Cooling { tau, u_tau })
}

/// The estimate of one run under way: asked at times that go forward, it takes up what was seen until each of them. A reading far
/// from it is left out: it is a slip of the finger, or the head is not the one of the curve, and narrows nothing either way.
#[derive(Clone, Debug, PartialEq)]
pub struct Follower {
    live: Live,
    display: Kelvin,
    delay: Seconds,
    seen: Vec<(i64, Seen)>,
    taken: usize,
}

/// What was seen of the head.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Seen {
    Lamp(Event),
    Read(ReadingAt),
}

impl Follower {
    /// At heat on of a run.
    ///
    /// # Errors
    /// Why there is none.
    pub fn of(run: &Run, timeline: &Timeline, curve: &HeatCurve) -> Result<Follower, NoEstimate> {
        let head = &run.frozen.head;
        let ambient = run.frozen.ambient.ok_or(NoEstimate::NoAmbient)?.celsius();
        let seconds = Seconds::from_millis;
        let clockwork = match head.heating.cycle {
            Cycle::ByItself { hold_first_ms, hold_again_ms, off_ms, .. } => Some(Clockwork {
                hold_first: seconds(hold_first_ms),
                hold_again: seconds(hold_again_ms),
                off: seconds(off_ms),
            }),
            Cycle::ByHand { .. } => None,
        };
        let live = Live::start(
            curve,
            &Start {
                ambient,
                ambient_u: AMBIENT_U,
                cold: run.frozen.head_warmth == Warmth::Cold,
                upper: head.heating.upper(&head.setting),
                upper_u: UPPER_U,
                resolution: head.heating.resolution.map_or(Kelvin(1.0), |step| step.kelvin().abs()),
                clockwork,
            },
        );
        let mut seen: Vec<(i64, Seen)> = Vec::new();
        // A climb that is told by its trip alone began some time before it, by the head's own clockwork.
        let own = clockwork.is_some();
        let by_trip = |stretch: &Stretch| own && timeline.trips.iter().any(|trip| trip.at == stretch.from);
        let marked = |stretch: &&Stretch| stretch.marked && stretch.from > 0 && !by_trip(stretch);
        for stretch in timeline.stretches.iter().filter(marked) {
            let event = match stretch.stage {
                Stage::Climb => Event::HeadOn(stretch.climb),
                Stage::Hold => Event::AtUpper(stretch.climb),
                Stage::Off => Event::HeadOff(stretch.climb),
            };
            seen.push((stretch.from, Seen::Lamp(event)));
        }
        for taken in &run.readings {
            // A reading says what the display showed at its trip, whenever it was dialled; with an undone trip nobody knows when.
            let when = match taken.trip {
                None => Some(taken.at),
                Some(trip) => run.marks.iter().find(|mark| mark.hash == trip).map(|mark| mark.at),
            };
            seen.extend(when.map(|when| (when, Seen::Read(*taken))));
        }
        let seen = order::by_number(seen, |(when, _)| *when);
        let display = head.heating.resolution.map_or(Kelvin(0.0), |step| step.kelvin().abs());
        let delay = seconds(run.frozen.seen_by.delay_ms.max(0));
        Ok(Follower { live, display, delay, seen, taken: 0 })
    }

    /// The display's temperature at `at`, ms since heat on, by everything seen until then. Not before what it was asked last.
    ///
    /// # Errors
    /// Why there is none.
    pub fn at(&mut self, at: i64) -> Result<Estimate, NoEstimate> {
        while let Some((when, seen)) = self.next().filter(|(when, _)| *when <= at) {
            self.take(when, seen);
        }
        self.here(at).ok_or(NoEstimate::NoCooling)
    }

    /// The same by what it has taken up, whatever else was seen.
    pub(super) fn here(&self, at: i64) -> Option<Estimate> {
        self.live.at(Seconds::from_millis(at))
    }

    /// What the display showed when somebody saw it who tapped at `at`, by what has been taken up.
    pub(super) fn seen(&self, at: i64) -> Option<Estimate> {
        self.live.seen(Seconds::from_millis(at))
    }

    /// Whether it is open that it still climbed `ago` before a tap at `at`.
    pub(super) fn may_climb(&self, at: i64, ago: Seconds) -> bool {
        self.live.may_climb(Seconds::from_millis(at), ago)
    }

    /// How fast it climbs to its upper temperature.
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
                Some(_) => Event::AtTrip(taken.reading.celsius(), self.delay),
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
pub fn estimate(run: &Run, timeline: &Timeline, curve: &HeatCurve, at: i64) -> Result<Estimate, NoEstimate> {
    Follower::of(run, timeline, curve)?.at(at)
}
