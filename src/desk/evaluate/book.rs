//! What the entries of a book say, as records.

use serde_json::{Map, Value};

use super::text;
use crate::book::log::Book;
use crate::book::round::{Round, rounds};
use crate::findings::{self, RunFindings};
use crate::handover::FindingsJson;

/// Everything worked out again.
#[derive(Debug, Default)]
pub(super) struct Found {
    /// The findings as a bundle carries them.
    pub(super) json: FindingsJson,
    /// What is told beside, run by run.
    beside: Vec<Map<String, Value>>,
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
        self.json.add(&said);
        self.beside.extend(said.by_start().into_iter().map(beside));
    }

    /// The records, one for each run and one for each family.
    pub(super) fn records(self) -> impl Iterator<Item = Value> {
        let FindingsJson { runs, families } = self.json;
        let runs = runs.into_iter().zip(self.beside).map(|(run, beside)| record("run", run, beside));
        runs.chain(families.into_iter().map(|family| record("family", family, Map::new())))
    }
}

fn record(kind: &str, mut found: Value, beside: Map<String, Value>) -> Value {
    if let Value::Object(map) = &mut found {
        map.insert("kind".into(), kind.into());
        map.extend(beside);
    }
    found
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
