//! Why the command stopped, named by what the user can do next.

use std::fmt;
use std::io;
use std::path::Path;

/// Why the command stopped.
#[derive(Debug)]
pub enum Trouble {
    /// Something is missing that only the user can install.
    Install {
        /// What is missing, as a sentence.
        what: String,
        /// The command that installs it.
        command: String,
    },
    /// A program that was started said no. Its own words are on the terminal.
    Mend(String),
    /// A file or folder cannot be read or written.
    Allow(String),
    /// The one port is taken.
    FreePort(String),
}

impl Trouble {
    /// A file that cannot be read or written.
    pub(crate) fn file(path: &Path, error: &io::Error) -> Self {
        Self::Allow(format!("{}: {error}", path.display()))
    }
}

impl fmt::Display for Trouble {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Install { what, command } => write!(f, "{what}. This installs it:\n\n    {command}"),
            Self::Mend(what) => write!(f, "{what}; its own words are above"),
            Self::Allow(what) => write!(f, "Cannot use {what}"),
            Self::FreePort(what) => write!(f, "{what}"),
        }
    }
}
