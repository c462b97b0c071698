//! `evaluate` of 10,000 tests against the same results in Python with scipy.
//!
//! Both begin with the entries in memory and end with the results of every test; reading and hashing are left out on both sides.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Instant;

use serde_json::{Value, json};

use super::super::Trouble;
use super::super::package::Package;
use super::invented::{self, Size};
use crate::book::entries::Book;
use crate::book::visit::{Visit, visit_ids};
use crate::desk::evaluate::work_out;
use crate::findings::{self, AsRead, Missing, NotProven, TestFindings, Tripped, VisitFindings, limit_result_words};
use crate::handover::{Made, Select, bundle_of};
use crate::units::Wall;

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
    if python(&["-c", "import scipy"], Path::new(".")).is_none() {
        return Err(Trouble::Install {
            what: "Python 3 with scipy is missing; the results are held against it".to_owned(),
            command: "python3 -m pip install scipy".to_owned(),
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
    let version = |name: &str| said.get(name).and_then(Value::as_str).unwrap_or("?");
    let seconds = said.get("seconds").and_then(Value::as_f64).unwrap_or(f64::NAN);
    println!("Python {}, scipy {}: {seconds:.4} s", version("python"), version("scipy"));
    println!("native, 1 thread: {one:.4} s, {:.0} x as fast", seconds / one);
    println!("native, {threads} threads: {many:.4} s, {:.0} x as fast", seconds / many);
    let compared = Compared::of(&found, said.get("tests").unwrap_or(&Value::Null));
    compared.tally.iter().for_each(|(what, tests)| println!("  {tests:6} {what}"));
    println!("numbers differ by {:.1e} at most, relatively (allowed {WITHIN:.0e})", compared.worst);
    println!("{} of {} tests agree", compared.tests - compared.differ.len(), SIZE.tests);
    compared.differ.iter().take(5).for_each(|line| println!("  {line}"));
    Ok(compared.differ.is_empty() && compared.tests == SIZE.tests)
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
    let made = Made { at: Wall(0), app: env!("CARGO_PKG_VERSION").into(), phone: invented::PHONE };
    let bundle = bundle_of(book, Select::Everything, &made).map_err(|why| Trouble::Mend(why.to_string()))?;
    let folder = file.parent().unwrap_or(file);
    fs::create_dir_all(folder).and_then(|()| fs::write(file, bundle.text)).map_err(|error| Trouble::file(file, &error))
}

/// The shortest time, seconds, and what the work gave.
#[expect(clippy::disallowed_methods, reason = "the time is what is reported")]
pub(super) fn shortest<T>(work: impl Fn() -> T) -> (f64, T) {
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

/// What the two ways come to, test by test.
#[derive(Debug, Default)]
struct Compared {
    tests: usize,
    /// Tests that come out otherwise.
    differ: Vec<String>,
    /// The largest relative difference of two numbers.
    worst: f64,
    /// How many tests have each result by name.
    tally: BTreeMap<String, usize>,
}

impl Compared {
    fn of(found: &[VisitFindings], said: &Value) -> Compared {
        let mut compared = Compared::default();
        for test in found.iter().flat_map(|visit| &visit.tests) {
            compared.test(test, said.get(test.test.to_string()).unwrap_or(&Value::Null));
        }
        compared
    }

    fn test(&mut self, test: &TestFindings, said: &Value) {
        self.tests += 1;
        let ours = results(test);
        let named = said.as_object().is_some_and(|said| said.len() == ours.len());
        let same = ours.iter().all(|(name, value)| match (value, said.get(name)) {
            (Value::Number(a), Some(Value::Number(b))) => {
                let (a, b) = (a.as_f64().unwrap_or(f64::NAN), b.as_f64().unwrap_or(f64::NAN));
                let apart = (a - b).abs() / a.abs().max(1.0);
                self.worst = self.worst.max(apart);
                apart <= WITHIN
            }
            (value, said) => Some(value) == said,
        });
        if !named || !same {
            self.differ.push(format!("{}: native {}, Python {said}", test.tag(), json!(ours)));
        }
        for (name, value) in ours.iter().filter(|(_, value)| !value.is_number()) {
            *self.tally.entry(format!("{name} {value}")).or_default() += 1;
        }
    }
}

/// The results of a test under the names the script uses.
fn results(test: &TestFindings) -> BTreeMap<&'static str, Value> {
    let mut map = BTreeMap::from([
        ("outcome", Value::from(test.outcome.name())),
        ("at_panel", test.panel.name().into()),
        ("restored", test.restored.name().into()),
    ]);
    if let Some(early) = &test.early {
        map.insert("early_confirmed", early.confirmed.into());
    }
    match &test.tripped {
        Tripped::Yes { first_at } => map.extend([("tripped", "yes".into()), ("first_at", first_at.0.into())]),
        Tripped::NotYet => map.extend([("tripped", Value::from("not_yet"))]),
        Tripped::No(no_alarm) => {
            map.extend([("tripped", "no".into()), ("up_to", no_alarm.up_to.0.into())]);
            map.extend(no_alarm.soak.map(|soak| ("held_ms", (soak.until - soak.from).into())));
        }
        Tripped::NotDecided(why) => {
            map.extend([("tripped", Value::from("not_decided")), ("not_proven", why.name().into())]);
            match *why {
                NotProven::SoakTooShort { held_ms, needed_ms } => {
                    map.extend([("held_ms", held_ms.into()), ("needed_ms", needed_ms.into())]);
                }
                NotProven::NotHotEnough { reach, needed } => {
                    map.extend([("reach", reach.0.into()), ("needed", needed.0.into())]);
                }
                _ => {}
            }
        }
    }
    if let Ok(operating) = &test.operating {
        map.extend([("mean", operating.mean.0), ("u", operating.u.0), ("expanded", operating.expanded.0)].map(number));
        map.extend(operating.df.map(|df| ("df", df)).map(number));
    }
    match &test.judged.limit_result {
        Ok(stated) => {
            map.insert("limit_result", limit_result_words(stated.limit_result).into());
            map.insert("p", stated.p_conform.into());
        }
        Err(missing) => {
            let mut names: Vec<&str> = missing.iter().map(Missing::name).collect();
            names.sort_unstable();
            map.insert("missing", names.into());
        }
    }
    map.extend(test.judged.as_read.map(|as_read| ("mean_within", (as_read == AsRead::Within).into())));
    map
}

fn number((name, value): (&'static str, f64)) -> (&'static str, Value) {
    (name, value.into())
}
