//! `FORMAT.md` against the code: a row for every type and no other, its fields as the golden log has them, its facts as the app's.

use super::golden;
use serde_json::Value;
use soakbook::book::body::Body;
use soakbook::book::entry::{Entry, FRAME, Hash};
use soakbook::book::facts::Scopes;
use soakbook::encoding::stored::Stored;
use std::collections::{BTreeMap, BTreeSet};

const FORMAT: &str = include_str!("../../../src/book/FORMAT.md");
const STORED: &str = include_str!("../../../src/book/stored.rs");

/// A row of the table of types.
pub(super) struct Row {
    pub(super) name: String,
    pub(super) fields: Fields,
    scope: String,
    undo: String,
    erasable: String,
}

/// Fields by name, and whether one may be absent.
pub(super) type Fields = BTreeMap<String, bool>;

fn cells(line: &str) -> Vec<&str> {
    line.trim_matches('|').split('|').map(str::trim).collect()
}

/// What stands between backticks.
fn quoted(cell: &str) -> Vec<&str> {
    cell.split('`').skip(1).step_by(2).collect()
}

fn fields(cell: &str) -> Fields {
    let field = |name: &str| match name.strip_suffix('?') {
        Some(name) => (name.to_string(), true),
        None => (name.to_string(), false),
    };
    quoted(cell).into_iter().map(field).collect()
}

fn table(head: &str) -> Vec<Vec<&'static str>> {
    let lines = FORMAT.lines().skip_while(move |line| *line != head).skip(2);
    lines.take_while(|line| line.starts_with('|')).map(cells).collect()
}

pub(super) fn rows() -> Vec<Row> {
    let row = |cells: Vec<&str>| Row {
        name: quoted(cells[0])[0].to_string(),
        fields: fields(cells[1]),
        scope: cells[2].to_string(),
        undo: cells[3].to_string(),
        erasable: cells[4].to_string(),
    };
    table("| type | fields | scope | undo | erasable | meaning |").into_iter().map(row).collect()
}

/// The shapes of the second table.
pub(super) fn shapes() -> BTreeMap<String, Fields> {
    let shape = |cells: Vec<&str>| (quoted(cells[0])[0].to_string(), fields(cells[1]));
    table("| shape | fields | meaning |").into_iter().map(shape).collect()
}

fn row_of(name: &str) -> Row {
    rows().into_iter().find(|row| row.name == name).unwrap_or_else(|| panic!("no row for {name}"))
}

/// The entries of the golden log by type.
fn by_type() -> BTreeMap<String, Vec<Entry>> {
    let mut by_type: BTreeMap<String, Vec<Entry>> = BTreeMap::new();
    golden::entries()
        .into_iter()
        .for_each(|entry| by_type.entry(entry.body.name().to_string()).or_default().push(entry));
    by_type
}

#[test]
fn every_type_has_its_row_and_stands_in_the_golden_log_and_no_other_does() {
    // The one place where types get their names; a type that is not in it is neither written nor read.
    let block = STORED.split("tagged!(Body by \"type\" {").nth(1).unwrap().split("never Newer").next().unwrap();
    let written: BTreeSet<&str> = block.split('"').skip(1).step_by(2).collect();
    let rows = rows();
    let listed: BTreeSet<&str> = rows.iter().map(|row| row.name.as_str()).collect();
    assert_eq!(listed.len(), rows.len(), "each once");
    assert_eq!(listed, written, "FORMAT.md has a row for each, and no other");
    let golden = by_type();
    assert_eq!(golden.keys().map(String::as_str).collect::<BTreeSet<_>>(), written, "the golden log has each");
}

#[test]
fn the_fields_of_every_type_are_those_that_are_written() {
    for (name, entries) in by_type() {
        let written = entries.iter().map(|entry| {
            let value = entry.body.to_value();
            let names = value.as_object().unwrap().keys().filter(|name| *name != "type");
            names.cloned().collect::<BTreeSet<String>>()
        });
        let written: Vec<BTreeSet<String>> = written.collect();
        let all: BTreeSet<String> = written.iter().flatten().cloned().collect();
        let mut found: Fields =
            all.into_iter().map(|field| (field.clone(), !written.iter().all(|names| names.contains(&field)))).collect();
        // What an edit replaces is read and written in one place for all of them.
        if entries.iter().any(|entry| entry.body.edited().is_some()) {
            found.insert("replaces".into(), true);
        }
        assert_eq!(
            row_of(&name).fields,
            found,
            "{name}: FORMAT.md; a field that may be absent is once there and once not"
        );
        assert!(found.keys().all(|field| !FRAME.contains(&field.as_str())), "{name} uses a name of the frame");
    }
}

#[test]
fn scope_and_undo_of_every_type_are_the_apps() {
    for (name, entries) in by_type() {
        let row = row_of(&name);
        for entry in entries {
            let Scopes { kit, site, visit } = entry.body.scopes();
            let scope = match (kit, site, visit) {
                (true, true, true) => "any",
                (true, false, true) => "kit, visit",
                (true, false, false) => "kit",
                (false, true, false) => "site",
                (false, false, true) => "visit",
                other => panic!("{other:?}"),
            };
            assert_eq!(row.scope, scope, "{name}");
            assert_eq!(row.undo, if entry.body.can_be_undone() { "yes" } else { "no" }, "{name}");
        }
    }
}

/// Every hash at a path; lists are gone into.
fn at_path(value: &Value, path: &[&str], found: &mut BTreeSet<Hash>) {
    match (value, path) {
        (Value::Array(items), _) => items.iter().for_each(|item| at_path(item, path, found)),
        (Value::Object(members), [name, rest @ ..]) => {
            members.get(*name).into_iter().for_each(|value| at_path(value, rest, found));
        }
        // A person's id is no attachment.
        (Value::String(text), []) => found.extend(text.parse::<Hash>()),
        _ => {}
    }
}

fn erasable(body: &Body, seen: &mut BTreeSet<String>) -> BTreeSet<Hash> {
    let row = row_of(body.name());
    let value = body.to_value();
    let mut all = BTreeSet::new();
    if let Body::RowsImported { rows, .. } = body {
        assert_eq!(row.erasable, "of its rows");
        return rows.iter().flat_map(|row| erasable(row, seen)).collect();
    }
    for path in quoted(&row.erasable) {
        let mut found = BTreeSet::new();
        at_path(&value, &path.split('.').collect::<Vec<_>>(), &mut found);
        if !found.is_empty() {
            seen.insert(format!("{}.{path}", row.name));
        }
        all.extend(found);
    }
    all
}

#[test]
fn what_is_erasable_is_what_the_app_takes_for_attachments() {
    let mut seen = BTreeSet::new();
    for entry in golden::entries() {
        let named: BTreeSet<Hash> = entry.body.attachments().into_iter().collect();
        assert_eq!(erasable(&entry.body, &mut seen), named, "{}", entry.text);
    }
    let listed = rows().into_iter().flat_map(|row| {
        quoted(&row.erasable).into_iter().map(|path| format!("{}.{path}", row.name)).collect::<Vec<_>>()
    });
    assert_eq!(listed.collect::<BTreeSet<_>>(), seen, "each is in the golden log");
}

#[test]
fn who_did_something_away_from_the_phone_says_when_it_happened() {
    // A `by` that is a name, and not a person's id, is somebody who may not have held the phone.
    for (name, entries) in by_type() {
        let named = |entry: &Entry| {
            let by = entry.body.to_value().get("by").and_then(|by| by.as_str()?.parse::<Hash>().ok());
            by.is_some()
        };
        if entries.iter().any(named) {
            assert_eq!(row_of(&name).fields.get("happened"), Some(&false), "{name}");
        }
    }
}

#[test]
fn no_words_stand_where_an_attachment_belongs() {
    // Names and words that the golden log was given; in the entries there are only hashes of them.
    for words in ["Ada", "Ben", "Olga", "Pat", "Iris", "Wes", "Sid", "Cal Example", "555-", "Lift 1\"", "INV-LIC"] {
        let inside = golden::entries().into_iter().filter(|entry| entry.text.contains(words));
        let inside: Vec<String> = inside.map(|entry| entry.text).collect();
        // The lift that was checked is no phone.
        let inside: Vec<&String> = inside.iter().filter(|text| !text.contains("lift_checked")).collect();
        assert_eq!(inside, Vec::<&String>::new(), "{words}");
    }
}
