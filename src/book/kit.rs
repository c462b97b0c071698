//! The kit: heaters, procedures, people and rule sets as their edits leave them.

use super::Id;
use super::body::{Body, Person, RuleSet};
use super::entry::Scope;
use super::group::{Group, standing};
use super::log::Book;
use crate::order;
use crate::trade::heater::{HeaterName, Heating, Metrology};
use crate::trade::procedure::Procedure;
use std::collections::BTreeMap;

/// One heater in its groups of fields.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Heater {
    /// Which heater it is.
    pub name: Group<HeaterName>,
    /// How it heats.
    pub heating: Group<Heating>,
    /// How well its temperature is known.
    pub metrology: Group<Metrology>,
}

/// The kit of every phone known here.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Kit {
    /// Heaters.
    pub heaters: BTreeMap<Id, Heater>,
    /// Procedures.
    pub procedures: BTreeMap<Id, Group<Procedure>>,
    /// People; their names are attachments.
    pub people: BTreeMap<Id, Group<Person>>,
    /// Rule sets.
    pub rule_sets: BTreeMap<Id, Group<RuleSet>>,
}

impl Kit {
    /// Heaters by name: ids made in the same instant have no order that people would know.
    pub fn heaters_by_name(&self) -> Vec<(Id, &Heater)> {
        let heaters = self.heaters.iter().map(|(id, heater)| (*id, heater)).collect();
        order::by(heaters, |(id, heater)| (0, 0, format!("{}\0{id}", heater.name.now().map_or("", |name| &name.name))))
    }

    /// Procedures by name.
    pub fn procedures_by_name(&self) -> Vec<(Id, &Procedure)> {
        let procedures = self.procedures.iter().filter_map(|(id, group)| Some((*id, group.now()?))).collect();
        order::by(procedures, |(id, procedure)| (0, 0, format!("{}\0{id}", procedure.name)))
    }

    /// Folds the kit entries of a book.
    pub fn of(book: &Book) -> Kit {
        let mut kit = Kit::default();
        let Kit { heaters, procedures, people, rule_sets } = &mut kit;
        let entries = book.scope(Scope::Kit).filter(|entry| !book.is_void(entry.hash));
        for (id, entry) in standing(entries) {
            let hash = entry.hash;
            match &entry.body {
                Body::HeaterName(edit) => heaters.entry(id).or_default().name.add(hash, edit),
                Body::HeaterHeating(edit) => heaters.entry(id).or_default().heating.add(hash, edit),
                Body::HeaterMetrology(edit) => heaters.entry(id).or_default().metrology.add(hash, edit),
                Body::Procedure(edit) => procedures.entry(id).or_default().add(hash, edit),
                Body::Person(edit) => people.entry(id).or_default().add(hash, edit),
                Body::RuleSet(edit) => rule_sets.entry(id).or_default().add(hash, edit),
                _ => {}
            }
        }
        kit
    }
}
