//! Bytes become rows: encodings, separators, signs, and what is no sheet.

use super::{Desk, rows};
use encoding_rs::{UTF_16BE, UTF_16LE, WINDOWS_1252};
use proptest::prelude::*;
use soakbook::encoding::charset::{Charset, NoText, decode, guess};
use soakbook::view::sheet::load::NoSheet;

#[test]
fn windows_1252_is_that_of_the_web() {
    let all: Vec<u8> = (0..=255).collect();
    // encoding_rs 0.8: WINDOWS_1252.decode_without_bom_handling, by the WHATWG index.
    let (expected, bad) = WINDOWS_1252.decode_without_bom_handling(&all);
    assert!(!bad);
    assert_eq!(decode(&all, Charset::Windows1252).unwrap(), expected);
}

proptest! {
    #[test]
    fn utf_16_is_read_as_the_library_reads_it(units in proptest::collection::vec(any::<u16>(), 0..20)) {
        for (charset, of, encoding) in [
            (Charset::Utf16Le, u16::to_le_bytes as fn(u16) -> [u8; 2], UTF_16LE),
            (Charset::Utf16Be, u16::to_be_bytes, UTF_16BE),
        ] {
            let bytes: Vec<u8> = units.iter().flat_map(|unit| of(*unit)).collect();
            // encoding_rs 0.8: decode_without_bom_handling_and_without_replacement.
            let expected = encoding.decode_without_bom_handling_and_without_replacement(&bytes);
            let expected = expected.map(|text| text.strip_prefix('\u{feff}').unwrap_or(&text).to_string());
            prop_assert_eq!(decode(&bytes, charset).ok(), expected);
        }
    }

    #[test]
    fn any_bytes_are_rows_or_refused(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
        match rows(&bytes) {
            Ok((_, sheet)) => prop_assert!(!sheet.rows.is_empty()),
            Err(why) => prop_assert!(why.words().ends_with('.')),
        }
    }

    #[test]
    fn no_sheet_of_signs_stops_the_plan(text in "[a-cH\\-0-9,;\"'=\n°FC ./]{0,120}") {
        let text = format!("Tag,Rating,Area,Installed,Releases,Type\n{text}");
        if rows(text.as_bytes()).is_ok() {
            let mut desk = Desk::new().area("a");
            let ready = desk.ready(&text);
            let count = ready.plan.count();
            desk.import(&ready).expect("what the preview offers is taken");
            prop_assert_eq!(desk.register().positions.len(), count);
        }
    }
}

fn utf16(text: &str, of: fn(u16) -> [u8; 2]) -> Vec<u8> {
    text.encode_utf16().flat_map(of).collect()
}

#[test]
fn the_encoding_is_guessed() {
    let text = "Tag,Löschbereich\nH-1,§ 57 °C\n";
    // encoding_rs 0.8: WINDOWS_1252.encode.
    let (western, _, _) = WINDOWS_1252.encode(text);
    let marked = format!("\u{feff}{text}");
    let files: [(&[u8], Charset); 7] = [
        (text.as_bytes(), Charset::Utf8),
        (marked.as_bytes(), Charset::Utf8),
        (&western, Charset::Windows1252),
        (&utf16(&marked, u16::to_le_bytes), Charset::Utf16Le),
        (&utf16(&marked, u16::to_be_bytes), Charset::Utf16Be),
        (&utf16(text, u16::to_le_bytes), Charset::Utf16Le),
        (&utf16(text, u16::to_be_bytes), Charset::Utf16Be),
    ];
    for (bytes, charset) in files {
        assert_eq!(guess(bytes), Ok(charset));
        let (format, sheet) = rows(bytes).unwrap();
        assert_eq!(format.charset, charset);
        assert_eq!(sheet.rows[0].fields, ["Tag", "Löschbereich"], "{charset:?}");
        assert_eq!(sheet.rows[1].fields, ["H-1", "§ 57 °C"], "{charset:?}");
    }
}

#[test]
fn what_is_no_sheet_is_refused_with_what_to_do() {
    // How the files begin, by their formats: ZIP APPNOTE 4.3.7, MS-CFB 2.2, PNG 5.2, JFIF (SOI and a marker), GIF89a 17, PDF 7.5.2.
    let files: [(&[u8], NoText, &str); 8] = [
        (b"PK\x03\x04\x14\0", NoText::Workbook, "Save as, then CSV"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", NoText::Workbook, "Save as, then CSV"),
        (b"\x89PNG\r\n\x1a\n", NoText::Picture, "picture"),
        (b"\xff\xd8\xff\xe0\0\x10JFIF", NoText::Picture, "picture"),
        (b"GIF89a", NoText::Picture, "picture"),
        (b"%PDF-1.7", NoText::Binary, "not a text file"),
        (b"a,b\0\0\0c", NoText::Binary, "not a text file"),
        (b"", NoText::Empty, "no rows"),
    ];
    for (bytes, what, words) in files {
        let why = rows(bytes).unwrap_err();
        assert_eq!(why, NoSheet::NoText(what));
        assert!(why.words().contains(words), "{}", why.words());
    }
    assert_eq!(rows(b"\n\n,,\n"), Err(NoSheet::NoRows));
    assert_eq!(rows(b"Tag\nH-1\nH-2,\"and so on\nH-3\nH-4"), Err(NoSheet::NotClosed(3)));
    let long = format!("Tag,Location\nH-1,{}\n", "x".repeat(10_001));
    assert_eq!(rows(long.as_bytes()), Err(NoSheet::LongCell(2)));
    assert_eq!(rows(&vec![b'a'; 8_000_001]), Err(NoSheet::TooLarge));
}

#[test]
fn too_many_rows_are_refused_before_anything_is_done_with_them() {
    let sheet = |count: usize| (0..count).map(|row| format!("H-{row},135 F\n")).collect::<String>();
    let read = |count| rows(format!("Tag,Rating\n{}", sheet(count)).as_bytes());
    assert_eq!(read(10_000).unwrap().1.rows.len(), 10_001);
    assert_eq!(read(10_001), Err(NoSheet::TooManyRows));
    assert_eq!(read(100_000), Err(NoSheet::TooManyRows));
}

#[test]
fn the_separator_is_guessed() {
    let sheets = [
        ("Tag,Location\nH-1,\"Over; under; through\"\nH-2,b\n", b','),
        ("Tag;Location;Rating\nH-1;Over, under;57,2\nH-2;b, c;57,2\n", b';'),
        ("Tag\tLocation\nH-1\tOver, under\n", b'\t'),
        ("Tag|Location\nH-1|Over, under\n", b'|'),
        ("Tag\nH-1\n", b','),
    ];
    for (text, separator) in sheets {
        assert_eq!(rows(text.as_bytes()).unwrap().0.separator, separator, "{text}");
    }
}

#[test]
fn every_end_of_line_ends_a_row_and_quoted_ones_do_not() {
    for end in ["\n", "\r\n", "\r"] {
        let text = ["Tag,Releases", "H-1,\"Door 7\nFan 2\"", "", "H-2,\"a \"\"b\"\"\""].join(end) + end;
        let (_, sheet) = rows(text.as_bytes()).unwrap();
        let seen: Vec<_> = sheet.rows.iter().map(|row| (row.line, row.fields[1].as_str())).collect();
        // By hand: the quoted line end counts, and so does the blank line.
        assert_eq!(seen, [(1, "Releases"), (2, "Door 7\nFan 2"), (5, "a \"b\"")], "{end:?}");
    }
}

#[test]
fn what_nobody_sees_is_taken_out_and_said() {
    let text = "Tag,Location\nH\u{202e}-1\u{200f},a\u{a0}b\u{7}\n\u{200b}H-2 ,b\tc\nH-3,d\n";
    let (_, sheet) = rows(text.as_bytes()).unwrap();
    let cells: Vec<_> = sheet.rows[1..].iter().flat_map(|row| row.fields.iter().map(String::as_str)).collect();
    assert_eq!(cells, ["H-1", "a b", "H-2", "b c", "H-3", "d"]);
    // By hand: H-1, a b with its bell, H-2. Blanks that are other blanks are no loss.
    assert_eq!(sheet.cleaned, 3);
}
