//! What the test suites of other libraries feed to a reader of separated values, and what it has to make of it. Where they differ, a
//! spreadsheet's way counts, which is named beside the case.

use soakbook::encoding::csv::{NotClosed, Reader, read};

type Case<'a> = (&'a str, &'a [&'a [&'a str]]);

#[track_caller]
fn check(cases: &[Case<'_>], separator: u8) {
    for (text, expected) in cases {
        let mut reader = Reader::new(separator);
        let mut rows = Vec::new();
        while let Some(row) = reader.next(text).unwrap_or_else(|why| panic!("{text:?}: {why}")) {
            rows.push(row.fields);
        }
        assert_eq!(rows, *expected, "{text:?}");
    }
}

#[test]
fn csv_spectrum() {
    // github.com/maxogden/csv-spectrum, commit b251546d: what each of its eleven files is about, in values of our own.
    check(
        &[
            ("name,town\nAda,\"Upton, East\"", &[&["name", "town"], &["Ada", "Upton, East"]]),
            ("a,b,c\n1,\"\",\"\"\n2,3,4", &[&["a", "b", "c"], &["1", "", ""], &["2", "3", "4"]]),
            ("a,b,c\r\n1,\"\",\"\"\r\n2,3,4", &[&["a", "b", "c"], &["1", "", ""], &["2", "3", "4"]]),
            ("a,b\n1,\"say \"\"so\"\" twice\"\n3,4\n", &[&["a", "b"], &["1", "say \"so\" twice"], &["3", "4"]]),
            ("k,v\n1,\"{\"\"t\"\": [1.0, 0.5]}\"\n", &[&["k", "v"], &["1", "{\"t\": [1.0, 0.5]}"]]),
            (
                "a,b,c\n\"On two\nlines\",5,6\n7,8,9\n",
                &[&["a", "b", "c"], &["On two\nlines", "5", "6"], &["7", "8", "9"]],
            ),
            ("a,b,c\r\n\"On two\r\nlines\",5,6\r\n", &[&["a", "b", "c"], &["On two\r\nlines", "5", "6"]]),
            ("a,b\n1,\"so \n\"\"so\"\" \nso\"\n3,4\n", &[&["a", "b"], &["1", "so \n\"so\" \nso"], &["3", "4"]]),
            ("a,b\n1,2\n", &[&["a", "b"], &["1", "2"]]),
            ("a,b\r\n1,2\r\n", &[&["a", "b"], &["1", "2"]]),
            ("a,b\n4,ʤ", &[&["a", "b"], &["4", "ʤ"]]),
        ],
        b',',
    );
}

#[test]
fn csv_core() {
    // csv-core 0.1, src/reader.rs, `parses_to!`, those of its cases that use the defaults.
    let rows: &[&[&str]] = &[&["a", "b", ""], &["x", "y", ""]];
    let three: &[&[&str]] = &[&["a", "b"], &["x", "y"], &["m", "n"]];
    check(
        &[
            ("a", &[&["a"]]),
            ("a,b,", &[&["a", "b", ""]]),
            ("a,b,\n", &[&["a", "b", ""]]),
            ("a,b,\r", &[&["a", "b", ""]]),
            ("a,b,\nx,y,", rows),
            ("a,b,\nx,y,\n", rows),
            ("a,b,\r\nx,y,\r\n", rows),
            ("a,b,\rx,y,\r", rows),
            ("\n\n\na,b,\nx,y,\n\n\n", rows),
            ("\r\r\ra,b,\rx,y,\r\r\r", rows),
            ("\r\n\r\n\r\na,b,\r\nx,y,\r\n\r\n\r\n", rows),
            ("", &[]),
            ("\n\n\n\n", &[]),
            ("\r\n\n\r\n\n", &[]),
            ("\r\r\r\r", &[]),
            ("\n\r\na,b\r\n\n\r\nx,y\r\n\n\r\nm,n\r\n", three),
            ("\r\ra,b\r\r\rx,y\r\r\rm,n\r", three),
            ("\u{feff}a", &[&["a"]]),
            ("a\u{feff}", &[&["a\u{feff}"]]),
            ("a,\u{feff}b", &[&["a", "\u{feff}b"]]),
            ("\"\"", &[&[""]]),
            ("\"\"\n", &[&[""]]),
            ("\" a \"", &[&[" a "]]),
            ("  \"a\"  ", &[&["  \"a\"  "]]),
            ("\"a\\\"b\"", &[&["a\\b\""]]),
            ("foo\r\n1\r\n", &[&["foo"], &["1"]]),
        ],
        b',',
    );
    check(&[("a\tb", &[&["a", "b"]])], b'\t');
}

#[test]
fn python() {
    // CPython, Lib/test/test_csv.py: test_read_oddinputs, test_read_eol, test_read_delimiter, test_read_quoting,
    // test_read_skipinitialspace, with the defaults. Blank rows are none here.
    check(
        &[
            ("\"ab\"c", &[&["abc"]]),
            ("a,b\r\nc,d\r\n", &[&["a", "b"], &["c", "d"]]),
            ("a,b\rc,d\r", &[&["a", "b"], &["c", "d"]]),
            ("a,\\b,c", &[&["a", "\\b", "c"]]),
            ("1,\",3,\",5", &[&["1", ",3,", "5"]]),
            (",,\"\",", &[&["", "", "", ""]]),
            ("\"a\nb\", 7", &[&["a\nb", " 7"]]),
            ("a, b,\tc", &[&["a", " b", "\tc"]]),
        ],
        b',',
    );
    check(&[("a;b;c", &[&["a", "b", "c"]])], b';');
    // test_read_eof with strict=True: an error. Without, Python takes the rest, which here would be the rest of a site.
    for text in ["a,\"", "\"a"] {
        assert_eq!(read(text), Err(NotClosed { line: 1 }));
    }
    // test_roundtrip_quoteed_newlines.
    let rows = [
        ["\na", "b\nc", "d\n"],
        ["\re", "f\rg", "h\r"],
        ["\r\ni", "j\r\nk", "l\r\n"],
        ["\n\rm", "n\n\ro", "p\n\r"],
        ["\r\rq", "r\r\rs", "t\r\r"],
        ["\n\nu", "v\n\nw", "x\n\n"],
    ];
    let back: Vec<Vec<String>> =
        read(&soakbook::encoding::csv::write(rows)).unwrap().into_iter().map(|row| row.fields).collect();
    assert_eq!(back, rows);
    // test_read_bigfield.
    let big = "X".repeat(50_000);
    assert_eq!(read(&format!("{big},{big}")).unwrap()[0].fields, [big.clone(), big]);
}
