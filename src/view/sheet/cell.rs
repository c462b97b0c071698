//! One cell: from what people write to what the field's column takes, or what is wrong with it. Nothing is guessed here.

pub(super) use crate::encoding::csv::unguarded;
use crate::trade::fields::Kind;
use crate::units::{Degree, LengthUnit};
use crate::view::forms::columns::Column;

/// How the cells of a column are read.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct How {
    /// Whether the decimal sign is a comma.
    pub comma: bool,
    /// Whether the day comes before the month.
    pub day_first: bool,
    /// The unit of temperatures without one.
    pub unit: Option<Degree>,
    /// The unit of heights without one.
    pub length: Option<LengthUnit>,
}

/// The words for yes and no.
const YES_NO: [(&str, &[&str]); 2] = [("yes", &["yes", "y", "x", "true", "1"]), ("no", &["no", "n", "false", "0"])];

/// What says that nothing is released.
const NOTHING: [&str; 5] = ["none", "no", "n", "false", "nothing"];

/// What says that nobody knows.
const NOT_KNOWN: [&str; 7] = ["?", "-", "0", "n/a", "na", "unknown", "tbd"];

/// A release that has no name in the sheet.
pub const NOT_NAMED: &str = "Not named";

/// The cell as its column takes it; empty for nothing.
///
/// # Errors
/// What is wrong with it.
pub fn normal(column: &Column, cell: &str, how: How) -> Result<String, String> {
    let text = unguarded(cell);
    let text = text.as_str();
    if text.len() == cell.len() && text.starts_with('=') {
        return Err("is a formula. Save the sheet with values".to_string());
    }
    if text.starts_with('#') && text.ends_with(['!', '?']) || text == "#N/A" {
        return Err("is a formula error".to_string());
    }
    let small = text.to_lowercase();
    match column.kind() {
        _ if text.is_empty() => Ok(String::new()),
        Kind::Temperature(..) | Kind::Difference(..) => temperature(text, how),
        Kind::Height => height(text, how),
        Kind::Day => day(text, how.day_first),
        Kind::Flag => {
            let word = YES_NO.iter().find(|(_, words)| words.contains(&small.as_str()));
            word.map(|(word, _)| (*word).to_string()).ok_or_else(|| "isn't yes or no".to_string())
        }
        Kind::List(_) if NOTHING.contains(&small.as_str()) => Ok("none".to_string()),
        Kind::List(_) if NOT_KNOWN.contains(&small.as_str()) => Ok(String::new()),
        Kind::List(_) if YES_NO[0].1.contains(&small.as_str()) => Ok(NOT_NAMED.to_string()),
        Kind::List(_) => Ok(text.to_string()),
        Kind::OneOf(_) if column.key() == "reach" => Ok(reach(&small).unwrap_or(text).to_string()),
        _ => Ok(text.replace('\n', " ")),
    }
}

/// A temperature with its unit.
fn temperature(text: &str, how: How) -> Result<String, String> {
    let (digits, rest) = number(text, how.comma)?;
    let rest = rest.to_lowercase();
    let rest = rest.trim_start_matches(['°', 'º', '˚', ' ']);
    let rest = DEGREES.iter().find_map(|word| rest.strip_prefix(word)).unwrap_or(rest);
    let unit = match rest.trim() {
        "" => how.unit.ok_or_else(|| "has no unit".to_string())?,
        "f" | "fahrenheit" | "℉" => Degree::F,
        "c" | "celsius" | "℃" => Degree::C,
        _ => return Err("isn't a temperature. Write one, e.g. 135 °F".to_string()),
    };
    Ok(format!("{digits} {}", unit.symbol()))
}

/// Words for degrees of no unit, the longest first.
const DEGREES: [&str; 4] = ["degrees", "degree", "deg.", "deg"];

/// Whether a cell is a temperature without a unit.
pub fn has_no_unit(text: &str) -> bool {
    let text = text.to_lowercase();
    let text = DEGREES.iter().find_map(|word| text.strip_suffix(word)).unwrap_or(&text);
    text.trim_end().ends_with(|sign: char| sign.is_ascii_digit() || "°º˚".contains(sign))
}

/// The digits at the beginning of a cell, with a point, and the rest.
fn number(text: &str, comma: bool) -> Result<(String, &str), String> {
    let end = text.find(|sign: char| !(sign.is_ascii_digit() || ".,+-−".contains(sign))).unwrap_or(text.len());
    let (digits, rest) = text.split_at(end);
    match comma {
        true if digits.contains('.') => Err("has a point, and the decimal sign of this sheet is a comma".to_string()),
        false if digits.contains(',') => Err("has a comma, and the decimal sign of this sheet is a point".to_string()),
        _ => Ok((digits.replace(',', "."), rest)),
    }
}

/// A height with its unit.
fn height(text: &str, how: How) -> Result<String, String> {
    let (digits, rest) = number(text, how.comma)?;
    if let Some(inches) = feet(rest) {
        return feet_and_inches(&digits, inches, how.comma);
    }
    match (rest.trim(), how.length) {
        ("", Some(LengthUnit::Ft)) => Ok(format!("{digits} ft")),
        ("", Some(LengthUnit::M)) => Ok(format!("{digits} m")),
        (rest, _) => Ok(format!("{digits} {}", rest.trim_end_matches('.'))),
    }
}

/// What stands behind the sign for feet.
fn feet(rest: &str) -> Option<&str> {
    let rest = rest.trim_start();
    let inches = ["ft.", "ft", "feet", "'", "’", "′"].into_iter().find_map(|sign| rest.strip_prefix(sign))?;
    Some(inches.trim_matches([' ', '-']))
}

/// 12 in are 1 ft. A hundredth of a foot is an eighth of an inch: nobody knows a ceiling better.
fn feet_and_inches(feet: &str, inches: &str, comma: bool) -> Result<String, String> {
    if inches.is_empty() {
        return Ok(format!("{feet} ft"));
    }
    let wrong = || "isn't a height. Write one, e.g. 22.5 ft".to_string();
    let (digits, sign) = number(inches, comma)?;
    let (feet, inches) = (feet.parse::<u32>().map_err(|_| wrong())?, digits.parse::<f64>().map_err(|_| wrong())?);
    let known = ["\"", "''", "”", "″", "in", "inch", "inches"].contains(&sign.trim().trim_end_matches('.'));
    if !known || !(0.0..12.0).contains(&inches) {
        return Err(wrong());
    }
    let hundredths = u64::from(feet) * 100 + (inches * 100.0 / 12.0).round() as u64;
    let digits = format!("{}.{:02}", hundredths / 100, hundredths % 100);
    Ok(format!("{} ft", digits.trim_end_matches('0').trim_end_matches('.')))
}

/// The parts of a date with the year at its end, and what stands between them.
fn parts(text: &str) -> Option<(u32, u32, u32, char)> {
    let sign = text.chars().find(|sign| "/.-".contains(*sign))?;
    let mut parts = text.split(sign);
    let (first, second, last) = (parts.next()?, parts.next()?, parts.next()?);
    let (first, second) = (first.parse::<u32>().ok()?, second.parse::<u32>().ok()?);
    let year = match (last.len(), last.parse::<u32>().ok()?) {
        // Between dashes the last two digits may be the day. The century is that of POSIX, `strptime` %y.
        (2, year) if sign != '-' => year + if year < 69 { 2_000 } else { 1_900 },
        (_, year) => year,
    };
    (parts.next().is_none() && (1_900..10_000).contains(&year)).then_some((first, second, year, sign))
}

/// Whether a date says by itself that its day comes before its month.
pub fn day_first(text: &str) -> Option<bool> {
    let (first, second, _, sign) = parts(without_time(text))?;
    match (first > 12, second > 12, sign) {
        (true, false, _) => Some(true),
        (false, true, _) => Some(false),
        (false, false, '.') => Some(true),
        _ => None,
    }
}

/// Spreadsheets write midnight behind a day.
fn without_time(text: &str) -> &str {
    let day = text.split_once([' ', 'T']).filter(|(_, time)| time.contains(':')).map(|(day, _)| day);
    day.unwrap_or(text)
}

/// A day as `YYYY-MM-DD`.
fn day(text: &str, day_first: bool) -> Result<String, String> {
    let day = without_time(text);
    if let Some((first, second, year, _)) = parts(day) {
        let (month, day) = if day_first { (second, first) } else { (first, second) };
        return Ok(format!("{year:04}-{month:02}-{day:02}"));
    }
    let iso = day.len() == 10 && day.bytes().filter(|byte| *byte == b'-').count() == 2;
    if iso { Ok(day.to_string()) } else { Err("isn't a date. Write one, e.g. 2022-05-17".to_string()) }
}

/// From what a position is reached, by the words of the trade.
fn reach(small: &str) -> Option<&'static str> {
    const WORDS: [(&str, &str); 8] = [
        ("scissor", "scissor-lift"),
        ("boom", "boom-lift"),
        ("ladder", "ladder"),
        ("scaffold", "scaffold"),
        ("floor", "floor"),
        ("ground", "floor"),
        ("pole", "floor"),
        ("grade", "floor"),
    ];
    WORDS.iter().find(|(word, _)| small.contains(word)).map(|(_, code)| *code)
}
