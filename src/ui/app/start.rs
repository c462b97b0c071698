//! A start: what it reads before the first screen, what it puts there, and what it reads after it: closed visits can wait.

use super::{App, Keep, Stage, record_of};
use crate::book::Id;
use crate::book::entry::{Entry, Scope, Unreadable};
use crate::book::log::{Attachment, Book, Scrap};
use crate::book::visit::{Heading, Visit, headings};
use crate::browser::store::{self, Batch, Found, Record, Settled, Store};
use crate::browser::trouble::Trouble;
use crate::browser::{after, clock, ids, next_task, persist, settings};
use crate::encoding::stored;
use crate::order;
use crate::ui::address;
use crate::view::handover::{HandedOver, is_handed_over};
use crate::view::place::Place;
use futures_util::future::join4;
use leptos::prelude::*;
use std::collections::BTreeSet;

/// Name of the database.
const STORE: &str = "soakbook";

/// Setting with the stretches of visits that were over when they were last looked at. It only says what can be read later, so
/// that losing it costs time and no more.
const OVER: &str = "over";
/// Setting with what has left the phone.
const HANDED_OVER: &str = "handed-over";
/// Entries read in one task: some 10 ms on a slow phone.
const SLICE: u32 = 100;
/// How long the first screen has the processor for itself, ms.
const FIRST_SCREEN_MS: i32 = 250;

impl App {
    /// Opens the data.
    pub async fn open(self) -> Store {
        let (store, opened) = Store::open(STORE, move |written| self.hear(written)).await;
        if let Err(why) = opened {
            self.trouble.set(Some(format!("The phone's database can't be opened: {why}. Tests in progress are kept as a backup copy; nothing new can start.")));
        }
        store
    }

    /// Reads the data. Called once, by the tab that may write.
    pub async fn read(self, store: Store) {
        let settled = settled();
        // All at once: each by itself waits for an answer of the database.
        let phone = ids::phone(&store, self.now.get_untracked().wall_ms);
        let ((phone, not_kept), found, attachments, drafts) =
            join4(phone, self.read_first(&store, &settled), store.attachments(), store.drafts()).await;
        if let Some(why) = not_kept {
            self.trouble.set(Some(format!("This phone's id couldn't be saved: {why}.")));
        }
        if let Some(why) = found.trouble.or(found.copy_trouble) {
            self.trouble.set(Some(format!("Not all data could be read: {why}.")));
        }
        let mut book = Book::default();
        let old = found.records.iter().filter(|record| take(&mut book, record) == Some(Unreadable::Unreleased)).count();
        match attachments {
            Ok(attachments) => attachments.into_iter().filter_map(attachment_of).for_each(|found| book.attach(found)),
            Err(why) => self.trouble.set(Some(format!("Names and notes could not be read: {why}."))),
        }
        match drafts {
            Ok(drafts) => self.drafts.set(order::map(drafts)),
            Err(why) => self.trouble.set(Some(format!("Drafts could not be read: {why}."))),
        }
        let now = clock::now();
        let keep = Keep {
            phone: Id::try_parse(&phone).unwrap_or_default(),
            session: ids::uuid(now.wall_ms),
            store: store.clone(),
            decisions: 0,
        };
        self.keep.set_value(Some(keep));
        if old > 0 {
            // Nothing is read, written or cleared before somebody has said so.
            self.stage.set(Stage::OldRecords);
            return;
        }
        self.book.set(book);
        self.seen();
        self.take_up_test();
        self.stage.set(Stage::Ready);
        // Nobody waits for the rest on the first screen.
        self.persisted.set(persist::persisted().await);
        self.keep_copies_of_open_visits();
        self.read_later(store, settled, found.copies_later).await;
    }

    /// Everything the phone holds, a record or an attachment a line, as it is kept.
    ///
    /// # Errors
    /// What the store said.
    pub async fn raw_records(self) -> Result<String, String> {
        let Some(store) = self.store() else { return Err("the database is not open".into()) };
        let records = store.read(None).await.map_err(|why| why.to_string())?;
        let attachments = store.attachments().await.map_err(|why| why.to_string())?;
        let line = |attachment: store::Attachment| {
            let hex = |bytes: &[u8]| bytes.iter().map(|byte| format!("{byte:02x}")).collect::<String>();
            format!(
                "{{\"attachment\":\"{}\",\"salt\":\"{}\",\"media\":\"{}\",\"bytes\":\"{}\"}}",
                attachment.hash,
                hex(&attachment.salt),
                attachment.media,
                hex(&attachment.bytes)
            )
        };
        let lines = records.into_iter().map(|record| record.text).chain(attachments.into_iter().map(line));
        Ok(lines.fold(String::new(), |all, line| all + &line + "\n"))
    }

    /// Clears what a test version left, and starts anew.
    ///
    /// # Errors
    /// What the store said.
    pub async fn clear_old_records(self) -> Result<(), String> {
        let Some(store) = self.store() else { return Err("the database is not open".into()) };
        store.erase().await.map_err(|why| why.to_string())?;
        for setting in [OVER, HANDED_OVER] {
            // What they say is of what is gone; one that stays says nothing of what comes.
            drop(settings::forget(setting));
        }
        Ok(())
    }

    fn take_all(self, records: &[Record]) {
        self.book.update_untracked(|book| {
            for record in records {
                take(book, record);
            }
        });
    }

    fn store(self) -> Option<Store> {
        self.keep.with_value(|keep| keep.as_ref().map(|keep| keep.store.clone()))
    }

    /// Puts the visit with this phone's test on screen, and at a plain start the test itself, or the profile run it takes: the settings
    /// that name the visit are written later than the entries, so a browser that is killed can lose them.
    fn take_up_test(self) {
        let phone = self.phone();
        let goes_on = |visit: &Visit| visit.active().any(|test| test.kept_by(phone));
        if !self.visit.with_untracked(|visit| visit.as_ref().is_some_and(goes_on)) {
            let found = self.book.with_untracked(|book| {
                let open = headings(book).into_iter().filter(|heading| !heading.closed);
                open.filter_map(|heading| Visit::of(book, heading.id)).find(goes_on)
            });
            let Some(found) = found else {
                if let (Some(heater), true) = (self.profiling.get_untracked(), address().is_empty()) {
                    self.go(Place::ProfileRun(heater));
                }
                return;
            };
            self.prefer(|prefs| prefs.visit = Some(found.id));
        }
        if address().is_empty() {
            self.go(Place::Test(None));
        }
    }

    /// Reads the register, the kit and the open visits.
    async fn read_first(self, store: &Store, settled: &Settled) -> Found {
        let shown = self.prefs.with_untracked(|prefs| prefs.visit).map(|visit| Scope::Visit(visit).to_string());
        store.start(settled, shown.as_deref()).await
    }

    /// Reads the rest, a slice at a time, so that no tap waits for it.
    async fn read_later(self, store: Store, settled: Settled, copies: Vec<Record>) {
        after(FIRST_SCREEN_MS).await;
        let read = self.read_settled(&store, &settled, copies).await;
        if let Err(why) = &read {
            self.trouble.set(Some(format!("Not all data could be read: {why}. Restart the app.")));
        }
        // A bundle made of a part would pass for the whole.
        self.all_here.set(read.is_ok());
        self.seen();
        // Of scopes that are not here nobody can say what lies between them.
        if read.is_ok() {
            self.note_over(&settled, &store);
        }
    }

    async fn read_settled(self, store: &Store, settled: &Settled, copies: Vec<Record>) -> Result<(), Trouble> {
        for stretch in settled.stretches() {
            let mut behind = None;
            loop {
                let (records, more) = store.page(stretch, behind, SLICE).await?;
                self.take_all(&records);
                behind = more;
                if behind.is_none() {
                    break;
                }
                next_task().await;
            }
        }
        let known = |copy: &Record| {
            copy.hash.parse().is_ok_and(|hash| self.book.with_untracked(|book| book.get(hash).is_some()))
        };
        let missing: Vec<Record> = copies.into_iter().filter(|copy| !known(copy)).collect();
        if !missing.is_empty() {
            self.take_all(&missing);
            store.import(Batch { records: missing, attachments: Vec::new() }).await?;
        }
        Ok(())
    }

    /// Notes which visits are over, and gives up the second copies of those that have also been handed over.
    fn note_over(self, settled: &Settled, store: &Store) {
        let phone = self.phone();
        let handed = handed_over();
        let mut over = BTreeSet::new();
        self.book.with_untracked(|book| {
            for Heading { id, .. } in headings(book).into_iter().filter(|heading| heading.closed) {
                let scope = Scope::Visit(id).to_string();
                if !settled.has(&scope) && !Visit::of(book, id).is_some_and(|visit| visit.over()) {
                    continue;
                }
                if is_handed_over(book, &handed, phone, id) {
                    // What cannot be removed stays, and costs only room.
                    drop(store.forget_copies(&scope));
                }
                over.insert(scope);
            }
        });
        let all = self.scopes().into_iter();
        keep_settled(&Settled::of(all.map(|scope| (scope.clone(), over.contains(&scope)))));
    }

    /// A visit that something is written to is no longer over.
    pub(super) fn not_over(self, entries: &[Entry]) {
        let settled = settled();
        let scopes = order::set(entries.iter().map(|entry| entry.chain.scope.to_string()));
        if scopes.iter().any(|scope| settled.has(scope)) {
            let all = self.all_here.get_untracked().then(|| self.scopes());
            let apart = scopes.iter().fold(settled, |settled, scope| settled.without(scope, all.as_ref()));
            keep_settled(&apart);
        }
    }

    /// Every scope, in the order of the database.
    fn scopes(self) -> BTreeSet<String> {
        self.book.with_untracked(|book| order::set(book.chains().map(|chain| chain.scope.to_string())))
    }

    fn keep_copies_of_open_visits(self) {
        let records: Vec<Record> = self.book.with_untracked(|book| {
            let open = headings(book).into_iter().filter(|heading| !heading.closed);
            open.flat_map(|visit| book.scope(Scope::Visit(visit.id)).map(record_of).collect::<Vec<_>>()).collect()
        });
        self.keep.with_value(|keep| {
            if let Some(keep) = keep {
                keep.store.keep_copies(&records);
            }
        });
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

fn attachment_of(stored: store::Attachment) -> Option<Attachment> {
    let salt = stored.salt.try_into().ok()?;
    Some(Attachment { salt, media: stored.media, bytes: stored.bytes })
}

/// What was over when it was last looked at.
fn settled() -> Settled {
    Settled::read(&settings::get(OVER).ok().flatten().unwrap_or_default())
}

fn keep_settled(settled: &Settled) {
    // Without it the next start reads everything first.
    drop(settings::set(OVER, &settled.to_string()));
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
