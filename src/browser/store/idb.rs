//! The database as promises: opening it, one transaction that is on disk when it is done, and reading by range.

use js_sys::{Array, Function, JSON, Object, Promise, Reflect, Uint8Array};
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;
use web_sys::{IdbDatabase, IdbKeyRange, IdbObjectStore, IdbOpenDbRequest, IdbRequest, IdbTransaction};

use super::{Attachment, Batch, Record};
use crate::browser::js::{member, settle, window};
use crate::browser::trouble::Trouble;

pub(super) const ENTRIES: &str = "entries";
pub(super) const ATTACHMENTS: &str = "attachments";
pub(super) const DRAFTS: &str = "drafts";
/// What this installation knows of itself. It lies beside the entries so that it is lost when they are.
const OWN: &str = "own";

/// Raised by one when an object store is added. An upgrade only ever adds: entries are never rewritten.
const VERSION: u32 = 1;

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
    _upgrade: Closure<dyn FnMut()>,
}

pub(super) fn open(name: &str) -> Result<Opening, Trouble> {
    let factory = window()
        .indexed_db()
        .map_err(|error| Trouble::AllowStorage(crate::browser::js::words(&error)))?
        .ok_or_else(|| Trouble::AllowStorage("no IndexedDB".into()))?;
    let request = factory.open_with_u32(name, VERSION).map_err(|error| Trouble::from_js(&error))?;
    let upgraded = request.clone();
    let upgrade = Closure::<dyn FnMut()>::new(move || {
        let Ok(db) = upgraded.result().map(JsCast::unchecked_into::<IdbDatabase>) else { return };
        let present = db.object_store_names();
        for store in [ENTRIES, ATTACHMENTS, DRAFTS, OWN] {
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
    Ok(Opening { request, done, blocked, _upgrade: upgrade })
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
    let options = Object::new();
    let started = Reflect::set(&options, &"durability".into(), &"strict".into()).and_then(|_| {
        let names: Array = stores.iter().map(|name| JsValue::from_str(name)).collect();
        db.unchecked_ref::<Strict>().transaction(&names, "readwrite", &options)
    });
    let tx = started.map_err(|error| Trouble::from_js(&error))?;
    let done = settle(|resolve: Function, reject: Function| {
        tx.set_oncomplete(Some(&resolve));
        tx.set_onabort(Some(&reject));
        tx.set_onerror(Some(&reject));
    });
    if let Err(error) = fill(&tx) {
        // Nothing of a half-made batch may stay.
        drop(tx.abort());
        return Err(Trouble::from_js(&error));
    }
    // A transaction that has already failed refuses to commit; its abort event tells why.
    drop(tx.unchecked_ref::<Committing>().commit());
    Ok(Writing { tx, done })
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

/// Begins writing a batch: `add` only, so that nothing recorded can ever be replaced.
pub(super) fn begin_batch(db: &IdbDatabase, batch: &Batch) -> Result<Writing, Trouble> {
    let stores: &[&str] = if batch.attachments.is_empty() { &[ENTRIES] } else { &[ENTRIES, ATTACHMENTS] };
    begin(db, stores, |tx| {
        let entries = tx.object_store(ENTRIES)?;
        for record in &batch.records {
            entries.add_with_key(&record.text.as_str().into(), &key(record))?;
        }
        for attachment in &batch.attachments {
            tx.object_store(ATTACHMENTS)?
                .add_with_key(&attachment_value(attachment)?, &attachment.hash.as_str().into())?;
        }
        Ok(())
    })
}

/// What of a batch is not stored yet; an error when a key holds another text.
pub(super) async fn missing(db: &IdbDatabase, batch: &Batch) -> Result<Batch, Trouble> {
    let tx = read(db, &[ENTRIES, ATTACHMENTS])?;
    let entries = store(&tx, ENTRIES)?;
    let kept = store(&tx, ATTACHMENTS)?;
    // All requests are made before the first is waited for, or the transaction would end between them.
    let texts: Vec<_> = batch.records.iter().map(|record| answer(entries.get(&key(record)))).collect();
    let keys: Vec<_> = batch.attachments.iter().map(|one| answer(kept.get_key(&one.hash.as_str().into()))).collect();
    let mut rest = Batch::default();
    for (record, text) in batch.records.iter().zip(texts) {
        match text?.await?.as_string() {
            None => rest.records.push(record.clone()),
            Some(text) if text == record.text => {}
            Some(_) => return Err(Trouble::Altered(record.hash.clone())),
        }
    }
    for (attachment, key) in batch.attachments.iter().zip(keys) {
        if key?.await?.is_undefined() {
            rest.attachments.push(attachment.clone());
        }
    }
    Ok(rest)
}

/// The records of the given scopes, or of all of them.
pub(super) async fn records(db: &IdbDatabase, scopes: Option<&[String]>) -> Result<Vec<Record>, Trouble> {
    let tx = read(db, &[ENTRIES])?;
    let entries = store(&tx, ENTRIES)?;
    let ranges = match scopes {
        None => vec![JsValue::UNDEFINED],
        Some(scopes) => scopes.iter().map(|scope| range_of(scope)).collect::<Result<_, _>>()?,
    };
    let asked: Vec<_> = ranges
        .iter()
        .map(|range| (answer(entries.get_all_keys_with_key(range)), answer(entries.get_all_with_key(range))))
        .collect();
    let mut records = Vec::new();
    for (keys, texts) in asked {
        let keys = decode_keys(&keys?.await?)?;
        let texts: Array = texts?.await?.unchecked_into();
        for ((scope, phone, seq, hash), text) in keys.into_iter().zip(texts.iter()) {
            // A value that is no text was not written here; it is left where it is.
            if let Some(text) = text.as_string() {
                records.push(Record { scope, phone, seq, hash, text });
            }
        }
    }
    Ok(records)
}

/// The names of all scopes, by hopping from each to the next: one request per scope, however many entries it holds.
pub(super) async fn scopes(db: &IdbDatabase) -> Result<Vec<String>, Trouble> {
    let mut found: Vec<String> = Vec::new();
    loop {
        let entries = store(&read(db, &[ENTRIES])?, ENTRIES)?;
        let range = match found.last() {
            None => JsValue::UNDEFINED,
            Some(last) => IdbKeyRange::lower_bound_with_open(&end_of(last), true)
                .map_err(|error| Trouble::from_js(&error))?
                .into(),
        };
        let keys = answer(entries.get_all_keys_with_key_and_limit(&range, 1))?.await?;
        match decode_keys(&keys)?.into_iter().next() {
            Some((scope, ..)) => found.push(scope),
            None => return Ok(found),
        }
    }
}

/// One attachment by its hash.
pub(super) async fn attachment(db: &IdbDatabase, hash: &str) -> Result<Option<Attachment>, Trouble> {
    let value = answer(store(&read(db, &[ATTACHMENTS])?, ATTACHMENTS)?.get(&hash.into()))?.await?;
    let bytes = |name| member(&value, name).map(|bytes| Uint8Array::new(&bytes).to_vec());
    let media = member(&value, "media").and_then(|media| media.as_string());
    Ok(match (bytes("salt"), media, bytes("bytes")) {
        (Some(salt), Some(media), Some(bytes)) => Some(Attachment { hash: hash.into(), salt, media, bytes }),
        _ => None,
    })
}

/// The id kept under "phone"; the fresh one is kept when there is none.
pub(super) async fn phone(db: &IdbDatabase, fresh: &str) -> Result<String, Trouble> {
    let kept = answer(store(&read(db, &[OWN])?, OWN)?.get(&"phone".into()))?.await?;
    if let Some(kept) = kept.as_string() {
        return Ok(kept);
    }
    let added = begin(db, &[OWN], |tx| tx.object_store(OWN)?.add_with_key(&fresh.into(), &"phone".into()).map(drop))?;
    added.finish().await.map_err(Ended::into_trouble)?;
    Ok(fresh.into())
}

/// All drafts, as (form, text).
pub(super) async fn drafts(db: &IdbDatabase) -> Result<Vec<(String, String)>, Trouble> {
    let drafts = store(&read(db, &[DRAFTS])?, DRAFTS)?;
    let (keys, texts) = (answer(drafts.get_all_keys())?, answer(drafts.get_all())?);
    let (keys, texts): (Array, Array) = (keys.await?.unchecked_into(), texts.await?.unchecked_into());
    Ok(keys.iter().zip(texts.iter()).filter_map(|(key, text)| Some((key.as_string()?, text.as_string()?))).collect())
}

fn read(db: &IdbDatabase, stores: &[&str]) -> Result<IdbTransaction, Trouble> {
    let names: Array = stores.iter().map(|name| JsValue::from_str(name)).collect();
    db.transaction_with_str_sequence(&names).map_err(|error| Trouble::from_js(&error))
}

fn store(tx: &IdbTransaction, name: &str) -> Result<IdbObjectStore, Trouble> {
    tx.object_store(name).map_err(|error| Trouble::from_js(&error))
}

// The handlers are set at once; what is returned only waits.
fn answer(
    request: Result<IdbRequest, JsValue>,
) -> Result<impl Future<Output = Result<JsValue, Trouble>> + use<>, Trouble> {
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

fn key(record: &Record) -> JsValue {
    let Record { scope, phone, seq, hash, .. } = record;
    // Exact: a chain's numbers stay far below 2^53.
    Array::of4(&scope.as_str().into(), &phone.as_str().into(), &(*seq as f64).into(), &hash.as_str().into()).into()
}

// Above every key of the scope: an array sorts after any string.
fn end_of(scope: &str) -> JsValue {
    Array::of2(&scope.into(), &Array::new()).into()
}

fn range_of(scope: &str) -> Result<JsValue, Trouble> {
    IdbKeyRange::bound(&Array::of1(&scope.into()), &end_of(scope))
        .map(Into::into)
        .map_err(|error| Trouble::from_js(&error))
}

// As one JSON text: twenty thousand keys cross into Rust in one call instead of eighty thousand.
fn decode_keys(keys: &JsValue) -> Result<Vec<(String, String, u64, String)>, Trouble> {
    let text = JSON::stringify(keys).map_err(|error| Trouble::from_js(&error))?;
    serde_json::from_str(&String::from(text)).map_err(|error| Trouble::TryAgain(error.to_string()))
}

fn attachment_value(attachment: &Attachment) -> Result<JsValue, JsValue> {
    let value = Object::new();
    Reflect::set(&value, &"salt".into(), &Uint8Array::from(attachment.salt.as_slice()))?;
    Reflect::set(&value, &"media".into(), &attachment.media.as_str().into())?;
    Reflect::set(&value, &"bytes".into(), &Uint8Array::from(attachment.bytes.as_slice()))?;
    Ok(value.into())
}
