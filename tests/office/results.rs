//! The results table and the records of `evaluate`, opened by what offices open them with.

use crate::{folder, save};
use serde_json::Value;
use soakbook::book::visit::headings;
use soakbook::desk::cache_dir;
use soakbook::desk::promises::{Size, book};
use soakbook::encoding::csv;
use soakbook::handover::{InUnit, Made, RESULTS, Select, bundle_of, results_sheet};
use soakbook::units::Wall;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// From the Python package index.
const DUCKDB: &str = "2.0.1";

/// Files in the folder, a visit each, and what is tested in each: two areas of two types. A thousand do as well, but the command is not
/// optimised here and takes minutes for them.
const FILES: usize = 100;
const PER_VISIT: usize = 22;

/// Python with DuckDB, in the cache of the other tools.
fn python() -> PathBuf {
    let place = cache_dir(std::env::consts::OS, |name| std::env::var_os(name))
        .expect("a cache")
        .join(format!("duckdb-{DUCKDB}"));
    let python = place.join("bin").join("python");
    if !place.join("whole").exists() {
        let run = |command: &mut Command| {
            let out = command.output().expect("Python 3 with venv");
            assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
        };
        run(Command::new("python3").args(["-m", "venv", "--clear"]).arg(&place));
        run(Command::new(&python).args(["-m", "pip", "install", "--quiet", &format!("duckdb=={DUCKDB}")]));
        fs::write(place.join("whole"), "").unwrap();
    }
    python
}

/// What the command writes of files.
fn evaluated(arguments: &[&str], files: &[PathBuf]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_soakbook"));
    command.arg("evaluate").args(arguments).args(files).output().unwrap()
}

/// Records in which the detector of one position was replaced halfway by one that trips 6 K higher: drift of neither.
fn with_a_replaced_detector(records: &str) -> String {
    let of_one = |record: &Value| record["kind"] == "test" && record["tag"] == "H-0001";
    let records: Vec<Value> = records.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    let half = records.iter().filter(|record| of_one(record)).count() / 2;
    let (mut seen, mut text) = (0, String::new());
    for mut record in records {
        if of_one(&record) {
            seen += 1;
        }
        if of_one(&record) && seen > half {
            record["detector"] = "019c0000-0000-7000-8000-0000000000ff".into();
            if let Some(mean) = record["operating"]["mean_c"].as_f64() {
                record["operating"]["mean_c"] = (mean + 6.0).into();
            }
        }
        text += &format!("{record}\n");
    }
    text
}

#[test]
fn the_table_is_the_same_after_libreoffice_has_saved_it() {
    let into = folder("office-results");
    let book = book(Size { tests: PER_VISIT, per_visit: PER_VISIT }, 7);
    let visit = headings(&book)[0].id;
    let text = results_sheet(&book, &[visit], InUnit::F).expect("a visit").text;
    let file = into.join("results.csv");
    fs::write(&file, &text).unwrap();
    let saved = into.join("saved");
    fs::create_dir_all(&saved).unwrap();
    // As a person opens it, who changes nothing: UTF-8, commas. Numbers and words come back as they were, dates as the text they are.
    let bytes = save(&file, &saved, "44,34,76,1,,0,false,false", Some("44,34,76,1"));
    let cells = |text: &str| {
        let text = text.strip_prefix(csv::MARK).unwrap_or(text);
        csv::read(text).unwrap().into_iter().map(|row| row.fields).collect::<Vec<_>>()
    };
    let (ours, theirs) = (cells(&text), cells(&String::from_utf8(bytes).unwrap()));
    assert_eq!(theirs[0], RESULTS);
    assert_eq!(ours.len(), theirs.len());
    for (line, other) in ours.iter().zip(&theirs) {
        for ((name, cell), saved) in RESULTS.iter().zip(line).zip(other) {
            let same = cell == saved
                || cell.eq_ignore_ascii_case(saved)
                || cell.parse::<f64>().is_ok_and(|number| saved.parse() == Ok(number));
            assert!(same, "{name}: {cell} became {saved}");
        }
    }
}

#[test]
fn duckdb_answers_the_questions_of_the_readme_over_a_folder() {
    let into = folder("office-queries");
    let book = book(Size { tests: FILES * PER_VISIT, per_visit: PER_VISIT }, 1);
    let all = headings(&book);
    assert_eq!(all.len(), FILES);
    let write = |(number, visit): (usize, soakbook::book::Id)| {
        let made = Made { at: Wall(0), app: "0.1.0".into(), phone: visit };
        let path = into.join(format!("{number}.json"));
        fs::write(&path, bundle_of(&book, Select::Visit(visit), &made).expect("a visit").text).unwrap();
        path
    };
    let files: Vec<PathBuf> = all.iter().map(|heading| heading.id).enumerate().map(write).collect();
    let keep = |name: &str, format: &str, files: &[PathBuf]| {
        let out = evaluated(&["--format", format], files);
        assert_eq!(out.status.code(), Some(0), "{}", String::from_utf8_lossy(&out.stderr));
        let path = into.join(name);
        fs::write(&path, out.stdout).unwrap();
        path
    };
    let few = &files[..20];
    let (records, table) = (keep("few.ndjson", "ndjson", few), keep("few.csv", "results", few));
    let many = keep("results.ndjson", "ndjson", &files);
    fs::write(&many, with_a_replaced_detector(&fs::read_to_string(&many).unwrap())).unwrap();
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut asked = Command::new(python());
    asked.arg(root.join("tests/office/queries.py")).arg(root.join("README.md")).args([many, records, table]);
    let out = asked.output().unwrap();
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    println!("{}", String::from_utf8_lossy(&out.stdout));
}
