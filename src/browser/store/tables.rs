//! The tables of the database and what is asked of them.

use std::collections::HashSet;

use js_sys::{Array, JSON, Object, Reflect, Uint8Array};
use wasm_bindgen::prelude::*;
use web_sys::{IdbDatabase, IdbKeyRange};

use super::idb::{Ended, Writing, answer, begin, read, store};
use super::records::{Attachment, Batch, Record};
use crate::browser::js::member;
use crate::browser::trouble::Trouble;

/// Texts, under [scope, phone, seq, hash]: two texts at one number of a chain are both kept.
const ENTRIES: &str = "entries";
/// Attachments, under their hash.
pub(super) const ATTACHMENTS: &str = "attachments";
/// Half-filled forms, under the form's name.
pub(super) const DRAFTS: &str = "drafts";
/// What this installation knows of itself. It lies beside the entries so that it is lost when they are.
const OWN: &str = "own";

pub(super) const STORES: [&str; 4] = [ENTRIES, ATTACHMENTS, DRAFTS, OWN];

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

/// What of a batch is not stored yet, each text once; an error when a key holds another text.
pub(super) async fn missing(db: &IdbDatabase, batch: &Batch) -> Result<Batch, Trouble> {
    let tx = read(db, &[ENTRIES, ATTACHMENTS])?;
    let entries = store(&tx, ENTRIES)?;
    let kept = store(&tx, ATTACHMENTS)?;
    // All requests are made before the first is waited for, or the transaction would end between them.
    let texts: Vec<_> = batch.records.iter().map(|record| answer(entries.get(&key(record)))).collect();
    let keys: Vec<_> = batch.attachments.iter().map(|one| answer(kept.get_key(&one.hash.as_str().into()))).collect();
    let (mut rest, mut seen) = (Batch::default(), HashSet::new());
    for (record, text) in batch.records.iter().zip(texts) {
        match text?.await?.as_string() {
            None if seen.insert(&record.hash) => rest.records.push(record.clone()),
            None => {}
            Some(text) if text == record.text => {}
            Some(_) => return Err(Trouble::Altered(record.hash.clone())),
        }
    }
    for (attachment, key) in batch.attachments.iter().zip(keys) {
        if key?.await?.is_undefined() && seen.insert(&attachment.hash) {
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
    let entries = store(&read(db, &[ENTRIES])?, ENTRIES)?;
    loop {
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
    Ok(decode_attachment(hash.into(), &value))
}

/// Every attachment.
pub(super) async fn attachments(db: &IdbDatabase) -> Result<Vec<Attachment>, Trouble> {
    let kept = store(&read(db, &[ATTACHMENTS])?, ATTACHMENTS)?;
    let (keys, values) = (answer(kept.get_all_keys())?, answer(kept.get_all())?);
    let (keys, values): (Array, Array) = (keys.await?.unchecked_into(), values.await?.unchecked_into());
    Ok(keys.iter().zip(values.iter()).filter_map(|(key, value)| decode_attachment(key.as_string()?, &value)).collect())
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
