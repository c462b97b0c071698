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
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
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
        let digit = |byte: u8| match byte {
            b'0'..=b'9' => Ok(byte - b'0'),
            b'a'..=b'f' => Ok(byte - b'a' + 10),
            _ => Err(SHAPE),
        };
        let text = text.as_bytes();
        if text.len() != 64 {
            return Err(SHAPE);
        }
        let mut bytes = [0; 32];
        for (byte, pair) in bytes.iter_mut().zip(text.chunks_exact(2)) {
            *byte = digit(pair[0])? << 4 | digit(pair[1])?;
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
