//! What the app costs to download.

use std::fs;
use std::io::{self, Write};
use std::path::Path;

use flate2::Compression;
use flate2::write::GzEncoder;

use super::{precache, split};

/// What the whole app is promised to cost, in bytes, each file by itself at gzip level 9.
pub const BUDGET: usize = 900_000;

/// What it may cost until the promise is kept: a little above what was measured last.
pub const CEILING: usize = 1_450_000;

/// What has to be there before the first screen is promised to cost, and what it may cost until then.
pub const FIRST_BUDGET: usize = 400_000;
/// As [`CEILING`].
pub const FIRST_CEILING: usize = 790_000;

/// Bytes of one file at gzip level 9.
///
/// # Errors
/// Never in practice: the bytes stay in memory.
pub fn gzipped(bytes: &[u8]) -> io::Result<usize> {
    let mut encoder = GzEncoder::new(Vec::new(), Compression::best());
    encoder.write_all(bytes)?;
    Ok(encoder.finish()?.len())
}

/// Name and gzip size of the worker and of every file that it lists, the largest first.
///
/// # Errors
/// When a file is missing, or the worker carries no list.
pub fn download(folder: &Path) -> io::Result<Vec<(String, usize)>> {
    let worker = fs::read_to_string(folder.join("sw.js"))?;
    let list = precache::listed(&worker).ok_or_else(|| io::Error::other("sw.js carries no list of files"))?;
    let mut sizes = vec![("sw.js".to_owned(), gzipped(worker.as_bytes())?)];
    for name in list.into_keys() {
        let size = gzipped(&fs::read(folder.join(&name))?)?;
        sizes.push((name, size));
    }
    sizes.sort_by_key(|&(_, size)| std::cmp::Reverse(size));
    Ok(sizes)
}

/// What of it has to be there before the first screen.
#[must_use]
pub fn first(files: &[(String, usize)]) -> usize {
    files.iter().filter(|(name, _)| !split::is_later(name)).map(|(_, size)| size).sum()
}
