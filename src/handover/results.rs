//! A visit as one flat table, for people with a spreadsheet and for databases: a line for each position in scope, and one for each test.
//! Beside it stands `RESULTS.md`, what each column means.
//!
//! What a line says comes from the findings as a bundle carries them, so no number can differ from theirs.

mod positions;
mod sheet;

pub use positions::VisitResults;
pub use sheet::{ResultsSheet, results_sheet};

use super::rounded::rounded;
use crate::book::Id;
use crate::book::entries::Book;
use crate::book::entry::{Chain, Entry, Scope};
use crate::encoding::csv;
use crate::encoding::stored::Stored;
use crate::units::{Celsius, Degree, Kelvin, Wall};
use chrono::{DateTime, FixedOffset, SecondsFormat};
use serde_json::Value;

/// What a column shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Cell {
    /// A member of the record, by its JSON pointer (RFC 6901); of a list how many there are.
    Member(&'static str),
    /// One that is a temperature, °C.
    Temperature(&'static str),
    /// One that is a difference, K, or a rate, K/min.
    Difference(&'static str),
    /// The unit of those.
    Unit,
}

/// Where a pointer begins that leads into the judgement which holds.
const JUDGED: &str = "/judged";

/// The columns, each with what it shows.
const CELLS: [(&str, Cell); 45] = [
    ("row", Cell::Member("/kind")),
    ("site", Cell::Member("/site_name")),
    ("area", Cell::Member("/area_name")),
    ("tag", Cell::Member("/tag")),
    ("customer_id", Cell::Member("/customer_id")),
    ("panel_point", Cell::Member("/panel_point")),
    ("location", Cell::Member("/location")),
    ("detector_type", Cell::Member("/detector_type")),
    ("unit", Cell::Unit),
    ("rating", Cell::Temperature("/marked_c")),
    ("started", Cell::Member("/started_local")),
    ("person", Cell::Member("/by_name")),
    ("phone_name", Cell::Member("/phone_name")),
    ("outcome", Cell::Member("/outcome")),
    ("reason", Cell::Member("/reason")),
    ("method", Cell::Member("/method")),
    ("role", Cell::Member("/role")),
    ("tripped", Cell::Member("/tripped")),
    ("at_panel", Cell::Member("/at_panel")),
    ("panel_said", Cell::Member("/panel_said")),
    ("restored", Cell::Member("/restored")),
    ("not_proven", Cell::Member("/not_proven")),
    ("early_trip", Cell::Member("/early_trip")),
    ("procedure", Cell::Member("/procedure")),
    ("heater", Cell::Member("/heater_name")),
    ("trips_counted", Cell::Member("/operating/n")),
    ("operating_temperature", Cell::Temperature("/operating/mean_c")),
    ("expanded_uncertainty", Cell::Difference("/operating/expanded_k")),
    ("rate_per_min", Cell::Difference("/operating/rate_k_per_min")),
    ("trips_estimated", Cell::Member("/operating/estimated")),
    ("budget_complete", Cell::Member("/operating/complete")),
    ("no_operating_temperature", Cell::Member("/why")),
    ("lower_limit", Cell::Temperature("/judged/lower_c")),
    ("upper_limit", Cell::Temperature("/judged/upper_c")),
    ("limits_from", Cell::Member("/judged/limits_from")),
    ("as_read", Cell::Member("/judged/as_read")),
    ("limit_result", Cell::Member("/judged/limit_result")),
    ("probability_within", Cell::Member("/judged/p_conform")),
    ("judgements", Cell::Member("/judgements")),
    ("phone", Cell::Member("/phone")),
    ("visit", Cell::Member("/visit")),
    ("position", Cell::Member("/position")),
    ("detector", Cell::Member("/detector")),
    ("heater_id", Cell::Member("/heater")),
    ("test", Cell::Member("/test")),
];

/// The names of the columns.
pub const RESULTS: [&str; CELLS.len()] = {
    let mut names = [""; CELLS.len()];
    let mut at = 0;
    while at < CELLS.len() {
        names[at] = CELLS[at].0;
        at += 1;
    }
    names
};

/// The unit in which temperatures are given.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum InUnit {
    /// Everything in this one.
    #[default]
    C,
    /// Everything in this one.
    F,
    /// Each test in that of its heater's setting, as the technician entered it.
    AsEntered,
}

impl InUnit {
    /// The unit that the temperatures of a record are given in.
    pub fn of(self, record: &Value) -> Degree {
        match self {
            InUnit::C => Degree::C,
            InUnit::F => Degree::F,
            InUnit::AsEntered => record.get(ENTERED_IN).and_then(Degree::from_value).unwrap_or(Degree::C),
        }
    }
}

/// The member with the unit of the heater's setting.
const ENTERED_IN: &str = "entered_in";

/// The line of a record, no cell of which a spreadsheet would run. A judgement by a corrected marking stands in place of the frozen
/// one; how many there are is said.
pub fn line(record: &Value, unit: InUnit) -> Vec<String> {
    let unit = unit.of(record);
    let judgements = record.get("judgements").and_then(Value::as_array);
    let judged = judgements.and_then(|all| all.last()).unwrap_or(&Value::Null);
    CELLS.iter().map(|(_, cell)| guarded(text(*cell, record, judged, unit))).collect()
}

/// A field that is no formula; a number stays one.
pub fn guarded(field: String) -> String {
    if field.parse().is_ok_and(f64::is_finite) { field } else { csv::guarded(&field) }
}

/// The members of a record that the table shows.
fn shown() -> impl Iterator<Item = &'static str> {
    CELLS.iter().filter_map(|(_, cell)| match cell {
        Cell::Member(pointer) | Cell::Temperature(pointer) | Cell::Difference(pointer) => {
            let name = pointer.split('/').nth(1)?;
            Some(if pointer.starts_with(JUDGED) { "judgements" } else { name })
        }
        Cell::Unit => None,
    })
}

fn text(cell: Cell, record: &Value, judged: &Value, unit: Degree) -> String {
    let at = |pointer: &str| match pointer.strip_prefix(JUDGED) {
        Some(rest) => judged.pointer(rest),
        None => record.pointer(pointer),
    };
    let number = |pointer| at(pointer).and_then(Value::as_f64);
    let said = |value: Value| if value.is_null() { String::new() } else { value.to_string() };
    match cell {
        Cell::Unit => unit.symbol().to_string(),
        Cell::Temperature(pointer) => number(pointer).map_or_else(String::new, |c| said(temperature(c, unit))),
        Cell::Difference(pointer) => number(pointer).map_or_else(String::new, |k| said(difference(k, unit))),
        Cell::Member(pointer) => match at(pointer) {
            None | Some(Value::Null) => String::new(),
            Some(Value::Array(items)) => items.len().to_string(),
            Some(Value::String(text)) => text.clone(),
            Some(other) => other.to_string(),
        },
    }
}

/// A temperature in °C in another unit, to the digits that a bundle carries. In °F the last of those is none: a rating of 200 °F is carried
/// as 93.333 °C, which is 199.999 °F.
pub fn temperature(c: f64, unit: Degree) -> Value {
    let degrees = Celsius(c).in_degrees(unit);
    match unit {
        Degree::C => rounded(degrees),
        Degree::F => rounded((degrees * 100.0).round() / 100.0),
    }
}

/// A difference in K, or a rate in K/min, in another unit. It is never converted as a point.
pub fn difference(k: f64, unit: Degree) -> Value {
    rounded(Kelvin(k).in_degrees(unit))
}

/// What clocks showed: the offset from UTC, minutes, of each session that wrote to a visit.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Offsets(Vec<(Chain, Id, i64)>);

impl Offsets {
    /// Those of a visit.
    pub fn of(book: &Book, visit: Id) -> Offsets {
        let chains = book.chains_of(Scope::Visit(visit));
        let opened = |chain| {
            let opens = |entry: &Entry| Some((chain, entry.stamp.session, entry.opens.as_deref()?.offset));
            book.chain(chain).filter_map(opens).collect::<Vec<_>>()
        };
        Offsets(chains.flat_map(opened).collect())
    }

    /// That of the session which wrote an entry.
    pub fn at(&self, entry: &Entry) -> Option<i64> {
        let same = |(chain, session, _): &&(Chain, Id, i64)| (*chain, *session) == (entry.chain, entry.stamp.session);
        self.0.iter().find(same).map(|(.., offset)| *offset)
    }
}

/// An instant, UTC ms, as the clock on the wall showed it, with its offset (RFC 3339).
fn local(ms: Wall, offset_min: Option<i64>) -> String {
    let seconds = offset_min.and_then(|min| i32::try_from(min.checked_mul(60)?).ok());
    let offset = seconds.and_then(FixedOffset::east_opt);
    let Some(at) = DateTime::from_timestamp_millis(ms.0) else { return String::new() };
    match offset {
        Some(offset) => at.with_timezone(&offset).to_rfc3339_opts(SecondsFormat::Secs, false),
        None => at.to_rfc3339_opts(SecondsFormat::Secs, true),
    }
}
