//! The `soakbook` command. Native only.
//!
//! `cases` runs reference-case files, `evaluate` works out again what bundles say, `record` prints a visit, `promises` measures. `serve` and `verify` do
//! everything on a fresh machine with Rust: `tools` knows what must be there and how it gets there, `build` makes the app,
//! `split` cuts it in two, `server` serves it, `precache` and `sizes` look at what was built.
#![expect(clippy::print_stdout, clippy::print_stderr, reason = "a command speaks on its terminal")]

mod build;
pub mod cases;
pub mod evaluate;
mod lock;
mod package;
pub mod precache;
pub mod promises;
pub mod record;
mod serve;
pub mod server;
pub mod sizes;
pub mod split;
mod stamp;
mod steps;
mod tools;
mod trouble;
pub mod unseal;
mod verify;

pub use stamp::Stamp;
pub use steps::clock;
pub use tools::{cache_dir, is_version, locked_version};
pub use trouble::Trouble;

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Parser, Subcommand, ValueEnum};

use crate::handover::InUnit;
use evaluate::{Format, Wanted};
use promises::Promise;

/// Times, judges and records the heat test of spot heat detectors.
#[derive(Debug, Parser)]
#[command(version)]
struct Line {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Build the app and serve it on this computer
    Serve,
    /// Build the app for phones into the folder `dist`, for any https host
    Build,
    /// Run every check
    Verify,
    /// Run reference-case files: each names a procedure, inputs and expected values
    Cases {
        /// The files
        #[arg(required = true)]
        files: Vec<PathBuf>,
    },
    /// Work everything out again from the entries of bundles
    #[command(after_help = evaluate::STATUSES)]
    Evaluate {
        /// The bundles; many make one book; `-` is standard input. Sealed ones are opened with the passphrase in
        /// `SOAKBOOK_PASSPHRASE`, or it is asked for
        #[arg(required = true)]
        files: Vec<PathBuf>,
        /// How the records are written
        #[arg(long, value_enum, default_value_t = Format::Text)]
        format: Format,
        /// Each file is a book of its own; memory stays flat in their number
        #[arg(long)]
        each: bool,
        /// The unit of temperatures for `text` and `results`; the others are in °C
        #[arg(long, value_enum, default_value_t = Unit::C)]
        unit: Unit,
    },
    /// Print the record of a visit file, or its notice of deficiencies, as HTML: the same pages as on the phone
    #[command(after_help = record::STATUSES)]
    Record {
        /// The visit file; `-` is standard input. A sealed one is opened with the passphrase in `SOAKBOOK_PASSPHRASE`, or it is asked for
        file: PathBuf,
        /// The notice of deficiencies instead
        #[arg(long)]
        notice: bool,
        /// Which visit, where the file has several: its id, or the start of it
        #[arg(long)]
        visit: Option<String>,
        /// Leave the pictures out
        #[arg(long)]
        no_pictures: bool,
        /// Where to; standard output if absent
        #[arg(long, short)]
        out: Option<PathBuf>,
    },
    /// Measure what is promised
    Promises {
        /// One of them; every one when none is named
        name: Option<Promise>,
    },
}

/// The unit of temperatures.
#[derive(Clone, Copy, Debug, ValueEnum)]
enum Unit {
    /// °C
    C,
    /// °F
    F,
    /// Each test in that of its heater's setting
    Entered,
}

impl From<Unit> for InUnit {
    fn from(unit: Unit) -> InUnit {
        match unit {
            Unit::C => InUnit::C,
            Unit::F => InUnit::F,
            Unit::Entered => InUnit::AsEntered,
        }
    }
}

/// Runs the command.
pub fn main() -> ExitCode {
    let outcome = match Line::parse().command {
        Command::Serve => serve::run().map(|()| ExitCode::SUCCESS),
        Command::Build => serve::build_for_phones().map(|()| ExitCode::SUCCESS),
        Command::Verify => verify::run(),
        Command::Cases { files } => Ok(cases::run(&files)),
        Command::Evaluate { files, format, each, unit } => {
            Ok(evaluate::run(&files, Wanted { format, each, unit: unit.into() }))
        }
        Command::Record { file, notice, visit, no_pictures, out } => {
            let which = if notice { record::Which::Notice } else { record::Which::Record };
            Ok(record::run(&file, which, visit.as_deref(), !no_pictures, out.as_deref()))
        }
        Command::Promises { name } => promises::run(name),
    };
    outcome.unwrap_or_else(|trouble| {
        eprintln!("\n{trouble}");
        ExitCode::FAILURE
    })
}
