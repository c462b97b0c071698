//! What each row of a sheet would do, before anything is done: a new position, a change field by field, nothing, a question, or a fault by
//! line, column and reason.

use super::{Question, Setup};
use crate::book::Id;
use crate::book::body::{Area, Circuit};
use crate::book::command::{ImportSheet, PutPosition};
use crate::encoding::csv::Row;
use crate::trade::detector_type::DetectorType;

/// The area of new positions whose row names none.
pub const NO_AREA: &str = "Area not given";

/// One field that a row changes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// The field.
    pub label: &'static str,
    /// What stands; empty for nothing.
    pub old: String,
    /// What the sheet says; empty for nothing.
    pub new: String,
}

/// What is wrong with a row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// The header of the column; empty where it is the row as a whole.
    pub column: String,
    /// Why.
    pub why: String,
}

/// What a row would do.
#[derive(Clone, Debug, PartialEq)]
pub enum Fate {
    /// A new position.
    New,
    /// A position as it stands, with these fields changed.
    Changed(Vec<Change>),
    /// Nothing.
    Same,
    /// It is asked first; what is asked.
    Asked(Question, String),
    /// It says what another row says, too.
    Twice(String),
    /// It cannot be taken.
    Bad(Vec<Fault>),
}

/// A row of the sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Its line in the file.
    pub line: usize,
    /// The tag, or what else it is called.
    pub name: String,
    /// What it would do.
    pub fate: Fate,
    /// The position as it would stand, for one that is new or changed.
    pub put: Option<Box<PutPosition>>,
}

/// What the sheet would do.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Plan {
    /// Row by row.
    pub lines: Vec<Line>,
    /// Positions that stand and are not in it, by tag.
    pub gone: Vec<String>,
    /// Type words with the type they are taken for, and how often each is there.
    pub types: Vec<(String, DetectorType, usize)>,
    /// Columns of temperatures whose unit is asked.
    pub no_unit: Vec<usize>,
    /// Columns in °F with values that are rather °C.
    pub rather_celsius: Vec<(usize, usize)>,
    /// Areas and circuits that it would make.
    pub areas: Vec<(Id, String)>,
    /// The circuits.
    pub circuits: Vec<(Id, String)>,
    /// Whether a column is matched to the tag.
    pub has_tag: bool,
}

impl Plan {
    /// How many rows would be taken.
    pub fn count(&self) -> usize {
        self.lines.iter().filter(|line| line.put.is_some()).count()
    }

    /// How many rows cannot be taken as they are.
    pub fn left_out(&self) -> usize {
        let out = |line: &&Line| matches!(line.fate, Fate::Asked(..) | Fate::Twice(_) | Fate::Bad(_));
        self.lines.iter().filter(out).count()
    }

    /// The positions as they would stand.
    pub fn positions(&self) -> impl Iterator<Item = &PutPosition> {
        self.lines.iter().filter_map(|line| line.put.as_deref())
    }

    /// The decision without them.
    pub fn decision(&self, site: Id, import: Id, setup: &Setup) -> ImportSheet {
        let area = |(id, name): &(Id, String)| (*id, Area { site, name: name.clone() });
        let circuit = |(id, name): &(Id, String)| {
            let (name, shows_point, verification) = (name.clone(), false, false);
            (*id, Circuit { site, name, shows_point, addressable: None, releasing: None, verification })
        };
        let areas = self.areas.iter().map(area).collect();
        let circuits = self.circuits.iter().map(circuit).collect();
        ImportSheet { site, import, columns: setup.remembered(), areas, circuits }
    }
}

/// The rows below the headers.
pub(super) fn rows_below<'a>(rows: &'a [Row], setup: &Setup) -> &'a [Row] {
    rows.get(setup.head.map_or(0, |head| head + 1)..).unwrap_or_default()
}

/// So much of a cell as a sentence has room for.
pub(super) fn short(text: &str) -> String {
    let short: String = text.chars().take(60).collect();
    if short.len() < text.len() { format!("{short}…") } else { short }
}
