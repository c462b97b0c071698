//! What must be installed, and how: into one folder per user, keyed by tool and version, so that a second clone finds it.
//!
//! A tool is put together in a folder beside its place and moved there in one step, so what is in place is complete.

use std::env;
use std::ffi::{OsStr, OsString};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use sha2::{Digest, Sha256};

use super::Trouble;
use super::lock::Lock;
use super::package::Package;

const TARGET: &str = "wasm32-unknown-unknown";
const TRUNK: &str = "0.21.14";

/// The tools that were found or installed, and how to start a program with them.
#[derive(Debug)]
pub(crate) struct Tools {
    /// `PATH` with the tools before everything else.
    path: OsString,
    /// npm's packages, where there is npm.
    modules: Option<PathBuf>,
    bindgen: String,
}

/// A browser and its driver.
#[derive(Debug)]
pub(crate) struct Browser {
    pub(crate) chromium: PathBuf,
    pub(crate) driver: PathBuf,
}

impl Tools {
    /// A program that finds the tools first.
    pub(crate) fn command(&self, program: &str) -> Command {
        let mut command = plain(program);
        command.env("PATH", &self.path);
        command
    }

    /// Whether the app can be made smaller after the compiler.
    pub(crate) fn has_wasm_opt(&self) -> bool {
        self.modules.is_some()
    }

    /// The accessibility checker's script.
    pub(crate) fn axe(&self) -> Option<PathBuf> {
        self.modules.as_ref().map(|modules| modules.join("axe-core").join("axe.min.js"))
    }

    /// What shapes a built app beside its sources.
    pub(crate) fn shape(&self) -> Vec<String> {
        let compiler = said(plain("rustc").arg("-vV")).unwrap_or_default();
        let flags = env::var("RUSTFLAGS").unwrap_or_default();
        let modules = self.modules.as_deref().map(|modules| modules.display().to_string()).unwrap_or_default();
        vec![compiler, flags, TRUNK.to_owned(), self.bindgen.clone(), modules]
    }
}

/// Installs what the build lacks.
pub(crate) fn for_build(package: &Package) -> Result<Tools, Trouble> {
    wasm_target()?;
    let cache = cache()?;
    let lock_file = package.root.join("Cargo.lock");
    let lock_text = fs::read_to_string(&lock_file).map_err(|error| Trouble::file(&lock_file, &error))?;
    let bindgen = locked_version(&lock_text, "wasm-bindgen")
        .ok_or_else(|| Trouble::Allow("Cargo.lock: it names no wasm-bindgen".to_owned()))?
        .to_owned();
    let mut folders = vec![
        from_crates(&cache, "trunk", TRUNK, "trunk", &["--locked"], "6 minutes")?,
        // Without --locked: its version is fixed by ours, and nothing of it travels to the phone.
        from_crates(&cache, "wasm-bindgen-cli", &bindgen, "wasm-bindgen", &[], "2 minutes")?,
    ];
    let modules = from_npm(&cache, package)?;
    folders.extend(modules.as_ref().map(|modules| modules.join(".bin")));
    let system = env::var_os("PATH").unwrap_or_default();
    let path = env::join_paths(folders.into_iter().chain(env::split_paths(&system)))
        .map_err(|error| Trouble::Allow(format!("{} as a place for tools: {error}", cache.display())))?;
    Ok(Tools { path, modules, bindgen })
}

/// Installs what the checks of the source text lack.
pub(crate) fn for_source_checks() -> Result<(), Trouble> {
    for (subcommand, component) in [("fmt", "rustfmt"), ("clippy", "clippy")] {
        if said(plain("cargo").args([subcommand, "--version"])).is_none() {
            rustup(&["component", "add", component], component, "half a minute")?;
        }
    }
    Ok(())
}

/// Finds a browser and its driver; installs them where that is allowed without asking.
pub(crate) fn browser() -> Result<Browser, Trouble> {
    if let Some(browser) = find_browser() {
        return Ok(browser);
    }
    const INSTALL: &str = "apt-get install -y --no-install-recommends chromium chromium-driver fonts-liberation";
    if find("apt-get").is_some() {
        if said(plain("id").arg("-u")).is_some_and(|id| id.trim() == "0") {
            let _lock =
                Lock::take(&cache()?.join("apt.lock"), "Another soakbook command installs Chromium; waiting for it …")?;
            if find_browser().is_none() {
                step("Chromium and its driver, with apt", "2 minutes");
                for line in ["apt-get update", INSTALL] {
                    let mut words = line.split(' ');
                    let mut apt = plain(words.next().unwrap_or_default());
                    apt.env("DEBIAN_FRONTEND", "noninteractive")
                        .args(["-q", "-o", "DPkg::Lock::Timeout=600"])
                        .args(words);
                    // A failure shows below as a browser that is still not there.
                    let _ = apt.stdin(Stdio::null()).status();
                }
            }
        }
        let command = format!("sudo apt-get update && sudo {INSTALL}");
        let what = "Chromium or chromedriver is missing".to_owned();
        return find_browser().ok_or(Trouble::Install { what, command });
    }
    let command = match env::consts::OS {
        "macos" => "brew install --cask google-chrome chromedriver",
        "windows" => "winget install Google.Chrome Chromium.ChromeDriver",
        _ => {
            "the packages `chromium` and `chromedriver` of your system, or SOAKBOOK_CHROMIUM=… SOAKBOOK_CHROMEDRIVER=…"
        }
    };
    let what = "Chromium or chromedriver is missing".to_owned();
    Err(Trouble::Install { what, command: command.to_owned() })
}

fn find_browser() -> Option<Browser> {
    let named = |variable: &str| env::var_os(variable).map(PathBuf::from).filter(|path| path.is_file());
    let chrome_on_mac = PathBuf::from("/Applications/Google Chrome.app/Contents/MacOS/Google Chrome");
    let chromium = named("SOAKBOOK_CHROMIUM")
        .or_else(|| {
            ["chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome"]
                .iter()
                .find_map(|name| find(name))
        })
        .or_else(|| Some(chrome_on_mac).filter(|path| path.is_file()))?;
    let driver = named("SOAKBOOK_CHROMEDRIVER").or_else(|| named("CHROMEDRIVER")).or_else(|| find("chromedriver"))?;
    Some(Browser { chromium, driver })
}

/// The version of a package in the text of a `Cargo.lock`.
#[must_use]
pub fn locked_version<'a>(lock: &'a str, package: &str) -> Option<&'a str> {
    let name = format!("name = \"{package}\"");
    let mut lines = lock.lines().skip_while(|line| *line != name);
    lines.nth(1)?.strip_prefix("version = \"")?.strip_suffix('"')
}

/// Where tools are kept on `system` (as in [`env::consts::OS`]), given the environment: `SOAKBOOK_CACHE`, else the
/// system's folder for caches of one user.
#[must_use]
pub fn cache_dir(system: &str, variable: impl Fn(&str) -> Option<OsString>) -> Option<PathBuf> {
    let set = |name: &str| variable(name).filter(|value| !value.is_empty()).map(PathBuf::from);
    if let Some(folder) = set("SOAKBOOK_CACHE") {
        return Some(folder);
    }
    let caches = match system {
        "windows" => set("LOCALAPPDATA")?,
        "macos" => set("HOME")?.join("Library").join("Caches"),
        _ => {
            set("XDG_CACHE_HOME").filter(|folder| folder.is_absolute()).or_else(|| Some(set("HOME")?.join(".cache")))?
        }
    };
    Some(caches.join("soakbook"))
}

fn cache() -> Result<PathBuf, Trouble> {
    let folder =
        cache_dir(env::consts::OS, |name| env::var_os(name)).and_then(|folder| std::path::absolute(folder).ok());
    folder.ok_or_else(|| Trouble::Allow("a folder for tools: set SOAKBOOK_CACHE to one".to_owned()))
}

fn wasm_target() -> Result<(), Trouble> {
    let folder = said(plain("rustc").args(["--print", "target-libdir", "--target", TARGET]));
    if folder.is_some_and(|folder| Path::new(folder.trim()).is_dir()) {
        return Ok(());
    }
    rustup(&["target", "add", TARGET], "the compiler's part for the browser", "half a minute")
}

fn rustup(arguments: &[&str], what: &str, usually: &str) -> Result<(), Trouble> {
    step(&format!("{what}, with rustup"), usually);
    match plain("rustup").args(arguments).status() {
        Ok(status) if status.success() => Ok(()),
        _ => Err(Trouble::Install {
            what: format!("{what} is missing, and rustup could not add it"),
            command: format!("rustup {}", arguments.join(" ")),
        }),
    }
}

/// Installs a program of crates.io into its place in the cache; gives the folder of its programs.
fn from_crates(
    cache: &Path,
    name: &str,
    version: &str,
    program: &str,
    flags: &[&str],
    usually: &str,
) -> Result<PathBuf, Trouble> {
    let place = cache.join(format!("{name}-{version}"));
    let folder = place.join("bin");
    let program = folder.join(format!("{program}{}", env::consts::EXE_SUFFIX));
    let works = || said(plain(&program).arg("--version")).is_some_and(|text| text.contains(version));
    if works() {
        return Ok(folder);
    }
    let _lock = wait_for(cache, &place, name)?;
    if works() {
        return Ok(folder);
    }
    step(&format!("{name} {version}, with cargo"), usually);
    let partial = partial(cache, &place)?;
    let command = format!("cargo install {name} --version {version} {}", flags.join(" "));
    let mut cargo = plain("cargo");
    // Compiled in a folder that stays when this is cut short, so that the next try goes on from there.
    cargo.args(["install", name, "--version", version, "--root"]).arg(&partial);
    cargo.arg("--target-dir").arg(partial.join("target")).args(flags).current_dir(cache);
    match cargo.status() {
        Ok(status) if status.success() => {}
        _ => {
            let root = place.display();
            let what = format!("{name} {version} is missing, and cargo could not install it");
            return Err(Trouble::Install { what, command: format!("{} --root \"{root}\"", command.trim_end()) });
        }
    }
    remove(&partial.join("target"))?;
    put_in_place(&partial, &place)?;
    Ok(folder)
}

/// Installs the packages of `tests/tools` into the cache; gives the folder of the packages, or nothing without npm.
fn from_npm(cache: &Path, package: &Package) -> Result<Option<PathBuf>, Trouble> {
    let source = package.root.join("tests").join("tools");
    let lock_file = source.join("package-lock.json");
    let lock = fs::read(&lock_file).map_err(|error| Trouble::file(&lock_file, &error))?;
    let key: String = Sha256::digest(&lock).iter().take(4).map(|byte| format!("{byte:02x}")).collect();
    let place = cache.join(format!("node-tools-{key}"));
    let modules = place.join("node_modules");
    let works = || modules.join("axe-core").is_dir() && modules.join(".bin").is_dir();
    let (Some(npm), Some(_)) = (find("npm"), find("node")) else {
        println!("There is no npm here: the app is built without wasm-opt, and is a little larger for it.");
        return Ok(None);
    };
    if works() {
        return Ok(Some(modules));
    }
    let _lock = wait_for(cache, &place, "the packages of tests/tools")?;
    if works() {
        return Ok(Some(modules));
    }
    step("wasm-opt and the accessibility checker, with npm", "half a minute");
    let partial = partial(cache, &place)?;
    for name in ["package.json", "package-lock.json"] {
        fs::copy(source.join(name), partial.join(name)).map_err(|error| Trouble::file(&partial, &error))?;
    }
    let mut command = plain(npm);
    command.args(["ci", "--ignore-scripts", "--no-audit", "--no-fund"]).current_dir(&partial);
    if !command.status().is_ok_and(|status| status.success()) {
        println!("npm could not install them: the app is built without wasm-opt. By hand: npm ci, in tests/tools");
        return Ok(None);
    }
    put_in_place(&partial, &place)?;
    Ok(Some(modules))
}

fn step(what: &str, usually: &str) {
    println!("Installing {what}; usually {usually} …");
}

fn wait_for(cache: &Path, place: &Path, name: &str) -> Result<Lock, Trouble> {
    let file = format!("{}.lock", place.file_name().unwrap_or_default().to_string_lossy());
    Lock::take(&cache.join(file), &format!("Another soakbook command installs {name}; waiting for it …"))
}

fn partial(cache: &Path, place: &Path) -> Result<PathBuf, Trouble> {
    let folder = cache.join("partial").join(place.file_name().unwrap_or_default());
    fs::create_dir_all(&folder).map_err(|error| Trouble::file(&folder, &error))?;
    Ok(folder)
}

fn put_in_place(partial: &Path, place: &Path) -> Result<(), Trouble> {
    remove(place)?;
    fs::rename(partial, place).map_err(|error| Trouble::file(place, &error))
}

fn remove(folder: &Path) -> Result<(), Trouble> {
    if folder.exists() { fs::remove_dir_all(folder).map_err(|error| Trouble::file(folder, &error)) } else { Ok(()) }
}

/// A program without what `cargo run` told this one about its own package: a cargo started from here would take it for a
/// changed environment and compile again.
pub(crate) fn plain(program: impl AsRef<OsStr>) -> Command {
    let mut command = Command::new(program);
    for (name, _) in env::vars_os() {
        if name.to_str().is_some_and(|name| name.starts_with("CARGO_PKG_") || name.starts_with("CARGO_MANIFEST_")) {
            command.env_remove(name);
        }
    }
    command
}

/// What a program prints when it ends well.
fn said(command: &mut Command) -> Option<String> {
    let output = command.stdin(Stdio::null()).output().ok()?;
    output.status.success().then(|| String::from_utf8_lossy(&output.stdout).into_owned())
}

/// A program on `PATH`.
fn find(program: &str) -> Option<PathBuf> {
    let names: &[String] = &if cfg!(windows) {
        vec![format!("{program}.exe"), format!("{program}.cmd")]
    } else {
        vec![program.to_owned()]
    };
    let path = env::var_os("PATH")?;
    env::split_paths(&path)
        .flat_map(|folder| names.iter().map(move |name| folder.join(name)))
        .find(|file| file.is_file())
}
