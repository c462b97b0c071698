//! The service worker's list: every built file with its SHA-256, filled into `public/sw.js`.

use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::Path;

use crate::encoding::{base64, sha256, sha256_hex};

/// The worker as written by hand, with an empty list.
const TEMPLATE: &str = include_str!("../../public/sw.js");
const NO_FILES: &str = "const FILES = {};";
const NO_VERSION: &str = "const VERSION = \"\";";

/// File names relative to the built folder, with `/`, and their SHA-256 in base64 as a browser's integrity check wants it.
pub type Files = BTreeMap<String, String>;

/// Writes `sw.js` into a built folder.
///
/// # Errors
/// When a file cannot be read or written.
pub fn write(folder: &Path) -> io::Result<()> {
    fs::write(folder.join("sw.js"), worker(&files(folder)?))
}

/// The worker for these files. Its version changes with any of them, and with the worker's own text.
#[must_use]
pub fn worker(files: &Files) -> String {
    let list = serde_json::Value::from_iter(files.iter().map(|(name, hash)| (name.as_str(), hash.as_str())));
    let filled = TEMPLATE.replace(NO_FILES, &format!("const FILES = {list};"));
    let hash = sha256_hex(filled.as_bytes());
    filled.replace(NO_VERSION, &format!("const VERSION = \"{}\";", &hash[..16]))
}

/// The list that a written worker carries.
#[must_use]
pub fn listed(worker: &str) -> Option<Files> {
    let line = worker.lines().find_map(|line| line.strip_prefix("const FILES = ")?.strip_suffix(';'))?;
    serde_json::from_str(line).ok()
}

/// Whether a built folder holds every file that its worker lists, byte for byte.
#[must_use]
pub fn is_whole(folder: &Path) -> bool {
    let Ok(worker) = fs::read_to_string(folder.join("sw.js")) else { return false };
    let Some(list) = listed(&worker) else { return false };
    !list.is_empty()
        && list.iter().all(|(name, hash)| fs::read(folder.join(name)).is_ok_and(|b| base64_sha256(&b) == *hash))
}

/// Every file of a built folder but the worker itself and hidden ones.
///
/// # Errors
/// When the folder or a file cannot be read.
pub fn files(folder: &Path) -> io::Result<Files> {
    let mut found = Files::new();
    collect(folder, "", &mut found)?;
    found.remove("sw.js");
    Ok(found)
}

fn collect(folder: &Path, prefix: &str, found: &mut Files) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let name = entry.file_name();
        let name = name.to_str().ok_or_else(|| io::Error::other(format!("{name:?} is not a name for the web")))?;
        if name.starts_with('.') {
            continue;
        }
        if entry.file_type()?.is_dir() {
            collect(&entry.path(), &format!("{prefix}{name}/"), found)?;
        } else {
            found.insert(format!("{prefix}{name}"), base64_sha256(&fs::read(entry.path())?));
        }
    }
    Ok(())
}

fn base64_sha256(bytes: &[u8]) -> String {
    base64(&sha256(bytes))
}
