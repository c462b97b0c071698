//! The forms of a person and of this phone's name.

use super::row::{Row, row};
use super::table::{Made, Rows, Table};
use super::{Known, Wrongs, title};
use crate::book::body::{Person, PhoneName};
use crate::book::command::Command;
use crate::book::entry::Hash;
use crate::book::versions::Versions;
use crate::encoding::stored::Stored;
use crate::view::route::Form;
use serde_json::{Value, json};

const NAME: Row = row!("person", Person, "name", "person-name", "Name").needed();
const FIRM: Row = row!("person", Person, "firm", "firm", "Firm");
const LICENSE: Row =
    row!("person", Person, "license", "license", "License or certificate number").help("As the record should show it.");
const CONTACT: Row = row!("person", Person, "contact", "contact", "Phone or email").help("Stays on this phone.");
const RETIRED: Row =
    row!("person", Person, "retired", "retired", "No longer uses this phone").shown(|asked| !asked.new);

pub(super) const PERSON: Table = Table {
    title: |asked| if asked.new { "Who has this phone?".into() } else { title(asked, "person") },
    lead: "Every visit and test carries the name of who made it. Names can be erased later without breaking the record.",
    parts: &[Rows { title: "", note: "", rows: &[&[NAME, FIRM, LICENSE, CONTACT, RETIRED]] }],
    base: |form, known| {
        let Form::Person(id) = form else { return Value::Null };
        let person = id.and_then(|id| known.kit.people.get(&id)?.now());
        person.map_or(Value::Null, |person| json!({ "person": person.to_value() }))
    },
    make: put,
    ..Table::PLAIN
};

/// Whoever is entered first, or is new, has the phone from here on.
fn put(mut made: Made<'_>) -> Result<Vec<Command>, Wrongs> {
    if made.at::<Hash>("person.name").is_none() {
        made.put("person.name", &Hash::LOWEST);
    }
    let (person, now) = (made.making.id, made.take("person")?);
    let mut commands = vec![Command::PutPerson { person, now }];
    if made.asked.known.kit.people.get(&person).and_then(Versions::now).is_none() {
        commands.push(Command::HandPhone { to: person });
    }
    Ok(commands)
}

const PHONE_NAME: Row = row!("phone", PhoneName, "name", "phone-name", "Phone's name").help("e.g. Lift 1.").needed();

pub(super) const PHONE: Table = Table {
    title: |_| "This phone".into(),
    lead: "The office sees which phone a test came from by this name.",
    parts: &[Rows { title: "", note: "", rows: &[&[PHONE_NAME]] }],
    base: |_, known: Known<'_>| {
        let name = known.kit.phones.get(&known.at.phone).and_then(Versions::now);
        name.map_or(Value::Null, |name| json!({ "phone": name.to_value() }))
    },
    make: |made| Ok(vec![Command::NamePhone { name: made.at("phone.name").unwrap_or(Hash::LOWEST) }]),
    ..Table::PLAIN
};
