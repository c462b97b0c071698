//! Encrypts and decrypts under a passphrase with the browser's own (Web Cryptography API): PBKDF2 with HMAC-SHA-256, AES-256-GCM.

use js_sys::{Array, Object, Promise, Reflect, Uint8Array};
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;

use super::js::words;
use super::text::nfc;

#[wasm_bindgen]
extern "C" {
    #[wasm_bindgen(catch, js_namespace = ["crypto", "subtle"], js_name = importKey)]
    fn import(format: &str, bytes: &Uint8Array, kind: &str, more: bool, uses: &Array) -> Result<Promise, JsValue>;

    #[wasm_bindgen(catch, js_namespace = ["crypto", "subtle"], js_name = deriveKey)]
    fn derive(how: &Object, from: &JsValue, kind: &Object, more: bool, uses: &Array) -> Result<Promise, JsValue>;

    #[wasm_bindgen(catch, js_namespace = ["crypto", "subtle"])]
    fn encrypt(how: &Object, key: &JsValue, bytes: &Uint8Array) -> Result<Promise, JsValue>;

    #[wasm_bindgen(catch, js_namespace = ["crypto", "subtle"])]
    fn decrypt(how: &Object, key: &JsValue, bytes: &Uint8Array) -> Result<Promise, JsValue>;
}

/// What a file is sealed with beside the passphrase.
#[derive(Clone, Copy, Debug)]
pub struct Parameters<'a> {
    /// Rounds of the derivation.
    pub rounds: u32,
    /// Its salt.
    pub salt: &'a [u8],
    /// The initialisation vector.
    pub iv: &'a [u8],
    /// What is authenticated with the file.
    pub header: &'a str,
}

/// Why it was not done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotDone {
    /// The passphrase does not open it, or a bit of it was changed.
    NotOpened,
    /// This browser has no such means here, in its words.
    Absent(String),
}

/// The bytes encrypted, with the tag behind them.
pub async fn seal(passphrase: &str, with: Parameters<'_>, bytes: &[u8]) -> Result<Vec<u8>, NotDone> {
    let key = key(passphrase, with).await.map_err(absent)?;
    let how = how(with).map_err(absent)?;
    settled(encrypt(&how, &key, &bytes.into())).await.map(|bytes| Uint8Array::new(&bytes).to_vec()).map_err(absent)
}

/// The bytes decrypted.
pub async fn open(passphrase: &str, with: Parameters<'_>, bytes: &[u8]) -> Result<Vec<u8>, NotDone> {
    let key = key(passphrase, with).await.map_err(absent)?;
    let how = how(with).map_err(absent)?;
    let opened = settled(decrypt(&how, &key, &bytes.into())).await;
    opened.map(|bytes| Uint8Array::new(&bytes).to_vec()).map_err(|_| NotDone::NotOpened)
}

fn absent(error: JsValue) -> NotDone {
    NotDone::Absent(words(&error))
}

async fn settled(started: Result<Promise, JsValue>) -> Result<JsValue, JsValue> {
    JsFuture::from(started?).await
}

async fn key(passphrase: &str, with: Parameters<'_>) -> Result<JsValue, JsValue> {
    // The same letters typed on another keyboard may come in other code points.
    let typed = Uint8Array::from(nfc(passphrase).as_bytes());
    let from = settled(import("raw", &typed, "PBKDF2", false, &Array::of1(&"deriveKey".into()))).await?;
    let derivation = object(&[
        ("name", "PBKDF2".into()),
        ("hash", "SHA-256".into()),
        ("salt", Uint8Array::from(with.salt).into()),
        ("iterations", with.rounds.into()),
    ])?;
    let kind = object(&[("name", "AES-GCM".into()), ("length", 256.into())])?;
    settled(derive(&derivation, &from, &kind, false, &Array::of2(&"encrypt".into(), &"decrypt".into()))).await
}

fn how(with: Parameters<'_>) -> Result<Object, JsValue> {
    object(&[
        ("name", "AES-GCM".into()),
        ("iv", Uint8Array::from(with.iv).into()),
        ("additionalData", Uint8Array::from(with.header.as_bytes()).into()),
    ])
}

fn object(members: &[(&str, JsValue)]) -> Result<Object, JsValue> {
    let object = Object::new();
    for (name, value) in members {
        Reflect::set(&object, &(*name).into(), value)?;
    }
    Ok(object)
}
