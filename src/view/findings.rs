//! The Results screen: the tests of a visit by area, flagged ones first, what to retest and what is wrong.

pub mod family;
pub mod figure;
pub mod one;
pub mod page;
pub mod said;

use self::family::FamilyView;
use super::page::sign::{Shape, Tone};
use super::visit::{ItemRow, items};
use super::words;
use crate::book::Id;
use crate::book::body::{Ending, RetestWhy};
use crate::book::register::Register;
use crate::book::visit::Visit;
use crate::findings::{
    Family, Flag, Judgement, LimitsGiven, Missing, NoLimits, NoOperating, Outcome, Role, TestFindings, Unknown,
    VisitFindings, limit_result_words,
};
use crate::order;
use crate::units::Degree;
use std::collections::{BTreeMap, BTreeSet};

/// Title of the place.
pub const TITLE: &str = "Results";
/// Shown while there is no test: title and what to do.
pub const NOTHING: (&str, &str) = ("No test yet", "Each test shows up here with its result. Start one under Visit.");
/// Shown beside the list while none is picked.
pub const PICK: (&str, &str) = ("No test picked", "Pick a test in the list to see it in full.");
/// Key that leads to the visit.
pub const TO_VISIT: &str = "Go to the visit";
/// Heading of the list of positions to be tested once more.
pub const RETEST: &str = "Retest";
/// Heading of the list of items.
pub const ITEMS: &str = "Items found";
/// Shown while the numbers are worked out: word and sentence.
pub const WORKING: (&str, &str) = ("Calculating", "The numbers of this visit are being calculated.");
/// Said where no published tolerance exists.
pub const NO_PUBLISHED_TOLERANCE: &str =
    "NFPA 72 gives no tolerance for a measured trip temperature. Limits come from the owner or the device label.";

/// A state by shape; the word stands beside it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sign {
    /// Passed, yes.
    Good,
    /// Yes, with something not verified.
    GoodHalf,
    /// No, within its uncertainty.
    BadHalf,
    /// Failed, no.
    Bad,
    /// Retest.
    Again,
    /// Not decided.
    Open,
    /// In progress.
    Running,
}

impl Sign {
    /// The drawing and the colour that agree with it.
    pub fn drawn(self) -> (Shape, Tone) {
        match self {
            Sign::Good => (Shape::Done, Tone::Good),
            Sign::GoodHalf => (Shape::Half, Tone::Warn),
            Sign::BadHalf => (Shape::Half, Tone::Bad),
            Sign::Bad => (Shape::Fail, Tone::Bad),
            Sign::Again => (Shape::Again, Tone::Warn),
            Sign::Open => (Shape::Open, Tone::Note),
            Sign::Running => (Shape::Wait, Tone::Plain),
        }
    }
}

/// One test in the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FindingRow {
    /// The test.
    pub test: Id,
    /// The detector's tag.
    pub tag: String,
    /// Its state by shape.
    pub sign: Sign,
    /// Its state in words.
    pub word: &'static str,
    /// Operating temperature, as read, limit result, as found or retest.
    pub detail: String,
}

/// The tests of one area. Its rows are shaped when they are drawn, area by area: a visit can have a thousand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AreaTests {
    /// The area's name.
    pub name: String,
    /// How many tests it has and how many of them ask for attention, in words.
    pub flag: String,
    area: Id,
    /// Where its tests stand among the findings, flagged ones first.
    places: Vec<usize>,
}

impl AreaTests {
    /// So many of its tests from one on, flagged ones first.
    pub fn rows(&self, found: &VisitFindings, unit: Degree, from: usize, most: usize) -> Vec<FindingRow> {
        let tests = self.places.iter().skip(from).take(most).filter_map(|place| found.tests.get(*place));
        tests.map(|test| row(test, unit)).collect()
    }

    /// Those of its tests that can be held side by side and compared.
    pub fn families(&self, found: &VisitFindings, unit: Degree) -> Vec<FamilyView> {
        let here = found.families.iter().filter(|family| family.area == self.area && family.members.len() > 1);
        here.map(|family| FamilyView::of(family, unit)).collect()
    }
}

/// A position to be tested once more.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RetestRow {
    /// The position.
    pub position: Id,
    /// Its tag.
    pub tag: String,
    /// Why.
    pub why: String,
}

/// The Results screen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FindingsScreen {
    /// A line below the title.
    pub detail: String,
    /// Positions to be tested once more.
    pub retest: Vec<RetestRow>,
    /// What is wrong; open ones first.
    pub items: Vec<ItemRow>,
    /// The tests by area; areas with flagged ones first.
    pub areas: Vec<AreaTests>,
}

impl FindingsScreen {
    /// Shapes the findings of a visit.
    pub fn of(register: &Register, visit: &Visit, found: &VisitFindings) -> FindingsScreen {
        let site = register.sites.get(&visit.site).and_then(|site| site.now()).map_or("", |site| site.name.as_str());
        let flag = found.tests.iter().filter(|test| test.flag.is_some()).count();
        let tests = found.tests.iter().filter(|test| test.outcome != Outcome::Mistake).count();
        FindingsScreen {
            detail: format!("{site} · {} · {}", words::plural(tests, "test", "tests"), asking(flag)),
            retest: retests(visit, found),
            items: items(register, visit, None),
            areas: areas(register, visit, found),
        }
    }
}

fn asking(flag: usize) -> String {
    match flag {
        0 => "nothing flagged".into(),
        flag => format!("{flag} flagged"),
    }
}

fn areas(register: &Register, visit: &Visit, found: &VisitFindings) -> Vec<AreaTests> {
    let area_of = order::map(visit.tests.iter().map(|test| (test.id, test.frozen.position.place.area)));
    // The first test of an area in the order of the visit is its gravest one, so the areas come in that order.
    let mut order: Vec<Id> = Vec::new();
    let mut places: BTreeMap<Id, Vec<usize>> = BTreeMap::new();
    for (place, test) in found.tests.iter().enumerate() {
        let area = area_of.get(&test.test).copied().unwrap_or_default();
        if !places.contains_key(&area) {
            order.push(area);
        }
        places.entry(area).or_default().push(place);
    }
    let shaped = order.into_iter().filter_map(|area| {
        let places = places.remove(&area)?;
        let known = register.areas.get(&area).and_then(|area| area.now());
        let flag = places.iter().filter(|place| found.tests.get(**place).is_some_and(|test| test.flag.is_some()));
        // Stopped as a mistake: listed, and not a test.
        let is_test = |place: &&usize| found.tests.get(**place).is_some_and(|test| test.outcome != Outcome::Mistake);
        let tests = places.iter().filter(is_test).count();
        Some(AreaTests {
            name: known.map_or_else(|| "Area not on this phone".to_string(), |area| area.name.clone()),
            flag: format!("{} · {}", words::plural(tests, "test", "tests"), asking(flag.count())),
            area,
            places,
        })
    });
    shaped.collect()
}

fn row(found: &TestFindings, unit: Degree) -> FindingRow {
    let (sign, word) = state(found);
    let mut parts = Vec::new();
    // A measurement can be flagged on a detector that passed; the row says both.
    if word != found.outcome.words() {
        parts.push(found.outcome.words().to_string());
    }
    parts.extend(found.operating.as_ref().ok().map(|operating| figure::operating_line(operating, unit)));
    let judgement = found.holding().last();
    parts.extend(judgement.and_then(|judgement| judgement.as_read).map(|as_read| lower(as_read.words())));
    // A functional test is not meant to have one.
    let set_point = found.frozen.procedure.is_set_point();
    parts.extend(judgement.filter(|_| set_point).and_then(limit_result_short));
    parts.push(lower(role(found.role)));
    FindingRow { test: found.test, tag: found.tag().to_owned(), sign, word, detail: parts.join(" · ") }
}

pub(super) fn lower(text: &str) -> String {
    text.to_ascii_lowercase()
}

/// What a test is among those of its position.
pub fn role(role: Role) -> &'static str {
    match role {
        Role::AsFound => "As found",
        Role::Retest => "Retest",
        Role::AsLeft => "Repaired, tested again",
    }
}

/// The sign of an outcome by itself.
pub fn outcome_sign(outcome: Outcome) -> Sign {
    match outcome {
        Outcome::Passed => Sign::Good,
        Outcome::NotVerified { .. } => Sign::GoodHalf,
        Outcome::Failed(_) => Sign::Bad,
        Outcome::NotDecided | Outcome::Mistake => Sign::Open,
        Outcome::EarlyTrip => Sign::Again,
        Outcome::InProgress => Sign::Running,
    }
}

/// The state of a test by shape and word: the worst of all that is said of it.
pub fn state(found: &TestFindings) -> (Sign, &'static str) {
    match found.flag {
        None | Some(Flag::NotVerified) => (outcome_sign(found.outcome), found.outcome.words()),
        Some(flag) => {
            let sign = match flag {
                Flag::OutsideWithinUncertainty => Sign::BadHalf,
                Flag::Outlier | Flag::Retest | Flag::EarlyTrip | Flag::NotProven => Sign::Again,
                _ => Sign::Bad,
            };
            (sign, flag.words())
        }
    }
}

/// The positions of which a test failed.
pub fn failed(found: &VisitFindings) -> BTreeSet<Id> {
    let bad = |found: &&TestFindings| matches!(state(found).0, Sign::Bad | Sign::BadHalf);
    order::set(found.tests.iter().filter(bad).map(|found| found.position))
}

fn limit_result_short(judgement: &Judgement) -> Option<String> {
    match &judgement.limit_result {
        Ok(stated) => Some(format!("limits: {}", lower(limit_result_words(stated.limit_result)))),
        Err(missing) => {
            let mut short: Vec<&str> = missing.iter().map(missing_short).collect();
            short.dedup();
            (!short.is_empty()).then(|| format!("no limit result: {}", short.join(", ")))
        }
    }
}

/// Limits to a tenth of a degree: what is judged against them must not be hidden by rounding.
pub fn limits_words(of: &LimitsGiven, unit: Degree) -> String {
    let limit = |limit| words::degrees(limit, unit, 1);
    match (of.lower().map(limit), of.upper().map(limit)) {
        (Some(lower), Some(upper)) => format!("{lower} to {upper}"),
        (Some(lower), None) => format!("{lower} or more"),
        (None, Some(upper)) => format!("{upper} or less"),
        (None, None) => String::new(),
    }
}

/// What is missing for a limit result, in a word or two; the test in full says how to get it.
pub fn missing_short(missing: &Missing) -> &'static str {
    match missing {
        Missing::Operating(NoOperating::Running) => "test in progress",
        Missing::Operating(NoOperating::Stopped(_)) => "test stopped",
        Missing::Operating(NoOperating::NoCountedTrip) => "no counted trip",
        Missing::Operating(NoOperating::HeatUpWithoutTrip(_)) => "one heat-up, no trip",
        Missing::Operating(NoOperating::NotRead(_)) => "readings missing",
        Missing::Operating(NoOperating::OutOfRange) => "a reading out of range",
        Missing::Limits(NoLimits::NoSetPoint) => "no set point",
        Missing::Limits(NoLimits::NoRating) => "rating missing",
        Missing::Limits(NoLimits::NoTolerance) => "tolerance missing",
        Missing::Limits(NoLimits::ClassOnly) => "owner's limits for this method missing",
        Missing::Limits(NoLimits::Crossed) => "limits reversed",
        Missing::Part(Unknown::Calibration) => "calibration missing",
        Missing::Part(Unknown::Fit) => "fit error missing",
        Missing::Part(Unknown::FitSource) => "source of the fit error missing",
        Missing::Part(Unknown::Resolution) => "display resolution missing",
        Missing::Part(Unknown::Lag) => "lag not accounted for",
        Missing::Part(Unknown::Spread) => "one counted trip only",
        Missing::Estimated { .. } => "trips estimated",
        Missing::ElementLags => "element lags the heater",
        Missing::TypeNotAllowed => "no set point of this type",
        Missing::EarlyTrip => "early trip",
        Missing::FunctionalTest => "functional test",
        Missing::FewerTrips { .. } => "too few counted trips",
    }
}

fn retests(visit: &Visit, found: &VisitFindings) -> Vec<RetestRow> {
    let mut rows: Vec<RetestRow> = Vec::new();
    let mut add = |position: Id, tag: &str, why: &str| match rows.iter_mut().find(|row| row.position == position) {
        Some(row) if row.why.contains(why) => {}
        Some(row) => row.why = format!("{}, {why}", row.why),
        None => rows.push(RetestRow { position, tag: tag.to_string(), why: why.to_string() }),
    };
    let flagged = order::set(found.families.iter().flat_map(Family::flagged).map(|member| member.test));
    let real = visit.tests.iter().filter(|test| !matches!(test.ended, Some((Ending::Mistake, _))));
    let followed = order::set(real.filter_map(|test| test.frozen.follows));
    for test in &found.tests {
        let listed = || visit.retests.iter().filter(|retest| retest.test == Some(test.test) && !retest.taken);
        listed().for_each(|retest| add(test.position, test.tag(), words::retest(retest.why)));
        if followed.contains(&test.test) {
            continue;
        }
        match test.flag {
            // Also where its limits say something graver.
            _ if flagged.contains(&test.test) => add(test.position, test.tag(), words::retest(RetestWhy::UnlikeArea)),
            Some(Flag::NotProven) => add(test.position, test.tag(), "operation not proven"),
            Some(Flag::Retest) if listed().next().is_none() => {
                add(test.position, test.tag(), words::retest(RetestWhy::MissingTrip));
            }
            _ => {}
        }
    }
    rows
}
