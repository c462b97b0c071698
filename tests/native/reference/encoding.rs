//! Canonical JSON, digests, UUIDs and CSV against the vectors of their standards.

use proptest::collection::vec;
use proptest::prelude::*;
use soakbook::encoding::{
    base64, canonical, content_digest, csv, from_base64, from_hex, parse_strict, sha256, sha256_hex, split_list,
    to_hex, uuid7,
};

#[track_caller]
fn check_canonical(input: &str, expected: &str) {
    assert_eq!(canonical(&parse_strict(input).unwrap()), expected);
}

#[test]
fn canonical_json_sorts_names_by_utf16_code_units() {
    // RFC 8785, 3.2.3: the sorting example.
    check_canonical(
        r#"{"\u20ac":"Euro Sign","\r":"Carriage Return","\ufb33":"Hebrew Letter Dalet With Dagesh","1":"One","\ud83d\ude00":"Emoji: Grinning Face","\u0080":"Control","\u00f6":"Latin Small Letter O With Diaeresis"}"#,
        "{\"\\r\":\"Carriage Return\",\"1\":\"One\",\"\u{80}\":\"Control\",\"ö\":\"Latin Small Letter O With Diaeresis\",\"€\":\"Euro Sign\",\"😀\":\"Emoji: Grinning Face\",\"\u{fb33}\":\"Hebrew Letter Dalet With Dagesh\"}",
    );
}

#[test]
fn canonical_json_normalises_numbers_literals_and_strings() {
    // RFC 8785, 3.2.2: input and output of the worked example.
    check_canonical(
        r#"{ "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
             "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
             "literals": [null, true, false] }"#,
        r#"{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],"string":"€$\u000f\nA'B\"\\\\\"/"}"#,
    );
}

#[test]
fn canonical_numbers_are_written_as_ecmascript_does() {
    // RFC 8785, appendix B, bit patterns and texts; results repeated with PyPI rfc8785 0.1.4 (`rfc8785.dumps`).
    for (bits, expected) in [
        (0x0000000000000000, "0"),
        (0x8000000000000000, "0"),
        (0x0000000000000001, "5e-324"),
        (0x8000000000000001, "-5e-324"),
        (0x7fefffffffffffff, "1.7976931348623157e+308"),
        (0xffefffffffffffff, "-1.7976931348623157e+308"),
        (0x4340000000000000, "9007199254740992"),
        (0xc340000000000000, "-9007199254740992"),
        (0x4340000000000001, "9007199254740994"),
        (0x4430000000000000, "295147905179352830000"),
        (0x44b52d02c7e14af5, "9.999999999999997e+22"),
        (0x44b52d02c7e14af6, "1e+23"),
        (0x44b52d02c7e14af7, "1.0000000000000001e+23"),
        (0x444b1ae4d6e2ef4e, "999999999999999700000"),
        (0x444b1ae4d6e2ef4f, "999999999999999900000"),
        (0x444b1ae4d6e2ef50, "1e+21"),
        (0x3eb0c6f7a0b5ed8c, "9.999999999999997e-7"),
        (0x3eb0c6f7a0b5ed8d, "0.000001"),
        (0x41b3de4355555553, "333333333.3333332"),
        (0x41b3de4355555554, "333333333.33333325"),
        (0x41b3de4355555555, "333333333.3333333"),
        (0x41b3de4355555556, "333333333.3333334"),
        (0x41b3de4355555557, "333333333.33333343"),
        (0xbecbf647612f3696, "-0.0000033333333333333333"),
        (0x43143ff3c1cb0959, "1424953923781206.2"),
    ] {
        assert_eq!(canonical(&serde_json::json!(f64::from_bits(bits))), expected, "{bits:016x}");
    }
}

#[test]
fn integers_are_read_as_doubles() {
    // RFC 8785, 3.2.2.3 and RFC 7493, 2.2: numbers are IEEE 754 doubles; 2^53 + 1 rounds to even.
    check_canonical("[9007199254740993, 18446744073709551615, -1, -0]", "[9007199254740992,18446744073709552000,-1,0]");
}

#[test]
fn duplicate_names_deep_nesting_and_other_text_are_refused_with_their_place() {
    #[track_caller]
    fn check(input: &str, line: usize, reason: &str) {
        let error = parse_strict(input).unwrap_err();
        assert_eq!(error.line, line, "{error}");
        assert!(error.reason.contains(reason), "{error}");
    }
    check("{\"a\": 1,\n \"b\": {\"c\": 1, \"c\": 2}}", 2, "\"c\" occurs twice");
    check("{\"\\u0061\": 1, \"a\": 2}", 1, "\"a\" occurs twice");
    check(&"[".repeat(100_000), 1, "recursion limit");
    check("[1] 2", 1, "trailing characters");
    check("[1e999]", 1, "out of range");
    check("\"\\ud800\"", 1, "escape");
    check("", 1, "EOF");
}

#[test]
fn sha256_gives_the_published_digests() {
    // FIPS 180-4 example messages (NIST CSRC, SHA256.pdf) and RFC 6234, 8.5.
    let million = "a".repeat(1_000_000);
    for (message, expected) in [
        ("", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
        ("abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
        (
            "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
        ),
        (million.as_str(), "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"),
    ] {
        assert_eq!(sha256_hex(message.as_bytes()), expected);
        assert_eq!(from_hex(expected).unwrap(), sha256(message.as_bytes()));
    }
    // RFC 9530, appendix D: {"hello": "world"} and a line feed.
    assert_eq!(content_digest(b"{\"hello\": \"world\"}\n"), "sha-256=:RK/0qy18MlBSVnWgjwz6lZEWjP/lF5HF9bvEF8FabDg=:");
}

#[test]
fn base64_pads_as_in_the_published_vectors() {
    // RFC 4648, 10.
    for (input, expected) in [
        ("", ""),
        ("f", "Zg=="),
        ("fo", "Zm8="),
        ("foo", "Zm9v"),
        ("foob", "Zm9vYg=="),
        ("fooba", "Zm9vYmE="),
        ("foobar", "Zm9vYmFy"),
    ] {
        assert_eq!(base64(input.as_bytes()), expected);
        assert_eq!(from_base64(expected).unwrap(), input.as_bytes());
    }
    // RFC 4648, 3.2 to 3.5: no padding left out, no other symbols, and no bits left over that are not zero.
    for bad in ["Zg", "Zg=", "Zg===", "=", "Zg==Zg==", "Zm9v\n", "Z-8=", "Zh==", "Zm9="] {
        assert_eq!(from_base64(bad), None, "{bad:?}");
    }
}

#[test]
fn hex_reads_either_case_and_nothing_else() {
    assert_eq!(from_hex("00fFA9"), Some(vec![0x00, 0xff, 0xa9]));
    assert_eq!(to_hex(&[0x00, 0xff, 0xa9]), "00ffa9");
    for bad in ["0", "0g", "é", "+1", " 1"] {
        assert_eq!(from_hex(bad), None, "{bad:?}");
    }
}

#[test]
fn uuid_version_7_is_laid_out_as_published() {
    // RFC 9562, appendix A.6.
    let random = [0x0c, 0xc3, 0x18, 0xc4, 0xdc, 0x0c, 0x0c, 0x07, 0x39, 0x8f];
    assert_eq!(uuid7(0x017f_22e2_79b0, random).to_string(), "017f22e2-79b0-7cc3-98c4-dc0c0c07398f");
    // RFC 9562, 5.7: version 0b0111 and variant 0b10 whatever the random bits.
    assert_eq!(uuid7(u64::MAX >> 16, [0xff; 10]).to_string(), "ffffffff-ffff-7fff-bfff-ffffffffffff");
    assert_eq!(uuid7(0, [0; 10]).to_string(), "00000000-0000-7000-8000-000000000000");
}

#[track_caller]
fn check_rows(text: &str, expected: &[&[&str]]) {
    let rows: Vec<_> = csv::read(text).unwrap().into_iter().map(|row| row.fields).collect();
    assert_eq!(rows, expected);
}

#[test]
fn csv_reads_the_forms_of_the_standard() {
    // RFC 4180, 2, rules 1 to 7.
    check_rows("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", &[&["aaa", "bbb", "ccc"], &["zzz", "yyy", "xxx"]]);
    check_rows("aaa,bbb,ccc\r\nzzz,yyy,xxx", &[&["aaa", "bbb", "ccc"], &["zzz", "yyy", "xxx"]]);
    check_rows("\"aaa\",\"b\r\nbb\",\"ccc\"\r\nzzz,yyy,xxx", &[&["aaa", "b\r\nbb", "ccc"], &["zzz", "yyy", "xxx"]]);
    check_rows("\"aaa\",\"b\"\"bb\",\"ccc\"", &[&["aaa", "b\"bb", "ccc"]]);
    // Common practice of spreadsheets, no published source: LF or CR alone, blank lines.
    check_rows("a,b\n\nc,\r\"\"", &[&["a", "b"], &["c", ""], &[""]]);
    check_rows("", &[]);
}

#[test]
fn csv_takes_stray_quotes_as_spreadsheets_do_and_refuses_one_that_never_closes() {
    // Python 3.11 list(csv.reader(io.StringIO(text, newline=''))) on the same text.
    check_rows("x\"y,1\r\n\"p\"q,3\r\nok,4", &[&["x\"y", "1"], &["pq", "3"], &["ok", "4"]]);
    // The same with strict=True: "unexpected end of data".
    for (text, line) in
        [("a,b\r\n\r\nok,4\r\n\"open\r\n,5", 4), ("\"", 1), ("a\rb,\"c\"\"", 2), ("a\n\"b\r\nc\"\nd,\"e\n", 4)]
    {
        assert_eq!(csv::read(text).unwrap_err().line, line, "{text:?}");
    }
    let lines: Vec<usize> = csv::read("a\n\"b\r\nc\"\r\rd\n\r\ne").unwrap().iter().map(|row| row.line).collect();
    // By hand: a on 1, the quoted one on 2 and 3, 4 blank, d on 5, 6 blank, e on 7.
    assert_eq!(lines, [1, 2, 5, 7]);
}

#[test]
fn csv_quotes_only_what_needs_it_and_reads_back_the_same() {
    let rows: &[&[&str]] = &[&["D-01", "57,2", "a \"quoted\" word"], &["", "", ""], &[""], &["line\nbreak", "°C"]];
    let text = csv::write(rows);
    // Python 3.11 csv.writer(lineterminator='\r\n', quoting=QUOTE_MINIMAL) on the same rows.
    assert_eq!(text, "D-01,\"57,2\",\"a \"\"quoted\"\" word\"\r\n,,\r\n\"\"\r\n\"line\nbreak\",°C\r\n");
    check_rows(&text, rows);
    // The same call leaves U+FEFF unquoted. Reading takes one at the very beginning for the mark of a file.
    let text = csv::write([["\u{feff}id", "x"], ["\u{feff}", ""]]);
    assert_eq!(text, "\u{feff}id,x\r\n\u{feff},\r\n");
    check_rows(&text, &[&["id", "x"], &["\u{feff}", ""]]);
}

#[test]
fn csv_quotes_what_another_separator_would_split() {
    // Common practice: where the decimal mark is a comma, spreadsheets separate by semicolons; pasted text by tabs.
    let rows: &[&[&str]] = &[&["Lobby;=1+1", "a\tb", "c"]];
    let text = csv::write(rows);
    assert_eq!(text, "\"Lobby;=1+1\",\"a\tb\",c\r\n");
    check_rows(&text, rows);
    // Quotes count only where a cell begins, so what follows a semicolon is guarded, too.
    assert_eq!(csv::guarded("Lobby;=1+1;'@A;b"), "Lobby;'=1+1;''@A;b");
    assert_eq!(csv::unguarded("Lobby;'=1+1;''@A;b"), "Lobby;=1+1;'@A;b");
}

proptest! {
    #[test]
    fn any_rows_read_back_as_written(rows in vec(vec("[a,;\t\"\r\n °é]{0,6}", 1..4), 0..6)) {
        let read: Vec<_> = csv::read(&csv::write(&rows)).unwrap().into_iter().map(|row| row.fields).collect();
        prop_assert_eq!(read, rows);
    }

    #[test]
    fn any_text_is_read_as_csv_or_refused_by_line(text in "[a,\"\r\n]{0,40}") {
        let lines = text.len() + 1;
        match csv::read(&text) {
            Ok(rows) => prop_assert!(rows.iter().all(|row| (1..=lines).contains(&row.line))),
            Err(bad) => prop_assert!((1..=lines).contains(&bad.line)),
        }
    }

    #[test]
    fn any_double_reads_back_from_its_canonical_text(bits in any::<u64>()) {
        let value = f64::from_bits(bits);
        prop_assume!(value.is_finite());
        let text = canonical(&serde_json::json!(value));
        prop_assert_eq!(text.parse::<f64>().unwrap(), value);
    }

    #[test]
    fn any_text_survives_canonical_json(name in any::<String>(), text in any::<String>()) {
        let mut value = serde_json::json!({});
        value[name] = serde_json::json!([text, true, null_or(text.len())]);
        prop_assert_eq!(parse_strict(&canonical(&value)).unwrap(), value);
    }
}

fn null_or(number: usize) -> serde_json::Value {
    if number.is_multiple_of(2) { serde_json::Value::Null } else { number.into() }
}

/// Own figure: the text is cut where a reader of RFC 8259 finds the commas of that list, and nowhere else.
#[test]
fn a_list_is_cut_at_its_own_commas() {
    let text = r#" {"a":[1,2],"b,":"[,]","list" : [ {"x":[1,2]}, "a,\"]", 3 ],"z":{"list":[9]}} "#;
    let (rest, elements) = split_list(text, "list").expect("a list");
    assert_eq!(elements, [r#" {"x":[1,2]}"#, r#" "a,\"]""#, " 3 "]);
    assert_eq!(rest, r#" {"a":[1,2],"b,":"[,]","list" : [],"z":{"list":[9]}} "#);
    assert_eq!(split_list(r#"{"list":[ ]}"#, "list"), Some((r#"{"list":[]}"#.to_string(), Vec::new())));
    // RFC 8259, 2: these four are white space, and no others.
    assert_eq!(split_list("{\"list\":[ \t\r\n]}", "list").map(|(_, elements)| elements.len()), Some(0));
    for other in ["\u{a0}", "\u{b}", "\u{c}", "\u{85}", "\u{2003}"] {
        let text = format!("{{\"list\":[{other}]}}");
        assert_eq!(split_list(&text, "list").map(|(_, elements)| elements), Some(vec![other]));
    }
    for none in [
        r#"{"list":1}"#,
        r#"{"list":[],"list":[]}"#,
        r#"{"other":{"list":[]}}"#,
        r#"["list",[1]]"#,
        r#"{"list":[1"#,
        "{\"list",
        "",
    ] {
        assert_eq!(split_list(none, "list"), None, "{none}");
    }
}
