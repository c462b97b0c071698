//! Register and kit: what may be stored, and what a new edit replaces.

use super::super::Id;
use super::super::body::{Area, Body, Circuit, Edit, Person, Presence, Site};
use super::super::entry::{Hash, Scope};
use super::super::group::Group;
use super::super::kit::Kit;
use super::super::log::Book;
use super::super::refusal::{Field, Refusal};
use super::super::register::Register;
use super::super::seal::Draft;
use super::{draft, fields};
use crate::trade::detector::{Duty, Marking, Place};
use crate::trade::heater::{Cycle, HeaterName, Heating, Metrology};
use crate::trade::procedure::Procedure;

type Drafts = Result<Vec<Draft>, Refusal>;

/// The edit that makes `group` stand as `now`; none when it does already.
fn edit<T: Clone + PartialEq>(of: Id, group: Option<&Group<T>>, now: T) -> Option<Edit<T>> {
    let stands = group.is_some_and(|group| group.now() == Some(&now) && !group.conflict());
    (!stands).then(|| Edit::new(of, group.map(Group::replaces).unwrap_or_default(), now))
}

fn drafts(scope: Scope, bodies: Vec<Option<Body>>) -> Vec<Draft> {
    let mut drafts = Vec::new();
    bodies.into_iter().for_each(|body| drafts.extend(body.map(|body| draft(scope, body))));
    drafts
}

pub(super) fn put_site(book: &Book, id: Id, now: Site) -> Drafts {
    fields::name("Name of the site", &now.name)?;
    fields::line("Address", now.address.as_ref())?;
    let register = Register::of(book);
    let taken =
        register.sites.iter().any(|(other, group)| *other != id && group.now().is_some_and(|s| s.name == now.name));
    refuse_taken(taken, "Name of the site")?;
    Ok(drafts(Scope::Site(id), vec![edit(id, register.sites.get(&id), now).map(Body::Site)]))
}

pub(super) fn put_area(book: &Book, id: Id, now: Area) -> Drafts {
    fields::name("Name of the area", &now.name)?;
    let register = Register::of(book);
    known_site(&register, now.site)?;
    let taken = register.areas_of(now.site).iter().any(|(other, area)| *other != id && area.name == now.name);
    refuse_taken(taken, "Name of the area")?;
    Ok(drafts(Scope::Site(now.site), vec![edit(id, register.areas.get(&id), now).map(Body::Area)]))
}

pub(super) fn put_circuit(book: &Book, id: Id, now: Circuit) -> Drafts {
    fields::name("Name of the circuit", &now.name)?;
    let register = Register::of(book);
    known_site(&register, now.site)?;
    let taken = register.circuits_of(now.site).iter().any(|(other, circuit)| *other != id && circuit.name == now.name);
    refuse_taken(taken, "Name of the circuit")?;
    Ok(drafts(Scope::Site(now.site), vec![edit(id, register.circuits.get(&id), now).map(Body::Circuit)]))
}

pub(super) fn put_detector(book: &Book, id: Id, place: Place, marking: Marking, duty: Duty) -> Drafts {
    fields::name("Tag", &place.tag)?;
    fields::line("Address at the panel", place.address.as_ref())?;
    fields::line("Label at the panel", place.label.as_ref())?;
    fields::marking(&marking)?;
    fields::line("Hazard note", duty.hazard.as_ref())?;
    fields::date("Installed on", duty.installed_on.as_ref())?;
    duty.releases.iter().try_for_each(|release| fields::name("What it releases", release))?;
    let register = Register::of(book);
    let area = register.areas.get(&place.area).and_then(Group::now);
    let site = area.ok_or(Refusal::Field(Field::Choose { name: "Area" }))?.site;
    let here = register.areas_of(site);
    let taken =
        here.iter().flat_map(|(area, _)| register.detectors_of(*area)).any(|(o, d)| o != id && d.tag() == place.tag);
    refuse_taken(taken, "Tag")?;
    let stands = register.detectors.get(&id);
    Ok(drafts(
        Scope::Site(site),
        vec![
            edit(id, stands.map(|d| &d.place), place).map(Body::DetectorPlace),
            edit(id, stands.map(|d| &d.marking), marking).map(Body::DetectorMarking),
            edit(id, stands.map(|d| &d.duty), duty).map(Body::DetectorDuty),
        ],
    ))
}

pub(super) fn retire(book: &Book, id: Id, retired: bool) -> Drafts {
    let register = Register::of(book);
    let site = register.site_of(id).ok_or(Refusal::UnknownDetector)?;
    let group = register.detectors.get(&id).map(|detector| &detector.presence);
    Ok(drafts(Scope::Site(site), vec![edit(id, group, Presence { retired }).map(Body::DetectorPresence)]))
}

pub(super) fn put_heater(book: &Book, id: Id, name: HeaterName, heating: Heating, metrology: Metrology) -> Drafts {
    fields::name("Name of the heater", &name.name)?;
    fields::line("Serial number", name.serial.as_ref())?;
    fields::line("Approval for hazardous locations", name.hazardous_approval.as_ref())?;
    if heating.settings.is_empty() {
        return Err(Refusal::Field(Field::Empty { name: "Temperature setting" }));
    }
    heating.settings.iter().try_for_each(|s| fields::temperature("Temperature setting", s, fields::TEMPERATURE))?;
    fields::difference("Heat-ups above the setting by", Some(&heating.above), (0.0, 30.0))?;
    fields::difference("Smallest step of the display", heating.resolution.as_ref(), (0.01, 10.0))?;
    heating.modes.iter().try_for_each(|mode| fields::name("Heating mode", mode))?;
    fields::line("What the lamp means", heating.lamp.as_ref())?;
    heating.timeout_ms.map_or(Ok(()), |ms| fields::seconds("Safety time-out", ms, (1, 86_400)))?;
    let (Cycle::ByItself { heat_up_cold_ms, heat_up_again_ms, .. }
    | Cycle::ByHand { heat_up_cold_ms, heat_up_again_ms }) = &heating.cycle;
    for (field, heat_up) in [("Heat-up from cold", heat_up_cold_ms), ("Heat-up after off", heat_up_again_ms)] {
        heat_up.map_or(Ok(()), |ms| fields::seconds(field, ms, (1, 3_600)))?;
    }
    if let Cycle::ByItself { hold_first_ms, hold_again_ms, off_ms, .. } = heating.cycle {
        fields::seconds("Hold after the first heat-up", hold_first_ms, (0, 3_600))?;
        fields::seconds("Hold after later heat-ups", hold_again_ms, (0, 3_600))?;
        fields::seconds("Off between heat-ups", off_ms, (1, 3_600))?;
    }
    fields::difference("Calibration, standard uncertainty", metrology.calibration_u.as_ref(), (0.0, 20.0))?;
    fields::difference("Fit, standard uncertainty", metrology.fit_u.as_ref(), (0.0, 20.0))?;
    fields::line("Certificate", metrology.certificate.as_ref())?;
    fields::date("Calibration due", metrology.due.as_ref())?;
    let kit = Kit::of(book);
    let stands = kit.heaters.get(&id);
    Ok(drafts(
        Scope::Kit,
        vec![
            edit(id, stands.map(|h| &h.name), name).map(Body::HeaterName),
            edit(id, stands.map(|h| &h.heating), heating).map(Body::HeaterHeating),
            edit(id, stands.map(|h| &h.metrology), metrology).map(Body::HeaterMetrology),
        ],
    ))
}

pub(super) fn put_procedure(book: &Book, id: Id, now: Procedure) -> Drafts {
    fields::name("Name of the procedure", &now.name)?;
    fields::number("Trips", now.trips.into(), (1, 20), "trips")?;
    fields::number("Trips that do not count", now.uncounted.into(), (0, i64::from(now.trips) - 1), "trips")?;
    fields::seconds("Soak", now.soak_ms, (0, 3_600))?;
    fields::seconds("Heat off", now.off_ms, (1, 3_600))?;
    fields::number("Trips that may be appended", now.appended_at_most.into(), (0, 10), "trips")?;
    if let Some(limits) = &now.limits {
        fields::difference("Lower limit", Some(&limits.minus), (-60.0, 0.0))?;
        fields::difference("Upper limit", Some(&limits.plus), (0.0, 60.0))?;
    }
    let kit = Kit::of(book);
    Ok(drafts(Scope::Kit, vec![edit(id, kit.procedures.get(&id), now).map(Body::Procedure)]))
}

pub(super) fn put_person(book: &Book, id: Id, name: Hash) -> Drafts {
    let kit = Kit::of(book);
    Ok(drafts(Scope::Kit, vec![edit(id, kit.people.get(&id), Person { name }).map(Body::Person)]))
}

fn known_site(register: &Register, site: Id) -> Result<(), Refusal> {
    if register.sites.contains_key(&site) { Ok(()) } else { Err(Refusal::UnknownSite) }
}

fn refuse_taken(taken: bool, name: &'static str) -> Result<(), Refusal> {
    if taken { Err(Refusal::Field(Field::Taken { name })) } else { Ok(()) }
}
