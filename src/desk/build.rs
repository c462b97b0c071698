//! Builds the app with Trunk, unless the built folder already is what the sources say.

use std::env;
use std::ffi::OsString;
use std::fs::{self, OpenOptions};
use std::path::{Path, PathBuf};
use std::process::Stdio;

use super::lock::Lock;
use super::package::Package;
use super::steps::Steps;
use super::tools::{Tools, plain};
use super::{Stamp, Trouble, precache, split};

/// Where the words of the programs go that are started.
#[derive(Debug)]
pub(crate) enum Voice {
    /// To the terminal.
    Aloud,
    /// To this file.
    Into(PathBuf),
}

impl Voice {
    /// Standard output and standard error of a program.
    pub(crate) fn pipes(&self) -> Result<(Stdio, Stdio), Trouble> {
        self.open(OpenOptions::new().create(true).write(true).truncate(true))
    }

    /// The same for one that follows another.
    pub(crate) fn more_pipes(&self) -> Result<(Stdio, Stdio), Trouble> {
        self.open(OpenOptions::new().create(true).append(true))
    }

    fn open(&self, how: &OpenOptions) -> Result<(Stdio, Stdio), Trouble> {
        let Self::Into(path) = self else { return Ok((Stdio::inherit(), Stdio::inherit())) };
        let both = how.open(path).and_then(|file| Ok((file.try_clone()?, file)));
        let (out, err) = both.map_err(|error| Trouble::file(path, &error))?;
        Ok((out.into(), err.into()))
    }
}

/// Flags of the compiler for wasm32, beside those in the package's configuration.
const WASM_FLAGS: &str = "CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_RUSTFLAGS";

/// Takes the folders of this machine out of the messages of the built app, which goes to other people's phones.
fn flags(root: &Path) -> OsString {
    let home = env::var_os("CARGO_HOME").map(PathBuf::from);
    let home = home.or_else(|| env::home_dir().map(|home| home.join(".cargo"))).unwrap_or_default();
    let registries = fs::read_dir(home.join("registry/src")).into_iter().flatten().flatten();
    let mut flags = OsString::new();
    // The last flag that fits counts, so the narrower ones follow. A folder with a space would be read as two flags.
    for folder in [root.to_owned(), home].into_iter().chain(registries.map(|registry| registry.path())) {
        if !folder.to_string_lossy().contains(' ') {
            flags.push(" --remap-path-prefix=");
            flags.push(folder);
            flags.push("=");
        }
    }
    flags
}

/// Which app is built.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    /// For a look on this computer: soon there, large and slow, and in one file, because a cut takes its time, too.
    Quick,
    /// For phones: small and fast, in two parts, minutes to build.
    Small,
}

/// Compiled without what only a debugger reads; else the settings of the tests, whose compiled crates are taken along.
const QUICK: (&str, &str) = ("CARGO_PROFILE_DEV_DEBUG", "none");

/// Compiles the quick app beside something else, so that Trunk finds it done. Trunk says what is wrong with it, if anything.
pub(crate) fn compile_ahead(package: &Package, steps: &Steps) {
    let mut cargo = plain("cargo");
    cargo.args(["build", "--locked", "--target", "wasm32-unknown-unknown", "--bin", "soakbook"]);
    cargo.env(WASM_FLAGS, flags(&package.root)).env(QUICK.0, QUICK.1).current_dir(&package.root);
    let _ = steps.cargo("The app itself", "2 minutes", cargo);
}

/// What the app of this kind is made from, as the sources are now.
fn stamp(package: &Package, tools: &Tools, kind: Kind) -> Result<Stamp, Trouble> {
    let mut shape = tools.shape();
    shape.push(format!("{kind:?}"));
    Stamp::of(&package.root, &shape).map_err(|error| Trouble::file(&package.root, &error))
}

/// Builds the app into `dist`.
pub(crate) fn build(package: &Package, tools: &Tools, kind: Kind, dist: &Path, voice: Voice) -> Result<(), Trouble> {
    // Trunk's own intermediate files live in cargo's target folder, whatever `dist` is.
    let _lock =
        Lock::take(&package.desk().join("build.lock"), "Another soakbook command is building; waiting for it …")?;
    let stamp = stamp(package, tools, kind)?;
    if stamp.is_on(dist) && precache::is_whole(dist) {
        return Ok(());
    }
    // A build that is cut short must not leave an old stamp beside new files.
    let _ = fs::remove_file(dist.join(".stamp"));
    let (out, err) = voice.pipes()?;
    let mut trunk = tools.command("trunk");
    trunk.args(["build", "--skip-version-check", "--dist"]).arg(dist);
    let mut flags = flags(&package.root);
    // Trunk stops at the customary NO_COLOR=1: it wants `true`.
    trunk.env_remove("NO_COLOR");
    match kind {
        Kind::Quick => drop(trunk.env(QUICK.0, QUICK.1)),
        Kind::Small => {
            flags.push(split::LINK);
            trunk.args(["--cargo-profile", "web", "--features", split::FEATURE]);
        }
    }
    let status = trunk.env(WASM_FLAGS, flags).current_dir(&package.root).stdout(out).stderr(err).status();
    match status {
        Ok(status) if status.success() => {}
        Ok(_) => return Err(Trouble::Mend("The app did not build".to_owned())),
        Err(error) => return Err(Trouble::Mend(format!("Trunk did not start: {error}"))),
    }
    if kind == Kind::Small {
        split::split(package, tools, dist, &voice)?;
    }
    precache::write(dist).and_then(|()| stamp.put_on(dist)).map_err(|error| Trouble::file(dist, &error))
}
