//! SHA-256 (FIPS 180-4) and the texts it is written in: hex, base64 (RFC 4648, 4), HTTP digest field (RFC 9530).

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
    let digit = |nibble: u8| char::from_digit(u32::from(nibble), 16).unwrap_or('0');
    bytes.iter().flat_map(|byte| [digit(byte >> 4), digit(byte & 15)]).collect()
}

/// The bytes that `text` gives in hex digits of either case, two a byte; `None` when it is anything else.
pub fn from_hex(text: &str) -> Option<Vec<u8>> {
    let nibble = |digit: u8| char::from(digit).to_digit(16).map(|value| value as u8);
    let (pairs, rest) = text.as_bytes().as_chunks::<2>();
    if !rest.is_empty() {
        return None;
    }
    pairs.iter().map(|&[high, low]| Some(nibble(high)? << 4 | nibble(low)?)).collect()
}

const BASE64: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

/// `bytes` in base64 with the standard alphabet and padding.
pub fn base64(bytes: &[u8]) -> String {
    let mut out = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for group in bytes.chunks(3) {
        let bits = (0..3).fold(0_u32, |bits, i| bits << 8 | u32::from(group.get(i).copied().unwrap_or(0)));
        for place in 0..4 {
            let symbol = BASE64[(bits >> (18 - 6 * place) & 63) as usize];
            out.push(if place <= group.len() { char::from(symbol) } else { '=' });
        }
    }
    out
}
