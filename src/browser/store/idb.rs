//! The database as promises: opening it, transactions that are on the disk when they are done, and answers to requests.

use std::cell::Cell;
use std::rc::Rc;

use js_sys::{Array, Function, Object, Promise, Reflect};
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;
use web_sys::{IdbDatabase, IdbObjectStore, IdbOpenDbRequest, IdbRequest, IdbTransaction};

use super::tables::STORES;
use crate::browser::js::{member, settle, window, words};
use crate::storage::Trouble;

/// Raised by one when an object store is added. An upgrade only ever adds: entries are never rewritten.
const VERSION: u32 = 2;

// web-sys keeps the options of a transaction behind an unstable flag and calls `commit` deprecated; both are standard
// (Indexed Database API 3.0) and both are what makes a mark safe, so they are declared here.
#[wasm_bindgen]
extern "C" {
    type Strict;
    #[wasm_bindgen(method, catch)]
    fn transaction(this: &Strict, stores: &Array, mode: &str, options: &Object) -> Result<IdbTransaction, JsValue>;

    type Committing;
    #[wasm_bindgen(method, catch)]
    fn commit(this: &Committing) -> Result<(), JsValue>;
}

/// An open request under way. It is kept as a whole, because a request that was blocked may still be answered.
#[derive(Debug)]
pub(super) struct Opening {
    pub(super) request: IdbOpenDbRequest,
    /// Fulfilled when the database is open, rejected with the error event.
    pub(super) done: Promise,
    /// Fulfilled when another tab's older version is in the way.
    pub(super) blocked: Promise,
    /// Whether there was no database before.
    pub(super) created: Rc<Cell<bool>>,
    _upgrade: Closure<dyn FnMut()>,
}

pub(super) fn open(name: &str) -> Result<Opening, Trouble> {
    let factory = window()
        .indexed_db()
        .map_err(|error| Trouble::AllowStorage(words(&error)))?
        .ok_or_else(|| Trouble::AllowStorage("no IndexedDB".into()))?;
    let request = factory.open_with_u32(name, VERSION).map_err(|error| Trouble::from_js(&error))?;
    let (upgraded, created) = (request.clone(), Rc::new(Cell::new(false)));
    let creates = created.clone();
    let upgrade = Closure::<dyn FnMut()>::new(move || {
        let Ok(db) = upgraded.result().map(JsCast::unchecked_into::<IdbDatabase>) else { return };
        let present = db.object_store_names();
        creates.set(present.length() == 0);
        for store in STORES {
            if !present.contains(store) {
                // A failure here aborts the upgrade, and the request reports it.
                drop(db.create_object_store(store));
            }
        }
    });
    request.set_onupgradeneeded(Some(upgrade.as_ref().unchecked_ref()));
    let done = settle(|resolve, reject| {
        request.set_onsuccess(Some(&resolve));
        request.set_onerror(Some(&reject));
    });
    let blocked = settle(|resolve, _| request.set_onblocked(Some(&resolve)));
    Ok(Opening { request, done, blocked, created, _upgrade: upgrade })
}

/// Removes a database; fulfilled when it is gone, rejected with the error event. It waits until no page has it open.
pub(super) fn delete(name: &str) -> Result<Promise, Trouble> {
    let factory = window()
        .indexed_db()
        .map_err(|error| Trouble::AllowStorage(words(&error)))?
        .ok_or_else(|| Trouble::AllowStorage("no IndexedDB".into()))?;
    let request = factory.delete_database(name).map_err(|error| Trouble::from_js(&error))?;
    Ok(settle(|resolve, reject| {
        request.set_onsuccess(Some(&resolve));
        request.set_onerror(Some(&reject));
    }))
}

/// A readwrite transaction whose completion means that the data is on the disk itself.
pub(super) struct Writing {
    tx: IdbTransaction,
    pub(super) done: Promise,
}

/// Begins a strict transaction, lets `fill` make its requests, and commits, all in the caller's own task: what was begun
/// here survives even when that task never returns.
pub(super) fn begin(
    db: &IdbDatabase,
    stores: &[&str],
    fill: impl FnOnce(&IdbTransaction) -> Result<(), JsValue>,
) -> Result<Writing, Trouble> {
    let tx = strict(db, stores)?;
    if let Err(error) = fill(&tx) {
        // Nothing of a half-made batch may stay.
        drop(tx.abort());
        return Err(Trouble::from_js(&error));
    }
    commit(&tx);
    // Only now: no event comes before this task ends, and an aborted one would reject what nobody waits for.
    Ok(Writing::of(tx))
}

/// A strict transaction for writing.
pub(super) fn strict(db: &IdbDatabase, stores: &[&str]) -> Result<IdbTransaction, Trouble> {
    let options = Object::new();
    let started = Reflect::set(&options, &"durability".into(), &"strict".into()).and_then(|_| {
        let names: Array = stores.iter().map(|name| JsValue::from_str(name)).collect();
        db.unchecked_ref::<Strict>().transaction(&names, "readwrite", &options)
    });
    started.map_err(|error| Trouble::from_js(&error))
}

pub(super) fn commit(tx: &IdbTransaction) {
    // A transaction that has already failed refuses to commit; its abort event tells why.
    drop(tx.unchecked_ref::<Committing>().commit());
}

/// How a transaction ended when it did not complete.
pub(super) enum Ended {
    /// A key was already there.
    Exists,
    Trouble(Trouble),
}

impl Ended {
    pub(super) fn into_trouble(self) -> Trouble {
        match self {
            Ended::Exists => Trouble::TryAgain("another page wrote the same at the same time".into()),
            Ended::Trouble(trouble) => trouble,
        }
    }
}

impl Writing {
    /// To be called in the task that made the first requests.
    pub(super) fn of(tx: IdbTransaction) -> Writing {
        let done = settle(|resolve: Function, reject: Function| {
            tx.set_oncomplete(Some(&resolve));
            tx.set_onabort(Some(&reject));
            tx.set_onerror(Some(&reject));
        });
        Writing { tx, done }
    }

    /// Resolves when the transaction is on the disk or has failed.
    pub(super) async fn finish(self) -> Result<(), Ended> {
        let Err(event) = JsFuture::from(self.done.clone()).await else { return Ok(()) };
        // The request that failed names the cause before the transaction does.
        let cause = member(&event, "target").and_then(|target| member(&target, "error"));
        let cause = cause.or_else(|| self.tx.error().map(Into::into)).unwrap_or(event);
        match member(&cause, "name").and_then(|name| name.as_string()).as_deref() {
            Some("ConstraintError") => Err(Ended::Exists),
            _ => Err(Ended::Trouble(Trouble::from_js(&cause))),
        }
    }
}

pub(super) fn read(db: &IdbDatabase, stores: &[&str]) -> Result<IdbTransaction, Trouble> {
    let names: Array = stores.iter().map(|name| JsValue::from_str(name)).collect();
    db.transaction_with_str_sequence(&names).map_err(|error| Trouble::from_js(&error))
}

pub(super) fn store(tx: &IdbTransaction, name: &str) -> Result<IdbObjectStore, Trouble> {
    tx.object_store(name).map_err(|error| Trouble::from_js(&error))
}

/// What a request was answered.
pub(super) type Answer = Result<JsValue, Trouble>;

// The handlers are set at once; what is returned only waits.
pub(super) fn answer(request: Result<IdbRequest, JsValue>) -> Result<impl Future<Output = Answer> + use<>, Trouble> {
    let request = request.map_err(|error| Trouble::from_js(&error))?;
    let done = JsFuture::from(settle(|resolve, reject| {
        request.set_onsuccess(Some(&resolve));
        request.set_onerror(Some(&reject));
    }));
    Ok(async move {
        if let Err(event) = done.await {
            let error = request.error().ok().flatten().map(Into::into).unwrap_or(event);
            return Err(Trouble::from_js(&error));
        }
        request.result().map_err(|error| Trouble::from_js(&error))
    })
}
