//! The fields of a thing as the columns of a sheet: each cell as a text, and back.

use super::row::{Asked, Row};
use super::table::{at, put};
use super::text::Parser;
use super::thing::said;
use super::{Known, Typed, Wrong, table, thing};
use crate::book::Id;
use crate::book::command::Command;
use crate::book::refusal::Fault;
use crate::trade::fields::Kind;
use crate::units::Degree;
use crate::view::route::Form;
use serde_json::Value;

/// One column.
#[derive(Clone, Copy, Debug)]
pub struct Column {
    row: &'static Row,
    form: Form,
}

/// The columns of a thing, named by its form, in the order of the form. What is kept apart as an attachment has none.
pub fn columns(form: Form) -> Vec<Column> {
    let stored = |row: &&Row| !row.path.is_empty() && !matches!(row.fact.kind, Kind::Attached(_) | Kind::Drawn);
    table(form).rows().filter(stored).map(|row| Column { row, form }).collect()
}

/// What stands of a thing, by its groups of fields.
pub fn stands(form: Form, known: Known<'_>) -> Value {
    thing::base(form, known)
}

/// The command that makes a thing stand so; `detector` is what hangs in a position. None while something is missing that has to be
/// there.
pub fn command(form: Form, id: Id, detector: Id, thing: &Value) -> Option<Command> {
    thing::put(form, id, detector, thing)
}

/// What a cell holds that lists nothing, where a blank means that nobody said.
const NOTHING: &str = "none";

impl Column {
    /// The words at its head, which are those of the form.
    pub fn header(&self) -> &'static str {
        self.row.name.label
    }

    /// The name that stays the same in every language.
    pub fn key(&self) -> &'static str {
        self.row.name.key
    }

    /// The name of the field in the format, with that of its group.
    pub fn field(&self) -> &'static str {
        self.row.fact.key
    }

    /// What it may hold.
    pub fn kind(&self) -> Kind {
        self.row.fact.kind
    }

    /// Puts in a value as it is stored; `null` takes it out.
    pub fn put(&self, thing: &mut Value, value: Value) {
        put(thing, self.row.path, value);
    }

    /// The cell of a thing, given by its groups of fields.
    pub fn get(&self, thing: &Value, known: Known<'_>) -> String {
        let value = at(thing, self.row.path);
        match value {
            Some(Value::Array(items)) if items.is_empty() => NOTHING.to_string(),
            value => value.map(|value| said(self.row, self.form, value, known)).unwrap_or_default(),
        }
    }

    /// Puts a cell into a thing. A number without a unit is in `unit`.
    ///
    /// # Errors
    /// What is wrong with it.
    pub fn set(&self, thing: &mut Value, text: &str, unit: Degree, known: Known<'_>) -> Result<(), Wrong> {
        let parser = Parser { label: self.row.name.label, unit, offset_min: known.at.offset_min };
        let typed = Typed::default();
        let asked = Asked { form: self.form, typed: &typed, known, new: false };
        let text = text.trim();
        let value = match (text, self.row.fact.kind) {
            ("", _) => Value::Null,
            (NOTHING, Kind::List(_)) => Value::Array(Vec::new()),
            (_, kind) if self.row.is_choice() => {
                let mut answers = self.row.answers(&asked).into_iter().filter(|answer| !answer.value.is_empty());
                let same = |of: &str| of.eq_ignore_ascii_case(text);
                let answer = answers.find(|answer| same(&answer.label) || same(&answer.value));
                parser.parse(kind, &answer.ok_or_else(|| parser.wrong(Fault::Choose))?.value)?
            }
            (_, kind) => parser.parse(kind, text)?,
        };
        put(thing, self.row.path, value);
        Ok(())
    }
}
