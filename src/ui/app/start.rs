//! What a start reads before the first screen, and what it reads after it: closed rounds can wait.

use super::{App, record_of, take};
use crate::book::entry::{Entry, Scope};
use crate::book::round::{Heading, Round, headings};
use crate::browser::store::{Found, Record, Store};
use crate::browser::{next_task, settings};
use crate::encoding::stored;
use crate::order;
use crate::view::handover::{HandedOver, is_handed_over};
use leptos::prelude::*;
use std::collections::BTreeSet;

/// Setting with the scopes of rounds that were over when they were last looked at. It only says what can be read later, so
/// that losing it costs time and no more.
const OVER: &str = "over";
/// Setting with what has left the phone.
const HANDED_OVER: &str = "handed-over";
/// Entries read in one task: some 10 ms on a slow phone.
const SLICE: usize = 100;

impl App {
    /// Reads the register, the kit and the open rounds; gives what else is to be read.
    pub(super) async fn read_first(self, store: &Store) -> (Found, Vec<String>) {
        let over = over();
        let shown = self.prefs.with_untracked(|prefs| prefs.round).map(|round| Scope::Round(round).to_string());
        // A database that cannot be asked for its scopes is read whole, or says why not.
        let Ok(scopes) = store.scopes().await else { return (store.start(None).await, Vec::new()) };
        let (mut first, mut later) = (Vec::new(), Vec::new());
        for scope in scopes {
            let waits = over.contains(&scope) && shown.as_ref() != Some(&scope);
            if waits { &mut later } else { &mut first }.push(scope);
        }
        (store.start(Some(&first)).await, later)
    }

    /// Reads the rest, a slice at a time, so that no tap waits for it.
    pub(super) async fn read_later(self, store: Store, later: Vec<String>) {
        let mut whole = true;
        for scope in &later {
            match store.read(Some(std::slice::from_ref(scope))).await {
                Ok(records) => {
                    for slice in records.chunks(SLICE) {
                        self.book.update_untracked(|book| slice.iter().for_each(|record| take(book, record)));
                        next_task().await;
                    }
                }
                Err(why) => {
                    whole = false;
                    self.trouble.set(Some(format!("Not all data could be read: {why}. Start the app again.")));
                }
            }
        }
        // A bundle made of a part would pass for the whole.
        self.all_here.set(whole);
        self.seen();
        self.note_over(later, &store);
    }

    /// Notes which rounds are over, and gives up the second copies of those that have also been handed over.
    fn note_over(self, later: Vec<String>, store: &Store) {
        let phone = self.phone();
        let handed = handed_over();
        let mut over = order::set(later);
        self.book.with_untracked(|book| {
            for Heading { id, .. } in headings(book).into_iter().filter(|heading| heading.closed) {
                let scope = Scope::Round(id).to_string();
                if !over.contains(&scope) && Round::of(book, id).is_some_and(|round| round.over()) {
                    over.insert(scope.clone());
                }
                if over.contains(&scope) && is_handed_over(book, &handed, phone, id) {
                    // What cannot be removed stays, and costs only room.
                    drop(store.forget_copies(&scope));
                }
            }
        });
        keep_over(&over);
    }

    /// A round that something is written to is no longer over.
    pub(super) fn not_over(self, entries: &[Entry]) {
        let mut over = over();
        if entries.iter().fold(false, |any, entry| over.remove(&entry.chain.scope.to_string()) | any) {
            keep_over(&over);
        }
    }

    pub(super) fn keep_copies_of_open_rounds(self) {
        let records: Vec<Record> = self.book.with_untracked(|book| {
            let open = headings(book).into_iter().filter(|heading| !heading.closed);
            open.flat_map(|round| book.scope(Scope::Round(round.id)).map(record_of).collect::<Vec<_>>()).collect()
        });
        self.keep.with_value(|keep| {
            if let Some(keep) = keep {
                keep.store.keep_copies(&records);
            }
        });
    }
}

fn over() -> BTreeSet<String> {
    let kept = settings::get(OVER).ok().flatten().unwrap_or_default();
    order::set(kept.lines().map(ToString::to_string))
}

fn keep_over(over: &BTreeSet<String>) {
    let lines: Vec<&str> = over.iter().map(String::as_str).collect();
    // Without it the next start reads everything first.
    drop(settings::set(OVER, &lines.join("\n")));
}

/// What has left the phone.
pub fn handed_over() -> HandedOver {
    let kept = settings::get(HANDED_OVER).ok().flatten();
    kept.and_then(|text| stored::read(&text)).unwrap_or_default()
}

/// Keeps what has left the phone.
///
/// # Errors
/// What the browser said.
pub fn keep_handed_over(handed: &HandedOver) -> Result<(), String> {
    settings::set(HANDED_OVER, &stored::write(handed)).map_err(|why| why.to_string())
}
