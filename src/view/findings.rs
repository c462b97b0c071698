//! The Findings screen: the runs of a round by area, odd ones first, what to look at again and what is wrong.

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
use crate::book::round::Round;
use crate::findings::{
    Earlier, Family, Judgement, Missing, NoLimits, NoOperating, Odd, Operated, RoundFindings, RunFindings, Unknown,
    statement_words,
};
use crate::order;
use crate::stats::Statement;
use crate::units::Degree;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Title of the place.
pub const TITLE: &str = "Findings";
/// Shown while there is no run: title and what to do.
pub const NOTHING: (&str, &str) =
    ("No run yet", "Each run shows up here with what its numbers say. Start one on the Round screen.");
/// Shown beside the list while none is picked.
pub const PICK: (&str, &str) = ("No run picked", "Pick a run in the list to see it in full.");
/// Key that leads to the round.
pub const TO_ROUND: &str = "To the round";
/// Heading of the list of detectors to be run once more.
pub const AGAIN: &str = "Look again";
/// Heading of the list of deficiencies.
pub const DEFICIENCIES: &str = "Deficiencies";
/// Said of a deficiency that nothing has become of.
pub const OPEN_DEFICIENCY: &str = "Nothing done yet. What became of it?";
/// Shown while the numbers are worked out: word and sentence.
pub const WORKING: (&str, &str) = ("Working out", "The numbers of this round are being worked out.");
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
    /// Look again.
    Again,
    /// Not decided.
    Open,
    /// Goes on.
    Running,
}

/// One run in the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FindingRow {
    /// The run.
    pub run: Id,
    /// The detector's tag.
    pub tag: String,
    /// Its state by shape.
    pub sign: Sign,
    /// Its state in words.
    pub word: &'static str,
    /// Operated, operating temperature, as read, what is missing, as found or as left.
    pub detail: String,
}

/// The runs of one area. Its rows are shaped when they are drawn, area by area: a round can have a thousand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AreaRuns {
    /// The area's name.
    pub name: String,
    /// How many runs ask for attention, in words.
    pub odd: String,
    area: Id,
    /// Where its runs stand among the findings, odd ones first.
    places: Vec<usize>,
    /// The runs of the round that a later one follows.
    followed: Arc<BTreeSet<Id>>,
}

impl AreaRuns {
    /// How many runs it has.
    pub fn count(&self) -> usize {
        self.places.len()
    }

    /// So many of its runs from one on, odd ones first.
    pub fn rows(&self, found: &RoundFindings, unit: Degree, from: usize, most: usize) -> Vec<FindingRow> {
        let runs = self.places.iter().skip(from).take(most).filter_map(|place| found.runs.get(*place));
        runs.map(|run| row(run, self.followed.contains(&run.run), unit)).collect()
    }

    /// Those of its runs that can be held side by side and compared.
    pub fn families(&self, found: &RoundFindings, unit: Degree) -> Vec<FamilyView> {
        let here = found.families.iter().filter(|family| family.area == self.area && family.members.len() > 1);
        here.map(|family| FamilyView::of(family, unit)).collect()
    }
}

/// A detector to be run once more.
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
    /// Detectors to be run once more.
    pub again: Vec<AgainRow>,
    /// What is wrong; open ones first.
    pub deficiencies: Vec<DeficiencyRow>,
    /// The runs by area; areas with odd ones first.
    pub areas: Vec<AreaRuns>,
}

impl FindingsScreen {
    /// Shapes the findings of a round.
    pub fn of(book: &Book, register: &Register, round: &Round, found: &RoundFindings) -> FindingsScreen {
        let site = register.sites.get(&round.site).and_then(|site| site.now()).map_or("", |site| site.name.as_str());
        let odd = found.runs.iter().filter(|run| run.odd.is_some()).count();
        FindingsScreen {
            detail: format!("{site} · {} · {}", count(found.runs.len(), "run", "runs"), asking(odd)),
            again: again(round, found),
            deficiencies: deficiencies(book, register, round),
            areas: areas(register, round, found),
        }
    }
}

pub(super) fn count(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}

fn asking(odd: usize) -> String {
    match odd {
        0 => "none odd".into(),
        odd => format!("{odd} odd"),
    }
}

fn areas(register: &Register, round: &Round, found: &RoundFindings) -> Vec<AreaRuns> {
    let area_of = order::map(round.runs.iter().map(|run| (run.id, run.frozen.detector.place.area)));
    let followed = Arc::new(order::set(found.runs.iter().filter_map(|run| run.follows)));
    // The first run of an area in the order of the round is its gravest one, so the areas come in that order.
    let mut order: Vec<Id> = Vec::new();
    let mut places: BTreeMap<Id, Vec<usize>> = BTreeMap::new();
    for (place, run) in found.runs.iter().enumerate() {
        let area = area_of.get(&run.run).copied().unwrap_or_default();
        if !places.contains_key(&area) {
            order.push(area);
        }
        places.entry(area).or_default().push(place);
    }
    let shaped = order.into_iter().filter_map(|area| {
        let places = places.remove(&area)?;
        let known = register.areas.get(&area).and_then(|area| area.now());
        let odd = places.iter().filter(|place| found.runs.get(**place).is_some_and(|run| run.odd.is_some()));
        Some(AreaRuns {
            name: known.map_or_else(|| "Area not in the register here".to_string(), |area| area.name.clone()),
            odd: asking(odd.count()),
            area,
            places,
            followed: Arc::clone(&followed),
        })
    });
    shaped.collect()
}

fn row(found: &RunFindings, followed: bool, unit: Degree) -> FindingRow {
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
    FindingRow { run: found.run, tag: found.tag().to_owned(), sign, word, detail: parts.join(" · ") }
}

/// Whether a run is as found, as left, or one between.
pub fn standing(found: &RunFindings, followed: bool) -> &'static str {
    match (found.follows, followed) {
        (None, _) => "as found",
        (Some(_), false) => "as left",
        (Some(_), true) => "between as found and as left",
    }
}

/// The state of a run by shape and word.
pub fn state(found: &RunFindings) -> (Sign, &'static str) {
    if let Some(odd) = found.odd {
        let sign = match odd {
            Odd::ConditionalFail => Sign::BadHalf,
            Odd::OddOneOut | Odd::LookAgain => Sign::Again,
            _ => Sign::Bad,
        };
        return (sign, odd.words());
    }
    let stated = found.holding().iter().filter_map(|judgement| judgement.statement.as_ref().ok());
    // Without an odd one, what is left are passes; of several judgements the lesser counts.
    let least = stated.map(|stated| stated.statement).max_by_key(|statement| *statement != Statement::Pass);
    match (least, found.operated) {
        (Some(Statement::Pass), _) => (Sign::Good, statement_words(Statement::Pass)),
        (Some(statement), _) => (Sign::GoodHalf, statement_words(statement)),
        (None, Operated::Yes { .. }) => (Sign::Good, "Operated"),
        (None, Operated::No { .. }) => (Sign::Bad, Odd::DidNotOperate.words()),
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
    match &judgement.statement {
        Ok(stated) => Some(statement_words(stated.statement).to_ascii_lowercase()),
        // A response check is not meant to have one.
        Err(missing) if missing.contains(&Missing::ResponseCheck) => None,
        Err(missing) => {
            let mut short: Vec<&str> = missing.iter().map(missing_short).collect();
            short.dedup();
            (!short.is_empty()).then(|| format!("no statement: {}", short.join(", ")))
        }
    }
}

/// What is missing for a statement, in a word or two; the run in full says how to get it.
pub fn missing_short(missing: &Missing) -> &'static str {
    match missing {
        Missing::Operating(NoOperating::Running) => "run not over",
        Missing::Operating(NoOperating::Stopped(_)) => "run stopped",
        Missing::Operating(NoOperating::NoCountedTrip) => "no counted trip",
        Missing::Operating(NoOperating::ClimbWithoutTrip(_)) => "a climb without a trip",
        Missing::Operating(NoOperating::NotRead(_)) => "readings missing",
        Missing::Operating(NoOperating::OutOfRange) => "a reading out of range",
        Missing::Limits(NoLimits::NoSetPoint) => "no set point",
        Missing::Limits(NoLimits::NoRating) => "rating missing",
        Missing::Limits(NoLimits::NoTolerance) => "tolerance missing",
        Missing::Limits(NoLimits::ClassOnly) => "limits for this method missing",
        Missing::Limits(NoLimits::Crossed) => "tolerance crossed",
        Missing::Part(Unknown::Calibration) => "calibration missing",
        Missing::Part(Unknown::Coupling) => "coupling missing",
        Missing::Part(Unknown::Resolution) => "step of the display missing",
        Missing::Part(Unknown::NoticeDelay) => "delay of the sign not in the budget",
        Missing::Part(Unknown::Spread) => "one counted trip only",
        Missing::Estimated { .. } => "trips estimated",
        Missing::ResponseCheck => "a response check",
        Missing::FewerTrips { .. } => "too few counted trips",
    }
}

fn again(round: &Round, found: &RoundFindings) -> Vec<AgainRow> {
    let mut rows: Vec<AgainRow> = Vec::new();
    let mut add = |detector: Id, tag: &str, why: &str| match rows.iter_mut().find(|row| row.detector == detector) {
        Some(row) if row.why.contains(why) => {}
        Some(row) => row.why = format!("{}, {why}", row.why),
        None => rows.push(AgainRow { detector, tag: tag.to_string(), why: why.to_string() }),
    };
    let flagged = order::set(found.families.iter().flat_map(Family::flagged).map(|member| member.run));
    let followed = order::set(found.runs.iter().filter_map(|run| run.follows));
    for run in &found.runs {
        let asked = round.again.iter().filter(|again| again.run == run.run && !again.taken);
        let mut named = false;
        for again in asked {
            add(run.detector, run.tag(), words::again(again.why));
            named = true;
        }
        if followed.contains(&run.run) {
            continue;
        }
        let late = run.first.as_ref().is_some_and(|first| first.earlier == Earlier::NotEarlier);
        match run.odd {
            // Also where its limits say something graver.
            _ if flagged.contains(&run.run) => add(run.detector, run.tag(), "odd one out among its neighbours"),
            Some(Odd::LookAgain) if late => add(run.detector, run.tag(), "first trip not earlier than the others"),
            Some(Odd::LookAgain) if !named => add(run.detector, run.tag(), "not decided"),
            _ => {}
        }
    }
    rows
}

fn deficiencies(book: &Book, register: &Register, round: &Round) -> Vec<DeficiencyRow> {
    let all = [Disposition::OwnerNotified, Disposition::Corrected, Disposition::Replaced, Disposition::Abandoned];
    let mut rows: Vec<DeficiencyRow> = round
        .deficiencies
        .iter()
        .map(|deficiency| {
            let note = deficiency.note.and_then(|note| book.words(note));
            let disposed: Vec<&str> = deficiency.disposed.iter().map(|how| words::disposition(*how)).collect();
            let frozen = round.runs.iter().find(|run| Some(run.id) == deficiency.run);
            let tag = match (frozen, register.detectors.get(&deficiency.detector)) {
                (Some(run), _) => run.frozen.detector.place.tag.as_str(),
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
