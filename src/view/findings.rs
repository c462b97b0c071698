//! The Findings screen: the tests of a visit by area, flagged ones first, what to look at again and what is wrong.

pub mod family;
pub mod figure;
pub mod one;
pub mod said;

use self::family::FamilyView;
use super::words;
use crate::book::Id;
use crate::book::body::Disposition;
use crate::book::entry::Hash;
use crate::book::log::Book;
use crate::book::register::Register;
use crate::book::visit::Visit;
use crate::findings::{
    Earlier, Family, Flag, Judgement, Missing, NoLimits, NoOperating, Operated, TestFindings, Unknown, VisitFindings,
    limit_result_words,
};
use crate::order;
use crate::stats::LimitResult;
use crate::units::Degree;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Title of the place.
pub const TITLE: &str = "Findings";
/// Shown while there is no test: title and what to do.
pub const NOTHING: (&str, &str) =
    ("No test yet", "Each test shows up here with what its numbers say. Start one on the Visit screen.");
/// Shown beside the list while none is picked.
pub const PICK: (&str, &str) = ("No test picked", "Pick a test in the list to see it in full.");
/// Key that leads to the visit.
pub const TO_VISIT: &str = "To the visit";
/// Heading of the list of detectors to be tested once more.
pub const AGAIN: &str = "Retest";
/// Heading of the list of deficiencies.
pub const DEFICIENCIES: &str = "Deficiencies";
/// Said of a deficiency that nothing has become of.
pub const OPEN_DEFICIENCY: &str = "Nothing done yet. What became of it?";
/// Shown while the numbers are worked out: word and sentence.
pub const WORKING: (&str, &str) = ("Working out", "The numbers of this visit are being worked out.");
/// Said where no published tolerance exists.
pub const NO_PUBLISHED_TOLERANCE: &str =
    "NFPA 72 gives no tolerance for a measured trip temperature. Limits are those of the owner or of the marking.";

/// A state by shape; the word stands beside it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sign {
    /// Yes, pass.
    Good,
    /// A pass on a condition.
    GoodHalf,
    /// A fail on a condition.
    BadHalf,
    /// No, fail.
    Bad,
    /// Retest.
    Again,
    /// Not decided.
    Open,
    /// Goes on.
    Running,
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
    /// Operated, operating temperature, as read, what is missing, as found or as left.
    pub detail: String,
}

/// The tests of one area. Its rows are shaped when they are drawn, area by area: a visit can have a thousand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AreaTests {
    /// The area's name.
    pub name: String,
    /// How many tests ask for attention, in words.
    pub flag: String,
    area: Id,
    /// Where its tests stand among the findings, flagged ones first.
    places: Vec<usize>,
    /// The tests of the visit that a later one follows.
    followed: Arc<BTreeSet<Id>>,
}

impl AreaTests {
    /// How many tests it has.
    pub fn count(&self) -> usize {
        self.places.len()
    }

    /// So many of its tests from one on, flagged ones first.
    pub fn rows(&self, found: &VisitFindings, unit: Degree, from: usize, most: usize) -> Vec<FindingRow> {
        let tests = self.places.iter().skip(from).take(most).filter_map(|place| found.tests.get(*place));
        tests.map(|test| row(test, self.followed.contains(&test.test), unit)).collect()
    }

    /// Those of its tests that can be held side by side and compared.
    pub fn families(&self, found: &VisitFindings, unit: Degree) -> Vec<FamilyView> {
        let here = found.families.iter().filter(|family| family.area == self.area && family.members.len() > 1);
        here.map(|family| FamilyView::of(family, unit)).collect()
    }
}

/// A detector to be tested once more.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AgainRow {
    /// The detector.
    pub detector: Id,
    /// Its tag.
    pub tag: String,
    /// Why.
    pub why: String,
}

/// Something wrong with a detector.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DeficiencyRow {
    /// The entry.
    pub hash: Hash,
    /// Tag of the detector.
    pub tag: String,
    /// What is wrong, with its note.
    pub what: String,
    /// What became of it.
    pub disposed: String,
    /// What else can become of it.
    pub open: Vec<Disposition>,
}

/// The Findings screen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FindingsScreen {
    /// A line below the title.
    pub detail: String,
    /// Detectors to be tested once more.
    pub again: Vec<AgainRow>,
    /// What is wrong; open ones first.
    pub deficiencies: Vec<DeficiencyRow>,
    /// The tests by area; areas with flagged ones first.
    pub areas: Vec<AreaTests>,
}

impl FindingsScreen {
    /// Shapes the findings of a visit.
    pub fn of(book: &Book, register: &Register, visit: &Visit, found: &VisitFindings) -> FindingsScreen {
        let site = register.sites.get(&visit.site).and_then(|site| site.now()).map_or("", |site| site.name.as_str());
        let flag = found.tests.iter().filter(|test| test.flag.is_some()).count();
        FindingsScreen {
            detail: format!("{site} · {} · {}", count(found.tests.len(), "test", "tests"), asking(flag)),
            again: again(visit, found),
            deficiencies: deficiencies(book, register, visit),
            areas: areas(register, visit, found),
        }
    }
}

pub(super) fn count(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}

fn asking(flag: usize) -> String {
    match flag {
        0 => "none flagged".into(),
        flag => format!("{flag} flagged"),
    }
}

fn areas(register: &Register, visit: &Visit, found: &VisitFindings) -> Vec<AreaTests> {
    let area_of = order::map(visit.tests.iter().map(|test| (test.id, test.frozen.detector.place.area)));
    let followed = Arc::new(order::set(found.tests.iter().filter_map(|test| test.follows)));
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
        Some(AreaTests {
            name: known.map_or_else(|| "Area not in the register here".to_string(), |area| area.name.clone()),
            flag: asking(flag.count()),
            area,
            places,
            followed: Arc::clone(&followed),
        })
    });
    shaped.collect()
}

fn row(found: &TestFindings, followed: bool, unit: Degree) -> FindingRow {
    let (sign, word) = state(found);
    let mut parts = vec![format!("Operated: {}", operated_short(&found.operated))];
    if let Operated::No { up_to } = found.operated {
        parts.push(format!("no trip up to {}", words::degrees(up_to, unit, 0)));
    } else {
        parts.extend(found.operating.as_ref().ok().map(|operating| figure::operating_line(operating, unit)));
        let judgement = found.holding().last();
        parts.extend(
            judgement.and_then(|judgement| judgement.as_read).map(|as_read| as_read.words().to_ascii_lowercase()),
        );
        parts.extend(judgement.and_then(statement_short));
    }
    parts.push(standing(found, followed).to_string());
    FindingRow { test: found.test, tag: found.tag().to_owned(), sign, word, detail: parts.join(" · ") }
}

/// Whether a test is as found, as left, or one between.
pub fn standing(found: &TestFindings, followed: bool) -> &'static str {
    match (found.follows, followed) {
        (None, _) => "as found",
        (Some(_), false) => "as left",
        (Some(_), true) => "between as found and as left",
    }
}

/// The state of a test by shape and word.
pub fn state(found: &TestFindings) -> (Sign, &'static str) {
    if let Some(flag) = found.flag {
        let sign = match flag {
            Flag::OutsideWithinUncertainty => Sign::BadHalf,
            Flag::Outlier | Flag::Retest => Sign::Again,
            _ => Sign::Bad,
        };
        return (sign, flag.words());
    }
    let stated = found.holding().iter().filter_map(|judgement| judgement.limit_result.as_ref().ok());
    // Without an flagged one, what is left are passes; of several judgements the lesser counts.
    let least =
        stated.map(|stated| stated.limit_result).max_by_key(|limit_result| *limit_result != LimitResult::Within);
    match (least, found.operated) {
        (Some(LimitResult::Within), _) => (Sign::Good, limit_result_words(LimitResult::Within)),
        (Some(limit_result), _) => (Sign::GoodHalf, limit_result_words(limit_result)),
        (None, Operated::Yes { .. }) => (Sign::Good, "Operated"),
        (None, Operated::No { .. }) => (Sign::Bad, Flag::DidNotOperate.words()),
        (None, Operated::NotYet) => (Sign::Running, "Goes on"),
        (None, Operated::NotDecided { .. }) => (Sign::Open, "Not decided"),
    }
}

/// Yes, no or not decided.
pub fn operated_short(operated: &Operated) -> &'static str {
    match operated {
        Operated::Yes { .. } => "yes",
        Operated::No { .. } => "no",
        Operated::NotYet | Operated::NotDecided { .. } => "not decided",
    }
}

fn statement_short(judgement: &Judgement) -> Option<String> {
    match &judgement.limit_result {
        Ok(stated) => Some(limit_result_words(stated.limit_result).to_ascii_lowercase()),
        // A functional test is not meant to have one.
        Err(missing) if missing.contains(&Missing::FunctionalTest) => None,
        Err(missing) => {
            let mut short: Vec<&str> = missing.iter().map(missing_short).collect();
            short.dedup();
            (!short.is_empty()).then(|| format!("no limit result: {}", short.join(", ")))
        }
    }
}

/// What is missing for a limit result, in a word or two; the test in full says how to get it.
pub fn missing_short(missing: &Missing) -> &'static str {
    match missing {
        Missing::Operating(NoOperating::Running) => "test not over",
        Missing::Operating(NoOperating::Stopped(_)) => "test stopped",
        Missing::Operating(NoOperating::NoCountedTrip) => "no counted trip",
        Missing::Operating(NoOperating::HeatUpWithoutTrip(_)) => "a heat-up without a trip",
        Missing::Operating(NoOperating::NotRead(_)) => "readings missing",
        Missing::Operating(NoOperating::OutOfRange) => "a reading out of range",
        Missing::Limits(NoLimits::NoSetPoint) => "no set point",
        Missing::Limits(NoLimits::NoRating) => "rating missing",
        Missing::Limits(NoLimits::NoTolerance) => "tolerance missing",
        Missing::Limits(NoLimits::ClassOnly) => "limits for this method missing",
        Missing::Limits(NoLimits::Crossed) => "tolerance crossed",
        Missing::Part(Unknown::Calibration) => "calibration missing",
        Missing::Part(Unknown::Fit) => "fit missing",
        Missing::Part(Unknown::Resolution) => "step of the display missing",
        Missing::Part(Unknown::Lag) => "lag of the indication not in the budget",
        Missing::Part(Unknown::Spread) => "one counted trip only",
        Missing::Estimated { .. } => "trips estimated",
        Missing::FunctionalTest => "a functional test",
        Missing::FewerTrips { .. } => "too few counted trips",
    }
}

fn again(visit: &Visit, found: &VisitFindings) -> Vec<AgainRow> {
    let mut rows: Vec<AgainRow> = Vec::new();
    let mut add = |detector: Id, tag: &str, why: &str| match rows.iter_mut().find(|row| row.detector == detector) {
        Some(row) if row.why.contains(why) => {}
        Some(row) => row.why = format!("{}, {why}", row.why),
        None => rows.push(AgainRow { detector, tag: tag.to_string(), why: why.to_string() }),
    };
    let flagged = order::set(found.families.iter().flat_map(Family::flagged).map(|member| member.test));
    let followed = order::set(found.tests.iter().filter_map(|test| test.follows));
    for test in &found.tests {
        let asked = visit.again.iter().filter(|again| again.test == test.test && !again.taken);
        let mut named = false;
        for again in asked {
            add(test.detector, test.tag(), words::again(again.why));
            named = true;
        }
        if followed.contains(&test.test) {
            continue;
        }
        let late = test.first.as_ref().is_some_and(|first| first.earlier == Earlier::NotEarlier);
        match test.flag {
            // Also where its limits say something graver.
            _ if flagged.contains(&test.test) => add(test.detector, test.tag(), "outlier among its neighbours"),
            Some(Flag::Retest) if late => add(test.detector, test.tag(), "first trip not earlier than the others"),
            Some(Flag::Retest) if !named => add(test.detector, test.tag(), "not decided"),
            _ => {}
        }
    }
    rows
}

fn deficiencies(book: &Book, register: &Register, visit: &Visit) -> Vec<DeficiencyRow> {
    let all = [Disposition::OwnerNotified, Disposition::Corrected, Disposition::Replaced, Disposition::Abandoned];
    let mut rows: Vec<DeficiencyRow> = visit
        .deficiencies
        .iter()
        .map(|deficiency| {
            let note = deficiency.note.and_then(|note| book.words(note));
            let disposed: Vec<&str> = deficiency.disposed.iter().map(|how| words::disposition(*how)).collect();
            let frozen = visit.tests.iter().find(|test| Some(test.id) == deficiency.test);
            let tag = match (frozen, register.detectors.get(&deficiency.detector)) {
                (Some(test), _) => test.frozen.detector.place.tag.as_str(),
                (None, Some(detector)) => detector.tag(),
                (None, None) => "Detector not in the register here",
            };
            DeficiencyRow {
                hash: deficiency.hash,
                tag: tag.to_string(),
                what: match note {
                    Some(note) => format!("{}: {note}", words::fault(deficiency.fault)),
                    None => words::fault(deficiency.fault).to_string(),
                },
                disposed: disposed.join(", "),
                open: all.into_iter().filter(|how| !deficiency.disposed.contains(how)).collect(),
            }
        })
        .collect();
    rows = order::by_number(rows, |row| i64::from(!row.disposed.is_empty()));
    rows
}
