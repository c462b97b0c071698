//! The kit: heaters, procedures, people, and whose phone this is.

use super::super::Id;
use super::super::body::{Body, Person, PhoneName};
use super::super::command::At;
use super::super::entries::Book;
use super::super::entry::{Hash, Scope};
use super::super::kit::{Kit, has_phone};
use super::super::refusal::{Fault, Refusal};
use super::register::{drafts, edit};
use super::{Drafts, draft, fields};
use crate::trade::heater::{HeaterName, Heating, Metrology};
use crate::trade::procedure::Procedure;

pub(super) fn put_heater(book: &Book, id: Id, name: HeaterName, heating: Heating, metrology: Metrology) -> Drafts {
    fields::check(&name)?;
    if heating.settings.is_empty() {
        return Err(Refusal::Field("Heating.settings", Fault::Empty));
    }
    fields::check(&heating)?;
    fields::check(&metrology)?;
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
    fields::check(&now)?;
    let most = i64::from(now.trips) - 1;
    if i64::from(now.not_averaged) > most {
        return Err(Refusal::Field("Procedure.not_averaged", Fault::Number { from: 0, to: most, unit: "trips" }));
    }
    if now.is_set_point() {
        for (key, given) in [("Procedure.soak_ms", now.soak_ms), ("Procedure.off_ms", now.off_ms)] {
            given.ok_or(Refusal::Field(key, Fault::Empty))?;
        }
        now.numbers_from.ok_or(Refusal::Field("Procedure.numbers_from", Fault::Choose))?;
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
