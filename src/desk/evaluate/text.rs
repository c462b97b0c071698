//! Records as lines for people.

use chrono::{DateTime, SecondsFormat};
use serde_json::Value;

use crate::handover::{InUnit, difference, temperature};
use crate::units::{Degree, Wall};

/// An instant, UTC ms, as RFC 3339 writes it.
pub(super) fn instant(ms: Wall) -> String {
    DateTime::from_timestamp_millis(ms.0).map_or_else(String::new, |at| at.to_rfc3339_opts(SecondsFormat::Millis, true))
}

/// A record as one or more lines. What would move the cursor, break a line or turn the direction of writing is shown as a code, so
/// that no name can pass for a line of ours.
pub(super) fn lines(record: &Value, unit: InUnit) -> String {
    let record = &shown(record);
    let numbers = Numbers(unit.of(record));
    let text = |pointer: &str| match record.pointer(pointer) {
        None | Some(Value::Null) => String::new(),
        Some(Value::String(text)) => text.clone(),
        Some(other) => other.to_string(),
    };
    let file = text("/file");
    match record.pointer("/kind").and_then(Value::as_str) {
        Some("file") => format!(
            "{file}: {} entries, {} attachments, made {} by app {}; findings: {}\n",
            text("/entries"),
            text("/attachments"),
            text("/made"),
            text("/app"),
            text("/findings")
        ),
        Some("problem") if file.is_empty() => format!("{}: {}\n", text("/problem"), text("/words")),
        Some("problem") => format!("{file}: {}: {}\n", text("/problem"), text("/words")),
        Some("difference") => {
            let or_nothing = |text: String| if text.is_empty() { "nothing".to_string() } else { text };
            let test = if text("/test").is_empty() { String::new() } else { format!("test {}", text("/test")) };
            format!(
                "{file}: differs: {}: the bundle says {}, its entries give {}\n",
                listed([test, text("/what")]),
                or_nothing(text("/said")),
                or_nothing(text("/found"))
            )
        }
        Some("position") => {
            let outcome = listed([plain(&text("/outcome")), plain(&text("/reason"))]);
            format!("{}: {outcome}\n", listed([text("/site_name"), text("/area_name"), text("/tag")]))
        }
        Some("test") => test(record, &text, numbers),
        Some("family") => family(record, &text, numbers),
        Some("summary") => format!(
            "files {}, unreadable {}, tests {}, broken places {}, differences {}, remarks {}; \
             findings by an older method {}, by a newer one and not compared {}, none {}\n",
            text("/files"),
            text("/unreadable"),
            text("/tests"),
            text("/broken"),
            text("/differences"),
            text("/remarks"),
            text("/older_method"),
            text("/newer_method"),
            text("/without_findings")
        ),
        _ => format!("{record}\n"),
    }
}

fn shown(value: &Value) -> Value {
    match value {
        Value::String(text) => escaped(text).into(),
        Value::Array(items) => items.iter().map(shown).collect(),
        Value::Object(map) => map.iter().map(|(name, value)| (escaped(name), shown(value))).collect(),
        other => other.clone(),
    }
}

/// Control characters (C0, DEL, C1), line and paragraph separator, and what sets the direction of writing (UAX 9) as `\u{…}`.
fn escaped(text: &str) -> String {
    const DIRECTION: [char; 12] = [
        '\u{61c}', '\u{200e}', '\u{200f}', '\u{202a}', '\u{202b}', '\u{202c}', '\u{202d}', '\u{202e}', '\u{2066}',
        '\u{2067}', '\u{2068}', '\u{2069}',
    ];
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if c.is_control() || matches!(c, '\u{2028}' | '\u{2029}') || DIRECTION.contains(&c) {
            out.extend(c.escape_unicode());
        } else {
            out.push(c);
        }
    }
    out
}

/// Numbers in the unit asked for.
#[derive(Clone, Copy)]
struct Numbers(Degree);

impl Numbers {
    /// A temperature, °C.
    fn temperature(self, value: Option<&Value>) -> String {
        let number = value.and_then(Value::as_f64);
        number.map_or_else(String::new, |c| format!("{} {}", temperature(c, self.0), self.0.symbol()))
    }

    /// A difference, K: in °C it stays K.
    fn difference(self, value: Option<&Value>) -> String {
        let symbol = if self.0 == Degree::C { "K" } else { self.0.symbol() };
        let number = value.and_then(Value::as_f64);
        number.map_or_else(String::new, |k| format!("{} {symbol}", difference(k, self.0)))
    }
}

/// What there is of these, parted by commas.
fn listed<const N: usize>(parts: [String; N]) -> String {
    parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(", ")
}

fn family(record: &Value, text: &dyn Fn(&str) -> String, numbers: Numbers) -> String {
    let tests = record.pointer("/members").and_then(Value::as_array).map_or(0, Vec::len);
    let standing = if record.pointer("/as_left") == Some(&Value::Bool(true)) { "as left" } else { "as found" };
    let way = if text("/from") == "estimates" { ", from estimates" } else { "" };
    let mut out = format!(
        "side by side, {}, {}, {}, {standing}{way}: {tests} tests of {} positions, median deviation {}; {}",
        plain(&text("/detector_type")),
        numbers.temperature(record.pointer("/rating_c")),
        text("/procedure"),
        text("/positions"),
        numbers.difference(record.pointer("/median_k")),
        plain(&text("/compared"))
    );
    if record.pointer("/cut_off").is_some() {
        out.push_str(&format!(", cut-off {}", text("/cut_off")));
    }
    out.push('\n');
    let list = |pointer: &str| record.pointer(pointer).and_then(Value::as_array).into_iter().flatten();
    list("/flags").filter_map(Value::as_str).for_each(|tag| out.push_str(&format!("    outlier: {tag}\n")));
    list("/remarks").filter_map(Value::as_str).for_each(|words| out.push_str(&format!("    remark: {words}\n")));
    out
}

fn test(record: &Value, text: &dyn Fn(&str) -> String, numbers: Numbers) -> String {
    let trips = record.pointer("/trips").and_then(Value::as_array).map_or(0, Vec::len);
    let (role, outcome) = (plain(&text("/role")), plain(&text("/outcome")));
    let place = listed([text("/site_name"), text("/area_name"), text("/tag")]);
    let started = if text("/started_local").is_empty() { text("/started") } else { text("/started_local") };
    let mut out = format!("{place}, {started}, {role}: {outcome}; trips {trips}; ");
    if record.pointer("/operating").is_some() {
        let more = if record.pointer("/operating/complete") == Some(&Value::Bool(true)) { "" } else { " or more" };
        let mean = numbers.temperature(record.pointer("/operating/mean_c"));
        let expanded = numbers.difference(record.pointer("/operating/expanded_k"));
        out.push_str(&format!("operating temperature {mean} ± {expanded}{more}"));
        if let Some(rate) = record.pointer("/operating/rate_k_per_min") {
            out.push_str(&format!(" at {}/min", numbers.difference(Some(rate))));
        }
        if record.pointer("/operating/estimated").is_some() {
            let (estimated, n) = (text("/operating/estimated"), text("/operating/n"));
            out.push_str(&format!(", indicative: {estimated} of {n} trips estimated"));
        }
    } else {
        out.push_str(&format!("no operating temperature: {}", plain(&text("/why"))));
    }
    out.push('\n');
    for judgement in record.pointer("/judgements").and_then(Value::as_array).into_iter().flatten() {
        out.push_str(&self::judgement(judgement, numbers));
    }
    for flag in record.pointer("/flags").and_then(Value::as_array).into_iter().flatten().filter_map(Value::as_str) {
        out.push_str(&format!("    flag: {flag}\n"));
    }
    out
}

/// A name as words.
fn plain(name: &str) -> String {
    name.replace('_', " ")
}

fn judgement(judgement: &Value, numbers: Numbers) -> String {
    let member =
        |name: &str| judgement.get(name).map(|value| value.as_str().map_or_else(|| value.to_string(), str::to_string));
    let mut out = String::from("   ");
    if judgement.get("corrected_by").is_some() {
        out.push_str(" by the corrected marking:");
    }
    if let Some(rating) = judgement.get("rating_c") {
        let limit = |name| match judgement.get(name) {
            Some(limit) => numbers.temperature(Some(limit)),
            None => "none".to_string(),
        };
        let (lower, upper) = (limit("lower_c"), limit("upper_c"));
        out.push_str(&format!(" rating {}, limits {lower} to {upper};", numbers.temperature(Some(rating))));
    }
    if let Some(as_read) = member("as_read") {
        out.push_str(&format!(" {as_read} as read;"));
    }
    match member("limit_result") {
        Some(limit_result) => out.push_str(&format!(" limit result: {}\n", plain(&limit_result))),
        None => {
            let missing = judgement.get("missing").and_then(Value::as_array);
            let reasons: Vec<String> = missing.into_iter().flatten().filter_map(Value::as_str).map(plain).collect();
            out.push_str(&format!(" no limit result: {}\n", reasons.join("; ")));
        }
    }
    out
}
