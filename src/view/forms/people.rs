//! The forms of a person and of this phone's name.

use super::reader::Reader;
use super::{Ask, Attached, Field, Known, Name, Page, Part, Typed, Wrongs, name, title};
use crate::book::Id;
use crate::book::body::Person;
use crate::book::command::Command;
use crate::book::entry::Hash;
use crate::book::versions::Versions;

const NAME: Name = name!("person-name", "Name");
const FIRM: Name = name!("firm", "Firm");
const LICENSE: Name = name!("license", "License or certificate number");
const CONTACT: Name = name!("contact", "Phone or email");
const RETIRED: Name = name!("retired", "No longer uses this phone");
const PHONE: Name = name!("phone-name", "Phone's name");

pub(super) fn open(id: Option<Id>, known: Known<'_>) -> Typed {
    let mut typed = Typed::default();
    if let Some(person) = id.and_then(|id| known.kit.people.get(&id)?.now()) {
        let words = |hash: Option<Hash>| hash.and_then(|hash| known.book.words(hash)).unwrap_or_default();
        typed.put(NAME, words(Some(person.name)));
        typed.put(FIRM, words(person.firm));
        typed.put(LICENSE, words(person.license));
        typed.put(CONTACT, words(person.contact));
        typed.put(RETIRED, if person.retired { "yes" } else { "" });
    }
    typed
}

pub(super) fn page(new: bool) -> Page {
    let mut fields = vec![
        Field::new(NAME, Ask::Line),
        Field::new(FIRM, Ask::Line),
        Field::new(LICENSE, Ask::Line).help("As the record should show it."),
        Field::new(CONTACT, Ask::Line).help("Stays on this phone."),
    ];
    if !new {
        fields.push(Field::new(RETIRED, Ask::Switch("Yes", "No")));
    }
    Page {
        title: if new { "Who has this phone?".into() } else { title(false, "person") },
        lead: "Every visit and test carries the name of who made it. Names can be erased later without breaking the record.",
        parts: vec![Part { title: "", folded: false, note: "", fields }],
        offers: Vec::new(),
        save: "Save",
        first: None,
    }
}

pub(super) fn texts(typed: &Typed) -> Vec<(&'static str, String)> {
    [NAME, FIRM, LICENSE, CONTACT].into_iter().flat_map(|name| super::text(typed, name)).collect()
}

/// The commands; whoever is entered first, or is new, has the phone from here on.
pub(super) fn put(typed: &Typed, id: Id, attached: &Attached, known: Known<'_>) -> Result<Vec<Command>, Wrongs> {
    let mut reader = Reader::new(typed);
    reader.name(NAME);
    for name in [FIRM, LICENSE, CONTACT] {
        reader.line(name);
    }
    let of = |name: Name| attached.get(name.key).copied();
    let name = of(NAME).unwrap_or(Hash::LOWEST);
    let (firm, license, contact, retired) = (of(FIRM), of(LICENSE), of(CONTACT), reader.yes(RETIRED));
    let stands = known.kit.people.get(&id).and_then(Versions::now);
    // Attachments are salted anew each time; words that did not change keep theirs.
    let kept = |old: Option<Hash>, new: Option<Hash>, name: Name| match old {
        Some(old) if known.book.words(old) == Some(typed.of(name)) => Some(old),
        _ => new,
    };
    let person = Person {
        name: kept(stands.map(|person| person.name), Some(name), NAME).unwrap_or(name),
        firm: kept(stands.and_then(|person| person.firm), firm, FIRM),
        license: kept(stands.and_then(|person| person.license), license, LICENSE),
        contact: kept(stands.and_then(|person| person.contact), contact, CONTACT),
        retired,
    };
    let mut commands = vec![Command::PutPerson { person: id, now: person }];
    if stands.is_none() {
        commands.push(Command::HandPhone { to: id });
    }
    reader.done(commands)
}

pub(super) fn open_phone(known: Known<'_>) -> Typed {
    let mut typed = Typed::default();
    let name = known.kit.phones.get(&known.at.phone).and_then(Versions::now);
    if let Some(words) = name.and_then(|name| known.book.words(name.name)) {
        typed.put(PHONE, words);
    }
    typed
}

pub(super) fn phone() -> Page {
    Page {
        title: "This phone".into(),
        lead: "The office sees which phone a test came from by this name.",
        parts: vec![Part {
            title: "",
            folded: false,
            note: "",
            fields: vec![Field::new(PHONE, Ask::Line).help("e.g. Lift 1.")],
        }],
        offers: Vec::new(),
        save: "Save",
        first: None,
    }
}

pub(super) fn phone_texts(typed: &Typed) -> Vec<(&'static str, String)> {
    super::text(typed, PHONE)
}

pub(super) fn put_phone(typed: &Typed, attached: &Attached) -> Result<Command, Wrongs> {
    let mut reader = Reader::new(typed);
    reader.name(PHONE);
    let name = attached.get(PHONE.key).copied().unwrap_or(Hash::LOWEST);
    reader.done(Command::NamePhone { name })
}
