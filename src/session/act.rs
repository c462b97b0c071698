//! A command is decided, sealed, written and applied, or refused; what was done can be taken back for a while.

use super::{Effect, Session, records};
use crate::book::body::{About, Body};
use crate::book::command::{At, Command};
use crate::book::entries::Attachment;
use crate::book::entry::{Entry, Hash, Opens, Scope, Stamp};
use crate::book::refusal::Refusal;
use crate::book::seal::seal;
use crate::book::visit::Visit;
use crate::units::{Mono, Wall};
use crate::view::remedy::remedy;
use crate::view::{photos, words};

/// What the phone says at a tap.
#[derive(Clone, Copy, Debug)]
pub struct Tap {
    /// Wall clock, UTC ms.
    pub wall_ms: Wall,
    /// The session's clock, ms.
    pub mono_ms: Mono,
    /// Local time minus UTC, minutes.
    pub offset_min: i64,
    /// Whether the database is open, so that marks can be recorded safely.
    pub durable: bool,
    /// The name of the time zone. Asked only when something is written.
    pub zone: fn() -> String,
}

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

impl Session {
    /// The stamp of a tap.
    pub fn stamp(&self, wall_ms: Wall, mono_ms: Mono) -> Stamp {
        Stamp { session: self.id, mono: mono_ms, wall: wall_ms }
    }

    /// When and where a command of this tap is given.
    pub fn at(&self, tap: &Tap) -> At {
        At {
            phone: self.phone,
            stamp: self.stamp(tap.wall_ms, tap.mono_ms),
            offset_min: tap.offset_min,
            who: self.who,
            durable: tap.durable,
        }
    }

    /// Does what is commanded. A refusal changes nothing and is to be shown; whatever is done takes the last one away.
    ///
    /// # Errors
    /// When a rule says no.
    pub fn act(&mut self, tap: &Tap, command: Command) -> Result<(), Refusal> {
        self.act_and_show(tap, command, Vec::new()).map(drop)
    }

    fn act_and_show(
        &mut self,
        tap: &Tap,
        command: Command,
        attachments: Vec<Attachment>,
    ) -> Result<Vec<Entry>, Refusal> {
        let outcome = self.decide(tap, command, attachments);
        self.refused = None;
        if let Err(refusal) = &outcome {
            self.refuse_by(refusal);
        }
        outcome
    }

    /// Shows what a rule refuses.
    pub fn refuse_by(&mut self, refusal: &Refusal) {
        self.refuse(words::refusal(refusal, self.prefs.unit), remedy(refusal));
    }

    /// Adds a photo, and offers for a while to take it back. A refusal is to be shown.
    ///
    /// # Errors
    /// When a rule says no.
    pub fn add_photo(&mut self, tap: &Tap, about: About, photo: Attachment) -> Result<(), Refusal> {
        let command = Command::AddPhoto { about, photo: photo.hash(), caption: None };
        let done = self.act_and_show(tap, command, vec![photo])?;
        if let Some(entry) = done.iter().find(|entry| matches!(entry.body, Body::Photo(_))) {
            self.offer_back(entry.hash, photos::PHOTO.into(), false);
        }
        Ok(())
    }

    /// Like [`Session::act`], with attachments that the command names, for a caller that shows the refusal itself.
    ///
    /// # Errors
    /// When a rule says no.
    pub fn try_act(&mut self, tap: &Tap, command: Command, attachments: Vec<Attachment>) -> Result<(), Refusal> {
        self.decide(tap, command, attachments).map(drop)
    }

    /// The entries that a command becomes, to be written, and applied.
    fn decide(&mut self, tap: &Tap, command: Command, attachments: Vec<Attachment>) -> Result<Vec<Entry>, Refusal> {
        let at = self.at(tap);
        let drafts = (self.rules.0)(&self.book, at, command)?;
        if drafts.is_empty() && attachments.is_empty() {
            return Ok(Vec::new());
        }
        let app = env!("CARGO_PKG_VERSION").to_string();
        let opens = Opens { app, zone: (tap.zone)(), offset: at.offset_min, who: at.who };
        self.decisions += 1;
        let entries = seal(&self.book, at.phone, at.stamp, self.decisions, &opens, drafts);
        let batch = records::batch(&entries, &attachments);
        self.unrecorded.extend(batch.records.iter().map(|record| (record.hash.clone(), None)));
        self.effects.push(Effect::Append(batch));
        self.add(entries.iter().cloned(), attachments);
        self.not_over(&entries);
        Ok(entries)
    }

    /// Takes in what came from elsewhere and is stored; of pictures their names.
    pub fn imported(&mut self, entries: Vec<Entry>, attachments: Vec<Attachment>, pictures: Vec<Hash>) {
        pictures.into_iter().for_each(|hash| self.book.attach_elsewhere(hash));
        self.add(entries.iter().cloned(), attachments);
        self.not_over(&entries);
    }

    /// The clocks parted: records it in the visit in which this phone has a test going on, and in the kit while it takes a profile run.
    pub fn clocks_parted(&mut self, tap: &Tap, wall_ms: i64, mono_ms: i64, hidden: bool) {
        let visit = self.prefs.visit.and_then(|visit| Visit::shared(&self.book, visit));
        let visit = visit.filter(|visit| visit.active().any(|test| test.kept_by(self.phone)));
        let visit = visit.map(|visit| Scope::Visit(visit.id));
        for scope in visit.into_iter().chain(self.profiling.map(|_| Scope::Kit)) {
            // A refusal is to be seen, so nothing may take it away.
            if self.act(tap, Command::NoteGap { scope, wall_ms, mono_ms, hidden }).is_err() {
                return;
            }
        }
    }

    /// Undoes the decision of an entry and offers to put it back. A refusal is to be shown.
    ///
    /// # Errors
    /// When a rule says no.
    pub fn undo(&mut self, tap: &Tap, target: Hash, name: String) -> Result<(), Refusal> {
        let done = self.act_and_show(tap, Command::Undo { target }, Vec::new())?;
        if let Some(entry) = done.first() {
            self.offer_back(entry.hash, name, true);
        }
        Ok(())
    }

    /// Offers for a while to take an entry back.
    pub fn offer_back(&mut self, entry: Hash, name: String, was_undo: bool) {
        self.offer = Some(Offer { entry, name, was_undo });
        self.effects.push(Effect::ForgetOffer(entry));
    }

    /// The time is over in which this entry was offered. Another offer stays.
    pub fn forget_offer(&mut self, entry: Hash) {
        self.offer.take_if(|offer| offer.entry == entry);
    }

    /// Takes back what is offered. A refusal is to be shown.
    ///
    /// # Errors
    /// When a rule says no.
    pub fn take_back(&mut self, tap: &Tap) -> Result<(), Refusal> {
        match self.offer.take() {
            Some(offer) => self.act(tap, Command::Undo { target: offer.entry }),
            None => Ok(()),
        }
    }
}
