//! One test in full: everything it says, what that rests on, and what to know about it.

mod conditions;
mod notes;
pub mod page;

use super::figure::{self, Shown, percent, shown};
use super::said::{self, Said};
use super::{Sign, lower, outcome_sign, role, state};
use crate::book::Id;
use crate::book::body::Ending;
use crate::book::entries::Book;
use crate::book::entry::Hash;
use crate::book::test::Test;
use crate::book::timeline::Timeline;
use crate::book::visit::Visit;
use crate::findings::{
    AtPanel, Family, Judgement, Restored, TestFindings, TripFinding, TripTemperature, Tripped, Way, limit_result_words,
};
use crate::stats::LimitResult;
use crate::trade::conditions::Restores;
use crate::units::{Degree, Reading, TestTime};
use crate::view::heater::asked_after;
use crate::view::route::Route;
use crate::view::test::{AskAbout, Band, bands};
use crate::view::{time, words};
use conditions::conditions;
pub(in crate::view) use conditions::heater as heater_conditions;
use notes::{far, late, measured_line, struck};

/// Said in place of a test that is not here.
pub const UNKNOWN: (&str, &str) =
    ("This test is not here", "It was undone, or it is in a visit file that has not been loaded.");
/// Key that tests the position once more.
pub const RETEST_NOW: &str = "Retest now";
/// Key that puts the position on the list.
pub const LIST_RETEST: &str = "Add to retest list";
/// Said in its place once it is on the list.
pub const LISTED: &str = "On the retest list";
/// Key that leads to the form of a corrected marking.
pub const CORRECT: &str = "Fix the rating";
/// Key that leads to the technician's judgment.
pub const JUDGE: &str = "Your judgment";
/// Key that leads to the question whether it restored.
pub const RESTORE: &str = "Did it restore?";
/// Key that leads to a correction of a reading.
pub const CHANGE_READING: &str = "Change reading";
/// Key that leads to striking a trip.
pub const NOT_A_TRIP: &str = "Not a trip";

/// The line of the mean against the limits: name and what it rests on.
pub const AS_READ: (&str, &str) = ("As read", "Average only; uncertainty not considered.");
/// The line of the limit result: name and what it rests on.
pub const LIMIT_RESULT: (&str, &str) = ("Limit result", "Average, its uncertainty and the limits.");
/// The word above a remark.
pub const CAUTION: &str = "Caution";
/// Said after a test with heat: no clock can say when it has cooled.
pub const STILL_HOT: &str = "Heater and detector stay hot. Wear gloves until you have touch-tested them.";

/// Headings, in the order of the page.
pub mod heading {
    /// The three results.
    pub const RESULTS: &str = "Result";
    /// Its trips.
    pub const TRIPS: &str = "Trips";
    /// All that was measured, one tap below.
    pub const MEASURED: &str = "Measurement";
    /// Where it operates.
    pub const OPERATING: &str = "Operating temperature";
    /// Its judgement by the marking frozen at the start.
    pub const JUDGED: &str = "Limits";
    /// A judgement by a corrected marking.
    pub const JUDGED_AGAIN: &str = "Re-evaluated: rating fixed";
    /// The slope over the counted trips.
    pub const SETTLING: &str = "Settling";
    /// The first trip against the others.
    pub const FIRST: &str = "First trip";
    /// The test among those of its area.
    pub const BESIDE: &str = "Side by side";
    /// Restores.
    pub const RESTORES: &str = "Restores";
    /// Items found.
    pub const ITEMS: &str = "Items";
    /// Readings far from the estimate.
    pub const FAR: &str = "Readings that looked off";
    /// Marks and readings that were taken back as wrong.
    pub const STRUCK: &str = "Struck through";
    /// Notes.
    pub const NOTES: &str = "Notes";
    /// What is to be known about its time.
    pub const CLOCK: &str = "Clock notes";
    /// Entries after another phone took over or closed.
    pub const LATE: &str = "Entered after close";
    /// What was frozen at the start.
    pub const CONDITIONS: &str = "Conditions at start";
    /// What stands in the way of a limit result.
    pub const MISSING: &str = "No limit result – what's missing";
}

/// One of the three results.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ResultRow {
    /// Its stable name.
    pub name: &'static str,
    /// What was asked.
    pub title: &'static str,
    /// The answer.
    pub answer: String,
    /// What it rests on, or what to do.
    pub why: String,
    /// Its sign.
    pub sign: Sign,
}

/// One trip.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TripRow {
    /// Its number in the test.
    pub number: usize,
    /// Test time, and time into its heat-up.
    pub time: String,
    /// Whether it counts and why not; panel point, restore, moved mark.
    pub detail: String,
    /// The reading as displayed, or the estimate, and what opens with it; none where there is neither.
    pub reading: Option<Shown>,
    /// The reading's entry, for a correction.
    pub reading_of: Option<Hash>,
    /// The trip's mark.
    pub mark: Hash,
}

/// One judgement.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JudgementView {
    /// Its heading.
    pub title: &'static str,
    /// Reason of the correction; empty for the frozen marking.
    pub reason: String,
    /// Who gave the limits, or why there are none.
    pub limits_from: String,
    /// The limits.
    pub limits: Vec<Shown>,
    /// Within or outside as read.
    pub as_read: Option<(Sign, &'static str)>,
    /// The limit result in shape and word, with its conformance probability.
    pub limit_result: Option<(Sign, &'static str, Shown)>,
    /// What is missing for a limit result and how to get it.
    pub missing: Vec<String>,
    /// What cannot be decided, each with the figure it rests on.
    pub remarks: Vec<(String, Shown)>,
}

/// One test in full.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OneTest {
    /// The test.
    pub test: Id,
    /// Its position.
    pub position: Id,
    /// The position's tag.
    pub tag: String,
    /// As found or retest, when, under what, how it ended.
    pub detail: String,
    /// Its state by shape and word.
    pub state: (Sign, &'static str),
    /// The one line that a layman reads.
    pub headline: String,
    /// Whether it says the state, too.
    pub says_state: bool,
    /// Below it: the temperature with its uncertainty, the limits and the limit result; empty without a temperature.
    pub measured_line: String,
    /// Tripped, alarm at panel, restored.
    pub results: Vec<ResultRow>,
    /// What it did not exercise, in a sentence; empty for nothing.
    pub not_exercised: String,
    /// An early trip that nobody has answered for.
    pub ask_early: Option<AskAbout>,
    /// The first trip, while nobody has said what the panel showed.
    pub ask_panel: Option<Hash>,
    /// Whether the restore is to be asked for.
    pub ask_restore: bool,
    /// Where the answer about the heater is entered for want of which it decided nothing.
    pub asks: Option<Route>,
    /// Whether the technician may judge it.
    pub may_judge: bool,
    /// The entry that put it on the retest list; none while it is not.
    pub listed: Option<Hash>,
    /// What the heater did, and its trips: ms since heat on, number, whether it counts.
    pub bands: Vec<Band>,
    /// The trips on it.
    pub ticks: Vec<(TestTime, u32, bool)>,
    /// Its trips.
    pub trips: Vec<TripRow>,
    /// Operating temperature, then what it rests on; or why there is none.
    pub operating: Result<Vec<Shown>, String>,
    /// The slope over the counted trips.
    pub settling: Option<Said>,
    /// The first trip against the settled ones.
    pub first: Option<Said>,
    /// The test among those of its area; empty until [`OneTest::among`] is asked.
    pub beside: Option<Said>,
    /// The judgement frozen at the start, then those of corrections.
    pub judgements: Vec<JudgementView>,
    /// What was seen of its restores.
    pub restores: String,
    /// Items found in it.
    pub items: Vec<&'static str>,
    /// Marks and readings that were taken back as wrong.
    pub struck: Vec<String>,
    /// Notes about it.
    pub notes: Vec<String>,
    /// What is to be known about its time.
    pub clock: Vec<String>,
    /// Readings far from the estimate that stand.
    pub far: Vec<String>,
    /// Entries after another phone took over or closed the visit.
    pub late: Vec<String>,
    /// What was frozen at the start, by name.
    pub conditions: Vec<(&'static str, String)>,
    /// Whether it has ended, so that its marking may be corrected.
    pub ended: bool,
}

impl OneTest {
    /// Shapes a test of `visit`; `offset` is local time minus UTC, minutes.
    pub fn of(book: &Book, visit: &Visit, test: &Test, found: &TestFindings, unit: Degree, offset: i64) -> OneTest {
        let frozen = &test.frozen;
        let ending = match test.ended {
            None => " · in progress".to_string(),
            Some((Ending::Done, _)) => String::new(),
            Some((how, _)) => format!(" · {}", words::ending(how)),
        };
        let timeline = Timeline::of(test, test.ended.map_or(TestTime::MAX, |(_, at)| at));
        let mut late = late(book, &test.after_take_over, "after take-over", offset);
        let of_this = |hash: &&Hash| book.get(**hash).is_some_and(|entry| entry.body.test() == Some(test.id));
        let closing: Vec<Hash> = visit.after_closing.iter().filter(of_this).copied().collect();
        late.extend(self::late(book, &closing, "after close", offset));
        let who = super::super::visit::who_words(book, visit, crate::book::body::Who::Person(frozen.by));
        let early = found.early.as_ref().filter(|early| !early.confirmed && test.ended.is_some());
        let tripped = matches!(found.tripped, Tripped::Yes { .. });
        let listed = visit.retests.iter().rfind(|retest| retest.test == Some(test.id) && !retest.taken);
        OneTest {
            test: test.id,
            position: frozen.position.of,
            tag: found.tag().to_owned(),
            detail: format!(
                "{} · {} · {who} · {}{ending}",
                role(found.role),
                time::wall(test.started_wall, offset),
                frozen.procedure.name
            ),
            state: state(found),
            headline: headline(found, unit),
            says_state: state(found).1 == found.outcome.words(),
            measured_line: measured_line(found, unit),
            results: results(test, found, unit),
            not_exercised: not_exercised(found),
            ask_early: early
                .map(|early| AskAbout { of: early.trip, words: words::early(early.why, found.tag(), unit) }),
            ask_panel: found.trips.first().filter(|trip| trip.panel.is_none()).map(|trip| trip.mark),
            ask_restore: test.ended.is_some()
                && tripped
                && matches!(found.restored, Restored::Pending | Restored::NotChecked),
            asks: asked_after(found, frozen.heater.of),
            may_judge: found.not_proven().is_some(),
            listed: listed.map(|retest| retest.hash),
            bands: bands(&timeline),
            ticks: timeline.trips.iter().map(|trip| (trip.at, trip.heat_up, trip.not_counted.is_none())).collect(),
            trips: found.trips.iter().map(|trip| trip_row(test, trip, unit)).collect(),
            operating: found.operating.as_ref().map_err(|why| sentence(&why.to_string())).map(|operating| {
                let range = operating.range_figure(&found.trips);
                let late = operating.late.map(|late| late.figure());
                let below = [Some(operating.expanded_figure()), Some(operating.u_figure()), Some(range), late];
                let below = below.into_iter().flatten().map(|figure| shown(&figure, unit));
                std::iter::once(figure::operating(operating, &found.trips, unit)).chain(below).collect()
            }),
            settling: found.operating.as_ref().ok().map(|operating| said::settling(operating, unit)),
            first: found.first.as_ref().map(|first| said::first(first, found, unit)),
            beside: None,
            judgements: std::iter::once(&found.judged)
                .chain(&found.judged_again)
                .map(|judgement| judgement_view(book, judgement, unit))
                .collect(),
            restores: restores(found),
            items: found.items.iter().map(|item| words::item(*item)).collect(),
            struck: struck(test),
            notes: test.notes.iter().filter_map(|note| book.words(*note)).map(ToString::to_string).collect(),
            clock: test
                .clock_notes
                .iter()
                .map(|(at, note)| format!("{}: {}", time::gone(at.since_heat_on()), words::clock_note(note)))
                .collect(),
            far: far(found, unit),
            late,
            conditions: conditions(frozen, unit),
            ended: test.ended.is_some(),
        }
    }

    /// The same, among the families of its visit.
    pub fn among(self, found: &TestFindings, families: &[Family], unit: Degree) -> OneTest {
        OneTest { beside: said::beside(found, families, unit), ..self }
    }
}

fn capital(text: &str) -> String {
    let mut text = text.to_string();
    // The app's own words; beyond ASCII a table of all letters would come along.
    if let Some(first) = text.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    text
}

/// A message, which has neither capital nor full stop, as a sentence.
pub(crate) fn sentence(text: &str) -> String {
    format!("{}.", capital(text))
}

/// The one line that a layman reads: where it tripped and what the three results come to.
fn headline(found: &TestFindings, unit: Degree) -> String {
    let outcome = found.outcome.words();
    let at = found.operating.as_ref().ok().map(|operating| operating.mean);
    let first = || found.trips.first().and_then(|trip| trip.temperature).map(|at| at.value);
    match (outcome.strip_prefix("Tripped"), at.or_else(first)) {
        (Some(rest), Some(at)) => format!("Tripped at {}{rest}", words::degrees(at, unit, 0)),
        (None, Some(at)) if outcome_sign(found.outcome) == Sign::Good => {
            format!("{outcome}, tripped at {}", words::degrees(at, unit, 0))
        }
        _ => outcome.to_string(),
    }
}

fn results(test: &Test, found: &TestFindings, unit: Degree) -> Vec<ResultRow> {
    let (answer, why, sign) = match &found.tripped {
        Tripped::Yes { first_at } => {
            ("Yes".into(), format!("{} after heat on.", time::gone(first_at.since_heat_on())), Sign::Good)
        }
        Tripped::No(no) => {
            let soak = no.soak.map_or_else(String::new, |soak| {
                format!(", after a soak of {} at top temp", time::gone(soak.until.saturating_sub(soak.from)))
            });
            ("No alarm".into(), format!("No alarm up to {}{soak}.", words::degrees(no.up_to, unit, 0)), Sign::Bad)
        }
        Tripped::NotYet => ("Not yet".into(), "The test is in progress.".into(), Sign::Running),
        Tripped::NotDecided(why) => ("Not decided".into(), sentence(&why.to_string()), Sign::Open),
    };
    let mut rows = vec![ResultRow { name: "tripped", title: "Tripped", answer, why, sign }];
    let (answer, why, sign) = match &found.panel {
        AtPanel::Right => ("Right point", String::new(), Sign::Good),
        AtPanel::Wrong(said) => {
            ("Wrong point", said.as_ref().map_or_else(String::new, |said| format!("It said {said}.")), Sign::Bad)
        }
        AtPanel::NotThere => ("Nothing there", String::new(), Sign::Bad),
        AtPanel::NotChecked => ("Not checked", String::new(), Sign::Open),
    };
    let remark = if test.frozen.indication.verification { words::VERIFICATION_REMARK } else { "" };
    let why = [why.as_str(), remark].into_iter().filter(|words| !words.is_empty()).collect::<Vec<_>>().join(" ");
    rows.push(ResultRow { name: "panel", title: "Alarm at panel", answer: answer.into(), why, sign });
    let (answer, why, sign) = match found.restored {
        Restored::Yes => ("Yes", String::new(), Sign::Good),
        Restored::No => ("Stays in alarm", "Five minutes or more after the heater was lowered.".into(), Sign::Bad),
        Restored::Pending => ("Not checked yet", String::new(), Sign::Open),
        Restored::NotChecked => ("Not checked", String::new(), Sign::Open),
    };
    // Without a trip there is nothing to restore.
    if matches!(found.tripped, Tripped::Yes { .. }) || !test.restore_said.is_empty() {
        rows.push(ResultRow { name: "restored", title: "Restored", answer: answer.into(), why, sign });
    }
    if found.technician.is_some_and(|judged| judged.did_not_operate) {
        rows.push(ResultRow {
            name: "judged",
            title: "Technician's judgment",
            answer: "Did not operate".into(),
            why: String::new(),
            sign: Sign::Bad,
        });
    }
    rows
}

fn not_exercised(found: &TestFindings) -> String {
    let parts: Vec<&str> = found.not_exercised.iter().map(|what| what.words()).collect();
    if parts.is_empty() { String::new() } else { format!("Not tested: {}.", parts.join("; ")) }
}

fn trip_row(test: &Test, trip: &TripFinding, unit: Degree) -> TripRow {
    let mut parts = vec![trip.not_counted.map_or("counted", words::not_counted).to_string()];
    if trip.temperature.is_some_and(|temperature| temperature.way == Way::Estimated) {
        parts.push("estimated".into());
    }
    // A set-point test proves the circuit at one trip; silence about the others says nothing.
    parts.extend(trip.panel.as_ref().map(|(point, said)| match said {
        Some(said) => format!("{}: {said}", lower(words::point(*point))),
        None => lower(words::point(*point)),
    }));
    parts.extend(trip.restore_after.map(|after| format!("restored after {}", time::gone(after))));
    let moved = test.marks.iter().find(|mark| mark.hash == trip.mark).map_or(0, |mark| mark.moved_ms);
    if moved != 0 {
        let way = if moved < 0 { "earlier" } else { "later" };
        parts.push(format!("mark moved {} s {way}", moved.unsigned_abs() / 1_000));
    }
    let reading = trip.temperature.map(|temperature| temperature_row(trip.reading, &temperature, unit));
    let into = time::gone(trip.into_heat_up);
    TripRow {
        number: trip.number,
        time: match trip.heat_up {
            1 => time::gone(trip.at.since_heat_on()),
            heat_up => format!("{}, {into} into heat-up {heat_up}", time::gone(trip.at.since_heat_on())),
        },
        detail: parts.join(" · "),
        reading,
        reading_of: test.reading_of(trip.mark).map(|taken| taken.hash),
        mark: trip.mark,
    }
}

/// What was displayed stays as it was; what the lag of the indication makes of it stands beside it.
fn temperature_row(reading: Option<Reading>, temperature: &TripTemperature, unit: Degree) -> Shown {
    let at = shown(&temperature.figure(), unit);
    let Some(reading) = reading else { return at };
    let (value, symbol) = (reading.text(), reading.unit.symbol());
    if temperature.shifted().is_some() {
        let spread = format!("at the trip {} {}, {}", at.value, at.unit, at.spread);
        return Shown { value, unit: symbol.to_string(), spread, ..at };
    }
    let elsewhere = if reading.unit == unit { String::new() } else { format!(" = {} {}", at.value, at.unit) };
    Shown { value, unit: format!("{symbol}{elsewhere}"), ..at }
}

fn judgement_view(book: &Book, judgement: &Judgement, unit: Degree) -> JudgementView {
    let as_read = judgement.as_read.map(|as_read| {
        let sign = if as_read == crate::findings::AsRead::Within { Sign::Good } else { Sign::Bad };
        (sign, as_read.words())
    });
    let limit_result = judgement.limit_result.as_ref().ok().map(|stated| {
        let sign = match stated.limit_result {
            LimitResult::Within => Sign::Good,
            LimitResult::WithinCloseToLimit => Sign::GoodHalf,
            LimitResult::OutsideWithinUncertainty => Sign::BadHalf,
            LimitResult::Outside => Sign::Bad,
        };
        let shown = Shown { value: percent(stated.p_conform), unit: "%".into(), ..shown(&stated.figure(), unit) };
        (sign, limit_result_words(stated.limit_result), shown)
    });
    let missing = judgement.limit_result.as_ref().err().map(Vec::as_slice).unwrap_or_default();
    JudgementView {
        title: if judgement.corrected_by.is_some() { heading::JUDGED_AGAIN } else { heading::JUDGED },
        reason: judgement.reason.map_or_else(String::new, |reason| {
            format!("Reason: {}", book.words(reason).unwrap_or("(erased or not here)"))
        }),
        limits_from: match &judgement.limits {
            Ok(limits) => format!("Limits {}.", limits.from.words()),
            Err(why) => sentence(&why.to_string()),
        },
        limits: judgement
            .limits
            .as_ref()
            .map_or_else(|_| Vec::new(), |limits| limits.figures().iter().map(|figure| shown(figure, unit)).collect()),
        as_read,
        limit_result,
        missing: missing.iter().map(|missing| sentence(&missing.to_string())).collect(),
        remarks: judgement
            .remarks
            .iter()
            .map(|remark| (sentence(&remark.to_string()), shown(&remark.figure(), unit)))
            .collect(),
    }
}

fn restores(found: &TestFindings) -> String {
    let restores = &found.restores;
    match (restores.watched, restores.after_ms) {
        (Restores::CannotBeSeen, _) => "Not watched: it can't be seen here.".into(),
        (Restores::NotWatched, None) => "Not watched between trips.".into(),
        (Restores::Watched, None) => format!("Watched; not seen after any of {} trips.", restores.of),
        (_, Some((least, most))) => format!(
            "Seen after {} of {} trips, {} to {} after the trip.",
            restores.seen,
            restores.of,
            time::gone(least),
            time::gone(most)
        ),
    }
}
