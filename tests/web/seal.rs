//! The browser's own means open what another program sealed, and what they seal themselves.

use soakbook::browser::seal::{NotDone, Parameters, open, seal};
use soakbook::handover::sealed::{IV, SALT, Seal};
use wasm_bindgen_test::wasm_bindgen_test;

/// As in the native tests: Python 3.11's hashlib.pbkdf2_hmac and cryptography 48.0.0, 1,000 rounds.
const FILE: &str = concat!(
    r#"{"cipher":"AES-256-GCM","format":"soakbook sealed","iv":"ZGVmZ2hpamtsbW5v","kdf":"PBKDF2-HMAC-SHA-256","#,
    r#""rounds":1000,"salt":"AAECAwQFBgcICQoLDA0ODw==","v":1}"#,
    "\nNz9y10/NAFDhfoCJRxF45oTjzQssKG0wwW3KVKFloW/+v7WgTAm8Sg==\n"
);

fn with(seal: &Seal) -> Parameters<'_> {
    Parameters { rounds: seal.rounds, salt: &seal.salt, iv: &seal.iv, header: &seal.header }
}

#[wasm_bindgen_test]
async fn what_another_program_sealed_is_opened_by_its_passphrase_alone() {
    let (seal, encrypted) = Seal::of(FILE).unwrap();
    let text = "what was sealed: 90 °C\n".as_bytes().to_vec();
    assert_eq!(open("fünf Hühner gackern", with(&seal), &encrypted).await, Ok(text.clone()));
    // The same letters as other code points: u and a combining diaeresis.
    assert_eq!(open("fu\u{308}nf Hu\u{308}hner gackern", with(&seal), &encrypted).await, Ok(text));
    assert_eq!(open("fünf Hühner", with(&seal), &encrypted).await, Err(NotDone::NotOpened));
}

#[wasm_bindgen_test]
async fn what_is_sealed_here_is_opened_here_unless_a_bit_changed() {
    let new = Seal::new([1; SALT], [2; IV]);
    let encrypted = seal("a long passphrase", with(&new), b"a visit").await.unwrap();
    let (read, bytes) = Seal::of(&new.file(&encrypted)).unwrap();
    assert_eq!(open("a long passphrase", with(&read), &bytes).await, Ok(b"a visit".to_vec()));
    let mut changed = bytes.clone();
    changed[3] ^= 1;
    assert_eq!(open("a long passphrase", with(&read), &changed).await, Err(NotDone::NotOpened));
    let header = read.header.replace("600000", "600001");
    let other = Parameters { header: &header, ..with(&read) };
    assert_eq!(open("a long passphrase", other, &bytes).await, Err(NotDone::NotOpened));
}
