//! Versions of one thing that two phones gave, and the edit that settles which holds.

use super::forms::{Group, Known, groups, put, say};
use super::route::Form;
use crate::book::Id;
use crate::book::command::Command;
use crate::book::register::Position;
use crate::encoding::stored::Object;
use serde_json::Value;

/// A group of fields that stands in several versions.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Clash {
    /// Which fields.
    pub fields: &'static str,
    /// What differs in each version.
    pub versions: Vec<String>,
}

/// Whether anything of a thing stands in several versions.
pub fn conflict(thing: Form, known: Known<'_>) -> bool {
    groups(thing, known).iter().any(Group::parted)
}

/// What stands in several versions of a thing, named by the form that edits it.
pub fn clashes(thing: Form, known: Known<'_>) -> Vec<Clash> {
    let parted = groups(thing, known).into_iter().filter(Group::parted);
    let clash = |group: Group<'_>| {
        let versions = group.versions();
        let said = |version| say(thing, &group, &versions, version, known);
        Clash { fields: group.title, versions: versions.iter().map(said).collect() }
    };
    parted.map(clash).collect()
}

/// The command after which the picked versions hold, one pick a clash; none while a pick is missing.
pub fn settle(thing: Form, picks: &[usize], known: Known<'_>) -> Option<Command> {
    let (mut value, mut picks) = (Object::new(), picks.iter());
    for group in groups(thing, known) {
        let now = match group.parted() {
            true => Some(group.versions().get(*picks.next()?)?.clone()),
            false => group.now(),
        };
        value.extend(now.map(|now| (group.key.to_string(), now)));
    }
    let (Form::Site(id)
    | Form::Area(id)
    | Form::Circuit(id)
    | Form::Position(id)
    | Form::Heater(id)
    | Form::Procedure(id)) = thing
    else {
        return None;
    };
    let detector = match thing {
        Form::Position(Some(id)) => known.register.positions.get(&id).and_then(Position::detector)?,
        _ => Id::nil(),
    };
    put(thing, id?, detector, &Value::Object(value))
}
