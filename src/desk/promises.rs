//! `soakbook promises`: measures what is promised, at full counts. Figures and ratios for people to read; nothing here passes or
//! fails by the clock.

mod due;
mod evaluation;
mod findings;
mod invented;
mod start;

pub use invented::{Size, book};

use std::process::ExitCode;

use clap::ValueEnum;

use super::Trouble;

/// What is promised.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Promise {
    /// `evaluate` against a Python script that comes to the same results its own way
    Evaluate,
    /// Start, and mark to "recorded", with 20,000 entries in the browser
    Start,
    /// Findings of 1,000 tests in the browser
    Findings,
    /// What is due at 5,000 positions after 20,000 tests
    Due,
}

/// Measures one promise, or every one. Exit status 2 when something that is needed is not there, and 1 when two ways of working the
/// same thing out disagree.
///
/// # Errors
/// When a file cannot be written or a program says no.
pub fn run(one: Option<Promise>) -> Result<ExitCode, Trouble> {
    let all = [Promise::Evaluate, Promise::Start, Promise::Findings, Promise::Due];
    let mut worst = 0;
    for promise in all.into_iter().filter(|promise| one.is_none_or(|one| one == *promise)) {
        let outcome = match promise {
            Promise::Evaluate => evaluation::measure(),
            Promise::Start => start::measure(),
            Promise::Findings => findings::measure(),
            Promise::Due => Ok(due::measure()),
        };
        worst = worst.max(match outcome {
            Ok(agree) => u8::from(!agree),
            Err(lacking @ Trouble::Install { .. }) => {
                println!("{lacking}");
                2
            }
            Err(trouble) => return Err(trouble),
        });
    }
    Ok(ExitCode::from(worst))
}
