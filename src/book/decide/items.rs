//! Items, repairs and replacements.

use super::super::Id;
use super::super::body::{
    Body, Happened, ItemClosed, ItemClosing, ItemFound, ItemTelling, ItemWhat, Removal, RemovedWhy, Repair, Replaced,
    Who, Work,
};
use super::super::command::{At, ReplaceDetector};
use super::super::entries::Book;
use super::super::entry::{Entry, Hash, Scope};
use super::super::refusal::Refusal;
use super::super::register::Register;
use super::super::test::Test;
use super::super::visit::{Visit, headings, passed};
use super::{Drafts, draft, fields, in_visit, open_visit, open_visits};
use crate::trade::conditions::ItemClass;

pub(super) fn item(
    at: At,
    what: ItemWhat,
    class: Option<ItemClass>,
    position: Option<Id>,
    test: Option<Id>,
    note: Option<Hash>,
    happened: Happened,
) -> ItemFound {
    let by = at.who.map(Who::Person);
    ItemFound {
        what,
        class,
        position,
        other_position: None,
        circuit: None,
        test,
        visual: Vec::new(),
        note,
        remedy: None,
        photo: None,
        by,
        happened,
    }
}

pub(super) fn find(book: &Book, at: At, visit: Id, found: ItemFound) -> Drafts {
    let open = open_visit(book, visit)?;
    fields::happened(at, found.happened)?;
    if found.position.is_some_and(|position| !Register::of(book).positions.contains_key(&position)) {
        return Err(Refusal::UnknownPosition);
    }
    if found.test.is_some_and(|test| !open.tests.iter().any(|other| other.id == test)) {
        return Err(Refusal::UnknownTest);
    }
    in_visit(visit, Body::ItemFound(found.into()))
}

/// The item, which may be one of an earlier visit; what is said of it goes to this phone's chain of the same visit.
fn known(book: &Book, item: Hash) -> Result<(&Entry, &ItemFound), Refusal> {
    let entry = book.get(item).filter(|entry| !book.is_void(entry)).ok_or(Refusal::NothingToEnd)?;
    match &entry.body {
        Body::ItemFound(found) => Ok((entry, found)),
        _ => Err(Refusal::NothingToEnd),
    }
}

pub(super) fn class(book: &Book, at: At, item: Hash, class: ItemClass) -> Drafts {
    let (entry, _) = known(book, item)?;
    let by = at.who.ok_or(Refusal::NoPerson)?;
    Ok(vec![draft(entry.chain.scope, Body::ItemClassed { item, class, by })])
}

pub(super) fn tell(book: &Book, at: At, item: Hash, to: Who, in_writing: bool, happened: Happened) -> Drafts {
    let (entry, _) = known(book, item)?;
    let by = Who::Person(at.who.ok_or(Refusal::NoPerson)?);
    fields::happened(at, happened)?;
    Ok(vec![draft(entry.chain.scope, Body::ItemTold(ItemTelling { item, to, in_writing, by, happened }.into()))])
}

pub(super) fn close(
    book: &Book,
    at: At,
    item: Hash,
    how: ItemClosed,
    by: Who,
    note: Option<Hash>,
    happened: Happened,
) -> Drafts {
    let (entry, found) = known(book, item)?;
    fields::happened(at, happened)?;
    let scope = entry.chain.scope;
    let Scope::Visit(visit) = scope else { return Err(Refusal::NothingToEnd) };
    let visit = Visit::of(book, visit).ok_or(Refusal::NoOpenVisit)?;
    if !visit.items.iter().any(|other| other.hash == item && other.is_open()) {
        return Err(Refusal::NothingToEnd);
    }
    let (mut test, mut evidence) = (None, None);
    if matches!(how, ItemClosed::RepairedAndTested | ItemClosed::ReplacedAndTested | ItemClosed::PassedLater) {
        let position = found.position.ok_or(Refusal::NoPassedTest)?;
        // What shows it may be of a later visit at the site.
        let of_site = headings(book).into_iter().filter(|heading| heading.site == visit.site);
        let all: Vec<_> = of_site.filter_map(|heading| Visit::shared(book, heading.id)).collect();
        let work = match how {
            ItemClosed::PassedLater => None,
            _ => {
                let replaced = how == ItemClosed::ReplacedAndTested;
                let done = all.iter().flat_map(|visit| &visit.work);
                let done = done.filter(|done| done.position == position && done.replaced == replaced);
                Some(done.max_by_key(|done| done.wall).ok_or(Refusal::NoWorkDone { replaced })?.hash)
            }
        };
        // After work the test that follows it; without, any later one than the test that showed the item.
        let shown = visit.tests.iter().position(|test| Some(test.id) == found.test);
        let after_it = |of: &Visit, index: usize, test: &Test| match shown.filter(|_| of.id == visit.id) {
            Some(shown) => index > shown,
            None => test.started_wall >= entry.stamp.wall,
        };
        let tests = all.iter().flat_map(|of| of.tests.iter().enumerate().map(move |(index, test)| (of, index, test)));
        let later = tests.filter(|(of, index, test)| after_it(of, *index, test)).map(|(.., test)| test);
        let of = later.filter(|test| test.frozen.position.of == position);
        let passed = of.filter(|test| passed(test)).find(|test| work.is_none() || test.frozen.after == work);
        test = Some(passed.ok_or(Refusal::NoPassedTest)?.id);
        evidence = work;
    }
    Ok(vec![draft(scope, Body::ItemClosed(ItemClosing { item, how, test, evidence, by, note, happened }.into()))])
}

#[expect(clippy::too_many_arguments, reason = "the fields of the entry")]
pub(super) fn repair(
    book: &Book,
    at: At,
    visit: Id,
    position: Id,
    work: Work,
    item: Option<Hash>,
    note: Option<Hash>,
    happened: Happened,
) -> Drafts {
    open_visit(book, visit)?;
    fields::happened(at, happened)?;
    if !Register::of(book).positions.contains_key(&position) {
        return Err(Refusal::UnknownPosition);
    }
    item.map_or(Ok(()), |item| known(book, item).map(|_| ()))?;
    let by = Who::Person(at.who.ok_or(Refusal::NoPerson)?);
    in_visit(visit, Body::Repaired(Repair { position, work, item, note, by, happened }.into()))
}

/// Takes a detector out of its position and hangs another one in: the register and the visit both say so, in one decision. Outside of a
/// visit the register alone says it: what the new one does is open until a test of it has passed.
pub(super) fn replace(book: &Book, at: At, replace: ReplaceDetector) -> Drafts {
    let ReplaceDetector { visit, position, new, why, item, note, by, happened } = replace;
    let open = visit.map(|visit| open_visit(book, visit)).transpose()?;
    fields::happened(at, happened)?;
    item.map_or(Ok(()), |item| known(book, item).map(|_| ()))?;
    let register = Register::of(book);
    let of = register.positions.get(&position).ok_or(Refusal::UnknownPosition)?;
    let site = register.site_of(position).ok_or(Refusal::UnknownPosition)?;
    // The record of another site is no place for it.
    if open.is_some_and(|visit| visit.site != site) {
        return Err(Refusal::UnknownPosition);
    }
    let site = Scope::Site(site);
    let old = of.hanging().next();
    if open_visits(book).any(|visit| visit.active().any(|test| test.frozen.position.of == position)) {
        return Err(Refusal::PositionBusy);
    }
    let installed = new.as_ref().map(|(id, ..)| *id);
    let removed = old.map(|old| old.detector);
    match visit {
        Some(_) if removed.is_none() => return Err(Refusal::NoDetector),
        // A place that stays empty is an item, and items belong to a visit.
        None if installed.is_none() && why != RemovedWhy::PositionGone => return Err(Refusal::NoOpenVisit),
        _ => {}
    }
    let mut drafts = Vec::new();
    // Where two phones hung one each, both come out.
    for old in of.hanging() {
        let (detector, ends, happened) = (old.detector, old.hash, Some(happened));
        drafts.push(draft(site, Body::DetectorRemoved(Removal { detector, ends, why, happened }.into())));
    }
    if let Some((detector, marking, make)) = new {
        fields::marking(&marking)?;
        fields::check(&make)?;
        drafts.push(draft(site, Body::DetectorInstalled { detector, position, happened: Some(happened) }));
        let edit = |body| draft(site, body);
        drafts.push(edit(Body::DetectorMarking(super::super::body::Edit::new(detector, Vec::new(), marking))));
        if !make.is_empty() {
            drafts.push(edit(Body::DetectorMake(super::super::body::Edit::new(detector, Vec::new(), make))));
        }
    }
    let Some((visit, removed)) = visit.zip(removed) else { return Ok(drafts) };
    let replaced = Replaced { position, removed, installed, why, item, note, by, happened };
    drafts.push(draft(Scope::Visit(visit), Body::Replaced(replaced.into())));
    if installed.is_none() && why != RemovedWhy::PositionGone {
        // Its circuit goes with it: another detector on it is to be operated.
        let circuit = of.place.now().and_then(|place| place.circuit);
        let found = self::item(at, ItemWhat::Removed, None, Some(position), None, note, happened);
        let found = ItemFound { circuit, ..found };
        drafts.push(draft(Scope::Visit(visit), Body::ItemFound(found.into())));
    }
    Ok(drafts)
}
