//! SHA-256 (FIPS 180-4) and the texts it is written in: hex, base64 (RFC 4648, 4), HTTP digest field (RFC 9530).

use base64ct::{Base64, Encoding};
use sha2::{Digest, Sha256};

/// The SHA-256 of `bytes`.
pub fn sha256(bytes: &[u8]) -> [u8; 32] {
    Sha256::digest(bytes).into()
}

/// The SHA-256 of `bytes` as 64 lower-case hex digits.
pub fn sha256_hex(bytes: &[u8]) -> String {
    to_hex(&sha256(bytes))
}

/// The value of an HTTP `Content-Digest` field for a body of `bytes` (RFC 9530, 2).
pub fn content_digest(bytes: &[u8]) -> String {
    format!("sha-256=:{}:", base64(&sha256(bytes)))
}

/// `bytes` as lower-case hex digits, two a byte.
pub fn to_hex(bytes: &[u8]) -> String {
    base16ct::lower::encode_string(bytes)
}

/// The bytes that `text` gives in hex digits of either case, two a byte; `None` when it is anything else.
pub fn from_hex(text: &str) -> Option<Vec<u8>> {
    base16ct::mixed::decode_vec(text).ok()
}

/// `bytes` in base64 with the standard alphabet and padding.
pub fn base64(bytes: &[u8]) -> String {
    Base64::encode_string(bytes)
}

/// The bytes that `text` encodes; `None` when it is not padded base64 in its one canonical form.
pub fn from_base64(text: &str) -> Option<Vec<u8>> {
    Base64::decode_vec(text).ok()
}
