//! Sends files to the office's folder, as the session says.

use super::{App, handed_over};
use crate::browser::dav::{Folder, NoReply};
use crate::browser::{clock, settings};
use crate::encoding::stored;
use crate::handover::MEDIA;
use crate::handover::delivery::{Answer, Job, Outbox, Parcel, Step, password_for, patience_ms};
use crate::session::{Effect, Session};
use crate::view::handover::note_receipt;
use leptos::prelude::*;
use leptos::task::spawn_local;
use std::fmt;
use std::time::Duration;

/// Where the password is kept where that was asked for.
pub(super) const PASSWORD: &str = "folder-password";

/// A password, which is in no log.
#[derive(Clone, Default, PartialEq, Eq)]
pub struct Secret(String);

impl fmt::Debug for Secret {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Secret")
    }
}

impl Secret {
    /// The password that is kept on this phone, if any.
    pub(super) fn kept() -> Secret {
        Secret(settings::get(PASSWORD).ok().flatten().unwrap_or_default())
    }
}

impl App {
    /// What something says of the outbox; what is drawn follows it.
    pub fn outbox<T>(self, of: impl FnOnce(&Outbox) -> T) -> T {
        self.outbox_revision.track();
        self.session.with_value(|session| of(session.outbox()))
    }

    /// The office's folder, where one is set and its password is known, if it takes one.
    pub fn folder(self) -> Option<Folder> {
        let password = self.password.with_value(|secret| secret.0.clone());
        self.prefs.with_untracked(|prefs| {
            let folder = Folder { address: prefs.folder.clone(), user: prefs.folder_user.clone(), password };
            let known = !folder.address.is_empty() && (folder.user.is_empty() || !folder.password.is_empty());
            known.then_some(folder)
        })
    }

    /// Whether the password is kept on this phone.
    pub fn keeps_password(self) -> bool {
        Secret::kept() != Secret::default()
    }

    /// Sets the office's folder. An empty password leaves the one that is known there.
    pub fn set_folder(self, address: String, user: String, password: String, keep: bool) {
        let known = self.password.with_value(|secret| secret.0.clone());
        let password = self.prefs.with_untracked(|prefs| {
            let was = (prefs.folder.as_str(), prefs.folder_user.as_str());
            password_for(was, (&address, &user), &known, &password).to_string()
        });
        // One password is never kept beside the address of another, whenever the app ends.
        let mut kept = settings::forget(PASSWORD);
        self.prefer(|prefs| (prefs.folder, prefs.folder_user) = (address, user));
        if keep && !password.is_empty() {
            kept = kept.and_then(|()| settings::set(PASSWORD, &password));
        }
        self.password.set_value(Secret(password));
        if let Err(why) = kept {
            self.report(format!("Whether the password is kept couldn't be saved: {why}."));
        }
        self.deliver_again();
    }

    /// Tries everything that is not confirmed.
    pub fn deliver_again(self) {
        let now = clock::now().mono_ms;
        self.change(|session| session.deliver_again(now));
    }

    /// Reads what is kept of the outbox, sends it, and again when the network is back.
    pub(in crate::ui) fn take_up_outbox(self) {
        spawn_local(self.read_outbox());
    }

    /// Does what the session says about files for the office.
    pub(in crate::ui) fn perform_delivery(self, effect: Effect) {
        match effect {
            Effect::KeepFile { parcel, text } => self.keep_file(parcel, text),
            Effect::Deliver(job) => self.deliver(job),
            Effect::DeliverIn(ms) => self.deliver_in(ms),
            Effect::KeepReceipt(parcel) => self.keep_receipt(parcel),
            // Done by `perform` itself.
            _ => {}
        }
    }

    async fn read_outbox(self) {
        let Ok(store) = self.store() else { return };
        match store.outbox().await {
            Ok(kept) => self.change(|session| session.outbox_read(&kept)),
            Err(why) => self.report(format!("What is on its way to the office could not be read: {why}.")),
        }
        self.deliver_again();
        // A page that was asleep hears of no network.
        for event in ["online", "visibilitychange"] {
            let listening = window_event_listener_untyped(event, move |_| {
                let now = clock::now().mono_ms;
                if event == "online" || clock::visible() {
                    self.change(|session| session.online(now));
                }
            });
            // As long as the page.
            std::mem::forget(listening);
        }
    }

    pub(super) fn keep_file(self, parcel: Parcel, text: String) {
        spawn_local(async move {
            let kept = match self.store() {
                Ok(store) => {
                    store.keep_file(&parcel.name, &stored::write(&parcel), &text).await.map_err(|why| why.to_string())
                }
                Err(why) => Err(why),
            };
            let now = clock::now().mono_ms;
            self.change(|session| match kept {
                Ok(()) => session.file_kept(parcel, now),
                Err(why) => session.report(format!("The file for the office couldn't be saved: {why}.")),
            });
        });
    }

    pub(super) fn deliver(self, job: Job) {
        spawn_local(async move {
            let answer = self.ask(&job).await;
            let now = clock::now();
            self.change(|session| session.answered(&job, answer, now.mono_ms, now.wall_ms));
        });
    }

    async fn ask(self, job: &Job) -> Answer {
        let Some(folder) = self.folder() else { return Answer::NoPassword };
        let text = match self.store() {
            Ok(store) => store.file(&job.name).await.ok().flatten(),
            Err(_) => None,
        };
        let Some(text) = text else { return Answer::NotHere };
        let patience = patience_ms(text.len());
        let answer = match job.step {
            Step::Put => folder.make(&job.name, &text, MEDIA, patience).await.map(Answer::Put),
            Step::ReadBack { .. } => {
                let read = folder.read_back(&job.name, &job.digest, patience).await;
                read.map(|(status, same)| Answer::ReadBack(status, same))
            }
        };
        answer.unwrap_or_else(|why| match why {
            NoReply::Redirected => Answer::Redirected,
            NoReply::Nothing(_) => Answer::Nothing,
        })
    }

    pub(super) fn deliver_in(self, ms: i64) {
        let look = move || {
            let now = clock::now().mono_ms;
            self.change(|session: &mut Session| session.look_again(now));
        };
        set_timeout(look, Duration::from_millis(ms.max(0).unsigned_abs()));
    }

    pub(super) fn keep_receipt(self, parcel: Parcel) {
        let mut handed = handed_over();
        note_receipt(&mut handed, &parcel);
        self.keep_handed_over(&handed);
        spawn_local(async move {
            // A receipt that could not be kept is asked for again at the next start.
            if let Ok(store) = self.store() {
                drop(store.keep_receipt(&parcel.name, &stored::write(&parcel)).await);
            }
        });
    }
}
