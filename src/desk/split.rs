//! Cuts the small app in two: what has to be there first, and what comes after the first screen (`ui::later`).
//!
//! Trunk does not know these steps. It compiles and lays out the folder; from the app as it was compiled the files are then made again: the
//! cut, the bindings, each part made smaller, and names that carry a hash of all parts, in place of Trunk's pair.
//!
//! The parts share one memory and its addresses, so that parts of two builds must never meet. They cannot: a part is asked for by its
//! name, which no other build has, and the service worker takes a version whole or not at all.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use wasm_split_cli_support::{Options, transform};

use super::Trouble;
use super::build::Voice;
use super::package::Package;
use super::tools::Tools;
use crate::encoding::sha256_hex;

/// What cargo has to be told: the feature that marks where to cut, and the linker's flag that keeps what a cut needs to know, which is
/// where each function is named.
pub(crate) const FEATURE: &str = "split";
/// As [`FEATURE`].
pub(crate) const LINK: &str = " -Clink-args=--emit-relocs";

/// How wasm-opt makes each part smaller; measured on the whole app.
const OPTIMISE: [&str; 4] =
    ["-Oz", "--low-memory-unused", "--one-caller-inline-max-function-size=20", "--reorder-functions-by-name"];

/// What the files are called before their contents are known: as long as the name to come, which therefore can be put over it inside a
/// compiled part as well.
pub const UNNAMED: &str = "soakbook-name-comes-later";

/// What the ending of the later part is.
const LATER: &str = "_later.wasm";

/// What the ending of the module that fetches the later part is.
const LOADER: &str = "_parts.js";

/// What the built page calls the app: the name of its files before the ending.
#[must_use]
pub fn stem(page: &str) -> Option<&str> {
    page.split_once("data-js=\"./")?.1.split_once('"')?.0.strip_suffix(".js")
}

/// Whether a file of that folder comes after the first screen.
#[must_use]
pub fn is_later(file: &str) -> bool {
    file.ends_with(LATER)
}

/// Puts a hash of all files into the name of each, and wherever one names another. Returns the stem of the names, too.
#[must_use]
pub fn named(files: Vec<(String, Vec<u8>)>) -> (String, Vec<(String, Vec<u8>)>) {
    let all: Vec<u8> = files.iter().flat_map(|(_, bytes)| bytes).copied().collect();
    let stem = format!("soakbook-{}", &sha256_hex(&all)[..UNNAMED.len() - "soakbook-".len()]);
    let rename = |(name, mut bytes): (String, Vec<u8>)| {
        let mut from = 0;
        while let Some(at) = bytes[from..].windows(UNNAMED.len()).position(|here| here == UNNAMED.as_bytes()) {
            let end = from + at + UNNAMED.len();
            bytes[from + at..end].copy_from_slice(stem.as_bytes());
            from = end;
        }
        (name.replace(UNNAMED, &stem), bytes)
    };
    let files = files.into_iter().map(rename).collect();
    (stem, files)
}

/// Replaces the app in a folder that Trunk has built by its parts.
pub(crate) fn split(package: &Package, tools: &Tools, dist: &Path, voice: &Voice) -> Result<(), Trouble> {
    let index = dist.join("index.html");
    let page = text(&index)?;
    let whole = stem(&page).ok_or_else(|| Trouble::Mend("index.html does not name the app".to_owned()))?;
    let work = package.desk().join("split");
    // What is left of an earlier one would be taken for a part of this.
    let _ = fs::remove_dir_all(&work);
    let (stem, files) = named(parts(package, tools, &work, voice)?);
    for (name, bytes) in files {
        write(&dist.join(name), bytes)?;
    }
    write(&index, with_loader(&page, whole).replace(whole, &stem).into())?;
    for ending in [".js", "_bg.wasm"] {
        let file = dist.join(format!("{whole}{ending}"));
        fs::remove_file(&file).map_err(|error| Trouble::file(&file, &error))?;
    }
    Ok(())
}

/// The page, which asks for the loader of the parts together with the app's module that imports it, and not a round trip after it.
fn with_loader(page: &str, stem: &str) -> String {
    let module = format!("<link rel=\"modulepreload\" href=\"./{stem}.js\"");
    let loader = format!("<link rel=\"modulepreload\" href=\"./{stem}{LOADER}\" crossorigin=\"anonymous\">");
    page.replace(&module, &format!("{loader}{module}"))
}

/// The files of the app, cut, bound and made smaller in the folder `work`, not yet named.
fn parts(package: &Package, tools: &Tools, work: &Path, voice: &Voice) -> Result<Vec<(String, Vec<u8>)>, Trouble> {
    let compiled = package.target.join("wasm32-unknown-unknown").join("web").join("soakbook.wasm");
    let compiled = fs::read(&compiled).map_err(|error| Trouble::file(&compiled, &error))?;
    let (main, bound) = (work.join("main.wasm"), work.join("bound"));
    let [module, link, app] = [".js", LOADER, "_bg.wasm"].map(|ending| format!("{UNNAMED}{ending}"));
    let (main_module, link_name) = (format!("./{module}"), format!("./{link}"));
    let mut options = Options::new(&compiled);
    (options.output_dir, options.main_out_path) = (work, &main);
    (options.main_module, options.link_name) = (&main_module, &link_name);
    let cut = transform(options).map_err(|error| Trouble::Mend(format!("The app was not split: {error:#}")))?;
    // One point of entry makes one part; another would need a name, and a thought about when it loads.
    let [part] = &cut.split_modules[..] else {
        return Err(Trouble::Mend(format!("The app was cut into {} parts and not two", cut.split_modules.len() + 1)));
    };
    let mut bindgen = tools.command("wasm-bindgen");
    bindgen.args(["--target", "web", "--no-typescript", "--keep-lld-exports", "--out-name", UNNAMED, "--out-dir"]);
    run(bindgen.arg(&bound).arg(&main), voice)?;
    let later = format!("{UNNAMED}{LATER}");
    let cut_name = part.file_name().unwrap_or_default().to_string_lossy();
    let loader = any_type(&text(&work.join(&link))?.replace(&*cut_name, &later))
        .ok_or_else(|| Trouble::Mend("The loader of the later part is not as it was".to_owned()))?;
    Ok(vec![
        (module.clone(), text(&bound.join(&module))?.into()),
        (link, loader.into()),
        (app.clone(), smaller(tools, &bound.join(&app), voice)?),
        (later, smaller(tools, part, voice)?),
    ])
}

/// The loader, which takes the later part under any media type, as the bindings take the first: some hosts do not know that of wasm, and
/// compiling while it comes is refused then. None where it does not say what it said.
#[must_use]
pub fn any_type(loader: &str) -> Option<String> {
    const STREAMED: &str = "WebAssembly.instantiateStreaming(src, imports)";
    const EITHER: &str = "src.then(async (part) => part.headers.get(\"Content-Type\")?.startsWith(\"application/wasm\")
        ? WebAssembly.instantiateStreaming(part, imports)
        : WebAssembly.instantiate(await part.arrayBuffer(), imports))";
    loader.contains(STREAMED).then(|| loader.replace(STREAMED, EITHER))
}

/// A part as wasm-opt leaves it, if there is a wasm-opt.
fn smaller(tools: &Tools, part: &Path, voice: &Voice) -> Result<Vec<u8>, Trouble> {
    if tools.has_wasm_opt() {
        run(tools.command("wasm-opt").args(OPTIMISE).arg("-o").arg(part).arg(part), voice)?;
    }
    fs::read(part).map_err(|error| Trouble::file(part, &error))
}

fn run(command: &mut Command, voice: &Voice) -> Result<(), Trouble> {
    let (out, err) = voice.more_pipes()?;
    let program = PathBuf::from(command.get_program());
    match command.stdout(out).stderr(err).status() {
        Ok(status) if status.success() => Ok(()),
        Ok(_) => Err(Trouble::Mend(format!("{} failed", program.display()))),
        Err(error) => Err(Trouble::Mend(format!("{} did not start: {error}", program.display()))),
    }
}

fn text(path: &Path) -> Result<String, Trouble> {
    fs::read_to_string(path).map_err(|error| Trouble::file(path, &error))
}

fn write(path: &Path, bytes: Vec<u8>) -> Result<(), Trouble> {
    fs::write(path, bytes).map_err(|error| Trouble::file(path, &error))
}
