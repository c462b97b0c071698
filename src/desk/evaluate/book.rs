//! What the entries of a book say, as records.

use serde_json::{Map, Value};

use super::text;
use crate::book::log::Book;
use crate::book::round::{Round, rounds};
use crate::findings::{self, RunFindings};
use crate::handover::run_finding;
use crate::order;

/// Everything worked out again.
#[derive(Debug, Default)]
pub(super) struct Found {
    /// The findings of each run as a bundle carries them.
    pub(super) runs: Vec<Value>,
    /// What is told beside, run by run.
    beside: Vec<Map<String, Value>>,
    families: Vec<Value>,
}

impl Found {
    /// Works out every round of a book, oldest first, its runs by start.
    pub(super) fn of(book: &Book) -> Found {
        let mut found = Found::default();
        for round in rounds(book).iter().rev() {
            found.add(book, round);
        }
        found
    }

    fn add(&mut self, book: &Book, round: &Round) {
        let said = findings::round(book, round);
        let runs = order::by(said.runs.iter().collect(), |run| (run.started_wall, 0, run.run.to_string()));
        for run in runs {
            self.runs.push(run_finding(run));
            self.beside.push(beside(run));
        }
    }

    /// The records, one for each run and one for each family.
    pub(super) fn records(self) -> impl Iterator<Item = Value> {
        let runs = self.runs.into_iter().zip(self.beside).map(|(mut run, beside)| {
            if let Value::Object(map) = &mut run {
                map.insert("kind".into(), "run".into());
                map.extend(beside);
            }
            run
        });
        runs.chain(self.families)
    }
}

/// What a run says beside the findings that a bundle carries.
fn beside(run: &RunFindings) -> Map<String, Value> {
    let mut map = Map::new();
    map.insert("started".into(), text::instant(run.started_wall).into());
    let flags = run.odd.iter().map(|odd| odd.words().to_string());
    let remarks = run.holding().iter().flat_map(|judgement| &judgement.remarks).map(ToString::to_string);
    map.insert("flags".into(), flags.chain(remarks).map(Value::from).collect());
    map
}
