//! What can be taken back for a while after it was done: an undo that is put back, the end of a test.

use super::App;
use crate::book::command::Command;
use crate::book::entry::Hash;
use crate::book::refusal::Refusal;
use crate::browser::clock;
use leptos::prelude::*;
use std::time::Duration;

/// How long it is offered.
const OFFERED: Duration = Duration::from_secs(10);

/// Something done that can be taken back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Offer {
    /// The entry to undo.
    entry: Hash,
    /// What was done, with the tag.
    pub name: String,
    /// Whether it was an undo, which is put back.
    pub was_undo: bool,
}

impl App {
    /// Undoes the decision of an entry and offers to put it back.
    ///
    /// # Errors
    /// When a rule says no; it is shown.
    pub fn undo(self, target: Hash, name: String) -> Result<(), Refusal> {
        let undone = self.decide_and_write(clock::now(), Command::Undo { target }, Vec::new());
        let done = self.tell(undone)?;
        if let Some(entry) = done.first() {
            self.offer_back(entry.hash, name, true);
        }
        Ok(())
    }

    /// Offers for a while to take an entry back.
    pub fn offer_back(self, entry: Hash, name: String, was_undo: bool) {
        self.offer.set(Some(Offer { entry, name, was_undo }));
        let is_this = move |offer: &Option<Offer>| offer.as_ref().is_some_and(|offer| offer.entry == entry);
        let forget = move || {
            if self.offer.with_untracked(is_this) {
                self.offer.set(None);
            }
        };
        set_timeout(forget, OFFERED);
    }

    /// Takes back what is offered.
    pub fn take_back(self) {
        if let Some(offer) = self.offer.get_untracked() {
            self.offer.set(None);
            drop(self.act(clock::now(), Command::Undo { target: offer.entry }));
        }
    }
}
