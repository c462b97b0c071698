//! A start: what was read before the first screen becomes a book, and the screen is put there; closed visits can wait.

use super::records::attachment_of;
use super::{Effect, Session, Stage};
use crate::book::Id;
use crate::book::entries::{Book, Scrap};
use crate::book::entry::{Entry, Scope, Unreadable};
use crate::book::visit::{Visit, headings};
use crate::order;
use crate::storage::{Attachments, Found, Record, Settled, Trouble};
use crate::view::route::Route;

/// What was read before the first screen.
#[derive(Debug)]
pub struct Loaded {
    /// This installation.
    pub phone: Id,
    /// Why its id could not be kept.
    pub phone_not_kept: Option<Trouble>,
    /// A new id for the session.
    pub session: Id,
    /// The records.
    pub found: Found,
    /// The attachments, or why they could not be read.
    pub attachments: Result<Attachments, Trouble>,
    /// Half-filled forms by name, or why they could not be read.
    pub drafts: Result<Vec<(String, String)>, Trouble>,
    /// What was left for later.
    pub settled: Settled,
    /// Whether the address names no place.
    pub plain: bool,
}

impl Session {
    /// The visit on screen, which a start reads whether it is over or not.
    pub fn shown(&self) -> Option<String> {
        self.prefs.visit.map(|visit| Scope::Visit(visit).to_string())
    }

    /// Takes in what was read before the first screen. Records of a test version are left alone until somebody has said what is to
    /// become of them: then nothing else is read, written or cleared.
    pub fn loaded(&mut self, loaded: Loaded) {
        if let Some(why) = loaded.phone_not_kept {
            self.report(format!("This phone's id couldn't be saved: {why}."));
        }
        // Without a part of it, what is here passes for no whole.
        self.unread = loaded.found.trouble.is_some() || loaded.attachments.is_err();
        if let Some(why) = loaded.found.trouble.or(loaded.found.copy_trouble) {
            self.report(format!("Not all data could be read: {why}."));
        }
        let mut book = Book::default();
        let unreleased = |record: &&Record| take(&mut book, record) == Some(Unreadable::Unreleased);
        let old = loaded.found.records.iter().filter(unreleased).count();
        match loaded.attachments {
            Ok(Attachments { read, pictures }) => {
                read.into_iter().filter_map(attachment_of).for_each(|found| book.attach(found));
                pictures.iter().filter_map(|hash| hash.parse().ok()).for_each(|hash| book.attach_elsewhere(hash));
            }
            Err(why) => self.report(format!("Names and notes could not be read: {why}.")),
        }
        match loaded.drafts {
            Ok(drafts) => self.drafts = order::map(drafts),
            Err(why) => self.report(format!("Drafts could not be read: {why}.")),
        }
        (self.phone, self.id) = (loaded.phone, loaded.session);
        if old > 0 {
            self.stage = Stage::OldRecords;
            return;
        }
        (self.book, self.settled) = (book, loaded.settled);
        self.follow_kit();
        self.take_up_test(loaded.plain);
        self.stage = Stage::Ready;
    }

    /// Puts the visit with this phone's test on screen, and at a plain start the test itself, or the profile run it takes: the settings
    /// that name the visit are written later than the entries, so a browser that is killed can lose them.
    fn take_up_test(&mut self, plain: bool) {
        let goes_on = |id: Id| {
            let visit = Visit::shared(&self.book, id)?;
            visit.active().any(|test| test.kept_by(self.phone)).then_some(id)
        };
        let shown = self.prefs.visit.and_then(goes_on);
        let open = || headings(&self.book).into_iter().filter(|heading| !heading.closed);
        let place = match shown.or_else(|| open().find_map(|heading| goes_on(heading.id))) {
            Some(found) => {
                if shown.is_none() {
                    self.prefer(|prefs| prefs.visit = Some(found));
                }
                Some(Route::Test(None))
            }
            None => self.profiling.map(Route::ProfileRun),
        };
        self.effects.extend(place.filter(|_| plain).map(Effect::Go));
    }

    /// Takes in a slice of what was left for later.
    pub fn read_more(&mut self, records: &[Record]) {
        for record in records {
            take(&mut self.book, record);
        }
        self.follow_kit();
    }

    /// Which of these second copies the book lacks, taken in.
    pub fn lacking(&mut self, copies: Vec<Record>) -> Vec<Record> {
        let known = |copy: &Record| copy.hash.parse().is_ok_and(|hash| self.book.get(hash).is_some());
        let missing: Vec<Record> = copies.into_iter().filter(|copy| !known(copy)).collect();
        self.read_more(&missing);
        missing
    }
}

/// Adds a record to the book. A text that is no entry is kept where it can be seen, and why it is none is returned.
fn take(book: &mut Book, record: &Record) -> Option<Unreadable> {
    match Entry::read(&record.text) {
        Ok(entry) => {
            book.apply(entry);
            None
        }
        Err(why) => {
            book.keep_scrap(Scrap { text: record.text.clone(), why: why.to_string() });
            Some(why)
        }
    }
}
