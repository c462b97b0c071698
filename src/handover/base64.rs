//! Base64 read back (RFC 4648, 4): standard alphabet, padded, nothing else.

/// The bytes that `text` stands for; none when it is not base64 in its one canonical form.
pub(super) fn from_base64(text: &str) -> Option<Vec<u8>> {
    let digit = |symbol: u8| match symbol {
        b'A'..=b'Z' => Some(symbol - b'A'),
        b'a'..=b'z' => Some(symbol - b'a' + 26),
        b'0'..=b'9' => Some(symbol - b'0' + 52),
        b'+' => Some(62),
        b'/' => Some(63),
        _ => None,
    };
    let symbols = text.trim_end_matches('=').as_bytes();
    let padding = text.len() - symbols.len();
    if !text.len().is_multiple_of(4) || padding > 2 {
        return None;
    }
    let mut bytes = Vec::with_capacity(symbols.len() / 4 * 3 + 2);
    let (mut bits, mut held) = (0_u32, 0_u32);
    for symbol in symbols {
        bits = bits << 6 | u32::from(digit(*symbol)?);
        held += 6;
        if held >= 8 {
            held -= 8;
            bytes.push((bits >> held & 0xff) as u8);
            bits &= (1 << held) - 1;
        }
    }
    // Bits left over must be zero, or two texts would stand for the same bytes.
    (bits == 0 && held < 6).then_some(bytes)
}
