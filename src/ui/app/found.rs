//! What visits say, worked out in slices so that no tap waits for it, and kept until something is written to them.

use super::App;
use crate::book::Id;
use crate::book::entry::Scope;
use crate::book::log::Book;
use crate::book::visit::Visit;
use crate::browser::{clock, next_task};
use crate::findings::{VisitFindings, Working};
use leptos::prelude::*;
use std::collections::BTreeMap;
use std::sync::Arc;

/// How long a slice takes at most, ms: with what else a frame does it stays well below 50.
const SLICE_MS: i64 = 12;
/// The first one stands in the task of the tap.
const FIRST_MS: i64 = 8;
/// Tests between two looks at the clock, each of which takes a third of a test.
const TESTS: usize = 8;

/// How many entries a visit and the kit have: what a visit says follows from these alone, and none is ever taken away.
type State = (usize, usize);

/// What is worked out and what is being worked out.
#[derive(Debug, Default)]
pub(super) struct Kept {
    found: BTreeMap<Id, (State, Arc<VisitFindings>)>,
    working: Option<Id>,
}

fn state(book: &Book, visit: Id) -> State {
    (book.count(Scope::Visit(visit)), book.count(Scope::Kit))
}

impl App {
    /// What a visit says; nothing while that is being worked out, and whoever asked is told when it is there.
    pub fn found(self, visit: Id) -> Option<Arc<VisitFindings>> {
        self.track_visits();
        self.track_kit();
        self.found_seen.track();
        self.kept_of(visit).or_else(|| self.find(visit))
    }

    fn kept_of(self, visit: Id) -> Option<Arc<VisitFindings>> {
        let now = self.book.with_untracked(|book| state(book, visit));
        self.kept.with_value(|kept| {
            kept.found.get(&visit).filter(|(state, _)| *state == now).map(|(_, found)| Arc::clone(found))
        })
    }

    /// Works out the first slice at once, so that a small visit needs no second one.
    fn find(self, id: Id) -> Option<Arc<VisitFindings>> {
        // Whoever is being worked out now asks again when it is done, and so do the others.
        if self.kept.with_value(|kept| kept.working.is_some()) {
            return None;
        }
        let mut work = self.begin(id)?;
        if self.slice(&mut work, FIRST_MS) {
            return Some(self.keep_found(work));
        }
        self.kept.update_value(|kept| kept.working = Some(id));
        leptos::task::spawn_local(async move {
            next_task().await;
            while !self.slice(&mut work, SLICE_MS) && self.is_current(&work) {
                next_task().await;
            }
            // Putting them side by side is a slice of its own, and so is what is drawn of it.
            next_task().await;
            if self.is_current(&work) {
                self.keep_found(work);
            }
            next_task().await;
            self.kept.update_value(|kept| kept.working = None);
            self.found_seen.update(|seen| *seen += 1);
        });
        None
    }

    fn begin(self, id: Id) -> Option<Work> {
        let shown = self.visit.with_untracked(|visit| visit.as_ref().filter(|visit| visit.id == id).cloned());
        self.book.with_untracked(|book| {
            let visit = shown.or_else(|| Visit::of(book, id))?;
            Some(Work { state: state(book, id), visit, working: Working::default() })
        })
    }

    /// Goes on for a while; true when every test is worked out.
    fn slice(self, work: &mut Work, ms: i64) -> bool {
        let until = clock::now().mono_ms.saturating_add(ms);
        self.book.with_untracked(|book| {
            loop {
                for _ in 0..TESTS {
                    if !work.working.next_test(book, &work.visit) {
                        return true;
                    }
                }
                if clock::now().mono_ms >= until {
                    return false;
                }
            }
        })
    }

    /// Whether nothing was written to the visit since.
    fn is_current(self, work: &Work) -> bool {
        self.book.with_untracked(|book| state(book, work.visit.id)) == work.state
    }

    fn keep_found(self, work: Work) -> Arc<VisitFindings> {
        let found = Arc::new(work.working.whole(&work.visit));
        let kept = (work.state, Arc::clone(&found));
        self.kept.update_value(|of| drop(of.found.insert(work.visit.id, kept)));
        found
    }
}

struct Work {
    state: State,
    visit: Visit,
    working: Working,
}
