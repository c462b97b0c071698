//! `soakbook cases`: runs files of reference cases against the very functions the app uses.
//!
//! A file names its procedure in `file` and its tolerance in `within`; each case has an input and the outputs expected
//! of it, with where they come from.

mod compare;
mod procedures;

use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use serde_json::{Map, Value};

use crate::encoding::parse_strict;
use compare::{Comparison, Tolerances};

/// What running one file came to.
#[derive(Clone, Debug, PartialEq)]
pub struct Report {
    /// The procedure the file names.
    pub procedure: String,
    /// Cases run.
    pub cases: usize,
    /// The largest |x − e|/|e| over all numbers compared, those e left out that are no larger than the absolute tolerance.
    pub worst: f64,
    /// Every output that differs by more than its tolerance, or in kind.
    pub failures: Vec<String>,
}

/// Runs every case of every file and prints, per file, the cases run, the worst relative difference and each failure.
/// Exit status 0 when all pass, 1 when one fails, 2 when a file cannot be used or the report cannot be written; every file
/// is tried.
pub fn run(files: &[PathBuf]) -> ExitCode {
    let (mut failed, mut unusable) = (false, files.is_empty());
    for path in files {
        match check_file(path) {
            Ok(report) => {
                failed |= !report.failures.is_empty();
                match print_report(path, &report) {
                    // A reader that has gone away, as `head` does, is no reason to stop checking.
                    Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
                        unusable = true;
                        let _ = writeln!(io::stderr(), "{}: the report cannot be written: {error}", path.display());
                    }
                    _ => {}
                }
            }
            Err(reason) => {
                unusable = true;
                let _ = writeln!(io::stderr(), "{}: cannot be used: {reason}", path.display());
            }
        }
    }
    ExitCode::from(if unusable { 2 } else { u8::from(failed) })
}

fn print_report(path: &Path, report: &Report) -> io::Result<()> {
    let mut out = io::stdout().lock();
    let Report { procedure, cases, worst, failures } = report;
    let count = failures.len();
    let path = path.display();
    writeln!(out, "{path}: {procedure}: cases {cases}, failures {count}, worst relative difference {worst:.1e}")?;
    failures.iter().try_for_each(|failure| writeln!(out, "  {failure}"))
}

fn check_file(path: &Path) -> Result<Report, String> {
    let text = std::fs::read_to_string(path).map_err(|error| error.to_string())?;
    check(&text)
}

/// Runs the cases in the text of one file, or says why it is not such a file.
pub fn check(text: &str) -> Result<Report, String> {
    let file = parse_strict(text).map_err(|error| format!("not JSON: {error}"))?;
    let name =
        file.get("file").and_then(Value::as_str).ok_or("no text named \"file\" says which procedure it is for")?;
    let procedure = procedures::named(name).ok_or_else(|| format!("\"file\" names an unknown procedure, {name:?}"))?;
    let tolerances = Tolerances::read(&file)?;
    let compared = match file.get("compare") {
        None => None,
        Some(list) => Some(texts(list).ok_or("\"compare\" must be a list of names of outputs")?),
    };
    let cases = file.get("cases").and_then(Value::as_array).ok_or("no list named \"cases\"")?;
    if cases.is_empty() {
        return Err("\"cases\" is empty".to_string());
    }
    let mut unchecked = compared.clone().unwrap_or_default();
    let mut answered = false;
    let mut report = Report { procedure: name.to_string(), cases: 0, worst: 0.0, failures: Vec::new() };
    for (index, case) in cases.iter().enumerate() {
        let id = case.get("id").and_then(Value::as_str).map_or_else(|| format!("number {index}"), str::to_string);
        let within_case = |reason: String| format!("case {id}: {reason}");
        let expected = case.get("expected").and_then(Value::as_object);
        let expected = expected.ok_or_else(|| within_case("no object named \"expected\"".to_string()))?;
        let outputs = procedure(case).map_err(within_case)?;
        let mut comparison = Comparison::default();
        let named = |name: &String| compared.as_ref().is_none_or(|compared| compared.contains(name));
        compare_outputs(&mut comparison, expected, &outputs, &tolerances, named);
        // A refusal has no outputs, and what the input does not ask for is undefined: nothing to expect in either.
        unchecked.retain(|name| !expected.contains_key(name) && outputs.get(name) != Some(&Value::Null));
        answered |= !refused(status(&outputs));
        report.cases += 1;
        report.worst = report.worst.max(comparison.worst);
        report.failures.extend(comparison.failures.into_iter().map(|failure| format!("case {id}: {failure}")));
    }
    match unchecked.first() {
        Some(name) if answered => Err(format!("\"compare\" names {name:?}, which no case expects")),
        _ => Ok(report),
    }
}

/// What a case expects or a procedure says of itself, if anything.
fn status(outputs: &Map<String, Value>) -> Option<&str> {
    outputs.get("status").and_then(Value::as_str)
}

fn refused(status: Option<&str>) -> bool {
    status.is_some_and(|status| status != "ok")
}

/// Compares each output that the file names and the case expects; a refusal always counts.
fn compare_outputs(
    comparison: &mut Comparison,
    expected: &Map<String, Value>,
    outputs: &Map<String, Value>,
    tolerances: &Tolerances,
    named: impl Fn(&String) -> bool,
) {
    let (wanted, got) = (status(expected), status(outputs));
    if let Some(wanted) = wanted.filter(|_| refused(wanted) != refused(got)) {
        comparison.failures.push(format!("status is {:?}, expected {wanted:?}", got.unwrap_or("ok")));
        return;
    }
    let mut compared = usize::from(wanted.is_some());
    for (name, expected) in expected.iter().filter(|(name, _)| *name != "status" && named(name)) {
        compared += 1;
        match outputs.get(name) {
            Some(value) => comparison.add(name, expected, value, tolerances.of(name)),
            // A procedure that refuses has no outputs: all of them are undefined.
            None if refused(got) => comparison.add(name, expected, &Value::Null, tolerances.of(name)),
            None => comparison.failures.push(format!("{name} is not an output of this procedure")),
        }
    }
    if compared == 0 {
        comparison.failures.push("nothing to compare: it expects none of the outputs named".to_string());
    }
}

fn texts(list: &Value) -> Option<Vec<String>> {
    list.as_array()?.iter().map(|item| item.as_str().map(str::to_string)).collect()
}
