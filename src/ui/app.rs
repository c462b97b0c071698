//! The app's state and the only way it changes: a command is decided, sealed, written, applied.

mod asked;
mod found;
mod going;
mod start;
mod undo;

pub use start::{handed_over, keep_handed_over};

use crate::book::command::{At, Command};
use crate::book::decide::decide;
use crate::book::entry::{Entry, Hash, Opens, Scope, Stamp};
use crate::book::kit::{self, Kit};
use crate::book::log::{Attachment, Book};
use crate::book::refusal::Refusal;
use crate::book::register::Register;
use crate::book::seal::seal;
use crate::book::visit::Visit;
use crate::book::{Id, profile_run, test::Test};
use crate::browser::clock::{self, Now};
use crate::browser::store::{self, Batch, Record, Store, Written};
use crate::browser::{ids, settings, text};
use crate::encoding::stored;
use crate::findings::Estimates;
use crate::ui::follow::memo;
use crate::units::Degree;
use crate::view::locale::{self, Locale};
use crate::view::place::Place;
use crate::view::prefs::Prefs;
use crate::view::remedy::{Refused, remedy};
use crate::view::words;
use leptos::prelude::*;
use std::collections::BTreeMap;
use std::ops::Deref;

/// Whether this tab may write.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stage {
    /// Opening the data.
    Starting,
    /// Another tab writes; this one waits for it.
    OtherTab,
    /// The phone holds records of a test version, which this one does not read.
    OldRecords,
    /// Ready.
    Ready,
}

struct Keep {
    phone: Id,
    session: Id,
    store: Store,
    /// Decisions of this session so far; their numbers begin at 1.
    decisions: i64,
}

/// Handle to the app's state, given to every screen by context. One word, because every closure on a screen holds one.
#[derive(Clone, Copy, Debug)]
pub struct App(&'static Signals);

impl Deref for App {
    type Target = Signals;

    fn deref(&self) -> &Signals {
        self.0
    }
}

/// The app's state.
#[derive(Debug)]
pub struct Signals {
    keep: StoredValue<Option<Keep>, LocalStorage>,
    estimates: StoredValue<Estimates>,
    kept: StoredValue<found::Kept>,
    /// How places were when they were left.
    left: StoredValue<Vec<(Place, going::Left)>, LocalStorage>,
    /// Everything known.
    pub book: RwSignal<Book>,
    /// Where one is.
    pub place: RwSignal<Place>,
    /// The clocks, as they were last looked at.
    pub now: RwSignal<Now>,
    /// What the user has chosen.
    pub prefs: RwSignal<Prefs>,
    /// Whether this tab may write.
    pub stage: RwSignal<Stage>,
    /// Entries that are not recorded yet, and what to do about those that failed.
    pub unrecorded: RwSignal<BTreeMap<String, Option<String>>>,
    /// A trouble with the data to be shown until it is gone.
    pub trouble: RwSignal<Option<String>>,
    /// The last refusal, to be shown once.
    pub refused: RwSignal<Option<Refused>>,
    /// Whether the browser promised to keep the data.
    pub persisted: RwSignal<Option<bool>>,
    /// Whether everything has been read, the visits that are over too.
    pub all_here: RwSignal<bool>,
    /// Half-filled forms as they were found at the start.
    pub drafts: RwSignal<BTreeMap<String, String>>,
    register_seen: RwSignal<u32>,
    kit_seen: RwSignal<u32>,
    visit_seen: RwSignal<u32>,
    found_seen: RwSignal<u32>,
    /// The register.
    pub register: Memo<Register>,
    /// The kit.
    pub kit: Memo<Kit>,
    /// The visit that is open on screen.
    pub visit: Memo<Option<Visit>>,
    /// The heater that this phone takes a profile run of now.
    pub profiling: Memo<Option<Id>>,
    /// Who has this phone.
    pub who: Memo<Option<Id>>,
    /// What a form has just saved, until one goes elsewhere.
    pub saved: RwSignal<Option<String>>,
    /// What can be taken back for a while.
    pub offer: RwSignal<Option<undo::Offer>>,
}

impl App {
    /// An app that has not read its data yet.
    pub fn new() -> App {
        let language = text::language();
        locale::set(Locale::of(&language, text::decimal_sign(&language)));
        let book = RwSignal::new(Book::default());
        let prefs = RwSignal::new(read_prefs());
        let (register_seen, kit_seen, visit_seen) = (RwSignal::new(0), RwSignal::new(0), RwSignal::new(0));
        let keep: StoredValue<Option<Keep>, LocalStorage> = StoredValue::new_local(None);
        // There is one, and it lives as long as the page.
        App(Box::leak(Box::new(Signals {
            keep,
            estimates: StoredValue::new(Estimates::default()),
            kept: StoredValue::new(found::Kept::default()),
            left: StoredValue::new_local(Vec::new()),
            book,
            place: RwSignal::new(Place::read(&super::address())),
            now: RwSignal::new(clock::now()),
            prefs,
            stage: RwSignal::new(Stage::Starting),
            unrecorded: RwSignal::new(BTreeMap::new()),
            trouble: RwSignal::new(None),
            refused: RwSignal::new(None),
            persisted: RwSignal::new(None),
            all_here: RwSignal::new(false),
            drafts: RwSignal::new(BTreeMap::new()),
            register_seen,
            kit_seen,
            visit_seen,
            found_seen: RwSignal::new(0),
            register: memo(move || {
                register_seen.track();
                book.with_untracked(Register::of)
            }),
            kit: memo(move || {
                kit_seen.track();
                book.with_untracked(Kit::of)
            }),
            visit: memo(move || {
                visit_seen.track();
                prefs.with(|prefs| prefs.visit).and_then(|id| book.with_untracked(|book| Visit::of(book, id)))
            }),
            profiling: memo(move || {
                kit_seen.track();
                let phone = keep.with_value(|keep| keep.as_ref().map(|keep| keep.phone))?;
                book.with_untracked(|book| {
                    profile_run::going_on(book, phone).first().map(|profile_run| profile_run.frozen.heater.of)
                })
            }),
            who: memo(move || {
                kit_seen.track();
                let phone = keep.with_value(|keep| keep.as_ref().map(|keep| keep.phone))?;
                book.with_untracked(|book| kit::has_phone(book, phone))
            }),
            saved: RwSignal::new(None),
            offer: RwSignal::new(None),
        })))
    }

    /// This phone's id.
    pub fn phone(self) -> Id {
        self.keep.with_value(|keep| keep.as_ref().map_or(Id::nil(), |keep| keep.phone))
    }

    /// The unit of the screen.
    pub fn unit(self) -> Degree {
        self.prefs.with(|prefs| prefs.unit)
    }

    /// A new id for a thing made now.
    pub fn new_id(self) -> Id {
        ids::uuid(clock::now().wall_ms)
    }

    /// The stamp of a look at the clocks.
    pub fn stamp(self, now: Now) -> Stamp {
        let session = self.keep.with_value(|keep| keep.as_ref().map_or(Id::nil(), |keep| keep.session));
        Stamp { session, mono: now.mono_ms, wall: now.wall_ms }
    }

    /// When and where a command of this time is given.
    pub fn at(self, now: Now) -> At {
        At {
            phone: self.phone(),
            stamp: self.stamp(now),
            offset_min: clock::offset_minutes(now.wall_ms).into(),
            who: self.who.get_untracked(),
            durable: self.keep.with_value(|keep| keep.as_ref().is_some_and(|keep| keep.store.safe())),
        }
    }

    /// Test time of a test at a look at the clocks, ms since heat on.
    pub fn test_time(self, test: &Test, now: Now) -> i64 {
        test.time_on(self.phone(), self.stamp(now))
    }

    /// The only way state changes. A refusal stores nothing and is shown; the caller may want it too.
    ///
    /// # Errors
    /// When a rule says no.
    pub fn act(self, now: Now, command: Command) -> Result<(), Refusal> {
        self.act_with(now, command, Vec::new())
    }

    /// Like [`App::act`], with attachments that the command names.
    ///
    /// # Errors
    /// When a rule says no.
    pub fn act_with(self, now: Now, command: Command, attachments: Vec<Attachment>) -> Result<(), Refusal> {
        let outcome = self.try_act(now, command, attachments);
        self.tell(outcome)
    }

    /// Shows a refusal, or takes the last one away.
    fn tell<T>(self, outcome: Result<T, Refusal>) -> Result<T, Refusal> {
        let said = outcome.as_ref().err().map(|refusal| {
            let unit = self.prefs.with_untracked(|prefs| prefs.unit);
            Refused { words: words::refusal(refusal, unit), remedy: remedy(refusal) }
        });
        self.refused.set(said);
        outcome
    }

    /// Like [`App::act_with`] for a caller that shows the refusal itself.
    ///
    /// # Errors
    /// When a rule says no.
    pub fn try_act(self, now: Now, command: Command, attachments: Vec<Attachment>) -> Result<(), Refusal> {
        self.decide_and_write(now, command, attachments).map(drop)
    }

    /// The entries that a command becomes, written and applied.
    fn decide_and_write(self, now: Now, command: Command, attachments: Vec<Attachment>) -> Result<Vec<Entry>, Refusal> {
        let at = self.at(now);
        let drafts = self.book.with_untracked(|book| decide(book, at, command))?;
        if drafts.is_empty() && attachments.is_empty() {
            return Ok(Vec::new());
        }
        let opens = Opens {
            app: env!("CARGO_PKG_VERSION").to_string(),
            zone: clock::zone().unwrap_or_default(),
            offset: at.offset_min,
            who: at.who,
        };
        let mut decision = 0;
        self.keep.update_value(|keep| {
            if let Some(keep) = keep {
                keep.decisions += 1;
                decision = keep.decisions;
            }
        });
        let entries = self.book.with_untracked(|book| seal(book, at.phone, at.stamp, decision, &opens, drafts));
        // The write begins in the tap's own task, before anything is drawn.
        self.write(&entries, &attachments);
        self.book.update(|book| {
            attachments.into_iter().for_each(|attachment| book.attach(attachment));
            entries.iter().cloned().for_each(|entry| book.apply(entry));
        });
        self.not_over(&entries);
        self.notice(&entries);
        Ok(entries)
    }

    fn write(self, entries: &[Entry], attachments: &[Attachment]) {
        let records: Vec<Record> = entries.iter().map(record_of).collect();
        self.unrecorded.update(|unrecorded| {
            unrecorded.extend(records.iter().map(|record| (record.hash.clone(), None)));
        });
        let attachments = attachments.iter().map(stored_attachment).collect();
        self.keep.with_value(|keep| {
            if let Some(keep) = keep {
                keep.store.append(Batch { records, attachments });
            }
        });
    }

    /// Adds entries that came from elsewhere: all of them or none.
    ///
    /// # Errors
    /// What the store said.
    pub async fn take_in(self, entries: Vec<Entry>, attachments: Vec<Attachment>) -> Result<(), String> {
        let Some(store) = self.keep.with_value(|keep| keep.as_ref().map(|keep| keep.store.clone())) else {
            return Err("the database is not open".into());
        };
        let batch = Batch {
            records: entries.iter().map(record_of).collect(),
            attachments: attachments.iter().map(stored_attachment).collect(),
        };
        store.import(batch).await.map_err(|why| why.to_string())?;
        self.book.update(|book| {
            attachments.into_iter().for_each(|attachment| book.attach(attachment));
            book.apply_all(entries.iter().cloned());
        });
        self.not_over(&entries);
        self.seen();
        Ok(())
    }

    fn hear(self, written: Written) {
        match written {
            Written::Recorded { hashes } => {
                self.unrecorded.update(|unrecorded| hashes.iter().for_each(|hash| drop(unrecorded.remove(hash))));
            }
            Written::Waiting { hashes, why, .. } | Written::NotSafe { hashes, why } => {
                self.unrecorded.update(|unrecorded| {
                    unrecorded.extend(hashes.into_iter().map(|hash| (hash, Some(why.to_string()))));
                });
            }
            Written::Erased => {
                self.trouble.set(Some("The browser deleted this phone's data while the app was open. Send what is on screen now, then restart the app.".into()));
            }
            Written::NoCopy { why } => {
                self.trouble
                    .set(Some(format!("The backup copy of open visits can't be written: {why}. Recording continues.")));
            }
        }
    }

    /// Records that the clocks parted, in the visit in which this phone has a test going on, and in the kit while it takes a profile run.
    pub fn note_gap(self, now: Now, gap: clock::Gap) {
        let phone = self.phone();
        let concerned = self.visit.with_untracked(|visit| {
            visit.as_ref().filter(|visit| visit.active().any(|test| test.kept_by(phone))).map(|visit| visit.id)
        });
        let profiling = self.profiling.with_untracked(|profiling| profiling.map(|_| Scope::Kit));
        let clock::Gap { wall_ms, mono_ms, hidden } = gap;
        for scope in [concerned.map(Scope::Visit), profiling].into_iter().flatten() {
            // `decide` refuses no gap of more than two seconds, and a smaller one is none.
            drop(self.act(now, Command::NoteGap { scope, wall_ms, mono_ms, hidden }));
        }
    }

    /// Tells the memos which part of the book has changed.
    fn notice(self, entries: &[Entry]) {
        let touches = |fits: fn(Scope) -> bool| entries.iter().any(|entry| fits(entry.chain.scope));
        if touches(|scope| matches!(scope, Scope::Site(_))) {
            self.register_seen.update(|seen| *seen += 1);
        }
        if touches(|scope| scope == Scope::Kit) {
            self.kit_seen.update(|seen| *seen += 1);
        }
        if touches(|scope| matches!(scope, Scope::Visit(_))) {
            self.estimates.update_value(|estimates| {
                entries.iter().for_each(|entry| estimates.wrote(entry.chain.scope));
            });
            self.visit_seen.update(|seen| *seen += 1);
        }
    }

    fn seen(self) {
        // The profile runs of a profile may have come along, and tests that it is scored by.
        self.estimates.set_value(Estimates::default());
        self.register_seen.update(|seen| *seen += 1);
        self.kit_seen.update(|seen| *seen += 1);
        self.visit_seen.update(|seen| *seen += 1);
    }

    /// Visits change with every mark; a screen that lists them all tracks this.
    pub fn track_visits(self) {
        self.visit_seen.track();
    }

    /// Profile runs change with entries that leave the kit itself as it is; what shows them tracks this.
    pub fn track_kit(self) {
        self.kit_seen.track();
    }

    /// Changes the preferences and keeps them.
    pub fn prefer(self, change: impl FnOnce(&mut Prefs)) {
        self.prefs.update(change);
        let text = self.prefs.with_untracked(stored::write);
        if let Err(why) = settings::set(PREFS, &text) {
            self.trouble.set(Some(format!("The setting couldn't be saved: {why}.")));
        }
    }

    /// Keeps a half-filled form, or forgets it when it is empty.
    pub fn keep_draft(self, form: String, text: Option<String>) {
        self.drafts.update(|drafts| match &text {
            Some(text) => drop(drafts.insert(form.clone(), text.clone())),
            None => drop(drafts.remove(&form)),
        });
        let Some(store) = self.keep.with_value(|keep| keep.as_ref().map(|keep| keep.store.clone())) else { return };
        leptos::task::spawn_local(async move {
            let kept = match text {
                Some(text) => store.keep_draft(&form, &text).await,
                None => store.forget_draft(&form).await,
            };
            if let Err(why) = kept {
                self.trouble.set(Some(format!("The draft couldn't be saved: {why}.")));
            }
        });
    }

    /// The words of an attachment, or a stand-in when it was erased or has not come yet.
    pub fn words_of(self, hash: Hash) -> String {
        self.book.with(|book| book.words(hash).map_or_else(|| "(erased or not here)".to_string(), ToString::to_string))
    }

    /// A new text attachment.
    pub fn text(self, text: &str) -> Attachment {
        Attachment::text(ids::random(), text)
    }
}

impl Default for App {
    fn default() -> App {
        App::new()
    }
}

const PREFS: &str = "prefs";

fn read_prefs() -> Prefs {
    let kept = settings::get(PREFS).ok().flatten();
    kept.and_then(|text| stored::read(&text)).unwrap_or_else(|| {
        let fahrenheit = text::prefers_fahrenheit(&text::language());
        Prefs { unit: if fahrenheit { Degree::F } else { Degree::C }, ..Prefs::default() }
    })
}

fn record_of(entry: &Entry) -> Record {
    Record {
        scope: entry.chain.scope.to_string(),
        phone: entry.chain.phone.to_string(),
        seq: entry.seq.unsigned_abs(),
        hash: entry.hash.to_string(),
        text: entry.text.clone(),
    }
}

fn stored_attachment(attachment: &Attachment) -> store::Attachment {
    store::Attachment {
        hash: attachment.hash().to_string(),
        salt: attachment.salt.to_vec(),
        media: attachment.media.clone(),
        bytes: attachment.bytes.clone(),
    }
}

/// The app of this page.
pub fn use_app() -> App {
    expect_context::<App>()
}
