//! Keeps texts: each one in IndexedDB, where it counts as recorded once it is on the disk, and in localStorage as a second
//! copy. Writes go strictly one after another; one that fails is tried again as it is, and the next waits for it.

mod copies;
mod idb;

use std::cell::{Cell, OnceCell, RefCell};
use std::collections::{HashSet, VecDeque};
use std::fmt;
use std::rc::{Rc, Weak};

use js_sys::Function;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::spawn_local;
use web_sys::{Event, IdbDatabase};

use super::js::{After, first, member};
use super::trouble::Trouble;
use copies::Copies;
use idb::{Ended, Writing};

/// How long an answer of the database is waited for before that is said, ms. Common practice, no published source.
const PATIENCE_MS: i32 = 5_000;

/// One text and the key it is kept under. `scope` may hold slashes, `phone` and `hash` may not.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Record {
    /// What the text's chain is about.
    pub scope: String,
    /// The phone that wrote it.
    pub phone: String,
    /// Its number within the chain.
    pub seq: u64,
    /// Its identity, lower-case hex.
    pub hash: String,
    /// The exact text that was hashed.
    pub text: String,
}

/// Bytes that an entry names by hash: a photo, a name, a signature. They have no second copy.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Attachment {
    /// SHA-256 of salt and bytes, lower-case hex.
    pub hash: String,
    /// The random salt.
    pub salt: Vec<u8>,
    /// Media type.
    pub media: String,
    /// The bytes.
    pub bytes: Vec<u8>,
}

/// What belongs in one transaction: all of it is stored or none.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Batch {
    /// Texts.
    pub records: Vec<Record>,
    /// The attachments they name.
    pub attachments: Vec<Attachment>,
}

/// What became of a write. `hashes` are those of the batch's records.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Written {
    /// On the disk: it survives the browser being killed and power lost.
    Recorded {
        /// The records.
        hashes: Vec<String>,
    },
    /// Not recorded yet, trying again. Sent at each failure.
    Waiting {
        /// The records.
        hashes: Vec<String>,
        /// What to do.
        why: Trouble,
        /// Failures so far, from 1.
        tries: u32,
    },
    /// Not recorded, because there is no database; opening it is tried again. Sent at each failure.
    NotSafe {
        /// The records.
        hashes: Vec<String>,
        /// What to do.
        why: Trouble,
    },
    /// The second copy fails; sent once until it works again. It blocks nothing.
    NoCopy {
        /// What to do.
        why: Trouble,
    },
}

/// What a start found.
#[derive(Debug, Default)]
pub struct Found {
    /// The union of both copies, each text once.
    pub records: Vec<Record>,
    /// How many of them only the second copy had; they are in the database now, unless `trouble` says otherwise.
    pub restored: usize,
    /// Why the database could not be read or filled.
    pub trouble: Option<Trouble>,
    /// Why the second copy could not be read.
    pub copy_trouble: Option<Trouble>,
}

struct Inner {
    name: String,
    copies: Copies,
    copy_fails: Cell<bool>,
    db: RefCell<Option<IdbDatabase>>,
    // Whether the last try to open the database failed.
    unopened: Cell<bool>,
    opening: RefCell<Option<Rc<idb::Opening>>>,
    queue: RefCell<VecDeque<Rc<Batch>>>,
    busy: Cell<bool>,
    // Ends the pause before the next try.
    wake: RefCell<Option<Function>>,
    lost: OnceCell<Closure<dyn FnMut(Event)>>,
    listener: Box<dyn Fn(Written)>,
}

/// The store. Cheap to clone; all clones are one.
#[derive(Clone)]
pub struct Store(Rc<Inner>);

impl fmt::Debug for Store {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Store({})", self.0.name)
    }
}

impl Store {
    /// Opens the store of this name, made when there is none. With an error there is still a store: it writes the second copy,
    /// reports every write as [`Written::NotSafe`] and goes on trying to open.
    pub async fn open(name: &str, listener: impl Fn(Written) + 'static) -> (Store, Result<(), Trouble>) {
        let inner = Rc::new(Inner {
            name: name.into(),
            copies: Copies::new(name),
            copy_fails: Cell::new(false),
            db: RefCell::default(),
            unopened: Cell::new(false),
            opening: RefCell::default(),
            queue: RefCell::default(),
            busy: Cell::new(false),
            wake: RefCell::default(),
            lost: OnceCell::new(),
            listener: Box::new(listener),
        });
        let lost = inner.on_lost();
        inner.lost.get_or_init(|| lost);
        let opened = inner.connect().await.map(drop);
        (Store(inner), opened)
    }

    /// Writes one decision: the second copy at once, then the database, begun in the caller's own task when no other write is
    /// under way. The outcome goes to the listener.
    pub fn append(&self, batch: Batch) {
        self.0.copy(&batch.records);
        self.0.queue.borrow_mut().push_back(Rc::new(batch));
        if !self.0.busy.replace(true) {
            let begun = self.0.begin_next();
            spawn_local(self.0.clone().drain(begun));
        }
    }

    /// Whether the database could be opened when it was last needed: without it no new work should start.
    pub fn safe(&self) -> bool {
        !self.0.unopened.get()
    }

    /// How many batches are not recorded yet.
    pub fn unrecorded(&self) -> usize {
        self.0.queue.borrow().len()
    }

    /// Tries the waiting write now instead of at the end of its pause.
    pub fn try_now(&self) {
        if let Some(wake) = self.0.wake.take() {
            drop(wake.call0(&JsValue::UNDEFINED));
        }
    }

    /// Adds what came from elsewhere, all of it or nothing, without a second copy and without trying again. What is there
    /// already is passed over. Returns how many records were new.
    pub async fn import(&self, batch: Batch) -> Result<usize, Trouble> {
        let db = self.0.connect().await?;
        let rest = idb::missing(&db, &batch).await?;
        if rest != Batch::default() {
            idb::begin_batch(&db, &rest)?.finish().await.map_err(Ended::into_trouble)?;
        }
        Ok(rest.records.len())
    }

    /// Reads both copies of the given scopes (`None`: of all), and of every scope that has second copies; what the database
    /// lacks is added to it before this returns.
    pub async fn start(&self, scopes: Option<&[String]>) -> Found {
        let mut found = Found::default();
        let copied = self.0.copies.read().unwrap_or_else(|why| {
            found.copy_trouble = Some(why);
            Vec::new()
        });
        let wanted = scopes.map(|scopes| {
            let mut wanted: Vec<String> =
                scopes.iter().chain(copied.iter().map(|record| &record.scope)).cloned().collect();
            wanted.sort_unstable();
            wanted.dedup();
            wanted
        });
        match self.read(wanted.as_deref()).await {
            Ok(records) => found.records = records,
            Err(why) => found.trouble = Some(why),
        }
        let known: HashSet<&str> = found.records.iter().map(|record| record.hash.as_str()).collect();
        let missing: Vec<Record> = copied.into_iter().filter(|copy| !known.contains(copy.hash.as_str())).collect();
        found.restored = missing.len();
        if found.trouble.is_none() && !missing.is_empty() {
            let batch = Batch { records: missing.clone(), attachments: Vec::new() };
            found.trouble = self.import(batch).await.err();
        }
        found.records.extend(missing);
        found
    }

    /// The records of the given scopes, or of all, as the database has them.
    pub async fn read(&self, scopes: Option<&[String]>) -> Result<Vec<Record>, Trouble> {
        idb::records(&self.0.connect().await?, scopes).await
    }

    /// The names of all scopes in the database.
    pub async fn scopes(&self) -> Result<Vec<String>, Trouble> {
        idb::scopes(&self.0.connect().await?).await
    }

    /// Gives these records, those of open and undelivered rounds, the second copy they may lack.
    pub fn keep_copies(&self, records: &[Record]) {
        self.0.copy(records);
    }

    /// Removes the second copies of a scope that is closed and delivered.
    pub fn forget_copies(&self, scope: &str) -> Result<(), Trouble> {
        self.0.copies.forget(scope)
    }

    /// One attachment, if it is here.
    pub async fn attachment(&self, hash: &str) -> Result<Option<Attachment>, Trouble> {
        idb::attachment(&self.0.connect().await?, hash).await
    }

    /// Erases an attachment for good: personal data can go without breaking a chain.
    pub async fn erase_attachment(&self, hash: &str) -> Result<(), Trouble> {
        let db = self.0.connect().await?;
        let erased = idb::begin(&db, &[idb::ATTACHMENTS], |tx| {
            tx.object_store(idb::ATTACHMENTS)?.delete(&hash.into()).map(drop)
        })?;
        erased.finish().await.map_err(Ended::into_trouble)
    }

    /// Keeps a half-filled form under its name, in place of an earlier one.
    pub async fn keep_draft(&self, form: &str, text: &str) -> Result<(), Trouble> {
        let db = self.0.connect().await?;
        let kept = idb::begin(&db, &[idb::DRAFTS], |tx| {
            tx.object_store(idb::DRAFTS)?.put_with_key(&text.into(), &form.into()).map(drop)
        })?;
        kept.finish().await.map_err(Ended::into_trouble)
    }

    /// Removes the draft of a form that was finished or left on purpose.
    pub async fn forget_draft(&self, form: &str) -> Result<(), Trouble> {
        let db = self.0.connect().await?;
        let gone = idb::begin(&db, &[idb::DRAFTS], |tx| tx.object_store(idb::DRAFTS)?.delete(&form.into()).map(drop))?;
        gone.finish().await.map_err(Ended::into_trouble)
    }

    /// All drafts, as (form, text).
    pub async fn drafts(&self) -> Result<Vec<(String, String)>, Trouble> {
        idb::drafts(&self.0.connect().await?).await
    }

    /// The id of this installation: the one kept in the database, or else the fresh one, which is kept from now on.
    pub async fn phone(&self, fresh: &str) -> Result<String, Trouble> {
        idb::phone(&self.0.connect().await?, fresh).await
    }

    /// Closes the database; the next use opens it again.
    pub fn close(&self) {
        if let Some(db) = self.0.db.take() {
            db.close();
        }
    }
}

impl Inner {
    fn copy(&self, records: &[Record]) {
        let outcome = self.copies.write(records);
        let failed_before = self.copy_fails.replace(outcome.is_err());
        if let (Err(why), false) = (outcome, failed_before) {
            (self.listener)(Written::NoCopy { why });
        }
    }

    /// Begins the first write of the queue when the database is open.
    fn begin_next(&self) -> Option<Writing> {
        let batch = self.queue.borrow().front().cloned()?;
        let db = self.db.borrow().clone()?;
        self.noticing(idb::begin_batch(&db, &batch)).ok()
    }

    /// Writes until the queue is empty.
    async fn drain(self: Rc<Self>, mut begun: Option<Writing>) {
        let mut tries = 0;
        loop {
            let Some(batch) = self.queue.borrow().front().cloned() else { break };
            let hashes = || batch.records.iter().map(|record| record.hash.clone()).collect::<Vec<_>>();
            let outcome = match begun.take() {
                Some(begun) => self.complete(&batch, begun).await,
                None => self.attempt(&batch).await,
            };
            match outcome {
                Ok(()) => {
                    tries = 0;
                    self.queue.borrow_mut().pop_front();
                    begun = self.begin_next();
                    (self.listener)(Written::Recorded { hashes: hashes() });
                }
                Err(why) => {
                    tries += 1;
                    (self.listener)(match self.unopened.get() {
                        false => Written::Waiting { hashes: hashes(), why, tries },
                        true => Written::NotSafe { hashes: hashes(), why },
                    });
                    self.pause(tries).await;
                }
            }
        }
        self.busy.set(false);
    }

    async fn attempt(&self, batch: &Batch) -> Result<(), Trouble> {
        let db = self.connect().await?;
        let begun = self.noticing(idb::begin_batch(&db, batch))?;
        self.complete(batch, begun).await
    }

    /// Waits for a write that was begun. A key that is there already with the same text was recorded by an earlier try whose
    /// answer was lost, so only the rest is written.
    async fn complete(&self, batch: &Batch, begun: Writing) -> Result<(), Trouble> {
        match self.finish(batch, begun).await {
            Err(Ended::Exists) => {}
            Err(Ended::Trouble(trouble)) => return Err(trouble),
            Ok(()) => return Ok(()),
        }
        let db = self.connect().await?;
        let rest = idb::missing(&db, batch).await?;
        if rest == Batch::default() {
            return Ok(());
        }
        let begun = self.noticing(idb::begin_batch(&db, &rest))?;
        self.finish(batch, begun).await.map_err(Ended::into_trouble)
    }

    // A transaction that cannot even begin means that the connection is gone, told or not; the next try opens a new one.
    fn noticing(&self, begun: Result<Writing, Trouble>) -> Result<Writing, Trouble> {
        if begun.is_err() {
            self.db.take();
        }
        begun
    }

    // Says so when the disk takes long, and goes on waiting: giving up could write twice.
    async fn finish(&self, batch: &Batch, writing: Writing) -> Result<(), Ended> {
        let slow = After::ms(PATIENCE_MS);
        // An undefined value is the timer's; a completed transaction answers with its event.
        if first(&[&writing.done, slow.promise()]).await.is_ok_and(|value| value.is_undefined()) {
            let hashes = batch.records.iter().map(|record| record.hash.clone()).collect();
            (self.listener)(Written::Waiting { hashes, why: Trouble::Wait, tries: 0 });
        }
        writing.finish().await
    }

    // Half a second, then twice as long each time, at most five seconds. Common practice, no published source.
    async fn pause(&self, tries: u32) {
        let timer = After::ms((500 << (tries.saturating_sub(1)).min(4)).min(5_000));
        *self.wake.borrow_mut() = Some(timer.end());
        drop(first(&[timer.promise()]).await);
        self.wake.take();
    }

    /// The open database, opened when it is not.
    async fn connect(&self) -> Result<IdbDatabase, Trouble> {
        if let Some(db) = self.db.borrow().clone() {
            return Ok(db);
        }
        let opened = self.take_up().await;
        self.unopened.set(opened.is_err());
        opened
    }

    /// Waits for the database to open. One request at a time: one that was blocked or slow may still be answered, so the next
    /// to need the database takes it up again.
    async fn take_up(&self) -> Result<IdbDatabase, Trouble> {
        let under_way = self.opening.borrow().clone();
        let opening = match under_way {
            Some(opening) => opening,
            None => self.opening.borrow_mut().insert(Rc::new(idb::open(&self.name)?)).clone(),
        };
        let patience = After::ms(PATIENCE_MS);
        match first(&[&opening.done, &opening.blocked, patience.promise()]).await {
            Ok(value) if value.is_undefined() => Err(Trouble::Wait),
            Ok(event) if member(&event, "type").is_some_and(|name| name == "blocked") => Err(Trouble::CloseOtherTab),
            Ok(_) => {
                self.opening.take();
                let db: IdbDatabase =
                    opening.request.result().map_err(|error| Trouble::from_js(&error))?.unchecked_into();
                let lost = self.lost.get().map(|closure| closure.as_ref().unchecked_ref());
                db.set_onclose(lost);
                db.set_onversionchange(lost);
                Ok(self.db.borrow_mut().insert(db).clone())
            }
            Err(event) => {
                self.opening.take();
                let error = opening.request.error().ok().flatten().map_or(event, JsValue::from);
                Err(Trouble::from_js(&error))
            }
        }
    }

    /// The browser closed the database, or a newer version in another tab asks for it: let go of it at once, so that nobody
    /// waits for this page.
    fn on_lost(self: &Rc<Self>) -> Closure<dyn FnMut(Event)> {
        let inner: Weak<Inner> = Rc::downgrade(self);
        Closure::new(move |_| {
            if let Some(db) = inner.upgrade().and_then(|inner| inner.db.take()) {
                db.close();
            }
        })
    }
}

impl Drop for Inner {
    fn drop(&mut self) {
        if let Some(db) = self.db.take() {
            // The closure goes with this store, so the database must not call it any more.
            db.set_onclose(None);
            db.set_onversionchange(None);
            db.close();
        }
    }
}
