//! Everything one run says.

use super::first::{Earlier, FirstTrip, first_trip};
use super::hot::{HotUnknown, HotUntil, hot};
use super::judgement::{AsRead, Judgement, judge};
use super::live::{Follower, NoEstimate, cooling_of, curve_of_run};
use super::operating::{NoOperating, Operating, operating};
use super::trip::{TripFinding, trips};
use crate::book::Id;
use crate::book::body::{Ending, Fault, Point, Started};
use crate::book::log::Book;
use crate::book::phase::{NotCounted, Phase, Stage, Timeline};
use crate::book::run::Run;
use crate::stats::Statement;
use crate::thermal::HeatCurve;
use crate::trade::seen::Resets;
use crate::units::Celsius;
use std::fmt;
use std::sync::Arc;

/// What the code asks of a detector.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Operated {
    /// A trip was seen: a yes for good.
    Yes {
        /// Run time of the first one, ms since heat on.
        first_at: i64,
    },
    /// A full climb and soak without a trip.
    No {
        /// The head's upper temperature.
        up_to: Celsius,
    },
    /// The run is not over.
    NotYet,
    /// The run ended before a trip and before a full climb and soak were over.
    NotDecided {
        /// How it ended.
        ending: Ending,
    },
}

impl fmt::Display for Operated {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Operated::Yes { .. } => "yes: a trip was seen",
            Operated::No { .. } => "no: no trip in a full climb and soak up to the head's upper temperature",
            Operated::NotYet => "not decided: the run is not over",
            Operated::NotDecided { .. } => "not decided: the run ended before a trip or a full soak: look again",
        })
    }
}

/// Why a run asks for attention, the gravest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Odd {
    /// It did not operate.
    DidNotOperate,
    /// It stays in alarm with the head off.
    StaysInAlarm,
    /// The statement is fail.
    Fail,
    /// The statement is conditional fail.
    ConditionalFail,
    /// The mean lies outside the limits.
    OutsideAsRead,
    /// The panel showed the wrong point.
    WrongPoint,
    /// Another fault was noted.
    Faulty,
    /// It stands apart from its neighbours.
    OddOneOut,
    /// It is to be run once more.
    LookAgain,
}

impl Odd {
    /// The words on screen and in print.
    pub fn words(self) -> &'static str {
        match self {
            Odd::DidNotOperate => "Did not operate",
            Odd::StaysInAlarm => "Stays in alarm",
            Odd::Fail => "Fail",
            Odd::ConditionalFail => "Conditional fail",
            Odd::OutsideAsRead => "Outside as read",
            Odd::WrongPoint => "Wrong point at the panel",
            Odd::Faulty => "Fault found",
            Odd::OddOneOut => "Odd one out",
            Odd::LookAgain => "Look again",
        }
    }
}

/// Resets seen in the heat-off after a trip.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ResetsSeen {
    /// Whether anybody looked.
    pub watched: Resets,
    /// After how many trips one was seen.
    pub seen: usize,
    /// Trips of the run.
    pub of: usize,
    /// Shortest and longest time from trip to reset, ms.
    pub after_ms: Option<(i64, i64)>,
}

/// What one run says.
#[derive(Clone, Debug, PartialEq)]
pub struct RunFindings {
    /// The run.
    pub run: Id,
    /// Its round.
    pub round: Id,
    /// The detector.
    pub detector: Id,
    /// What was frozen into it.
    pub frozen: Arc<Started>,
    /// The run it follows, which makes it as left; none makes it as found.
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
    /// Resets.
    pub resets: ResetsSeen,
    /// Faults noted in it.
    pub faults: Vec<Fault>,
    /// The gravest reason for attention.
    pub odd: Option<Odd>,
}

impl RunFindings {
    /// The detector's tag when the run started.
    pub fn tag(&self) -> &str {
        &self.frozen.detector.place.tag
    }

    /// The judgements that hold: those of the corrections, or the frozen one. All are shown.
    pub fn holding(&self) -> &[Judgement] {
        if self.judged_again.is_empty() { std::slice::from_ref(&self.judged) } else { &self.judged_again }
    }
}

/// What a run says at `now`, ms since heat on.
pub fn of_run(book: &Book, run: &Run, now: i64) -> RunFindings {
    findings(run, now, curve_of_run(book, run).as_ref().map_err(|why| *why))
}

pub(super) fn findings(run: &Run, now: i64, curve: Result<&HeatCurve, NoEstimate>) -> RunFindings {
    let timeline = Timeline::of(run, now);
    let frozen = &run.frozen;
    let late = frozen.seen_by.delay_ms > 0 || frozen.seen_by.delay_u_ms > 0;
    let asked = late || timeline.trips.iter().any(|trip| run.reading_of(trip.mark).is_none());
    let follower = curve.ok().filter(|_| asked).and_then(|curve| Follower::of(run, &timeline, curve).ok());
    // A reading far from the estimate says that the head is not the one of the curve: then nothing in the run rests on the curve.
    let contradicted =
        follower.as_ref().is_some_and(|follower| follower.clone().scores().iter().any(|score| score.far));
    let follower = follower.filter(|_| !contradicted);
    let trips = trips(run, &timeline, follower.as_ref());
    let mut operating = operating(run, &timeline, &trips);
    if let (Ok(operating), Ok(curve), Some(ambient), false) = (&mut operating, curve, frozen.ambient, contradicted) {
        let climbs = trips.iter().filter(|trip| trip.counted()).all(|trip| trip.stage == Stage::Climb);
        operating.rate =
            climbs.then(|| curve.rate_at(operating.mean - ambient.celsius())).filter(|(rate, _)| rate.0 > 0.0);
    }
    let counted = trips.iter().filter(|trip| trip.counted()).count();
    let wanted = frozen.procedure.trips.saturating_sub(frozen.procedure.uncounted) as usize;
    let judge_by = |marking| judge(frozen, marking, &operating, (counted, wanted));
    let judged = judge_by(&frozen.detector.marking);
    let again = run.corrections.iter().map(|correction| Judgement {
        corrected_by: Some(correction.hash),
        reason: Some(correction.reason),
        ..judge_by(&correction.marking)
    });
    let judged_again = again.collect();
    let mut found = RunFindings {
        run: run.id,
        round: run.round,
        detector: frozen.detector.of,
        frozen: Arc::clone(frozen),
        follows: frozen.follows,
        started_wall: run.started_wall,
        ended: run.ended.map(|(how, _)| how),
        operated: operated(run, &timeline),
        first: operating.as_ref().ok().and_then(|operating| first_trip(frozen, &trips, operating)),
        hot: if run.ended.is_some() { hot(frozen, curve.ok().and_then(cooling_of)) } else { Err(HotUnknown::Running) },
        resets: resets(frozen.seen_by.resets, &trips),
        trips,
        operating,
        judged,
        judged_again,
        faults: run.faults.iter().map(|(_, fault)| *fault).collect(),
        odd: None,
    };
    found.odd = odd(&found, &timeline);
    found
}

fn operated(run: &Run, timeline: &Timeline) -> Operated {
    let up_to = run.frozen.head.heating.upper(&run.frozen.head.setting);
    match (timeline.operated(), run.ended) {
        (Some(true), _) => Operated::Yes { first_at: timeline.trips.first().map_or(0, |trip| trip.at) },
        (Some(false), _) => Operated::No { up_to },
        (None, None) => Operated::NotYet,
        (None, Some((ending, _))) => Operated::NotDecided { ending },
    }
}

fn resets(watched: Resets, trips: &[TripFinding]) -> ResetsSeen {
    let times = || trips.iter().filter_map(|trip| trip.reset_after);
    let after_ms = times().min().zip(times().max());
    ResetsSeen { watched, seen: times().count(), of: trips.len(), after_ms }
}

fn odd(found: &RunFindings, timeline: &Timeline) -> Option<Odd> {
    // Of several corrections the gravest verdict counts: which phone made the last one, no clock can say.
    let stated = |wanted| {
        let statements = found.holding().iter().filter_map(|judgement| judgement.statement.as_ref().ok());
        statements.map(|stated| stated.statement).any(|statement| statement == wanted)
    };
    let outside = found.holding().iter().any(|judgement| judgement.as_read == Some(AsRead::Outside));
    let faulty = |fault| found.faults.contains(&fault);
    let wrong = found.trips.iter().any(|trip| trip.panel.as_ref().is_some_and(|(point, _)| *point == Point::Wrong));
    let no_reset = found.trips.iter().any(|trip| trip.not_counted == Some(NotCounted::NoReset));
    let undecided = matches!(found.operated, Operated::NotDecided { .. }) || !timeline.missing.is_empty();
    let short = found.ended == Some(Ending::Done) && no_reset && found.operating.is_err();
    let late = found.first.as_ref().is_some_and(|first| first.earlier == Earlier::NotEarlier);
    let over = !matches!(timeline.phase, Phase::Climb { .. } | Phase::Soak { .. } | Phase::Cool { .. });
    let reasons = [
        (matches!(found.operated, Operated::No { .. }) || faulty(Fault::DidNotOperate), Odd::DidNotOperate),
        (found.ended == Some(Ending::StaysInAlarm) || faulty(Fault::StaysInAlarm), Odd::StaysInAlarm),
        (stated(Statement::Fail), Odd::Fail),
        (stated(Statement::ConditionalFail), Odd::ConditionalFail),
        (outside, Odd::OutsideAsRead),
        (wrong || faulty(Fault::WrongPoint), Odd::WrongPoint),
        (!found.faults.is_empty(), Odd::Faulty),
        (over && (undecided || short || late), Odd::LookAgain),
    ];
    reasons.into_iter().find(|(holds, _)| *holds).map(|(_, odd)| odd)
}
