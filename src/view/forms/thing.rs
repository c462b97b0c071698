//! The things of the register and the kit: their groups of fields, in all versions, and the command that makes them stand.

use super::row::{Answers, Asked, Row};
use super::table::{Table, at, whole};
use super::text::{Units, text};
use super::{Known, Typed, Wrongs, heater, place, position, procedure};
use crate::book::Id;
use crate::book::command::{Command, PutPosition};
use crate::book::register::Position;
use crate::book::versions::Versions;
use crate::encoding::stored::{Object, Stored};
use crate::trade::fields::Kind;
use crate::view::route::Form;
use serde_json::Value;

/// The thing a form edits; none for a new one.
pub fn edited(form: Form, Known { register, kit, .. }: Known<'_>) -> Option<Id> {
    match form {
        Form::Site(id) => id.filter(|id| register.sites.contains_key(id)),
        Form::Area(id) => id.filter(|id| register.areas.contains_key(id)),
        Form::Circuit(id) => id.filter(|id| register.circuits.contains_key(id)),
        Form::Position(id) => id.filter(|id| register.positions.contains_key(id)),
        Form::Heater(id) => id.filter(|id| kit.heaters.contains_key(id)),
        Form::Procedure(id) => id.filter(|id| kit.procedures.contains_key(id)),
        Form::Person(id) => id.filter(|id| kit.people.contains_key(id)),
        Form::Marking(test) | Form::Judge(test) | Form::Restored(test) => Some(test),
        Form::Visual(position) | Form::Repair(position) | Form::Replace(position) => Some(position),
        _ => None,
    }
}

/// A group of fields that is edited as one.
pub(in crate::view) struct Group<'a> {
    /// Its name in what the form makes.
    pub(in crate::view) key: &'static str,
    /// Its words.
    pub(in crate::view) title: &'static str,
    of: Option<&'a dyn AnyVersions>,
}

/// Versions of some group of fields, as values.
trait AnyVersions {
    fn parted(&self) -> bool;
    fn standing(&self) -> Option<Value>;
    fn each(&self) -> Vec<Value>;
}

impl<T: Stored + PartialEq> AnyVersions for Versions<T> {
    fn parted(&self) -> bool {
        self.conflict()
    }

    fn standing(&self) -> Option<Value> {
        self.now().map(Stored::to_value)
    }

    fn each(&self) -> Vec<Value> {
        self.versions().map(|(_, version)| version.to_value()).collect()
    }
}

impl Group<'_> {
    /// What stands; none where nothing does.
    pub(in crate::view) fn now(&self) -> Option<Value> {
        self.of?.standing()
    }

    /// Whether it stands in several versions.
    pub(in crate::view) fn parted(&self) -> bool {
        self.of.is_some_and(AnyVersions::parted)
    }

    /// The versions that differ, in the order that every phone has.
    pub(in crate::view) fn versions(&self) -> Vec<Value> {
        let mut versions: Vec<Value> = Vec::new();
        for version in self.of.map(AnyVersions::each).unwrap_or_default() {
            if !versions.contains(&version) {
                versions.push(version);
            }
        }
        versions
    }
}

fn group<'a, T: Stored + PartialEq>(key: &'static str, title: &'static str, of: Option<&'a Versions<T>>) -> Group<'a> {
    Group { key, title, of: of.map(|of| of as &dyn AnyVersions) }
}

/// The groups of the thing that a form edits; none for a form of anything else.
pub(in crate::view) fn groups<'a>(form: Form, Known { register, kit, .. }: Known<'a>) -> Vec<Group<'a>> {
    match form {
        Form::Site(Some(id)) => vec![group("site", "Site", register.sites.get(&id))],
        Form::Area(Some(id)) => vec![
            group("area", "Area", register.areas.get(&id)),
            group("conditions", "Ceiling and classification", register.area_conditions.get(&id)),
        ],
        Form::Circuit(Some(id)) => vec![group("circuit", "Circuit", register.circuits.get(&id))],
        Form::Position(Some(id)) => {
            let of = register.positions.get(&id);
            let detector = of.and_then(Position::detector).and_then(|id| register.detectors.get(&id));
            vec![
                group("place", "Tag and place", of.map(|of| &of.place)),
                group("access", "Access", of.map(|of| &of.access)),
                group("duty", "Releases", of.map(|of| &of.duty)),
                group("marking", "Type, rating, tolerance", detector.map(|of| &of.marking)),
                group("make", "Model and dates", detector.map(|of| &of.make)),
            ]
        }
        Form::Heater(Some(id)) => {
            let of = kit.heaters.get(&id);
            vec![
                group("name", "Which heater", of.map(|of| &of.name)),
                group("heating", "How it heats", of.map(|of| &of.heating)),
                group("metrology", "Calibration and fit", of.map(|of| &of.metrology)),
            ]
        }
        Form::SiteRules(id) => vec![group("rules", "Rules", register.site_rules.get(&id))],
        Form::Procedure(Some(id)) => vec![group("procedure", "Procedure", kit.procedures.get(&id))],
        _ => Vec::new(),
    }
}

/// What stands of a thing, by groups.
pub(super) fn base(form: Form, known: Known<'_>) -> Value {
    let mut object = Object::new();
    for group in groups(form, known) {
        object.extend(group.now().map(|now| (group.key.to_string(), now)));
    }
    Value::Object(object)
}

/// The command after which a thing stands as its groups say; `detector` is what hangs in a position. None where a group that has to
/// be there is not whole.
pub(in crate::view) fn put(form: Form, id: Id, detector: Id, value: &Value) -> Option<Command> {
    fn group<T: Stored>(value: &Value, key: &str) -> Option<T> {
        T::from_value(value.get(key)?)
    }
    fn or_default<T: Stored + Default>(value: &Value, key: &str) -> Option<T> {
        value.get(key).map_or_else(|| Some(T::default()), T::from_value)
    }
    Some(match form {
        Form::Site(_) => Command::PutSite { site: id, now: group(value, "site")? },
        Form::Area(_) => {
            let (now, conditions) = (group(value, "area")?, or_default(value, "conditions")?);
            Command::PutArea { area: id, now, conditions }
        }
        Form::Circuit(_) => Command::PutCircuit { circuit: id, now: group(value, "circuit")? },
        Form::Position(_) | Form::PositionLike(_) | Form::Unlisted(_) => Command::PutPosition(Box::new(PutPosition {
            position: id,
            detector,
            place: group(value, "place")?,
            access: or_default(value, "access")?,
            duty: or_default(value, "duty")?,
            marking: group(value, "marking")?,
            make: or_default(value, "make")?,
        })),
        Form::Heater(_) => Command::PutHeater {
            heater: id,
            name: group(value, "name")?,
            heating: Box::new(group(value, "heating")?),
            metrology: or_default(value, "metrology")?,
        },
        Form::SiteRules(_) => Command::PutSiteRules { site: id, now: Box::new(group(value, "rules")?) },
        Form::Procedure(_) => Command::PutProcedure { procedure: id, now: Box::new(group(value, "procedure")?) },
        _ => return None,
    })
}

/// The one command of a form of a thing.
pub(super) fn command(form: Form, id: Id, detector: Id, value: &Value) -> Result<Vec<Command>, Wrongs> {
    whole(put(form, id, detector, value).map(|command| vec![command]))
}

/// Every table that has fields of its own.
pub(super) const TABLES: &[&Table] = &[
    &place::SITE,
    &place::AREA,
    &place::CIRCUIT,
    &position::TABLE,
    &heater::TABLE,
    &procedure::TABLE,
    &super::people::PERSON,
    &super::people::PHONE,
    &super::steps::PLAN,
    &super::steps::NOTIFY,
    &super::steps::REOPEN,
    &super::off::IMPAIR,
    &super::off::SECURE,
    &super::off::RESTORE,
    &super::permit::PERMIT,
    &super::permit::APPROVAL,
    &super::permit::CLEAR,
    &super::items::VISUAL,
    &super::items::ITEM,
    &super::items::REPAIR,
    &super::items::REPLACE,
    &super::later::READING,
    &super::later::STRIKE,
    &super::later::JUDGE,
    &super::later::RESTORED,
    &super::leaving::PANEL,
    &super::leaving::LEAVE_OFF,
    &super::leaving::BREAK,
    &super::record::NOT_TESTED,
    &super::record::OTHER,
    &super::record::PAIR,
    &super::record::PROVE,
    &super::record::LIFT,
    &super::record::INVITE,
    &super::record::EXCUSE,
    &super::photo::TABLE,
    &super::rules::SITE_RULES,
    &super::rules::RULE,
    &super::rules::PLAN_POSITION,
];

/// What differs in one of the versions of a group: each field by its name.
pub(in crate::view) fn say(
    form: Form,
    group: &Group<'_>,
    versions: &[Value],
    version: &Value,
    known: Known<'_>,
) -> String {
    let mut parts = Vec::new();
    for row in super::table(form).rows() {
        let Some(path) = row.path.strip_prefix(group.key).and_then(|path| path.strip_prefix('.')) else { continue };
        let mut others = versions.iter().map(|other| at(other, path));
        let mine = at(version, path);
        if others.any(|other| other != mine) {
            let said = match mine {
                Some(Value::Array(items)) if items.is_empty() => "none".to_string(),
                Some(value) => said(row, form, value, known),
                None if row.fact.kind == Kind::Flag => off(row, form, known),
                None => "not entered".to_string(),
            };
            parts.push(format!("{}: {said}", row.name.label));
        }
    }
    parts.join(" · ")
}

/// A flag that is off, which is stored by leaving it out.
fn off(row: &Row, form: Form, known: Known<'_>) -> String {
    match said(row, form, &Value::Bool(false), known) {
        blank if blank.is_empty() => "no".to_string(),
        said => said,
    }
}

/// The value of a field as it is read: an answer by its words, a number with its unit.
pub(super) fn said(row: &Row, form: Form, value: &Value, known: Known<'_>) -> String {
    let text = text(row.fact.kind, value, Units::Sheet, known);
    let typed = Typed::default();
    let asked = Asked { form, typed: &typed, known, new: false };
    let answers = if matches!(row.answers, Answers::None) { Vec::new() } else { row.answers(&asked) };
    match answers.into_iter().find(|answer| answer.value == text) {
        Some(answer) => answer.label,
        None if row.fact.kind == Kind::Thing => String::new(),
        None => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn a_closed_list_is_asked_in_full() {
        let mut lists = 0;
        for row in TABLES.iter().flat_map(|table| table.rows()) {
            if let (Kind::OneOf(names), Answers::Words(words)) = (row.fact.kind, row.answers) {
                let asked = words.iter().map(|(code, ..)| code.replace('-', "_")).filter(|code| !code.is_empty());
                let (asked, names): (BTreeSet<String>, BTreeSet<&str>) =
                    (asked.collect(), names.iter().copied().collect());
                assert_eq!(asked.iter().map(String::as_str).collect::<BTreeSet<_>>(), names, "{}", row.name.label);
                lists += 1;
            }
        }
        assert!(lists > 8, "only {lists} lists seen");
    }

    #[test]
    fn what_is_stored_is_something_that_people_fill_in() {
        for row in TABLES.iter().flat_map(|table| table.rows()).filter(|row| !row.path.is_empty()) {
            assert_ne!(row.fact.kind, Kind::Made, "{}", row.path);
        }
    }

    #[test]
    fn every_field_that_a_rule_names_is_called_something() {
        let rules = [
            include_str!("../../book/decide/fields.rs"),
            include_str!("../../book/decide/kit.rs"),
            include_str!("../../book/decide/plan.rs"),
            include_str!("../../book/decide/profile_run.rs"),
            include_str!("../../book/decide/leaving.rs"),
            include_str!("../../book/decide/readings.rs"),
            include_str!("../../book/decide/record.rs"),
            include_str!("../../book/decide/register.rs"),
            include_str!("../../book/decide/start.rs"),
            include_str!("../../book/decide/test.rs"),
            include_str!("../../book/decide/visit.rs"),
        ];
        let small = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_lowercase() || byte == b'_');
        let is_key = |text: &&str| match text.split_once('.') {
            Some((of, field)) => of.starts_with(|first: char| first.is_ascii_uppercase()) && small(field),
            None => false,
        };
        let keys: BTreeSet<&str> = rules.iter().flat_map(|text| text.split('"').filter(is_key)).collect();
        assert!(keys.len() > 20, "only {} keys seen", keys.len());
        for key in keys {
            assert_ne!(crate::view::forms::label(key), crate::view::forms::NO_LABEL, "{key}");
        }
    }
}
