//! The panel's side of a test: what came in there, and for which trip it is taken.

use super::super::Id;
use super::super::body::{Body, ClockOf, PanelSighting};
use super::super::command::At;
use super::super::entries::Book;
use super::super::entry::{Hash, MAX_INTEGER, Scope};
use super::super::refusal::{Fault, Refusal};
use super::super::register::Register;
use super::super::sighting::Sighting;
use super::test::{ends_by_panel, mine};
use super::{Drafts, draft, fields, in_visit, open_visit};
use crate::book::visit::Visit;

/// Something came in at the panel. Said anew it is the same one, by the phone that saw it.
pub(super) fn saw(book: &Book, at: At, id: Id, seen: PanelSighting) -> Drafts {
    at.who.ok_or(Refusal::NoPerson)?;
    open_visit(book, id)?;
    fields::check(&seen)?;
    let came_in = seen.happened;
    match seen.clock {
        ClockOf::Phone => fields::happened(at, came_in)?,
        // A panel's clock may be off by years.
        ClockOf::Panel if came_in.at.0.unsigned_abs() > MAX_INTEGER.unsigned_abs() => {
            return Err(Refusal::Field("Happened.at", Fault::Date));
        }
        ClockOf::Panel => {}
    }
    if seen.restored_at.is_some_and(|restored| restored < came_in.at) {
        return Err(Refusal::Field("PanelSighting.restored_at", Fault::Date));
    }
    if let Some(before) = seen.replaces {
        let own = book
            .get(before)
            .is_some_and(|entry| entry.chain.phone == at.phone && entry.chain.scope == Scope::Visit(id));
        let now = Sighting::of(book, before).filter(|now| own && now.last == before).ok_or(Refusal::NothingToEnd)?;
        if seen.point.trim().is_empty() && now.is_named() {
            return Err(Refusal::Field("PanelSighting.point", Fault::Empty));
        }
    }
    in_visit(id, Body::PanelSaw(seen.into()))
}

/// What was seen at the panel is taken for trips of this phone's tests.
pub(super) fn take(book: &Book, at: At, id: Id, of: Vec<(Hash, Hash)>) -> Drafts {
    at.who.ok_or(Refusal::NoPerson)?;
    let visit = Visit::of(book, id).ok_or(Refusal::NoOpenVisit)?;
    let matches = visit.matches(&Register::of(book));
    let mut drafts = Vec::new();
    for (place, (saw, trip)) in of.iter().enumerate() {
        let found = matches.iter().find(|found| (found.saw, found.trip) == (*saw, *trip));
        let found = found.filter(|found| found.taken.is_none()).ok_or(Refusal::NothingToAnswer)?;
        // One sighting is of one trip, and one trip has one.
        if of[..place].iter().any(|(other, of)| other == saw || of == trip) {
            return Err(Refusal::NothingToAnswer);
        }
        let test = mine(book, at, found.test)?;
        // What it says now is taken: a point that is changed later is not.
        let saw = Sighting::of(book, *saw).ok_or(Refusal::NothingToAnswer)?.last;
        drafts.push(draft(Scope::Visit(id), Body::PanelSawAccepted { saw, trip: *trip }));
        drafts.extend(ends_by_panel(&test, at));
    }
    Ok(drafts)
}
