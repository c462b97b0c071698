//! Does in the browser what the session says is to be done.

use super::App;
use crate::book::entries::Attachment;
use crate::book::entry::Hash;
use crate::browser::settings;
use crate::browser::store::Store;
use crate::session::{Effect, Session, attachment_of};
use leptos::prelude::*;
use std::time::Duration;

impl App {
    pub(super) fn perform(self, effect: Effect) {
        match effect {
            // Begun in the tap's own task, before anything is drawn.
            Effect::Append(batch) => self.with_store(|store| store.append(batch)),
            Effect::KeepCopies(records) => self.with_store(|store| store.keep_copies(&records)),
            // What cannot be removed stays, and costs only room.
            Effect::ForgetCopies(scope) => self.with_store(|store| drop(store.forget_copies(&scope))),
            Effect::Put(setting, text) => {
                if let Err(why) = settings::set(setting.key(), &text) {
                    self.change(|session| session.not_put(setting, &why.to_string()));
                }
            }
            Effect::KeepDraft { form, text } => self.store_draft(form, text),
            Effect::Erase(hash) => self.erase(hash),
            // Only what came later begins these.
            Effect::KeepFile { .. } | Effect::Deliver(_) | Effect::DeliverIn(_) | Effect::KeepReceipt(_) => {
                if let Some(later) = self.later.get_untracked().table() {
                    (later.deliver)(self, effect);
                }
            }
            Effect::Go(place) => self.go(place),
            Effect::ForgetOffer(entry) => {
                let forget = move || self.change(|session| session.forget_offer(entry));
                set_timeout(forget, Duration::from_millis(Session::OFFERED_MS.into()));
            }
        }
    }

    fn with_store(self, act: impl FnOnce(&Store)) {
        // A handle of its own: what the store tells at once changes the session again.
        if let Ok(store) = self.store() {
            act(&store);
        }
    }

    /// The store, once the data is open.
    pub(super) fn store(self) -> Result<Store, String> {
        self.store.with_value(Option::clone).ok_or_else(|| "the database is not open".into())
    }

    fn erase(self, hash: Hash) {
        let Ok(store) = self.store() else { return };
        leptos::task::spawn_local(async move {
            if let Err(why) = store.erase_attachment(&hash.to_string()).await {
                self.change(|session| session.not_erased(hash, &why.to_string()));
            }
        });
    }

    /// An attachment as it is stored; none where it is not here.
    pub(in crate::ui) async fn attachment(self, hash: Hash) -> Option<Attachment> {
        attachment_of(self.store().ok()?.attachment(&hash.to_string()).await.ok()??)
    }

    fn store_draft(self, form: String, text: Option<String>) {
        let Ok(store) = self.store() else { return };
        leptos::task::spawn_local(async move {
            let kept = match text {
                Some(text) => store.keep_draft(&form, &text).await,
                None => store.forget_draft(&form).await,
            };
            if let Err(why) = kept {
                self.change(|session| session.report(format!("The draft couldn't be saved: {why}.")));
            }
        });
    }
}
