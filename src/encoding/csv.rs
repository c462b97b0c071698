//! Comma-separated values: RFC 4180.

use std::fmt;

/// One record of a CSV text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// The line the record begins on, from 1.
    pub line: usize,
    /// Its fields; none where the line is blank.
    pub fields: Vec<String>,
}

/// A record that cannot be read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BadRow {
    /// The line the record begins on, from 1.
    pub line: usize,
    /// What is wrong with it.
    pub reason: Fault,
}

/// What can be wrong with a record.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault {
    /// A double quote inside a field that does not begin with one.
    QuoteInField,
    /// Something other than a comma or the end of the line after a closing quote.
    TextAfterQuote,
    /// The text ends inside a quoted field.
    QuoteNotClosed,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Fault::QuoteInField => "a field with a double quote must be quoted as a whole, its quotes doubled",
            Fault::TextAfterQuote => "after a closing quote comes a comma or the end of the line",
            Fault::QuoteNotClosed => "a quoted field is never closed",
        })
    }
}

impl fmt::Display for BadRow {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}: {}", self.line, self.reason)
    }
}

/// The rows of `text`, or every row that cannot be read. Lines may end in CRLF, as the RFC says, or in LF or CR alone,
/// as spreadsheets write them. A byte order mark in front is a character like any other: only the caller knows whether the
/// text was a file, where it is none, or what [`write`] made, which comes back as it was.
pub fn read(text: &str) -> Result<Vec<Row>, Vec<BadRow>> {
    let mut reader = Reader { rest: text, line: 1 };
    let mut rows = Vec::new();
    let mut bad = Vec::new();
    while !reader.rest.is_empty() {
        let line = reader.line;
        match reader.record() {
            Ok(fields) => rows.push(Row { line, fields }),
            Err(reason) => {
                bad.push(BadRow { line, reason });
                reader.skip_line();
            }
        }
    }
    if bad.is_empty() { Ok(rows) } else { Err(bad) }
}

struct Reader<'a> {
    rest: &'a str,
    line: usize,
}

impl Reader<'_> {
    fn record(&mut self) -> Result<Vec<String>, Fault> {
        let mut fields = Vec::new();
        if self.end_of_line() {
            return Ok(fields);
        }
        loop {
            fields.push(self.field()?);
            if let Some(rest) = self.rest.strip_prefix(',') {
                self.rest = rest;
            } else if self.end_of_line() {
                return Ok(fields);
            } else {
                return Err(Fault::TextAfterQuote);
            }
        }
    }

    fn field(&mut self) -> Result<String, Fault> {
        let Some(quoted) = self.rest.strip_prefix('"') else {
            let end = self.rest.find([',', '\r', '\n']).unwrap_or(self.rest.len());
            let (field, rest) = self.rest.split_at(end);
            if field.contains('"') {
                return Err(Fault::QuoteInField);
            }
            self.rest = rest;
            return Ok(field.to_string());
        };
        let mut field = String::new();
        let mut rest = quoted;
        while let Some((part, after)) = rest.split_once('"') {
            field.push_str(part);
            if let Some(after) = after.strip_prefix('"') {
                field.push('"');
                rest = after;
            } else {
                self.line += field.matches('\n').count();
                self.rest = after;
                return Ok(field);
            }
        }
        self.line += quoted.matches('\n').count();
        self.rest = "";
        Err(Fault::QuoteNotClosed)
    }

    /// Steps over the end of a line, or of the text, if that is next.
    fn end_of_line(&mut self) -> bool {
        let rest = self.rest;
        match rest.strip_prefix("\r\n").or_else(|| rest.strip_prefix(['\r', '\n'])) {
            Some(after) => {
                self.rest = after;
                self.line += 1;
                true
            }
            None => rest.is_empty(),
        }
    }

    fn skip_line(&mut self) {
        self.rest = self.rest.find(['\r', '\n']).map_or("", |end| &self.rest[end..]);
        self.end_of_line();
    }
}

/// `rows` as CSV text: CRLF after every record, quotes only where a field needs them. A record of one empty field is
/// written as `""`, so that it differs from a blank line. A field that a spreadsheet would take for a formula is the
/// caller's to judge: the RFC knows no formulas.
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
    if field.contains([',', '"', '\r', '\n']) || (alone && field.is_empty()) {
        out.push('"');
        out.push_str(&field.replace('"', "\"\""));
        out.push('"');
    } else {
        out.push_str(field);
    }
}
