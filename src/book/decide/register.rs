//! The register: what may be stored, and what a new edit replaces.

use super::super::Id;
use super::super::body::{Area, Body, Circuit, Edit, Site};
use super::super::command::PutPosition;
use super::super::entries::Book;
use super::super::entry::Scope;
use super::super::refusal::{Fault, Refusal};
use super::super::register::{Position, Register};
use super::super::seal::Draft;
use super::super::versions::Versions;
use super::{Drafts, draft, fields};
use crate::trade::detector::{AreaConditions, Duty, Place, Status, WalkingOrder};
use std::collections::BTreeSet;

/// The edit that makes a group stand as `now`; none when it does already.
pub(super) fn edit<T: Clone + PartialEq>(of: Id, versions: Option<&Versions<T>>, now: T) -> Option<Edit<T>> {
    let stands = versions.is_some_and(|versions| versions.now() == Some(&now) && !versions.conflict());
    (!stands).then(|| Edit::new(of, versions.map(Versions::replaces).unwrap_or_default(), now))
}

/// The same, but an empty group is not written over an empty one.
fn edit_unless_empty<T: Clone + Default + PartialEq>(
    of: Id,
    versions: Option<&Versions<T>>,
    now: T,
) -> Option<Edit<T>> {
    let nothing = versions.is_none_or(|versions| versions.now().is_none()) && now == T::default();
    if nothing { None } else { edit(of, versions, now) }
}

pub(super) fn drafts(scope: Scope, bodies: Vec<Option<Body>>) -> Vec<Draft> {
    let mut drafts = Vec::new();
    bodies.into_iter().for_each(|body| drafts.extend(body.map(|body| draft(scope, body))));
    drafts
}

pub(super) fn put_site(book: &Book, id: Id, now: Site) -> Drafts {
    fields::check(&now)?;
    let register = Register::of(book);
    let taken =
        register.sites.iter().any(|(other, group)| *other != id && group.now().is_some_and(|s| s.name == now.name));
    refuse_taken(taken, "Site.name")?;
    Ok(drafts(Scope::Site(id), vec![edit(id, register.sites.get(&id), now).map(Body::Site)]))
}

pub(super) fn put_area(book: &Book, id: Id, now: Area, conditions: AreaConditions) -> Drafts {
    fields::check(&now)?;
    fields::check(&conditions)?;
    let register = Register::of(book);
    known_site(&register, now.site)?;
    let taken = register.areas_of(now.site).iter().any(|(other, area)| *other != id && area.name == now.name);
    refuse_taken(taken, "Area.name")?;
    let scope = Scope::Site(now.site);
    Ok(drafts(
        scope,
        vec![
            edit(id, register.areas.get(&id), now).map(Body::Area),
            edit_unless_empty(id, register.area_conditions.get(&id), conditions).map(Body::AreaConditions),
        ],
    ))
}

pub(super) fn put_circuit(book: &Book, id: Id, now: Circuit) -> Drafts {
    fields::check(&now)?;
    let register = Register::of(book);
    known_site(&register, now.site)?;
    let taken = register.circuits_of(now.site).iter().any(|(other, circuit)| *other != id && circuit.name == now.name);
    refuse_taken(taken, "Circuit.name")?;
    Ok(drafts(Scope::Site(now.site), vec![edit(id, register.circuits.get(&id), now).map(Body::Circuit)]))
}

/// A position as a form has it. One that was `unlisted` when it was added on the lift may lack a tag or share one until it is settled,
/// which it is by being put as any other.
pub(super) fn put_position(book: &Book, put: PutPosition, unlisted: bool) -> Drafts {
    let register = Register::of(book);
    let (id, place) = (put.position, &put.place);
    let provisional = unlisted && register.positions.get(&id).is_none_or(Position::provisional);
    if provisional && place.tag.is_empty() {
        let named = Place { tag: place.name().to_string(), ..place.clone() };
        position_fields(&PutPosition { place: named, ..put.clone() })?;
    } else {
        position_fields(&put)?;
    }
    let area = register.areas.get(&place.area).and_then(Versions::now);
    let site = area.ok_or(Refusal::Field("Place.area", Fault::Choose))?.site;
    refuse_taken(!provisional && register.is_taken(site, &place.tag, id), "Place.tag")?;
    Ok(drafts(Scope::Site(site), position(&register, put, provisional)?))
}

/// Whether every field of a position and its detector holds what it may.
///
/// # Errors
/// The first that does not.
pub fn position_fields(put: &PutPosition) -> Result<(), Refusal> {
    fields::check(&put.place)?;
    fields::check(&put.access)?;
    fields::check(&put.duty)?;
    fields::marking(&put.marking)?;
    fields::check(&put.make)
}

/// What makes a position stand so, provisional or settled.
pub(super) fn position(register: &Register, put: PutPosition, provisional: bool) -> Result<Vec<Option<Body>>, Refusal> {
    let PutPosition { position: id, detector, place, access, duty, marking, make } = put;
    let stands = register.positions.get(&id);
    let hangs = stands.is_some_and(|position| position.hanging().any(|installed| installed.detector == detector));
    if !hangs && stands.is_some_and(|position| position.hanging().next().is_some()) {
        return Err(Refusal::UnknownDetector);
    }
    let of_detector = register.detectors.get(&detector);
    Ok(vec![
        edit(id, stands.map(|p| &p.place), place).map(Body::PositionPlace),
        settled(id, stands, provisional),
        edit_unless_empty(id, stands.map(|p| &p.access), access).map(Body::PositionAccess),
        edit_unless_empty(id, stands.map(|p| &p.duty), duty).map(Body::PositionDuty),
        (!hangs).then_some(Body::DetectorInstalled { detector, position: id, happened: None }),
        edit(detector, of_detector.map(|d| &d.marking), marking).map(Body::DetectorMarking),
        edit_unless_empty(detector, of_detector.map(|d| &d.make), make).map(Body::DetectorMake),
    ])
}

/// Says whether a position is provisional, where that changes.
fn settled(id: Id, stands: Option<&Position>, provisional: bool) -> Option<Body> {
    let versions = stands.map(|position| &position.status);
    let status = versions.and_then(Versions::now).copied().unwrap_or_default();
    let changed = status.provisional != provisional;
    changed.then(|| edit(id, versions, Status { provisional, ..status }).map(Body::PositionStatus)).flatten()
}

/// The walking order of positions of one site: one decision, so that it is undone as one.
pub(super) fn put_in_order(book: &Book, positions: &[Id]) -> Drafts {
    let register = Register::of(book);
    let first = positions.first().ok_or(Refusal::UnknownPosition)?;
    let site = register.site_of(*first).ok_or(Refusal::UnknownPosition)?;
    let (mut bodies, mut named) = (Vec::new(), BTreeSet::new());
    for id in positions.iter().filter(|id| named.insert(**id)) {
        let position = register.positions.get(id).filter(|_| register.site_of(*id) == Some(site));
        let versions = &position.ok_or(Refusal::UnknownPosition)?.order;
        let number = bodies.len() as i64 + 1;
        bodies.push(edit(*id, Some(versions), WalkingOrder { number }).map(Body::PositionOrder));
    }
    Ok(drafts(Scope::Site(site), bodies))
}

pub(super) fn answer_releases(book: &Book, id: Id, releases: Vec<String>) -> Drafts {
    let register = Register::of(book);
    let site = register.site_of(id).ok_or(Refusal::UnknownPosition)?;
    let versions = register.positions.get(&id).map(|position| &position.duty);
    let now = versions.and_then(Versions::now).cloned().unwrap_or_default();
    let duty = Duty { releases: Some(releases), ..now };
    fields::check(&duty)?;
    Ok(drafts(Scope::Site(site), vec![edit(id, versions, duty).map(Body::PositionDuty)]))
}

pub(super) fn retire(book: &Book, id: Id, retired: bool) -> Drafts {
    let register = Register::of(book);
    let site = register.site_of(id).ok_or(Refusal::UnknownPosition)?;
    let versions = register.positions.get(&id).map(|position| &position.status);
    let now = versions.and_then(Versions::now).copied().unwrap_or_default();
    let status = Status { retired, ..now };
    Ok(drafts(Scope::Site(site), vec![edit(id, versions, status).map(Body::PositionStatus)]))
}

pub(super) fn known_site(register: &Register, site: Id) -> Result<(), Refusal> {
    if register.sites.contains_key(&site) { Ok(()) } else { Err(Refusal::UnknownSite) }
}

pub(super) fn refuse_taken(taken: bool, key: &'static str) -> Result<(), Refusal> {
    if taken { Err(Refusal::Field(key, Fault::Taken)) } else { Ok(()) }
}
