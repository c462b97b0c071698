//! A session: everything the app holds beside what is drawn of it, and the only way that this changes. Pure: clocks and new ids are
//! arguments, and what is to be done about a change comes out as [`Effect`]s, which the caller performs.
//!
//! Reading order: `start` (records become a book), `act` (a command is decided, written and applied), `over` (what a later start may
//! leave for later), `sheet` (a decision too large for one task), `delivery` (what is on its way to the office), `records` (entries as the
//! storage has them).

mod act;
mod delivery;
mod over;
mod records;
mod sheet;
mod start;

pub use act::{Offer, Tap};
pub use records::{attachment_of, batch, stored_attachment};
pub use sheet::{NotSealed, Sealing};
pub use start::Loaded;

use crate::book::Id;
use crate::book::command::{At, Command};
use crate::book::decide::{decide, first};
use crate::book::entries::{Attachment, Book, Part};
use crate::book::entry::{Entry, Hash};
use crate::book::kit;
use crate::book::profile_run;
use crate::book::refusal::Refusal;
use crate::book::seal::Draft;
use crate::encoding::stored;
use crate::handover::delivery::{Job, Outbox, Parcel};
use crate::storage::{Batch, Record, Settled, Written};
use crate::units::Mono;
use crate::view::handover::HandedOver;
use crate::view::prefs::Prefs;
use crate::view::remedy::Refused;
use crate::view::route::Route;
use crate::view::words;
use std::collections::BTreeMap;

/// Whether this tab may write.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Stage {
    /// Opening the data.
    #[default]
    Starting,
    /// Another tab writes; this one waits for it.
    OtherTab,
    /// The phone holds records of a test version, which this one does not read.
    OldRecords,
    /// Ready.
    Ready,
}

/// A small text that is kept beside the entries. It may be lost when the browser is killed, so nothing that is promised rests on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Setting {
    /// What the user has chosen.
    Prefs,
    /// Last time's answers before a test.
    Answers,
    /// What a start can leave for later.
    Over,
    /// What has left the phone.
    HandedOver,
    /// The names of the files that were fetched from the office's folder, a line each.
    Fetched,
}

impl Setting {
    /// Where it is kept.
    pub fn key(self) -> &'static str {
        match self {
            Setting::Prefs => "prefs",
            Setting::Answers => "answers",
            Setting::Over => "over",
            Setting::HandedOver => "handed-over",
            Setting::Fetched => "fetched",
        }
    }
}

/// Something to be done outside of the session.
#[derive(Clone, Debug, PartialEq)]
pub enum Effect {
    /// Write one decision. To be begun in the task of the tap, before anything is drawn; the outcome comes back as
    /// [`Session::written`].
    Append(Batch),
    /// Give these records the second copy they may lack.
    KeepCopies(Vec<Record>),
    /// Remove the second copies of a scope. Those that cannot be removed stay, and cost only room.
    ForgetCopies(String),
    /// Keep a setting; when that fails, [`Session::not_put`].
    Put(Setting, String),
    /// Keep a half-filled form, or forget it.
    KeepDraft {
        /// Its name.
        form: String,
        /// Its text; none to forget it.
        text: Option<String>,
    },
    /// Go to a place.
    Go(Route),
    /// Erase an attachment for good; when that fails, [`Session::not_erased`].
    Erase(Hash),
    /// Call [`Session::forget_offer`] after [`Session::OFFERED_MS`].
    ForgetOffer(Hash),
    /// Keep a file of the outbox and what is known of it; then [`Session::file_kept`].
    KeepFile {
        /// What is known of it.
        parcel: Parcel,
        /// Its text.
        text: String,
    },
    /// Ask this of the office's folder; the answer comes back as [`Session::answered`].
    Deliver(Job),
    /// Call [`Session::deliver`] after so many ms.
    DeliverIn(i64),
    /// Keep the receipt of a file and let its text go.
    KeepReceipt(Parcel),
}

/// What decides: all rules, or those that a test needs. A pointer, so that the others may come in a file of their own.
#[derive(Clone, Copy)]
struct Rules(fn(&Book, At, Command) -> Result<Vec<Draft>, Refusal>);

impl Default for Rules {
    fn default() -> Self {
        Rules(first)
    }
}

impl std::fmt::Debug for Rules {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Rules")
    }
}

/// Everything the app holds.
#[derive(Debug, Default)]
pub struct Session {
    rules: Rules,
    book: Book,
    /// This installation; nil until the data is read.
    phone: Id,
    id: Id,
    /// Decisions of this session so far; their numbers begin at 1.
    decisions: i64,
    /// Revision of the kit that the next two follow.
    kit: u64,
    who: Option<Id>,
    profiling: Option<Id>,
    stage: Stage,
    prefs: Prefs,
    unrecorded: BTreeMap<String, Option<String>>,
    drafts: BTreeMap<String, String>,
    trouble: Option<String>,
    refused: Option<Refused>,
    refusals: u32,
    saved: Option<String>,
    offer: Option<Offer>,
    persisted: Option<bool>,
    all_here: bool,
    /// Whether the start could not read a part of what is stored.
    unread: bool,
    settled: Settled,
    outbox: Outbox,
    /// When it is looked again whether something can be sent.
    deliver_at: Option<Mono>,
    effects: Vec<Effect>,
}

/// What is drawn.
impl Session {
    /// Everything known.
    pub fn book(&self) -> &Book {
        &self.book
    }

    /// This phone; nil until the data is read.
    pub fn phone(&self) -> Id {
        self.phone
    }

    /// Who has this phone.
    pub fn who(&self) -> Option<Id> {
        self.who
    }

    /// The heater that this phone takes a profile run of now.
    pub fn profiling(&self) -> Option<Id> {
        self.profiling
    }

    /// Whether this tab may write.
    pub fn stage(&self) -> Stage {
        self.stage
    }

    /// What the user has chosen.
    pub fn prefs(&self) -> &Prefs {
        &self.prefs
    }

    /// Entries that are not recorded yet, and what to do about those that failed.
    pub fn unrecorded(&self) -> &BTreeMap<String, Option<String>> {
        &self.unrecorded
    }

    /// What to do about the writes that failed, if any did.
    pub fn failed(&self) -> Option<String> {
        let why = self.unrecorded.values().flatten().next()?;
        Some(words::failed(self.unrecorded.values().flatten().count(), why))
    }

    /// Half-filled forms.
    pub fn drafts(&self) -> &BTreeMap<String, String> {
        &self.drafts
    }

    /// A trouble with the data, until it is gone.
    pub fn trouble(&self) -> Option<&String> {
        self.trouble.as_ref()
    }

    /// The last refusal, until it was seen.
    pub fn refused(&self) -> Option<&Refused> {
        self.refused.as_ref()
    }

    /// How many refusals there were: the same one again is another one to be seen.
    pub fn refusals(&self) -> u32 {
        self.refusals
    }

    /// What a form has just saved, until one goes elsewhere.
    pub fn saved(&self) -> Option<&String> {
        self.saved.as_ref()
    }

    /// What can be taken back for a while.
    pub fn offer(&self) -> Option<&Offer> {
        self.offer.as_ref()
    }

    /// Whether the browser promised to keep the data.
    pub fn persisted(&self) -> Option<bool> {
        self.persisted
    }

    /// Whether everything has been read, the visits that are over too.
    pub fn all_here(&self) -> bool {
        self.all_here
    }

    /// What a start can leave for later.
    pub fn settled(&self) -> &Settled {
        &self.settled
    }
}

/// What happens to it.
impl Session {
    /// How long something done is offered to be taken back, ms.
    pub const OFFERED_MS: u32 = 10_000;

    /// One that has not read its data yet.
    pub fn new(prefs: Prefs) -> Session {
        Session { prefs, ..Session::default() }
    }

    /// From now on every rule is here.
    pub fn all_rules(&mut self) {
        self.rules = Rules(decide);
    }

    /// What is to be done, in order. Each is handed out once.
    #[must_use = "what is handed out is not handed out again"]
    pub fn effects(&mut self) -> Vec<Effect> {
        std::mem::take(&mut self.effects)
    }

    /// Another tab writes.
    pub fn wait_for_other_tab(&mut self) {
        self.stage = Stage::OtherTab;
    }

    /// A trouble with the data, in words.
    pub fn report(&mut self, trouble: String) {
        self.trouble = Some(trouble);
    }

    /// What became of a write.
    pub fn written(&mut self, written: Written) {
        match written {
            Written::Recorded { hashes } => hashes.iter().for_each(|hash| drop(self.unrecorded.remove(hash))),
            Written::Waiting { hashes, why, .. } | Written::NotSafe { hashes, why } => {
                self.unrecorded.extend(hashes.into_iter().map(|hash| (hash, Some(why.to_string()))));
            }
            Written::Erased => self.report(
                "The browser deleted this phone's data while the app was open. Send what is on screen now, then restart the app.".into(),
            ),
            Written::NoCopy { why } => self.report(format!(
                "The backup copy of open visits can't be written: {why}. Recording continues."
            )),
        }
    }

    /// Changes the preferences and keeps them.
    pub fn prefer(&mut self, change: impl FnOnce(&mut Prefs)) {
        change(&mut self.prefs);
        self.put(Setting::Prefs, stored::write(&self.prefs));
    }

    /// Keeps last time's answers before a test.
    pub fn keep_answers(&mut self, text: String) {
        self.put(Setting::Answers, text);
    }

    /// Keeps what has left the phone.
    pub fn hand_over(&mut self, handed: &HandedOver) {
        self.put(Setting::HandedOver, stored::write(handed));
    }

    /// Keeps the names of the files that were fetched.
    pub fn keep_fetched(&mut self, names: String) {
        self.put(Setting::Fetched, names);
    }

    fn put(&mut self, setting: Setting, text: String) {
        self.effects.push(Effect::Put(setting, text));
    }

    /// A setting could not be kept.
    pub fn not_put(&mut self, setting: Setting, why: &str) {
        match setting {
            Setting::Prefs => self.report(format!("The setting couldn't be saved: {why}.")),
            Setting::Answers => self.report(format!("The answers couldn't be saved: {why}.")),
            Setting::HandedOver => self.report(format!("What was sent could not be noted: {why}.")),
            // Without them the next start reads everything first, and files are fetched again.
            Setting::Over | Setting::Fetched => {}
        }
    }

    /// Keeps a half-filled form, or forgets it when it is empty.
    pub fn keep_draft(&mut self, form: String, text: Option<String>) {
        match &text {
            Some(text) => drop(self.drafts.insert(form.clone(), text.clone())),
            None => drop(self.drafts.remove(&form)),
        }
        self.effects.push(Effect::KeepDraft { form, text });
    }

    /// Whether the browser promised to keep the data.
    pub fn promised(&mut self, persisted: Option<bool>) {
        self.persisted = persisted;
    }

    /// A form has saved this.
    pub fn say_saved(&mut self, what: String) {
        self.saved = Some(what);
    }

    /// Erases an attachment for good: what names it stays, and says so.
    pub fn erase(&mut self, hash: Hash) {
        // A write that is still to come would put it back.
        if !self.unrecorded.is_empty() {
            self.refuse("Something is still being recorded. Try again in a moment.".into(), None);
        } else if self.book.erase(hash) {
            self.effects.push(Effect::Erase(hash));
        }
    }

    /// An attachment could not be erased: it is still here.
    pub fn not_erased(&mut self, hash: Hash, why: &str) {
        self.book.attach_elsewhere(hash);
        self.refuse(format!("Not erased: {why}. Try again."), None);
    }

    /// Says why not, as it says a refusal of the rules.
    pub fn refuse(&mut self, words: String, remedy: Option<(&'static str, Route)>) {
        self.refusals += 1;
        self.refused = Some(Refused { words, remedy });
    }

    /// The refusal was seen.
    pub fn seen_refusal(&mut self) {
        self.refused = None;
    }

    /// One goes elsewhere: what was said of the last place is over.
    pub fn leave(&mut self) {
        self.refused = None;
        self.saved = None;
    }

    /// Adds entries and attachments to the book.
    fn add(&mut self, entries: impl IntoIterator<Item = Entry>, attachments: Vec<Attachment>) {
        for attachment in attachments {
            // Of a picture the store has the bytes; hundreds of them are more than a phone holds.
            match attachment.is_picture() {
                true => self.book.attach_elsewhere(attachment.hash()),
                false => self.book.attach(attachment),
            }
        }
        self.book.apply_all(entries);
        self.follow_kit();
    }

    /// Looks again who has the phone and what it takes a profile run of, when the kit has changed.
    fn follow_kit(&mut self) {
        let kit = self.book.revision(Part::Kit);
        if self.kit != kit {
            self.kit = kit;
            self.who = kit::has_phone(&self.book, self.phone);
            let going_on = profile_run::going_on(&self.book, self.phone);
            self.profiling = going_on.first().map(|profile_run| profile_run.frozen.heater.of);
        }
    }
}
