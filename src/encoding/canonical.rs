//! Canonical JSON: RFC 8785, the JSON Canonicalization Scheme.

use std::fmt::Write;

use serde_json::{Map, Number, Value};

/// The canonical text of `value` by RFC 8785: no white space, members sorted by the UTF-16 code units of their names,
/// numbers as ECMAScript writes doubles, only the escapes that JSON demands. Integers beyond ±(2^53 − 1) lose digits
/// as the RFC says they must.
pub fn canonical(value: &Value) -> String {
    let mut out = String::new();
    write_value(&mut out, value);
    out
}

fn write_value(out: &mut String, value: &Value) {
    match value {
        Value::Null => out.push_str("null"),
        Value::Bool(true) => out.push_str("true"),
        Value::Bool(false) => out.push_str("false"),
        Value::Number(number) => write_number(out, number),
        Value::String(text) => write_string(out, text),
        Value::Array(items) => {
            out.push('[');
            for (index, item) in items.iter().enumerate() {
                if index > 0 {
                    out.push(',');
                }
                write_value(out, item);
            }
            out.push(']');
        }
        Value::Object(members) => write_object(out, members),
    }
}

fn write_object(out: &mut String, members: &Map<String, Value>) {
    let mut sorted: Vec<_> = members.iter().collect();
    // By UTF-16 code units (RFC 8785 3.2.3): an emoji comes before U+FB33, in UTF-8 order it would come after.
    sorted.sort_unstable_by(|(a, _), (b, _)| a.encode_utf16().cmp(b.encode_utf16()));
    out.push('{');
    for (index, (name, value)) in sorted.into_iter().enumerate() {
        if index > 0 {
            out.push(',');
        }
        write_string(out, name);
        out.push(':');
        write_value(out, value);
    }
    out.push('}');
}

fn write_string(out: &mut String, text: &str) {
    out.push('"');
    let mut rest = text;
    while let Some(at) = rest.find(|c| matches!(c, '"' | '\\' | '\0'..='\u{1f}')) {
        let (plain, from) = rest.split_at(at);
        out.push_str(plain);
        match from.as_bytes()[0] {
            b'"' => out.push_str("\\\""),
            b'\\' => out.push_str("\\\\"),
            0x08 => out.push_str("\\b"),
            b'\t' => out.push_str("\\t"),
            b'\n' => out.push_str("\\n"),
            0x0c => out.push_str("\\f"),
            b'\r' => out.push_str("\\r"),
            control => append(out, format_args!("\\u{control:04x}")),
        }
        rest = &from[1..];
    }
    out.push_str(rest);
    out.push('"');
}

/// Integers up to this size are exact as doubles, so their decimal digits are the canonical text.
const MAX_EXACT: u64 = 1 << 53;

fn write_number(out: &mut String, number: &Number) {
    match number.as_i64() {
        Some(integer) if integer.unsigned_abs() <= MAX_EXACT => append(out, format_args!("{integer}")),
        // A `Number` is always finite; without the `arbitrary_precision` feature `as_f64` always answers.
        _ => write_double(out, number.as_f64().unwrap_or(0.0)),
    }
}

/// ECMAScript `Number::toString` (ECMA-262, 6.1.6.1.20), which RFC 8785 3.2.2.3 prescribes. Rust and ECMAScript both
/// give the shortest digits that read back as the same double; their layout differs, and the choice in a tie.
fn write_double(out: &mut String, value: f64) {
    if value == 0.0 {
        out.push('0');
        return;
    }
    if value < 0.0 {
        out.push('-');
    }
    let shortest = format!("{:e}", value.abs());
    let (mantissa, exponent) = shortest.split_once('e').unwrap_or((&shortest, "0"));
    let mut digits: String = mantissa.chars().filter(char::is_ascii_digit).collect();
    round_tie_to_even(&mut digits, value.abs());
    // The value is 0.DIGITS · 10^point.
    let point = exponent.parse::<i32>().unwrap_or(0) + 1;
    let count = digits.len() as i32;
    match point {
        _ if (count..=21).contains(&point) => {
            out.push_str(&digits);
            out.extend(std::iter::repeat_n('0', (point - count) as usize));
        }
        1..=21 => {
            let (whole, fraction) = digits.split_at(point as usize);
            append(out, format_args!("{whole}.{fraction}"));
        }
        -5..=0 => {
            out.push_str("0.");
            out.extend(std::iter::repeat_n('0', -point as usize));
            out.push_str(&digits);
        }
        _ => {
            let (first, rest) = digits.split_at(1);
            let dot = if rest.is_empty() { "" } else { "." };
            append(out, format_args!("{first}{dot}{rest}e{:+}", point - 1));
        }
    }
}

/// Where a double lies exactly between its two nearest shortest decimals, ECMAScript takes the even one and Rust the
/// upper: 1424953923781206.25 is …206.2 by RFC 8785, appendix B.
fn round_tie_to_even(digits: &mut String, value: f64) {
    /// No double has more significant decimal digits than this.
    const ALL_DIGITS: usize = 767;
    let Some(last) = digits.pop().and_then(|digit| digit.to_digit(10)) else { return };
    let lower = format!("{digits}{}", last - last % 2);
    let tie = last % 2 == 1 && {
        let near = format!("{value:.*e}", lower.len());
        let exact = || format!("{value:.ALL_DIGITS$e}");
        is_midpoint_above(&lower, &near) && is_midpoint_above(&lower, &exact())
    };
    *digits = if tie { lower } else { format!("{digits}{last}") };
}

/// Whether the digits of `scientific` are those of `lower`, then a five, then nothing but zeros.
fn is_midpoint_above(lower: &str, scientific: &str) -> bool {
    let mantissa = scientific.split_once('e').map_or(scientific, |(mantissa, _)| mantissa);
    let digits: String = mantissa.chars().filter(char::is_ascii_digit).collect();
    digits
        .strip_prefix(lower)
        .and_then(|rest| rest.strip_prefix('5'))
        .is_some_and(|rest| rest.bytes().all(|b| b == b'0'))
}

fn append(out: &mut String, arguments: std::fmt::Arguments<'_>) {
    // Writing to a String cannot fail.
    let _ = out.write_fmt(arguments);
}
