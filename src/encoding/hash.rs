//! A SHA-256 as a name.

use super::{Stored, sha256};
use serde_json::Value;
use std::fmt;
use std::str::FromStr;

/// A SHA-256, shown as lower-case hex. It names an entry by its text, and an attachment by its salt and bytes.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Hash([u8; 32]);

impl Hash {
    /// The one that sorts before every other.
    pub const LOWEST: Hash = Hash([0; 32]);

    /// The SHA-256 of `bytes`.
    pub fn of(bytes: &[u8]) -> Hash {
        Hash(sha256(bytes))
    }
}

impl fmt::Display for Hash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut digits = [0; 64];
        f.write_str(base16ct::lower::encode_str(&self.0, &mut digits).map_err(|_| fmt::Error)?)
    }
}

impl fmt::Debug for Hash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl FromStr for Hash {
    type Err = &'static str;

    fn from_str(text: &str) -> Result<Hash, &'static str> {
        const SHAPE: &str = "a hash is 64 lower-case hex digits";
        let mut bytes = [0; 32];
        let read = base16ct::lower::decode(text, &mut bytes).map_err(|_| SHAPE)?;
        if read.len() < bytes.len() {
            return Err(SHAPE);
        }
        Ok(Hash(bytes))
    }
}

impl Stored for Hash {
    fn to_value(&self) -> Value {
        Value::String(self.to_string())
    }

    fn from_value(value: &Value) -> Option<Hash> {
        value.as_str()?.parse().ok()
    }
}
