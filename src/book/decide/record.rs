//! What is recorded of the panel, of circuits, of phones, and of positions that no heat was put on.

use super::super::Id;
use super::super::body::{
    Answer, Body, CircuitProof, ClockOffset, Excuse, ItemFound, ItemWhat, LiftCheck, Method, NotOurs, NotTested,
    NotTestedWhy, OpenPair, OtherMethod, Outputs, PanelState, PanelWhen, PhoneRef, Point, RestoreWord, StationSaw,
};
use super::super::command::At;
use super::super::entries::Book;
use super::super::entry::{Hash, Scope};
use super::super::refusal::{Fault, Refusal};
use super::super::register::Register;
use super::super::visit::{PanelSeen, visits};
use super::visit::back;
use super::{Drafts, draft, fields, in_visit, items, open_visit, unsettled, visit};
use crate::trade::detector::AreaConditions;
use std::sync::Arc;

/// The panel as somebody saw it. As left it may also be seen once a visit is closed with something off.
pub(super) fn see_panel(book: &Book, at: At, id: Id, panel: PanelState) -> Drafts {
    let visit = unsettled(book, id)?;
    let is_left = panel.when == PanelWhen::Left;
    // What a panel is held against is not found after a closing.
    if !is_left && !visit.closed.is_empty() {
        return Err(Refusal::NoOpenVisit);
    }
    fields::check(&panel)?;
    fields::happened(at, panel.happened)?;
    let shows = [&panel.alarms, &panel.supervisories, &panel.troubles, &panel.disabled];
    let shows = shows.into_iter().any(|lines| lines.iter().any(|line| !line.trim().is_empty()));
    // A panel that shows something is not normal, and what is not normal shows something.
    match (panel.normal, shows) {
        (true, true) => Err(Refusal::Field("PanelState.normal", Fault::Choose)),
        (false, false) => Err(Refusal::Field("PanelState.troubles", Fault::Empty)),
        _ => {
            // What another phone saw there, and is known here, is seen again by this look.
            let other = |seen: &&PanelSeen| seen.said.phone != at.phone && seen.is_of(panel.label.as_deref());
            let others = visit.record.panels_left().filter(|seen| is_left && other(seen));
            let again = others.map(|seen| draft(Scope::Visit(id), back(seen.said.hash, panel.by, panel.happened)));
            let again: Vec<_> = again.collect();
            let mut drafts = in_visit(id, Body::PanelState(panel.into()))?;
            drafts.extend(again);
            Ok(drafts)
        }
    }
}

pub(super) fn compare_clock(book: &Book, at: At, id: Id, offset: ClockOffset) -> Drafts {
    open_visit(book, id)?;
    fields::check(&offset)?;
    fields::happened(at, offset.happened)?;
    in_visit(id, Body::ClockOffset(offset.into()))
}

/// A spark at an open pair is a source of ignition.
pub(super) fn open_pair(book: &Book, at: At, id: Id, pair: OpenPair) -> Drafts {
    open_visit(book, id)?;
    fields::check(&pair)?;
    fields::happened(at, pair.happened)?;
    let register = Register::of(book);
    if let Some(position) = pair.position {
        let position = register.positions.get(&position).ok_or(Refusal::UnknownPosition)?;
        let of_area = |conditions: &AreaConditions| conditions.classification.as_ref().is_some_and(|of| !of.is_empty());
        let mut areas = position.place.versions().filter_map(|(_, place)| register.area_conditions.get(&place.area));
        let area = areas.any(|versions| versions.versions().any(|(_, conditions)| of_area(conditions)));
        if area || position.duty.versions().any(|(_, duty)| duty.classified) {
            return Err(Refusal::PairInClassified);
        }
    }
    if pair.position.is_none() && pair.circuit.is_none() && pair.label.is_none() {
        return Err(Refusal::Field("OpenPair.label", Fault::Empty));
    }
    in_visit(id, Body::PairOpened(pair.into()))
}

/// What the first alarm of a circuit did. An output that moved is an alarm that is not ours; what did not arrive opens an item of the
/// circuit, without a note where it is the station that received nothing.
pub(super) fn prove_circuit(book: &Book, at: At, id: Id, proof: CircuitProof) -> Drafts {
    open_visit(book, id)?;
    fields::check(&proof)?;
    fields::happened(at, proof.happened)?;
    if !Register::of(book).circuits.contains_key(&proof.circuit) {
        return Err(Refusal::Field("CircuitProof.circuit", Fault::Choose));
    }
    let moved = proof.outputs == Outputs::Moved;
    let wrong = [
        (proof.point == Point::Wrong, ItemWhat::WrongPoint),
        (proof.point == Point::NotThere, ItemWhat::NotAtPanel),
        (proof.station == StationSaw::Nothing, ItemWhat::Other),
    ];
    let found = |what| ItemFound {
        circuit: Some(proof.circuit),
        by: Some(proof.by),
        ..items::item(at, what, None, None, None, None, proof.happened)
    };
    let wrong = wrong.into_iter().filter(|(is, _)| *is).map(|(_, what)| Body::ItemFound(found(what).into()));
    let found: Vec<Body> = wrong.collect();
    let mut drafts = in_visit(id, Body::CircuitProved(proof.into()))?;
    drafts.extend(found.into_iter().map(|body| draft(Scope::Visit(id), body)));
    if moved {
        drafts.extend(visit::alarm_not_ours(book, at, id, NotOurs::OutputMoved, None)?);
    }
    Ok(drafts)
}

pub(super) fn check_lift(book: &Book, at: At, id: Id, check: LiftCheck) -> Drafts {
    open_visit(book, id)?;
    fields::check(&check)?;
    fields::happened(at, check.happened)?;
    in_visit(id, Body::LiftChecked(check.into()))
}

pub(super) fn invite(book: &Book, id: Id, name: Hash) -> Drafts {
    open_visit(book, id)?;
    in_visit(id, Body::PhoneInvited { name })
}

pub(super) fn excuse(book: &Book, at: At, id: Id, excuse: Excuse) -> Drafts {
    let visit = unsettled(book, id)?;
    fields::happened(at, excuse.happened)?;
    match excuse.of {
        PhoneRef::Invited(hash) if visit.record.awaited().any(|invited| invited.hash == hash) => {
            in_visit(id, Body::PhoneExcused(excuse.into()))
        }
        _ => Err(Refusal::NothingToEnd),
    }
}

/// A position stays due; the reason prints.
pub(super) fn not_tested(book: &Book, at: At, id: Id, not_tested: NotTested) -> Drafts {
    let visit = open_visit(book, id)?;
    fields::check(&not_tested)?;
    fields::happened(at, not_tested.happened)?;
    let position = not_tested.position;
    if !Register::of(book).positions.contains_key(&position) {
        return Err(Refusal::UnknownPosition);
    }
    if visit.active().any(|test| test.frozen.position.of == position) {
        return Err(Refusal::PositionBusy);
    }
    match not_tested.why {
        NotTestedWhy::NotAllowed if not_tested.not_allowed_by.is_none() => {
            Err(Refusal::Field("NotTested.not_allowed_by", Fault::Choose))
        }
        NotTestedWhy::Other if not_tested.note.is_none() => Err(Refusal::Field("NotTested.note", Fault::Empty)),
        _ => in_visit(id, Body::NotTested(not_tested.into())),
    }
}

/// A functional result without a temperature. What it shows wrong opens an item, as a test does.
pub(super) fn other_method(book: &Book, at: At, id: Id, other: OtherMethod) -> Drafts {
    let visit = open_visit(book, id)?;
    fields::check(&other)?;
    fields::happened(at, other.happened)?;
    let register = Register::of(book);
    let position = register.positions.get(&other.position).ok_or(Refusal::UnknownPosition)?;
    if register.site_of(other.position).is_some_and(|site| site != visit.site) {
        return Err(Refusal::UnknownPosition);
    }
    let detector = position.detector().ok_or(Refusal::NoDetector)?;
    let known = |of: Id| visit.record.other_methods.iter().any(|known| known.said.what.test == of);
    if book.test_started(other.test) || known(other.test) {
        return Err(Refusal::TestStarted);
    }
    if visit.active().any(|test| test.frozen.position.of == other.position) {
        return Err(Refusal::PositionBusy);
    }
    if other.method == Method::Other && other.note.is_none() {
        return Err(Refusal::Field("OtherMethod.note", Fault::Empty));
    }
    if other.basis.as_ref().is_none_or(|basis| basis.trim().is_empty()) {
        return Err(Refusal::Field("OtherMethod.basis", Fault::Empty));
    }
    // Without a trip the panel has nothing to show.
    if other.tripped != Answer::Yes && matches!(other.point, Point::Right | Point::Wrong) {
        return Err(Refusal::Field("OtherMethod.tripped", Fault::Choose));
    }
    // There is no panel in a laboratory.
    let at_panel = other.tripped == Answer::Yes && other.method != Method::Laboratory;
    let wrong = [
        (other.tripped != Answer::Yes, ItemWhat::OperationNotProven),
        (at_panel && other.point == Point::Wrong, ItemWhat::WrongPoint),
        (at_panel && other.point == Point::NotThere, ItemWhat::NotAtPanel),
        (other.tripped == Answer::Yes && other.restored == Answer::No, ItemWhat::StaysInAlarm),
    ];
    let found = |what| ItemFound {
        test: Some(other.test),
        ..items::item(at, what, None, Some(other.position), None, None, other.happened)
    };
    let wrong = wrong.into_iter().filter(|(is, _)| *is).map(|(_, what)| Body::ItemFound(found(what).into()));
    let found: Vec<Body> = wrong.collect();
    let mut drafts = in_visit(id, Body::OtherMethod(OtherMethod { detector: Some(detector), ..other }.into()))?;
    drafts.extend(found.into_iter().map(|body| draft(Scope::Visit(id), body)));
    Ok(drafts)
}

/// Whether what another method tested restored, said later. That it did not opens an item, as it does at once.
pub(super) fn say_restore(book: &Book, at: At, word: RestoreWord) -> Drafts {
    let tested = visits(book).into_iter().find_map(|visit| {
        let other = visit.record.other_methods.iter().find(|other| other.said.what.test == word.test)?;
        Some((visit.id, Arc::clone(&other.said.what)))
    });
    let (visit, other) = tested.ok_or(Refusal::UnknownTest)?;
    if other.tripped != Answer::Yes {
        return Err(Refusal::NoTripYet);
    }
    let stays = (word.restored == Answer::No).then(|| {
        let item =
            items::item(at, ItemWhat::StaysInAlarm, None, Some(other.position), Some(other.test), None, word.happened);
        draft(Scope::Visit(visit), Body::ItemFound(item.into()))
    });
    let mut drafts = in_visit(visit, Body::RestoreSaid(word.into()))?;
    drafts.extend(stays);
    Ok(drafts)
}

/// Two positions that each showed the other's point.
pub(super) fn find_swapped(book: &Book, at: At, id: Id, one: Id, other: Id) -> Drafts {
    let visit = open_visit(book, id)?;
    let register = Register::of(book);
    if one == other || ![one, other].iter().all(|position| register.positions.contains_key(position)) {
        return Err(Refusal::UnknownPosition);
    }
    if visit.items.iter().any(|item| item.is_open() && item.found.is_swapped(one, other)) {
        return Err(Refusal::NothingToAnswer);
    }
    let item = items::item(at, ItemWhat::SwappedPoints, None, Some(one), None, None, at.happened());
    in_visit(id, Body::ItemFound(ItemFound { other_position: Some(other), ..item }.into()))
}
