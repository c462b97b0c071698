//! Whether the built app is still what the sources say.

use std::fs;
use std::io;
use std::path::Path;

use sha2::{Digest, Sha256};

use crate::encoding::to_hex;

/// What a built app was made from: the SHA-256 of all sources and of what else shapes it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stamp(String);

/// Folders and files of the package that shape the built app.
const SOURCES: [&str; 7] = ["src", "style", "public", "Cargo.toml", "Cargo.lock", "Trunk.toml", ".cargo"];

impl Stamp {
    /// Reads the sources below `root`. `also` names what shapes the build beside them: compiler, tools, flags.
    /// Contents count, not times: a checkout that changes times rebuilds nothing, and one that keeps them hides nothing.
    ///
    /// # Errors
    /// When a source cannot be read.
    pub fn of(root: &Path, also: &[String]) -> io::Result<Self> {
        let mut digest = Sha256::new();
        for source in SOURCES {
            let path = root.join(source);
            if path.exists() {
                add(&mut digest, source, &path)?;
            }
        }
        for item in also {
            part(&mut digest, item.as_bytes());
        }
        Ok(Self(to_hex(&digest.finalize())))
    }

    /// Whether the built folder carries this stamp.
    #[must_use]
    pub fn is_on(&self, dist: &Path) -> bool {
        fs::read_to_string(dist.join(".stamp")).is_ok_and(|text| text == self.0)
    }

    /// Puts the stamp on a built folder.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn put_on(&self, dist: &Path) -> io::Result<()> {
        fs::write(dist.join(".stamp"), &self.0)
    }
}

fn add(digest: &mut Sha256, name: &str, path: &Path) -> io::Result<()> {
    if path.is_dir() {
        let mut entries: Vec<_> = fs::read_dir(path)?.collect::<Result<_, _>>()?;
        entries.sort_by_key(fs::DirEntry::file_name);
        for entry in entries {
            add(digest, &format!("{name}/{}", entry.file_name().to_string_lossy()), &entry.path())?;
        }
    } else {
        part(digest, name.as_bytes());
        part(digest, &fs::read(path)?);
    }
    Ok(())
}

/// With its length before it, so that no two different lists of parts read alike.
fn part(digest: &mut Sha256, bytes: &[u8]) {
    digest.update((bytes.len() as u64).to_be_bytes());
    digest.update(bytes);
}
