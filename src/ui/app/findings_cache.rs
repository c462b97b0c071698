//! What visits say, worked out in slices so that no tap waits for it, and kept until something is written to them.

use super::App;
use crate::book::Id;
use crate::book::entries::{Book, Part};
use crate::book::visit::Visit;
use crate::browser::{clock, next_task};
use crate::findings::history::{Done, of_position};
use crate::findings::{Estimates, VisitFindings, Working};
use leptos::prelude::*;
use std::collections::BTreeMap;
use std::sync::Arc;

/// How long a slice takes at most, ms: with what else a frame does it stays well below 50.
const SLICE_MS: i64 = 12;
/// The first one stands in the task of the tap.
const FIRST_MS: i64 = 8;
/// Tests between two looks at the clock, each of which takes a third of a test.
const TESTS: usize = 8;

/// What a visit says, where it is worked out.
pub(in crate::ui) type Found = Option<Arc<VisitFindings>>;

/// The revisions of a visit and of the kit: what a visit says follows from these alone.
type State = (u64, u64);

/// A position, with the revisions of visits and kit.
type PastState = (Id, u64, u64);

/// What is worked out and what is being worked out.
#[derive(Debug, Default)]
pub(super) struct Kept {
    found: BTreeMap<Id, (State, Arc<VisitFindings>)>,
    working: Option<Id>,
    /// The position looked at last, with the revisions of visits and kit.
    past: Option<(PastState, Arc<Vec<Done>>)>,
}

fn state(book: &Book, visit: Id) -> State {
    (book.revision(Part::Visit(visit)), book.revision(Part::Kit))
}

impl App {
    /// What a visit says; nothing while that is being worked out, and whoever asked is told when it is there.
    pub fn found(self, visit: Id) -> Found {
        self.track_visits();
        self.track_kit();
        self.worked_out.track();
        self.kept_of(visit).or_else(|| (self.later.get().table()?.find)(self, visit))
    }

    /// What was done at a position in all visits, in the order of time.
    pub fn past(self, position: Id) -> Arc<Vec<Done>> {
        self.track_visits();
        self.track_kit();
        let state = self.book.with_untracked(|book| (position, book.revision(Part::Visits), book.revision(Part::Kit)));
        let kept = self
            .kept
            .with_value(|kept| kept.past.as_ref().filter(|(of, _)| *of == state).map(|(_, past)| Arc::clone(past)));
        kept.unwrap_or_else(|| {
            let past = Arc::new(self.book.with_untracked(|book| of_position(book, position)));
            self.kept.update_value(|kept| kept.past = Some((state, Arc::clone(&past))));
            past
        })
    }

    /// Has everyone who asked look again in the next task.
    pub(super) fn look_again(self) {
        leptos::task::spawn_local(async move {
            next_task().await;
            self.worked_out.update(|count| *count += 1);
        });
    }

    fn kept_of(self, visit: Id) -> Option<Arc<VisitFindings>> {
        let now = self.book.with_untracked(|book| state(book, visit));
        self.kept.with_value(|kept| {
            kept.found.get(&visit).filter(|(state, _)| *state == now).map(|(_, found)| Arc::clone(found))
        })
    }

    /// Works out the first slice at once, so that a small visit needs no second one.
    pub(in crate::ui) fn find(self, id: Id) -> Found {
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
            // In this order: a slice of a visit that has changed since would be kept with the rest.
            while self.is_current(&work) && !self.slice(&mut work, SLICE_MS) {
                next_task().await;
            }
            // Putting them side by side is a slice of its own, and so is what is drawn of it.
            next_task().await;
            if self.is_current(&work) {
                self.keep_found(work);
            }
            next_task().await;
            self.kept.update_value(|kept| kept.working = None);
            self.worked_out.update(|count| *count += 1);
        });
        None
    }

    fn begin(self, id: Id) -> Option<Work> {
        self.book.with_untracked(|book| {
            let visit = Visit::shared(book, id)?;
            Some(Work { state: state(book, id), visit, working: Working::default() })
        })
    }

    /// Goes on for a while; true when every test is worked out.
    fn slice(self, work: &mut Work, ms: i64) -> bool {
        let until = clock::now().mono_ms.saturating_add(ms);
        let mut go_on = |book: &Book, estimates: &mut Estimates| {
            loop {
                for _ in 0..TESTS {
                    if !work.working.next_test(book, &work.visit, estimates) {
                        return true;
                    }
                }
                if clock::now().mono_ms >= until {
                    return false;
                }
            }
        };
        let mut whole = false;
        self.estimates.update_value(|estimates| whole = self.book.with_untracked(|book| go_on(book, estimates)));
        whole
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
    visit: Arc<Visit>,
    working: Working,
}
