//! What a detector is judged by: the fields of the register, and the form that corrects it for a past test.

use super::reader::{Reader, difference_text, reading_text};
use super::{Answer, Ask, Attached, Field, Name, Page, Part, Typed, Wrongs, name, units};
use crate::book::Id;
use crate::book::command::Command;
use crate::book::decide::RATING as RATINGS;
use crate::book::entry::Hash;
use crate::book::refusal;
use crate::trade::detector::{LimitsFrom, Marking, RateFunction};
use crate::trade::detector_type::{Class, DetectorType, Suffix};
use crate::units::Degree;
use crate::view::words;

const DETECTOR_TYPE: Name = name!("type", "Type");
const RATING: Name = name!("rating", "Rating");
const MINUS: Name = name!("minus", "Minus tolerance");
const PLUS: Name = name!("plus", "Plus tolerance");
const LIMITS_FROM: Name = name!("limits-from", "Tolerance from");
const RATE_FUNCTION: Name = name!("rate-function", "Rate-of-rise function");
const CLASS: Name = name!("class", "EN 54-5 class");
const SUFFIX: Name = name!("suffix", "EN 54-5 suffix");
const REASON: Name = name!("reason", "Reason");

/// Widest tolerance, K, as the rules have it.
const WIDEST: f64 = 60.0;

const TYPES: [(DetectorType, &str); 8] = [
    (DetectorType::RateCompensated, "rate-compensated"),
    (DetectorType::FixedRestorable, "fixed-restorable"),
    (DetectorType::FixedNonrestorable, "fixed-nonrestorable"),
    (DetectorType::RateOfRise, "rate-of-rise"),
    (DetectorType::CombinationRestorable, "combination-restorable"),
    (DetectorType::CombinationNonrestorable, "combination-nonrestorable"),
    (DetectorType::Electronic, "electronic"),
    (DetectorType::Unknown, "not-known"),
];
const RATE_FUNCTIONS: [(RateFunction, &str); 2] = [(RateFunction::On, "on"), (RateFunction::Off, "off")];
const GIVERS: [(LimitsFrom, &str); 2] = [(LimitsFrom::Marking, "marking"), (LimitsFrom::Owner, "owner")];
const SUFFIXES: [(Suffix, &str); 2] = [(Suffix::R, "R"), (Suffix::S, "S")];

fn code<T: Copy + PartialEq>(of: &[(T, &'static str)], value: T) -> &'static str {
    of.iter().find(|(other, _)| *other == value).map_or("", |(_, code)| code)
}

fn classes() -> impl Iterator<Item = (Class, &'static str)> {
    Class::ALL.into_iter().map(|class| (class, class.words()))
}

/// Puts a marking into the fields.
pub(super) fn fill(typed: &mut Typed, marking: &Marking, unit: Degree) {
    // The form speaks the unit of the marking, so that marked digits stay as they are marked.
    let unit = marking.rating.map_or(unit, |rating| rating.unit);
    typed.put_unit(unit);
    typed.put(DETECTOR_TYPE, code(&TYPES, marking.detector_type));
    typed.put(RATING, marking.rating.map(|rating| reading_text(&rating, unit)).unwrap_or_default());
    typed.put(MINUS, marking.minus.map(|limit| difference_text(&limit, unit)).unwrap_or_default());
    typed.put(PLUS, marking.plus.map(|limit| difference_text(&limit, unit)).unwrap_or_default());
    typed.put(LIMITS_FROM, marking.limits_from.map_or("", |from| code(&GIVERS, from)));
    typed.put(RATE_FUNCTION, marking.rate_function.map_or("", |of| code(&RATE_FUNCTIONS, of)));
    typed.put(CLASS, marking.class.map_or("", Class::words));
    typed.put(SUFFIX, marking.suffix.map_or("", |suffix| code(&SUFFIXES, suffix)));
}

/// Type, rating and tolerance.
pub(super) fn fields(typed: &Typed) -> Vec<Field> {
    let unit = typed.unit();
    let detector_type = Reader::new(typed).maybe(DETECTOR_TYPE, TYPES);
    let set_point = detector_type.is_none_or(DetectorType::has_set_point);
    let combination =
        matches!(detector_type, Some(DetectorType::CombinationRestorable | DetectorType::CombinationNonrestorable));
    let answers = TYPES.iter().map(|(detector_type, code)| Answer::new(code, detector_type.words()));
    let mut fields = vec![Field::new(DETECTOR_TYPE, Ask::Choice(answers.collect()))];
    if set_point {
        let (from, to) = (words::degrees(RATINGS.0, unit, 0), words::degrees(RATINGS.1, unit, 0));
        let of = match detector_type {
            _ if combination => "The marked temperature of its fixed element",
            Some(DetectorType::Electronic) => "The programmed alarm temperature",
            _ => "As marked",
        };
        fields.push(Field::degrees(RATING, unit).help(format!("{of}; from {from} to {to}.")));
        fields.push(units());
        let none = "Leave both blank if none is given: NFPA 72 gives no tolerance.";
        fields.push(Field::difference(MINUS, unit).help(format!("Below the rating, with its sign, e.g. −5. {none}")));
        fields.push(Field::difference(PLUS, unit).help("Above the rating, e.g. 5."));
        if typed.has(MINUS) || typed.has(PLUS) {
            let answers = vec![
                Answer::with("marking", "The label", "On the detector or in its listing."),
                Answer::with("owner", "The owner", "For this method."),
            ];
            fields.push(Field::new(LIMITS_FROM, Ask::Choice(answers)));
        }
    }
    if detector_type == Some(DetectorType::Electronic) {
        let answers = vec![Answer::new("on", "On"), Answer::new("off", "Off"), Answer::new("", "Not known")];
        fields.push(Field::new(RATE_FUNCTION, Ask::Choice(answers)).help("As programmed at the panel."));
    }
    fields
}

/// The EN 54-5 class.
pub(super) fn class_fields(typed: &Typed) -> Vec<Field> {
    let mut class = vec![Answer::new("", "None marked")];
    class.extend(classes().map(|(_, word)| Answer::new(word, word)));
    let help = "An air temperature at a vanishing rate: information, no limit.";
    let mut fields = vec![Field::new(CLASS, Ask::Choice(class)).help(help)];
    if typed.has(CLASS) {
        let answers = vec![
            Answer::new("", "None"),
            Answer::with("R", "R", "Rate-of-rise behavior."),
            Answer::with("S", "S", "Silent below its minimum static temperature."),
        ];
        fields.push(Field::new(SUFFIX, Ask::Choice(answers)));
    }
    fields
}

/// Reads the fields.
pub(super) fn read(reader: &mut Reader<'_>, typed: &Typed) -> Marking {
    let chosen = reader.choose(DETECTOR_TYPE, TYPES);
    let detector_type = chosen.unwrap_or(DetectorType::Unknown);
    let class = reader.maybe(CLASS, classes());
    let suffix = class.and_then(|_| reader.maybe(SUFFIX, SUFFIXES));
    let electronic = detector_type == DetectorType::Electronic;
    let mut marking = Marking {
        detector_type,
        rating: None,
        minus: None,
        plus: None,
        limits_from: None,
        agreed: None,
        class,
        suffix,
        rate_function: reader.maybe(RATE_FUNCTION, RATE_FUNCTIONS).filter(|_| electronic),
    };
    // As long as none is chosen the fields are there, and say what is wrong with them.
    if chosen.is_none_or(DetectorType::has_set_point) {
        let rating = reader.reading(RATING, RATINGS);
        marking.rating = reader.must(RATING, rating);
        marking.minus = reader.difference(MINUS, (-WIDEST, 0.0));
        marking.plus = reader.difference(PLUS, (0.0, WIDEST));
        if typed.has(MINUS) != typed.has(PLUS) {
            let name = if typed.has(MINUS) { PLUS } else { MINUS };
            reader.wrong(name, &refusal::Field::Empty { name: name.label });
        }
        if typed.has(MINUS) || typed.has(PLUS) {
            marking.limits_from = reader.choose(LIMITS_FROM, GIVERS);
        }
    }
    marking
}

/// What stands in the correction when it opens: the marking that the test is judged by.
pub fn correction(marking: &Marking, unit: Degree) -> Typed {
    let mut typed = Typed::default();
    fill(&mut typed, marking, unit);
    typed
}

pub(super) fn page(typed: &Typed) -> Page {
    let mut fields = fields(typed);
    fields.extend(class_fields(typed));
    fields.push(Field::new(REASON, Ask::Line).help("What was wrong, and how you know. It stays in the record."));
    Page {
        title: "Fix the rating".into(),
        lead: "Evaluates this test a second time. The rating at the start stays on record; Devices is not changed.",
        parts: vec![Part { title: "", folded: false, note: "", fields }],
        offers: Vec::new(),
        save: "Re-evaluate",
        first: None,
    }
}

/// The reason, which is kept as an attachment.
pub(super) fn texts(typed: &Typed) -> Vec<(&'static str, String)> {
    super::text(typed, REASON)
}

pub(super) fn put(typed: &Typed, test: Id, attached: &Attached) -> Result<Command, Wrongs> {
    let why = attached.get(REASON.key).copied();
    let mut reader = Reader::new(typed);
    let marking = Box::new(read(&mut reader, typed));
    reader.line(REASON);
    let why = reader.must(REASON, why);
    // Without a reason the reader has something to say, and no command is made.
    let why = why.unwrap_or_else(|| Hash::of(b""));
    reader.done(Command::CorrectMarking { test, marking, why })
}
