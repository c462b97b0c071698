//! What was found wrong, and what became of it.

use super::lines::seen;
use super::{NOT_RECORDED, Recorded, joined, table, when};
use crate::book::Id;
use crate::book::body::{Body, ItemClosing, ItemTelling, ItemWhat};
use crate::book::visit::Item;
use crate::trade::conditions::ItemClass;
use crate::view::findings::lower;
use crate::view::page::{Block, Role};
use crate::view::words;
use std::sync::Arc;

const PROBLEMS: &str = "Problems found, and what became of them";
const NOTHING: &str = "None recorded.";
const NUMBERS: &str = "Numbers are those of the notice of deficiencies.";
const HEAD: [&str; 8] = ["No.", "What", "Where", "Class", "Found", "Notified", "In writing", "What became of it"];

impl Recorded<'_> {
    pub(super) fn problems(&self) -> Block {
        let row = |(at, item): (usize, &Item)| {
            vec![
                (at + 1).to_string(),
                self.what(item),
                self.where_found(item),
                class(item).to_string(),
                self.found(item),
                self.told(item, false),
                self.told(item, true),
                self.closing(item),
            ]
        };
        let rows: Vec<Vec<String>> = self.visit.items.iter().enumerate().map(row).collect();
        let numbers = (!rows.is_empty()).then(|| Block::text("numbers", Role::Soft, NUMBERS));
        let blocks = numbers.into_iter().chain(table("problems", &HEAD, rows, NOTHING)).collect();
        Block::section("problems", PROBLEMS, blocks)
    }

    /// What is wrong, and in whose words.
    pub(super) fn what(&self, item: &Item) -> String {
        let found = &item.found;
        let words = match (found.what, found.visual.is_empty()) {
            (ItemWhat::Visual, false) => format!("{}: {}", words::item(found.what), lower(&seen(&found.visual))),
            _ => words::item(found.what).to_string(),
        };
        joined([words, found.note.map_or_else(String::new, |note| self.said(note))])
    }

    /// Where: tag, location, area; else the circuit.
    pub(super) fn where_found(&self, item: &Item) -> String {
        let of = |id| {
            let place = self.register.positions.get(&id).and_then(|of| of.place.now());
            let location = place.and_then(|place| place.location.clone()).unwrap_or_default();
            let area = place.map_or("", |place| self.area_name(place.area));
            joined([self.tag(id).to_string(), location, area.to_string()])
        };
        let positions: Vec<String> =
            [item.found.position, item.found.other_position].into_iter().flatten().map(of).collect();
        let circuit = item.found.circuit.map_or("", |circuit| self.circuit_name(circuit));
        let words = joined([positions.join("; "), circuit.to_string()]);
        if words.is_empty() { NOT_RECORDED.to_string() } else { words }
    }

    /// When and by whom it was found.
    pub(super) fn found(&self, item: &Item) -> String {
        let by = item.found.by.map_or_else(String::new, |by| self.who(by));
        joined([when(item.found.happened), by])
    }

    fn tellings(&self, item: &Item) -> Vec<Arc<ItemTelling>> {
        let told = self.book.naming(item.hash).filter_map(|entry| match &entry.body {
            Body::ItemTold(of) => Some(of.clone()),
            _ => None,
        });
        told.collect()
    }

    /// Who was told of it, by mouth or in writing.
    pub(super) fn told(&self, item: &Item, in_writing: bool) -> String {
        let told = self.tellings(item).into_iter().filter(|of| of.in_writing == in_writing || !in_writing);
        let all: Vec<String> = told.map(|of| joined([self.who(of.to), when(of.happened)])).collect();
        if all.is_empty() { "Not yet".to_string() } else { all.join("; ") }
    }

    fn closing(&self, item: &Item) -> String {
        let Some((how, by)) = item.closed.last() else { return "Open".to_string() };
        let shown = item.shown_by();
        let closings = self.book.naming(item.hash).filter_map(|entry| match &entry.body {
            Body::ItemClosed(of) if (of.how, of.by, of.test) == (*how, *by, shown) => Some(of.clone()),
            _ => None,
        });
        let last: Option<Arc<ItemClosing>> = closings.max_by_key(|of| of.happened.at);
        let day = last.as_ref().map_or_else(String::new, |of| when(of.happened));
        let evidence = shown.and_then(|test| self.evidence(test)).unwrap_or_default();
        let note = last.and_then(|of| of.note).map_or_else(String::new, |note| self.said(note));
        joined([words::item_closed(*how).to_string(), day, self.who(*by), evidence, note])
    }

    /// The test that shows that it is settled: what is closed by itself has no other date.
    fn evidence(&self, test: Id) -> Option<String> {
        let found = self.found.tests.iter().find(|found| found.test == test)?;
        Some(format!("test of {}: {}", self.wall(found.started_wall), lower(found.outcome.words())))
    }
}

/// The class, or that none was chosen.
pub(super) fn class(item: &Item) -> &'static str {
    item.class.map_or("Not chosen", ItemClass::words)
}
