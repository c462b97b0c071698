//! What a visit comes to at one position, out of everything that was done there.
//!
//! Of one phone the last word counts, of several the worst. A repair or a replacement leaves nothing proven until a test comes after it.

use super::history::{Done, DoneWhat};
use super::outcome::Outcome;
use crate::book::Id;
use crate::book::body::{NotTestedWhy, Work};
use crate::book::entries::Book;
use crate::book::register::{Position, Register};
use crate::book::visit::{State, Visit};
use crate::order;
use crate::trade::conditions::Visual;
use std::collections::BTreeSet;

/// What it comes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Came {
    /// The worst of the last functional results.
    Result(Outcome),
    /// It was only checked electrically, without a fault: no functional test.
    Electrical(Outcome),
    /// It was repaired, and no test came after.
    Repaired,
    /// Its detector was replaced, and the new one was not tested.
    Replaced,
    /// The eye found afterwards what says that it cannot be relied on.
    Found(Visual),
    /// It was not tested, for a reason.
    NotTested(NotTestedWhy),
    /// It was only looked at; what was found first, if anything.
    Looked(Option<Visual>),
    /// Nothing was done, and nobody said why.
    Nothing,
}

/// What a visit comes to at one position.
#[derive(Clone, Debug, PartialEq)]
pub struct Standing<'a> {
    /// What it comes to.
    pub came: Came,
    /// The functional results it rests on: one, unless two phones tested it without knowing of each other.
    pub last: Vec<&'a Done>,
    /// The functional results before them.
    pub earlier: Vec<&'a Done>,
}

impl<'a> Standing<'a> {
    /// The functional result that it comes to: of several the worst, of equal ones the newest. None where something else was done since.
    pub fn deciding(&self) -> Option<&'a Done> {
        let result = matches!(self.came, Came::Result(_) | Came::Electrical(_));
        self.last.iter().copied().filter(|_| result).max_by_key(|one| (rank(one.outcome()), one.at))
    }
}

/// The positions in scope of a visit: those planned, and those at which something was done; without a plan all that the site had then.
pub fn in_scope(
    book: &Book,
    register: &Register,
    visit: &Visit,
    done_at: impl IntoIterator<Item = Id>,
) -> BTreeSet<Id> {
    let planned = visit.planned();
    let all = planned.is_empty();
    let over = visit.state(visit.record.latest) != State::Open;
    // What was hung up after the visit is none of its scope.
    let there = |position: &Position| {
        let first = position.installed.iter().filter_map(|of| book.get(of.hash)).map(|entry| entry.stamp.wall);
        !over || first.min().is_none_or(|hung| hung <= visit.record.latest)
    };
    let mut ids: Vec<Id> = planned.into_iter().chain(done_at).collect();
    if all {
        let here = register.areas_of(visit.site).into_iter();
        let here = here.flat_map(|(area, _)| register.positions_of(area));
        ids.extend(here.filter(|(_, position)| there(position)).map(|(id, _)| id));
    }
    order::set(ids)
}

/// By what positions are put in order: by area, then by number, then by tag. The text is made so that it sorts that way.
pub fn place_key(register: &Register, position: Id, area: Id, tag: &str) -> order::Key {
    let known = register.positions.get(&position);
    let number = known.and_then(|of| of.order.now()).map_or(i64::MAX, |order| order.number);
    let name = register.areas.get(&area).and_then(|of| of.now()).map_or("", |area| &area.name);
    (0, 0, format!("{name}\0{area}\0{:020}\0{tag}\0{position}", number.saturating_sub(i64::MIN / 2)))
}

/// The order in which results win where several stand side by side.
fn rank(outcome: Option<Outcome>) -> u8 {
    match outcome {
        Some(Outcome::Failed(_)) => 5,
        Some(Outcome::EarlyTrip) => 4,
        Some(Outcome::NotDecided) => 3,
        Some(Outcome::InProgress) => 2,
        Some(Outcome::NotVerified { .. }) => 1,
        Some(Outcome::Passed | Outcome::Mistake) | None => 0,
    }
}

/// The test that this one came knowingly after.
fn follows(done: &Done) -> Option<Id> {
    match &done.what {
        DoneWhat::Test(test) => test.frozen.follows,
        _ => None,
    }
}

fn test(done: &Done) -> Option<Id> {
    match &done.what {
        DoneWhat::Test(test) => Some(test.test),
        DoneWhat::Other(other, _) => Some(other.test),
        _ => None,
    }
}

/// What `done` at `position` in one visit comes to, in the order of time.
pub fn standing<'a>(visit: &Visit, position: Id, done: &'a [Done]) -> Standing<'a> {
    let removed: Vec<Id> =
        visit.work.iter().filter(|work| work.position == position).filter_map(|work| work.removed).collect();
    let counts = |done: &&Done| done.outcome().is_some_and(|outcome| outcome != Outcome::Mistake);
    let functional: Vec<&Done> = done.iter().filter(counts).collect();
    // Whose a result is that names no detector nobody can say once there were two.
    let hangs = |done: &&Done| removed.is_empty() || done.detector.is_some_and(|of| !removed.contains(&of));
    let current: Vec<&Done> = functional.iter().copied().filter(hangs).collect();
    // A check that warms nothing takes nothing away from a test, and proves nothing after one that failed.
    let electrical = current.iter().all(|one| one.is_electrical_only());
    let current: Vec<&Done> = current.into_iter().filter(|one| electrical || !one.is_electrical_only()).collect();
    let followed = |one: &Done| current.iter().any(|other| follows(other).is_some() && follows(other) == test(one));
    let later = |at: usize, one: &Done| current.iter().skip(at + 1).any(|other| other.phone == one.phone);
    let last = current.iter().enumerate().filter(|(at, one)| !followed(one) && !later(*at, one));
    let last: Vec<&Done> = last.map(|(_, one)| *one).collect();
    let earlier = functional.into_iter().filter(|one| !last.iter().any(|other| other.entry == one.entry)).collect();
    let came = match last.iter().max_by_key(|one| rank(one.outcome())) {
        Some(worst) => since(done, &last).unwrap_or_else(|| {
            let outcome = worst.outcome().unwrap_or(Outcome::NotDecided);
            if electrical { Came::Electrical(outcome) } else { Came::Result(outcome) }
        }),
        None if !removed.is_empty() => Came::Replaced,
        None => untested(done),
    };
    Standing { came, last, earlier }
}

/// What was done after the last results and leaves nothing of them proven.
fn since(done: &[Done], last: &[&Done]) -> Option<Came> {
    let at = last.iter().map(|one| one.at).max()?;
    let answered = |repair: &Done| {
        last.iter().any(|one| matches!(&one.what, DoneWhat::Test(test) if test.frozen.after == Some(repair.entry)))
    };
    let repaired = done.iter().filter(|one| one.at >= at && !answered(one));
    // Cleaning takes nothing away from what was tested.
    let mut repaired = repaired.filter(|one| matches!(one.what, DoneWhat::Repaired(of) if of != Work::Cleaned));
    if repaired.next().is_some() {
        return Some(Came::Repaired);
    }
    let look = done.iter().rfind(|one| matches!(one.what, DoneWhat::Visual(_))).filter(|look| look.at >= at)?;
    let DoneWhat::Visual(found) = &look.what else { return None };
    found.iter().find(|found| found.refuses_heat()).map(|found| Came::Found(*found))
}

fn untested(done: &[Done]) -> Came {
    let why = done.iter().rev().find_map(|one| match &one.what {
        DoneWhat::NotTested(of) => Some(of.why),
        _ => None,
    });
    let looked = done.iter().rev().find_map(|one| match &one.what {
        DoneWhat::Visual(found) => Some(found.iter().find(|found| found.refuses_heat()).or(found.first()).copied()),
        _ => None,
    });
    let repaired = done.iter().any(|one| matches!(one.what, DoneWhat::Repaired(of) if of != Work::Cleaned));
    match (why, looked) {
        (Some(why), _) => Came::NotTested(why),
        (None, _) if repaired => Came::Repaired,
        (None, Some(found)) => Came::Looked(found),
        (None, None) => Came::Nothing,
    }
}
