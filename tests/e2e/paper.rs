//! The record on paper: what Chromium prints of it, and that its numbers are those of `evaluate`.

use std::env;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::Value;
use soakbook::book::Id;
use soakbook::book::entries::Book;
use soakbook::book::visit::{Visit, headings};
use soakbook::desk::promises::{Size, book};
use soakbook::handover::{Made, Select, bundle_of};
use soakbook::units::Wall;
use soakbook::view::demo::Story;

use crate::check::take_in;
use crate::host::{Host, dist, folder};
use crate::setting_up::named;

/// 2026-03-01T09:00:00Z by `date -u -d 2026-03-01T09:00:00Z +%s`.
const NOW: Wall = Wall(1_772_355_600_000);

/// The visit of the invented works in which everything was tested, and what it is about something was repaired.
fn works() -> (Book, Id) {
    let mut next = 1_000;
    let new_id = || {
        next += 1;
        Id::from_u128(next)
    };
    let mut story = Story::new(new_id, NOW, -300, "America/Chicago".to_string());
    while story.tell().unwrap() {}
    let told = story.told();
    let mut book = Book::default();
    told.attachments.into_iter().for_each(|attachment| book.attach(attachment));
    book.apply_all(told.entries);
    let most = headings(&book).into_iter().max_by_key(|of| Visit::of(&book, of.id).map_or(0, |of| of.tests.len()));
    (book, most.unwrap().id)
}

/// So many positions of another one, tested by every way there is.
fn invented(tests: usize) -> (Book, Id) {
    let book = book(Size { tests, per_visit: tests }, 1);
    let visit = headings(&book)[0].id;
    (book, visit)
}

fn soakbook(arguments: &[&str], file: &Path) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_soakbook")).args(arguments).arg(file).output().unwrap();
    assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

/// The text of a page that Chromium printed; none on a system for which `cargo verify` has no `qpdf` and poppler.
fn printed(page: &Path) -> Option<String> {
    let pdf = page.with_extension("pdf");
    let status = Command::new(env::var("SOAKBOOK_CHROMIUM").expect("`cargo verify` sets SOAKBOOK_CHROMIUM"))
        .args([
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--no-pdf-header-footer",
            "--generate-pdf-document-outline",
        ])
        .arg(format!("--user-data-dir={}", page.with_extension("profile").display()))
        .arg(format!("--print-to-pdf={}", pdf.display()))
        .arg(page)
        .output()
        .unwrap();
    assert!(status.status.success() && pdf.exists(), "{}", String::from_utf8_lossy(&status.stderr));
    env::var_os("SOAKBOOK_PAPER")?;
    is_sound(&pdf);
    let text = Command::new("pdftotext").arg("-raw").arg(&pdf).arg("-").output().unwrap();
    let text = String::from_utf8(text.stdout).unwrap();
    Some(text.split_whitespace().collect::<Vec<_>>().join(" "))
}

/// A PDF that qpdf finds nothing wrong with (`qpdf --check` of 11.3 exits with 3 for a warning, 2 for an error) and poppler calls tagged, with
/// title, language and bookmarks.
fn is_sound(pdf: &Path) {
    let checked = Command::new("qpdf").arg("--check").arg(pdf).output().unwrap();
    assert!(checked.status.success(), "{}{}", plain(&checked.stdout), plain(&checked.stderr));
    let objects = Command::new("qpdf").args(["--json", "--json-key=qpdf"]).arg(pdf).output().unwrap();
    let objects = plain(&objects.stdout);
    for has in ["\"/Lang\": \"u:en\"", "\"/Outlines\": ", "\"/StructTreeRoot\": "] {
        assert!(objects.contains(has), "{has}");
    }
    let info = plain(&Command::new("pdfinfo").arg(pdf).output().unwrap().stdout);
    let value = |name: &str| info.lines().find_map(|line| line.strip_prefix(name)).unwrap_or_default().trim();
    assert_eq!(value("Tagged:"), "yes", "{info}");
    let title = value("Title:");
    assert!(
        title.starts_with("Inspection and test record: heat detectors · ")
            || title.starts_with("Notice of deficiencies · "),
        "{info}"
    );
}

fn plain(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// Digits after the point at which an uncertainty has two significant ones (GUM 7.2.6), never more than two.
fn digits(u: f64) -> usize {
    match u {
        u if u >= 9.95 => 0,
        u if u >= 0.995 => 1,
        _ => 2,
    }
}

fn check(name: &str, (book, visit): (Book, Id), fahrenheit: bool) {
    let files = folder(&format!("paper-{name}"));
    let made = Made { at: NOW, app: "0.1.0".into(), phone: Id::from_u128(1) };
    let file = files.join("visit.json");
    fs::write(&file, bundle_of(&book, Select::Visit(visit), &made).unwrap().text).unwrap();
    let mut texts: Vec<Option<String>> = Vec::new();
    for (page, arguments) in [("record", &["record"][..]), ("notice", &["record", "--notice"][..])] {
        let html: PathBuf = files.join(page).with_extension("html");
        fs::write(&html, soakbook(arguments, &file)).unwrap();
        texts.push(printed(&html));
    }
    let Some(text) = texts.swap_remove(0) else { return };
    let records = soakbook(&["evaluate", "--format", "ndjson"], &file);
    let records = records.lines().map(|line| serde_json::from_str::<Value>(line).unwrap());
    let mut counted = 0;
    for record in records.filter(|record| record["kind"] == "test") {
        let tag = record["tag"].as_str().unwrap();
        assert!(text.contains(tag), "{tag}");
        let Some(mean) = record.pointer("/operating/mean_c").and_then(Value::as_f64) else { continue };
        let expanded = record.pointer("/operating/expanded_k").and_then(Value::as_f64).unwrap();
        let (mean, expanded, unit) =
            if fahrenheit { (mean * 1.8 + 32.0, expanded * 1.8, "°F") } else { (mean, expanded, "°C") };
        let digits = digits(expanded);
        // `evaluate` gives three digits: one more step to either side is the same number.
        let near = [-0.001, 0.0, 0.001].into_iter().any(|by| {
            [-0.001, 0.0, 0.001]
                .into_iter()
                .any(|of| text.contains(&format!("{:.digits$} {unit} ± {:.digits$} {unit}", mean + by, expanded + of)))
        });
        assert!(near, "{tag}: {mean} ± {expanded}");
        counted += 1;
    }
    assert!(counted > 0);
    assert!(text.contains("Page 1 of "));
}

#[test]
fn one_position_prints_the_numbers_of_evaluate() {
    check("one", invented(1), false);
}

#[test]
fn a_visit_of_the_works_prints_the_numbers_of_evaluate() {
    check("works", works(), true);
}

#[test]
fn three_hundred_positions_print_the_numbers_of_evaluate() {
    check("large", invented(300), false);
}

/// Watches frames and long tasks from the tap on the record on, ms.
const WATCH: &str = "globalThis.__r = { frames: [], long: [] };
  const it = globalThis.__r;
  new PerformanceObserver((l) => l.getEntries().forEach((e) => it.long.push([e.startTime, e.duration]))).observe({ type: 'longtask' });
  let last = performance.now();
  const frame = () => { const now = performance.now(); it.frames.push([last, now - last]); last = now; requestAnimationFrame(frame); };
  requestAnimationFrame(frame);
  addEventListener('click', (e) => {
    if (e.target.closest('[data-testid=record]')) it.tap ??= e.timeStamp;
    if (e.target.closest('[data-testid=paper-file-key]')) it.file ??= e.timeStamp;
  }, true);
  new MutationObserver(() => {
    const seen = (name) => document.querySelector('[data-testid=' + name + ']');
    if (it.tap && seen('result')) it.first ??= performance.now();
    if (it.tap && seen('leaf')) it.all ??= performance.now();
    if (it.file && seen('paper-file-name')) it.made ??= performance.now();
  }).observe(document.body, { childList: true, subtree: true });";

#[tokio::test]
#[ignore = "figures, not a test"]
#[allow(clippy::print_stdout, reason = "figures are there to be read")]
async fn figures_of_a_record_of_300_positions() {
    let host = Host::start(&dist());
    let (book, visit) = invented(300);
    let made = Made { at: NOW, app: "0.1.0".into(), phone: Id::from_u128(1) };
    let file = folder("paper-figures").join("visit.json");
    fs::write(&file, bundle_of(&book, Select::Visit(visit), &made).unwrap().text).unwrap();
    let phone = named(&host, &folder("paper-figures-profile")).await;
    phone.tap("take-in").await;
    take_in(&phone, &file).await;
    phone.see("import-taken").await;
    for rate in [1, 4] {
        for _ in 0..3 {
            phone.open("about:blank").await;
            phone.open(&host.address()).await;
            phone.tap("tab-send").await;
            phone.see("handover").await;
            phone.until("!document.querySelector(\'[data-testid=still-reading]\')").await;
            tokio::time::sleep(std::time::Duration::from_secs(3)).await;
            phone.devtools("Emulation.setCPUThrottlingRate", serde_json::json!({ "rate": rate })).await;
            phone.ask(WATCH).await;
            phone.tap("record").await;
            phone.until("globalThis.__r?.all").await;
            tokio::time::sleep(std::time::Duration::from_secs(2)).await;
            phone.tap("paper-file-key").await;
            phone.until("globalThis.__r?.made").await;
            let figures = phone
                .ask(
                    "const { tap, first, all, file, made, frames, long } = __r;
                    const most = (list, from, to) => Math.max(0, ...list.filter(([at, ms]) => at + ms >= from && at < to).map(([, ms]) => ms));
                    return [first - tap, all - tap, most(frames, tap, all + 1500), most(long, tap, all + 1500), made - file, most(long, file, made + 500)]",
                )
                .await;
            println!("slowed {rate} x: first, all, frame, task, file made, task of it (ms): {figures}");
            phone.devtools("Emulation.setCPUThrottlingRate", serde_json::json!({ "rate": 1 })).await;
        }
    }
    phone.off().await;
}
