//! Two commands at once do not hurt each other: the second waits, and says so.

use std::fs::{self, File, TryLockError};
use std::io;
use std::path::Path;

use super::Trouble;

/// Held until dropped; the system frees it when the program dies.
#[derive(Debug)]
pub(crate) struct Lock {
    _file: File,
}

impl Lock {
    /// Takes the lock file at `path`; `while_waiting` is said once when another program holds it.
    pub(crate) fn take(path: &Path, while_waiting: &str) -> Result<Self, Trouble> {
        let trouble = |error: io::Error| Trouble::file(path, &error);
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder).map_err(trouble)?;
        }
        let file = File::options().create(true).truncate(false).write(true).open(path).map_err(trouble)?;
        match file.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => {
                println!("{while_waiting}");
                file.lock().map_err(trouble)?;
            }
            // Some network file systems know no locks; one command at a time still works there.
            Err(TryLockError::Error(error)) if error.kind() == io::ErrorKind::Unsupported => {}
            Err(TryLockError::Error(error)) => return Err(trouble(error)),
        }
        Ok(Self { _file: file })
    }
}
