//! A customer's spreadsheet: read, matched, shown before anything is taken, and written out again.
//!
//! Nothing here reads a file or draws: bytes come in, a decision's parts and a page go out, and what takes long is done in steps, so that
//! the screen has its turn between. Reading order: this file, `load` (bytes become rows), `heads` (which column is which field), `cell`
//! (how a cell is read), `plan` and `planner` (what each row would do), `page`.

pub mod cell;
pub mod export;
pub mod heads;
pub mod index;
pub mod kinds;
pub mod load;
pub mod page;
pub mod plan;
pub mod planner;
pub mod preview;

use crate::book::body::{SheetColumn, SheetColumns};
use crate::encoding::charset::Charset;
use crate::trade::detector_type::DetectorType;
use crate::trade::fields::{Kind, LINE};
use crate::units::Degree;
use std::collections::BTreeMap;

/// Most rows of a sheet. Own figure: twice the largest site the app is made for.
pub const MOST_ROWS: usize = 10_000;

/// Most bytes of a file. Own figure: ten thousand rows with every field filled in have about half of it.
pub const MOST_BYTES: usize = 8_000_000;

/// Most characters of a cell. Own figure: no field holds more than 400; what is longer is a quote that was not closed.
pub const MOST_CHARACTERS: usize = 10_000;

/// How a file is to be read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Format {
    /// Its encoding.
    pub charset: Charset,
    /// What stands between its cells.
    pub separator: u8,
}

/// How its rows are to be understood: guessed, shown, and changed by hand.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Setup {
    /// The row with the headers, from 0; none where there are none.
    pub head: Option<usize>,
    /// What each column of the sheet is.
    pub columns: Vec<Matched>,
    /// Whether the decimal sign is a comma.
    pub comma: bool,
    /// Whether the day comes before the month.
    pub day_first: bool,
    /// Type words by hand.
    pub types: BTreeMap<String, DetectorType>,
    /// Whether blank cells erase what stands.
    pub erase: bool,
    /// Answers by row and question.
    pub answers: BTreeMap<(usize, Question), bool>,
}

/// A column of the sheet.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Matched {
    /// Its header, or its number where it has none.
    pub header: String,
    /// The field, by its place among the columns of a position; none where it is left out.
    pub field: Option<usize>,
    /// The unit of temperatures in it that have none of their own.
    pub unit: Option<Degree>,
    /// Its first values.
    pub sample: Vec<String>,
}

/// What is asked about a row and never assumed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Question {
    /// Whether a row that fits a position by its panel point or tag alone is that position.
    Same,
    /// Whether another serial number or type is a correction. If not, another detector hangs there.
    Correction,
}

/// What a tap on the page of the sheet asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ask {
    /// To choose a file.
    Choose,
    /// To read the cells that were pasted.
    Paste,
    /// To stop.
    Stop,
    /// To begin anew.
    Again,
    /// To show the choices for this.
    Pick(Pick),
    /// Another separator.
    Separator(u8),
    /// Another encoding.
    Charset(Charset),
    /// Another decimal sign.
    Comma(bool),
    /// Another order of dates.
    DayFirst(bool),
    /// Another row with the headers.
    Head(Option<usize>),
    /// Another field for a column.
    Match(usize, Option<usize>),
    /// The unit of a column.
    Unit(usize, Degree),
    /// The type of a word, by its place in the table.
    Type(usize, DetectorType),
    /// An answer about a row.
    Answer(usize, Question, bool),
    /// The same answer about every row.
    AnswerAll(Question, bool),
    /// Whether blank cells erase.
    Erase(bool),
    /// To take the sheet in.
    Import,
    /// To write the site out as a file.
    Export,
}

/// What can be changed by hand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pick {
    /// The separator.
    Separator,
    /// The encoding.
    Charset,
    /// The decimal sign.
    Decimal,
    /// The order of dates.
    Dates,
    /// The row with the headers.
    Head,
    /// A column.
    Column(usize),
    /// A type word.
    Type(usize),
}

impl Setup {
    /// How the columns were matched, to be remembered.
    pub fn remembered(&self) -> SheetColumns {
        let fields = heads::fields();
        let column = |of: &Matched| SheetColumn {
            header: of.header.chars().take(LINE).collect(),
            field: of.field.and_then(|field| fields.get(field)).map(|column| column.field().to_string()),
            unit: of.unit,
        };
        SheetColumns { columns: self.columns.iter().map(column).collect() }
    }

    /// Whether a column holds something of this kind.
    pub(super) fn has(&self, is: fn(Kind) -> bool) -> bool {
        let fields = heads::fields();
        let of = |of: &Matched| of.field.and_then(|field| fields.get(field)).is_some_and(|column| is(column.kind()));
        self.columns.iter().any(of)
    }

    /// The column of the sheet that is this field, by the field's key.
    pub(super) fn of(&self, key: &str) -> Option<usize> {
        let fields = heads::fields();
        let is = |of: &Matched| of.field.and_then(|field| fields.get(field)).is_some_and(|column| column.key() == key);
        self.columns.iter().position(is)
    }
}
