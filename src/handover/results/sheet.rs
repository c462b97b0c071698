//! The table as a file for a spreadsheet.

use super::{InUnit, Offsets, RESULTS, VisitResults, line};
use crate::book::Id;
use crate::book::entries::Book;
use crate::book::kit::Kit;
use crate::book::register::Register;
use crate::book::visit::Visit;
use crate::encoding::csv;
use crate::findings;
use crate::handover::FindingsJson;
use crate::handover::bundle::{NothingToHandOver, Select, part_of};

/// A table that is ready to leave.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ResultsSheet {
    /// The whole file.
    pub text: String,
    /// Its lines below the heads.
    pub lines: usize,
}

/// The results of visits: their positions, then their tests, visit by visit. Behind its first mark the text is what
/// `soakbook evaluate --format results` writes of the visits' files.
///
/// # Errors
/// When there is no visit, or one has no entries here.
pub fn results_sheet(book: &Book, visits: &[Id], unit: InUnit) -> Result<ResultsSheet, NothingToHandOver> {
    if visits.is_empty() {
        return Err(NothingToHandOver::Visit);
    }
    // What a file says follows from its own entries, so they are asked of a book that holds no others.
    let part = part_of(book, visits.iter().map(|visit| Select::Visit(*visit)))?;
    let (register, kit) = (Register::of(&part), Kit::of(&part));
    let (mut positions, mut tests) = (Vec::new(), Vec::new());
    for id in visits {
        let Some(visit) = Visit::of(&part, *id) else { return Err(NothingToHandOver::Visit) };
        let (found, offsets) = (findings::visit(&part, &visit), Offsets::of(&part, *id));
        let mut json = FindingsJson::default();
        json.add(&found);
        let of = VisitResults {
            book: &part,
            names: book,
            register: &register,
            kit: &kit,
            visit: &visit,
            found: &found,
            offsets: &offsets,
        };
        positions.extend(of.positions(&json.tests));
        tests.extend(of.tests(&json.tests));
    }
    let mut text = csv::MARK.to_string() + &csv::write([RESULTS]);
    let lines = positions.len() + tests.len();
    positions.iter().chain(&tests).for_each(|record| text.push_str(&csv::write([line(record, unit)])));
    Ok(ResultsSheet { text, lines })
}
