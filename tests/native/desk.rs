//! The command's own arithmetic: lists, sums, versions, places.

use std::ffi::OsString;
use std::fs;
use std::path::{Path, PathBuf};

use soakbook::desk::{Stamp, cache_dir, clock, is_version, locked_version, precache, sizes, split};

/// An empty folder of this test's own.
fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("desk").join(name);
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    folder
}

fn put(folder: &Path, name: &str, text: &str) {
    let path = folder.join(name);
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    fs::write(path, text).unwrap();
}

#[test]
fn list_holds_every_file_but_hidden_ones_and_the_worker() {
    let dist = folder("list");
    put(&dist, "index.html", "abc");
    put(&dist, "icons/deep/icon.svg", "");
    put(&dist, "sw.js", "old");
    put(&dist, ".stamp", "x");
    put(&dist, ".stage/half.js", "x");
    let files = precache::files(&dist).unwrap();
    let found: Vec<_> = files.iter().map(|(name, hash)| (name.as_str(), hash.as_str())).collect();
    // FIPS 180-2 appendix B.1 for "abc"; the hash of nothing by Python 3 hashlib.sha256(b""); both in base64 by the same.
    let expected = [
        ("icons/deep/icon.svg", "47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU="),
        ("index.html", "ungWv48Bz+pBQUDeXa4iI7ADYaOWF3qctBD/YfIAFa0="),
    ];
    assert_eq!(found, expected);
}

#[test]
fn worker_carries_its_list_and_changes_with_any_byte() {
    let dist = folder("worker");
    put(&dist, "index.html", "one");
    precache::write(&dist).unwrap();
    let first = fs::read_to_string(dist.join("sw.js")).unwrap();
    assert_eq!(precache::listed(&first), Some(precache::files(&dist).unwrap()));
    assert!(!first.contains("VERSION = \"\""), "the version was not filled in");
    put(&dist, "index.html", "two");
    precache::write(&dist).unwrap();
    assert_ne!(first, fs::read_to_string(dist.join("sw.js")).unwrap());
}

#[test]
fn built_folder_is_whole_only_byte_for_byte() {
    let dist = folder("whole");
    assert!(!precache::is_whole(&dist), "no worker");
    put(&dist, "index.html", "one");
    put(&dist, "a/b.js", "two");
    precache::write(&dist).unwrap();
    assert!(precache::is_whole(&dist));
    put(&dist, "a/b.js", "twp");
    assert!(!precache::is_whole(&dist), "altered file");
    fs::remove_file(dist.join("a/b.js")).unwrap();
    assert!(!precache::is_whole(&dist), "missing file");
}

#[test]
fn download_is_the_sum_of_each_file_zipped_by_itself() {
    let dist = folder("sizes");
    put(&dist, "index.html", &"a".repeat(100_000));
    precache::write(&dist).unwrap();
    put(&dist, "unlisted.txt", "never downloaded");
    let files = sizes::download(&dist).unwrap();
    let names: Vec<_> = files.iter().map(|(name, _)| name.as_str()).collect();
    assert_eq!(names, ["sw.js", "index.html"]);
    // Python 3 len(gzip.compress(b"a" * 100_000, 9)) = 133; another deflate may differ by a few bytes.
    let size = files[1].1;
    assert!((120..=150).contains(&size), "{size} bytes");
    fs::remove_file(dist.join("index.html")).unwrap();
    assert!(sizes::download(&dist).is_err(), "a listed file is missing");
}

#[test]
fn first_screen_waits_for_all_but_the_later_part() {
    let page =
        r#"<script type="module" id="boot" src="./boot.js" data-js="./soakbook-0a1b.js" data-wasm="./x"></script>"#;
    assert_eq!(split::stem(page), Some("soakbook-0a1b"));
    assert_eq!(split::stem("<script src=\"./boot.js\"></script>"), None, "a page without an app");
    let files =
        [("a_later.wasm".into(), 5), ("a_bg.wasm".into(), 7), ("a_parts.js".into(), 2), ("index.html".into(), 1)];
    assert_eq!(sizes::first(&files), 10);
}

#[test]
fn a_part_is_asked_for_by_a_name_that_no_other_build_has() {
    let part = |ending: &str, text: String| (format!("{}{ending}", split::UNNAMED), text.into_bytes());
    let build = |last: &str| {
        let says = format!("{0} or {0}", split::UNNAMED);
        split::named(vec![part("_parts.js", says), part("_later.wasm", last.to_owned())])
    };
    let (stem, files) = build("one");
    assert_eq!(files[0].0, format!("{stem}_parts.js"));
    // Of the same length, because it stands in compiled files, too.
    assert_eq!((files[0].1.clone(), stem.len()), (format!("{stem} or {stem}").into_bytes(), split::UNNAMED.len()));
    assert_eq!(files[1], (format!("{stem}_later.wasm"), b"one".to_vec()));
    assert!(split::is_later(&files[1].0) && !split::is_later(&files[0].0));
    assert_eq!(build("one").0, stem);
    assert_ne!(build("two").0, stem, "parts of two builds under one name");
}

#[test]
fn the_later_part_is_taken_under_any_media_type() {
    let loader = "return async (imports) => (WebAssembly.instantiateStreaming(src, imports));";
    let either = split::any_type(loader).expect("the loader as it is written");
    assert!(either.contains("arrayBuffer()") && either.starts_with("return async (imports) => (src.then("), "{either}");
    assert_eq!(split::any_type("return load(src)"), None, "another loader is looked at by somebody");
}

#[test]
fn both_parts_are_kept_on_the_phone_together() {
    let dist = folder("parts");
    for name in ["index.html", "a.js", "a_parts.js", "a_bg.wasm", "a_later.wasm"] {
        put(&dist, name, name);
    }
    precache::write(&dist).unwrap();
    assert!(precache::files(&dist).unwrap().keys().any(|name| split::is_later(name)));
    assert!(precache::is_whole(&dist));
    fs::remove_file(dist.join("a_later.wasm")).unwrap();
    assert!(!precache::is_whole(&dist), "without its later part");
}

#[test]
fn stamp_holds_until_a_source_or_a_tool_changes() {
    let root = folder("stamp");
    put(&root, "src/lib.rs", "one");
    put(&root, "Cargo.lock", "two");
    put(&root, "README.md", "not a source of the app");
    let stamp = |also: &str| Stamp::of(&root, &[also.to_owned()]).unwrap();
    let dist = folder("stamp-dist");
    let first = stamp("tool 1");
    assert!(!first.is_on(&dist));
    first.put_on(&dist).unwrap();
    put(&root, "README.md", "changed");
    assert!(stamp("tool 1").is_on(&dist));
    assert!(!stamp("tool 2").is_on(&dist), "another tool");
    put(&root, "src/lib.rs", "oned");
    assert!(!stamp("tool 1").is_on(&dist), "another text");
    put(&root, "src/lib.rs", "one");
    assert!(stamp("tool 1").is_on(&dist));
    put(&root, "src/new.rs", "");
    assert!(!stamp("tool 1").is_on(&dist), "a new file");
}

#[test]
fn version_is_read_from_the_lock_file() {
    let lock = "[[package]]\nname = \"wasm-bindgen-macro\"\nversion = \"0.2.1\"\n\n[[package]]\nname = \"wasm-bindgen\"\n\
                version = \"0.2.130\"\nsource = \"x\"\n";
    assert_eq!(locked_version(lock, "wasm-bindgen"), Some("0.2.130"));
    assert_eq!(locked_version(lock, "wasm"), None);
    assert_eq!(locked_version("", "wasm-bindgen"), None);
}

#[test]
fn cache_folder_follows_the_system_and_the_wish() {
    #[track_caller]
    fn check(system: &str, variables: &[(&str, &str)], expected: Option<&str>) {
        let variable = |name: &str| {
            let found = variables.iter().find(|(variable, _)| *variable == name)?;
            Some(OsString::from(found.1))
        };
        assert_eq!(cache_dir(system, variable), expected.map(PathBuf::from));
    }
    // XDG Base Directory Specification 0.8: relative paths and empty values are ignored.
    check("linux", &[("HOME", "/h")], Some("/h/.cache/soakbook"));
    check("linux", &[("HOME", "/h"), ("XDG_CACHE_HOME", "/x")], Some("/x/soakbook"));
    check("linux", &[("HOME", "/h"), ("XDG_CACHE_HOME", "x")], Some("/h/.cache/soakbook"));
    check("linux", &[("HOME", "/h"), ("XDG_CACHE_HOME", "")], Some("/h/.cache/soakbook"));
    check("linux", &[], None);
    // Apple, File System Programming Guide: Library/Caches. Microsoft, known folder FOLDERID_LocalAppData.
    check("macos", &[("HOME", "/h"), ("XDG_CACHE_HOME", "/x")], Some("/h/Library/Caches/soakbook"));
    check("windows", &[("LOCALAPPDATA", "L"), ("HOME", "/h")], Some("L/soakbook"));
    // Our own wish counts everywhere, as it is.
    check("linux", &[("SOAKBOOK_CACHE", "/mine"), ("HOME", "/h")], Some("/mine"));
}

#[test]
fn only_the_very_version_counts() {
    // What the programs print, from memory of their form: name, version, perhaps a commit.
    assert!(is_version("trunk 0.21.14\n", "0.21.14"));
    assert!(is_version("wasm-bindgen 0.2.130 (abc)", "0.2.130"));
    assert!(is_version("v1.2.3", "1.2.3"));
    for other in ["trunk 0.21.140", "trunk 10.21.14", "trunk 0.21.14-rc.1", ""] {
        assert!(!is_version(other, "0.21.14"), "{other}");
    }
}

#[test]
fn time_is_minutes_and_seconds() {
    // 60 seconds are a minute.
    assert_eq!([0, 59, 60, 754].map(clock), ["0:00", "0:59", "1:00", "12:34"]);
}
