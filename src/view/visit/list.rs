//! The positions of a visit: how each stands, and what its last test leaves to be said.

use crate::book::Id;
use crate::book::body::{Ending, NotTestedWhy, Point, What};
use crate::book::entry::Hash;
use crate::book::register::{Position, Register};
use crate::book::test::Test;
use crate::book::visit::{OtherResult, Visit};
use crate::findings::history::{is_electrical_only, other_outcome};
use crate::findings::{self, Failed, Outcome, VisitFindings};
use crate::units::Degree;
use crate::view::before::marking;
use crate::view::findings::{Sign, outcome_sign, state};
use crate::view::register::PROVISIONAL;
use crate::view::words;
use std::collections::BTreeSet;

/// How a position stands in this visit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Not tested yet.
    Due,
    /// A test is in progress.
    Running,
    /// The worst of all that its last test says.
    Tested(Sign, &'static str),
    /// Tested, and the numbers are still being worked out.
    Calculating,
    /// To be tested once more.
    Retest,
    /// Never heated.
    DoNotHeat,
    /// Not tested in this visit, for a reason.
    NotTested(NotTestedWhy),
    /// Another method that nobody saw trip: no result.
    NoResult,
}

impl Standing {
    /// In a word or two.
    pub fn words(self) -> &'static str {
        match self {
            Standing::Due => "Not tested",
            Standing::Running => "Testing",
            Standing::Tested(_, words) => words,
            Standing::Calculating => "Calculating",
            Standing::Retest => "Retest",
            Standing::DoNotHeat => "Do not heat",
            Standing::NotTested(why) => words::not_tested(why),
            Standing::NoResult => "Other method, not decided",
        }
    }

    /// Whether it has been tested.
    pub(super) fn is_tested(self) -> bool {
        matches!(self, Standing::Tested(..) | Standing::Calculating | Standing::Retest)
    }
}

/// What a functional test leaves to be said from the list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OpenResults {
    /// The test.
    pub test: Id,
    /// Whether it goes on: then what is said is a mark.
    pub running: bool,
    /// Whether nobody has marked a trip.
    pub trip: bool,
    /// Its first trip, while nobody has said what the panel showed.
    pub panel: Option<Hash>,
    /// Its first trip, while the panel showed a wrong point and nobody has said which.
    pub showed: Option<Hash>,
    /// Whether nobody has said whether it restored.
    pub restore: bool,
}

/// A position's row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PositionRow {
    /// Which.
    pub id: Id,
    /// Its tag.
    pub tag: String,
    /// Type, rating and tolerance.
    pub detail: String,
    /// How it stands.
    pub standing: Standing,
    /// The test in progress.
    pub running: Option<Id>,
    /// What its last test leaves to be said.
    pub open: Option<OpenResults>,
    /// Whether it is on the list of the visit.
    pub planned: bool,
}

/// The tests of what hangs in a position that no later one followed: one, unless two phones tested it without knowing of each other.
/// One that was stopped as a mistake is none, nor is that of a detector that was replaced.
fn last_tests<'a>(visit: &'a Visit, id: Id, position: &Position) -> Vec<&'a Test> {
    let mistake = |test: &&Test| matches!(test.ended, Some((Ending::Mistake, _)));
    let hangs = |test: &&Test| position.hanging().any(|installed| installed.detector == test.frozen.detector.of);
    let tests = visit.tests_of(id).filter(|test| !mistake(test) && (test.ended.is_none() || hangs(test)));
    let tests: Vec<&Test> = tests.collect();
    let followed = |one: &Test| tests.iter().any(|other| other.frozen.follows == Some(one.id));
    let later = |at: usize, one: &Test| tests.iter().skip(at + 1).any(|other| other.phone == one.phone);
    let last = tests.iter().enumerate().filter(|(at, test)| !followed(test) && !later(*at, test));
    last.map(|(_, test)| *test).collect()
}

/// The order in which standings win where several tests stand side by side.
fn rank(standing: Standing) -> u8 {
    match standing {
        Standing::DoNotHeat | Standing::Running => 0,
        Standing::Tested(Sign::Bad, _) => 1,
        Standing::Tested(Sign::BadHalf, _) => 2,
        Standing::Retest | Standing::Tested(Sign::Again, _) => 3,
        Standing::Tested(Sign::Open | Sign::Running, _) => 4,
        Standing::Calculating => 5,
        Standing::Tested(Sign::GoodHalf, _) => 6,
        Standing::Tested(Sign::Good, _) => 7,
        Standing::Due | Standing::NotTested(_) | Standing::NoResult => 8,
    }
}

pub(super) fn rows(
    register: &Register,
    visit: &Visit,
    found: Option<&VisitFindings>,
    area: Id,
    unit: Degree,
    planned: &BTreeSet<Id>,
) -> Vec<PositionRow> {
    let row = |(id, position): (Id, &Position)| {
        let lasts = last_tests(visit, id, position);
        let stands = |test: &&Test| standing(register, visit, found, Some(*test), (id, position));
        let last = lasts.into_iter().min_by_key(|test| rank(stands(test)));
        PositionRow {
            id,
            tag: position.tag().to_string(),
            detail: detail(register, visit, (id, position), unit),
            standing: standing(register, visit, found, last, (id, position)),
            running: last.filter(|test| test.ended.is_none()).map(|test| test.id),
            open: last.and_then(open_results),
            planned: planned.contains(&id),
        }
    };
    register.positions_of(area).into_iter().map(row).collect()
}

/// Type, rating and tolerance; of one that is not settled that too, and why it is tested once more.
fn detail(register: &Register, visit: &Visit, (id, position): (Id, &Position), unit: Degree) -> String {
    let marking = marking(register, position, unit);
    let marking = if position.provisional() { format!("{PROVISIONAL} · {marking}") } else { marking };
    match visit.reacceptance(id) {
        Some((why, _)) => format!("{} · {marking}", words::reaccepted(why)),
        None => marking,
    }
}

fn open_results(test: &Test) -> Option<OpenResults> {
    let running = test.ended.is_none();
    let trip = test.marks.iter().find(|mark| mark.what == What::Tripped);
    let Some(trip) = trip else {
        let asks = running && !test.frozen.procedure.is_set_point();
        let nothing = OpenResults { test: test.id, running, trip: true, panel: None, showed: None, restore: false };
        return asks.then_some(nothing);
    };
    // One with several trips is gone through on its own screen.
    if running && test.frozen.procedure.is_set_point() {
        return None;
    }
    let said = test.panel(trip.hash);
    let panel = said.is_none().then_some(trip.hash);
    let showed = (said == Some((Point::Wrong, None))).then_some(trip.hash);
    let restore = findings::restored_of(test) == findings::Restored::Pending;
    let open = panel.is_some() || showed.is_some() || restore;
    open.then_some(OpenResults { test: test.id, running, trip: false, panel, showed, restore })
}

/// The position after this one, in the order of the list, that is still to be tested: the next to go to.
pub fn next_after(register: &Register, visit: &Visit, position: Option<Id>) -> Option<(Id, String)> {
    let planned = visit.planned();
    let here = register.areas_of(visit.site).into_iter().flat_map(|(area, _)| register.positions_of(area));
    let here: Vec<(Id, &Position)> = here.collect();
    let open = |(id, of): &&(Id, &Position)| {
        let again = visit.retests.iter().any(|retest| retest.position == *id && !retest.taken);
        let busy = visit.active().any(|test| test.frozen.position.of == *id);
        let listed = planned.is_empty() || planned.contains(id);
        Some(*id) != position && !busy && ((listed && !visit.has_result(*id)) || again) && register.may_be_heated(of)
    };
    let at = here.iter().position(|(id, _)| Some(*id) == position).map_or(0, |at| at + 1);
    let (before, after) = here.split_at(at.min(here.len()));
    after.iter().chain(before).find(open).map(|(id, of)| (*id, of.tag().to_string()))
}

fn by_other_method(other: &OtherResult) -> Standing {
    if !other.is_result() {
        return Standing::NoResult;
    }
    let outcome = other_outcome(&other.said.what, other.restored());
    if is_electrical_only(other.said.what.method, outcome) {
        return Standing::Tested(Sign::Open, words::ELECTRICAL_ONLY);
    }
    let words = match outcome {
        Outcome::Passed => "Passed, other method",
        Outcome::Failed(Failed::NoAlarm) => "No alarm, other method",
        other => other.words(),
    };
    Standing::Tested(outcome_sign(outcome), words)
}

fn standing(
    register: &Register,
    visit: &Visit,
    found: Option<&VisitFindings>,
    last: Option<&Test>,
    (id, position): (Id, &Position),
) -> Standing {
    // What was done last of it counts, as in its history: a result before none, and before a reason.
    let others = visit.record.other_methods.iter().filter(|other| other.said.what.position == id);
    let other = others.max_by_key(|other| (other.is_result(), other.said.what.happened.at));
    let result = other.filter(|other| other.is_result()).map(|other| other.said.what.happened.at);
    let since = |test: &Test| test.ended.is_none() || result.is_none_or(|at| test.started_wall > at);
    let Some(test) = last.filter(|test| since(test)) else {
        if let Some(other) = other {
            return by_other_method(other);
        }
        if let Some(said) = visit.record.not_tested.iter().rfind(|said| said.what.position == id) {
            return Standing::NotTested(said.what.why);
        }
        return if register.may_be_heated(position) { Standing::Due } else { Standing::DoNotHeat };
    };
    if test.ended.is_none() {
        return Standing::Running;
    }
    let found = found.and_then(|found| found.tests.iter().find(|found| found.test == test.id));
    // What was found wrong after the test is said before what the test says.
    let looked = visit.visual_of(id).filter(|check| check.wall > test.started_wall);
    if let Some(found) = looked.and_then(|check| check.found.iter().find(|found| found.refuses_heat())) {
        return Standing::Tested(Sign::Bad, found.words());
    }
    let again = visit.reacceptance(id).is_some_and(|(_, since)| test.started_wall < since);
    let listed = again || visit.retests.iter().any(|retest| retest.position == id && !retest.taken);
    match found.map(state) {
        // What failed is said, whatever comes next.
        Some((sign, words)) if !listed || sign == Sign::Bad => Standing::Tested(sign, words),
        None if !listed => Standing::Calculating,
        _ => Standing::Retest,
    }
}
