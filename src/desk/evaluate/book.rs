//! What the entries of a book say, as records.

use std::panic::resume_unwind;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use serde_json::{Map, Value};

use super::text;
use crate::book::Id;
use crate::book::entry::Hash;
use crate::book::log::Book;
use crate::book::round::{Round, headings};
use crate::findings::{self, RunFindings};
use crate::handover::FindingsJson;
use crate::order;

/// Everything worked out again.
#[derive(Debug, Default)]
pub(super) struct Found {
    /// The findings as a bundle carries them.
    pub(super) json: FindingsJson,
    /// What is told beside, run by run.
    beside: Vec<Map<String, Value>>,
    /// Entries about runs that another phone kept.
    pub(super) late: Vec<Hash>,
}

impl Found {
    /// Works out every round of a book, oldest first, its runs by start.
    pub(super) fn of(book: &Book) -> Found {
        let rounds: Vec<Id> = headings(book).into_iter().rev().map(|heading| heading.id).collect();
        let mut found = Found::default();
        let say = |round: &Round| {
            let late: Vec<Hash> = round.runs.iter().flat_map(|run| run.after_take_over.iter().copied()).collect();
            (findings::round(book, round), late)
        };
        for (said, late) in work_out(book, &rounds, thread::available_parallelism().map_or(1, usize::from), say) {
            found.json.add(&said);
            found.late.extend(late);
            found.beside.extend(said.by_start().into_iter().map(beside));
        }
        found
    }

    /// The records, one for each run and one for each family.
    pub(super) fn records(self) -> impl Iterator<Item = Value> {
        let FindingsJson { runs, families } = self.json;
        let runs = runs.into_iter().zip(self.beside).map(|(run, beside)| record("run", run, beside));
        runs.chain(families.into_iter().map(|family| record("family", family, Map::new())))
    }
}

/// What these rounds say, in their order, worked out on so many threads, of which the one that asks is one.
pub(in crate::desk) fn work_out<T: Send>(
    book: &Book,
    rounds: &[Id],
    threads: usize,
    say: impl Fn(&Round) -> T + Sync,
) -> Vec<T> {
    let next = AtomicUsize::new(0);
    let share = || {
        let mut found = Vec::new();
        loop {
            let place = next.fetch_add(1, Ordering::Relaxed);
            let Some(id) = rounds.get(place) else { return found };
            found.extend(Round::of(book, *id).map(|round| (place, say(&round))));
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

/// What a run says beside the findings that a bundle carries.
fn beside(run: &RunFindings) -> Map<String, Value> {
    let mut map = Map::new();
    map.insert("started".into(), text::instant(run.started_wall).into());
    let flags = run.odd.iter().map(|odd| odd.words().to_string());
    let remarks = run.holding().iter().flat_map(|judgement| &judgement.remarks).map(ToString::to_string);
    map.insert("flags".into(), flags.chain(remarks).map(Value::from).collect());
    map
}
