//! Walks `src/` and fails when a part knows what it must not know.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

const MODULES: [&str; 15] = [
    "units", "stats", "encoding", "order", "trade", "thermal", "book", "findings", "handover", "view", "storage",
    "session", "browser", "ui", "desk",
];

/// What a part may name of the others.
fn may_use(module: &str) -> &'static [&'static str] {
    match module {
        "trade" => &["units", "encoding"],
        "thermal" => &["units", "stats"],
        "book" => &["units", "encoding", "order", "trade"],
        "findings" => &["units", "stats", "order", "trade", "thermal", "book"],
        "handover" => &["units", "stats", "encoding", "order", "book", "findings"],
        "view" => &["units", "stats", "encoding", "order", "trade", "thermal", "book", "findings", "handover"],
        "session" => &["units", "encoding", "order", "book", "view", "storage", "handover"],
        "browser" => &["units", "encoding", "storage"],
        "ui" => &["units", "encoding", "order", "book", "handover", "view", "storage", "session", "browser"],
        "desk" => &["units", "stats", "encoding", "order", "trade", "thermal", "book", "findings", "handover", "view"],
        // The root mounts the app or tests the command.
        "main" => &["ui", "desk"],
        // The ground knows none of the others.
        _ => &[],
    }
}

/// Files that name a part which theirs may not, and why they still do. A row that is no longer needed is a fault, too.
const EXCEPTIONS: [(&str, &str, &str); 5] = [
    ("ui/app.rs", "findings", "keeps the estimates between two looks at a test"),
    ("ui/app/findings_cache.rs", "findings", "works findings out in slices, between which the browser draws"),
    ("ui/screens/before.rs", "trade", "holds the answers before a test, which are no form yet"),
    ("ui/screens/profile_run/before.rs", "trade", "holds the answers before a profile run, which are no form yet"),
    ("ui/screens/test.rs", "trade", "asks one question of some types of detector only"),
];

/// Parts in which no file may lead back to itself over the files that it names.
const WITHOUT_CIRCLES: [&str; 6] = ["stats", "trade", "thermal", "book", "findings", "handover"];

/// Ways from file to file that may close a circle, and why.
const EDGES_LEFT: [(&str, &str, &str); 2] = [
    (
        "book::entries",
        "book::visit",
        "the book keeps the visits it folded last: what is kept goes with what it was made from",
    ),
    ("book::test", "book::visit", "a test is read with its visit, which is folded once"),
];

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
    let files = sources();
    assert!(files.len() >= MODULES.len(), "only {} files found below src", files.len());
    let faults: Vec<String> = files.iter().flat_map(|(path, text)| faults(path, text)).collect();
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
}

#[test]
fn no_file_leads_back_to_itself() {
    let files = sources();
    for part in WITHOUT_CIRCLES {
        let circle = circle(part, &files);
        assert!(circle.is_empty(), "{part}: these files name each other in a circle: {circle:#?}");
    }
}

fn sources() -> Vec<(String, String)> {
    let mut files = Vec::new();
    collect(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), "", &mut files);
    files
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
    let mut excepted: Vec<&str> = EXCEPTIONS.iter().filter(|row| row.0 == path).map(|row| row.1).collect();
    for used in parts_named(&code, path) {
        let allowed = used == module || may_use(module).contains(&used.as_str());
        if !allowed && !EXCEPTIONS.iter().any(|row| (row.0, row.1) == (path, &used)) {
            faults.push(format!("{path}: `{module}` must not use `{used}`"));
        }
        excepted.retain(|part| *part != used);
    }
    faults.extend(excepted.iter().map(|part| format!("{path}: needs no exception for `{part}`")));
    let banned: &[&str] = match module {
        "ui" => &[],
        "browser" => &["leptos"],
        _ => &[
            "leptos",
            "web_sys",
            "js_sys",
            "wasm_bindgen",
            "wasm_bindgen_futures",
            "gloo",
            "gloo_events",
            "gloo_storage",
            "gloo_timers",
        ],
    };
    faults.extend(banned.iter().filter(|name| has(&code, name)).map(|name| format!("{path}: names `{name}`")));
    if !["browser", "ui", "desk", "main"].contains(&module) {
        faults.extend(IMPURE.iter().filter(|name| has(&code, name)).map(|name| format!("{path}: names `{name}`")));
    }
    if module == "ui"
        && (has(&code, "drop(app.act") || has(&code, "drop(app.try_act") || has(&code, "drop(app.try_undo"))
    {
        faults.push(format!("{path}: discards a refusal; `give` and `undo` show it"));
    }
    if !["lib.rs", "main.rs"].contains(&path) && has(&code, "target_arch") {
        faults.push(format!("{path}: tells targets apart; only the roots may"));
    }
    faults
}

/// The module that a file below `src/` is: `book/test/mark.rs` is `book::test::mark`.
fn module_of(path: &str) -> Vec<&str> {
    let path = path.trim_end_matches(".rs");
    let path = path.strip_suffix("/mod").unwrap_or(path);
    if ["lib", "main"].contains(&path) { Vec::new() } else { path.split('/').collect() }
}

/// Parts of the crate that the code names.
fn parts_named(code: &str, path: &str) -> Vec<String> {
    let mut named: Vec<String> =
        paths_named(code, path).into_iter().filter_map(|path| path.into_iter().next()).collect();
    named.retain(|name| MODULES.contains(&name.as_str()));
    named
}

/// Every path from the crate's root that the code names, by `crate::…`, `soakbook::…` or `super::…`, also in a `use` tree.
fn paths_named(code: &str, path: &str) -> Vec<Vec<String>> {
    let (words, module) = (words(code), module_of(path));
    let mut paths = Vec::new();
    let mut at = 0;
    while let Some(word) = words.get(at) {
        let mut next = at + 1;
        let mut ups = usize::from(*word == "super");
        while ups > 0 && words.get(next) == Some(&"::") && words.get(next + 1) == Some(&"super") {
            (ups, next) = (ups + 1, next + 2);
        }
        at = next;
        let root = ["crate", "soakbook"].contains(word);
        if (root || ups > 0) && words.get(next) == Some(&"::") {
            let from = if root { 0 } else { module.len().saturating_sub(ups) };
            let from = module[..from].iter().map(ToString::to_string).collect();
            tree(&words, next + 1, from, &mut paths);
        }
    }
    paths
}

/// Follows `a::b` or `{a, b::c, d::{e}}` and gives the place behind it.
fn tree(words: &[&str], mut at: usize, mut path: Vec<String>, paths: &mut Vec<Vec<String>>) -> usize {
    loop {
        match words.get(at) {
            Some(&"{") => {
                at += 1;
                while let Some(word) = words.get(at).filter(|word| **word != "}") {
                    at = if *word == "," { at + 1 } else { tree(words, at, path.clone(), paths).max(at + 1) };
                }
                return at + 1;
            }
            Some(name) if name.chars().all(|c| c.is_alphanumeric() || c == '_') => path.push((*name).to_string()),
            _ => {}
        }
        if words.get(at + 1) != Some(&"::") {
            paths.push(path);
            return at + 1;
        }
        at += 2;
    }
}

/// The files of a part that name each other in a circle, each with those of them that it names. A file of a folder may name the
/// file that the folder belongs to.
fn circle(part: &str, files: &[(String, String)]) -> BTreeMap<String, BTreeSet<String>> {
    let of_part = || files.iter().filter(|(path, _)| module_of(path).first() == Some(&part));
    let names: BTreeSet<String> = of_part().map(|(path, _)| module_of(path).join("::")).collect();
    let file_of =
        |path: &[String]| (1..=path.len()).rev().map(|n| path[..n].join("::")).find(|name| names.contains(name));
    // What the part's own file passes on is the file's that has it.
    let mut passed_on = BTreeMap::new();
    for (_, text) in of_part().filter(|(path, _)| *path == format!("{part}/mod.rs")) {
        let (code, mut paths) = (code_only(text), Vec::new());
        let words = words(&code);
        for at in (2..words.len()).filter(|at| words[at - 2..*at] == ["pub", "use"]) {
            tree(&words, at, vec![part.to_string()], &mut paths);
        }
        passed_on.extend(paths.into_iter().filter_map(|path| Some((path.last()?.clone(), file_of(&path)?))));
    }
    let mut uses: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for (path, text) in of_part() {
        let own = module_of(path).join("::");
        let named =
            paths_named(&code_only(text), path).into_iter().filter(|path| path.first().is_some_and(|p| p == part));
        let files = named.filter_map(|path| {
            let file = file_of(&path)?;
            if file == part { passed_on.get(path.get(1)?).cloned() } else { Some(file) }
        });
        let excepted =
            |file: &String| EDGES_LEFT.iter().any(|(from, to, _)| (*from, *to) == (own.as_str(), file.as_str()));
        uses.entry(own.clone()).or_default().extend(files.filter(|file| *file != own && !excepted(file)));
    }
    // What names none of the others, or is named by none, is in no circle; without it, perhaps another is not.
    loop {
        let rest: BTreeSet<String> = uses.keys().cloned().collect();
        uses.values_mut().for_each(|named| named.retain(|name| rest.contains(name)));
        let named: BTreeSet<String> = uses.values().flatten().cloned().collect();
        uses.retain(|name, names| !names.is_empty() && named.contains(name));
        if uses.len() == rest.len() {
            return uses;
        }
    }
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
    check("desk/mod.rs", "use crate::{book, session};", "`desk` must not use `session`");
    check("ui/parts/row.rs", "use crate::{browser, trade::heater::Heating};", "`ui` must not use `trade`");
    check("ui/parts/row.rs", "use super::super::super::findings::Flag;", "`ui` must not use `findings`");
    check("ui/app.rs", "use crate::view;", "needs no exception for `findings`");
    check("browser/store.rs", "use crate::order;", "`browser` must not use `order`");
    check("browser/store.rs", "use crate::ui::start;", "`browser` must not use `ui`");
    check("storage/mod.rs", "use crate::book::Id;", "`storage` must not use `book`");
    check("session/act.rs", "use crate::browser::clock;", "`session` must not use `browser`");
    check("browser/store.rs", "use crate::session::Effect;", "`browser` must not use `session`");
    check("ui/screens/visit.rs", "fn f() { drop(app.act(now, command)); }", "discards a refusal");
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
fn a_circle_is_seen_however_it_is_written() {
    #[track_caller]
    fn check(files: &[(&str, &str)], expected: &[&str]) {
        let files: Vec<(String, String)> =
            files.iter().map(|(path, text)| (path.to_string(), text.to_string())).collect();
        assert_eq!(circle("findings", &files).keys().collect::<Vec<_>>(), expected, "{files:?}");
    }
    let root = ("findings/mod.rs", "mod a; mod b; pub use a::{A, f}; pub use b::B;");
    let b = ("findings/b.rs", "use super::a::A;");
    check(&[root, b, ("findings/a.rs", "use crate::{book::Id, findings::b::B};")], &["findings::a", "findings::b"]);
    check(&[root, b, ("findings/a.rs", "fn f() { super::b::g() }")], &["findings::a", "findings::b"]);
    check(&[root, b, ("findings/a.rs", "use super::B;")], &["findings::a", "findings::b"]);
    check(&[root, b, ("findings/a.rs", "//! See [`super::b`].\nuse super::METHOD;")], &[]);
    let folder = ("findings/a/deep.rs", "use super::super::b::B; use super::A;");
    check(&[root, ("findings/b.rs", ""), ("findings/a.rs", "mod deep;"), folder], &[]);
    let below = ("findings/b.rs", "use super::a::deep::D;");
    check(&[root, ("findings/a.rs", "mod deep;"), folder, below], &["findings::a::deep", "findings::b"]);
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
    check("ui/mod.rs", "use leptos::prelude::*; use crate::{browser, view};");
    check("ui/app.rs", "use crate::findings::Estimates;");
    check("browser/ids.rs", "use crate::encoding::uuid7;");
    check("stats/mod.rs", "fn randomised() {} struct Instantaneous;");
}
