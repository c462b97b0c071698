//! Builds the app with Trunk, unless the built folder already is what the sources say.

use std::env;
use std::ffi::OsString;
use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::Stdio;

use super::lock::Lock;
use super::package::Package;
use super::tools::Tools;
use super::{Stamp, Trouble, precache};

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
        let Self::Into(path) = self else { return Ok((Stdio::inherit(), Stdio::inherit())) };
        let both = File::create(path).and_then(|file| Ok((file.try_clone()?, file)));
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

/// Builds the app into `dist`.
pub(crate) fn build(package: &Package, tools: &Tools, dist: &Path, voice: Voice) -> Result<(), Trouble> {
    // Trunk's own intermediate files live in cargo's target folder, whatever `dist` is.
    let _lock =
        Lock::take(&package.desk().join("build.lock"), "Another soakbook command is building; waiting for it …")?;
    let stamp = Stamp::of(&package.root, &tools.shape()).map_err(|error| Trouble::file(&package.root, &error))?;
    if stamp.is_on(dist) && precache::is_whole(dist) {
        return Ok(());
    }
    if matches!(voice, Voice::Aloud) {
        println!("Building the app, usually 2 minutes the first time …");
    }
    // A build that is cut short must not leave an old stamp beside new files.
    let _ = fs::remove_file(dist.join(".stamp"));
    let (out, err) = voice.pipes()?;
    let mut trunk = tools.command("trunk");
    trunk.args(["build", "--skip-version-check", "--dist"]).arg(dist);
    trunk.env(WASM_FLAGS, flags(&package.root));
    // Trunk stops at the customary NO_COLOR=1: it wants `true`.
    trunk.env_remove("NO_COLOR");
    // Trunk calls wasm-opt only in release mode, and would download it if it were not there.
    if tools.has_wasm_opt() {
        trunk.arg("--release=true");
    } else {
        trunk.args(["--cargo-profile", "web"]);
    }
    let status = trunk.current_dir(&package.root).stdout(out).stderr(err).status();
    match status {
        Ok(status) if status.success() => {}
        Ok(_) => return Err(Trouble::Mend("The app did not build".to_owned())),
        Err(error) => return Err(Trouble::Mend(format!("Trunk did not start: {error}"))),
    }
    stamp.put_on(dist).map_err(|error| Trouble::file(dist, &error))
}
