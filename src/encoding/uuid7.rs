//! UUID version 7: RFC 9562, 5.7.

use uuid::{Builder, Uuid};

/// The version 7 UUID of `unix_ms` (48 bits are kept) and 80 bits handed in by the caller; version and variant overwrite
/// six of them: the upper half of byte 0 and the upper two bits of byte 2.
pub fn uuid7(unix_ms: u64, random: [u8; 10]) -> Uuid {
    Builder::from_unix_timestamp_millis(unix_ms, &random).into_uuid()
}

/// The UUID of any version that a text is, in the one form that is written: lower case, with hyphens.
pub fn read_uuid(text: &str) -> Option<Uuid> {
    let id = Uuid::try_parse(text).ok()?;
    (id.hyphenated().encode_lower(&mut Uuid::encode_buffer()) == text).then_some(id)
}
