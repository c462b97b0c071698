//! Tests as lines of one flat table, for people with a spreadsheet and for databases.
//!
//! What a line says comes from the findings as a bundle carries them, so no number can differ from theirs.

use super::rounded::rounded;
use crate::book::Id;
use crate::book::entries::Book;
use crate::book::entry::{Chain, Entry, Scope};
use crate::book::register::Register;
use crate::book::test::Test;
use crate::book::versions::Versions;
use crate::encoding::stored::Stored;
use crate::findings::TestFindings;
use crate::units::{Celsius, Degree, Kelvin, Wall};
use chrono::{DateTime, FixedOffset, SecondsFormat};
use serde_json::{Map, Value};

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
const CELLS: [(&str, Cell); 38] = [
    ("site", Cell::Member("/site_name")),
    ("area", Cell::Member("/area_name")),
    ("tag", Cell::Member("/tag")),
    ("panel_point", Cell::Member("/panel_point")),
    ("detector_type", Cell::Member("/detector_type")),
    ("unit", Cell::Unit),
    ("rating", Cell::Temperature("/marked_c")),
    ("started", Cell::Member("/started_local")),
    ("role", Cell::Member("/role")),
    ("outcome", Cell::Member("/outcome")),
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

/// What a record of a test says beside the findings that a bundle carries: where it was, what was tested, with which heater, on which
/// phone and when by the clock on its wall. Names are those of the register now.
pub fn beside(
    book: &Book,
    register: &Register,
    test: &Test,
    found: &TestFindings,
    offsets: &Offsets,
) -> Map<String, Value> {
    let frozen = &found.frozen;
    let place = &frozen.position.place;
    let area = register.areas.get(&place.area).and_then(Versions::now);
    let site = area.and_then(|area| register.sites.get(&area.site)).and_then(Versions::now);
    let offset = book.get(test.start).and_then(|start| offsets.at(start));
    let mut map = Map::new();
    let mut put = |name: &str, value: Option<Value>| map.extend(value.map(|value| (name.to_string(), value)));
    put("site_name", site.map(|site| site.name.clone().into()));
    put("area", Some(place.area.to_string().into()));
    put("area_name", area.map(|area| area.name.clone().into()));
    put("panel_point", place.point.clone().map(Value::from));
    put("detector_type", Some(frozen.detector.marking.detector_type.to_value()));
    put("marked_c", frozen.detector.marking.rating.map(|rating| rounded(rating.celsius().0)));
    put("procedure", Some(frozen.procedure.name.clone().into()));
    put("heater", Some(frozen.heater.of.to_string().into()));
    put("heater_name", Some(frozen.heater.name.name.clone().into()));
    put(ENTERED_IN, Some(frozen.heater.setting.unit.to_value()));
    put("phone", Some(test.phone.to_string().into()));
    put("started_local", Some(local(found.started_wall, offset).into()));
    map
}

/// The line of a record. A judgement by a corrected marking stands in place of the frozen one; how many there are is said.
pub fn line(record: &Value, unit: InUnit) -> Vec<String> {
    let unit = unit.of(record);
    let judgements = record.get("judgements").and_then(Value::as_array);
    let judged = judgements.and_then(|all| all.last()).unwrap_or(&Value::Null);
    CELLS.iter().map(|(_, cell)| text(*cell, record, judged, unit)).collect()
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

/// A temperature in °C in another unit, to the digits that a bundle carries.
pub fn temperature(c: f64, unit: Degree) -> Value {
    rounded(Celsius(c).in_degrees(unit))
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
    fn at(&self, entry: &Entry) -> Option<i64> {
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
