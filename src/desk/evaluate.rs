//! `soakbook evaluate`: works everything out again from the entries of bundles and says what differs, what is missing and what
//! was altered.
//!
//! A stream of records, each with its `kind`: `file`, `problem` and `difference` for what is wrong with a file, then `position`, `test`
//! and `family` for what its entries say, `summary` at the end. Many files make one book; with `each` every file is a book of its
//! own and nothing is kept of it when the next one is read.

mod book;
mod format;
mod problem;
mod text;

pub use format::{COLUMNS, Format};

use std::fs::File;
use std::io::{self, IsTerminal, Read, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use serde_json::{Value, json};

use super::unseal;
use crate::book::entries::Book;
use crate::book::integrity::anomalies;
use crate::handover::sealed::is_sealed;
use crate::handover::{Audit, FaultKind, FindingsCheck, InUnit, audit_bundle};
use book::Found;
pub(super) use book::work_out;
use format::Sink;
use problem::Told;

/// No file larger than this is read, bytes: a computer has more room than a phone, but not any amount.
const MAX_BYTES: u64 = 1 << 30;

/// What is asked for.
#[derive(Clone, Copy, Debug)]
pub struct Wanted {
    /// How the records are written.
    pub format: Format,
    /// Whether each file is a book of its own.
    pub each: bool,
    /// The unit of temperatures in texts for people and in the table of results.
    pub unit: InUnit,
}

/// The exit statuses, for the help.
pub const STATUSES: &str = "Exit status:
  0  every file is whole and its findings come out the same
  1  findings differ from those in a file, or a file is missing or altered in places
  2  a file cannot be read, the records cannot be written, or the command was not understood";

/// Evaluates files and prints the records; the name `-` reads standard input. Exit status 0; 1 when findings differ from those in a
/// bundle or a chain is broken; 2 when a file cannot be read or the records cannot be written; every file is tried. On a terminal it
/// says how far it is.
pub fn run(files: &[PathBuf], wanted: Wanted) -> ExitCode {
    let mut out = io::BufWriter::new(io::stdout().lock());
    let progress = files.len() > 1 && io::stderr().is_terminal();
    let texts = files.iter().enumerate().map(|(number, path)| {
        if progress {
            // Over the line before it; what is written last clears it.
            eprint!("\r{} of {} files", number + 1, files.len());
        }
        let text = read(path).and_then(|text| opened(&path.display().to_string(), text));
        if let Err(why) = &text {
            eprintln!("{}{}: {why}", if progress { "\r\x1b[K" } else { "" }, path.display());
        }
        (path.display().to_string(), text)
    });
    let status = evaluate(texts, wanted, &mut out, &mut io::stderr()).unwrap_or_else(|error| {
        eprintln!("the records cannot be written: {error}");
        2
    });
    if progress {
        eprint!("\r\x1b[K");
    }
    ExitCode::from(status)
}

/// The text of a file, or of standard input where the name is `-`.
pub(super) fn read(path: &Path) -> Result<String, String> {
    if path == Path::new("-") {
        return read_text(io::stdin().lock());
    }
    read_text(File::open(path).map_err(|error| error.to_string())?)
}

/// The text, taken out of its seal where it has one.
pub(super) fn opened(name: &str, text: String) -> Result<String, String> {
    if !is_sealed(&text) {
        return Ok(text);
    }
    unseal::open(&text, &unseal::passphrase(name)?).map_err(|fault| fault.to_string())
}

fn read_text(from: impl Read) -> Result<String, String> {
    let mut text = String::new();
    match from.take(MAX_BYTES + 1).read_to_string(&mut text) {
        Ok(_) if text.len() as u64 > MAX_BYTES => Err(format!("it is larger than {} MiB", MAX_BYTES >> 20)),
        Ok(_) => Ok(text),
        Err(error) if error.kind() == io::ErrorKind::InvalidData => Err("it is not UTF-8 text".to_string()),
        Err(error) => Err(error.to_string()),
    }
}

/// Evaluates named texts and writes the records to `out`; what a table of tests has no place for goes to `aside`. Returns the exit status. A reader that has gone away, as `head` does, is
/// no reason to stop checking.
///
/// # Errors
/// When the records cannot be written for any other reason.
pub fn evaluate(
    files: impl IntoIterator<Item = (String, Result<String, String>)>,
    wanted: Wanted,
    out: &mut dyn Write,
    aside: &mut dyn Write,
) -> io::Result<u8> {
    let sink = Sink::new(out, aside, wanted.format, wanted.unit);
    let mut evaluation = Evaluation { sink, total: Total::default(), told: Told::default() };
    // With one file, its own book is the book.
    let mut files = files.into_iter().peekable();
    let first = files.next();
    let each = wanted.each || files.peek().is_none();
    let mut union = Book::default();
    for (name, text) in first.into_iter().chain(files) {
        let Some(book) = evaluation.file(&name, text, each) else { continue };
        if !each {
            union.merge(book);
        }
    }
    if !each {
        let found = Found::of(&union);
        evaluation.book(None, &union, found);
    }
    evaluation.finish()
}

/// What all files together came to.
#[derive(Debug, Default)]
struct Total {
    files: usize,
    unreadable: usize,
    tests: usize,
    broken: usize,
    remarks: usize,
    differences: usize,
    older: usize,
    newer: usize,
    without: usize,
}

struct Evaluation<'a> {
    sink: Sink<'a>,
    total: Total,
    /// What files said already that the book would say again.
    told: Told,
}

impl Evaluation<'_> {
    /// Says what is wrong with a file, and with `each` what its entries say. Gives its entries as a book.
    fn file(&mut self, name: &str, text: Result<String, String>, each: bool) -> Option<Book> {
        self.total.files += 1;
        let audit = match text.map(|text| audit_bundle(&text)) {
            Err(why) => return self.unreadable(name, &[why]),
            Ok(Err(faults)) => {
                return self.unreadable(name, &faults.iter().map(ToString::to_string).collect::<Vec<_>>());
            }
            Ok(Ok(audit)) => audit,
        };
        let Audit { bundle, faults, said } = audit;
        let book = bundle.book;
        let found = Found::of(&book);
        let check = FindingsCheck::of(said.as_ref(), &found.json);
        self.sink.put(json!({
            "kind": "file",
            "file": name,
            "made": text::instant(bundle.made.at),
            "app": bundle.made.app,
            "phone": bundle.made.phone.to_string(),
            "entries": book.len(),
            "attachments": book.attachments().count(),
            "findings": check_name(&check),
        }));
        for fault in &faults {
            self.told.add(fault);
            self.broken(Some(name), problem::of_fault(fault));
        }
        match &check {
            FindingsCheck::Differ(differs) => {
                self.total.differences += differs.len();
                differs.iter().for_each(|differs| self.sink.put(problem::difference(name, differs)));
            }
            FindingsCheck::OlderMethod(differs) => {
                self.total.older += 1;
                differs.iter().for_each(|differs| self.sink.put(problem::difference(name, differs)));
            }
            FindingsCheck::None => self.total.without += 1,
            FindingsCheck::NewerMethod => self.total.newer += 1,
            FindingsCheck::Same => {}
        }
        if each {
            self.book(Some(name), &book, found);
            return None;
        }
        Some(book)
    }

    fn unreadable(&mut self, name: &str, reasons: &[String]) -> Option<Book> {
        self.total.unreadable += 1;
        for words in reasons {
            let kind = FaultKind::Unreadable.name();
            self.sink.put(json!({"kind": "problem", "file": name, "problem": kind, "words": words}));
        }
        None
    }

    fn broken(&mut self, file: Option<&str>, record: Value) {
        self.total.broken += 1;
        self.sink.put(within(file, record));
    }

    /// What does not fit in a book, as far as no file said so: gaps that its maker named, forks, entries that say nothing here. Then
    /// what it says.
    fn book(&mut self, file: Option<&str>, book: &Book, found: Found) {
        for anomaly in std::mem::take(&mut self.told).rest(book, anomalies(book)) {
            let (breaks, record) = problem::of_misfit(book, &anomaly);
            if breaks { self.broken(file, record) } else { self.remark(file, record) }
        }
        for entry in found.late.iter().filter_map(|hash| book.get(*hash)) {
            self.remark(file, problem::of_late(entry));
        }
        for record in book.entries().filter_map(|entry| problem::without_attachment(book, entry)) {
            self.remark(file, record);
        }
        self.total.tests += found.json.tests.len();
        for record in found.records() {
            self.sink.put(within(file, record));
        }
    }

    fn remark(&mut self, file: Option<&str>, record: Value) {
        self.total.remarks += 1;
        self.sink.put(within(file, record));
    }

    fn finish(mut self) -> io::Result<u8> {
        let Total { files, unreadable, tests, broken, remarks, differences, older, newer, without } = self.total;
        let status = match (unreadable, broken + differences) {
            (0, 0) => 0,
            (0, _) => 1,
            _ => 2,
        };
        self.sink.put(json!({
            "kind": "summary",
            "files": files,
            "unreadable": unreadable,
            "tests": tests,
            "broken": broken,
            "remarks": remarks,
            "differences": differences,
            "older_method": older,
            "newer_method": newer,
            "without_findings": without,
            "status": status,
        }));
        self.sink.finish()?;
        Ok(status)
    }
}

/// A record with the name of its file, where it belongs to one.
fn within(file: Option<&str>, mut record: Value) -> Value {
    if let (Some(file), Value::Object(map)) = (file, &mut record) {
        map.insert("file".into(), file.into());
    }
    record
}

fn check_name(check: &FindingsCheck) -> &'static str {
    match check {
        FindingsCheck::None => "none in the bundle",
        FindingsCheck::Same => "same",
        FindingsCheck::Differ(_) => "differ",
        FindingsCheck::OlderMethod(_) => "recomputed by a newer method",
        FindingsCheck::NewerMethod => "made by a newer method",
    }
}
