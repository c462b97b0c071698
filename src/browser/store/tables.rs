//! The tables of the database and what is asked of them.

use std::collections::HashSet;
use std::rc::Rc;

use js_sys::{Array, JSON, Object, Reflect, Uint8Array};
use wasm_bindgen::prelude::*;
use web_sys::{IdbDatabase, IdbKeyRange, IdbObjectStore, IdbRequest, IdbTransaction};

use super::idb::{Answer, Ended, Writing, answer, begin, commit, read, store, strict};
use crate::browser::js::member;
use crate::encoding::picture::is_picture;
use crate::storage::Settled;
use crate::storage::Trouble;
use crate::storage::{Attachment, Attachments, Batch, Record};

/// Texts, under [scope, phone, seq, hash]: two texts at one number of a chain are both kept.
const ENTRIES: &str = "entries";
/// Attachments, under their hash; pictures behind all others, so that a start reads none of their bytes.
const ATTACHMENTS: &str = "attachments";
/// What stands before the hash of a picture. It sorts after every hash.
const PICTURE: &str = "picture/";
/// Half-filled forms, under the form's name.
pub(super) const DRAFTS: &str = "drafts";
/// What this installation knows of itself. It lies beside the entries so that it is lost when they are.
const OWN: &str = "own";

/// What is known of files on their way to the office, under their names: they stay as receipts.
pub(super) const OUTBOX: &str = "outbox";
/// The texts of those that are not confirmed, under their names.
pub(super) const FILES: &str = "files";

pub(super) const STORES: [&str; 6] = [ENTRIES, ATTACHMENTS, DRAFTS, OWN, OUTBOX, FILES];

/// Begins writing a batch: `add` only, so that nothing recorded can ever be replaced.
pub(super) fn begin_batch(db: &IdbDatabase, batch: &Batch) -> Result<Writing, Trouble> {
    let stores: &[&str] = if batch.attachments.is_empty() { &[ENTRIES] } else { &[ENTRIES, ATTACHMENTS] };
    begin(db, stores, |tx| {
        let entries = tx.object_store(ENTRIES)?;
        for record in &batch.records {
            entries.add_with_key(&record.text.as_str().into(), &key(record))?;
        }
        add_attachments(tx, &batch.attachments).map(drop)
    })
}

/// Records asked for or added in one task: a file has twenty thousand, and a tap has its turn between.
const SLICE: usize = 500;

/// Begins writing a long batch in one transaction, a slice at a time: all of it is stored or nothing.
pub(super) fn begin_in_slices(db: &IdbDatabase, batch: Batch) -> Result<Writing, Trouble> {
    let tx = strict(db, &[ENTRIES, ATTACHMENTS])?;
    if let Err(error) = add_slice(&tx, &Rc::new(batch), 0) {
        drop(tx.abort());
        return Err(Trouble::from_js(&error));
    }
    Ok(Writing::of(tx))
}

// The next slice is added when the last one is answered, in the handler itself: outside of one the transaction would end.
fn add_slice(tx: &IdbTransaction, batch: &Rc<Batch>, from: usize) -> Result<(), JsValue> {
    let entries = tx.object_store(ENTRIES)?;
    let to = batch.records.len().min(from + SLICE);
    let mut last = None;
    for record in &batch.records[from..to] {
        last = Some(entries.add_with_key(&record.text.as_str().into(), &key(record))?);
    }
    if let Some(request) = last.filter(|_| to < batch.records.len()) {
        then(&request, tx, move |tx, batch| add_slice(tx, batch, to), batch);
        return Ok(());
    }
    add_pictures(tx, batch, 0)
}

/// Attachments added in one task: a picture has some hundred thousand bytes.
const FEW: usize = 8;

fn add_pictures(tx: &IdbTransaction, batch: &Rc<Batch>, from: usize) -> Result<(), JsValue> {
    let to = batch.attachments.len().min(from + FEW);
    let last = add_attachments(tx, &batch.attachments[from..to])?;
    match last.filter(|_| to < batch.attachments.len()) {
        Some(request) => {
            then(&request, tx, move |tx, batch| add_pictures(tx, batch, to), batch);
        }
        None => commit(tx),
    }
    Ok(())
}

/// Goes on when a request is answered; where that fails nothing of the transaction is stored.
fn then(
    request: &IdbRequest,
    tx: &IdbTransaction,
    next: impl FnOnce(&IdbTransaction, &Rc<Batch>) -> Result<(), JsValue> + 'static,
    batch: &Rc<Batch>,
) {
    let (tx, batch) = (tx.clone(), Rc::clone(batch));
    let next = Closure::once_into_js(move || {
        if next(&tx, &batch).is_err() {
            drop(tx.abort());
        }
    });
    request.set_onsuccess(Some(next.unchecked_ref()));
}

fn add_attachments(tx: &IdbTransaction, attachments: &[Attachment]) -> Result<Option<IdbRequest>, JsValue> {
    let mut last = None;
    for attachment in attachments {
        let kept = tx.object_store(ATTACHMENTS)?;
        last = Some(kept.add_with_key(&attachment_value(attachment)?, &key_of(attachment).into())?);
    }
    Ok(last)
}

fn key_of(attachment: &Attachment) -> String {
    if is_picture(&attachment.media) { picture(&attachment.hash) } else { attachment.hash.clone() }
}

fn picture(hash: &str) -> String {
    format!("{PICTURE}{hash}")
}

/// What of a batch is not stored yet, each text once; an error when a key holds another text.
pub(super) async fn missing(db: &IdbDatabase, batch: &Batch) -> Result<Batch, Trouble> {
    let (mut rest, mut seen) = (Batch::default(), HashSet::new());
    for slice in batch.records.chunks(SLICE) {
        // All requests of a transaction are made before the first is waited for, or it would end between them. What another page writes
        // between two slices is found when the rest is added.
        let entries = store(&read(db, &[ENTRIES])?, ENTRIES)?;
        let texts: Vec<_> = slice.iter().map(|record| answer(entries.get(&key(record)))).collect();
        for (record, text) in slice.iter().zip(texts) {
            match text?.await?.as_string() {
                None if seen.insert(&record.hash) => rest.records.push(record.clone()),
                None => {}
                Some(text) if text == record.text => {}
                Some(_) => return Err(Trouble::Altered(record.hash.clone())),
            }
        }
    }
    let kept = store(&read(db, &[ATTACHMENTS])?, ATTACHMENTS)?;
    let keys: Vec<_> = batch.attachments.iter().map(|one| answer(kept.get_key(&key_of(one).into()))).collect();
    for (attachment, key) in batch.attachments.iter().zip(keys) {
        if key?.await?.is_undefined() && seen.insert(&attachment.hash) {
            rest.attachments.push(attachment.clone());
        }
    }
    Ok(rest)
}

/// The records of the given scopes, or of all of them.
pub(super) async fn records(db: &IdbDatabase, scopes: Option<&[String]>) -> Result<Vec<Record>, Trouble> {
    let entries = store(&read(db, &[ENTRIES])?, ENTRIES)?;
    let asked = match scopes {
        None => vec![ask(&entries, &JsValue::UNDEFINED)?],
        Some(scopes) => scopes.iter().map(|scope| ask(&entries, &range_of(scope)?)).collect::<Result<_, Trouble>>()?,
    };
    decode(asked).await
}

/// The records outside of the settled stretches, and those of one scope more.
pub(super) async fn unsettled(db: &IdbDatabase, settled: &Settled, also: Option<&str>) -> Result<Vec<Record>, Trouble> {
    let entries = store(&read(db, &[ENTRIES])?, ENTRIES)?;
    let mut asked = Vec::new();
    let mut from = None;
    for (first, last) in settled.stretches() {
        let to = start_of(first);
        asked.push(ask(&entries, &between(from.as_ref(), Some(&to))?)?);
        from = Some(end_of(last));
    }
    asked.push(ask(&entries, &between(from.as_ref(), None)?)?);
    if let Some(scope) = also.filter(|scope| settled.has(scope)) {
        asked.push(ask(&entries, &range_of(scope)?)?);
    }
    decode(asked).await
}

/// At most so many records of a stretch, behind a key; with the key to go on from, while there may be more.
pub(super) async fn page(
    db: &IdbDatabase,
    (first, last): (&str, &str),
    behind: Option<JsValue>,
    most: u32,
) -> Result<(Vec<Record>, Option<JsValue>), Trouble> {
    let entries = store(&read(db, &[ENTRIES])?, ENTRIES)?;
    let range = between(Some(&behind.unwrap_or_else(|| start_of(first))), Some(&end_of(last)))?;
    let keys = answer(entries.get_all_keys_with_key_and_limit(&range, most))?;
    let texts = answer(entries.get_all_with_key_and_limit(&range, most))?;
    let keys: Array = keys.await?.unchecked_into();
    let behind = (keys.length() == most).then(|| keys.get(most - 1));
    Ok((decode(vec![(async { Ok(keys.into()) }, texts)]).await?, behind))
}

/// Asks for keys and texts of a range. All requests are made before the first is waited for, or the transaction would end.
fn ask(
    entries: &IdbObjectStore,
    range: &JsValue,
) -> Result<(impl Future<Output = Answer> + use<>, impl Future<Output = Answer> + use<>), Trouble> {
    Ok((answer(entries.get_all_keys_with_key(range))?, answer(entries.get_all_with_key(range))?))
}

async fn decode(
    asked: Vec<(impl Future<Output = Answer>, impl Future<Output = Answer>)>,
) -> Result<Vec<Record>, Trouble> {
    let mut records = Vec::new();
    for (keys, texts) in asked {
        let keys = decode_keys(&keys.await?)?;
        let texts: Array = texts.await?.unchecked_into();
        for ((scope, phone, seq, hash), text) in keys.into_iter().zip(texts.iter()) {
            // A value that is no text was not written here; it is left where it is.
            if let Some(text) = text.as_string() {
                records.push(Record { scope, phone, seq, hash, text });
            }
        }
    }
    Ok(records)
}

/// One attachment by its hash.
pub(super) async fn attachment(db: &IdbDatabase, hash: &str) -> Result<Option<Attachment>, Trouble> {
    let kept = store(&read(db, &[ATTACHMENTS])?, ATTACHMENTS)?;
    let (other, drawn) = (answer(kept.get(&hash.into()))?, answer(kept.get(&picture(hash).into()))?);
    let (other, drawn) = (other.await?, drawn.await?);
    Ok(decode_attachment(hash.into(), &other).or_else(|| decode_attachment(hash.into(), &drawn)))
}

/// Removes an attachment.
pub(super) fn begin_erasing(db: &IdbDatabase, hash: &str) -> Result<Writing, Trouble> {
    begin(db, &[ATTACHMENTS], |tx| {
        let kept = tx.object_store(ATTACHMENTS)?;
        kept.delete(&hash.into())?;
        kept.delete(&picture(hash).into()).map(drop)
    })
}

/// Every attachment, of pictures their hashes alone.
pub(super) async fn attachments(db: &IdbDatabase) -> Result<Attachments, Trouble> {
    let kept = store(&read(db, &[ATTACHMENTS])?, ATTACHMENTS)?;
    let bound = |range: Result<IdbKeyRange, JsValue>| range.map_err(|error| Trouble::from_js(&error));
    let others = bound(IdbKeyRange::upper_bound_with_open(&PICTURE.into(), true))?;
    let pictures = bound(IdbKeyRange::lower_bound(&PICTURE.into()))?;
    let (keys, values) = (answer(kept.get_all_keys_with_key(&others))?, answer(kept.get_all_with_key(&others))?);
    let pictures = answer(kept.get_all_keys_with_key(&pictures))?;
    let (keys, values): (Array, Array) = (keys.await?.unchecked_into(), values.await?.unchecked_into());
    let pictures: Array = pictures.await?.unchecked_into();
    let read = keys.iter().zip(values.iter()).filter_map(|(key, value)| decode_attachment(key.as_string()?, &value));
    let hash = |key: JsValue| key.as_string()?.strip_prefix(PICTURE).map(str::to_string);
    Ok(Attachments { read: read.collect(), pictures: pictures.iter().filter_map(hash).collect() })
}

fn decode_attachment(hash: String, value: &JsValue) -> Option<Attachment> {
    let bytes = |name| member(value, name).map(|bytes| Uint8Array::new(&bytes).to_vec());
    let media = member(value, "media")?.as_string()?;
    Some(Attachment { hash, salt: bytes("salt")?, media, bytes: bytes("bytes")? })
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

/// What is known of every file of the outbox.
pub(super) async fn outbox(db: &IdbDatabase) -> Result<Vec<String>, Trouble> {
    let known: Array = answer(store(&read(db, &[OUTBOX])?, OUTBOX)?.get_all())?.await?.unchecked_into();
    Ok(known.iter().filter_map(|text| text.as_string()).collect())
}

/// The text of a file that is not confirmed.
pub(super) async fn file(db: &IdbDatabase, name: &str) -> Result<Option<String>, Trouble> {
    Ok(answer(store(&read(db, &[FILES])?, FILES)?.get(&name.into()))?.await?.as_string())
}

fn key(record: &Record) -> JsValue {
    let Record { scope, phone, seq, hash, .. } = record;
    // Exact: a chain's numbers stay far below 2^53.
    Array::of4(&scope.as_str().into(), &phone.as_str().into(), &(*seq as f64).into(), &hash.as_str().into()).into()
}

// Below every key of the scope.
fn start_of(scope: &str) -> JsValue {
    Array::of1(&scope.into()).into()
}

// Above every key of the scope: an array sorts after any string.
fn end_of(scope: &str) -> JsValue {
    Array::of2(&scope.into(), &Array::new()).into()
}

fn range_of(scope: &str) -> Result<JsValue, Trouble> {
    between(Some(&start_of(scope)), Some(&end_of(scope)))
}

// No key of a record equals a bound, but for the one that a page ended with, which is not wanted again.
fn between(from: Option<&JsValue>, to: Option<&JsValue>) -> Result<JsValue, Trouble> {
    let range = match (from, to) {
        (Some(from), Some(to)) => IdbKeyRange::bound_with_lower_open_and_upper_open(from, to, true, true),
        (Some(from), None) => IdbKeyRange::lower_bound_with_open(from, true),
        (None, Some(to)) => IdbKeyRange::upper_bound_with_open(to, true),
        (None, None) => return Ok(JsValue::UNDEFINED),
    };
    range.map(Into::into).map_err(|error| Trouble::from_js(&error))
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
