//! Separated values: RFC 4180 when written, and read as spreadsheets read them, with `csv-core`. A stray quote is a character like any
//! other; only one that never closes, and so swallows the rest, is refused.

use csv_core::{ReadRecordResult, ReaderBuilder};
use std::fmt;

/// One record of a text. Blank lines are none.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Row {
    /// The line the record begins on, from 1.
    pub line: usize,
    /// Its fields.
    pub fields: Vec<String>,
}

/// A quoted field is never closed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NotClosed {
    /// The line on which the record with it begins, from 1.
    pub line: usize,
}

impl fmt::Display for NotClosed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}: a quoted field is never closed", self.line)
    }
}

/// The rows of a text with commas.
///
/// # Errors
/// When a quoted field is never closed.
pub fn read(text: &str) -> Result<Vec<Row>, NotClosed> {
    let mut reader = Reader::new(b',');
    let mut rows = Vec::new();
    while let Some(row) = reader.next(text)? {
        rows.push(row);
    }
    Ok(rows)
}

/// Reads a text record by record, so that a long one can be read in pieces. Lines may end in CRLF, as the RFC says, or in LF or CR alone,
/// as spreadsheets write them.
pub struct Reader {
    core: csv_core::Reader,
    separator: u8,
    /// How far the text is read, bytes.
    at: usize,
    /// The line there.
    line: usize,
    out: Vec<u8>,
    ends: Vec<usize>,
}

impl fmt::Debug for Reader {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Reader").field("at", &self.at).field("line", &self.line).finish_non_exhaustive()
    }
}

impl Reader {
    /// At the beginning of a text with this separator, an ASCII character.
    pub fn new(separator: u8) -> Reader {
        let core = ReaderBuilder::new().delimiter(separator).build();
        Reader { core, separator, at: 0, line: 1, out: vec![0; 1_024], ends: vec![0; 64] }
    }

    /// How far the text is read, bytes.
    pub fn at(&self) -> usize {
        self.at
    }

    /// The next record of the text, which has to be the same each time; none at its end.
    ///
    /// # Errors
    /// When a quoted field is never closed.
    pub fn next(&mut self, text: &str) -> Result<Option<Row>, NotClosed> {
        let from = self.at;
        let bytes = text.as_bytes();
        let Some(fields) = self.record(bytes) else { return Ok(None) };
        // What ends the record before is read with this one, and so are blank lines between.
        let blank = bytes[from..self.at].iter().take_while(|byte| matches!(byte, b'\r' | b'\n')).count();
        let line = self.line + breaks(bytes, from, from + blank);
        self.line += breaks(bytes, from, self.at);
        if self.at >= bytes.len() && self.is_open(&bytes[from + blank..]) {
            return Err(NotClosed { line });
        }
        Ok(Some(Row { line, fields }))
    }

    fn record(&mut self, bytes: &[u8]) -> Option<Vec<String>> {
        let (mut written, mut ended) = (0, 0);
        loop {
            let rest = bytes.get(self.at..).unwrap_or_default();
            let (out, ends) = (&mut self.out[written..], &mut self.ends[ended..]);
            let (result, read, wrote, end) = self.core.read_record(rest, out, ends);
            (self.at, written, ended) = (self.at + read, written + wrote, ended + end);
            match result {
                // The rest is empty now, by which the reader knows the end.
                ReadRecordResult::InputEmpty => {}
                ReadRecordResult::OutputFull => self.out.resize(self.out.len() * 2, 0),
                ReadRecordResult::OutputEndsFull => self.ends.resize(self.ends.len() * 2, 0),
                ReadRecordResult::End => return None,
                ReadRecordResult::Record => break,
            }
        }
        let starts = std::iter::once(0).chain(self.ends.iter().copied());
        let ends = self.ends[..ended].iter().copied();
        // Both are where an ASCII character stood, so that no character is cut.
        Some(starts.zip(ends).map(|(from, to)| String::from_utf8_lossy(&self.out[from..to]).into_owned()).collect())
    }

    /// Whether the last record of a text goes on as long as there is more.
    fn is_open(&self, last: &[u8]) -> bool {
        let longer = [last, b"\n."].concat();
        let mut reader = Reader::new(self.separator);
        reader.record(&longer).is_some() && reader.at >= longer.len()
    }
}

/// How many lines end between two places.
fn breaks(bytes: &[u8], from: usize, to: usize) -> usize {
    let ends = |at: &usize| match bytes[*at] {
        b'\n' => true,
        b'\r' => bytes.get(at + 1) != Some(&b'\n'),
        _ => false,
    };
    (from..to).filter(ends).count()
}

/// Media type of separated values.
pub const MEDIA: &str = "text/csv";

/// By this mark at the beginning of a text spreadsheets know UTF-8.
pub const MARK: char = '\u{feff}';

/// Signs by which spreadsheets know a formula at the beginning of a cell: OWASP, "CSV Injection", and the line feed, from memory.
const FORMULA: [char; 7] = ['=', '+', '-', '@', '\t', '\r', '\n'];

/// What separates cells where a spreadsheet has the decimal comma. It heeds quotes only where a cell begins, so that what follows this
/// in a cell may become a cell.
const OTHER_SEPARATOR: char = ';';

/// A cell for a spreadsheet: one that it would run, or that begins like what this makes, gets an apostrophe in front, and so does what
/// a semicolon would make a cell.
pub fn guarded(cell: &str) -> String {
    let runs = |part: &str| part.trim_start_matches('\'').starts_with(FORMULA);
    each_part(cell, |out, part| {
        if runs(part) {
            out.push('\'');
        }
        out.push_str(part);
    })
}

/// The cell that was guarded.
pub fn unguarded(cell: &str) -> String {
    each_part(cell, |out, part| {
        let guarded = part.strip_prefix('\'').filter(|rest| rest.trim_start_matches('\'').starts_with(FORMULA));
        out.push_str(guarded.unwrap_or(part));
    })
}

fn each_part(cell: &str, put: impl Fn(&mut String, &str)) -> String {
    let mut out = String::with_capacity(cell.len());
    for (index, part) in cell.split(OTHER_SEPARATOR).enumerate() {
        if index > 0 {
            out.push(OTHER_SEPARATOR);
        }
        put(&mut out, part);
    }
    out
}

/// `rows` as CSV text: CRLF after every record, quotes only where a field needs them, here or where a spreadsheet separates by semicolons
/// or tabs. A record of one empty field is
/// written as `""`, so that it differs from a blank line. A field that a spreadsheet would take for a formula is the
/// caller's to guard: the RFC knows no formulas.
pub fn write<Record, Field>(rows: impl IntoIterator<Item = Record>) -> String
where
    Record: AsRef<[Field]>,
    Field: AsRef<str>,
{
    let mut out = String::new();
    for row in rows {
        let fields = row.as_ref();
        for (index, field) in fields.iter().enumerate() {
            if index > 0 {
                out.push(',');
            }
            write_field(&mut out, field.as_ref(), fields.len() == 1);
        }
        out.push_str("\r\n");
    }
    out
}

fn write_field(out: &mut String, field: &str, alone: bool) {
    if field.contains([',', OTHER_SEPARATOR, '\t', '"', '\r', '\n']) || (alone && field.is_empty()) {
        out.push('"');
        out.push_str(&field.replace('"', "\"\""));
        out.push('"');
    } else {
        out.push_str(field);
    }
}
