//! `soakbook record`: the record of a visit file, or its notice of deficiencies, as the phone prints it.

use std::fs;
use std::io::{self, Write};
use std::path::Path;
use std::process::ExitCode;

use super::evaluate;
use crate::book::entries::Book;
use crate::book::register::Register;
use crate::book::visit::{Heading, Visit, headings};
use crate::findings;
use crate::handover::audit_bundle;
use crate::view::page::html::{data_url, document_with};
use crate::view::record;

/// The exit statuses, for the help.
pub const STATUSES: &str = "Exit status:
  0  printed
  1  printed, but records of the file are missing or were altered
  2  nothing to print, or the command was not understood";

/// Which of the two pages.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Which {
    /// The record.
    Record,
    /// The notice of deficiencies.
    Notice,
}

/// Prints a page of a file. Exit status 0, 1 when records of the file are missing or were altered, 2 when there is no page.
pub(super) fn run(file: &Path, which: Which, visit: Option<&str>, pictures: bool, out: Option<&Path>) -> ExitCode {
    let name = file.display().to_string();
    let text = evaluate::read(file).and_then(|text| evaluate::opened(&name, text));
    let printed = text.and_then(|text| print(&text, which, visit, pictures)).and_then(|(page, faults)| {
        let written = match out {
            Some(path) => fs::write(path, &page),
            None => io::stdout().write_all(page.as_bytes()),
        };
        written.map_err(|error| format!("cannot be written: {error}"))?;
        Ok(faults)
    });
    match printed {
        Ok(faults) => {
            faults.iter().for_each(|fault| eprintln!("{name}: {fault}"));
            ExitCode::from(u8::from(!faults.is_empty()))
        }
        Err(why) => {
            eprintln!("{name}: {why}");
            ExitCode::from(2)
        }
    }
}

/// The page of a visit file, with its pictures or without, and what is wrong with the file.
///
/// # Errors
/// When the file cannot be read, or it is not clear which visit is meant.
pub fn print(text: &str, which: Which, visit: Option<&str>, pictures: bool) -> Result<(String, Vec<String>), String> {
    let audit = audit_bundle(text).map_err(|faults| {
        let faults: Vec<String> = faults.iter().map(ToString::to_string).collect();
        faults.join("; ")
    })?;
    let book = audit.bundle.book;
    let visit = chosen(&book, visit)?;
    let visit = Visit::of(&book, visit.id).ok_or("it has no visit")?;
    let found = findings::visit(&book, &visit);
    let register = Register::of(&book);
    let page = match which {
        Which::Record => record::record(&book, &register, &visit, &found),
        Which::Notice => record::notice(&book, &register, &visit, &found),
    };
    let picture = |hash| {
        let attachment = book.attachment(hash).filter(|_| pictures)?;
        data_url(&attachment.media, &attachment.bytes)
    };
    Ok((document_with(&page, &picture), audit.faults.iter().map(ToString::to_string).collect()))
}

/// The visit that is meant: the only one, or the one whose id begins so.
fn chosen(book: &Book, visit: Option<&str>) -> Result<Heading, String> {
    let all = headings(book);
    let wanted = visit.unwrap_or_default().to_ascii_lowercase();
    let mut fits = all.iter().filter(|heading| heading.id.to_string().starts_with(&wanted));
    match (fits.next(), fits.next()) {
        (Some(one), None) => Ok(*one),
        (None, _) if all.is_empty() => Err("it has no visit".to_string()),
        (None, _) => Err(format!("it has no visit {wanted}")),
        (Some(_), Some(_)) => {
            let ids: Vec<String> = all.iter().map(|heading| heading.id.to_string()).collect();
            Err(format!("it has several visits; choose one with --visit: {}", ids.join(", ")))
        }
    }
}
