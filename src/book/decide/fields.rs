//! What a field may hold: everything stored is walked by its description.

use super::super::body::Happened;
use super::super::command::At;
use super::super::entry::MAX_INTEGER;
use super::super::refusal::{Fault, Refusal};
use crate::encoding::stored::Stored;
use crate::trade::detector::Marking;
use crate::trade::fields::{Described, Fact, Kind, LEAST_U, LINE, NAME};
use crate::units::{Decimal, Difference, Kelvin, Length, MAX_DIGITS, Reading};
use chrono::NaiveDate;
use serde_json::Value;

/// How long before it is recorded something may have happened: 31 days. Own figure; a slip in a typed date is longer.
const PAST_MS: i64 = 31 * 24 * 3_600_000;

/// Clocks of one phone drift apart by less than this between a tap and what it says of now, ms.
const SOON_MS: i64 = 60_000;

/// Whether every field holds what it may.
pub(super) fn check<T: Stored + Described>(of: &T) -> Result<(), Refusal> {
    check_all(T::FACTS, &of.to_value())
}

fn check_all(facts: &[Fact], value: &Value) -> Result<(), Refusal> {
    facts.iter().try_for_each(|fact| match value.get(fact.name) {
        Some(Value::Null) | None => Ok(()),
        Some(value) => check_one(fact.key, fact.kind, value),
    })
}

/// One field, for what is not stored as an object of its own.
pub(super) fn check_one(key: &'static str, kind: Kind, value: &Value) -> Result<(), Refusal> {
    match kind {
        Kind::List(of) => {
            let items = value.as_array().map_or(&[][..], Vec::as_slice);
            items.iter().try_for_each(|item| check_one(key, *of, item))
        }
        Kind::Shape(facts) => check_all(facts, value),
        _ => fault(kind, value).map_or(Ok(()), |fault| Err(Refusal::Field(key, fault))),
    }
}

/// What is wrong with a value that is neither a list nor an object with fields of its own.
pub fn fault(kind: Kind, value: &Value) -> Option<Fault> {
    let text = || value.as_str().unwrap_or_default();
    let at_most = |most: usize| (text().chars().count() > most).then_some(Fault::TooLong { most });
    match kind {
        Kind::Name if text().trim().is_empty() => Some(Fault::Empty),
        Kind::Name => at_most(NAME),
        Kind::Line => at_most(LINE),
        Kind::Temperature(from, to) => {
            let fits = |of: Reading| storable(of.value, of.scale) && of.celsius() >= from && of.celsius() <= to;
            (!Reading::from_value(value).is_some_and(fits)).then_some(Fault::Temperature { from, to })
        }
        Kind::Difference(from, to) => {
            let (from, to) = (Kelvin(from), Kelvin(to));
            let fits = |of: Difference| storable(of.value, of.scale) && of.kelvin() >= from && of.kelvin() <= to;
            (!Difference::from_value(value).is_some_and(fits)).then_some(Fault::Difference { from, to })
        }
        Kind::Uncertainty(to) => match Difference::from_value(value) {
            Some(given) if given.kelvin().0.abs() < LEAST_U => Some(Fault::Zero),
            _ => fault(Kind::Difference(LEAST_U, to), value),
        },
        Kind::Decimal(from, to, unit) => {
            let within = |of: Decimal| storable(of.value, of.scale) && (from as f64..=to as f64).contains(&of.number());
            (!Decimal::from_value(value).is_some_and(within)).then_some(Fault::Number { from, to, unit })
        }
        Kind::Height => {
            let fits = |of: Length| storable(of.value, of.scale);
            (!Length::from_value(value).is_some_and(fits)).then_some(Fault::Empty)
        }
        Kind::Whole(from, to, unit) => {
            (!value.as_i64().is_some_and(|n| (from..=to).contains(&n))).then_some(Fault::Number { from, to, unit })
        }
        Kind::Seconds(from, to) => {
            let within = |ms: i64| ms >= from * 1_000 && ms <= to * 1_000;
            (!value.as_i64().is_some_and(within)).then_some(Fault::Number { from, to, unit: "s" })
        }
        Kind::Day => day(text()).is_none().then_some(Fault::Date),
        Kind::Moment => {
            let fits = |ms: i64| ms.unsigned_abs() <= MAX_INTEGER.unsigned_abs();
            (!value.as_i64().is_some_and(fits)).then_some(Fault::Date)
        }
        // Ids, hashes, names of a list and the like are checked by their types; times that things happened by `happened`.
        _ => None,
    }
}

/// Whether digits and power of ten survive every JSON reader; no display shows more digits than a person may type.
fn storable(value: i64, scale: i8) -> bool {
    value.unsigned_abs() <= MAX_INTEGER.unsigned_abs() && usize::from(scale.unsigned_abs()) <= MAX_DIGITS
}

/// When something happened: not later than now, and not longer ago than people misremember.
pub(super) fn happened(at: At, happened: Happened) -> Result<(), Refusal> {
    let now = at.stamp.wall;
    let within = happened.at <= now.saturating_add(SOON_MS) && happened.at >= now - PAST_MS;
    let offset = (-1_440..=1_440).contains(&happened.offset);
    if happened.at.0.unsigned_abs() > MAX_INTEGER.unsigned_abs() {
        return Err(Refusal::Field("Happened.at", Fault::Date));
    }
    if within && offset { Ok(()) } else { Err(Refusal::HappenedOutside { days: PAST_MS / 86_400_000 }) }
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

/// A marking: what of it has to be there.
pub(super) fn marking(marking: &Marking) -> Result<(), Refusal> {
    let no = |key, fault| Err(Refusal::Field(key, fault));
    check(marking)?;
    if marking.rating.is_none() && marking.detector_type.has_set_point() {
        return no("Marking.rating", Fault::Empty);
    }
    match (marking.minus, marking.plus) {
        (Some(_), None) => no("Marking.plus", Fault::Empty),
        (None, Some(_)) => no("Marking.minus", Fault::Empty),
        (Some(_), _) if marking.limits_from.is_none() => no("Marking.limits_from", Fault::Choose),
        _ => Ok(()),
    }
}
