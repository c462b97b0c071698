//! A site as a sheet: every position that is in use, every field of its form, in a text that comes back as it was.

use super::heads;
use super::index::{area, circuit};
use crate::book::Id;
use crate::encoding::csv::{self, guarded};
use crate::view::forms::Known;
use crate::view::forms::columns::{Column, stands};
use crate::view::route::Form;
use crate::view::words;

/// Writes a site out, position by position.
#[derive(Debug)]
pub struct Writing {
    fields: Vec<Column>,
    positions: Vec<Id>,
    at: usize,
    text: String,
}

impl Writing {
    /// Begins, in the order of areas and walking.
    pub fn new(known: Known<'_>, site: Id) -> Writing {
        let register = known.register;
        let areas = register.areas_of(site).into_iter();
        let positions = areas.flat_map(|(area, _)| register.positions_of(area)).map(|(id, _)| id).collect();
        let fields = heads::fields();
        let heads: Vec<&str> = fields.iter().map(Column::header).collect();
        let text = csv::MARK.to_string() + &csv::write([heads]);
        Writing { fields, positions, at: 0, text }
    }

    /// Writes one more position; false at the end.
    pub fn step(&mut self, known: Known<'_>) -> bool {
        let Some(id) = self.positions.get(self.at) else { return false };
        self.at += 1;
        let thing = stands(Form::Position(Some(*id)), known);
        let cell = |column: &Column| match column.key() {
            "area" => area(known.register, *id).to_string(),
            "circuit" => circuit(known.register, *id).to_string(),
            _ => column.get(&thing, known),
        };
        let cells: Vec<String> = self.fields.iter().map(|column| guarded(&cell(column))).collect();
        self.text.push_str(&csv::write([cells]));
        true
    }

    /// How far it is.
    pub fn progress(&self) -> (usize, usize) {
        (self.at, self.positions.len())
    }

    /// The text.
    pub fn end(self) -> String {
        self.text
    }
}

/// The name of the file.
pub fn file_name(known: Known<'_>, site: Id) -> String {
    let name = known.register.sites.get(&site).and_then(|site| site.now()).map_or("", |site| &site.name);
    let slug = words::slug(name);
    format!("{}-devices.csv", if slug.is_empty() { "site" } else { &slug })
}
