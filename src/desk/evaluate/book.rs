//! What the entries of a book say, as records.

use std::panic::resume_unwind;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use serde_json::{Map, Value};

use super::text;
use crate::book::Id;
use crate::book::entries::Book;
use crate::book::entry::Hash;
use crate::book::register::Register;
use crate::book::visit::{Visit, headings};
use crate::findings::{self, TestFindings};
use crate::handover::{self, FindingsJson, Offsets};
use crate::order;

/// Everything worked out again.
#[derive(Debug, Default)]
pub(super) struct Found {
    /// The findings as a bundle carries them.
    pub(super) json: FindingsJson,
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
        let register = Register::of(book);
        let say = |visit: &Visit| {
            let late: Vec<Hash> = visit.tests.iter().flat_map(|test| test.after_take_over.iter().copied()).collect();
            let said = findings::visit(book, visit);
            let offsets = Offsets::of(book, visit.id);
            let test = |id| visit.tests.iter().find(|test| test.id == id);
            let beside = said.by_start().into_iter().map(|found| {
                let mut map = beside(found);
                map.extend(
                    test(found.test)
                        .map(|test| handover::beside(book, &register, test, found, &offsets))
                        .unwrap_or_default(),
                );
                map
            });
            let beside: Vec<_> = beside.collect();
            (said, late, beside)
        };
        for (said, late, beside) in work_out(book, &visits, thread::available_parallelism().map_or(1, usize::from), say)
        {
            found.json.add(&said);
            found.late.extend(late);
            found.beside.extend(beside);
        }
        found
    }

    /// The records, one for each test and one for each family.
    pub(super) fn records(self) -> impl Iterator<Item = Value> {
        let FindingsJson { tests, families } = self.json;
        let tests = tests.into_iter().zip(self.beside).map(|(test, beside)| record("test", test, beside));
        tests.chain(families.into_iter().map(|family| record("family", family, Map::new())))
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
