//! Walks `src/` and fails when a part knows what it must not know.

use std::fs;
use std::path::Path;

const MODULES: [&str; 13] = [
    "units", "stats", "encoding", "order", "trade", "thermal", "book", "findings", "handover", "view", "browser", "ui",
    "desk",
];

/// Ground that every part may stand on; these four know nothing, not even each other.
const GROUND: [&str; 4] = ["units", "stats", "encoding", "order"];

/// What a part may name of the others, beside the ground.
fn may_use(module: &str) -> &'static [&'static str] {
    match module {
        "book" => &["trade"],
        "findings" => &["trade", "thermal", "book"],
        "handover" => &["trade", "thermal", "book", "findings"],
        "view" => &["trade", "thermal", "book", "findings", "handover"],
        "browser" | "desk" => &["trade", "thermal", "book", "findings", "handover", "view"],
        "ui" => &["trade", "thermal", "book", "findings", "handover", "view", "browser"],
        // The root mounts the app or tests the command.
        "main" => &["ui", "desk"],
        _ => &[],
    }
}

/// Names that stand for a clock or for chance.
const IMPURE: [&str; 12] = [
    "SystemTime",
    "Instant",
    "UNIX_EPOCH",
    "Utc::now",
    "Local::now",
    "Date::now",
    "Performance",
    "getrandom",
    "rand::",
    "RandomState",
    "new_v4",
    "now_v7",
];

#[test]
fn each_part_knows_only_what_it_may() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    collect(&src, "", &mut files);
    assert!(files.len() >= MODULES.len(), "only {} files found below src", files.len());
    let faults: Vec<String> = files.iter().flat_map(|(path, text)| faults(path, text)).collect();
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
}

fn collect(folder: &Path, prefix: &str, files: &mut Vec<(String, String)>) {
    for entry in fs::read_dir(folder).unwrap().map(Result::unwrap) {
        let name = entry.file_name().into_string().unwrap();
        if entry.path().is_dir() {
            collect(&entry.path(), &format!("{prefix}{name}/"), files);
        } else if name.ends_with(".rs") {
            files.push((format!("{prefix}{name}"), fs::read_to_string(entry.path()).unwrap()));
        }
    }
}

/// What is wrong with a file, by its path below `src/`.
fn faults(path: &str, text: &str) -> Vec<String> {
    let module = path.split('/').next().unwrap_or_default().trim_end_matches(".rs");
    let code = code_only(text);
    let mut faults = Vec::new();
    if !MODULES.contains(&module) && !["lib", "main"].contains(&module) {
        faults.push(format!("{path}: a part that the map does not name"));
    }
    for used in parts_named(&code, depth(path)) {
        let ground = !GROUND.contains(&module) && GROUND.contains(&used.as_str());
        if used != module && !ground && !may_use(module).contains(&used.as_str()) {
            faults.push(format!("{path}: `{module}` must not use `{used}`"));
        }
    }
    let banned: &[&str] = match module {
        "ui" => &[],
        "browser" => &["leptos"],
        _ => &["leptos", "web_sys", "js_sys", "wasm_bindgen", "wasm_bindgen_futures", "gloo", "gloo_storage"],
    };
    faults.extend(banned.iter().filter(|name| has(&code, name)).map(|name| format!("{path}: names `{name}`")));
    if !["browser", "ui", "desk", "main"].contains(&module) {
        faults.extend(IMPURE.iter().filter(|name| has(&code, name)).map(|name| format!("{path}: names `{name}`")));
    }
    if !["lib.rs", "main.rs"].contains(&path) && has(&code, "target_arch") {
        faults.push(format!("{path}: tells targets apart; only the roots may"));
    }
    faults
}

/// How many `super` lead from a file to the crate's root.
fn depth(path: &str) -> usize {
    let folders = path.matches('/').count();
    if path.ends_with("/mod.rs") || ["lib.rs", "main.rs"].contains(&path) { folders } else { folders + 1 }
}

/// Parts of the crate that the code names, by `crate::…`, `soakbook::…` or enough of `super::…`, also in a `use` tree.
fn parts_named(code: &str, depth: usize) -> Vec<String> {
    let words = words(code);
    let mut named = Vec::new();
    for (at, word) in words.iter().enumerate() {
        let mut next = at + 1;
        let mut ups = usize::from(*word == "super");
        while ups > 0 && words.get(next) == Some(&"::") && words.get(next + 1) == Some(&"super") {
            (ups, next) = (ups + 1, next + 2);
        }
        let at_root = ["crate", "soakbook"].contains(word) || (depth > 0 && ups >= depth);
        if !at_root || words.get(next) != Some(&"::") {
            continue;
        }
        match words.get(next + 1) {
            Some(&"{") => named.extend(heaters_of_tree(&words[next + 2..])),
            Some(name) => named.push((*name).to_owned()),
            None => {}
        }
    }
    named.retain(|name| MODULES.contains(&name.as_str()));
    named
}

/// The first names of each branch of `{a, b::c, d::{e}}`, after its opening brace.
fn heaters_of_tree(words: &[&str]) -> Vec<String> {
    let (mut level, mut heater, mut heaters) = (0, true, Vec::new());
    for word in words {
        match *word {
            "{" => level += 1,
            "}" if level == 0 => break,
            "}" => level -= 1,
            "," if level == 0 => heater = true,
            name if heater => {
                heaters.push(name.to_owned());
                heater = false;
            }
            _ => {}
        }
    }
    heaters
}

/// Identifiers, `::` and single signs.
fn words(code: &str) -> Vec<&str> {
    let is_name = |c: char| c.is_alphanumeric() || c == '_';
    let (mut rest, mut words) = (code, Vec::new());
    while let Some(first) = rest.chars().next() {
        let length = if is_name(first) {
            rest.find(|c| !is_name(c)).unwrap_or(rest.len())
        } else if rest.starts_with("::") {
            2
        } else {
            first.len_utf8()
        };
        if !first.is_whitespace() {
            words.push(&rest[..length]);
        }
        rest = &rest[length..];
    }
    words
}

/// Whether the code has these words side by side.
fn has(code: &str, name: &str) -> bool {
    let (code, name) = (words(code), words(name));
    code.windows(name.len()).any(|window| window == name)
}

/// The text without comments and without what stands in strings.
fn code_only(text: &str) -> String {
    let mut code = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let skipped = if rest.starts_with("//") {
            rest.find('\n').unwrap_or(rest.len())
        } else if rest.starts_with("/*") {
            rest.find("*/").map_or(rest.len(), |end| end + 2)
        } else if let Some(hashes) = raw_string(rest) {
            let close = format!("\"{}", "#".repeat(hashes));
            let open = hashes + 2;
            rest[open..].find(&close).map_or(rest.len(), |end| open + end + close.len())
        } else if first == '"' {
            string_end(rest)
        } else if rest.starts_with("'\"'") || rest.starts_with("'\\\"'") {
            rest[1..].find('\'').map_or(1, |_| if rest.starts_with("'\"'") { 3 } else { 4 })
        } else {
            code.push(first);
            rest = &rest[first.len_utf8()..];
            continue;
        };
        code.push(' ');
        rest = &rest[skipped..];
    }
    code
}

/// The number of `#` of a raw string that starts here.
fn raw_string(rest: &str) -> Option<usize> {
    let after = rest.strip_prefix('r')?;
    let hashes = after.len() - after.trim_start_matches('#').len();
    after[hashes..].starts_with('"').then_some(hashes)
}

fn string_end(rest: &str) -> usize {
    let mut escaped = false;
    for (at, c) in rest.char_indices().skip(1) {
        match c {
            _ if escaped => escaped = false,
            '\\' => escaped = true,
            '"' => return at + 1,
            _ => {}
        }
    }
    rest.len()
}

/// The walk above would also pass if it saw nothing: here it must see.
#[test]
fn breaches_are_seen() {
    #[track_caller]
    fn check(path: &str, text: &str, expected: &str) {
        let faults = faults(path, text);
        assert!(faults.iter().any(|fault| fault.contains(expected)), "{path} {text:?}: {faults:?}");
    }
    check("stats/mean.rs", "use crate::units::Kelvin;", "`stats` must not use `units`");
    check("trade/detector_type.rs", "fn f() { crate::book::fold() }", "`trade` must not use `book`");
    check(
        "book/fold.rs",
        "use crate::{\n    trade::{Type, Heater},\n    findings,\n};",
        "`book` must not use `findings`",
    );
    check("book/test/mark.rs", "use super::super::super::view::Test;", "`book` must not use `view`");
    check("units.rs", "use super::stats::mean;", "`units` must not use `stats`");
    check("desk/mod.rs", "use crate::ui;", "`desk` must not use `ui`");
    check("browser/store.rs", "use crate::ui::start;", "`browser` must not use `ui`");
    check("extra/mod.rs", "", "a part that the map does not name");
    check("view/test.rs", "use leptos::prelude::*;", "names `leptos`");
    check("browser/cues.rs", "fn f(s: leptos::prelude::Signal) {}", "names `leptos`");
    check("handover/csv.rs", "fn f() { web_sys::window(); }", "names `web_sys`");
    check("book/fold.rs", "let t = std::time::Instant::now();", "names `Instant`");
    check("findings/trip.rs", "let t = chrono::Utc::now();", "names `Utc::now`");
    check("book/id.rs", "let n = rand::random();", "names `rand::`");
    check("thermal/fit.rs", "#[cfg(target_arch = \"wasm32\")] fn f() {}", "tells targets apart");
    check("stats/t.rs", "let s = \"//\"; use crate::view::Test;", "`stats` must not use `view`");
    check("stats/t.rs", "let c = '\"'; use crate::view::Test; let d = '\"';", "`stats` must not use `view`");
}

#[test]
fn what_is_allowed_is_not_reported() {
    #[track_caller]
    fn check(path: &str, text: &str) {
        assert_eq!(faults(path, text), Vec::<String>::new(), "{path} {text:?}");
    }
    check("view/test.rs", "use crate::{book::{self, Entry}, findings::Trip, units::Celsius};");
    check("book/fold.rs", "// leptos reads [`crate::view`] and SystemTime\nuse super::entry::Entry;");
    check("book/test/mark.rs", "use super::super::entry::Entry;");
    check("trade/detector_type.rs", "let s = \"crate::view says \\\" crate::ui\"; let r = r#\"crate::ui \"#;");
    check("ui/app.rs", "use leptos::prelude::*; use crate::{browser, view};");
    check("stats/mod.rs", "fn randomised() {} struct Instantaneous;");
}
