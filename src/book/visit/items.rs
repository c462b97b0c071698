//! Items, work and the retest list of a visit.

use super::Visit;
use super::record::OtherResult;
use crate::book::Id;
use crate::book::body::{Answer, Body, Ending, Happened, ItemClosed, ItemFound, ItemWhat, Point, RetestWhy, What, Who};
use crate::book::early::early_so_far;
use crate::book::entries::Book;
use crate::book::entry::{Entry, Hash, Scope};
use crate::book::test::Test;
use crate::book::timeline::Timeline;
use crate::order;
use crate::trade::conditions::ItemClass;
use crate::units::{TestTime, Wall};
use std::sync::Arc;

/// Someone was notified of an item.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Told {
    /// Who was notified.
    pub to: Who,
    /// In writing.
    pub in_writing: bool,
    /// When.
    pub happened: Happened,
}

/// An observation, deficiency or impairment, and what became of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Item {
    /// The entry.
    pub hash: Hash,
    /// When it was recorded, wall clock, UTC ms.
    pub wall: Wall,
    /// As it was found.
    pub found: Arc<ItemFound>,
    /// Its latest class; none until one is chosen.
    pub class: Option<ItemClass>,
    /// Who was notified, in order.
    pub told: Vec<Told>,
    /// How it was closed, and by whom, in order.
    pub closed: Vec<(ItemClosed, Who)>,
    /// The tests that showed it, one for each closing; none where none was asked for.
    shown_by: Vec<Option<Id>>,
}

impl Item {
    /// Whether it is still to be dealt with.
    pub fn is_open(&self) -> bool {
        self.closed.is_empty()
    }

    /// The test that shows its last closing.
    pub fn shown_by(&self) -> Option<Id> {
        self.shown_by.last().copied().flatten()
    }

    fn close(&mut self, how: ItemClosed, shown: &Test) {
        self.closed.push((how, Who::Person(shown.frozen.by)));
        self.shown_by.push(Some(shown.id));
    }

    /// By when somebody is to be told in writing, UTC ms, where a site gives it so many hours from when it was found; none once it is done.
    pub fn written_due(&self, hours: u32) -> Option<Wall> {
        let due = self.found.happened.at.saturating_add(i64::from(hours) * 3_600_000);
        (self.is_open() && !self.told.iter().any(|told| told.in_writing)).then_some(due)
    }
}

/// A repair or a replacement at a position.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WorkDone {
    /// The entry.
    pub hash: Hash,
    /// The position.
    pub position: Id,
    /// The phone it was recorded on.
    pub phone: Id,
    /// When it was recorded, wall clock, UTC ms.
    pub wall: Wall,
    /// Whether the detector was replaced.
    pub replaced: bool,
    /// The detector that was taken out.
    pub removed: Option<Id>,
    /// The item it answers.
    pub item: Option<Hash>,
}

/// A position to be tested once more.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Retest {
    /// The entry.
    pub hash: Hash,
    /// The position.
    pub position: Id,
    /// The test that gave the reason.
    pub test: Option<Id>,
    /// Why.
    pub why: RetestWhy,
    /// Whether a later test of it has been started.
    pub taken: bool,
}

/// Items of any visit that are still to be dealt with, each with its position.
pub fn open_items(book: &Book) -> Vec<(Id, Item)> {
    let found = |entry: &&Entry| matches!(&entry.body, Body::ItemFound(found) if found.position.is_some());
    let mut open = Vec::new();
    for visit in super::visit_ids(book) {
        let here = book.scope(Scope::Visit(visit)).filter(found).any(|entry| !book.is_void(entry));
        let visit = if here { Visit::shared(book, visit) } else { None };
        let items = visit.iter().flat_map(|visit| &visit.items).filter(|item| item.is_open());
        open.extend(items.filter_map(|item| Some((item.found.position?, item.clone()))));
    }
    open
}

pub(super) fn fold(visit: &mut Visit, book: &Book, entry: &Entry) {
    let (hash, wall) = (entry.hash, entry.stamp.wall);
    let phone = entry.chain.phone;
    let work = |position: Id, removed: Option<Id>, item: Option<Hash>| {
        let replaced = removed.is_some();
        WorkDone { hash, position, phone, wall, replaced, removed, item }
    };
    match &entry.body {
        Body::ItemFound(found) => visit.items.push(item(book, entry, found)),
        Body::Repaired(repair) => visit.work.push(work(repair.position, None, repair.item)),
        Body::Replaced(replaced) => visit.work.push(work(replaced.position, Some(replaced.removed), replaced.item)),
        Body::RetestListed { position, test, why } => {
            visit.retests.push(Retest { hash, position: *position, test: *test, why: *why, taken: false });
        }
        _ => {}
    }
}

fn item(book: &Book, entry: &Entry, found: &Arc<ItemFound>) -> Item {
    let named = order::by(book.naming(entry.hash).collect(), |named: &&Entry| {
        (named.stamp.wall.0, named.seq, named.hash.to_string())
    });
    let mut item = Item {
        hash: entry.hash,
        wall: entry.stamp.wall,
        found: Arc::clone(found),
        class: found.class,
        told: Vec::new(),
        closed: Vec::new(),
        shown_by: Vec::new(),
    };
    for named in named {
        match &named.body {
            Body::ItemClassed { class, .. } => item.class = Some(*class),
            Body::ItemTold(of) => {
                item.told.push(Told { to: of.to, in_writing: of.in_writing, happened: of.happened });
            }
            Body::ItemClosed(of) => {
                // Work that was taken back closed nothing.
                let stands = |work: Hash| book.get(work).is_none_or(|entry| !book.is_void(entry));
                if of.evidence.is_none_or(stands) {
                    item.closed.push((of.how, of.by));
                    item.shown_by.push(of.test);
                }
            }
            _ => {}
        }
    }
    item
}

/// Once the tests are there: which retests were made.
pub(super) fn settle(visit: &mut Visit) {
    let real = visit.tests.iter().filter(|test| !matches!(test.ended, Some((Ending::Mistake, _))));
    let follows = order::set(real.filter_map(|test| test.frozen.follows));
    visit.retests.iter_mut().for_each(|retest| retest.taken = retest.test.is_some_and(|test| follows.contains(&test)));
    // What was closed by a test that has not passed after all is open again.
    let tests = &visit.tests;
    let holds = |shown: &Option<Id>| shown.is_none_or(|id| tests.iter().find(|test| test.id == id).is_none_or(passed));
    for item in &mut visit.items {
        let mut holding = item.shown_by.iter().map(holds);
        item.closed.retain(|_| holding.next().unwrap_or(true));
        item.shown_by.retain(holds);
    }
    visit.items = order::by_number(std::mem::take(&mut visit.items), |item| item.wall.0);
    visit.work = order::by_number(std::mem::take(&mut visit.work), |work| work.wall.0);
    close_replaced(visit);
    close_swapped(visit);
}

/// What a replacement answers is closed by itself once the new detector has passed the test after it: the item that it names, and what a
/// test of the old one showed of the detector itself.
fn close_replaced(visit: &mut Visit) {
    let Visit { items, work, tests, .. } = visit;
    for work in work.iter().filter(|work| work.replaced) {
        let proof = tests.iter().find(|test| test.frozen.after == Some(work.hash) && passed(test));
        let Some(proof) = proof else { continue };
        let old = |test: &Option<Id>| {
            let of = tests.iter().find(|of| Some(of.id) == *test);
            of.is_some_and(|of| Some(of.frozen.detector.of) == work.removed)
        };
        for item in items.iter_mut().filter(|item| item.is_open() && item.found.position == Some(work.position)) {
            let of_detector = matches!(
                item.found.what,
                ItemWhat::OperationNotProven | ItemWhat::StaysInAlarm | ItemWhat::OutsideLimits
            );
            if work.item == Some(item.hash) || (of_detector && old(&item.found.test)) {
                item.close(ItemClosed::ReplacedAndTested, proof);
            }
        }
    }
}

/// Swapped points are closed by themselves, with the wrong points that showed it, once the last tests of both positions since have passed.
fn close_swapped(visit: &mut Visit) {
    let Visit { items, tests, record, .. } = visit;
    let swapped = items.iter().filter(|item| item.is_open() && item.found.what == ItemWhat::SwappedPoints);
    let swapped: Vec<_> =
        swapped.filter_map(|item| Some((item.wall, [item.found.position?, item.found.other_position?]))).collect();
    for (since, both) in swapped {
        let shown = both.map(|position| passed_since(tests, &record.other_methods, position, since));
        let [Some(one), Some(other)] = shown else { continue };
        let shown = if one.started_wall > other.started_wall { one } else { other };
        let answered = |item: &&mut Item| {
            let pair = [item.found.position, item.found.other_position] == both.map(Some);
            let wrong = item.found.position.is_some_and(|position| both.contains(&position));
            item.is_open()
                && item.wall <= since
                && match item.found.what {
                    ItemWhat::SwappedPoints => pair,
                    ItemWhat::WrongPoint => wrong,
                    _ => false,
                }
        };
        items.iter_mut().filter(answered).for_each(|item| item.close(ItemClosed::PassedLater, shown));
    }
}

/// The newest test of a position that has passed since, where the last result of no phone says otherwise: of several phones the worst counts.
fn passed_since<'a>(tests: &'a [Test], others: &[OtherResult], position: Id, since: Wall) -> Option<&'a Test> {
    let of = |test: &&Test| test.frozen.position.of == position && test.started_wall >= since;
    let real = |test: &&Test| !matches!(test.ended, Some((Ending::Mistake, _)));
    let tests: Vec<&Test> = tests.iter().filter(of).filter(real).collect();
    // Who started one test knowingly after another has answered it.
    let answered = |of: Id| tests.iter().any(|test| test.frozen.follows == Some(of));
    let again = |phone: Id, from: usize| tests.iter().skip(from).any(|test| test.phone == phone);
    let stands = |(at, test): &(usize, &&Test)| !answered(test.id) && !again(test.phone, at + 1);
    let mut standing = tests.iter().enumerate().filter(stands);
    let against = |other: &OtherResult| {
        let (of, phone) = (&other.said.what, other.said.phone);
        let bad = of.tripped != Answer::Yes || of.point != Point::Right || of.restored == Answer::No;
        let from = tests.iter().position(|test| test.started_wall >= of.happened.at).unwrap_or(tests.len());
        bad && of.position == position && of.happened.at >= since && !answered(of.test) && !again(phone, from)
    };
    let all = standing.all(|(_, test)| passed(test)) && !others.iter().any(against);
    tests.iter().copied().rfind(|test| all && passed(test))
}

/// Whether all three results of a test are good, and its trip is this detector's as far as readings and time say.
pub fn passed(test: &Test) -> bool {
    let good = matches!(test.ended, Some((Ending::Done | Ending::StoppedEarly, _)));
    let trip = test.marks.iter().rfind(|mark| mark.what == What::Tripped);
    // As in the findings: asked at one trip or at all, right at one and wrong at none.
    let trips = test.marks.iter().filter(|mark| mark.what == What::Tripped);
    let points: Vec<Point> = trips.filter_map(|mark| test.panel(mark.hash)).map(|(point, _)| point).collect();
    let wrong = |point: &Point| matches!(point, Point::Wrong | Point::NotThere);
    let point = points.contains(&Point::Right) && !points.iter().any(wrong);
    let marked =
        trip.is_some_and(|trip| test.marks.iter().any(|mark| mark.what == What::Restored && mark.at >= trip.at));
    let said = test.restored_word();
    let all = good && point && said.map_or(marked, |said| said == Answer::Yes);
    all && early_so_far(test, &Timeline::of(test, TestTime::MAX)).is_none_or(|early| early.confirmed)
}
