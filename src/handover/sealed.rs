//! A visit file under a passphrase: where detection is off and who locked what is not for everybody who comes by a file.
//!
//! Two lines: a header in canonical JSON with everything needed to open it but the passphrase, and the encrypted file in base64. The key
//! is made from the passphrase by PBKDF2 with HMAC-SHA-256 (RFC 8018 5.2), the file is encrypted by AES-256-GCM (NIST SP 800-38D), and the
//! header's line is authenticated with it, so no bit of either line can change unseen. Deriving and encrypting are done elsewhere: in
//! the browser by its own, in the command by a library.

use crate::encoding::stored::{fields, read, write};
use crate::encoding::{base64, from_base64};
use std::fmt;

const FORMAT_NAME: &str = "soakbook sealed";
const KDF: &str = "PBKDF2-HMAC-SHA-256";
const CIPHER: &str = "AES-256-GCM";

/// Rounds of a file that is sealed here: OWASP Password Storage Cheat Sheet, PBKDF2 (600,000 for HMAC-SHA-256), from memory.
pub const ROUNDS: u32 = 600_000;
/// A file that asks for more is refused before anything is derived: it would keep a phone busy for minutes. Own figure.
pub const MAX_ROUNDS: u32 = 2_000_000;
/// The shortest passphrase that a file is sealed with, characters. Own figure.
pub const SHORTEST: usize = 10;
/// Bytes of the salt.
pub const SALT: usize = 16;
/// Bytes of the initialisation vector (SP 800-38D 5.2.1.1 recommends 96 bits).
pub const IV: usize = 12;

/// What the first line says.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Header {
    format: String,
    v: i64,
    kdf: String,
    rounds: i64,
    salt: String,
    cipher: String,
    iv: String,
}

fields!(Header { format, v, kdf, rounds, salt, cipher, iv });

/// What a file is sealed with beside the passphrase.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Seal {
    /// Rounds of the derivation.
    pub rounds: u32,
    /// Its salt.
    pub salt: [u8; SALT],
    /// The initialisation vector.
    pub iv: [u8; IV],
    /// What is authenticated with the file: the header's line.
    pub header: String,
}

/// Why a sealed file was not opened.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SealFault {
    /// It is not whole.
    Damaged,
    /// Another version, or other methods.
    Newer,
    /// It asks for too many rounds.
    TooManyRounds(i64),
    /// The passphrase does not open it, or something in it was changed: nobody can tell these apart.
    NotOpened,
}

impl fmt::Display for SealFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            SealFault::Damaged => f.write_str("the sealed file was cut off or changed: ask for it to be sent again"),
            SealFault::Newer => f.write_str("the file was sealed by a newer app: update this one"),
            SealFault::TooManyRounds(rounds) => {
                write!(f, "the sealed file asks for {rounds} rounds, more than the {MAX_ROUNDS} that are allowed: refused")
            }
            SealFault::NotOpened => f.write_str(
                "the passphrase does not open the file: check it; if it is right, the file was changed: ask for it to be sent again",
            ),
        }
    }
}

impl std::error::Error for SealFault {}

impl Seal {
    /// A new one; salt and vector must never have been used before.
    pub fn new(salt: [u8; SALT], iv: [u8; IV]) -> Seal {
        let header = Header {
            format: FORMAT_NAME.into(),
            v: 1,
            kdf: KDF.into(),
            rounds: ROUNDS.into(),
            salt: base64(&salt),
            cipher: CIPHER.into(),
            iv: base64(&iv),
        };
        Seal { rounds: ROUNDS, salt, iv, header: write(&header) }
    }

    /// The whole file, from what the encryption gave: the text encrypted, with the tag of 16 bytes behind it.
    pub fn file(&self, encrypted: &[u8]) -> String {
        format!("{}\n{}\n", self.header, base64(encrypted))
    }

    /// What a sealed file is opened with, and the bytes to be decrypted.
    ///
    /// # Errors
    /// When it is not whole, or asks for what is not allowed; nothing was derived then.
    pub fn of(file: &str) -> Result<(Seal, Vec<u8>), SealFault> {
        let lines = file.strip_suffix('\n').and_then(|lines| lines.split_once('\n'));
        let (line, body) = lines.ok_or(SealFault::Damaged)?;
        // Mail and editors write line ends of their own.
        let [line, body] = [line, body].map(|line| line.strip_suffix('\r').unwrap_or(line));
        let header: Header = read(line).ok_or(SealFault::Damaged)?;
        if (header.format.as_str(), header.v, header.kdf.as_str(), header.cipher.as_str())
            != (FORMAT_NAME, 1, KDF, CIPHER)
        {
            return Err(if header.format == FORMAT_NAME { SealFault::Newer } else { SealFault::Damaged });
        }
        let rounds = u32::try_from(header.rounds).ok().filter(|rounds| *rounds > 0).ok_or(SealFault::Damaged);
        if header.rounds > MAX_ROUNDS.into() {
            return Err(SealFault::TooManyRounds(header.rounds));
        }
        let bytes = |text: &str| from_base64(text).ok_or(SealFault::Damaged);
        let salt = bytes(&header.salt)?.try_into().map_err(|_| SealFault::Damaged)?;
        let iv = bytes(&header.iv)?.try_into().map_err(|_| SealFault::Damaged)?;
        Ok((Seal { rounds: rounds?, salt, iv, header: line.into() }, bytes(body)?))
    }
}

/// Opens sealed files one after another, each by itself: what becomes of one keeps no other back. `take` gets the text of each that was
/// opened, and the fault of each that nothing opens; those that may still be opened come back, each with why it was not.
pub async fn open_each<Why>(
    files: Vec<(String, String)>,
    decrypt: impl AsyncFn(&Seal, &[u8]) -> Result<Vec<u8>, Why>,
    mut take: impl AsyncFnMut(String, Result<String, SealFault>),
) -> Vec<((String, String), Why)> {
    let mut stay = Vec::new();
    for (name, file) in files {
        let opened = match Seal::of(&file) {
            Err(fault) => Err(fault),
            Ok((seal, encrypted)) => match decrypt(&seal, &encrypted).await {
                Ok(bytes) => String::from_utf8(bytes).map_err(|_| SealFault::Damaged),
                Err(why) => {
                    stay.push(((name, file), why));
                    continue;
                }
            },
        };
        take(name, opened).await;
    }
    stay
}

/// Whether a text is a sealed file rather than a visit file.
pub fn is_sealed(text: &str) -> bool {
    let line = text.split('\n').next().unwrap_or_default();
    line.len() < 1_000 && line.contains(FORMAT_NAME) && line.contains("\"cipher\"")
}

/// The name of a sealed file, from that of the file in it; where an ending must be a known one, `.txt` comes behind it.
pub fn sealed_name(name: &str) -> String {
    format!("{}.sealed", name.strip_suffix(".json").unwrap_or(name))
}
