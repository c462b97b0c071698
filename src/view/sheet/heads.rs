//! Which column of a sheet is which field: by what it was last time, by the words of the trade, and by hand.

use super::load::LOOK_AT;
use super::{Matched, Setup, cell};
use crate::book::body::SheetColumns;
use crate::encoding::csv::Row;
use crate::trade::fields::Kind;
use crate::units::{Degree, LengthUnit};
use crate::view::forms::columns::{Column, columns};
use crate::view::route::Form;

/// Every field of a position, in the order of its form.
pub fn fields() -> Vec<Column> {
    columns(Form::Position(None))
}

/// What people write at the head of a column, by the key of the field: in small letters, without signs and the word "number". Common
/// practice of the trade, no published source.
pub const WORDS: &[(&str, &[&str])] = &[
    (
        "customer-id",
        &[
            "id",
            "asset",
            "asset id",
            "asset tag",
            "customer id",
            "customers id",
            "equipment",
            "equipment id",
            "device id",
            "detector id",
            "unique id",
            "record id",
            "functional location",
            "cmms id",
            "owner id",
        ],
    ),
    (
        "tag",
        &[
            "tag",
            "tag id",
            "device tag",
            "detector tag",
            "device",
            "detector",
            "device name",
            "detector name",
            "name",
            "mark",
            "designation",
            "heat detector",
            "hd",
        ],
    ),
    (
        "area",
        &[
            "area",
            "room",
            "building",
            "bldg",
            "space",
            "area name",
            "hall",
            "zone area",
            "department",
            "floor",
            "level",
        ],
    ),
    ("type", &["type", "device type", "detector type", "sensor type", "kind", "element", "element type", "principle"]),
    (
        "rating",
        &[
            "rating",
            "set point",
            "setpoint",
            "temperature",
            "temp",
            "rated temperature",
            "rated temp",
            "set temperature",
            "set temp",
            "alarm temperature",
            "alarm temp",
            "alarm point",
            "alarm set point",
            "alarm setpoint",
            "temperature rating",
            "temp rating",
            "operating temperature",
            "operating temp",
            "heat rating",
            "fixed temp",
        ],
    ),
    ("circuit", &["circuit", "loop", "zone", "idc", "slc", "initiating circuit", "initiating device circuit", "line"]),
    (
        "point",
        &[
            "point",
            "panel point",
            "address",
            "addr",
            "device address",
            "point address",
            "panel address",
            "loop address",
            "node address",
            "point id",
            "facp address",
            "facp point",
        ],
    ),
    (
        "panel-text",
        &[
            "panel text",
            "panel label",
            "custom label",
            "point label",
            "message",
            "panel message",
            "display text",
            "label",
        ],
    ),
    (
        "location",
        &["location", "description", "loc", "location description", "device location", "detector location", "where"],
    ),
    ("monitored", &["monitored", "supervising station", "monitored by station"]),
    ("classified", &["classified", "hazardous", "hazardous location", "hazloc", "classified area", "hazardous area"]),
    ("reach", &["access", "reach", "access by", "access equipment", "accessed by", "lift", "access method"]),
    ("height", &["height", "mounting height", "mount height", "elevation", "ceiling height"]),
    ("shutdown", &["shutdown", "shutdown needed", "shutdown required", "process shutdown"]),
    ("hazard", &["hazard", "hazards", "access note", "access notes", "access hazard"]),
    (
        "releases",
        &["releases", "release", "releasing", "output", "outputs", "actions", "interlock", "interlocks", "shuts down"],
    ),
    ("model", &["model", "part", "catalog", "cat", "model part"]),
    ("serial", &["serial", "s n", "sn", "serial id", "detector serial"]),
    (
        "date-code",
        &["date code", "datecode", "mfg date", "mfr date", "manufactured", "date of manufacture", "manufacture date"],
    ),
    (
        "installed",
        &[
            "installed",
            "install date",
            "installation date",
            "date installed",
            "in service",
            "in service date",
            "install",
            "commissioned",
        ],
    ),
    ("replace-by", &["replace by", "replacement due", "replace date", "end of life", "expires"]),
];

/// Words behind a header that say its unit or only that it is a number.
const BEHIND: &[&str] = &[
    "f",
    "c",
    "deg",
    "degf",
    "degc",
    "degrees",
    "fahrenheit",
    "celsius",
    "no",
    "nr",
    "num",
    "number",
    "ft",
    "feet",
    "m",
    "meters",
    "metres",
];

/// In small letters, signs as spaces.
pub(super) fn plain(text: &str) -> String {
    let letters: String =
        text.chars().map(|sign| if sign.is_alphanumeric() { sign.to_ascii_lowercase() } else { ' ' }).collect();
    letters.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn stem(plain: &str) -> &str {
    let mut stem = plain;
    while let Some((before, last)) = stem.rsplit_once(' ') {
        if !BEHIND.contains(&last) {
            break;
        }
        stem = before;
    }
    stem
}

/// The unit of temperatures that a header names.
fn unit(plain: &str) -> Option<Degree> {
    let has = |words: &[&str]| plain.split(' ').skip(1).any(|word| words.contains(&word));
    match (has(&["f", "degf", "fahrenheit"]), has(&["c", "degc", "celsius"])) {
        (true, false) => Some(Degree::F),
        (false, true) => Some(Degree::C),
        _ => None,
    }
}

/// The unit of heights that a header names.
pub(super) fn length(header: &str) -> Option<LengthUnit> {
    match plain(header).rsplit(' ').next() {
        Some("ft" | "feet") => Some(LengthUnit::Ft),
        Some("m" | "meters" | "metres") => Some(LengthUnit::M),
        _ => None,
    }
}

/// The field that a header names.
pub fn field(header: &str, fields: &[Column]) -> Option<usize> {
    let whole = plain(header);
    let own = fields.iter().position(|column| plain(column.header()) == whole || column.key() == header.trim());
    own.or_else(|| {
        let names = |word: &str| word == whole || word == stem(&whole);
        let (key, _) = WORDS.iter().find(|(_, words)| words.iter().any(|word| names(word)))?;
        fields.iter().position(|column| column.key() == *key)
    })
}

/// How the rows of a sheet are probably to be understood, by last time's columns where they are the same.
pub fn setup(rows: &[Row], last: Option<&SheetColumns>) -> Setup {
    let fields = fields();
    let known = |cell: &String| {
        let was = last.is_some_and(|last| last.columns.iter().any(|of| of.field.is_some() && of.header == *cell));
        !cell.is_empty() && (was || field(cell, &fields).is_some())
    };
    let named = |row: &Row| row.fields.iter().filter(|cell| known(cell)).count();
    // Titles may stand above the headers; of two rows the upper one.
    let mut head = (0, None);
    for (index, row) in rows.iter().take(LOOK_AT).enumerate() {
        let count = named(row);
        if count > head.0 {
            head = (count, Some(index));
        }
    }
    with_head(rows, head.1, last)
}

/// The same with the row of the headers given.
pub fn with_head(rows: &[Row], head: Option<usize>, last: Option<&SheetColumns>) -> Setup {
    let fields = fields();
    let data = rows.get(head.map_or(0, |head| head + 1)..).unwrap_or_default();
    let headers: &[String] = head.and_then(|head| rows.get(head)).map_or(&[], |row| &row.fields);
    let looked = || data.iter().take(LOOK_AT);
    // Columns without a header, which most rows have; one row with more cells is a row with a sign too many.
    let more = |row: &&Row| row.fields.iter().skip(headers.len()).any(|cell| !cell.is_empty());
    let most = looked().filter(more).count() * 2 > looked().count();
    let wide = looked().map(|row| row.fields.len()).max().filter(|_| most).unwrap_or(0).max(headers.len());
    let mut columns: Vec<Matched> = Vec::new();
    for index in 0..wide {
        let header = headers.get(index).filter(|header| !header.is_empty()).cloned();
        let header = header.unwrap_or_else(|| format!("Column {}", index + 1));
        let was = last.and_then(|last| last.columns.iter().find(|of| of.header == header));
        let found = match was {
            Some(was) => was.field.as_ref().and_then(|name| fields.iter().position(|of| of.field() == name)),
            None => field(&header, &fields),
        };
        let field = found.filter(|field| !columns.iter().any(|of| of.field == Some(*field)));
        let unit = unit(&plain(&header)).or(was.and_then(|was| was.unit));
        let cells = data.iter().filter_map(|row| row.fields.get(index)).filter(|cell| !cell.is_empty());
        let sample = cells.take(3).map(|cell| cell.chars().take(40).collect()).collect();
        columns.push(Matched { header, field, unit, sample });
    }
    let mut setup = Setup { head, columns, ..Setup::default() };
    guess_signs(&mut setup, data);
    setup
}

/// Whether a column holds numbers with a decimal sign.
pub(super) fn is_number(kind: Kind) -> bool {
    matches!(kind, Kind::Temperature(..) | Kind::Difference(..) | Kind::Height)
}

/// Guesses the decimal sign and the order of dates from the columns that hold numbers and dates.
pub fn guess_signs(setup: &mut Setup, data: &[Row]) {
    let fields = fields();
    let cells = |is: fn(Kind) -> bool| {
        let of = setup
            .columns
            .iter()
            .enumerate()
            .filter(|(_, of)| of.field.and_then(|field| fields.get(field)).is_some_and(|column| is(column.kind())));
        let of: Vec<usize> = of.map(|(index, _)| index).collect();
        data.iter().flat_map(move |row| of.clone().into_iter().filter_map(|index| row.fields.get(index)))
    };
    let (mut commas, mut points) = (0, 0);
    for number in cells(is_number) {
        commas += usize::from(number.contains(','));
        points += usize::from(number.contains('.'));
    }
    let comma = commas > points;
    let orders: Vec<bool> = cells(|kind| kind == Kind::Day).filter_map(|day| cell::day_first(day)).collect();
    let day_first = if orders.is_empty() { comma } else { orders.iter().any(|first| *first) };
    (setup.comma, setup.day_first) = (comma, day_first);
}
