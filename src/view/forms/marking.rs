//! What a detector is judged by: the fields of the register, and the form that corrects it for a past test.

use super::row::{Asked, Row, ask, row};
use super::table::{Made, Rows, Table, at, put};
use super::{Answer, UNIT, Wrongs};
use crate::book::command::Command;
use crate::book::entry::Hash;
use crate::book::test::Test;
use crate::encoding::stored::{Object, Stored};
use crate::trade::detector::Marking;
use crate::trade::detector_type::{Class, DetectorType};
use crate::trade::fields::{Kind, LINE, RATING as RATINGS};
use crate::view::route::Form;
use crate::view::words;
use serde_json::Value;

const DETECTOR_TYPE: Row = row!("marking", Marking, "detector_type", "type", "Type")
    .asked(|_| Answer::each(&DetectorType::ALL, DetectorType::words))
    .shown(here)
    .needed();
const RATING: Row = row!("marking", Marking, "rating", "rating", "Rating")
    .said(|asked| {
        let (from, to) = RATINGS;
        let unit = asked.typed.unit();
        let of = match detector_type(asked) {
            Some(DetectorType::CombinationRestorable | DetectorType::CombinationNonrestorable) => {
                "The marked temperature of its fixed element"
            }
            Some(DetectorType::Electronic) => "The programmed alarm temperature",
            _ => "As marked",
        };
        format!("{of}; from {} to {}.", words::degrees(from, unit, 0), words::degrees(to, unit, 0))
    })
    .shown(set_point)
    .needed();
const MINUS: Row = row!("marking", Marking, "minus", "minus", "Minus tolerance")
    .help("Below the rating, with its sign, e.g. −5. Leave both blank if none is given: NFPA 72 gives no tolerance.")
    .shown(set_point)
    .needed_if(|asked| asked.has("plus"));
const PLUS: Row = row!("marking", Marking, "plus", "plus", "Plus tolerance")
    .help("Above the rating, e.g. 5.")
    .shown(set_point)
    .needed_if(|asked| asked.has("minus"));
const LIMITS_FROM: Row = row!("marking", Marking, "limits_from", "limits-from", "Tolerance from")
    .words(&[
        ("marking", "The label", "On the detector or in its listing."),
        ("owner", "The owner", "For this method."),
    ])
    .shown(|asked| set_point(asked) && (asked.has("minus") || asked.has("plus")))
    .needed();
const RATE_FUNCTION: Row = row!("marking", Marking, "rate_function", "rate-function", "Rate-of-rise function")
    .words(&[("on", "On", ""), ("off", "Off", ""), ("", "Not known", "")])
    .help("As programmed at the panel.")
    .shown(|asked| here(asked) && detector_type(asked) == Some(DetectorType::Electronic));
const CLASS: Row = row!("marking", Marking, "class", "class", "EN 54-5 class")
    .asked(|_| {
        let classes = Answer::each(&Class::ALL, Class::words);
        std::iter::once(Answer::new("", "None marked")).chain(classes).collect()
    })
    .help("An air temperature at a vanishing rate: information, no limit.")
    .shown(here);
const SUFFIX: Row = row!("marking", Marking, "suffix", "suffix", "EN 54-5 suffix")
    .words(&[
        ("", "None", ""),
        ("R", "R", "Rate-of-rise behavior."),
        ("S", "S", "Silent below its minimum static temperature."),
    ])
    .shown(|asked| here(asked) && asked.has("class"));
const REASON: Row = ask!("correction.why", Kind::Attached(LINE), "reason", "Reason")
    .help("What was wrong, and how you know. It stays in the record.")
    .needed();

/// Type, rating and tolerance.
pub(super) const ROWS: &[Row] =
    &[DETECTOR_TYPE, RATING, UNIT.shown(set_point), MINUS, PLUS, LIMITS_FROM, RATE_FUNCTION];

/// The EN 54-5 class.
pub(super) const CLASS_ROWS: &[Row] = &[CLASS, SUFFIX];

/// Whether a detector is asked about at all: a replacement may leave the position empty.
fn here(asked: &Asked<'_>) -> bool {
    !matches!(asked.form, Form::Replace(_)) || super::items::put_in(asked)
}

fn detector_type(asked: &Asked<'_>) -> Option<DetectorType> {
    DetectorType::from_value(&asked.text(&DETECTOR_TYPE).replace('-', "_").into())
}

/// Whether it has a rating. As long as no type is chosen the fields are there, and say what is wrong with them.
fn set_point(asked: &Asked<'_>) -> bool {
    here(asked) && detector_type(asked).is_none_or(DetectorType::has_set_point)
}

/// Who agreed to limits agreed to these: changed ones lose the agreement.
pub(super) fn agreement(made: &mut Made<'_>, base: &Value) {
    let limits = ["marking.minus", "marking.plus"];
    if limits.iter().any(|path| at(&made.value, path) != at(base, path) || at(base, path).is_none()) {
        put(&mut made.value, "marking.agreed", Value::Null);
    }
}

fn base(form: Form, known: super::Known<'_>) -> Value {
    let Form::Marking(test) = form else { return Value::Null };
    let marking = Test::of(known.book, test).map(|test| test.marking().to_value());
    let mut object = Object::new();
    object.extend(marking.map(|marking| ("marking".to_string(), marking)));
    Value::Object(object)
}

fn make(mut made: Made<'_>) -> Result<Vec<Command>, Wrongs> {
    let Form::Marking(test) = made.asked.form else { return Ok(Vec::new()) };
    let stood = base(made.asked.form, made.asked.known);
    agreement(&mut made, &stood);
    let marking = Box::new(made.take("marking")?);
    let why = made.attached(&REASON).unwrap_or(Hash::LOWEST);
    Ok(vec![Command::CorrectMarking { test, marking, why }])
}

pub(super) const TABLE: Table = Table {
    title: |_| "Fix the rating".into(),
    lead: "Evaluates this test a second time. The rating at the start stays on record; Devices is not changed.",
    save: "Re-evaluate",
    parts: &[Rows { title: "", note: "", rows: &[ROWS, CLASS_ROWS, &[REASON]] }],
    base,
    make,
    ..Table::PLAIN
};
