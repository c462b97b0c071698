//! Opening and closing steps of a visit.

use super::super::Id;
use super::super::body::{Body, Disposition, Fault, Told, Watcher};
use super::super::command::At;
use super::super::entry::{Chain, Hash, Scope};
use super::super::log::Book;
use super::super::refusal::{Field, Refusal};
use super::super::register::Register;
use super::super::seal::Draft;
use super::super::visit::Visit;
use super::{draft, fields};
use crate::trade::conditions::Visual;

type Drafts = Result<Vec<Draft>, Refusal>;

/// The visit, if it is open.
pub(super) fn open_visit(book: &Book, id: Id) -> Result<Visit, Refusal> {
    Visit::of(book, id).filter(|visit| visit.closed.is_empty()).ok_or(Refusal::NoOpenVisit)
}

fn one(visit: Id, body: Body) -> Drafts {
    Ok(vec![draft(Scope::Visit(visit), body)])
}

pub(super) fn open(book: &Book, at: At, visit: Id, site: Id) -> Drafts {
    if !Register::of(book).sites.contains_key(&site) {
        return Err(Refusal::UnknownSite);
    }
    if let Some(known) = Visit::of(book, visit) {
        if !known.closed.is_empty() || known.site != site {
            return Err(Refusal::NoOpenVisit);
        }
        if book.tip(Chain { scope: Scope::Visit(visit), phone: at.phone }).is_some() {
            return Ok(Vec::new());
        }
    }
    one(visit, Body::VisitOpened { site })
}

pub(super) fn close(book: &Book, id: Id) -> Drafts {
    let visit = open_visit(book, id)?;
    let (tests, ends) = (visit.active().count(), visit.open_ends());
    if tests + ends > 0 {
        return Err(Refusal::VisitNotOver { tests, ends });
    }
    one(id, Body::VisitClosed {})
}

pub(super) fn tell(book: &Book, visit: Id, whom: Watcher, when: Told, by: Option<Id>) -> Drafts {
    open_visit(book, visit)?;
    one(visit, Body::WatcherTold { whom, when, by })
}

pub(super) fn take_out(book: &Book, visit: Id, circuit: Option<Id>) -> Drafts {
    open_visit(book, visit)?;
    one(visit, Body::OutOfService { circuit })
}

pub(super) fn put_back(book: &Book, outage: Hash) -> Drafts {
    end_of(book, outage, |body| matches!(body, Body::OutOfService { .. }), Body::BackInService { ends: outage })
}

pub(super) fn secure(book: &Book, visit: Id, release: String, by: Id) -> Drafts {
    fields::name("What is secured", &release)?;
    open_visit(book, visit)?;
    one(visit, Body::Secured { release, by })
}

pub(super) fn restore(book: &Book, securing: Hash, by: Id) -> Drafts {
    end_of(book, securing, |body| matches!(body, Body::Secured { .. }), Body::Restored { ends: securing, by })
}

/// Ends something that is in force. The end goes to this phone's chain of the same visit, whoever began it.
fn end_of(book: &Book, target: Hash, fits: fn(&Body) -> bool, end: Body) -> Drafts {
    let entry = book.get(target).filter(|entry| fits(&entry.body)).ok_or(Refusal::NothingToEnd)?;
    let kind = std::mem::discriminant(&end);
    let ended = book.naming(target).any(|other| std::mem::discriminant(&other.body) == kind);
    if ended || book.is_void(target) {
        return Err(Refusal::NothingToEnd);
    }
    Ok(vec![draft(entry.chain.scope, end)])
}

pub(super) fn permit(
    book: &Book,
    visit: Id,
    area: Option<Id>,
    number: String,
    gas_test: String,
    tested_at: i64,
    until: i64,
) -> Drafts {
    fields::name("Permit number", &number)?;
    fields::name("Gas test", &gas_test)?;
    fields::moment("Time of the gas test", tested_at)?;
    fields::moment("Permit holds until", until)?;
    if until <= tested_at {
        return Err(Refusal::Field(Field::Date { name: "Permit holds until" }));
    }
    open_visit(book, visit)?;
    one(visit, Body::PermitTaken { area, number, gas_test, tested_at, until })
}

pub(super) fn look_at(book: &Book, visit: Id, detector: Id, visual: Visual) -> Drafts {
    open_visit(book, visit)?;
    if !Register::of(book).detectors.contains_key(&detector) {
        return Err(Refusal::UnknownDetector);
    }
    one(visit, Body::LookedAt { detector, visual })
}

pub(super) fn note(book: &Book, visit: Id, about: Id, note: Hash) -> Drafts {
    Visit::of(book, visit).ok_or(Refusal::NoOpenVisit)?;
    one(visit, Body::Noted { about, note })
}

pub(super) fn find(book: &Book, visit: Id, detector: Id, test: Option<Id>, fault: Fault, note: Option<Hash>) -> Drafts {
    open_visit(book, visit)?;
    one(visit, Body::DeficiencyFound { detector, test, fault, note })
}

pub(super) fn dispose(book: &Book, deficiency: Hash, how: Disposition, note: Option<Hash>) -> Drafts {
    let entry = book.get(deficiency).filter(|entry| matches!(entry.body, Body::DeficiencyFound { .. }));
    let entry = entry.ok_or(Refusal::NothingToEnd)?;
    Ok(vec![draft(entry.chain.scope, Body::DeficiencyDisposed { deficiency, how, note })])
}
