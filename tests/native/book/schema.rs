//! The JSON Schema of entries and bundle, checked by a general-purpose validator (the `jsonschema` crate, draft 2020-12).

use super::{format, golden};
use jsonschema::Validator;
use serde_json::{Value, json};
use soakbook::book::Id;
use soakbook::book::body::*;
use soakbook::book::entry::{Entry, Hash, Scope};
use soakbook::encoding::canonical;
use soakbook::handover::{Made, Select, bundle_of};
use soakbook::trade::classified::Classification;
use soakbook::trade::conditions::Indication;
use soakbook::trade::detector::*;
use soakbook::trade::fields::{Described, Fact, Kind};
use soakbook::trade::heater::{Cycle, HeaterName, Heating, Metrology};
use soakbook::trade::procedure::{OwnLimits, Procedure};
use soakbook::units::Wall;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::LazyLock;

const SCHEMA: &str = include_str!("../../../public/bundle.schema.json");

static PARSED: LazyLock<Value> = LazyLock::new(|| serde_json::from_str(SCHEMA).unwrap());

static BUNDLE: LazyLock<Validator> = LazyLock::new(|| {
    jsonschema::meta::validate(&PARSED).unwrap();
    jsonschema::draft202012::new(&PARSED).unwrap()
});

static ENTRY: LazyLock<Validator> = LazyLock::new(|| of_definition("entry"));

/// A validator for one of the schema's definitions.
fn of_definition(name: &str) -> Validator {
    let definitions = &PARSED["$defs"];
    let schema = json!({ "$schema": PARSED["$schema"], "$defs": definitions, "$ref": format!("#/$defs/{name}") });
    jsonschema::draft202012::new(&schema).unwrap()
}

fn errors(validator: &Validator, value: &Value) -> Vec<String> {
    validator.iter_errors(value).map(|error| error.to_string()).collect()
}

/// Whether the validator takes an entry's text.
#[track_caller]
pub(super) fn check(text: &str, valid: bool) {
    let value: Value = serde_json::from_str(text).unwrap();
    let errors = errors(&ENTRY, &value);
    assert_eq!(errors.is_empty(), valid, "{text}: {errors:?}");
}

/// Of each type the entry with the most fields, and whether something may be done to it.
fn samples() -> BTreeMap<String, Entry> {
    let mut samples: BTreeMap<String, Entry> = BTreeMap::new();
    for entry in golden::entries() {
        let longest = samples.entry(entry.body.name().to_string()).or_insert_with(|| entry.clone());
        if longest.text.len() < entry.text.len() {
            *longest = entry;
        }
    }
    samples
}

fn parsed(entry: &Entry) -> Value {
    serde_json::from_str(&entry.text).unwrap()
}

#[test]
fn every_entry_of_the_golden_log_is_valid() {
    golden::entries().iter().for_each(|entry| check(&entry.text, true));
}

#[test]
fn every_type_has_its_own_definition_and_no_other_has() {
    let definitions = PARSED["$defs"].as_object().unwrap();
    let defined: BTreeSet<&str> = definitions.keys().filter_map(|name| name.strip_prefix("body_")).collect();
    let listed = texts(&PARSED["$defs"]["type"]["enum"]);
    let rows = format::rows();
    let known: Vec<&str> = rows.iter().map(|row| row.name.as_str()).collect();
    assert_eq!(listed, known, "`type` of bundle.schema.json has the types in the order of FORMAT.md");
    assert_eq!(defined, known.iter().copied().collect(), "each has its definition");
    assert_eq!(led("body"), known, "and a line in `body` that leads to it");
    let rows: Vec<&str> = texts(&PARSED["$defs"]["row"]["properties"]["type"]["enum"]);
    assert_eq!(led("row"), rows, "each row of a sheet has a line in `row`");
}

fn texts(list: &Value) -> Vec<&str> {
    list.as_array().into_iter().flatten().flat_map(Value::as_str).collect()
}

/// The types that a definition leads to theirs, in its order.
fn led(name: &str) -> Vec<&str> {
    let ways = PARSED["$defs"][name]["allOf"].as_array().into_iter().flatten();
    let to = |way: &'static Value| {
        let of = way["if"]["properties"]["type"]["const"].as_str().expect("a type");
        assert_eq!(way["then"]["$ref"], format!("#/$defs/body_{of}"));
        of
    };
    ways.map(to).collect()
}

/// The fields of a definition, and whether one may be absent.
fn fields(name: &str) -> format::Fields {
    let definition = &PARSED["$defs"][name];
    let required: Vec<&str> = definition["required"].as_array().into_iter().flatten().flat_map(Value::as_str).collect();
    let properties = definition["properties"].as_object().into_iter().flatten();
    properties.map(|(field, _)| (field.clone(), !required.contains(&field.as_str()))).collect()
}

#[test]
fn types_and_shapes_have_the_fields_that_the_format_says() {
    for row in format::rows() {
        assert_eq!(fields(&format!("body_{}", row.name)), row.fields, "{}: bundle.schema.json and FORMAT.md", row.name);
    }
    let shapes = format::shapes();
    assert!(shapes.len() > 40);
    for (name, of) in shapes {
        assert_eq!(fields(&name), of, "{name}: bundle.schema.json and FORMAT.md");
    }
}

/// Follows a value through the definitions: notes each member as described, and fails where one is not.
fn follow(node: &Value, value: &Value, place: &str, met: &mut BTreeSet<String>) {
    if let Some(name) = node.get("$ref").and_then(|path| path.as_str()?.strip_prefix("#/$defs/")) {
        let name = match (name, value.get("type").and_then(Value::as_str)) {
            ("row", Some(of)) => format!("body_{of}"),
            _ => name.to_string(),
        };
        let mut value = value.clone();
        if let (true, Some(members)) = (name.starts_with("body_"), value.as_object_mut()) {
            members.remove("type");
        }
        return follow(&PARSED["$defs"][&name], &value, &name, met);
    }
    if let Some(ways) = node.get("oneOf").and_then(Value::as_array) {
        let control = |way: &&Value| {
            let name = way["$ref"].as_str().unwrap().trim_start_matches("#/$defs/");
            PARSED["$defs"][name]["properties"]["control"]["const"] == value["control"]
        };
        return follow(ways.iter().find(control).expect("one of them"), value, place, met);
    }
    match value {
        Value::Object(members) => {
            for (name, value) in members {
                let described = node["properties"].get(name).unwrap_or_else(|| panic!("{place} has no `{name}`"));
                met.insert(format!("{place}.{name}"));
                follow(described, value, place, met);
            }
        }
        Value::Array(items) => items.iter().for_each(|item| follow(&node["items"], item, place, met)),
        _ => {}
    }
}

#[test]
fn every_field_is_described_and_in_the_golden_log() {
    let mut met = BTreeSet::new();
    for entry in golden::entries() {
        let mut value = parsed(&entry);
        let members = value.as_object_mut().unwrap();
        let body: serde_json::Map<String, Value> = members
            .iter()
            .filter(|(name, _)| !soakbook::book::entry::FRAME.contains(&name.as_str()))
            .map(own)
            .collect();
        follow(&json!({ "$ref": format!("#/$defs/body_{}", entry.body.name()) }), &Value::Object(body), "", &mut met);
    }
    let shapes = format::shapes();
    let bodies = format::rows().into_iter().map(|row| format!("body_{}", row.name));
    let all = bodies
        .chain(shapes.into_keys())
        .flat_map(|name| fields(&name).into_keys().map(|field| format!("{name}.{field}")).collect::<Vec<_>>());
    // The openings of sessions are part of the frame; what an edit replaces is written in one place for all of them.
    let elsewhere = |place: &String| place.starts_with("opens.") || place.ends_with(".replaces");
    let all: BTreeSet<String> = all.filter(|place| !elsewhere(place)).collect();
    assert_eq!(all.difference(&met).collect::<Vec<_>>(), Vec::<&String>::new(), "no entry of the golden log has it");
}

fn own((name, value): (&String, &Value)) -> (String, Value) {
    (name.clone(), value.clone())
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

/// Does to every place of every type's fields what `with` says; the validator of the type takes it or not as `expected` does. The
/// fields of the frame are tried once.
fn every_place(with: impl Fn(&Value) -> Option<Value>, expected: impl Fn(&Value) -> bool) {
    for (index, (name, entry)) in samples().into_iter().enumerate() {
        let validator = of_definition(&format!("body_{name}"));
        let whole = parsed(&entry);
        let mut all = Vec::new();
        places(&whole, "", &mut all);
        for place in all.iter().filter(|place| *place != "/type") {
            let framed = soakbook::book::entry::FRAME.iter().any(|name| place[1..].split('/').next() == Some(name));
            if framed && index > 0 {
                continue;
            }
            let validator = if framed { &*ENTRY } else { &validator };
            let mut changed = whole.clone();
            let there = changed.pointer_mut(place).unwrap();
            if let Some(other) = with(there) {
                *there = other;
                let errors = errors(validator, &changed);
                assert_eq!(errors.is_empty(), expected(&changed), "{name} {place}: {changed} {errors:?}");
            }
        }
    }
}

/// Whether the app reads it.
fn understood(value: &Value) -> bool {
    Entry::read(&canonical(value)).is_ok_and(|entry| !matches!(entry.body, Body::Newer { .. }))
}

#[test]
fn a_value_of_another_kind_is_noticed_at_every_place() {
    every_place(|_| Some(json!([["nothing of the type"]])), |_| false);
    every_place(|value| value.is_string().then(|| json!(7)), |_| false);
    every_place(|value| value.is_number().then(|| json!(0.5)), |_| false);
    every_place(|value| value.is_i64().then(|| json!(9_007_199_254_740_992_i64)), |_| false);
    every_place(|value| value.is_boolean().then(|| json!("true")), |_| false);
}

#[test]
fn a_hash_or_id_of_another_shape_is_noticed_at_every_place() {
    let top = |value: &Value, shape: fn(&str) -> bool| {
        value.as_str().filter(|text| shape(text)).map(|text| json!(text.to_uppercase() + "A"))
    };
    every_place(|value| top(value, |text| text.parse::<Hash>().is_ok()), |_| false);
    every_place(|value| top(value, |text| Id::try_parse(text).is_ok()), |_| false);
}

#[test]
fn a_text_that_the_reader_does_not_take_is_no_valid_one() {
    // Days are texts to the reader: what is no day is shown as it stands.
    let day = |text: &str| text.len() == 10 && text.as_bytes()[4] == b'-' || text == "2034";
    let other = |value: &Value| value.as_str().filter(|text| !day(text)).map(|_| json!("nothing of the kind"));
    every_place(other, understood);
    let day_of = |value: &Value| value.as_str().filter(|text| day(text)).map(|_| json!("1 May"));
    every_place(day_of, |_| false);
}

#[test]
fn a_missing_field_of_the_frame_is_noticed() {
    let whole = parsed(&samples()["visit_opened"]);
    for name in ["v", "phone", "scope", "seq", "prev", "session", "at", "mono", "decision", "type"] {
        let mut without = whole.clone();
        without.as_object_mut().unwrap().remove(name);
        check(&without.to_string(), false);
    }
    let text = whole.to_string();
    check(&text, true);
    check(&text.replace("\"seq\":0", "\"seq\":1"), false);
    check(&text.replace("\"visit:", "\"kitchen:"), false);
    check(&text.replace("\"v\":2", "\"v\":1"), false);
}

#[test]
fn a_field_the_reader_needs_is_required_and_one_it_does_not_need_is_not() {
    for (name, entry) in samples() {
        let validator = of_definition(&format!("body_{name}"));
        let whole = parsed(&entry);
        let mut all = Vec::new();
        places(&whole, "", &mut all);
        for place in all {
            let (parent, field) = place.rsplit_once('/').unwrap();
            if parent.is_empty() && soakbook::book::entry::FRAME.contains(&field) || parent == "/opens" {
                continue;
            }
            let mut without = whole.clone();
            let Some(Value::Object(members)) = without.pointer_mut(parent) else { continue };
            members.remove(field);
            // The reader's own answer decides: what becomes `Newer` without the field is required.
            assert_eq!(errors(&validator, &without).is_empty(), understood(&without), "{name} {place}");
        }
    }
}

#[test]
fn types_and_formats_that_are_not_known_may_hold_anything() {
    let text = samples()["visit_opened"].text.clone();
    check(&text.replace("visit_opened", "weather"), true);
    check(&text.replace("\"visit_opened\"", "\"weather\",\"wind\":[1.5]"), true);
    check(&text.replace("\"visit_opened\"", "\"visit_opened\",\"wind\":[1.5]"), true);
    check(&text.replace("\"visit_opened\"", "\"undone\""), false);
    check(&text.replace("\"visit_opened\"", "\"undone\"").replace("\"v\":2", "\"v\":3"), true);
}

fn bundle() -> Value {
    let golden = golden::entries();
    let last = golden.iter().rfind(|entry| entry.chain.scope == Scope::Kit).unwrap();
    let entries: Vec<Value> = golden.iter().map(parsed).collect();
    json!({
        "format": "soakbook bundle",
        "v": 2,
        "made": { "at": 0, "app": "0.1.0", "phone": last.chain.phone },
        "chains": [{ "scope": "kit", "phone": last.chain.phone, "count": last.seq + 1, "last": last.hash.to_string() }],
        "entries": entries,
        // printf 'Ada' | base64 (GNU coreutils).
        "attachments": [{ "hash": Hash::of(b"x").to_string(), "salt": "00112233445566778899aabbccddeeff", "media": "text/plain", "bytes": "QWRh" }],
        "findings": { "method": soakbook::findings::METHOD, "tests": [], "families": [], "anything": [1.5] },
    })
}

#[test]
fn a_bundle_is_valid_and_a_broken_one_is_not() {
    let whole = bundle();
    assert_eq!(errors(&BUNDLE, &whole), Vec::<String>::new());
    let mut bare = whole.clone();
    bare.as_object_mut().unwrap().remove("findings");
    assert!(BUNDLE.is_valid(&bare));
    let wrong = [
        ("/format", json!("soakbook")),
        ("/v", json!(1)),
        ("/v", json!(3)),
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
        ("/findings/method", json!("6")),
        ("/findings/tests", json!(null)),
        ("/findings/tests", json!([{}])),
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
    let mut book = soakbook::book::entries::Book::default();
    let golden = golden::entries();
    // An entry in the middle of the visit is not here, so a chain has a gap.
    let is_gap = |entry: &&Entry| matches!(entry.body, Body::LiftChecked { .. });
    let gap = golden.iter().find(is_gap).unwrap();
    golden.iter().filter(|entry| entry.hash != gap.hash).for_each(|entry| book.apply(entry.clone()));
    book.attach(soakbook::book::entries::Attachment::text([7; 16], "Ada"));
    let made = Made { at: Wall(0), app: "0.1.0".into(), phone: golden[0].chain.phone };
    let of = |wanted: fn(Scope) -> Option<Id>| golden.iter().find_map(|entry| wanted(entry.chain.scope)).unwrap();
    let visit = of(|scope| if let Scope::Visit(id) = scope { Some(id) } else { None });
    let site = of(|scope| if let Scope::Site(id) = scope { Some(id) } else { None });
    for select in [Select::Visit(visit), Select::Site(site), Select::Everything] {
        let text = bundle_of(&book, select, &made).unwrap().text;
        let value: Value = serde_json::from_str(&text).unwrap();
        assert_eq!(errors(&BUNDLE, &value), Vec::<String>::new(), "{select:?}");
        let place = json!([[gap.seq, gap.seq]]);
        let gaps = value["chains"].as_array().unwrap().iter().filter(|chain| chain["gaps"] == place).count();
        assert_eq!(gaps, usize::from(!matches!(select, Select::Site(_))));
        let tests = value["findings"]["tests"].as_array().unwrap().len();
        assert_eq!(tests, if matches!(select, Select::Site(_)) { 0 } else { 3 });
    }
}

/// Every type whose fields are described, with the name of its definition.
fn described() -> Vec<(&'static str, &'static [Fact])> {
    macro_rules! all {
        ($($name:literal $type:ty),* $(,)?) => { vec![$(($name, <$type>::FACTS)),*] };
    }
    all![
        "classification" Classification, "place" Place, "access" Access, "duty" Duty, "agreed" Agreed, "marking" Marking,
        "make" Make, "area_conditions" AreaConditions, "heater_name" HeaterName, "heating" Heating,
        "cycle_auto" Cycle, "metrology" Metrology, "own_limits" OwnLimits, "procedure" Procedure, "indication" Indication,
        "site" Site, "area" Area, "circuit" Circuit, "person" Person, "phone_name" PhoneName, "visit_plan" VisitPlan,
        "body_notified" Notice, "body_impaired" Impaired, "body_secured" Secured, "body_permit_taken" Permit,
        "body_visual_check" VisualCheck, "body_reading_corrected" ReadingCorrection, "body_restore_said" RestoreWord,
        "body_item_found" ItemFound, "body_item_told" ItemTelling, "body_item_closed" ItemClosing, "body_repaired" Repair,
        "body_replaced" Replaced, "body_restored" Restoring, "body_approval_held" HeldApproval,
        "body_alarm_cleared" Clearing, "body_visit_reopened" Reopening, "body_photo" Photo, "body_test_started" TestStart,
        "body_profile_run_started" ProfileRunStart, "body_panel_state" PanelState, "body_clock_offset" ClockOffset,
        "body_pair_opened" OpenPair, "body_circuit_proved" CircuitProof, "body_lift_checked" LiftCheck,
        "body_left_off" LeavingOff, "body_not_tested" NotTested, "body_other_method" OtherMethod,
        "body_phone_excused" Excuse, "site_rules" SiteRules, "notify_step" NotifyStep, "rule_set" RuleSet,
        "body_positions_planned" PlannedPositions, "body_panel_saw" PanelSighting,
        "body_programming_changed" ProgrammingChange,
    ]
}

/// A definition behind its references.
fn behind(node: &Value) -> &Value {
    match node.get("$ref").and_then(|path| path.as_str()?.strip_prefix("#/$defs/")) {
        Some(name) => behind(&PARSED["$defs"][name]),
        None => node,
    }
}

/// Whether the schema's description of a field is that of its kind. Ranges are rules and no part of the format: what an older rule
/// let in stays readable.
fn says(node: &Value, kind: Kind) -> bool {
    let is =
        |name: &str| node == &json!({ "$ref": format!("#/$defs/{name}") }) || *behind(node) == PARSED["$defs"][name];
    let of_type = |name: &str| behind(node)["type"] == name && behind(node).get("pattern").is_none();
    match kind {
        Kind::Made => true,
        Kind::Name | Kind::Line => of_type("string"),
        Kind::Attached(_) | Kind::Drawn => is("hash"),
        Kind::Temperature(..) => is("reading"),
        Kind::Difference(..) | Kind::Uncertainty(_) => is("difference"),
        Kind::Decimal(..) => is("decimal"),
        Kind::Seconds(..) => is("integer"),
        Kind::Whole(..) => is("count") || is("integer") || is("natural"),
        Kind::OneOf(names) => {
            let node = behind(node);
            node["enum"] == json!(names) || names.contains(&node["const"].as_str().unwrap_or_default())
        }
        Kind::Flag => of_type("boolean"),
        Kind::Day => is("day") || is("date"),
        Kind::Moment => is("moment"),
        Kind::Height => is("length"),
        Kind::Thing => is("id"),
        Kind::Who => is("who"),
        Kind::Happened => is("happened"),
        Kind::List(of) => of_type("array") && says(&behind(node)["items"], *of),
        Kind::Shape(facts) => {
            let node = behind(node);
            let node = node["oneOf"].as_array().map_or(node, |ways| behind(&ways[0]));
            let named: BTreeSet<&str> = facts.iter().map(|fact| fact.name).collect();
            let listed = node["properties"].as_object().into_iter().flatten().map(|(name, _)| name.as_str());
            listed.collect::<BTreeSet<_>>() == named
        }
    }
}

#[test]
fn every_field_that_people_fill_in_is_described_as_its_kind() {
    for (name, facts) in described() {
        let properties = PARSED["$defs"][name]["properties"].as_object().unwrap_or_else(|| panic!("{name}"));
        let listed: BTreeSet<&str> = properties.keys().map(String::as_str).collect();
        let named = facts.iter().map(|fact| fact.name).collect::<BTreeSet<_>>();
        assert_eq!(named, listed, "`{name}` in bundle.schema.json and FORMAT.md");
        for fact in facts {
            assert!(says(&properties[fact.name], fact.kind), "{}: {}", fact.key, properties[fact.name]);
        }
    }
    // A described type that is not in the list above would not be checked.
    let sources = [include_str!("../../../src/trade/stored.rs"), include_str!("../../../src/book/described.rs")];
    let lines = sources.iter().flat_map(|text| text.lines());
    let written = lines.filter(|line| line.starts_with("described!(") || line.starts_with("facts!(")).count();
    assert_eq!(described().len(), written, "`described` in this file names each type");
}
