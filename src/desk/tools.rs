//! What must be installed, and how: into one folder per user, keyed by tool and version, so that a second clone finds it.
//!
//! A tool is put together in a folder beside its place and moved there in one step, so what is in place is complete.

use std::env;
use std::ffi::{OsStr, OsString};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::thread;

use sha2::{Digest, Sha256};

use super::Trouble;
use super::lock::Lock;
use super::package::Package;
use super::steps::Steps;

const TARGET: &str = "wasm32-unknown-unknown";
const TRUNK: &str = "0.21.14";
const RUNNER: &str = "wasm-bindgen-test-runner";

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

/// What a command needs beside Trunk and the tool for the bindings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Needs {
    /// Nothing: a first look at the app comes soonest.
    Nothing,
    /// What makes the app smaller.
    WasmOpt,
    /// That, and what runs tests in the browser.
    Tests,
}

/// Finds the tools and installs what is missing. `meanwhile` is done beside the longest install, if there is one.
pub(crate) fn find_or_install(
    package: &Package,
    needs: Needs,
    steps: &Steps,
    meanwhile: impl FnOnce() + Send,
) -> Result<Tools, Trouble> {
    wasm_target()?;
    let cache = cache()?;
    let lock_file = package.root.join("Cargo.lock");
    let lock_text = fs::read_to_string(&lock_file).map_err(|error| Trouble::file(&lock_file, &error))?;
    let bindgen = locked_version(&lock_text, "wasm-bindgen")
        .ok_or_else(|| Trouble::Allow("Cargo.lock: it names no wasm-bindgen".to_owned()))?
        .to_owned();
    let trunk = FromCrates {
        name: "trunk",
        version: TRUNK,
        program: "trunk",
        // Without its default features: it looks for no updates and downloads nothing.
        flags: &["--locked", "--no-default-features"],
        optimised: "0",
        usually: "2 to 3 minutes",
    };
    let bindings = FromCrates {
        name: "wasm-bindgen-cli",
        version: &bindgen,
        program: "wasm-bindgen",
        // Without --locked: its version is fixed by ours, and nothing of it travels to the phone.
        flags: &["--no-default-features", "--bin", "wasm-bindgen"],
        optimised: "0",
        usually: "1 minute",
    };
    // It does the work of the other on every run of the tests, on a larger file.
    let runner =
        FromCrates { program: RUNNER, flags: &["--no-default-features", "--bin", RUNNER], optimised: "1", ..bindings };
    let mut folders = thread::scope(|scope| {
        let first = scope.spawn(|| {
            let missing = trunk.place(&cache).is_none();
            let folder = bindings.install(&cache, steps)?;
            if missing {
                meanwhile();
            }
            Ok(folder)
        });
        let trunk = trunk.install(&cache, steps);
        let first = first.join().unwrap_or_else(|_| Err(Trouble::Mend("Installing stopped".to_owned())));
        Ok::<_, Trouble>(vec![trunk?, first?])
    })?;
    if needs == Needs::Tests {
        folders.push(runner.install(&cache, steps)?);
    }
    let modules = if needs == Needs::Nothing { None } else { from_npm(&cache, package)? };
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
    let what = "Chromium or chromedriver is missing".to_owned();
    if find("apt-get").is_some() {
        const PACKAGES: &str = "chromium chromium-driver fonts-liberation";
        let command = from_apt(PACKAGES, "Chromium and its driver", "2 minutes", || find_browser().is_some())?;
        return find_browser().ok_or(Trouble::Install { what, command });
    }
    let command = match env::consts::OS {
        "macos" => "brew install --cask google-chrome chromedriver",
        "windows" => "winget install Google.Chrome Chromium.ChromeDriver",
        _ => {
            "the packages `chromium` and `chromedriver` of your system, or SOAKBOOK_CHROMIUM=… SOAKBOOK_CHROMEDRIVER=…"
        }
    };
    Err(Trouble::Install { what, command: command.to_owned() })
}

/// Finds the servers that the end-to-end tests send files to; installs them where that is allowed without asking. False on a system
/// without apt: the ready files for servers are those of Debian.
pub(crate) fn servers() -> Result<bool, Trouble> {
    const PACKAGES: &str = "nginx libnginx-mod-http-dav-ext apache2-bin apache2-utils media-types openssl curl";
    // Where programs of the system are, which are on the path of root alone.
    let program = |name: &str| find(name).is_some() || Path::new("/usr/sbin").join(name).is_file();
    let all = ["nginx", "apache2", "htpasswd", "openssl", "curl"];
    let module = Path::new("/usr/lib/nginx/modules/ngx_http_dav_ext_module.so");
    let there = || all.iter().all(|name| program(name)) && module.is_file();
    if find("apt-get").is_none() {
        return Ok(false);
    }
    let command = if there() {
        String::new()
    } else {
        from_apt(PACKAGES, "nginx and Apache, for the tests of the office's folder", "half a minute", there)?
    };
    let what = "nginx or Apache is missing".to_owned();
    if there() { Ok(true) } else { Err(Trouble::Install { what, command }) }
}

/// Finds what looks at printed pages: `qpdf`, and poppler for their text; installs them where that is allowed without asking. False on a
/// system without apt.
pub(crate) fn paper() -> Result<bool, Trouble> {
    let there = || ["qpdf", "pdftotext", "pdfinfo"].iter().all(|name| find(name).is_some());
    if there() {
        return Ok(true);
    }
    if find("apt-get").is_none() {
        return Ok(false);
    }
    let command = from_apt("qpdf poppler-utils", "qpdf and poppler, for printed pages", "half a minute", there)?;
    let what = "qpdf or poppler is missing".to_owned();
    if there() { Ok(true) } else { Err(Trouble::Install { what, command }) }
}

/// Installs packages where this is root; gives the command that a person would give. A failure shows as something still not there.
fn from_apt(packages: &str, what: &str, usually: &str, there: impl Fn() -> bool) -> Result<String, Trouble> {
    let install = format!("apt-get install -y --no-install-recommends {packages}");
    if said(plain("id").arg("-u")).is_some_and(|id| id.trim() == "0") {
        let _lock =
            Lock::take(&cache()?.join("apt.lock"), "Another soakbook command installs packages; waiting for it …")?;
        if !there() {
            step(&format!("{what}, with apt"), usually);
            for line in ["apt-get update", &install] {
                let mut words = line.split(' ');
                let mut apt = plain(words.next().unwrap_or_default());
                // In run level 1 no package starts a service.
                apt.env("DEBIAN_FRONTEND", "noninteractive").env("RUNLEVEL", "1");
                apt.args(["-q", "-o", "DPkg::Lock::Timeout=600"]).args(words);
                let _ = apt.stdin(Stdio::null()).status();
            }
        }
    }
    Ok(format!("sudo apt-get update && sudo {install}"))
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

/// A program of crates.io.
#[derive(Clone, Copy)]
struct FromCrates<'a> {
    name: &'a str,
    version: &'a str,
    program: &'a str,
    flags: &'a [&'a str],
    /// How far the compiler goes. Compiling such a tool at its own settings takes longer than it ever saves.
    optimised: &'a str,
    usually: &'a str,
}

impl FromCrates<'_> {
    /// The folder of the program, if it is there in this version: on `PATH`, else in the cache.
    fn place(&self, cache: &Path) -> Option<PathBuf> {
        let program = format!("{}{}", self.program, env::consts::EXE_SUFFIX);
        let ours = [self.name, self.program].map(|name| cache.join(format!("{name}-{}", self.version)).join("bin"));
        let folders = find(self.program).and_then(|file| Some(file.parent()?.to_owned())).into_iter().chain(ours);
        let says = |folder: &PathBuf| said(plain(folder.join(&program)).arg("--version")).unwrap_or_default();
        folders.into_iter().find(|folder| is_version(&says(folder), self.version))
    }

    /// Installs the program into its place in the cache, unless it is there; gives its folder.
    fn install(&self, cache: &Path, steps: &Steps) -> Result<PathBuf, Trouble> {
        let Self { program, version, .. } = self;
        if let Some(folder) = self.found(cache, steps) {
            return Ok(folder);
        }
        let place = cache.join(format!("{program}-{version}"));
        let _lock = wait_for(cache, &place, program)?;
        if let Some(folder) = self.found(cache, steps) {
            return Ok(folder);
        }
        let partial = partial(cache, &place)?;
        let mut cargo = plain("cargo");
        // Compiled in a folder that stays when this is cut short, so that the next try goes on from there.
        cargo.args(["install", self.name, "--version", version, "--root"]).arg(&partial);
        cargo.arg("--target-dir").arg(partial.join("target")).args(self.flags).current_dir(cache);
        for (setting, value) in [
            ("LTO", "off"),
            ("CODEGEN_UNITS", "16"),
            ("DEBUG", "none"),
            ("STRIP", "none"),
            ("OPT_LEVEL", self.optimised),
        ] {
            cargo.env(format!("CARGO_PROFILE_RELEASE_{setting}"), value);
        }
        if !steps.cargo(&format!("{program} {version}"), self.usually, cargo)? {
            let root = place.display();
            let what = format!("{program} {version} is missing, and cargo could not install it");
            let command =
                format!("cargo install {} --version {version} {} --root \"{root}\"", self.name, self.flags.join(" "));
            return Err(Trouble::Install { what, command });
        }
        remove(&partial.join("target"))?;
        put_in_place(&partial, &place)?;
        Ok(place.join("bin"))
    }

    /// As [`Self::place`]; a program that is not ours is named.
    fn found(&self, cache: &Path, steps: &Steps) -> Option<PathBuf> {
        let folder = self.place(cache)?;
        if !folder.starts_with(cache) {
            steps.say(&format!("Using {} {} of {}", self.program, self.version, folder.display()));
        }
        Some(folder)
    }
}

/// Whether what a program says to `--version` names this one: `0.1.2` is not `0.1.20`.
#[must_use]
pub fn is_version(said: &str, version: &str) -> bool {
    said.split_whitespace().any(|word| word.strip_prefix('v').unwrap_or(word) == version)
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
