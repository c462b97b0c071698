//! Which characters the bytes of a text file stand for.

/// A character encoding that spreadsheets save.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Charset {
    /// UTF-8.
    #[default]
    Utf8,
    /// UTF-16, the lower byte first.
    Utf16Le,
    /// UTF-16, the higher byte first.
    Utf16Be,
    /// Windows-1252.
    Windows1252,
}

/// Why bytes are no text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoText {
    /// There are none.
    Empty,
    /// A workbook of a spreadsheet program.
    Workbook,
    /// A picture.
    Picture,
    /// Something else that is no text.
    Binary,
    /// No text in this encoding.
    OtherEncoding,
}

/// Windows-1252 from 0x80 to 0x9F; all other bytes are the characters of their number.
///
/// Source: WHATWG Encoding Standard, index windows-1252.
const HIGH: [char; 32] = [
    '\u{20ac}', '\u{81}', '\u{201a}', '\u{192}', '\u{201e}', '\u{2026}', '\u{2020}', '\u{2021}', '\u{2c6}', '\u{2030}',
    '\u{160}', '\u{2039}', '\u{152}', '\u{8d}', '\u{17d}', '\u{8f}', '\u{90}', '\u{2018}', '\u{2019}', '\u{201c}',
    '\u{201d}', '\u{2022}', '\u{2013}', '\u{2014}', '\u{2dc}', '\u{2122}', '\u{161}', '\u{203a}', '\u{153}', '\u{9d}',
    '\u{17e}', '\u{178}',
];

/// How files begin that people rename or mistake for a sheet: by their published formats.
const NO_TEXTS: [(&[u8], NoText); 7] = [
    (b"PK\x03\x04", NoText::Workbook),
    (b"\xd0\xcf\x11\xe0", NoText::Workbook),
    (b"\x89PNG", NoText::Picture),
    (b"\xff\xd8\xff", NoText::Picture),
    (b"GIF8", NoText::Picture),
    (b"%PDF", NoText::Binary),
    (b"\x1f\x8b", NoText::Binary),
];

/// How much of a file is looked at, bytes.
const LOOK: usize = 4_096;

/// The encoding that these bytes are probably in.
///
/// # Errors
/// When they are no text.
pub fn guess(bytes: &[u8]) -> Result<Charset, NoText> {
    if bytes.is_empty() {
        return Err(NoText::Empty);
    }
    if let Some((_, what)) = NO_TEXTS.iter().find(|(begins, _)| bytes.starts_with(begins)) {
        return Err(*what);
    }
    match bytes {
        [0xff, 0xfe, ..] => return Ok(Charset::Utf16Le),
        [0xfe, 0xff, ..] => return Ok(Charset::Utf16Be),
        _ => {}
    }
    let head = &bytes[..bytes.len().min(LOOK)];
    if head.contains(&0) {
        // Of a text with the letters of Europe nearly every second byte of UTF-16 is zero.
        let zeros = |odd: usize| head.iter().skip(odd).step_by(2).filter(|byte| **byte == 0).count() * 2;
        let most = |zeros: usize| zeros * 10 >= head.len() * 6;
        return match (most(zeros(0)), most(zeros(1))) {
            (true, false) => Ok(Charset::Utf16Be),
            (false, true) => Ok(Charset::Utf16Le),
            _ => Err(NoText::Binary),
        };
    }
    if std::str::from_utf8(bytes).is_ok() {
        return Ok(Charset::Utf8);
    }
    // A text holds no control characters but tab, line ends and page breaks.
    let control = |byte: &&u8| **byte < 0x20 && !matches!(byte, b'\t' | b'\n' | b'\r' | 0x0c);
    if head.iter().any(|byte| control(&byte)) { Err(NoText::Binary) } else { Ok(Charset::Windows1252) }
}

/// The text that the bytes stand for, without the mark at its beginning.
///
/// # Errors
/// When they are no text in this encoding.
pub fn decode(bytes: &[u8], charset: Charset) -> Result<String, NoText> {
    let text = match charset {
        Charset::Utf8 => std::str::from_utf8(bytes).map_err(|_| NoText::OtherEncoding)?.to_string(),
        Charset::Windows1252 => {
            let letter = |byte: &u8| match byte {
                0x80..=0x9f => HIGH[usize::from(byte - 0x80)],
                _ => char::from(*byte),
            };
            bytes.iter().map(letter).collect()
        }
        Charset::Utf16Le => utf16(bytes, u16::from_le_bytes)?,
        Charset::Utf16Be => utf16(bytes, u16::from_be_bytes)?,
    };
    Ok(text.strip_prefix('\u{feff}').map(str::to_string).unwrap_or(text))
}

fn utf16(bytes: &[u8], unit: fn([u8; 2]) -> u16) -> Result<String, NoText> {
    if !bytes.len().is_multiple_of(2) {
        return Err(NoText::OtherEncoding);
    }
    let units = bytes.chunks_exact(2).map(|pair| unit([pair[0], pair[1]]));
    char::decode_utf16(units).collect::<Result<String, _>>().map_err(|_| NoText::OtherEncoding)
}
