//! Everything one test says.

use super::first::{Earlier, FirstTrip, first_trip};
use super::hot::{HotUnknown, HotUntil, hot};
use super::judgement::{AsRead, Judgement, judge};
use super::live::{Follower, NoEstimate, cooling_of, profile_of_test};
use super::operating::{NoOperating, Operating, operating};
use super::trip::{TripFinding, trips};
use crate::book::Id;
use crate::book::body::{Ending, Fault, Point, Started};
use crate::book::log::Book;
use crate::book::phase::{NotCounted, Phase, Stage, Timeline};
use crate::book::test::Test;
use crate::stats::LimitResult;
use crate::thermal::HeaterProfile;
use crate::trade::conditions::Restores;
use crate::units::Celsius;
use std::fmt;
use std::sync::Arc;

/// What the code asks of a detector.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Operated {
    /// A trip was seen: a yes for good.
    Yes {
        /// Test time of the first one, ms since heat on.
        first_at: i64,
    },
    /// A full heat-up and soak without a trip.
    No {
        /// The heater's top temperature.
        up_to: Celsius,
    },
    /// The test is not over.
    NotYet,
    /// The test ended before a trip and before a full heat-up and soak were over.
    NotDecided {
        /// How it ended.
        ending: Ending,
    },
}

impl fmt::Display for Operated {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Operated::Yes { .. } => "yes: a trip was seen",
            Operated::No { .. } => "no: no trip in a full heat-up and soak up to the heater's top temperature",
            Operated::NotYet => "not decided: the test is not over",
            Operated::NotDecided { .. } => "not decided: the test ended before a trip or a full soak: retest",
        })
    }
}

/// Why a test asks for attention, the gravest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Flag {
    /// It did not operate.
    DidNotOperate,
    /// It stays in alarm with the heater off.
    StaysInAlarm,
    /// The limit result is fail.
    Fail,
    /// The limit result is conditional fail.
    OutsideWithinUncertainty,
    /// The mean lies outside the limits.
    OutsideAsRead,
    /// The panel showed the wrong point.
    WrongPoint,
    /// Another fault was noted.
    Faulty,
    /// It stands apart from its neighbours.
    Outlier,
    /// It is to be tested once more.
    Retest,
}

impl Flag {
    /// The words on screen and in print.
    pub fn words(self) -> &'static str {
        match self {
            Flag::DidNotOperate => "Did not operate",
            Flag::StaysInAlarm => "Stays in alarm",
            Flag::Fail => "Fail",
            Flag::OutsideWithinUncertainty => "Conditional fail",
            Flag::OutsideAsRead => "Outside as read",
            Flag::WrongPoint => "Wrong point at the panel",
            Flag::Faulty => "Fault found",
            Flag::Outlier => "Outlier",
            Flag::Retest => "Retest",
        }
    }
}

/// Restores seen in the cool-down after a trip.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RestoresSeen {
    /// Whether anybody looked.
    pub watched: Restores,
    /// After how many trips one was seen.
    pub seen: usize,
    /// Trips of the test.
    pub of: usize,
    /// Shortest and longest time from trip to restore, ms.
    pub after_ms: Option<(i64, i64)>,
}

/// What one test says.
#[derive(Clone, Debug, PartialEq)]
pub struct TestFindings {
    /// The test.
    pub test: Id,
    /// Its visit.
    pub visit: Id,
    /// The detector.
    pub detector: Id,
    /// What was frozen into it.
    pub frozen: Arc<Started>,
    /// The test it follows, which makes it as left; none makes it as found.
    pub follows: Option<Id>,
    /// Wall clock of the start, UTC ms.
    pub started_wall: i64,
    /// How it ended; none while it goes on.
    pub ended: Option<Ending>,
    /// Whether the detector operated.
    pub operated: Operated,
    /// Its trips in order.
    pub trips: Vec<TripFinding>,
    /// Where it operates, or why nobody can say.
    pub operating: Result<Operating, NoOperating>,
    /// Judged by the marking frozen at the start.
    pub judged: Judgement,
    /// Judged again by each correction of the marking, in the order of the clocks that people read.
    pub judged_again: Vec<Judgement>,
    /// The first trip against the settled ones, where both are known.
    pub first: Option<FirstTrip>,
    /// How long it stays hot after the end, or why nobody can say.
    pub hot: Result<HotUntil, HotUnknown>,
    /// Restores.
    pub restores: RestoresSeen,
    /// Faults noted in it.
    pub faults: Vec<Fault>,
    /// The gravest reason for attention.
    pub flag: Option<Flag>,
}

impl TestFindings {
    /// The detector's tag when the test started.
    pub fn tag(&self) -> &str {
        &self.frozen.detector.place.tag
    }

    /// The judgements that hold: those of the corrections, or the frozen one. All are shown.
    pub fn holding(&self) -> &[Judgement] {
        if self.judged_again.is_empty() { std::slice::from_ref(&self.judged) } else { &self.judged_again }
    }
}

/// What a test says at `now`, ms since heat on.
pub fn of_test(book: &Book, test: &Test, now: i64) -> TestFindings {
    findings(test, now, profile_of_test(book, test).as_ref().map_err(|why| *why))
}

pub(super) fn findings(test: &Test, now: i64, profile: Result<&HeaterProfile, NoEstimate>) -> TestFindings {
    let timeline = Timeline::of(test, now);
    let frozen = &test.frozen;
    let late = frozen.indication.lag_ms > 0 || frozen.indication.lag_u_ms > 0;
    let asked = late || timeline.trips.iter().any(|trip| test.reading_of(trip.mark).is_none());
    let follower = profile.ok().filter(|_| asked).and_then(|profile| Follower::of(test, &timeline, profile).ok());
    // A reading far from the estimate says that the heater is not the one of the profile: then nothing in the test rests on the profile.
    let contradicted =
        follower.as_ref().is_some_and(|follower| follower.clone().scores().iter().any(|score| score.far));
    let follower = follower.filter(|_| !contradicted);
    let trips = trips(test, &timeline, follower.as_ref());
    let mut operating = operating(test, &timeline, &trips);
    if let (Ok(operating), Ok(profile), Some(ambient), false) = (&mut operating, profile, frozen.ambient, contradicted)
    {
        let heat_ups = trips.iter().filter(|trip| trip.counted()).all(|trip| trip.stage == Stage::HeatUp);
        operating.rate =
            heat_ups.then(|| profile.rate_at(operating.mean - ambient.celsius())).filter(|(rate, _)| rate.0 > 0.0);
    }
    let counted = trips.iter().filter(|trip| trip.counted()).count();
    let wanted = frozen.procedure.trips.saturating_sub(frozen.procedure.uncounted) as usize;
    let judge_by = |marking| judge(frozen, marking, &operating, (counted, wanted));
    let judged = judge_by(&frozen.detector.marking);
    let again = test.corrections.iter().map(|correction| Judgement {
        corrected_by: Some(correction.hash),
        reason: Some(correction.reason),
        ..judge_by(&correction.marking)
    });
    let judged_again = again.collect();
    let mut found = TestFindings {
        test: test.id,
        visit: test.visit,
        detector: frozen.detector.of,
        frozen: Arc::clone(frozen),
        follows: frozen.follows,
        started_wall: test.started_wall,
        ended: test.ended.map(|(how, _)| how),
        operated: operated(test, &timeline),
        first: operating.as_ref().ok().and_then(|operating| first_trip(frozen, &trips, operating)),
        hot: if test.ended.is_some() {
            hot(frozen, profile.ok().and_then(cooling_of))
        } else {
            Err(HotUnknown::Running)
        },
        restores: restores(frozen.indication.restores, &trips),
        trips,
        operating,
        judged,
        judged_again,
        faults: test.faults.iter().map(|(_, fault)| *fault).collect(),
        flag: None,
    };
    found.flag = flag(&found, &timeline);
    found
}

fn operated(test: &Test, timeline: &Timeline) -> Operated {
    let up_to = test.frozen.heater.heating.top(&test.frozen.heater.setting);
    match (timeline.operated(), test.ended) {
        (Some(true), _) => Operated::Yes { first_at: timeline.trips.first().map_or(0, |trip| trip.at) },
        (Some(false), _) => Operated::No { up_to },
        (None, None) => Operated::NotYet,
        (None, Some((ending, _))) => Operated::NotDecided { ending },
    }
}

fn restores(watched: Restores, trips: &[TripFinding]) -> RestoresSeen {
    let times = || trips.iter().filter_map(|trip| trip.restore_after);
    let after_ms = times().min().zip(times().max());
    RestoresSeen { watched, seen: times().count(), of: trips.len(), after_ms }
}

fn flag(found: &TestFindings, timeline: &Timeline) -> Option<Flag> {
    // Of several corrections the gravest verdict counts: which phone made the last one, no clock can say.
    let stated = |wanted| {
        let statements = found.holding().iter().filter_map(|judgement| judgement.limit_result.as_ref().ok());
        statements.map(|stated| stated.limit_result).any(|limit_result| limit_result == wanted)
    };
    let outside = found.holding().iter().any(|judgement| judgement.as_read == Some(AsRead::Outside));
    let faulty = |fault| found.faults.contains(&fault);
    let wrong = found.trips.iter().any(|trip| trip.panel.as_ref().is_some_and(|(point, _)| *point == Point::Wrong));
    let no_restore = found.trips.iter().any(|trip| trip.not_counted == Some(NotCounted::NoRestore));
    let undecided = matches!(found.operated, Operated::NotDecided { .. }) || !timeline.missing.is_empty();
    let short = found.ended == Some(Ending::Done) && no_restore && found.operating.is_err();
    let late = found.first.as_ref().is_some_and(|first| first.earlier == Earlier::NotEarlier);
    let over = !matches!(timeline.phase, Phase::HeatUp { .. } | Phase::Soak { .. } | Phase::Cool { .. });
    let reasons = [
        (matches!(found.operated, Operated::No { .. }) || faulty(Fault::DidNotOperate), Flag::DidNotOperate),
        (found.ended == Some(Ending::StaysInAlarm) || faulty(Fault::StaysInAlarm), Flag::StaysInAlarm),
        (stated(LimitResult::Outside), Flag::Fail),
        (stated(LimitResult::OutsideWithinUncertainty), Flag::OutsideWithinUncertainty),
        (outside, Flag::OutsideAsRead),
        (wrong || faulty(Fault::WrongPoint), Flag::WrongPoint),
        (!found.faults.is_empty(), Flag::Faulty),
        (over && (undecided || short || late), Flag::Retest),
    ];
    reasons.into_iter().find(|(holds, _)| *holds).map(|(_, flag)| flag)
}
