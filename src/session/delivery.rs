//! Files on their way to the office: kept first, then sent one after another, and let go only with a receipt.

use super::{Effect, Session, Stage};
use crate::book::visit::Visit;
use crate::encoding::stored;
use crate::handover::delivery::{Answer, Job, Next, Outbox, Parcel};
use crate::units::{Mono, Wall};

impl Session {
    /// What is on its way to the office, and what arrived there.
    pub fn outbox(&self) -> &Outbox {
        &self.outbox
    }

    /// Takes in what is kept of the outbox. What cannot be read is said, and stays where it is.
    pub fn outbox_read(&mut self, kept: &[String]) {
        let parcels: Vec<Parcel> = kept.iter().filter_map(|text| stored::read(text)).collect();
        if parcels.len() < kept.len() {
            self.report("Some files on their way to the office could not be read. Send their visits again.".into());
        }
        self.outbox = Outbox::of(parcels);
    }

    /// Puts a file into the outbox. It is sent only once it is kept, which [`Session::file_kept`] tells.
    pub fn queue(&mut self, parcel: Parcel, text: String) {
        if !self.outbox.files().any(|(known, _)| known.name == parcel.name) {
            self.effects.push(Effect::KeepFile { parcel, text });
        }
    }

    /// A file of the outbox is on the disk.
    pub fn file_kept(&mut self, parcel: Parcel, now: Mono) {
        self.outbox.add(parcel);
        self.deliver(now);
    }

    /// Sends what is due, or looks again when something is; `now` is the session's clock, ms.
    pub fn deliver(&mut self, now: Mono) {
        if self.stage != Stage::Ready || self.prefs.folder.is_empty() {
            return;
        }
        match self.outbox.next(now, self.busy()) {
            Next::Do(job) => self.effects.push(Effect::Deliver(job)),
            // One look that is to come is enough, unless it comes too late.
            Next::At(at) if self.deliver_at.is_none_or(|planned| planned <= now || planned > at) => {
                self.deliver_at = Some(at);
                self.effects.push(Effect::DeliverIn(at.saturating_sub(now)));
            }
            Next::At(_) | Next::Nothing => {}
        }
    }

    /// The time of a planned look has come, by a timer that may fire a little early: what is not due yet is planned anew.
    pub fn look_again(&mut self, now: Mono) {
        self.deliver_at = None;
        self.deliver(now);
    }

    /// Everything that has no receipt is tried at once: by hand, at a start, with another folder.
    pub fn deliver_again(&mut self, now: Mono) {
        self.outbox.again();
        self.deliver(now);
    }

    /// The network is back, or may be.
    pub fn online(&mut self, now: Mono) {
        self.outbox.online();
        self.deliver(now);
    }

    /// What came of a request.
    pub fn answered(&mut self, job: &Job, answer: Answer, now: Mono, wall: Wall) {
        let (receipt, then) = self.outbox.answered(job, answer, now, wall);
        self.effects.extend(receipt.map(Effect::KeepReceipt));
        match then {
            Some(job) => self.effects.push(Effect::Deliver(job)),
            None => self.deliver(now),
        }
    }

    /// Whether a test or a profile run needs the phone.
    fn busy(&self) -> bool {
        let active = |id| Visit::shared(&self.book, id).is_some_and(|visit| visit.active().next().is_some());
        self.profiling.is_some() || self.prefs.visit.is_some_and(active)
    }
}
