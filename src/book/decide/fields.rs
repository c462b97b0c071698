//! What a field may hold.

use super::super::body::Happened;
use super::super::command::At;
use super::super::entry::MAX_INTEGER;
use super::super::refusal::{Field, Refusal};
use crate::trade::classified::Classification;
use crate::trade::detector::Marking;
use crate::units::{Celsius, Decimal, Difference, Kelvin, MAX_DIGITS, Reading};
use chrono::NaiveDate;

/// Ratings that can be stored, °C: no spot heat detector is rated outside.
///
/// Source: NFPA 72 table 17.6.2.1 runs from 39 to 302 °C; the range leaves room on both sides.
pub const RATING: (Celsius, Celsius) = (Celsius(30.0), Celsius(350.0));

/// Temperatures of a heater that can be stored, °C: the ratings with room for the overshoot above them.
pub const TEMPERATURE: (Celsius, Celsius) = (Celsius(30.0), Celsius(400.0));

/// Ambient temperatures that can be stored, °C.
pub(super) const AMBIENT: (Celsius, Celsius) = (Celsius(-40.0), Celsius(90.0));

const NAME: usize = 80;
const LINE: usize = 400;

/// How long before it is recorded something may have happened: 31 days. Own figure; a slip in a typed date is longer.
const PAST_MS: i64 = 31 * 24 * 3_600_000;

/// Clocks of one phone drift apart by less than this between a tap and what it says of now, ms.
const SOON_MS: i64 = 60_000;

/// The smallest uncertainty that can be stored, K: nothing is known better, and zero is no uncertainty.
const LEAST_U: f64 = 0.001;

pub(super) fn name(field: &'static str, text: &str) -> Result<(), Refusal> {
    if text.trim().is_empty() {
        return Err(Refusal::Field(Field::Empty { name: field }));
    }
    at_most(field, text, NAME)
}

pub(super) fn line(field: &'static str, text: Option<&String>) -> Result<(), Refusal> {
    text.map_or(Ok(()), |text| at_most(field, text, LINE))
}

fn at_most(name: &'static str, text: &str, most: usize) -> Result<(), Refusal> {
    if text.chars().count() > most { Err(Refusal::Field(Field::TooLong { name, most })) } else { Ok(()) }
}

pub(super) fn temperature(
    name: &'static str,
    reading: &Reading,
    (from, to): (Celsius, Celsius),
) -> Result<(), Refusal> {
    let value = reading.celsius();
    if storable(reading.value, reading.scale) && value >= from && value <= to {
        Ok(())
    } else {
        Err(Refusal::Field(Field::Temperature { name, from, to }))
    }
}

pub(super) fn difference(
    name: &'static str,
    value: Option<&Difference>,
    (from, to): (f64, f64),
) -> Result<(), Refusal> {
    let Some(given) = value else { return Ok(()) };
    let (value, from, to) = (given.kelvin(), Kelvin(from), Kelvin(to));
    if storable(given.value, given.scale) && value >= from && value <= to {
        Ok(())
    } else {
        Err(Refusal::Field(Field::Difference { name, from, to }))
    }
}

/// A standard uncertainty: never zero.
pub(super) fn uncertainty(name: &'static str, value: Option<&Difference>, to: f64) -> Result<(), Refusal> {
    match value {
        Some(given) if given.kelvin().0.abs() < LEAST_U => Err(Refusal::Field(Field::Zero { name })),
        _ => difference(name, value, (LEAST_U, to)),
    }
}

/// A decimal number against a range.
pub(super) fn decimal(
    name: &'static str,
    value: Decimal,
    (from, to): (i64, i64),
    unit: &'static str,
) -> Result<(), Refusal> {
    let within = storable(value.value, value.scale) && (from as f64..=to as f64).contains(&value.number());
    if within { Ok(()) } else { Err(Refusal::Field(Field::Number { name, from, to, unit })) }
}

/// Whether digits and power of ten survive every JSON reader; no display shows more digits than a person may type.
fn storable(value: i64, scale: i8) -> bool {
    value.unsigned_abs() <= MAX_INTEGER.unsigned_abs() && usize::from(scale.unsigned_abs()) <= MAX_DIGITS
}

/// A wall clock time that survives every JSON reader.
pub(super) fn moment(name: &'static str, ms: i64) -> Result<(), Refusal> {
    if ms.unsigned_abs() <= MAX_INTEGER.unsigned_abs() { Ok(()) } else { Err(Refusal::Field(Field::Date { name })) }
}

/// When something happened: not later than now, and not longer ago than people misremember.
pub(super) fn happened(at: At, happened: Happened) -> Result<(), Refusal> {
    let now = at.stamp.wall;
    let within = happened.at <= now.saturating_add(SOON_MS) && happened.at >= now.saturating_sub(PAST_MS);
    let offset = (-1_440..=1_440).contains(&happened.offset);
    moment("Time", happened.at)?;
    if within && offset { Ok(()) } else { Err(Refusal::HappenedOutside { days: PAST_MS / 86_400_000 }) }
}

pub(super) fn number(
    name: &'static str,
    value: i64,
    (from, to): (i64, i64),
    unit: &'static str,
) -> Result<(), Refusal> {
    if (from..=to).contains(&value) { Ok(()) } else { Err(Refusal::Field(Field::Number { name, from, to, unit })) }
}

/// A length of time in ms against a range in seconds.
pub(super) fn seconds(name: &'static str, ms: i64, (from, to): (i64, i64)) -> Result<(), Refusal> {
    if ms >= from * 1_000 && ms <= to * 1_000 {
        Ok(())
    } else {
        Err(Refusal::Field(Field::Number { name, from, to, unit: "s" }))
    }
}

pub(super) fn date(name: &'static str, text: Option<&String>) -> Result<(), Refusal> {
    match text {
        Some(text) if day(text).is_none() => Err(Refusal::Field(Field::Date { name })),
        _ => Ok(()),
    }
}

/// A calendar day written `YYYY-MM-DD`.
pub fn day(text: &str) -> Option<NaiveDate> {
    // By hand: a format string would bring along the code for every format there is.
    let number = |digits: &[u8]| {
        digits.iter().try_fold(0, |number, digit| digit.is_ascii_digit().then(|| number * 10 + u32::from(digit - b'0')))
    };
    let [year @ .., b'-', m1, m2, b'-', d1, d2] = text.as_bytes() else { return None };
    let year = (year.len() == 4).then(|| number(year)).flatten()?;
    NaiveDate::from_ymd_opt(i32::try_from(year).ok()?, number(&[*m1, *m2])?, number(&[*d1, *d2])?)
}

pub(super) fn classification(of: Option<&Classification>) -> Result<(), Refusal> {
    let Some(of) = of else { return Ok(()) };
    line("Class", of.class.as_ref())?;
    line("Division or zone", of.division.as_ref())?;
    line("Group", of.group.as_ref())?;
    line("Temperature code", of.temperature_code.as_ref())
}

/// Widest tolerance that can be stored, K.
const TOLERANCE: f64 = 60.0;

pub(super) fn marking(marking: &Marking) -> Result<(), Refusal> {
    match &marking.rating {
        Some(rating) => temperature("Rating", rating, RATING)?,
        None if marking.detector_type.has_set_point() => return Err(Refusal::Field(Field::Empty { name: "Rating" })),
        None => {}
    }
    difference("Minus tolerance", marking.minus.as_ref(), (-TOLERANCE, 0.0))?;
    difference("Plus tolerance", marking.plus.as_ref(), (0.0, TOLERANCE))?;
    match (marking.minus, marking.plus) {
        (Some(_), None) => return Err(Refusal::Field(Field::Empty { name: "Plus tolerance" })),
        (None, Some(_)) => return Err(Refusal::Field(Field::Empty { name: "Minus tolerance" })),
        _ => {}
    }
    if marking.minus.is_some() && marking.limits_from.is_none() {
        return Err(Refusal::Field(Field::Choose { name: "Tolerance from" }));
    }
    date("Agreed on", marking.agreed.as_ref().and_then(|agreed| agreed.on.as_ref()))
}
