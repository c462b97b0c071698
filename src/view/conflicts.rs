//! Versions of one thing that two phones gave, and the edit that settles which holds.

use super::forms::{Group, Known, groups, put, say};
use super::route::Form;
use super::words;
use crate::book::Id;
use crate::book::body::SiteRules;
use crate::book::command::Command;
use crate::book::register::Position;
use crate::encoding::stored::{Object, Stored};
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
        let said = |version| match thing {
            Form::SiteRules(_) => rules(version),
            _ => say(thing, &group, &versions, version, known),
        };
        Clash { fields: group.title, versions: versions.iter().map(said).collect() }
    };
    parted.map(clash).collect()
}

/// What a site goes by in a version: its rules by name, months, limits, and who is notified.
fn rules(version: &Value) -> String {
    let now = SiteRules::from_value(version).unwrap_or_default();
    let names: Vec<&str> = now.rules.iter().map(|rule| rule.name.as_str()).collect();
    let names = if names.is_empty() { "no rule chosen".to_string() } else { names.join("; ") };
    let mut said = vec![names];
    said.extend(now.visit_interval_months.map(|months| format!("{months} months between visits")));
    said.extend(now.impairment_limit_min.map(|minutes| format!("impaired {minutes} min in 24 h at most")));
    said.extend(now.written_notice_h.map(|hours| format!("written notice within {hours} h")));
    let steps: Vec<&str> = now.notify.iter().map(|step| words::whom(step.whom)).collect();
    said.extend((!steps.is_empty()).then(|| format!("notified: {}", steps.join(", "))));
    said.join(" · ")
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
    let id = match thing {
        Form::Site(id)
        | Form::Area(id)
        | Form::Circuit(id)
        | Form::Position(id)
        | Form::Heater(id)
        | Form::Procedure(id) => id,
        Form::SiteRules(id) => Some(id),
        _ => return None,
    };
    let detector = match thing {
        Form::Position(Some(id)) => known.register.positions.get(&id).and_then(Position::detector)?,
        _ => Id::nil(),
    };
    let id = id?;
    let provisional = known.register.positions.get(&id).is_some_and(Position::provisional);
    put(thing, id, detector, &Value::Object(value)).map(|command| match command {
        Command::PutPosition(position) if provisional => Command::PutUnlisted(position),
        command => command,
    })
}
