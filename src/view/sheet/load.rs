//! Bytes become rows of clean cells, or are refused with what to do about it.

use super::{Format, MOST_BYTES, MOST_CHARACTERS, MOST_ROWS};
use crate::encoding::charset::{self, Charset, NoText};
use crate::encoding::csv::{NotClosed, Reader, Row};

/// Why a file is not taken at all.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoSheet {
    /// It is no text.
    NoText(NoText),
    /// It is too large.
    TooLarge,
    /// It has too many rows.
    TooManyRows,
    /// A quoted cell is never closed.
    NotClosed(usize),
    /// A cell is far too long.
    LongCell(usize),
    /// It has no rows.
    NoRows,
}

impl NoSheet {
    /// What is wrong and what to do. Nothing was changed.
    pub fn words(self) -> String {
        let words = match self {
            NoSheet::NoText(NoText::Workbook) => {
                "This is a workbook. In the spreadsheet program choose Save as, then CSV, and load that file."
            }
            NoSheet::NoText(NoText::Picture) => "This is a picture, not a sheet. Choose the CSV file.",
            NoSheet::NoText(NoText::Binary) => {
                "This is not a text file. In the spreadsheet program choose Save as, then CSV, and load that file."
            }
            NoSheet::NoText(NoText::Empty) | NoSheet::NoRows => "There are no rows in it.",
            NoSheet::NoText(NoText::OtherEncoding) => {
                "It can't be read as text. Save it as CSV (UTF-8) and load that file."
            }
            NoSheet::TooLarge => {
                "The file is larger than 8 MB. Save only the rows of this site, and only the columns needed."
            }
            NoSheet::TooManyRows => "It has more than 10,000 rows. Save only the rows of this site.",
            NoSheet::NotClosed(line) => {
                return format!(
                    "Line {line}: a double quote opens a cell that is never closed, so the rest of the file is one cell. \
                     Put that right in the spreadsheet and load it again."
                );
            }
            NoSheet::LongCell(line) => {
                return format!(
                    "Line {line}: a cell with more than 10,000 characters. Look for a double quote that isn't closed."
                );
            }
        };
        words.to_string()
    }
}

/// A text on its way to rows.
#[derive(Debug)]
pub struct Loading {
    text: String,
    reader: Reader,
    sheet: Sheet,
}

/// Rows of clean cells.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sheet {
    /// The rows that are not blank, the headers among them.
    pub rows: Vec<Row>,
    /// How many cells lost marks that nobody sees.
    pub cleaned: usize,
}

/// How a file is probably to be read.
///
/// # Errors
/// When it is none that could be.
pub fn guess(bytes: &[u8]) -> Result<Format, NoSheet> {
    if bytes.len() > MOST_BYTES {
        return Err(NoSheet::TooLarge);
    }
    let charset = charset::guess(bytes).map_err(NoSheet::NoText)?;
    let text = charset::decode(bytes, charset).map_err(NoSheet::NoText)?;
    Ok(Format { charset, separator: separator(&text) })
}

/// What stands between the cells of a text: the sign by which most of its first lines have the same number of cells, and many.
pub fn separator(text: &str) -> u8 {
    let mut best = (0, b',');
    for sign in [b',', b';', b'\t', b'|'] {
        let mut reader = Reader::new(sign);
        let counts: Vec<usize> = (0..LOOK_AT)
            .map_while(|_| reader.next(text).ok().flatten())
            .map(|row| row.fields.len())
            .filter(|count| *count > 1)
            .collect();
        let same = |of: usize| counts.iter().filter(|count| **count == of).count();
        let score = counts.iter().map(|count| same(*count) * 100 + (*count).min(99)).max().unwrap_or(0);
        if score > best.0 {
            best = (score, sign);
        }
    }
    best.1
}

/// Rows by which a guess is made.
pub(super) const LOOK_AT: usize = 20;

impl Loading {
    /// Begins to read a file.
    ///
    /// # Errors
    /// When it is none that could be.
    pub fn begin(bytes: &[u8], format: Format) -> Result<Loading, NoSheet> {
        if bytes.len() > MOST_BYTES {
            return Err(NoSheet::TooLarge);
        }
        // Whatever encoding is chosen by hand: what is no text is none.
        charset::guess(bytes).map_err(NoSheet::NoText)?;
        let text = charset::decode(bytes, format.charset).map_err(NoSheet::NoText)?;
        Ok(Loading { text, reader: Reader::new(format.separator), sheet: Sheet::default() })
    }

    /// Reads one more row; false at the end.
    ///
    /// # Errors
    /// When the sheet cannot be taken.
    pub fn step(&mut self) -> Result<bool, NoSheet> {
        let row = self.reader.next(&self.text).map_err(|NotClosed { line }| NoSheet::NotClosed(line))?;
        let Some(mut row) = row else { return Ok(false) };
        for cell in &mut row.fields {
            if cell.len() > MOST_CHARACTERS && cell.chars().count() > MOST_CHARACTERS {
                return Err(NoSheet::LongCell(row.line));
            }
            if let Some(clean) = clean(cell) {
                let spaces = |sign: char| sign.is_whitespace();
                self.sheet.cleaned += usize::from(clean.replace(spaces, "") != cell.replace(spaces, ""));
                *cell = clean;
            }
        }
        if row.fields.iter().any(|cell| !cell.is_empty()) {
            self.sheet.rows.push(row);
        }
        // One more for the headers.
        if self.sheet.rows.len() > MOST_ROWS + 1 { Err(NoSheet::TooManyRows) } else { Ok(true) }
    }

    /// How far it is, of 100.
    pub fn percent(&self) -> usize {
        self.reader.at() * 100 / self.text.len().max(1)
    }

    /// What was read.
    ///
    /// # Errors
    /// When there are no rows.
    pub fn end(self) -> Result<Sheet, NoSheet> {
        if self.sheet.rows.is_empty() { Err(NoSheet::NoRows) } else { Ok(self.sheet) }
    }
}

/// A cell without what nobody sees: control characters, marks of direction and joining. Line ends stay, of one kind; tabs and other blanks
/// become spaces. None where it is clean.
fn clean(cell: &str) -> Option<String> {
    let unseen = |sign: char| matches!(sign, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{2069}' | '\u{61c}' | '\u{feff}');
    let blank = |sign: char| sign.is_whitespace() && !matches!(sign, ' ' | '\n' | '\r');
    let gone = |sign: char| (sign.is_control() && sign != '\n') || unseen(sign);
    if !cell.contains(|sign| gone(sign) || blank(sign)) && cell.trim().len() == cell.len() {
        return None;
    }
    let one_kind = cell.replace("\r\n", "\n").replace('\r', "\n");
    let spaced = one_kind.chars().map(|sign| if blank(sign) { ' ' } else { sign });
    let kept: String = spaced.filter(|sign| !gone(*sign)).collect();
    Some(kept.trim().to_string())
}

/// The encodings that can be chosen, with their words.
pub const CHARSETS: [(Charset, &str); 4] = [
    (Charset::Utf8, "UTF-8"),
    (Charset::Windows1252, "Windows-1252 (Western)"),
    (Charset::Utf16Le, "UTF-16, little-endian"),
    (Charset::Utf16Be, "UTF-16, big-endian"),
];

/// The separators that can be chosen, with their words.
pub const SEPARATORS: [(u8, &str); 4] = [(b',', "Comma"), (b';', "Semicolon"), (b'\t', "Tab"), (b'|', "Vertical bar")];
