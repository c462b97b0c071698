//! A field's value as a text, and back: in a form, where numbers are in the form's unit, and in a sheet, where they carry it.

use super::{Known, Wrong};
use crate::book::body::Happened;
use crate::book::body::Precision;
use crate::book::decide::{day, fault};
use crate::book::refusal::Fault;
use crate::encoding::Hash;
use crate::encoding::stored::Stored;
use crate::trade::fields::Kind;
use crate::units::{Decimal, Degree, Difference, Length, LengthUnit, NotANumber, Reading, Wall};
use crate::view::{time, words};
use serde_json::Value;

/// How a number says its unit.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Units {
    /// Not at all: it is in this one, which stands behind the field.
    Form(Degree),
    /// Behind its digits.
    Sheet,
}

/// A value as a text; empty for none.
pub(super) fn text(kind: Kind, value: &Value, units: Units, known: Known<'_>) -> String {
    let plain = || value.as_str().unwrap_or_default().to_string();
    let of = match kind {
        Kind::Temperature(..) => Reading::from_value(value).map(|of| reading_text(of, units)),
        Kind::Difference(..) | Kind::Uncertainty(_) => {
            Difference::from_value(value).map(|of| difference_text(of, units))
        }
        Kind::Decimal(..) => Decimal::from_value(value).map(Decimal::text),
        Kind::Seconds(..) => value.as_i64().map(time::gone),
        Kind::Whole(..) => value.as_i64().map(|whole| whole.to_string()),
        Kind::Flag => value.as_bool().map(|on| if on { "yes" } else { "no" }.to_string()),
        Kind::Moment => value.as_i64().map(|at| time::moment_text(Wall(at), known.at.offset_min)),
        Kind::Height => Length::from_value(value).map(height_text),
        Kind::Attached(_) | Kind::Drawn => {
            Hash::from_value(value).and_then(|hash| known.book.words(hash)).map(str::to_string)
        }
        Kind::OneOf(_) => Some(plain().replace('_', "-")),
        Kind::List(of) => value.as_array().map(|items| {
            let texts: Vec<String> = items.iter().map(|item| text(*of, item, units, known)).collect();
            texts.join(match (of, units) {
                (Kind::OneOf(_), _) => ",",
                (_, Units::Form(_)) => "\n",
                (_, Units::Sheet) => "; ",
            })
        }),
        _ => Some(plain()),
    };
    of.unwrap_or_default()
}

/// Its own digits, or converted when it was given in the other unit.
fn reading_text(reading: Reading, units: Units) -> String {
    match units {
        Units::Form(unit) if reading.unit == unit => reading.text(),
        Units::Form(unit) => short(reading.celsius().text(unit, 2)),
        Units::Sheet => format!("{} {}", reading.text(), reading.unit.symbol()),
    }
}

fn difference_text(difference: Difference, units: Units) -> String {
    match units {
        Units::Form(unit) if difference.unit == unit => difference.text(),
        Units::Form(unit) => short(difference.kelvin().text(unit, 2)),
        Units::Sheet => format!("{} {}", difference.text(), difference.unit.symbol()),
    }
}

fn short(text: String) -> String {
    text.trim_end_matches('0').trim_end_matches('.').to_string()
}

pub(in crate::view) fn height_text(height: Length) -> String {
    let number = Decimal { value: height.value, scale: height.scale }.text();
    format!("{number} {}", if height.unit == LengthUnit::Ft { "ft" } else { "m" })
}

/// Reads texts of one field.
pub(super) struct Parser {
    /// What the field is called.
    pub(super) label: &'static str,
    /// The unit of a number that does not say its own.
    pub(super) unit: Degree,
    /// How far this phone is ahead of UTC, min.
    pub(super) offset_min: i64,
}

impl Parser {
    /// What is wrong, in words.
    pub(super) fn wrong(&self, fault: Fault) -> Wrong {
        Wrong { say: words::field(self.label, fault, self.unit), offer: None }
    }

    fn say(&self, say: &str) -> Wrong {
        Wrong { say: format!("{}: {say}", self.label), offer: None }
    }

    /// The value of a text that is not empty.
    pub(super) fn parse(&self, kind: Kind, text: &str) -> Result<Value, Wrong> {
        let text = text.trim();
        let value = match kind {
            Kind::List(of) => return self.list(*of, text),
            Kind::Difference(..) | Kind::Uncertainty(_) => return self.difference(kind, text),
            Kind::Temperature(..) => {
                let (digits, unit) = self.unit_of(text);
                self.number(Reading::parse(digits, unit))?.to_value()
            }
            Kind::Decimal(..) => self.number(Decimal::parse(text))?.to_value(),
            Kind::Seconds(..) => match length(text) {
                Some(ms) => ms.into(),
                None => return Err(self.say("minutes and seconds, e.g. 3:20, or seconds, e.g. 200.")),
            },
            // What is no number is no number in range either.
            Kind::Whole(..) => text.parse::<i64>().map_or(Value::Null, Value::from),
            Kind::Flag => Value::Bool(text == "yes"),
            Kind::OneOf(_) => text.replace('-', "_").into(),
            Kind::Moment => time::moment(text, self.offset_min).map_or(Value::Null, |at| at.0.into()),
            Kind::Happened => match time::moment(text, self.offset_min) {
                Some(at) => Happened { at, offset: self.offset_min, precision: Precision::Minute }.to_value(),
                None => return Err(self.wrong(Fault::Date)),
            },
            Kind::Height => height(text).ok_or_else(|| self.say("a number with ft or m, e.g. 22 ft."))?.to_value(),
            Kind::Day if day(text).is_none() => return Err(self.wrong(Fault::Date)),
            Kind::Attached(most) if text.chars().count() > most => return Err(self.wrong(Fault::TooLong { most })),
            _ => text.into(),
        };
        fault(kind, &value).map_or(Ok(value), |fault| Err(self.wrong(fault)))
    }

    /// A number's digits, and the unit behind them.
    fn unit_of<'a>(&self, text: &'a str) -> (&'a str, Degree) {
        for (sign, unit) in [('F', Degree::F), ('C', Degree::C)] {
            if let Some(digits) = text.strip_suffix(sign) {
                return (digits.trim_end_matches('°').trim_end(), unit);
            }
        }
        (text, self.unit)
    }

    fn number<T>(&self, parsed: Result<T, NotANumber>) -> Result<T, Wrong> {
        parsed.map_err(|why| self.say(&format!("{why}.")))
    }

    /// One of the wrong sign is answered with the one that was probably meant.
    fn difference(&self, kind: Kind, text: &str) -> Result<Value, Wrong> {
        let (digits, unit) = self.unit_of(text);
        let given = self.number(Difference::parse(digits, unit))?;
        let value = given.to_value();
        let Some(found) = fault(kind, &value) else { return Ok(value) };
        let mut wrong = self.wrong(found);
        let meant = Difference { value: -given.value, ..given };
        if fault(kind, &meant.to_value()).is_none() {
            let meant = if unit == self.unit { meant.text() } else { format!("{} {}", meant.text(), unit.symbol()) };
            wrong.say = format!("{} Was {meant} meant?", wrong.say).replace(" -", " −");
            wrong.offer = Some(meant);
        }
        Err(wrong)
    }

    /// Names have commas, semicolons or line ends between them; temperatures spaces, because a comma may be a decimal sign.
    fn list(&self, of: Kind, text: &str) -> Result<Value, Wrong> {
        let mut parts: Vec<(&str, Parser)> = Vec::new();
        let same = |unit| Parser { label: self.label, unit, offset_min: self.offset_min };
        if let Kind::Temperature(..) = of {
            for piece in text.split(['\n', ';']).map(str::trim) {
                let (digits, unit) = self.unit_of(piece);
                parts.extend(digits.split_whitespace().map(|part| (part.trim_end_matches(','), same(unit))));
            }
            if parts.iter().any(|(part, _)| part.split_once(',').is_some_and(|(_, digits)| digits.len() > 2)) {
                return Err(self.say("one per line, or with a space between."));
            }
        } else {
            parts.extend(text.split(['\n', ',', ';']).map(|part| (part.trim(), same(self.unit))));
        }
        let mut items: Vec<Value> = Vec::new();
        for (part, parser) in parts.iter().filter(|(part, _)| !part.is_empty()) {
            let item = parser.parse(of, part)?;
            if !items.contains(&item) {
                items.push(item);
            }
        }
        Ok(Value::Array(items))
    }
}

/// Minutes and seconds, or seconds alone, as ms.
pub(super) fn length(text: &str) -> Option<i64> {
    let whole = |digits: &str| {
        let fits = (1..=5).contains(&digits.len()) && digits.bytes().all(|digit| digit.is_ascii_digit());
        fits.then(|| digits.parse::<i64>().ok()).flatten()
    };
    let sixty = |text: &str| whole(text).filter(|part| text.len() == 2 && *part < 60);
    let parts: Vec<&str> = text.split(':').collect();
    let seconds = match parts[..] {
        [hours, minutes, seconds] => whole(hours)? * 3_600 + sixty(minutes)? * 60 + sixty(seconds)?,
        [minutes, seconds] => whole(minutes)? * 60 + sixty(seconds)?,
        [seconds] => whole(seconds)?,
        _ => return None,
    };
    Some(seconds * 1_000)
}

/// A height in feet or metres, with its unit.
fn height(text: &str) -> Option<Length> {
    let end = text.find(|sign: char| !(sign.is_ascii_digit() || ".,".contains(sign))).unwrap_or(text.len());
    let unit = match text[end..].trim().to_ascii_lowercase().as_str() {
        "ft" | "feet" | "'" | "′" => LengthUnit::Ft,
        "m" => LengthUnit::M,
        _ => return None,
    };
    let Decimal { value, scale } = Decimal::parse(&text[..end]).ok()?;
    Some(Length { value, scale, unit })
}
