//! Keeps texts: each one in IndexedDB, where it counts as recorded once it is on the disk, and in localStorage as a second
//! copy. Writes go strictly one after another; one that fails is tried again as it is, and the next waits for it.

mod connection;
mod copies;
mod idb;
mod queue;
mod tables;

use std::collections::HashSet;
use std::fmt;
use std::rc::Rc;

use crate::storage::Trouble;
pub use crate::storage::{Attachment, Attachments, Batch, Found, Record, Settled, Written};
use idb::Ended;
use queue::Queue;
use wasm_bindgen::JsValue;

/// The store. Cheap to clone; all clones are one.
#[derive(Clone)]
pub struct Store(Rc<Queue>);

impl fmt::Debug for Store {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Store({} waiting)", self.0.len())
    }
}

impl Store {
    /// Opens the store of this name, made when there is none. With an error there is still a store: it writes the second copy,
    /// reports every write as [`Written::NotSafe`] and goes on trying to open.
    pub async fn open(name: &str, listener: impl Fn(Written) + 'static) -> (Store, Result<(), Trouble>) {
        let queue = Queue::new(name, listener);
        let opened = queue.connection.get().await.map(drop);
        (Store(queue), opened)
    }

    /// Writes one decision: the second copy at once, then the database, begun in the caller's own task when no other write is
    /// under way. The outcome goes to the listener.
    pub fn append(&self, batch: Batch) {
        self.0.append(batch);
    }

    /// Whether the database could be opened when it was last needed: without it no new work should start.
    pub fn safe(&self) -> bool {
        self.0.connection.can_open()
    }

    /// How many batches are not recorded yet.
    pub fn unrecorded(&self) -> usize {
        self.0.len()
    }

    /// Tries the waiting write now instead of at the end of its pause.
    pub fn try_now(&self) {
        self.0.try_now();
    }

    /// Adds what came from elsewhere, all of it or nothing, without a second copy and without trying again. What is there
    /// already is passed over. Returns how many records were new.
    pub async fn import(&self, batch: Batch) -> Result<usize, Trouble> {
        let db = self.0.connection.get().await?;
        loop {
            let rest = tables::missing(&db, &batch).await?;
            if rest == Batch::default() {
                return Ok(0);
            }
            let added = rest.records.len();
            match tables::begin_in_slices(&db, rest)?.finish().await {
                Ok(()) => return Ok(added),
                // A write of the queue or of another tab came between: see again what is missing.
                Err(Ended::Exists) => {}
                Err(Ended::Trouble(why)) => return Err(why),
            }
        }
    }

    /// Reads both copies of everything outside of the settled stretches, and of one scope more; what the database lacks is added
    /// to it before this returns. When it cannot be read the second copies are all there is.
    pub async fn start(&self, settled: &Settled, also: Option<&str>) -> Found {
        let mut found = Found::default();
        let mut copied = self.0.copies.read().unwrap_or_else(|why| {
            found.copy_trouble = Some(why);
            Vec::new()
        });
        match self.read_unsettled(settled, also).await {
            Ok(records) => {
                found.records = records;
                (found.copies_later, copied) = copied.into_iter().partition(|copy| settled.has(&copy.scope));
            }
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
        tables::records(&self.0.connection.get().await?, scopes).await
    }

    async fn read_unsettled(&self, settled: &Settled, also: Option<&str>) -> Result<Vec<Record>, Trouble> {
        tables::unsettled(&self.0.connection.get().await?, settled, also).await
    }

    /// At most so many records of a stretch, behind a key; with the key to go on from, while there may be more.
    pub async fn page(
        &self,
        stretch: (&str, &str),
        behind: Option<JsValue>,
        most: u32,
    ) -> Result<(Vec<Record>, Option<JsValue>), Trouble> {
        tables::page(&self.0.connection.get().await?, stretch, behind, most).await
    }

    /// Gives these records, those of open and undelivered visits, the second copy they may lack.
    pub fn keep_copies(&self, records: &[Record]) {
        self.0.copy(records);
    }

    /// Removes the second copies of a scope that is closed and delivered.
    pub fn forget_copies(&self, scope: &str) -> Result<(), Trouble> {
        self.0.copies.forget(scope)
    }

    /// One attachment, if it is here.
    pub async fn attachment(&self, hash: &str) -> Result<Option<Attachment>, Trouble> {
        tables::attachment(&self.0.connection.get().await?, hash).await
    }

    /// Every attachment that is here, of pictures their hashes alone.
    pub async fn attachments(&self) -> Result<Attachments, Trouble> {
        tables::attachments(&self.0.connection.get().await?).await
    }

    /// Erases an attachment for good: personal data can go without breaking a chain.
    pub async fn erase_attachment(&self, hash: &str) -> Result<(), Trouble> {
        let db = self.0.connection.get().await?;
        tables::begin_erasing(&db, hash)?.finish().await.map_err(Ended::into_trouble)
    }

    /// Keeps a half-filled form under its name, in place of an earlier one.
    pub async fn keep_draft(&self, form: &str, text: &str) -> Result<(), Trouble> {
        let db = self.0.connection.get().await?;
        let kept = idb::begin(&db, &[tables::DRAFTS], |tx| {
            tx.object_store(tables::DRAFTS)?.put_with_key(&text.into(), &form.into()).map(drop)
        })?;
        kept.finish().await.map_err(Ended::into_trouble)
    }

    /// Removes the draft of a form that was finished or left on purpose.
    pub async fn forget_draft(&self, form: &str) -> Result<(), Trouble> {
        let db = self.0.connection.get().await?;
        let gone =
            idb::begin(&db, &[tables::DRAFTS], |tx| tx.object_store(tables::DRAFTS)?.delete(&form.into()).map(drop))?;
        gone.finish().await.map_err(Ended::into_trouble)
    }

    /// All drafts, as (form, text).
    pub async fn drafts(&self) -> Result<Vec<(String, String)>, Trouble> {
        tables::drafts(&self.0.connection.get().await?).await
    }

    /// Keeps a file on its way to the office and what is known of it. One of this name is left as it is: names follow content.
    pub async fn keep_file(&self, name: &str, known: &str, text: &str) -> Result<(), Trouble> {
        let db = self.0.connection.get().await?;
        let kept = idb::begin(&db, &[tables::OUTBOX, tables::FILES], |tx| {
            tx.object_store(tables::FILES)?.add_with_key(&text.into(), &name.into())?;
            tx.object_store(tables::OUTBOX)?.add_with_key(&known.into(), &name.into()).map(drop)
        })?;
        match kept.finish().await {
            Ok(()) | Err(Ended::Exists) => Ok(()),
            Err(ended) => Err(ended.into_trouble()),
        }
    }

    /// What is known of every file that is or was on its way.
    pub async fn outbox(&self) -> Result<Vec<String>, Trouble> {
        tables::outbox(&self.0.connection.get().await?).await
    }

    /// The text of a file that is not confirmed.
    pub async fn file(&self, name: &str) -> Result<Option<String>, Trouble> {
        tables::file(&self.0.connection.get().await?, name).await
    }

    /// Keeps the receipt of a file and lets its text go, both or neither.
    pub async fn keep_receipt(&self, name: &str, known: &str) -> Result<(), Trouble> {
        let db = self.0.connection.get().await?;
        let kept = idb::begin(&db, &[tables::OUTBOX, tables::FILES], |tx| {
            tx.object_store(tables::OUTBOX)?.put_with_key(&known.into(), &name.into())?;
            tx.object_store(tables::FILES)?.delete(&name.into()).map(drop)
        })?;
        kept.finish().await.map_err(Ended::into_trouble)
    }

    /// The id of this installation: the one kept in the database, or else the fresh one, which is kept from now on.
    pub async fn phone(&self, fresh: &str) -> Result<String, Trouble> {
        tables::phone(&self.0.connection.get().await?, fresh).await
    }

    /// Removes everything that is kept here: database and copies. Only with consent.
    ///
    /// # Errors
    /// What the browser said; a part may then be gone.
    pub async fn erase(&self) -> Result<(), Trouble> {
        self.0.connection.delete().await?;
        self.0.copies.forget_all()
    }

    /// Closes the database; the next use opens it again.
    pub fn close(&self) {
        self.0.connection.close();
    }
}
