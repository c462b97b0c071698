//! Writes one after another: the first of the queue is tried until it is on the disk, and the next waits for it.

use std::cell::{Cell, RefCell};
use std::collections::VecDeque;
use std::rc::Rc;

use js_sys::Function;
use wasm_bindgen::JsValue;
use wasm_bindgen_futures::spawn_local;

use super::connection::{Connection, PATIENCE_MS};
use super::copies::Copies;
use super::idb::{Ended, Writing};
use super::tables;
use crate::browser::js::{After, first};
use crate::storage::Trouble;
use crate::storage::{Batch, Record, Written};

pub(super) struct Queue {
    pub(super) connection: Rc<Connection>,
    pub(super) copies: Copies,
    copy_fails: Cell<bool>,
    waiting: RefCell<VecDeque<Rc<Batch>>>,
    busy: Cell<bool>,
    // Ends the pause before the next try.
    wake: RefCell<Option<Function>>,
    listener: Box<dyn Fn(Written)>,
}

impl Queue {
    pub(super) fn new(name: &str, listener: impl Fn(Written) + 'static) -> Rc<Queue> {
        Rc::new(Queue {
            connection: Connection::new(name),
            copies: Copies::new(name),
            copy_fails: Cell::new(false),
            waiting: RefCell::default(),
            busy: Cell::new(false),
            wake: RefCell::default(),
            listener: Box::new(listener),
        })
    }

    pub(super) fn append(self: &Rc<Self>, batch: Batch) {
        self.copy(&batch.records);
        self.waiting.borrow_mut().push_back(Rc::new(batch));
        if !self.busy.replace(true) {
            let begun = self.begin_next();
            spawn_local(self.clone().drain(begun));
        }
    }

    pub(super) fn len(&self) -> usize {
        self.waiting.borrow().len()
    }

    pub(super) fn try_now(&self) {
        if let Some(wake) = self.wake.take() {
            drop(wake.call0(&JsValue::UNDEFINED));
        }
    }

    pub(super) fn copy(&self, records: &[Record]) {
        let outcome = self.copies.write(records);
        let failed_before = self.copy_fails.replace(outcome.is_err());
        if let (Err(why), false) = (outcome, failed_before) {
            (self.listener)(Written::NoCopy { why });
        }
    }

    /// Begins the first write of the queue when the database is open.
    fn begin_next(&self) -> Option<Writing> {
        let batch = self.waiting.borrow().front().cloned()?;
        let db = self.connection.now()?;
        self.noticing(tables::begin_batch(&db, &batch)).ok()
    }

    /// Writes until the queue is empty.
    async fn drain(self: Rc<Self>, mut begun: Option<Writing>) {
        let mut tries = 0;
        loop {
            let Some(batch) = self.waiting.borrow().front().cloned() else { break };
            let hashes = || batch.records.iter().map(|record| record.hash.clone()).collect::<Vec<_>>();
            let outcome = match begun.take() {
                Some(begun) => self.complete(&batch, begun).await,
                None => self.attempt(&batch).await,
            };
            if self.connection.erased.take() {
                (self.listener)(Written::Erased);
            }
            match outcome {
                Ok(()) => {
                    tries = 0;
                    self.waiting.borrow_mut().pop_front();
                    begun = self.begin_next();
                    (self.listener)(Written::Recorded { hashes: hashes() });
                }
                Err(why) => {
                    tries += 1;
                    (self.listener)(match self.connection.can_open() {
                        true => Written::Waiting { hashes: hashes(), why, tries },
                        false => Written::NotSafe { hashes: hashes(), why },
                    });
                    self.pause(tries).await;
                }
            }
        }
        self.busy.set(false);
    }

    async fn attempt(&self, batch: &Batch) -> Result<(), Trouble> {
        let db = self.connection.get().await?;
        let begun = self.noticing(tables::begin_batch(&db, batch))?;
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
        let db = self.connection.get().await?;
        let rest = tables::missing(&db, batch).await?;
        if rest == Batch::default() {
            return Ok(());
        }
        let begun = self.noticing(tables::begin_batch(&db, &rest))?;
        self.finish(batch, begun).await.map_err(Ended::into_trouble)
    }

    // A transaction that cannot even begin means that the connection is gone, told or not; the next try opens a new one.
    fn noticing(&self, begun: Result<Writing, Trouble>) -> Result<Writing, Trouble> {
        if begun.is_err() {
            self.connection.close();
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
}
