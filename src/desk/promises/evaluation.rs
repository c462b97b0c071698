//! `evaluate` of 10,000 tests against the same sums in Python with numpy and scipy, plain and vectorised.
//!
//! Both begin with the entries in memory and end with the numbers of every test; reading and hashing are left out on both sides.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Instant;

use serde_json::Value;

use super::super::Trouble;
use super::super::package::Package;
use super::invented::{self, Size};
use crate::book::log::Book;
use crate::book::visit::{Visit, visit_ids};
use crate::desk::evaluate::work_out;
use crate::findings::{self, Operated, TestFindings, VisitFindings, limit_result_words};
use crate::handover::{Made, Select, bundle_of};

/// What is evaluated.
const SIZE: Size = Size { tests: 10_000, per_visit: 200 };
/// The shortest of so many times counts, on both sides.
const TIMES: usize = 15;
/// How far two ways of working out one number may lie apart, relatively: the quantiles of both libraries are good to this.
const WITHIN: f64 = 1e-9;

/// Measures and prints. Gives whether all agree.
pub(super) fn measure() -> Result<bool, Trouble> {
    let package = Package::find()?;
    let script = package.root.join("tests/tools/evaluate.py");
    let versions = python(&["-c", "import numpy, scipy"], Path::new("."));
    if versions.is_none() {
        return Err(Trouble::Install {
            what: "Python 3 with numpy and scipy is missing; the sums are held against it".to_owned(),
            command: "python3 -m pip install numpy scipy".to_owned(),
        });
    }
    let book = invented::book(SIZE, 1);
    let file = package.desk().join("promises").join("evaluate.json");
    write(&book, &file)?;
    println!("evaluate: {} tests in {} entries, visits of {}", SIZE.tests, book.len(), SIZE.per_visit);
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let visits: Vec<_> = visit_ids(&book).into_iter().collect();
    let say = |visit: &Visit| findings::visit(&book, visit);
    let (one, found) = shortest(|| work_out(&book, &visits, 1, say));
    let (many, _) = shortest(|| work_out(&book, &visits, threads, say));
    let text = python(&[&script.to_string_lossy()], &file)
        .ok_or_else(|| Trouble::Mend("The Python script failed".to_owned()))?;
    let said: Value =
        serde_json::from_str(&text).map_err(|error| Trouble::Mend(format!("The Python script's answer: {error}")))?;
    let seconds = |name: &str| said.get(name).and_then(Value::as_f64).unwrap_or(f64::NAN);
    let version = |name: &str| said.get(name).and_then(Value::as_str).unwrap_or("?").to_owned();
    let (plain, columns, sums) = (seconds("plain_s"), seconds("columns_s"), seconds("sums_s"));
    println!("Python {}, numpy {}, scipy {}", version("python"), version("numpy"), version("scipy"));
    println!("native, 1 thread      {one:8.4} s");
    println!("native, {threads} threads     {many:8.4} s");
    println!(
        "plain                 {plain:8.4} s   {:6.1} x, on 1 thread {:6.1} x   (goal 50 x)",
        plain / many,
        plain / one
    );
    let vectorised = columns + sums;
    println!(
        "vectorised            {vectorised:8.4} s   {:6.1} x, on 1 thread {:6.1} x   (goal 5 x)",
        vectorised / many,
        vectorised / one
    );
    println!("  of it from entries to arrays {columns:.4} s, sums {sums:.4} s");
    let mut agree = true;
    for way in ["plain", "vectorised"] {
        let differ =
            said.get(way).map_or_else(|| vec!["no results".to_owned()], |results| differences(&found, results));
        println!("{way}: {} of {} tests agree within {WITHIN:.0e}", SIZE.tests - differ.len(), SIZE.tests);
        differ.iter().take(5).for_each(|line| println!("  {line}"));
        agree &= differ.is_empty();
    }
    Ok(agree)
}

fn python(arguments: &[&str], file: &Path) -> Option<String> {
    let mut command = Command::new("python3");
    let output = command.args(arguments).arg(file).stdin(Stdio::null()).output().ok()?;
    if !output.status.success() {
        eprint_of(&output.stderr);
        return None;
    }
    String::from_utf8(output.stdout).ok()
}

fn eprint_of(stderr: &[u8]) {
    use std::io::Write;
    let _ = std::io::stderr().write_all(stderr);
}

fn write(book: &Book, file: &Path) -> Result<(), Trouble> {
    let made = Made { at: 0, app: env!("CARGO_PKG_VERSION").into(), phone: invented::PHONE };
    let bundle = bundle_of(book, Select::Everything, &made).map_err(|why| Trouble::Mend(why.to_string()))?;
    let folder = file.parent().unwrap_or(file);
    fs::create_dir_all(folder).and_then(|()| fs::write(file, bundle.text)).map_err(|error| Trouble::file(file, &error))
}

/// The shortest time, seconds, and what the work gave.
#[expect(clippy::disallowed_methods, reason = "the time is what is reported")]
fn shortest<T>(work: impl Fn() -> T) -> (f64, T) {
    let timed = || {
        let start = Instant::now();
        let result = work();
        (start.elapsed().as_secs_f64(), result)
    };
    (1..TIMES).fold(timed(), |best, _| {
        let next = timed();
        if next.0 < best.0 { next } else { best }
    })
}

/// Every test that comes out otherwise.
fn differences(found: &[VisitFindings], said: &Value) -> Vec<String> {
    let mut differ = Vec::new();
    for test in found.iter().flat_map(|visit| &visit.tests) {
        let theirs = said.get(test.test.to_string()).unwrap_or(&Value::Null);
        let ours = numbers(test);
        let same = ours.iter().all(|(name, value)| match (value, theirs.get(name)) {
            (Value::Number(a), Some(Value::Number(b))) => {
                let (a, b) = (a.as_f64().unwrap_or(f64::NAN), b.as_f64().unwrap_or(f64::NAN));
                (a - b).abs() <= WITHIN * a.abs().max(1.0)
            }
            (value, theirs) => value == theirs.unwrap_or(&Value::Null),
        });
        if !same {
            differ.push(format!("{}: native {}, Python {theirs}", test.tag(), serde_json::json!(ours)));
        }
    }
    differ
}

/// The numbers of a test under the names the script uses.
fn numbers(test: &TestFindings) -> BTreeMap<&'static str, Value> {
    let operated = match test.operated {
        Operated::Yes { .. } => "yes",
        Operated::No { .. } => "no",
        Operated::NotYet | Operated::NotDecided { .. } => "not decided",
    };
    let mut map = BTreeMap::from([("operated", Value::from(operated))]);
    if let Ok(operating) = &test.operating {
        map.insert("mean", operating.mean.0.into());
        map.insert("u", operating.u.0.into());
        map.insert("df", operating.df.map_or(Value::Null, Value::from));
        map.insert("expanded", operating.expanded.0.into());
    }
    if let Ok(stated) = &test.judged.limit_result {
        map.insert("p", stated.p_conform.into());
        map.insert("limit_result", limit_result_words(stated.limit_result).to_lowercase().into());
    }
    map
}
