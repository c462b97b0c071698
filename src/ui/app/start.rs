//! A start: reads what the first screen needs, and the rest after it.

use super::App;
use super::deliver::PASSWORD;
use crate::book::Id;
use crate::browser::store::{self, Batch, Record, Settled, Store};
use crate::browser::trouble::Trouble;
use crate::browser::{after, clock, ids, next_task, persist, settings};
use crate::encoding::{stored, to_hex};
use crate::session::{Loaded, Session, Setting, Stage};
use crate::ui::later::Arrival;
use crate::ui::{address, later};
use crate::view::handover::HandedOver;
use futures_util::future::join4;
use leptos::prelude::*;

/// Name of the database.
const STORE: &str = "soakbook";

/// Entries read in one task: some 10 ms on a slow phone.
const SLICE: u32 = 100;
/// How long the first screen has the processor for itself, ms.
const FIRST_SCREEN_MS: i32 = 250;

impl App {
    /// Opens the data.
    pub async fn open(self) -> Store {
        let hear = move |written| self.change(|session| session.written(written));
        let (store, opened) = Store::open(STORE, hear).await;
        if let Err(why) = opened {
            self.report(format!("The phone's database can't be opened: {why}. Tests in progress are kept as a backup copy; nothing new can start."));
        }
        store
    }

    /// Reads the data. Called once, by the tab that may write.
    pub async fn read(self, store: Store) {
        let settled = Settled::read(&kept(Setting::Over).unwrap_or_default());
        let shown = self.session.with_value(Session::shown);
        // All at once: each by itself waits for an answer of the database.
        let phone = ids::phone(&store, self.now.get_untracked().wall_ms);
        let read_first = store.start(&settled, shown.as_deref());
        let ((phone, phone_not_kept), mut found, attachments, drafts) =
            join4(phone, read_first, store.attachments(), store.drafts()).await;
        let copies = std::mem::take(&mut found.copies_later);
        self.store.set_value(Some(store.clone()));
        let loaded = Loaded {
            phone: Id::try_parse(&phone).unwrap_or_default(),
            phone_not_kept,
            session: ids::uuid(clock::now().wall_ms),
            found,
            attachments,
            drafts,
            settled: settled.clone(),
            plain: address().is_empty(),
        };
        self.change(|session| session.loaded(loaded));
        let ready = self.session.with_value(Session::stage) == Stage::Ready;
        leptos::task::spawn_local(async move {
            // Compiling it takes the processor that draws the first screen, unless that is a screen of the later part.
            if ready && self.place.with_untracked(later::is_first) {
                after(FIRST_SCREEN_MS).await;
            }
            later::fetch(self).await;
        });
        if !ready {
            return;
        }
        // Nobody waits for the rest on the first screen.
        let persisted = persist::persisted().await;
        self.change(|session| {
            session.promised(persisted);
            session.keep_copies_of_open_visits();
        });
        after(FIRST_SCREEN_MS).await;
        let read = self.read_settled(&store, &settled, copies).await.map_err(|why| why.to_string());
        self.change(|session| session.read_all(read, &handed_over()));
    }

    /// Reads the rest, a slice at a time, so that no tap waits for it. Nothing is drawn between the slices.
    async fn read_settled(self, store: &Store, settled: &Settled, copies: Vec<Record>) -> Result<(), Trouble> {
        for stretch in settled.stretches() {
            let mut behind = None;
            loop {
                let (records, more) = store.page(stretch, behind, SLICE).await?;
                self.session.update_value(|session| session.read_more(&records));
                behind = more;
                if behind.is_none() {
                    break;
                }
                next_task().await;
            }
        }
        let mut missing = Vec::new();
        self.session.update_value(|session| missing = session.lacking(copies));
        if !missing.is_empty() {
            store.import(Batch { records: missing, attachments: Vec::new() }).await?;
        }
        Ok(())
    }

    /// The later part is here: what it begins lives as long as the page, and everyone who waited looks again.
    pub(in crate::ui) fn later_came(self, later: &'static later::Later) {
        if let Some(owner) = self.owner.get_value() {
            owner.with(|| (later.begin)(self));
        }
        self.later.set(Arrival::Here(later));
    }

    /// Shows a trouble with the data.
    pub(in crate::ui) fn report(self, trouble: String) {
        self.change(|session| session.report(trouble));
    }

    /// Asks the browser to keep the data. To be called in a tap, because some browsers ask the person then.
    pub(in crate::ui) fn ask_to_keep(self) {
        leptos::task::spawn_local(async move {
            let persisted = persist::persist().await;
            self.change(|session| session.promised(persisted));
        });
    }

    /// Keeps what has left the phone.
    pub fn keep_handed_over(self, handed: &HandedOver) {
        self.change(|session| session.hand_over(handed));
    }

    /// Everything the phone holds, a record or an attachment a line, as it is kept.
    ///
    /// # Errors
    /// What the store said.
    pub async fn raw_records(self) -> Result<String, String> {
        let store = self.store()?;
        let records = store.read(None).await.map_err(|why| why.to_string())?;
        let kept = store.attachments().await.map_err(|why| why.to_string())?;
        let mut attachments = kept.read;
        for picture in kept.pictures {
            attachments.extend(store.attachment(&picture).await.map_err(|why| why.to_string())?);
        }
        let line = |attachment: store::Attachment| {
            format!(
                "{{\"attachment\":\"{}\",\"salt\":\"{}\",\"media\":\"{}\",\"bytes\":\"{}\"}}",
                attachment.hash,
                to_hex(&attachment.salt),
                attachment.media,
                to_hex(&attachment.bytes)
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
        self.store()?.erase().await.map_err(|why| why.to_string())?;
        let of_it = [Setting::Over, Setting::HandedOver, Setting::Fetched].map(Setting::key);
        for key in of_it.into_iter().chain([PASSWORD]) {
            // What they say is of what is gone; one that stays says nothing of what comes.
            drop(settings::forget(key));
        }
        Ok(())
    }
}

fn kept(setting: Setting) -> Option<String> {
    settings::get(setting.key()).ok().flatten()
}

/// What has left the phone.
pub fn handed_over() -> HandedOver {
    kept(Setting::HandedOver).and_then(|text| stored::read(&text)).unwrap_or_default()
}
