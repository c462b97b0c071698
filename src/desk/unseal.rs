//! Opens sealed files. The passphrase comes from the environment or is asked for on the terminal, never from the command line, where
//! everybody on the machine could read it.

use std::env;
use std::io::{self, BufRead, IsTerminal, Write};
use std::process::{Command, Stdio};

use aes_gcm::aead::{Aead, KeyInit, Payload};
use aes_gcm::{Aes256Gcm, Nonce};
use pbkdf2::pbkdf2_hmac;
use sha2::Sha256;
use unicode_normalization::UnicodeNormalization;

use crate::handover::sealed::{Seal, SealFault};

/// Where a passphrase is looked for first.
pub const VARIABLE: &str = "SOAKBOOK_PASSPHRASE";

/// The text in a sealed file.
///
/// # Errors
/// When it is damaged, or the passphrase does not open it.
pub fn open(file: &str, passphrase: &str) -> Result<String, SealFault> {
    let (seal, encrypted) = Seal::of(file)?;
    // As the app does: the same letters typed on another keyboard may come in other code points.
    let passphrase: String = passphrase.nfc().collect();
    let key = key(passphrase.as_bytes(), &seal.salt, seal.rounds);
    let opened = decrypt(key, seal.iv, seal.header.as_bytes(), &encrypted).ok_or(SealFault::NotOpened)?;
    String::from_utf8(opened).map_err(|_| SealFault::Damaged)
}

/// What was encrypted by AES-256-GCM (NIST SP 800-38D), with its tag behind it; `None` where the tag does not fit.
#[must_use]
pub fn decrypt(key: [u8; 32], iv: [u8; 12], authenticated: &[u8], encrypted: &[u8]) -> Option<Vec<u8>> {
    let payload = Payload { msg: encrypted, aad: authenticated };
    Aes256Gcm::new(&key.into()).decrypt(&Nonce::from(iv), payload).ok()
}

/// The key that a passphrase makes (RFC 8018 5.2).
#[must_use]
pub fn key(passphrase: &[u8], salt: &[u8], rounds: u32) -> [u8; 32] {
    let mut key = [0; 32];
    pbkdf2_hmac::<Sha256>(passphrase, salt, rounds, &mut key);
    key
}

/// The passphrase, from the environment or the terminal.
///
/// # Errors
/// When there is neither.
pub(super) fn passphrase(file: &str) -> Result<String, String> {
    if let Ok(passphrase) = env::var(VARIABLE) {
        return Ok(passphrase);
    }
    if !io::stdin().is_terminal() {
        return Err(format!("it is sealed: set {VARIABLE}, or run this on a terminal to be asked for the passphrase"));
    }
    eprint!("{file} is sealed. Passphrase: ");
    // Where there is no such program it is seen while it is typed.
    let echo = |state: &str| Command::new("stty").arg(state).stdin(Stdio::inherit()).stderr(Stdio::null()).status();
    let _ = (io::stderr().flush(), echo("-echo"));
    let mut line = String::new();
    let read = io::stdin().lock().read_line(&mut line);
    let _ = echo("echo");
    eprintln!();
    read.map_err(|error| error.to_string())?;
    Ok(line.trim_end_matches(['\r', '\n']).to_owned())
}
