//! What is due: hand-made histories, and what holds for any.

mod facts;
mod pages;
mod properties;
mod settings;
mod strictest;
mod years;

use crate::sample::id;
use chrono::{Months, NaiveDate};
use soakbook::book::Id;
use soakbook::book::body::RuleSet;
use soakbook::findings::Outcome;
use soakbook::findings::due::{Due, Fact, FactWhat, SHIPPED, State, Subject, Terms, Why, due};
use soakbook::trade::detector_type::DetectorType;
use soakbook::units::Wall;

pub(crate) const PHONE: u128 = 1;

pub(crate) fn day(y: i32, m: u32, d: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(y, m, d).unwrap()
}

pub(crate) fn months(day: NaiveDate, count: u32) -> NaiveDate {
    day.checked_add_months(Months::new(count)).unwrap()
}

/// A shipped rule by its stable name.
pub(crate) fn shipped(key: &str) -> RuleSet {
    SHIPPED.iter().find(|of| of.key == key).unwrap().rule()
}

/// A restorable fixed-temperature detector on circuit 1, which is conventional and releases nothing: a share may stand for it.
pub(crate) fn subject(n: u128) -> Subject {
    Subject {
        position: id(n),
        area: id(900),
        detector_type: DetectorType::FixedRestorable,
        circuit: Some(id(800)),
        addressable: Some(false),
        releasing: Some(false),
        installed: None,
        provisional: false,
        has_detector: true,
        facts: Vec::new(),
    }
}

/// Something that happened at noon of a day; visits are as many as days.
pub(crate) fn fact(on: NaiveDate, what: FactWhat) -> Fact {
    let at = on.and_hms_opt(12, 0, 0).unwrap().and_utc().timestamp_millis();
    Fact { at: Wall(at), seq: at, day: Some(on), visit: Id::from_u128(at as u128), phone: id(PHONE), what }
}

pub(crate) fn test(on: NaiveDate, outcome: Outcome) -> Fact {
    fact(on, FactWhat::Functional { outcome, follows: false, laboratory: false })
}

pub(crate) fn passed(on: NaiveDate) -> Fact {
    test(on, Outcome::Passed)
}

pub(crate) fn looked(on: NaiveDate) -> Fact {
    fact(on, FactWhat::Looked(None))
}

pub(crate) fn terms(rules: &[RuleSet], today: NaiveDate) -> Terms<'_> {
    Terms { rules, interval: None, today, open: None, failed: &[] }
}

/// The functional state of one position by the site's rules.
pub(crate) fn functional(subject: Subject, rules: &[RuleSet], today: NaiveDate) -> (State, Why, String) {
    let due = due(&[subject], terms(rules, today));
    let asked = due.positions[0].functional;
    (asked.state, asked.why, due.rules[asked.rule].name.clone())
}

pub(crate) fn proposed(due: &Due) -> Vec<Id> {
    due.proposal().iter().map(|of| of.position).collect()
}
