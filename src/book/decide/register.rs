//! The register: what may be stored, and what a new edit replaces.

use super::super::Id;
use super::super::body::{Area, Body, Circuit, Edit, Site};
use super::super::command::PutPosition;
use super::super::entries::Book;
use super::super::entry::Scope;
use super::super::refusal::{Fault, Refusal};
use super::super::register::Register;
use super::super::seal::Draft;
use super::super::versions::Versions;
use super::{Drafts, draft, fields};
use crate::trade::detector::{AreaConditions, Duty, Status};

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

pub(super) fn put_position(book: &Book, put: PutPosition) -> Drafts {
    let PutPosition { position: id, detector, place, access, duty, marking, make } = put;
    fields::check(&place)?;
    fields::check(&access)?;
    fields::check(&duty)?;
    fields::marking(&marking)?;
    fields::check(&make)?;
    let register = Register::of(book);
    let area = register.areas.get(&place.area).and_then(Versions::now);
    let site = area.ok_or(Refusal::Field("Place.area", Fault::Choose))?.site;
    let here = register.areas_of(site);
    let taken =
        here.iter().flat_map(|(area, _)| register.positions_of(*area)).any(|(o, p)| o != id && p.tag() == place.tag);
    refuse_taken(taken, "Place.tag")?;
    let stands = register.positions.get(&id);
    let hangs = stands.is_some_and(|position| position.hanging().any(|installed| installed.detector == detector));
    if !hangs && stands.is_some_and(|position| position.hanging().next().is_some()) {
        return Err(Refusal::UnknownDetector);
    }
    let of_detector = register.detectors.get(&detector);
    Ok(drafts(
        Scope::Site(site),
        vec![
            edit(id, stands.map(|p| &p.place), place).map(Body::PositionPlace),
            edit_unless_empty(id, stands.map(|p| &p.access), access).map(Body::PositionAccess),
            edit_unless_empty(id, stands.map(|p| &p.duty), duty).map(Body::PositionDuty),
            (!hangs).then_some(Body::DetectorInstalled { detector, position: id, happened: None }),
            edit(detector, of_detector.map(|d| &d.marking), marking).map(Body::DetectorMarking),
            edit_unless_empty(detector, of_detector.map(|d| &d.make), make).map(Body::DetectorMake),
        ],
    ))
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

fn known_site(register: &Register, site: Id) -> Result<(), Refusal> {
    if register.sites.contains_key(&site) { Ok(()) } else { Err(Refusal::UnknownSite) }
}

fn refuse_taken(taken: bool, key: &'static str) -> Result<(), Refusal> {
    if taken { Err(Refusal::Field(key, Fault::Taken)) } else { Ok(()) }
}
