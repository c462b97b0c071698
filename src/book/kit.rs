//! The kit: heaters, procedures, people and rule sets as their edits leave them.

use super::Id;
use super::body::{Body, Person, PhoneName, RuleSet};
use super::entries::Book;
use super::entry::{Chain, Scope};
use super::versions::{Versions, current};
use crate::order;
use crate::trade::heater::{HeaterName, Heating, Metrology};
use crate::trade::procedure::Procedure;
use std::collections::BTreeMap;

/// One heater in its groups of fields.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Heater {
    /// Which heater it is.
    pub name: Versions<HeaterName>,
    /// How it heats.
    pub heating: Versions<Heating>,
    /// How well its temperature is known.
    pub metrology: Versions<Metrology>,
}

/// The kit of every phone known here.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Kit {
    /// Heaters.
    pub heaters: BTreeMap<Id, Heater>,
    /// Procedures.
    pub procedures: BTreeMap<Id, Versions<Procedure>>,
    /// People; their names are attachments.
    pub people: BTreeMap<Id, Versions<Person>>,
    /// What phones are called.
    pub phones: BTreeMap<Id, Versions<PhoneName>>,
    /// Rule sets.
    pub rule_sets: BTreeMap<Id, Versions<RuleSet>>,
}

impl Kit {
    /// Heaters by name: ids made in the same instant have no order that people would know.
    pub fn heaters_by_name(&self) -> Vec<(Id, &Heater)> {
        let heaters = self.heaters.iter().map(|(id, heater)| (*id, heater)).collect();
        order::by(heaters, |(id, heater)| (0, 0, format!("{}\0{id}", heater.name.now().map_or("", |name| &name.name))))
    }

    /// Procedures by name.
    pub fn procedures_by_name(&self) -> Vec<(Id, &Procedure)> {
        let procedures = self.procedures.iter().filter_map(|(id, versions)| Some((*id, versions.now()?))).collect();
        order::by(procedures, |(id, procedure)| (0, 0, format!("{}\0{id}", procedure.name)))
    }

    /// People who are still offered, each with the name that its attachment holds, by name.
    pub fn people_by_name<'a>(&'a self, book: &'a Book) -> Vec<(Id, &'a Person, &'a str)> {
        self.named(book, false)
    }

    /// People who no longer use a phone, by name.
    pub fn retired_by_name<'a>(&'a self, book: &'a Book) -> Vec<(Id, &'a Person, &'a str)> {
        self.named(book, true)
    }

    fn named<'a>(&'a self, book: &'a Book, retired: bool) -> Vec<(Id, &'a Person, &'a str)> {
        let people = self.people.iter().filter_map(|(id, versions)| {
            let person = versions.now().filter(|person| person.retired == retired)?;
            Some((*id, person, book.words(person.name)?))
        });
        order::by(people.collect(), |(id, _, name)| (0, 0, format!("{name}\0{id}")))
    }

    /// Folds the kit entries of a book.
    pub fn of(book: &Book) -> Kit {
        let mut kit = Kit::default();
        let Kit { heaters, procedures, people, phones, rule_sets } = &mut kit;
        let entries = book.scope(Scope::Kit).filter(|entry| !book.is_void(entry));
        for (id, hash, body) in current(entries.map(|entry| (entry.hash, &entry.body))) {
            match body {
                Body::HeaterName(edit) => heaters.entry(id).or_default().name.add(hash, edit),
                Body::HeaterHeating(edit) => heaters.entry(id).or_default().heating.add(hash, edit),
                Body::HeaterMetrology(edit) => heaters.entry(id).or_default().metrology.add(hash, edit),
                Body::Procedure(edit) => procedures.entry(id).or_default().add(hash, edit),
                Body::Person(edit) => people.entry(id).or_default().add(hash, edit),
                Body::PhoneName(edit) => phones.entry(id).or_default().add(hash, edit),
                Body::RuleSet(edit) => rule_sets.entry(id).or_default().add(hash, edit),
                _ => {}
            }
        }
        kit
    }
}

/// Who has a phone now: the last one it was handed to.
pub fn has_phone(book: &Book, phone: Id) -> Option<Id> {
    let mut line = book.chain(Chain { scope: Scope::Kit, phone }).filter(|entry| !book.is_void(entry));
    let mut who = None;
    for entry in &mut line {
        if let Body::PhoneHanded { to } = entry.body {
            who = Some(to);
        }
    }
    who
}
