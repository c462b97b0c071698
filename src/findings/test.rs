//! Everything one test says.

use super::first_trip::{FirstTrip, first_trip};
use super::judgement::{AsRead, Judgement, judge};
use super::live::LiveEstimator;
use super::no_alarm::{NotProven, no_alarm};
use super::operating::{NoOperating, Operating, operating};
use super::outcome::{
    AtPanel, Failed, NotExercised, Outcome, Restored, Tripped, at_panel, early, not_exercised, outcome, restored,
};
use super::score::{Score, is_confirmed};
use super::scores::Estimates;
use super::trip::{TripFinding, most_rate, trips};
use crate::book::Id;
use crate::book::body::{Ending, ItemWhat, TestStart};
use crate::book::early::EarlyTrip;
use crate::book::entries::Book;
use crate::book::test::{Judged, Test};
use crate::book::timeline::{NotCounted, Stage, Timeline};
use crate::stats::LimitResult;
use crate::trade::conditions::Restores;
use crate::units::{KelvinPerSecond, TestTime, Wall};
use std::sync::Arc;

/// Why a test asks for attention, the gravest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Flag {
    /// No alarm.
    NoAlarm,
    /// It did not operate, in the judgment of the technician.
    Judged,
    /// It stays in alarm.
    StaysInAlarm,
    /// The panel showed another point.
    WrongPoint,
    /// The panel showed nothing.
    NotAtPanel,
    /// A trip may be another detector's.
    EarlyTrip,
    /// Operation is not proven.
    NotProven,
    /// The limit result is outside.
    Outside,
    /// The limit result is outside, within uncertainty.
    OutsideWithinUncertainty,
    /// The mean lies outside the limits.
    MeanOutside,
    /// Another item was found.
    Item,
    /// It reads unlike the rest of its area.
    Outlier,
    /// It is to be tested once more.
    Retest,
    /// Panel or restore is not verified.
    NotVerified,
}

impl Flag {
    /// The words on screen and in print.
    pub fn words(self) -> &'static str {
        match self {
            Flag::NoAlarm => "No alarm",
            Flag::Judged => "Did not operate (judged)",
            Flag::StaysInAlarm => "Stays in alarm",
            Flag::WrongPoint => "Wrong point at panel",
            Flag::NotAtPanel => "Nothing at panel",
            Flag::EarlyTrip => "Early trip",
            Flag::NotProven => "Operation not proven",
            Flag::Outside => "Outside limits",
            Flag::OutsideWithinUncertainty => "Outside, within uncertainty",
            Flag::MeanOutside => "Mean outside limits",
            Flag::Item => "Item open",
            Flag::Outlier => "Outlier",
            Flag::Retest => "Retest",
            Flag::NotVerified => "Not verified",
        }
    }
}

/// What a test is among those of its position in the visit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// The first one.
    AsFound,
    /// One more with no work between.
    Retest,
    /// After a repair or a replacement.
    AsLeft,
}

impl Role {
    /// Of a test that started so.
    pub fn of(start: &TestStart) -> Role {
        match (start.follows, start.after) {
            (_, Some(_)) => Role::AsLeft,
            (Some(_), None) => Role::Retest,
            (None, None) => Role::AsFound,
        }
    }

    /// The name it has in files.
    pub fn name(self) -> &'static str {
        match self {
            Role::AsFound => "as_found",
            Role::Retest => "retest",
            Role::AsLeft => "as_left",
        }
    }
}

/// Restores seen in the cool-down after a trip.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RestoresSeen {
    /// Whether restores were watched.
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
    /// The position.
    pub position: Id,
    /// What was frozen into it.
    pub frozen: Arc<TestStart>,
    /// What it is among those of its position.
    pub role: Role,
    /// Wall clock of the start, UTC ms.
    pub started_wall: Wall,
    /// How it ended; none while it is in progress.
    pub ended: Option<Ending>,
    /// What the three results come to.
    pub outcome: Outcome,
    /// Whether the detector tripped.
    pub tripped: Tripped,
    /// What the panel showed.
    pub panel: AtPanel,
    /// Whether it restored.
    pub restored: Restored,
    /// A trip that may be another detector's.
    pub early: Option<EarlyTrip>,
    /// The technician's judgment.
    pub technician: Option<Judged>,
    /// What it did not exercise.
    pub not_exercised: Vec<NotExercised>,
    /// Its trips in order.
    pub trips: Vec<TripFinding>,
    /// Where it operates, or why that is unknown.
    pub operating: Result<Operating, NoOperating>,
    /// Judged by the marking frozen at the start.
    pub judged: Judgement,
    /// Judged again by each correction of the marking, in the order of the clocks that people read.
    pub judged_again: Vec<Judgement>,
    /// The first trip against the settled ones, where both are known.
    pub first: Option<FirstTrip>,
    /// Restores.
    pub restores: RestoresSeen,
    /// Readings that were confirmed though they are far from what the heater profile says.
    pub confirmed_far: Vec<Score>,
    /// Items found in it.
    pub items: Vec<ItemWhat>,
    /// The gravest reason for attention.
    pub flag: Option<Flag>,
}

impl TestFindings {
    /// The detector's tag when the test started.
    pub fn tag(&self) -> &str {
        self.frozen.position.place.name()
    }

    /// The judgements that hold: those of the corrections, or the frozen one. All are shown.
    pub fn holding(&self) -> &[Judgement] {
        if self.judged_again.is_empty() { std::slice::from_ref(&self.judged) } else { &self.judged_again }
    }
}

/// What a test says at `now`, ms since heat on.
pub fn of_test(book: &Book, test: &Test, now: TestTime) -> TestFindings {
    findings(book, test, now, &mut Estimates::default())
}

pub(super) fn findings(book: &Book, test: &Test, now: TestTime, estimates: &mut Estimates) -> TestFindings {
    let timeline = Timeline::of(test, now);
    let frozen = &test.frozen;
    let late = frozen.indication.lag_ms > 0 || frozen.indication.lag_u_ms > 0;
    let asked = late || timeline.trips.iter().any(|trip| test.reading_of(trip.mark).is_none());
    let profile = estimates.fit(book, test);
    let profile = profile.as_deref().map_err(|why| *why);
    let confirmed = test.readings.iter().any(|taken| is_confirmed(book, taken.hash));
    let scores = if profile.is_ok() && (asked || confirmed) { estimates.scores(book, test) } else { &[] };
    let confirmed_far = scores.iter().filter(|score| score.contradicts(book)).copied().collect();
    // A reading far from the estimate says that the heater is not the one of the profile: then nothing in the test rests on the profile.
    let contradicted = asked && scores.iter().any(|score| score.far);
    let follower = profile.ok().filter(|_| asked && !contradicted);
    let follower = follower.and_then(|profile| LiveEstimator::of(test, &timeline, profile).ok());
    let trips = trips(test, &timeline, follower.as_ref());
    let mut operating = operating(test, &timeline, &trips);
    if let (Ok(operating), Ok(profile), Some(ambient), false) = (&mut operating, profile, frozen.ambient, contradicted)
    {
        let heat_ups = trips.iter().filter(|trip| trip.counted()).all(|trip| trip.stage == Stage::HeatUp);
        operating.rate =
            heat_ups.then(|| profile.rate_at(operating.mean - ambient.celsius())).filter(|(rate, _)| rate.0 > 0.0);
    }
    let counted = trips.iter().filter(|trip| trip.counted()).count();
    let wanted = frozen.procedure.trips.saturating_sub(frozen.procedure.not_averaged) as usize;
    let rate = operating.as_ref().ok().and_then(|operating| operating.rate).map(|(rate, _)| rate);
    let early = early(test, &trips);
    let unanswered = early.as_ref().is_some_and(|early| !early.confirmed);
    let rate = rate.or_else(|| mean_rate(test));
    let judge_by = |marking| judge(frozen, marking, &operating, (counted, wanted), rate, unanswered);
    let judged = judge_by(&frozen.detector.marking);
    let again = test.corrections.iter().map(|correction| Judgement {
        corrected_by: Some(correction.hash),
        reason: Some(correction.why),
        ..judge_by(&correction.marking)
    });
    let judged_again = again.collect();
    let tripped = match (timeline.trips.first(), test.ended) {
        (Some(trip), _) => Tripped::Yes { first_at: trip.at },
        (None, None) => Tripped::NotYet,
        // A heater that had a problem shows nothing of the detector.
        (None, Some((Ending::HeaterProblem, _))) => Tripped::NotDecided(NotProven::HeaterProblem),
        (None, Some(_)) => match no_alarm(test, &timeline, profile.ok().filter(|_| !contradicted)) {
            Ok(no_alarm) => Tripped::No(no_alarm),
            Err(why) => Tripped::NotDecided(why),
        },
    };
    let (panel, restored) = (at_panel(&trips), restored(test));
    let mut found = TestFindings {
        test: test.id,
        visit: test.visit,
        position: frozen.position.of,
        frozen: Arc::clone(frozen),
        role: Role::of(frozen),
        started_wall: test.started_wall,
        ended: test.ended.map(|(how, _)| how),
        outcome: outcome(test, &tripped, &panel, restored, early.as_ref()),
        not_exercised: not_exercised(test, &panel, restored),
        tripped,
        panel,
        restored,
        early,
        technician: test.judged,
        first: operating.as_ref().ok().and_then(|operating| first_trip(frozen, &trips, operating)),
        restores: restores(frozen.indication.restores, &trips),
        trips,
        operating,
        judged,
        judged_again,
        confirmed_far,
        items: test.items.iter().map(|(_, what)| *what).collect(),
        flag: None,
    };
    found.flag = flag(&found, &timeline);
    found
}

/// The mean rate of the first heat-up from cold, where the top temperature was marked.
fn mean_rate(test: &Test) -> Option<KelvinPerSecond> {
    most_rate(test).map(|most| KelvinPerSecond(most.0 / 2.0))
}

fn restores(watched: Restores, trips: &[TripFinding]) -> RestoresSeen {
    let times = || trips.iter().filter_map(|trip| trip.restore_after);
    let after_ms = times().min().zip(times().max());
    RestoresSeen { watched, seen: times().count(), of: trips.len(), after_ms }
}

fn flag(found: &TestFindings, timeline: &Timeline) -> Option<Flag> {
    // Of several corrections the gravest result counts: which phone made the last one, no clock can say.
    let stated = |wanted| {
        let results = found.holding().iter().filter_map(|judgement| judgement.limit_result.as_ref().ok());
        results.map(|stated| stated.limit_result).any(|result| result == wanted)
    };
    let outside = found.holding().iter().any(|judgement| judgement.as_read == Some(AsRead::Outside));
    let failed = |how| found.outcome == Outcome::Failed(how);
    let no_restore = found.trips.iter().any(|trip| trip.not_counted == Some(NotCounted::NoRestore));
    let short = found.ended == Some(Ending::Done) && no_restore && found.operating.is_err();
    // What was answered or seen well in the test itself is no open item of it.
    let other = |what: &ItemWhat| {
        !matches!(
            what,
            ItemWhat::OperationNotProven | ItemWhat::StaysInAlarm | ItemWhat::WrongPoint | ItemWhat::NotAtPanel
        )
    };
    let reasons = [
        (found.outcome == Outcome::Mistake, None),
        (failed(Failed::NoAlarm), Some(Flag::NoAlarm)),
        (failed(Failed::Judged), Some(Flag::Judged)),
        (failed(Failed::StaysInAlarm), Some(Flag::StaysInAlarm)),
        (failed(Failed::WrongPoint), Some(Flag::WrongPoint)),
        (failed(Failed::NotAtPanel), Some(Flag::NotAtPanel)),
        (found.early.is_some(), Some(Flag::EarlyTrip)),
        (found.outcome == Outcome::NotDecided, Some(Flag::NotProven)),
        (stated(LimitResult::Outside), Some(Flag::Outside)),
        (stated(LimitResult::OutsideWithinUncertainty), Some(Flag::OutsideWithinUncertainty)),
        (outside, Some(Flag::MeanOutside)),
        (found.items.iter().any(other), Some(Flag::Item)),
        (found.ended.is_some() && (!timeline.missing.is_empty() || short), Some(Flag::Retest)),
        (matches!(found.outcome, Outcome::NotVerified { .. }), Some(Flag::NotVerified)),
    ];
    reasons.into_iter().find(|(holds, _)| *holds).and_then(|(_, flag)| flag)
}

impl TestFindings {
    /// Why the absence of a trip decides nothing.
    pub fn not_proven(&self) -> Option<&NotProven> {
        match &self.tripped {
            Tripped::NotDecided(why) => Some(why),
            _ => None,
        }
    }
}
