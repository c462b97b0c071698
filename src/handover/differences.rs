//! How the findings that a bundle brings differ from those of its entries.

use super::findings_json::FindingsJson;
use super::rounded::DIGITS;
use crate::book::Id;
use crate::encoding::canonical;
use crate::order;
use serde_json::Value;
use std::collections::BTreeMap;

/// Members that hold sentences, and lists of tags made from them. They are for people, a later app may word them better, and they
/// say nothing that another member does not.
const SENTENCES: [&str; 2] = ["flags", "remarks"];

/// The key of a family; procedures that share a name and differ in their steps have the same key.
const COMMON: [&str; 7] = ["visit", "area", "detector_type", "rating_c", "procedure", "as_left", "from"];

/// A finding of a bundle that this app finds otherwise.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Differs {
    /// The test, where it is one of a test.
    pub test: Option<Id>,
    /// Which finding, as the path of members, places in a list from 1; `families` and the place in the bundle's list first where it is
    /// one of a family, without the place where the bundle does not have the family. Empty for a whole test.
    pub what: String,
    /// What the bundle says; empty when it says nothing.
    pub said: String,
    /// What this app finds; empty when it finds nothing.
    pub found: String,
}

/// Where what a bundle says under `findings` differs from `found` by more than one unit of the last printed digit. With `older` it
/// was made by an older method, and families are compared only where it has any.
pub(super) fn differences(said: &Value, found: &FindingsJson, older: bool) -> Vec<Differs> {
    let list = |name: &str| said.get(name).and_then(Value::as_array).map(Vec::as_slice);
    let mut differs = Vec::new();
    by_test(list("tests").unwrap_or_default(), &found.tests, "", &mut differs);
    match list("families") {
        None if older => {}
        families => by_family(families.unwrap_or_default(), &found.families, &mut differs),
    }
    differs
}

fn test_of(value: &Value) -> Option<&str> {
    value.get("test").and_then(Value::as_str)
}

/// The things of two lists that have a key in common, by it: the places of those said, and those found.
type Common<'a> = BTreeMap<String, (Vec<usize>, Vec<&'a Value>)>;

fn common<'a>(said: &[Value], found: &'a [Value], key: fn(&Value) -> String) -> Common<'a> {
    let mut common = Common::new();
    for (place, value) in said.iter().enumerate() {
        common.entry(key(value)).or_default().0.push(place);
    }
    for value in found {
        common.entry(key(value)).or_default().1.push(value);
    }
    common
}

/// Compares two lists whose items name their test. One that is listed twice is found once.
fn by_test(said: &[Value], found: &[Value], path: &str, list: &mut Vec<Differs>) {
    let key = |value: &Value| test_of(value).unwrap_or_default().to_string();
    for (test, (said_at, found)) in common(said, found, key) {
        let id = Id::try_parse(&test).ok();
        let path = if id.is_none() && path.is_empty() { "tests" } else { path };
        for nth in 0..said_at.len().max(found.len()) {
            let said = said_at.get(nth).and_then(|place| said.get(*place));
            compare(said, found.get(nth).copied(), (id, path), list);
        }
    }
}

/// Compares families by what they have in common, those that have it all in their order.
fn by_family(said: &[Value], found: &[Value], list: &mut Vec<Differs>) {
    let key = |value: &Value| COMMON.map(|name| value.get(name).map_or_else(String::new, canonical)).join("\n");
    for (said_at, found) in common(said, found, key).into_values() {
        for nth in 0..said_at.len().max(found.len()) {
            let place = said_at.get(nth);
            let path = place.map_or_else(|| "families".to_string(), |place| format!("families.{}", place + 1));
            compare(place.and_then(|place| said.get(*place)), found.get(nth).copied(), (None, &path), list);
        }
    }
}

fn compare(said: Option<&Value>, found: Option<&Value>, (test, path): (Option<Id>, &str), list: &mut Vec<Differs>) {
    let join = |member: &str| if path.is_empty() { member.to_string() } else { format!("{path}.{member}") };
    match (said, found) {
        (Some(Value::Object(said)), Some(Value::Object(found))) => {
            let members = order::set(said.keys().chain(found.keys()));
            for member in members.into_iter().filter(|member| !SENTENCES.contains(&member.as_str())) {
                compare(said.get(member), found.get(member), (test, &join(member)), list);
            }
        }
        (Some(Value::Array(said)), Some(Value::Array(found))) if found.iter().any(|value| test_of(value).is_some()) => {
            by_test(said, found, path, list);
        }
        (Some(Value::Array(said)), Some(Value::Array(found))) => {
            for index in 0..said.len().max(found.len()) {
                compare(said.get(index), found.get(index), (test, &join(&(index + 1).to_string())), list);
            }
        }
        (Some(Value::Number(said)), Some(Value::Number(found))) if close(said.as_f64(), found.as_f64()) => {}
        (said, found) if said == found => {}
        (said, found) => {
            // A foreign value may be as large as the file; the start of it is enough to recognise it.
            let text =
                |value: Option<&Value>| value.map_or_else(String::new, |v| v.to_string().chars().take(60).collect());
            list.push(Differs { test, what: path.to_string(), said: text(said), found: text(found) });
        }
    }
}

/// Whether two printed numbers differ by no more than one unit of the last digit.
fn close(a: Option<f64>, b: Option<f64>) -> bool {
    let units = |value: f64| (value * 10_f64.powi(DIGITS)).round();
    matches!((a, b), (Some(a), Some(b)) if (units(a) - units(b)).abs() <= 1.0)
}
