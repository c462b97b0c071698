//! What the entries of a book say, as records.

use std::panic::resume_unwind;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use serde_json::{Map, Value};

use super::text;
use crate::book::Id;
use crate::book::entries::Book;
use crate::book::entry::Hash;
use crate::book::kit::Kit;
use crate::book::register::Register;
use crate::book::visit::{Visit, headings};
use crate::findings::{self, TestFindings};
use crate::handover::{FindingsJson, Offsets, VisitResults};
use crate::order;

/// Everything worked out again.
#[derive(Debug, Default)]
pub(super) struct Found {
    /// The findings as a bundle carries them.
    pub(super) json: FindingsJson,
    /// The records of positions.
    positions: Vec<Value>,
    /// Additional columns, test by test.
    beside: Vec<Map<String, Value>>,
    /// Entries about tests that another phone kept.
    pub(super) late: Vec<Hash>,
}

impl Found {
    /// Works out every visit of a book, oldest first, its tests by start.
    pub(super) fn of(book: &Book) -> Found {
        let visits: Vec<Id> = headings(book).into_iter().rev().map(|heading| heading.id).collect();
        let mut found = Found::default();
        let (register, kit) = (Register::of(book), Kit::of(book));
        let say = |visit: &Visit| {
            let late: Vec<Hash> = visit.tests.iter().flat_map(|test| test.after_take_over.iter().copied()).collect();
            let (found, offsets) = (findings::visit(book, visit), Offsets::of(book, visit.id));
            let mut json = FindingsJson::default();
            json.add(&found);
            let (register, kit, found, offsets) = (&register, &kit, &found, &offsets);
            let results = VisitResults { book, names: book, register, kit, visit, found, offsets };
            let test = |id| visit.tests.iter().find(|test| test.id == id);
            let beside = found.by_start().into_iter().map(|found| {
                let mut map = beside(found);
                map.extend(test(found.test).map(|test| results.beside(test, found)).unwrap_or_default());
                map
            });
            let beside: Vec<_> = beside.collect();
            let positions = results.positions(&json.tests);
            (json, positions, beside, late)
        };
        let threads = thread::available_parallelism().map_or(1, usize::from);
        for (json, positions, beside, late) in work_out(book, &visits, threads, say) {
            found.json.tests.extend(json.tests);
            found.json.families.extend(json.families);
            found.positions.extend(positions);
            found.beside.extend(beside);
            found.late.extend(late);
        }
        found
    }

    /// The records, one for each position in scope, one for each test and one for each family.
    pub(super) fn records(self) -> impl Iterator<Item = Value> {
        let FindingsJson { tests, families } = self.json;
        let tests = tests.into_iter().zip(self.beside).map(|(test, beside)| record("test", test, beside));
        self.positions
            .into_iter()
            .chain(tests)
            .chain(families.into_iter().map(|family| record("family", family, Map::new())))
    }
}

/// What these visits say, in their order, worked out on `threads` threads including the caller's.
pub(in crate::desk) fn work_out<T: Send>(
    book: &Book,
    visits: &[Id],
    threads: usize,
    say: impl Fn(&Visit) -> T + Sync,
) -> Vec<T> {
    let next = AtomicUsize::new(0);
    let share = || {
        let mut found = Vec::new();
        loop {
            let place = next.fetch_add(1, Ordering::Relaxed);
            let Some(id) = visits.get(place) else { return found };
            found.extend(Visit::shared(book, *id).map(|visit| (place, say(&visit))));
        }
    };
    let found = thread::scope(|scope| {
        let others: Vec<_> = (1..threads).map(|_| scope.spawn(share)).collect();
        let mut found = share();
        for other in others {
            found.extend(other.join().unwrap_or_else(|panic| resume_unwind(panic)));
        }
        found
    });
    order::by_number(found, |(place, _)| *place as i64).into_iter().map(|(_, said)| said).collect()
}

fn record(kind: &str, mut found: Value, beside: Map<String, Value>) -> Value {
    if let Value::Object(map) = &mut found {
        map.insert("kind".into(), kind.into());
        map.extend(beside);
    }
    found
}

/// What a test says beside the findings that a bundle carries.
fn beside(test: &TestFindings) -> Map<String, Value> {
    let mut map = Map::new();
    map.insert("started".into(), text::instant(test.started_wall).into());
    let flags = test.flag.iter().map(|flag| flag.words().to_string());
    let remarks = test.holding().iter().flat_map(|judgement| &judgement.remarks).map(ToString::to_string);
    map.insert("flags".into(), flags.chain(remarks).map(Value::from).collect());
    map
}
