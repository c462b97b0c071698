//! What was done at each position over all visits known.

use super::judgement::AsRead;
use super::outcome::{AtPanel, Failed, Outcome, Restored, three};
use super::scores::Estimates;
use super::test::{TestFindings, findings};
use crate::book::Id;
use crate::book::body::{Answer, Body, Method, NotTested, OtherMethod, Point, TestStart, Work};
use crate::book::entries::Book;
use crate::book::entry::{Entry, Hash, Scope};
use crate::book::test::Test;
use crate::book::visit::{OtherResult, Visit, headings};
use crate::order;
use crate::trade::conditions::Visual;
use crate::units::{Celsius, Kelvin, TestTime, Wall};
use std::collections::BTreeMap;
use std::sync::Arc;

/// Something that was done at a position, or why it was not.
#[derive(Clone, Debug, PartialEq)]
pub struct Done {
    /// The position.
    pub position: Id,
    /// The visit.
    pub visit: Id,
    /// Whether the visit is closed: while it is open, more may follow.
    pub closed: bool,
    /// The phone that recorded it.
    pub phone: Id,
    /// The entry: the start of a test, else the fact itself.
    pub entry: Hash,
    /// The place of that entry in the chain of its phone.
    pub seq: i64,
    /// When it happened, UTC ms.
    pub at: Wall,
    /// The detector that hung there then; absent where nobody said.
    pub detector: Option<Id>,
    /// What it was.
    pub what: DoneWhat,
}

/// What was done.
#[derive(Clone, Debug, PartialEq)]
pub enum DoneWhat {
    /// A test with a heater.
    Test(Box<TestDone>),
    /// A functional result by a method without a temperature, and what it comes to.
    Other(Arc<OtherMethod>, Outcome),
    /// A visual check and what the eye found; empty where nothing is wrong.
    Visual(Vec<Visual>),
    /// It was not tested, and why.
    NotTested(Arc<NotTested>),
    /// It was repaired: what passed before says nothing of it now.
    Repaired(Work),
}

/// A test with a heater, as a list of years shows it.
#[derive(Clone, Debug, PartialEq)]
pub struct TestDone {
    /// The test.
    pub test: Id,
    /// What was frozen into it: position, detector and heater of the time.
    pub frozen: Arc<TestStart>,
    /// What its three results come to.
    pub outcome: Outcome,
    /// Mean of the counted trips and its expanded uncertainty, where there is a mean.
    pub operating: Option<(Celsius, Kelvin)>,
    /// How many of the counted trips have no reading.
    pub estimated: usize,
    /// The mean against the limits, by the last correction of the marking.
    pub as_read: Option<AsRead>,
}

impl Done {
    /// What a functional result comes to; none of what is no functional result.
    pub fn outcome(&self) -> Option<Outcome> {
        match &self.what {
            DoneWhat::Test(test) => Some(test.outcome),
            DoneWhat::Other(_, outcome) => Some(*outcome),
            DoneWhat::Visual(_) | DoneWhat::NotTested(_) | DoneWhat::Repaired(_) => None,
        }
    }

    /// Whether it counts as done: all three results of a functional test are good. An electrical check warms no element.
    pub fn passed(&self) -> bool {
        self.outcome() == Some(Outcome::Passed) && !self.is_electrical_only()
    }

    /// Whether it is an electrical check that found no fault: no functional test. One that found a fault is a failure like any other.
    pub fn is_electrical_only(&self) -> bool {
        matches!(&self.what, DoneWhat::Other(of, outcome) if is_electrical_only(of.method, *outcome))
    }
}

/// Whether a result by this method is an electrical check that found no fault.
pub fn is_electrical_only(method: Method, outcome: Outcome) -> bool {
    method == Method::Electrical && matches!(outcome, Outcome::Passed | Outcome::NotVerified { .. })
}

/// What was done in one visit, whose tests have these findings; by time, and what happened at once by entry.
pub fn of_visit(book: &Book, visit: &Visit, tests: &[TestFindings]) -> Vec<Done> {
    let known = order::map(visit.tests.iter().map(|test| (test.id, test)));
    let known = |found: &TestFindings| known.get(&found.test).map(|test| of_test(book, visit, test, found));
    let mut all: Vec<Done> = tests.iter().filter_map(known).collect();
    let standing = book.scope(Scope::Visit(visit.id)).filter(|entry| !book.is_void(entry));
    all.extend(standing.filter_map(|entry| of_entry(visit, entry)));
    in_order(all)
}

/// What was done at one position in all visits.
pub fn of_position(book: &Book, position: Id) -> Vec<Done> {
    let mut estimates = Estimates::default();
    let mut all = Vec::new();
    for heading in headings(book) {
        let here = |entry: &Entry| !book.is_void(entry) && happened(entry).is_some_and(|(of, _)| of == position);
        if !book.scope(Scope::Visit(heading.id)).any(here) {
            continue;
        }
        let Some(visit) = Visit::shared(book, heading.id) else { continue };
        let tests: Vec<TestFindings> = visit.tests_of(position).map(|test| found(book, test, &mut estimates)).collect();
        all.extend(of_visit(book, &visit, &tests).into_iter().filter(|done| done.position == position));
    }
    in_order(all)
}

/// What was done at every position of a site, each in the order of time, in one pass over its visits.
pub fn of_site(book: &Book, site: Id) -> BTreeMap<Id, Vec<Done>> {
    let mut estimates = Estimates::default();
    let mut all = Vec::new();
    for heading in headings(book).into_iter().filter(|heading| heading.site == site) {
        let Some(visit) = Visit::shared(book, heading.id) else { continue };
        let tests: Vec<TestFindings> = visit.tests.iter().map(|test| found(book, test, &mut estimates)).collect();
        all.push(of_visit(book, &visit, &tests));
    }
    by_position(all.into_iter().flatten().collect())
}

/// What was done, by position; each in the order of time.
pub fn by_position(all: Vec<Done>) -> BTreeMap<Id, Vec<Done>> {
    let mut positions: BTreeMap<Id, Vec<Done>> = BTreeMap::new();
    for done in in_order(all) {
        positions.entry(done.position).or_default().push(done);
    }
    positions
}

fn in_order(all: Vec<Done>) -> Vec<Done> {
    order::by(all, |done| (done.at.0, 0, done.entry.to_string()))
}

/// Findings of a test; one that has not ended is looked at as of its last mark, so that the answer does not depend on when it is asked.
fn found(book: &Book, test: &Test, estimates: &mut Estimates) -> TestFindings {
    let last = test.marks.last().map_or(TestTime::HEAT_ON, |mark| mark.at);
    findings(book, test, test.ended.map_or(last, |(_, end)| end), estimates)
}

fn of_test(book: &Book, visit: &Visit, test: &Test, found: &TestFindings) -> Done {
    Done {
        position: found.position,
        visit: visit.id,
        closed: !visit.closed.is_empty(),
        phone: test.phone,
        entry: test.start,
        seq: book.get(test.start).map_or(0, |start| start.seq),
        at: found.started_wall,
        detector: Some(found.frozen.detector.of),
        what: DoneWhat::Test(Box::new(TestDone {
            test: found.test,
            frozen: Arc::clone(&found.frozen),
            outcome: found.outcome,
            operating: found.operating.as_ref().ok().map(|operating| (operating.mean, operating.expanded)),
            estimated: found.operating.as_ref().map_or(0, |operating| operating.estimated),
            as_read: found.holding().last().and_then(|judgement| judgement.as_read),
        })),
    }
}

fn of_entry(visit: &Visit, entry: &Entry) -> Option<Done> {
    let (position, at, detector, what) = match &entry.body {
        Body::OtherMethod(of) => {
            // Whether it restored may have been said later.
            let other = visit.record.other_methods.iter().find(|other| other.said.hash == entry.hash);
            let outcome = other_outcome(of, other.map_or(of.restored, OtherResult::restored));
            (of.position, of.happened.at, of.detector, DoneWhat::Other(Arc::clone(of), outcome))
        }
        Body::VisualCheck(of) => (of.position, of.happened.at, of.detector, DoneWhat::Visual(of.found.clone())),
        Body::NotTested(of) => (of.position, of.happened.at, None, DoneWhat::NotTested(Arc::clone(of))),
        Body::Repaired(of) => (of.position, of.happened.at, None, DoneWhat::Repaired(of.work)),
        _ => return None,
    };
    let (closed, phone) = (!visit.closed.is_empty(), entry.chain.phone);
    Some(Done { position, visit: visit.id, closed, phone, entry: entry.hash, seq: entry.seq, at, detector, what })
}

/// At which position an entry says that something was done, and when; a test when it started.
pub fn happened(entry: &Entry) -> Option<(Id, Wall)> {
    Some(match &entry.body {
        Body::TestStarted(start) => (start.position.of, entry.stamp.wall),
        Body::OtherMethod(of) => (of.position, of.happened.at),
        Body::VisualCheck(of) => (of.position, of.happened.at),
        Body::NotTested(of) => (of.position, of.happened.at),
        Body::Repaired(of) => (of.position, of.happened.at),
        _ => return None,
    })
}

/// What a result by another method comes to.
pub fn other_outcome(of: &OtherMethod, restored: Answer) -> Outcome {
    let panel = match of.point {
        Point::Right => AtPanel::Right,
        Point::Wrong => AtPanel::Wrong(None),
        Point::NotThere => AtPanel::NotThere,
        Point::NotChecked => AtPanel::NotChecked,
    };
    let restored = match restored {
        Answer::Yes => Restored::Yes,
        Answer::No => Restored::No,
        Answer::NotChecked => Restored::NotChecked,
    };
    match of.tripped {
        // A laboratory has no panel, and what is used up there restores nothing.
        Answer::Yes if of.method == Method::Laboratory => {
            let (panel, restore) = (panel == AtPanel::Right, restored == Restored::Yes);
            if panel && restore { Outcome::Passed } else { Outcome::NotVerified { panel, restore } }
        }
        Answer::Yes => three(&panel, restored),
        Answer::No => Outcome::Failed(Failed::NoAlarm),
        Answer::NotChecked => Outcome::NotDecided,
    }
}
