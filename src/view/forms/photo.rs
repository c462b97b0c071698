//! The caption of a photo.

use super::Known;
use super::row::{Row, row};
use super::table::{Rows, Table};
use crate::book::body::{Body, Photo};
use crate::book::command::Command;
use crate::encoding::stored::Stored;
use crate::view::route::Form;
use serde_json::{Value, json};

const CAPTION: Row = row!("photo", Photo, "caption", "caption", "Caption").help("What it shows. Blank for none.");

pub(super) const TABLE: Table = Table {
    title: |_| "Photo".into(),
    parts: &[Rows { title: "", note: "", rows: &[&[CAPTION]] }],
    base: |form, known: Known<'_>| {
        let Form::Caption(of) = form else { return Value::Null };
        match known.book.get(of).map(|entry| &entry.body) {
            Some(Body::Photo(photo)) => json!({ "photo": photo.to_value() }),
            _ => Value::Null,
        }
    },
    make: |made| {
        let Form::Caption(of) = made.asked.form else { return Ok(Vec::new()) };
        Ok(vec![Command::CaptionPhoto { of, caption: made.at("photo.caption") }])
    },
    ..Table::PLAIN
};
