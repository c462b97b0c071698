//! One test in full: everything it says, what that rests on, and what to know about it.

use super::figure::{self, Shown, as_given, difference_as_given, percent, shown};
use super::said::{self, Said};
use super::{Sign, operated_short, standing, state};
use crate::book::Id;
use crate::book::body::{Body, Started};
use crate::book::entry::{Entry, Hash};
use crate::book::log::Book;
use crate::book::test::Test;
use crate::book::visit::Visit;
use crate::findings::{
    Family, Judgement, Operated, TestFindings, TripFinding, TripTemperature, Way, limit_result_words, profile_of_test,
    scores,
};
use crate::stats::LimitResult;
use crate::trade::conditions::{Air, Restores};
use crate::trade::heater::{Basis, Cycle};
use crate::units::{Degree, Reading};
use crate::view::{time, words};

/// Said in place of a test that is not here.
pub const UNKNOWN: (&str, &str) =
    ("This test is not here", "It was undone, or it stands in a bundle that has not been taken in.");
/// Keys of one test.
pub const TEST_AGAIN: &str = "Test it again";
/// Key that puts the detector on the list.
pub const LOOK_AGAIN: &str = "Put on “retest”";
/// Key that leads to the form of a corrected marking.
pub const CORRECT: &str = "Correct the marking";

/// The line of the mean against the limits: name and what it rests on.
pub const AS_READ: (&str, &str) = ("As read", "By the mean alone, without its uncertainty.");
/// The line of the limit result: name and what it rests on.
pub const STATEMENT: (&str, &str) = ("LimitResult", "By the mean, its uncertainty and the limits.");
/// The word above a remark.
pub const TAKE_CARE: &str = "Take care";

/// Headings, in the order of the page.
pub mod heading {
    /// Whether it operated.
    pub const OPERATED: &str = "Operated";
    /// Its trips.
    pub const TRIPS: &str = "Trips";
    /// Where it operates.
    pub const OPERATING: &str = "Operating temperature";
    /// Its judgement by the marking frozen at the start.
    pub const JUDGED: &str = "Against its limits";
    /// A judgement by a corrected marking.
    pub const JUDGED_AGAIN: &str = "Judged again: the marking was corrected";
    /// The slope over the counted trips.
    pub const SETTLING: &str = "Settling";
    /// The first trip against the others.
    pub const FIRST: &str = "First trip";
    /// The test among its neighbours.
    pub const BESIDE: &str = "Side by side";
    /// How long it stays hot.
    pub const HOT: &str = "Hot until at least";
    /// Restores.
    pub const RESTORES: &str = "Restores";
    /// Faults noted.
    pub const FAULTS: &str = "Faults";
    /// Readings far from the estimate.
    pub const FAR: &str = "Far from the estimate";
    /// Notes.
    pub const NOTES: &str = "Notes";
    /// What is to be known about its time.
    pub const CLOCK: &str = "Clock notes";
    /// Entries after another phone took over or closed.
    pub const LATE: &str = "Marked late";
    /// What was frozen at the start.
    pub const CONDITIONS: &str = "As it was at the start";
    /// What stands in the way of a limit result.
    pub const MISSING: &str = "No limit result. What is missing, and how to get it";
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
    /// Its detector.
    pub detector: Id,
    /// The detector's tag.
    pub tag: String,
    /// As found or as left, when, under what, how it ended.
    pub detail: String,
    /// Its state by shape and word.
    pub state: (Sign, &'static str),
    /// Yes, no or not decided.
    pub operated: &'static str,
    /// The sign of that alone.
    pub operated_sign: Sign,
    /// Why so.
    pub operated_why: String,
    /// Its trips.
    pub trips: Vec<TripRow>,
    /// Operating temperature, then what it rests on; or why there is none.
    pub operating: Result<Vec<Shown>, String>,
    /// The slope over the counted trips.
    pub settling: Option<Said>,
    /// The first trip against the settled ones.
    pub first: Option<Said>,
    /// The test among its neighbours; empty until [`OneTest::among`] is asked.
    pub beside: Option<Said>,
    /// How long heater and detector stay hot.
    pub hot: Said,
    /// The judgement frozen at the start, then those of corrections.
    pub judgements: Vec<JudgementView>,
    /// What was seen of its restores.
    pub restores: String,
    /// Faults noted in it.
    pub faults: Vec<&'static str>,
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
    /// Whether its marking may be corrected: it has ended.
    pub may_correct: bool,
}

impl OneTest {
    /// Shapes a test of `visit`; `offset` is local time minus UTC, minutes.
    pub fn of(book: &Book, visit: &Visit, test: &Test, found: &TestFindings, unit: Degree, offset: i64) -> OneTest {
        let frozen = &test.frozen;
        let followed = visit.tests.iter().any(|other| other.frozen.follows == Some(test.id));
        let ending = test.ended.map_or("goes on", |(how, _)| words::ending(how));
        let mut late = late(book, &test.after_take_over, "after take-over", offset);
        let of_this = |hash: &&Hash| book.get(**hash).is_some_and(|entry| is_about(entry, test.id));
        let closing: Vec<Hash> = visit.after_closing.iter().filter(of_this).copied().collect();
        late.extend(self::late(book, &closing, "after closing", offset));
        OneTest {
            test: test.id,
            detector: frozen.detector.of,
            tag: found.tag().to_owned(),
            detail: format!(
                "{} · {} · {} · {ending}",
                capital(standing(found, followed)),
                time::wall(test.started_wall, offset),
                frozen.procedure.name
            ),
            state: state(found),
            operated: operated_short(&found.operated),
            operated_sign: operated_sign(&found.operated),
            operated_why: operated_why(&found.operated, unit),
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
            hot: said::hot(test, found, unit, offset),
            judgements: std::iter::once(&found.judged)
                .chain(&found.judged_again)
                .map(|judgement| judgement_view(book, judgement, unit))
                .collect(),
            restores: restores(found),
            faults: found.faults.iter().map(|fault| words::fault(*fault)).collect(),
            notes: test.notes.iter().filter_map(|note| book.words(*note)).map(ToString::to_string).collect(),
            clock: test
                .clock_notes
                .iter()
                .map(|(at, note)| format!("{}: {}", time::gone(*at), words::clock_note(note)))
                .collect(),
            far: far(book, test, unit),
            late,
            conditions: conditions(frozen, unit),
            may_correct: test.ended.is_some(),
        }
    }

    /// The same, among the families of its visit.
    pub fn among(self, found: &TestFindings, families: &[Family], unit: Degree) -> OneTest {
        OneTest { beside: said::beside(found, families, unit), ..self }
    }
}

/// The readings of a test that stand though they are far from what its heater profile says.
fn far(book: &Book, test: &Test, unit: Degree) -> Vec<String> {
    let Ok(profile) = profile_of_test(book, test) else { return Vec::new() };
    let scores = scores(test, &profile).into_iter().filter(|score| score.contradicts(book));
    scores.map(|score| words::far_stands(&score.shown, &score.before, unit)).collect()
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

fn operated_sign(operated: &Operated) -> Sign {
    match operated {
        Operated::Yes { .. } => Sign::Good,
        Operated::No { .. } => Sign::Bad,
        Operated::NotYet => Sign::Running,
        Operated::NotDecided { .. } => Sign::Open,
    }
}

fn operated_why(operated: &Operated, unit: Degree) -> String {
    match operated {
        Operated::Yes { first_at } => format!("A trip was seen {} after heat on.", time::gone(*first_at)),
        Operated::No { up_to } => {
            format!("No trip in a full heat-up and soak up to {}.", words::degrees(*up_to, unit, 1))
        }
        Operated::NotYet => "The test is not over.".into(),
        Operated::NotDecided { ending } => {
            format!("{}, before a trip or a full heat-up and soak. Retest.", words::ending(*ending))
        }
    }
}

fn trip_row(test: &Test, trip: &TripFinding, unit: Degree) -> TripRow {
    let mut parts = vec![trip.not_counted.map_or("counted", words::not_counted).to_string()];
    if trip.temperature.is_some_and(|temperature| temperature.way == Way::Estimated) {
        parts.push("estimated".into());
    }
    parts.push(match &trip.panel {
        Some((point, Some(said))) => format!("{}: {said}", words::point(*point).to_ascii_lowercase()),
        Some((point, None)) => words::point(*point).to_ascii_lowercase(),
        None => "panel point not asked".into(),
    });
    parts.extend(trip.restore_after.map(|after| format!("restore after {}", time::gone(after))));
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
            1 => time::gone(trip.at),
            heat_up => format!("{}, {into} into heat-up {heat_up}", time::gone(trip.at)),
        },
        detail: parts.join(" · "),
        reading,
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
        (Restores::CannotBeSeen, _) => "Restore not observed: it cannot be seen here.".into(),
        (Restores::NotWatched, None) => "Restore not observed: nobody watched.".into(),
        (Restores::Watched, None) => format!("Watched, and not seen after any of {} trips.", restores.of),
        (_, Some((least, most))) => format!(
            "Seen after {} of {} trips, {} to {} after the trip.",
            restores.seen,
            restores.of,
            time::gone(least),
            time::gone(most)
        ),
    }
}

fn is_about(entry: &Entry, id: Id) -> bool {
    match &entry.body {
        Body::Mark { test, .. } | Body::ReadingTaken { test, .. } | Body::TestEnded { test, .. } => *test == id,
        Body::TestStarted(started) => started.test == id,
        _ => false,
    }
}

fn late(book: &Book, hashes: &[Hash], why: &str, offset: i64) -> Vec<String> {
    let line = |entry: &Entry| {
        let what = match &entry.body {
            Body::Mark { what, .. } => words::what(*what).to_string(),
            Body::ReadingTaken { reading, .. } => format!("Reading {} {}", reading.text(), reading.unit.symbol()),
            Body::TestEnded { how, .. } => words::ending(*how).to_string(),
            Body::TestStarted(_) => "Test started".to_string(),
            _ => "Entry".to_string(),
        };
        format!("{what}, {}, {why}", time::wall(entry.stamp.wall, offset))
    };
    hashes.iter().filter_map(|hash| book.get(*hash)).map(line).collect()
}

fn yes(holds: bool) -> &'static str {
    if holds { "yes" } else { "no" }
}

fn conditions(frozen: &Started, unit: Degree) -> Vec<(&'static str, String)> {
    let mut list = marking(frozen, unit);
    list.extend(heater(frozen, unit));
    let Started { procedure, indication, .. } = frozen;
    list.push((
        "Procedure",
        format!(
            "{}: {}, soak {}, cool-down {}",
            procedure.name,
            words::trips_asked(procedure),
            time::gone(procedure.soak_ms),
            time::gone(procedure.off_ms)
        ),
    ));
    list.push(("Trips seen by", indication.by.words().into()));
    if indication.lag_ms > 0 || indication.lag_u_ms > 0 {
        let seconds = |ms: i64| format!("{}.{} s", ms / 1_000, ms % 1_000 / 100);
        list.push(("Lag", format!("{}, u = {}", seconds(indication.lag_ms), seconds(indication.lag_u_ms))));
    }
    list.push(("Panel latches", yes(indication.latching).into()));
    list.push(("Alarm verification", if indication.verification { "on" } else { "off" }.into()));
    list.push(("Restores", indication.restores.words().into()));
    list.push(("Display read at trips", yes(frozen.display_read).into()));
    let not_taken = || "not taken".to_string();
    list.push(("Ambient temperature", frozen.ambient.map_or_else(not_taken, |ambient| as_given(ambient, unit))));
    let air = frozen.air.map_or("not said", |air| if air == Air::Still { "still" } else { "moving" });
    list.push(("Air", air.into()));
    list.push(("Heater at the start", frozen.heater_warmth.words().into()));
    list.push(("Detector at the start", frozen.detector_warmth.words().into()));
    list.push(("Visual check", frozen.visual.words().into()));
    list
}

fn marking(frozen: &Started, unit: Degree) -> Vec<(&'static str, String)> {
    let marking = &frozen.detector.marking;
    let tolerance = |tolerance: Option<_>| {
        tolerance.map_or_else(|| "none".to_string(), |difference| difference_as_given(difference, unit))
    };
    let mut list = vec![
        ("Type", marking.detector_type.words().to_string()),
        ("Rating", marking.rating.map_or_else(|| "none".to_string(), |rating| as_given(rating, unit))),
        ("Minus tolerance", tolerance(marking.minus)),
        ("Plus tolerance", tolerance(marking.plus)),
    ];
    list.extend(marking.class.map(|class| ("EN 54-5 class", class.words().to_string())));
    list
}

fn heater(frozen: &Started, unit: Degree) -> Vec<(&'static str, String)> {
    let heater = &frozen.heater;
    let top = words::degrees(heater.heating.top(&heater.setting), unit, 1);
    let unknown = || "not known".to_string();
    let u = |difference| format!("u = {}", difference_as_given(difference, unit));
    let serial = heater.name.serial.as_ref().map_or_else(String::new, |serial| format!(", {serial}"));
    let mut list = vec![
        ("Heater", format!("{}{serial}", heater.name.name)),
        (
            "Basis of acceptance",
            match heater.name.basis {
                Basis::Listed => "listed heat source",
                Basis::DetectorInstructions => "named in the detector's instructions",
                Basis::Neither => "neither listed nor named: the owner's own information",
            }
            .to_string(),
        ),
        ("Setting", format!("{}, heat-ups to {top}", as_given(heater.setting, unit))),
    ];
    list.extend(heater.mode.clone().map(|mode| ("Mode", mode)));
    list.push((
        "Cycle",
        match heater.heating.cycle {
            Cycle::ByItself { hold_first_ms, hold_again_ms, off_ms, .. } => format!(
                "by itself: holds {}, later {}, off {}",
                time::gone(hold_first_ms),
                time::gone(hold_again_ms),
                time::gone(off_ms)
            ),
            Cycle::ByHand { .. } => "switched by hand".into(),
        },
    ));
    list.push((
        "Step of the display",
        heater.heating.resolution.map_or_else(unknown, |step| difference_as_given(step, unit)),
    ));
    list.push(("Calibration", heater.metrology.calibration_u.map_or_else(unknown, u)));
    list.extend(heater.metrology.certificate.clone().map(|certificate| ("Certificate", certificate)));
    list.extend(heater.metrology.due.clone().map(|due| ("Calibration valid until", due)));
    list.push(("Fit", heater.metrology.fit_u.map_or_else(unknown, u)));
    list
}
