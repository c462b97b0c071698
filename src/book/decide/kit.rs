//! The kit: heaters, procedures, people, and whose phone this is.

use super::super::Id;
use super::super::body::{Body, Person, PhoneName};
use super::super::command::At;
use super::super::entry::{Hash, Scope};
use super::super::kit::{Kit, has_phone};
use super::super::log::Book;
use super::super::refusal::{Field, Refusal};
use super::register::{drafts, edit};
use super::{Drafts, draft, fields};
use crate::trade::heater::{Cycle, HeaterName, Heating, Metrology};
use crate::trade::procedure::Procedure;

pub(super) fn put_heater(book: &Book, id: Id, name: HeaterName, heating: Heating, metrology: Metrology) -> Drafts {
    fields::name("Heater's name", &name.name)?;
    fields::line("Serial number", name.serial.as_ref())?;
    fields::classification(name.approval.as_ref())?;
    if heating.settings.is_empty() {
        return Err(Refusal::Field(Field::Empty { name: "Temperature setting" }));
    }
    heating.settings.iter().try_for_each(|s| fields::temperature("Temperature setting", s, fields::TEMPERATURE))?;
    fields::difference("Overshoot above setting", heating.overshoot.as_ref(), (0.0, 30.0))?;
    fields::difference("Smallest step of the display", heating.resolution.as_ref(), (0.01, 10.0))?;
    heating.modes.iter().try_for_each(|mode| fields::name("Heating mode", mode))?;
    fields::line("What the lamp means", heating.lamp.as_ref())?;
    let seconds = |name, ms: Option<i64>, range| ms.map_or(Ok(()), |ms| fields::seconds(name, ms, range));
    seconds("Safety time-out", heating.timeout_ms, (1, 86_400))?;
    let (Cycle::Auto { heat_up_cold_ms, heat_up_again_ms, .. } | Cycle::Manual { heat_up_cold_ms, heat_up_again_ms }) =
        &heating.cycle;
    seconds("Heat-up from cold", *heat_up_cold_ms, (1, 3_600))?;
    seconds("Heat-up after off", *heat_up_again_ms, (1, 3_600))?;
    if let Cycle::Auto { hold_first_ms, hold_again_ms, off_ms, .. } = heating.cycle {
        seconds("Hold after the first heat-up", hold_first_ms, (1, 3_600))?;
        seconds("Hold after later heat-ups", hold_again_ms, (0, 3_600))?;
        seconds("Off between heat-ups", off_ms, (1, 3_600))?;
    }
    fields::uncertainty("Calibration, standard uncertainty", metrology.calibration_u.as_ref(), 20.0)?;
    fields::uncertainty("Fit error, standard uncertainty", metrology.fit_u.as_ref(), 20.0)?;
    fields::line("Fit error is from", metrology.fit_from.as_ref())?;
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
    fields::name("Procedure's name", &now.name)?;
    fields::number("Trips", now.trips.into(), (1, 20), "trips")?;
    fields::number("First trips not averaged", now.not_averaged.into(), (0, i64::from(now.trips) - 1), "trips")?;
    now.soak_ms.map_or(Ok(()), |ms| fields::seconds("Soak", ms, (1, 3_600)))?;
    now.off_ms.map_or(Ok(()), |ms| fields::seconds("Cool-down", ms, (1, 3_600)))?;
    fields::number("Extra trips allowed", now.extra_trips.into(), (0, 10), "trips")?;
    if now.is_set_point() {
        for (name, given) in [("Soak", now.soak_ms), ("Cool-down", now.off_ms)] {
            given.ok_or(Refusal::Field(Field::Empty { name }))?;
        }
        now.numbers_from.ok_or(Refusal::Field(Field::Choose { name: "Numbers are from" }))?;
    }
    if let Some(limits) = &now.limits {
        fields::difference("Lower limit", Some(&limits.minus), (-60.0, 0.0))?;
        fields::difference("Upper limit", Some(&limits.plus), (0.0, 60.0))?;
        fields::date("Agreed on", limits.agreed.as_ref().and_then(|agreed| agreed.on.as_ref()))?;
    }
    let kit = Kit::of(book);
    Ok(drafts(Scope::Kit, vec![edit(id, kit.procedures.get(&id), now).map(Body::Procedure)]))
}

pub(super) fn put_person(book: &Book, id: Id, now: Person) -> Drafts {
    let kit = Kit::of(book);
    Ok(drafts(Scope::Kit, vec![edit(id, kit.people.get(&id), now).map(Body::Person)]))
}

pub(super) fn name_phone(book: &Book, at: At, name: Hash) -> Drafts {
    let kit = Kit::of(book);
    let edit = edit(at.phone, kit.phones.get(&at.phone), PhoneName { name });
    Ok(drafts(Scope::Kit, vec![edit.map(Body::PhoneName)]))
}

pub(super) fn hand_phone(book: &Book, at: At, to: Id) -> Drafts {
    if !Kit::of(book).people.contains_key(&to) {
        return Err(Refusal::UnknownPerson);
    }
    if has_phone(book, at.phone) == Some(to) {
        return Ok(Vec::new());
    }
    Ok(vec![draft(Scope::Kit, Body::PhoneHanded { to })])
}
