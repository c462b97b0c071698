//! The kit: heads, procedures, people and rule sets as their edits leave them.

use super::Id;
use super::body::{Body, Person, RuleSet};
use super::entry::Scope;
use super::group::{Group, Groups};
use super::log::Book;
use crate::trade::head::{HeadName, Heating, Metrology};
use crate::trade::procedure::Procedure;
use std::collections::BTreeMap;

/// One head in its groups of fields.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Head {
    /// Which head it is.
    pub name: Group<HeadName>,
    /// How it heats.
    pub heating: Group<Heating>,
    /// How well its temperature is known.
    pub metrology: Group<Metrology>,
}

/// The kit of every phone known here.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Kit {
    /// Heads.
    pub heads: BTreeMap<Id, Head>,
    /// Procedures.
    pub procedures: BTreeMap<Id, Group<Procedure>>,
    /// People; their names are attachments.
    pub people: BTreeMap<Id, Group<Person>>,
    /// Rule sets.
    pub rule_sets: BTreeMap<Id, Group<RuleSet>>,
}

impl Kit {
    /// Folds the kit entries of a book.
    pub fn of(book: &Book) -> Kit {
        let mut names = Groups::new();
        let mut heatings = Groups::new();
        let mut metrologies = Groups::new();
        let mut procedures = Groups::new();
        let mut people = Groups::new();
        let mut rule_sets = Groups::new();
        for entry in book.scope(Scope::Kit).filter(|entry| !book.is_void(entry.hash)) {
            match &entry.body {
                Body::HeadName(edit) => names.add(entry.hash, edit),
                Body::HeadHeating(edit) => heatings.add(entry.hash, edit),
                Body::HeadMetrology(edit) => metrologies.add(entry.hash, edit),
                Body::Procedure(edit) => procedures.add(entry.hash, edit),
                Body::Person(edit) => people.add(entry.hash, edit),
                Body::RuleSet(edit) => rule_sets.add(entry.hash, edit),
                _ => {}
            }
        }
        let mut heads: BTreeMap<Id, Head> = BTreeMap::new();
        for (id, group) in names.finish() {
            heads.entry(id).or_default().name = group;
        }
        for (id, group) in heatings.finish() {
            heads.entry(id).or_default().heating = group;
        }
        for (id, group) in metrologies.finish() {
            heads.entry(id).or_default().metrology = group;
        }
        Kit { heads, procedures: procedures.finish(), people: people.finish(), rule_sets: rule_sets.finish() }
    }
}
