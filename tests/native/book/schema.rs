//! The JSON Schema of entries and bundle, checked by a general-purpose validator (the `jsonschema` crate, draft 2020-12).

use super::entries::one_of_each;
use super::kit::*;
use jsonschema::Validator;
use serde_json::{Value, json};
use soakbook::book::body::Body;
use soakbook::book::entry::{Chain, Entry, Hash, Scope, Stamp};
use std::sync::LazyLock;

const SCHEMA: &str = include_str!("../../../public/bundle.schema.json");

static BUNDLE: LazyLock<Validator> = LazyLock::new(|| {
    let schema: Value = serde_json::from_str(SCHEMA).unwrap();
    jsonschema::meta::validate(&schema).unwrap();
    jsonschema::draft202012::new(&schema).unwrap()
});

static ENTRY: LazyLock<Validator> = LazyLock::new(|| {
    let mut schema: Value = serde_json::from_str(SCHEMA).unwrap();
    let root = schema.as_object_mut().unwrap();
    root.retain(|name, _| name == "$schema" || name == "$defs");
    root.insert("$ref".into(), json!("#/$defs/entry"));
    jsonschema::draft202012::new(&schema).unwrap()
});

/// Whether the validator takes an entry's text.
#[track_caller]
pub(super) fn check(text: &str, valid: bool) {
    let value: Value = serde_json::from_str(text).unwrap();
    let errors: Vec<String> = ENTRY.iter_errors(&value).map(|error| error.to_string()).collect();
    assert_eq!(errors.is_empty(), valid, "{text}: {errors:?}");
}

fn seal(body: Body) -> Entry {
    let chain = Chain { scope: Scope::Kit, phone: id(100) };
    Entry::seal(chain, 0, None, Stamp { session: id(101), mono: 0, wall: MORNING }, None, body)
}

#[test]
fn the_golden_log_and_one_of_each_type_are_valid() {
    super::golden::entries().iter().for_each(|entry| check(&entry.text, true));
    one_of_each().into_iter().for_each(|body| check(&seal(body).text, true));
}

#[test]
fn every_type_has_its_own_definition_and_no_other_has() {
    let schema: Value = serde_json::from_str(SCHEMA).unwrap();
    let mut defined: Vec<&str> =
        schema["$defs"].as_object().unwrap().keys().filter_map(|name| name.strip_prefix("body_")).collect();
    let mut listed: Vec<&str> = schema["$defs"]["known"]["properties"]["type"]["enum"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(Value::as_str)
        .collect();
    let mut known: Vec<String> = one_of_each().iter().map(Body::name).collect();
    defined.sort_unstable();
    listed.sort_unstable();
    known.sort();
    assert_eq!(defined, known);
    assert_eq!(listed, known);
}

/// Every place in a value, as a JSON pointer (RFC 6901).
fn places(value: &Value, path: &str, found: &mut Vec<String>) {
    if !path.is_empty() {
        found.push(path.to_string());
    }
    match value {
        Value::Object(members) => {
            members.iter().for_each(|(name, value)| places(value, &format!("{path}/{name}"), found));
        }
        Value::Array(items) => {
            items.iter().enumerate().for_each(|(index, value)| places(value, &format!("{path}/{index}"), found));
        }
        _ => {}
    }
}

/// Does to every place of every type what `with` says, and expects the schema to notice.
fn every_place(with: impl Fn(&Value) -> Option<Value>) {
    for body in one_of_each() {
        let whole: Value = serde_json::from_str(&seal(body).text).unwrap();
        let mut all = Vec::new();
        places(&whole, "", &mut all);
        for place in all.iter().filter(|place| *place != "/type") {
            let mut changed = whole.clone();
            let there = changed.pointer_mut(place).unwrap();
            if let Some(other) = with(there) {
                *there = other;
                check(&format!("{changed}"), false);
            }
        }
    }
}

#[test]
fn a_value_of_another_kind_is_noticed_at_every_place() {
    every_place(|_| Some(json!([["nothing of the type"]])));
    every_place(|value| value.is_string().then(|| json!(7)));
    every_place(|value| value.is_number().then(|| json!(0.5)));
    every_place(|value| value.is_i64().then(|| json!(9_007_199_254_740_992_i64)));
    every_place(|value| value.is_boolean().then(|| json!("true")));
}

#[test]
fn a_hash_or_id_of_another_shape_is_noticed_at_every_place() {
    let top = |value: &Value, shape: fn(&str) -> bool| {
        value.as_str().filter(|text| shape(text)).map(|text| json!(text.to_uppercase() + "A"))
    };
    every_place(|value| top(value, |text| text.parse::<Hash>().is_ok()));
    every_place(|value| top(value, |text| soakbook::book::Id::try_parse(text).is_ok()));
}

#[test]
fn a_missing_field_of_the_frame_is_noticed() {
    let whole: Value = serde_json::from_str(&seal(Body::VisitClosed {}).text).unwrap();
    for name in ["v", "phone", "scope", "seq", "prev", "session", "at", "mono", "type"] {
        let mut without = whole.clone();
        without.as_object_mut().unwrap().remove(name);
        check(&without.to_string(), false);
    }
    let text = whole.to_string();
    check(&text.replace("\"seq\":0", "\"seq\":1"), false);
    check(&text.replace("\"kit\"", "\"kitchen\""), false);
}

#[test]
fn a_field_the_reader_needs_is_required_and_one_it_does_not_need_is_not() {
    // The reader's own answer decides: what becomes `Newer` without the field is required.
    for body in one_of_each() {
        let text = seal(body).text;
        let whole: Value = serde_json::from_str(&text).unwrap();
        let mut all = Vec::new();
        places(&whole, "", &mut all);
        for place in all {
            let (parent, name) = place.rsplit_once('/').unwrap();
            let mut without = whole.clone();
            let Some(Value::Object(members)) = without.pointer_mut(parent) else { continue };
            members.remove(name);
            let read = Entry::read(&soakbook::encoding::canonical(&without));
            let understood = read.is_ok_and(|entry| !matches!(entry.body, Body::Newer { .. }));
            check(&without.to_string(), understood);
        }
    }
}

#[test]
fn types_and_formats_that_are_not_known_may_hold_anything() {
    let text = seal(Body::VisitClosed {}).text;
    check(&text.replace("visit_closed", "weather"), true);
    check(&text.replace("\"visit_closed\"", "\"weather\",\"wind\":[1.5]"), true);
    check(&text.replace("\"visit_closed\"", "\"undone\""), false);
    check(&text.replace("\"visit_closed\"", "\"undone\"").replace("\"v\":1", "\"v\":2"), true);
}

fn bundle() -> Value {
    let golden = super::golden::entries();
    let last = golden.iter().rfind(|entry| entry.chain.scope == Scope::Kit).unwrap();
    let entries: Vec<Value> = golden.iter().map(|entry| serde_json::from_str(&entry.text).unwrap()).collect();
    json!({
        "format": "soakbook bundle",
        "v": 1,
        "made": { "at": MORNING, "app": "0.1.0", "phone": id(100) },
        "chains": [{ "scope": "kit", "phone": id(100), "count": last.seq + 1, "last": last.hash.to_string() }],
        "entries": entries,
        // printf 'Ada' | base64 (GNU coreutils).
        "attachments": [{ "hash": Hash::of(b"x").to_string(), "salt": "00112233445566778899aabbccddeeff", "media": "text/plain", "bytes": "QWRh" }],
        "findings": { "method": 1, "tests": [], "anything": [1.5] },
    })
}

#[test]
fn a_bundle_is_valid_and_a_broken_one_is_not() {
    let whole = bundle();
    let errors: Vec<String> = BUNDLE.iter_errors(&whole).map(|error| error.to_string()).collect();
    assert_eq!(errors, Vec::<String>::new());
    let mut bare = whole.clone();
    bare.as_object_mut().unwrap().remove("findings");
    assert!(BUNDLE.is_valid(&bare));
    let wrong = [
        ("/format", json!("soakbook")),
        ("/v", json!(2)),
        ("/made/at", json!("2026")),
        ("/made/phone", json!("me")),
        ("/chains/0/count", json!(0)),
        ("/chains/0/last", json!("")),
        ("/entries/0/seq", json!(-1)),
        ("/entries/0/now", json!(null)),
        ("/attachments/0/salt", json!("00")),
        ("/attachments/0/bytes", json!("QWR")),
        ("/findings", json!([])),
        ("/findings/method", json!(0)),
        ("/findings/method", json!("4")),
        ("/findings/tests", json!(null)),
    ];
    for (place, value) in wrong {
        let mut broken = whole.clone();
        *broken.pointer_mut(place).unwrap() = value;
        assert!(!BUNDLE.is_valid(&broken), "{place}");
    }
    for name in ["format", "v", "made", "chains", "entries", "attachments"] {
        let mut broken = whole.clone();
        broken.as_object_mut().unwrap().remove(name);
        assert!(!BUNDLE.is_valid(&broken), "{name}");
    }
}

#[test]
fn what_leaves_the_phone_is_valid() {
    use soakbook::handover::{Made, Select, bundle_of};
    let mut book = soakbook::book::log::Book::default();
    let golden = super::golden::entries();
    // The second entry of the visit is not here, so a chain has a gap.
    let gap = golden.iter().find(|entry| matches!(entry.chain.scope, Scope::Visit(_)) && entry.seq == 1).unwrap();
    golden.iter().filter(|entry| entry.hash != gap.hash).for_each(|entry| book.apply(entry.clone()));
    book.attach(soakbook::book::log::Attachment::text([7; 16], "Ada"));
    let made = Made { at: MORNING, app: "0.1.0".into(), phone: id(100) };
    for select in [Select::Visit(id(VISIT)), Select::Site(id(SITE)), Select::Everything] {
        let text = bundle_of(&book, select, &made).unwrap().text;
        let value: Value = serde_json::from_str(&text).unwrap();
        let errors: Vec<String> = BUNDLE.iter_errors(&value).map(|error| error.to_string()).collect();
        assert_eq!(errors, Vec::<String>::new(), "{select:?}");
        let gaps = value["chains"].as_array().unwrap().iter().filter(|chain| chain["gaps"] == json!([[1, 1]])).count();
        assert_eq!(gaps, usize::from(!matches!(select, Select::Site(_))));
    }
}
