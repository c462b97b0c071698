//! A book of many visits: what a start reads first, and with 20,000 entries how long start and mark take.

use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

use serde_json::json;
use soakbook::book::body::{Body, Ending};
use soakbook::book::entry::Scope;
use soakbook::handover::{Made, Select, bundle_of};
use soakbook::units::Wall;

use crate::check::{bundle, take_in};
use crate::host::{Host, dist, folder};
use crate::phone::Phone;
use crate::sample;
use crate::setting_up::{BARE, demo, named, start_demo};

/// A file with so many closed visits of ten tests, and one open visit with a test that is over.
fn many(visits: u128, into: &Path) -> (PathBuf, usize) {
    let mut phone = sample::Phone::new();
    for visit in 0..visits {
        for test in 0..10 {
            let heat_ups = sample::read(&["88.1", "87.9", "88.0", "88.2", "87.8"]);
            phone.test(sample::started(visit * 100 + test), &heat_ups, Ending::Done);
        }
        phone.in_visit(Body::VisitClosed { covers: Vec::new() });
        phone.visit += 1;
        phone.in_visit(Body::VisitOpened { site: sample::id(sample::SITE) });
    }
    phone.test(sample::started(visits * 100), &sample::read(&["88.1"]), Ending::StoppedEarly);
    let made = Made { at: Wall(1_760_000_000_000), app: "0.1.0".into(), phone: sample::id(sample::PHONE) };
    let bundle = bundle_of(&phone.book, Select::Everything, &made).unwrap();
    let file = into.join("many.json");
    fs::write(&file, bundle.text).unwrap();
    (file, bundle.entries)
}

#[tokio::test]
async fn visits_that_are_over_are_read_after_the_first_screen() {
    let host = Host::start(&dist());
    let downloads = folder("large-downloads");
    let (file, entries) = many(3, &downloads);
    let phone = named(&host, &folder("large-profile")).await;
    phone.tap("take-in").await;
    take_in(&phone, &file).await;
    phone.see("import-taken").await;
    fs::remove_file(&file).unwrap();
    // The first start after it reads everything and notes which visits are over; the next one reads those last.
    for _ in 0..2 {
        phone.open(&host.address()).await;
        phone.tap("tab-send").await;
        phone.see("handover").await;
        phone.until("!document.querySelector('[data-testid=still-reading]')").await;
    }
    // One stretch from the first to the last of the three.
    let visit = |number| Scope::Visit(sample::id(sample::VISIT + number));
    let over = phone.ask("return localStorage['soakbook.s/over']").await;
    assert_eq!(over, format!("{} {}\n", visit(0), visit(2)));
    // Everything is there: it leaves the phone whole, and nothing of it is new on the phone it came from.
    let all = bundle(&phone, "export-all", &downloads).await;
    let left: serde_json::Value = serde_json::from_str(&fs::read_to_string(&all).unwrap()).unwrap();
    // With them goes who has this phone: a person, and that the phone was handed over.
    assert_eq!(left["entries"].as_array().unwrap().len(), entries + 2);
    // And every visit can be looked at, though the one on screen is read first.
    phone.ask("localStorage.removeItem('soakbook.s/prefs')").await;
    phone.open("about:blank").await;
    phone.open(&host.address()).await;
    phone.until("document.querySelectorAll('[data-testid=other-visit]').length === 4").await;
    phone.off().await;
}

/// Watches frames, long tasks, the tap on Findings and what stands there after it, ms.
const FINDING: &str = "globalThis.__f = { frames: [], long: [] };
  const it = globalThis.__f;
  new PerformanceObserver((l) => l.getEntries().forEach((e) => it.long.push([e.startTime, e.duration]))).observe({ type: 'longtask' });
  let last = performance.now();
  const frame = () => { const now = performance.now(); it.frames.push([last, now - last]); last = now; requestAnimationFrame(frame); };
  requestAnimationFrame(frame);
  addEventListener('click', (e) => { if (e.target.closest('[data-testid=tab-results]')) it.tap ??= e.timeStamp; }, true);
  new MutationObserver(() => {
    const seen = (name) => document.querySelector('[data-testid=' + name + ']');
    if (it.tap && seen('findings-working')) it.working ??= performance.now();
    if (it.tap && seen('family')) it.found ??= performance.now();
    const rows = () => document.querySelectorAll('[data-testid^=\"finding-H\"]').length;
    if (it.tap && rows() === TESTS) it.drawn ??= performance.now();
  }).observe(document.body, { childList: true, subtree: true });";

#[tokio::test]
#[ignore = "figures, not a test"]
async fn figures_of_findings_of_1_000_tests() {
    const TESTS: usize = 1_000;
    let host = Host::start(&dist());
    let files = folder("findings-files");
    let book = soakbook::desk::promises::book(soakbook::desk::promises::Size { tests: TESTS, per_visit: TESTS }, 1);
    let made = Made { at: Wall(1_760_000_000_000), app: "0.1.0".into(), phone: sample::id(sample::PHONE) };
    let file = files.join("thousand.json");
    fs::write(&file, bundle_of(&book, Select::Everything, &made).unwrap().text).unwrap();
    let phone = named(&host, &folder("findings-profile")).await;
    phone.tap("take-in").await;
    take_in(&phone, &file).await;
    phone.see("import-taken").await;
    for rate in [1, 4] {
        let mut all: Vec<[f64; 5]> = Vec::new();
        for _ in 0..5 {
            // Nothing is kept from the last time after a start.
            phone.open(&host.address()).await;
            phone.see("tab-results").await;
            phone.until("!document.querySelector('[data-testid=starting]')").await;
            tokio::time::sleep(Duration::from_secs(4)).await;
            slowed(&phone, rate).await;
            phone.ask(&FINDING.replace("TESTS", &TESTS.to_string())).await;
            phone.tap("tab-results").await;
            phone.until("globalThis.__f?.drawn").await;
            let figures = phone
                .ask(
                    "const { tap, found, drawn, frames, long } = __f;
                    const within = (list, to) => Math.max(0, ...list.filter(([at]) => at >= tap - 1 && at < to).map(([, ms]) => ms));
                    return [found - tap, within(frames, found), within(long, found), drawn - tap, within(frames, drawn)]",
                )
                .await;
            all.push(serde_json::from_value(figures).unwrap());
            slowed(&phone, 1).await;
        }
        let middle = |place: usize| share(all.iter().map(|of| of[place]).collect(), 0.5);
        println!(
            "findings of {TESTS} tests, slowed {rate} x, medians of {}: there after {:.0} ms, longest frame until then {:.0} ms, longest \
             task {:.0} ms; all drawn after {:.0} ms, longest frame {:.0} ms",
            all.len(),
            middle(0),
            middle(1),
            middle(2),
            middle(3),
            middle(4)
        );
    }
    phone.off().await;
}

/// How often each thing is measured.
const TIMES: usize = 30;
/// When a thing first stood on the page, ms since the page was asked for.
const SEEN: &str = "(() => {
  const look = () => document.querySelector(WHAT) ? globalThis.__seen ??= performance.now() : requestAnimationFrame(look);
  look();
})();";
/// Time from each touch of the mark to the word "recorded", ms.
const MARKED: &str = "globalThis.__marked = [];
  let [down, waits] = [0, false];
  addEventListener('pointerdown', (e) => {
    if (e.target.closest('[data-testid=mark]')) [down, waits] = [performance.now(), true];
  }, true);
  new MutationObserver(() => {
    const said = document.querySelector('.undo-words')?.innerText ?? '';
    if (/: recording/.test(said)) waits = false;
    if (down && !waits && /: recorded/.test(said)) { __marked.push(performance.now() - down); down = 0; }
  }).observe(document.body, { childList: true, subtree: true, characterData: true });";

async fn slowed(phone: &Phone, rate: u32) {
    phone.devtools("Emulation.setCPUThrottlingRate", json!({ "rate": rate })).await;
}

/// Medians of the time to the first sight of something.
async fn start(phone: &Phone, address: &str, what: &str) -> f64 {
    let source = SEEN.replace("WHAT", &json!(what).to_string());
    let script = phone.devtools("Page.addScriptToEvaluateOnNewDocument", json!({ "source": source })).await;
    let mut times = Vec::new();
    for _ in 0..12 {
        phone.open("about:blank").await;
        phone.open(address).await;
        phone.until("globalThis.__seen").await;
        times.push(phone.ask("return globalThis.__seen").await.as_f64().unwrap());
    }
    phone.devtools("Page.removeScriptToEvaluateOnNewDocument", script).await;
    // The first ones warm the caches.
    share(times.split_off(2), 0.5)
}

fn share(mut times: Vec<f64>, part: f64) -> f64 {
    times.sort_by(f64::total_cmp);
    times[((times.len() - 1) as f64 * part).round() as usize]
}

#[tokio::test]
#[ignore = "figures, not a test: `SOAKBOOK_EMPTY` is the built folder of an empty page of the same framework"]
async fn figures_with_20_000_entries() {
    let host = Host::start(&dist());
    let empty = std::env::var_os("SOAKBOOK_EMPTY").map(|dist| Host::plain(Path::new(&dist)));
    let files = folder("figures-files");
    let (file, entries) = many(115, &files);
    let phone = demo(&host, &folder("figures-profile")).await;
    phone.tap("tab-send").await;
    take_in(&phone, &file).await;
    phone.see("import-taken").await;
    phone.open(&host.address()).await;
    phone.tap("tab-send").await;
    phone.see("handover").await;
    phone.until("!document.querySelector(\'[data-testid=still-reading]\')").await;
    tokio::time::sleep(Duration::from_secs(3)).await;
    println!("{entries} entries beside the demo");
    for rate in [1, 4] {
        slowed(&phone, rate).await;
        let ours = start(&phone, &host.address(), "[data-testid=demo-banner]").await;
        print!("start, slowed {rate} x: {ours:.0} ms");
        match &empty {
            Some(empty) => {
                let theirs = start(&phone, &empty.address(), "h1").await;
                println!("; an empty page: {theirs:.0} ms; ratio {:.2}", ours / theirs);
            }
            None => println!(),
        }
    }
    slowed(&phone, 1).await;
    phone.open(&host.address()).await;
    phone.tap("tab-visit").await;
    start_demo(&phone, BARE).await;
    phone.ask(MARKED).await;
    for rate in [1, 4] {
        slowed(&phone, rate).await;
        for _ in 0..TIMES {
            phone.mark("Mark trip 1").await;
            phone.recorded("Trip 1").await;
            // A trip so early is asked about, which moves what is below.
            tokio::time::sleep(Duration::from_millis(300)).await;
            phone.tap("undo").await;
            phone.tripped(0).await;
            tokio::time::sleep(Duration::from_millis(300)).await;
        }
        let times = phone.ask("return __marked.splice(0)").await;
        let times: Vec<f64> = serde_json::from_value(times).unwrap();
        let (n, middle, most) = (times.len(), share(times.clone(), 0.5), share(times, 0.95));
        println!("tap to recorded, slowed {rate} x, n = {n}: p50 {middle:.1} ms, p95 {most:.1} ms");
    }
    phone.off().await;
}
