//! Sheets that LibreOffice saved, and what it and a database make of ours. `cargo test --test office` needs `soffice` on the path: on
//! Debian `apt-get install --no-install-recommends libreoffice-calc`; and Python 3 with `venv` and a package index for DuckDB.
#![cfg(not(target_arch = "wasm32"))]
#![allow(clippy::unwrap_used, reason = "helpers of tests fail where they stand")]

#[path = "../native/sheet/desk.rs"]
#[allow(dead_code, reason = "the native tests use the rest")]
mod desk;
#[path = "../native/given.rs"]
#[allow(dead_code, reason = "the native tests use the rest")]
mod given;

mod results;

use desk::{Desk, fates, rows};
use soakbook::encoding::charset::Charset;
use soakbook::encoding::csv;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// A folder of its own for a test.
fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    folder
}

/// Has LibreOffice save a file as separated values, by the tokens of its filter "Text - txt - csv (StarCalc)".
fn save(file: &Path, into: &Path, tokens: &str, reads: Option<&str>) -> Vec<u8> {
    let profile = format!("-env:UserInstallation=file://{}", into.join("profile").display());
    let mut office = Command::new("soffice");
    office.arg(profile).args(["--headless", "--convert-to", &format!("csv:Text - txt - csv (StarCalc):{tokens}")]);
    office.args(reads.map(|tokens| format!("--infilter=Text - txt - csv (StarCalc):{tokens}")));
    let out = office.arg("--outdir").arg(into).arg(file).output().expect("soffice: install libreoffice-calc");
    let saved = into.join(file.file_stem().unwrap()).with_extension("csv");
    fs::read(&saved).unwrap_or_else(|_| panic!("{}", String::from_utf8_lossy(&out.stderr)))
}

/// A sheet as people make them: a title above the headers, numbers with a format, a date, a line end and quotes in cells. Its decimals are
/// shown with a comma.
fn sheet() -> String {
    let text = |of: &str| {
        let lines: String = of.split('\n').map(|line| format!("<text:p>{line}</text:p>")).collect();
        format!("<table:table-cell office:value-type=\"string\">{lines}</table:table-cell>")
    };
    let number = |of: &str| {
        format!("<table:table-cell table:style-name=\"comma\" office:value-type=\"float\" office:value=\"{of}\"/>")
    };
    let date = |of: &str| {
        format!("<table:table-cell table:style-name=\"day\" office:value-type=\"date\" office:date-value=\"{of}\"/>")
    };
    let row = |cells: &[String]| format!("<table:table-row>{}</table:table-row>", cells.concat());
    let head =
        ["Tag", "Room", "Type", "Set point (°C)", "Description", "Releases", "Date installed", "Serial"].map(text);
    let rows = [
        row(&[text("Heat detectors of the works")]),
        row(&head),
        row(&[
            text("H-1"),
            text("Prüfhalle"),
            text("Rate compensated"),
            number("57.2"),
            text("Over \"mixer\"; east, north"),
            text("Door 7\nFan 2"),
            date("2022-05-17"),
            text("00017"),
        ]),
        row(&[
            text("H-2"),
            text("Prüfhalle"),
            text("Fusible"),
            number("88"),
            text("§ 7 – «oven» €"),
            text("none"),
            date("2022-02-01"),
            text("00018"),
        ]),
    ];
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\
        <office:document xmlns:office=\"urn:oasis:names:tc:opendocument:xmlns:office:1.0\" \
        xmlns:table=\"urn:oasis:names:tc:opendocument:xmlns:table:1.0\" xmlns:text=\"urn:oasis:names:tc:opendocument:xmlns:text:1.0\" \
        xmlns:style=\"urn:oasis:names:tc:opendocument:xmlns:style:1.0\" xmlns:number=\"urn:oasis:names:tc:opendocument:xmlns:datastyle:1.0\" \
        office:version=\"1.3\" office:mimetype=\"application/vnd.oasis.opendocument.spreadsheet\">\
        <office:automatic-styles>\
        <number:number-style style:name=\"N1\" number:language=\"de\" number:country=\"DE\">\
        <number:number number:decimal-places=\"1\" number:min-decimal-places=\"1\" number:min-integer-digits=\"1\"/></number:number-style>\
        <number:date-style style:name=\"N2\"><number:day number:style=\"long\"/><number:text>.</number:text>\
        <number:month number:style=\"long\"/><number:text>.</number:text><number:year number:style=\"long\"/></number:date-style>\
        <style:style style:name=\"comma\" style:family=\"table-cell\" style:data-style-name=\"N1\"/>\
        <style:style style:name=\"day\" style:family=\"table-cell\" style:data-style-name=\"N2\"/>\
        </office:automatic-styles>\
        <office:body><office:spreadsheet><table:table table:name=\"Devices\">{}</table:table></office:spreadsheet></office:body>\
        </office:document>",
        rows.concat()
    )
}

#[test]
fn sheets_saved_by_libreoffice_are_read() {
    let into = folder("office-in");
    let file = into.join("devices.fods");
    fs::write(&file, sheet()).unwrap();
    // Separator, text delimiter, encoding by the table of the LibreOffice help, "Filter Options for CSV": 76 UTF-8, 1 Windows-1252,
    // 65535 UTF-16.
    let kinds = [
        ("44,34,76", Charset::Utf8, b','),
        ("59,34,76", Charset::Utf8, b';'),
        ("59,34,1", Charset::Windows1252, b';'),
        ("9,34,65535", Charset::Utf16Le, b'\t'),
        ("124,34,76", Charset::Utf8, b'|'),
    ];
    for (tokens, charset, separator) in kinds {
        let bytes = save(&file, &into, &format!("{tokens},1"), None);
        let (format, sheet) = rows(&bytes).unwrap();
        assert_eq!((format.charset, format.separator), (charset, separator), "{tokens}");
        let mut desk = Desk::new();
        let setup = desk.setup(&sheet);
        assert!(setup.comma && setup.day_first && setup.head == Some(1), "{tokens}: {setup:?}");
        let plan = desk.plan(&sheet, &setup);
        let puts: Vec<_> = plan.positions().collect();
        assert_eq!(puts.len(), 2, "{tokens}: {:?}", fates(&plan));
        let first = puts[0];
        // What the cells hold, by hand.
        let rating = first.marking.rating.unwrap();
        assert_eq!((rating.value, rating.scale), (572, -1), "{tokens}");
        assert_eq!(first.place.location.as_deref(), Some("Over \"mixer\"; east, north"), "{tokens}");
        assert_eq!(first.duty.releases, Some(vec!["Door 7".to_string(), "Fan 2".to_string()]), "{tokens}");
        assert_eq!(first.make.installed_on.as_deref(), Some("2022-05-17"), "{tokens}");
        assert_eq!(first.make.serial.as_deref(), Some("00017"), "{tokens}");
        assert_eq!(puts[1].place.location.as_deref(), Some("§ 7 – «oven» €"), "{tokens}");
        assert_eq!((plan.areas.len(), plan.areas[0].1.as_str()), (1, "Prüfhalle"), "{tokens}");
    }
}

#[test]
fn a_workbook_of_libreoffice_is_refused_with_what_to_do() {
    let into = folder("office-book");
    let file = into.join("devices.fods");
    fs::write(&file, sheet()).unwrap();
    let profile = format!("-env:UserInstallation=file://{}", into.join("profile").display());
    for kind in ["xlsx", "xls", "ods"] {
        let mut office = Command::new("soffice");
        office.arg(&profile).args(["--headless", "--convert-to", kind, "--outdir"]).arg(&into).arg(&file);
        office.output().expect("soffice: install libreoffice-calc");
        let why = rows(&fs::read(into.join("devices").with_extension(kind)).unwrap()).unwrap_err();
        assert!(why.words().contains("Save as, then CSV"), "{kind}: {why:?}");
    }
}

#[test]
fn what_is_written_out_is_the_same_after_libreoffice_has_saved_it() {
    let into = folder("office-out");
    let mut desk = Desk::new();
    desk.take(
        "Tag,Area,Circuit,Panel point,Type,Rating,Minus tolerance,Plus tolerance,Tolerance from,Location,Releases,Height,Serial number,Installed on\n\
        H-1,Prüfhalle,L1,1-014,Rate-compensated,194.0 °F,-8 °F,8.5 °F,The owner,\"Over \"\"mixer\"\", east\",Door 7; Fan 2,22.5 ft,00017,2022-05-17\n\
        H-2,Prüfhalle,L1,1-2,Electronic,57.2 °C,,,,'=1+1,none,6.5 m,1E5,2022-02-01\n\
        H-3,Oven,,007,,,,,,-5 below,,,+49,\n",
    );
    let text = desk.export();
    let file = into.join("ours.csv");
    fs::write(&file, &text).unwrap();
    let columns = csv::read(&text).unwrap()[0].fields.len();
    // Every column as text (2), which a person chooses in the same dialog; else a spreadsheet takes 00017 for 17 and 1-2 for a date.
    let as_text: Vec<String> = (1..=columns).map(|column| format!("{column}/2")).collect();
    let saved = into.join("saved");
    fs::create_dir_all(&saved).unwrap();
    let bytes = save(&file, &saved, "44,34,76,1", Some(&format!("44,34,76,1,{}", as_text.join("/"))));
    let (_, sheet) = rows(&bytes).unwrap();
    let setup = desk.setup(&sheet);
    let plan = desk.plan(&sheet, &setup);
    assert!(fates(&plan).iter().all(|(_, said)| said == "same"), "{:?}", fates(&plan));
    assert_eq!((plan.lines.len(), plan.gone.len()), (3, 0));
    // Cell by cell it is the same text.
    let cells = |text: &str| csv::read(text).unwrap().into_iter().map(|row| row.fields).collect::<Vec<_>>();
    assert_eq!(cells(&String::from_utf8(bytes).unwrap()), cells(&text));
}
