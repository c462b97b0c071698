//! Visits that are over: the next start reads them after the first screen.

use super::records::record_of;
use super::{Effect, Session, Setting};
use crate::book::Id;
use crate::book::entry::{Entry, Scope};
use crate::book::visit::{Heading, Visit, headings};
use crate::order;
use crate::storage::{Record, Settled};
use crate::view::handover::{HandedOver, is_handed_over};
use std::collections::BTreeSet;

impl Session {
    /// Everything has been read, or why not. Notes which visits are over, and gives up the second copies of those that have also been
    /// handed over.
    pub fn read_all(&mut self, read: Result<(), String>, handed: &HandedOver) {
        let read = if self.unread { Err("the start had to leave a part out".into()) } else { read };
        // A bundle made of a part would pass for the whole.
        self.all_here = read.is_ok();
        match read {
            // Of scopes that are not here nobody can say what lies between them.
            Err(why) => self.report(format!("Not all data could be read: {why}. Restart the app.")),
            Ok(()) => self.note_over(handed),
        }
    }

    /// Whether a visit is over for good, as was noted.
    pub fn is_over(&self, visit: Id) -> bool {
        self.settled.has(&Scope::Visit(visit).to_string())
    }

    fn note_over(&mut self, handed: &HandedOver) {
        let mut over = BTreeSet::new();
        for Heading { id, .. } in headings(&self.book).into_iter().filter(|heading| heading.closed) {
            let scope = Scope::Visit(id).to_string();
            if !self.settled.has(&scope) && !Visit::shared(&self.book, id).is_some_and(|visit| visit.over()) {
                continue;
            }
            if is_handed_over(&self.book, handed, self.phone, id) {
                self.effects.push(Effect::ForgetCopies(scope.clone()));
            }
            over.insert(scope);
        }
        let all = self.scopes().into_iter();
        self.keep_settled(Settled::of(all.map(|scope| (scope.clone(), over.contains(&scope)))));
    }

    /// A visit that something is written to is no longer over.
    pub(super) fn not_over(&mut self, entries: &[Entry]) {
        let scopes = order::set(entries.iter().map(|entry| entry.chain.scope.to_string()));
        if scopes.iter().any(|scope| self.settled.has(scope)) {
            let all = self.all_here.then(|| self.scopes());
            let settled = self.settled.clone();
            self.keep_settled(scopes.iter().fold(settled, |settled, scope| settled.without(scope, all.as_ref())));
        }
    }

    fn keep_settled(&mut self, settled: Settled) {
        if settled != self.settled {
            self.put(Setting::Over, settled.to_string());
            self.settled = settled;
        }
    }

    /// Every scope, in the order of the database.
    fn scopes(&self) -> BTreeSet<String> {
        order::set(self.book.chains().map(|chain| chain.scope.to_string()))
    }

    /// Keeps second copies of the visits that are open.
    pub fn keep_copies_of_open_visits(&mut self) {
        let open = headings(&self.book).into_iter().filter(|heading| !heading.closed);
        let records: Vec<Record> =
            open.flat_map(|visit| self.book.scope(Scope::Visit(visit.id)).map(record_of)).collect();
        self.effects.push(Effect::KeepCopies(records));
    }
}
