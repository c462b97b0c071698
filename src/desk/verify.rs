//! `soakbook verify`: every check, a line each, and a count.
//!
//! The app is built beside the checks that do without it: its profile has a folder and a lock of its own in cargo's target
//! folder, and linking it keeps one core busy for minutes. Everything else goes one after another, because compilations of one
//! profile would only wait for each other.

use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode};
use std::thread;
use std::time::Instant;

use super::build::{self, Kind, Voice};
use super::lock::Lock;
use super::package::Package;
use super::steps::Steps;
use super::tools::{self, Browser, Needs, Tools};
use super::{Trouble, sizes};

/// The name of the check that the app builds.
const THE_APP: &str = "the app builds";

/// What a check has to say when it passes, or why it did not.
type Outcome = Result<String, Failure>;

enum Failure {
    /// The words of the program in the check's log.
    Log,
    /// Our own.
    Said(String),
}

impl From<&Trouble> for Failure {
    fn from(trouble: &Trouble) -> Self {
        Self::Said(trouble.to_string())
    }
}

struct Report {
    /// Where each check's output is kept.
    logs: PathBuf,
    passed: usize,
    failed: usize,
}

pub(crate) fn run() -> Result<ExitCode, Trouble> {
    let package = Package::find()?;
    let _lock = Lock::take(&package.desk().join("verify.lock"), "Another `cargo verify` runs here; waiting for it …")?;
    let source_tools = tools::for_source_checks();
    let steps = Steps::new(package.logs());
    let tools = tools::find_or_install(&package, Needs::Tests, &steps, || ());
    let browser = tools::browser();
    let dist = package.desk().join("verify-dist");
    let mut report = Report { logs: package.logs(), passed: 0, failed: 0 };
    fs::create_dir_all(&report.logs).map_err(|error| Trouble::file(&report.logs, &error))?;

    let cargo = |words: &str| {
        let mut command = tools.as_ref().map_or_else(|_| tools::plain("cargo"), |tools| tools.command("cargo"));
        command.args(words.split(' ')).current_dir(&package.root);
        command
    };
    let build_log = report.log(THE_APP);
    thread::scope(|scope| {
        let building = scope.spawn(|| {
            timed(|| {
                let outcome =
                    build::build(&package, tools.as_ref()?, Kind::Small, &dist, Voice::Into(build_log.clone()));
                outcome.map(|()| String::new()).map_err(|trouble| match trouble {
                    Trouble::Mend(_) => Failure::Log,
                    other => Failure::from(&other),
                })
            })
        });
        report.check("format", |log| {
            source_tools.as_ref()?;
            passes(cargo("fmt --check"), log)
        });
        report.check("clippy, native", |log| {
            passes(cargo("clippy --all-targets -- -D warnings"), log)?;
            // Left out of all targets, because it is not tested with the others.
            passes(cargo("clippy --test e2e -- -D warnings"), log)
        });
        report.check("clippy, browser", |log| {
            tools.as_ref()?;
            passes(
                cargo("clippy --target wasm32-unknown-unknown --lib --bins --test web --features split -- -D warnings"),
                log,
            )
        });
        report.check("native tests", |log| tests(cargo("test"), log));
        report.check("tests in the browser", |log| {
            tools.as_ref()?;
            let mut command = cargo("test --target wasm32-unknown-unknown --test web");
            command.env("CHROMEDRIVER", &browser.as_ref()?.driver).env("WASM_BINDGEN_TEST_TIMEOUT", "300");
            tests(command, log)
        });
        let built = report.take(THE_APP, || building.join().unwrap_or_else(|_| (Err(not_built()), 0.0)));
        report.check("size of the download", |_| if built { size(&dist) } else { Err(not_built()) });
        report.check("end-to-end tests", |log| {
            if !built {
                return Err(not_built());
            }
            tests(end_to_end(cargo("test --test e2e"), tools.as_ref()?, browser.as_ref()?, &dist)?, log)
        });
    });
    println!("\n{} passed, {} failed", report.passed, report.failed);
    Ok(if report.failed == 0 { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}

/// Builds the app, if its sources changed, and runs one of the end-to-end program's ignored measurements on it, which prints its
/// figures.
pub(crate) fn figures(package: &Package, name: &str) -> Result<bool, Trouble> {
    let tools = tools::find_or_install(package, Needs::WasmOpt, &Steps::new(package.logs()), || ())?;
    let browser = tools::browser()?;
    let dist = package.desk().join("verify-dist");
    println!("Building the app, if it changed, usually 5 minutes …");
    build::build(package, &tools, Kind::Small, &dist, Voice::Aloud)?;
    let mut command = tools.command("cargo");
    let words = ["test", "--quiet", "--test", "e2e", name, "--", "--ignored", "--nocapture"];
    command.args(words).current_dir(&package.root);
    command.env("SOAKBOOK_DIST", &dist);
    command.env("SOAKBOOK_CHROMIUM", &browser.chromium).env("SOAKBOOK_CHROMEDRIVER", &browser.driver);
    let status = command.status().map_err(|error| Trouble::Mend(format!("cargo did not start: {error}")))?;
    Ok(status.success())
}

impl Report {
    /// Runs one check and says how it went, with everything it printed when it failed.
    fn check(&mut self, name: &str, check: impl FnOnce(&Path) -> Outcome) -> bool {
        let log = self.log(name);
        let _ = fs::remove_file(&log);
        self.take(name, || timed(|| check(&log)))
    }

    /// The file for what the programs of a check print.
    fn log(&self, name: &str) -> PathBuf {
        self.logs.join(format!("{}.log", name.replace([' ', ','], "-")))
    }

    /// As [`Self::check`], of one that may run elsewhere; `outcome` waits for it.
    fn take(&mut self, name: &str, outcome: impl FnOnce() -> (Outcome, f64)) -> bool {
        print!("{name:<24}");
        // Shows what runs; a terminal that cannot be flushed loses nothing else.
        let _ = io::stdout().flush();
        let log = self.log(name);
        let (outcome, seconds) = outcome();
        match outcome {
            Ok(detail) => {
                println!("ok     {seconds:7.1} s  {detail}");
                self.passed += 1;
                true
            }
            Err(failure) => {
                println!("FAILED {seconds:7.1} s");
                match failure {
                    Failure::Log => println!("{}", String::from_utf8_lossy(&fs::read(&log).unwrap_or_default())),
                    Failure::Said(words) => println!("{words}\n"),
                }
                self.failed += 1;
                false
            }
        }
    }
}

/// What came of a check, and the seconds it took.
#[expect(clippy::disallowed_methods, reason = "the time a check takes is what is reported")]
fn timed(check: impl FnOnce() -> Outcome) -> (Outcome, f64) {
    let start = Instant::now();
    let outcome = check();
    (outcome, start.elapsed().as_secs_f64())
}

/// A program that must end well.
fn passes(mut command: Command, log: &Path) -> Outcome {
    let (out, err) = Voice::Into(log.to_owned()).pipes().map_err(|trouble| Failure::from(&trouble))?;
    match command.stdout(out).stderr(err).status() {
        Ok(status) if status.success() => Ok(String::new()),
        Ok(_) => Err(Failure::Log),
        Err(error) => Err(Failure::Said(format!("{} did not start: {error}", command.get_program().display()))),
    }
}

/// A program that must end well and must have run a test.
fn tests(command: Command, log: &Path) -> Outcome {
    passes(command, log)?;
    match passed_tests(&String::from_utf8_lossy(&fs::read(log).unwrap_or_default())) {
        0 => Err(Failure::Said("No test was run, so nothing was checked".to_owned())),
        count => Ok(format!("{count} tests")),
    }
}

/// Adds up the closing lines of test programs.
pub(crate) fn passed_tests(log: &str) -> usize {
    log.lines()
        .filter_map(|line| line.strip_prefix("test result: ok. ")?.split(' ').next()?.parse::<usize>().ok())
        .sum()
}

fn end_to_end(mut command: Command, tools: &Tools, browser: &Browser, dist: &Path) -> Result<Command, Failure> {
    let axe = tools.axe().ok_or_else(|| {
        Failure::Said("The accessibility checker is missing; it comes with npm. Install Node.js with npm".to_owned())
    })?;
    command.env("SOAKBOOK_DIST", dist).env("SOAKBOOK_AXE", axe);
    if tools::servers().map_err(|trouble| Failure::from(&trouble))? {
        command.env("SOAKBOOK_SERVERS", "yes");
    }
    if tools::paper().map_err(|trouble| Failure::from(&trouble))? {
        command.env("SOAKBOOK_PAPER", "yes");
    }
    command.env("SOAKBOOK_CHROMIUM", &browser.chromium).env("SOAKBOOK_CHROMEDRIVER", &browser.driver);
    Ok(command)
}

fn not_built() -> Failure {
    Failure::Said("There is no built app to look at".to_owned())
}

fn size(dist: &Path) -> Outcome {
    let files = sizes::download(dist).map_err(|error| Failure::from(&Trouble::file(dist, &error)))?;
    let total: usize = files.iter().map(|(_, size)| size).sum();
    let kilobytes = |bytes: usize| bytes as f64 / 1e3;
    let first = sizes::first(&files);
    let said = |what: &str, is: usize, budget: usize, ceiling: usize| {
        let [is, budget, ceiling] = [is, budget, ceiling].map(kilobytes);
        format!("{what} {is:.1} kB gzip of {budget:.0} kB promised, ceiling {ceiling:.0} kB")
    };
    let sum = format!(
        "{}; {}",
        said("all", total, sizes::BUDGET, sizes::CEILING),
        said("first", first, sizes::FIRST_BUDGET, sizes::FIRST_CEILING)
    );
    if total <= sizes::CEILING && first <= sizes::FIRST_CEILING {
        return Ok(sum);
    }
    let lines: Vec<_> = files.iter().map(|(name, size)| format!("{size:9}  {name}")).collect();
    Err(Failure::Said(format!("{sum}\n{}", lines.join("\n"))))
}
