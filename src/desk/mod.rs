//! The `soakbook` command. Native only.

use std::process::ExitCode;

/// Runs the command.
pub fn main() -> ExitCode {
    ExitCode::SUCCESS
}
