//! The main job: a check from "start" to "done", and its bundle on another phone.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use thirtyfour::prelude::*;

use crate::host::{Host, dist, folder};
use crate::phone::Phone;
use crate::setting_up::{Asked, BARE, demo, heat_on, own_site, start_demo};

/// Seconds after heat on at which trips 1 to 5 of the demo come: in the first heat-up (0 to 210), then 25 s into the heat-ups
/// that begin at 430, 520, 610 and 700. By hand from the heater's own times.
const TRIPS: [i64; 5] = [150, 455, 545, 635, 725];

/// Seconds after heat on at which restores are seen: 10 s after the heater went off at 390, 480, 570 and 660.
const RESTORES: [i64; 4] = [400, 490, 580, 670];

async fn trip(phone: &Phone, at: i64) {
    phone.test_to(at).await;
    phone.reads("mark", "Tripped").await;
    phone.tap("mark").await;
}

/// Types a reading on the digit keys.
async fn read(phone: &Phone, reading: &str) {
    for digit in reading.chars() {
        phone.tap(&format!("digit-{digit}")).await;
    }
    phone.until("!document.querySelector('[data-testid=digits]')").await;
}

/// Ends the test, which leads to what it says; gives the taps since its start. Back on the visit afterwards.
async fn done(phone: &Phone) -> usize {
    phone.reads("mark", "Done").await;
    phone.tap("mark").await;
    let taps = phone.taps.get();
    phone.see("finding").await;
    phone.tap("tab-visit").await;
    taps
}

#[tokio::test]
async fn first_start_to_done_within_the_promised_taps() {
    let host = Host::start(&dist());
    let phone = demo(&host, &folder("taps")).await;

    // A five-trip check: at most 8 taps, "heat on" and "done" among them.
    start_demo(&phone, BARE).await;
    for (nth, at) in (1..).zip(TRIPS) {
        trip(&phone, at).await;
        phone.tripped(nth).await;
    }
    let bare = done(&phone).await;
    assert!(bare <= 8, "{bare} taps");
    phone.reads("detector-J-01", "Operated").await;

    // A watched restore one more, a reading at most 4.
    start_demo(&phone, Asked { tag: "J-02", readings: true, watched: true, ..BARE }).await;
    let mut readings = 0;
    for (nth, at) in TRIPS.into_iter().enumerate() {
        trip(&phone, at).await;
        if nth > 0 {
            let before = phone.taps.get();
            read(&phone, "190").await;
            let taken = phone.taps.get() - before;
            assert!(taken <= 4, "{taken} taps for a reading");
            readings += taken;
        }
        if let Some(restore) = RESTORES.get(nth) {
            phone.test_to(*restore).await;
            phone.reads("mark", "Restore").await;
            phone.tap("mark").await;
            phone.reads("mark", "Tripped").await;
        }
    }
    let watched = done(&phone).await;
    assert!(watched - readings <= 8 + 4, "{watched} taps, {readings} of them for readings");

    // A functional test: heat on, trip, done.
    start_demo(&phone, Asked { tag: "J-03", procedure: "functional", ..BARE }).await;
    trip(&phone, 150).await;
    let functional = done(&phone).await;
    assert!(functional <= 3, "{functional} taps");
    println!("taps: five trips {bare}; with 4 readings and 4 watched restores {watched}; functional test {functional}");
    phone.off().await;
}

#[tokio::test]
async fn own_site_is_judged_and_its_bundle_says_the_same_on_another_phone() {
    let host = Host::start(&dist());
    let phone = Phone::timed(&folder("own-profile"), 0).await;
    phone.install(&host.address()).await;
    own_site(&phone).await;
    phone.tap("tab-visit").await;
    phone.tap("open-visit").await;
    phone.tap("detector-H-01").await;
    phone.tap("understood").await;
    phone.tap("visual-Good").await;
    phone.unfold("conditions").await;
    phone.fill("ambient", "72").await;
    heat_on(&phone).await;

    // Cold heat-up to 210 s, soak to 510, then 45 s off and 50 s of heat-up: heat-ups begin at 555, 650, 745 and 840.
    trip(&phone, 150).await;
    for (at, reading) in [(580, "190"), (675, "192"), (770, "193"), (865, "191")] {
        trip(&phone, at).await;
        read(&phone, reading).await;
    }
    done(&phone).await;

    // By hand: mean (190 + 192 + 193 + 191) / 4 = 191.5 °F; squares of the deviations sum to 5, s² = 5/3, u(A)² = s²/4 =
    // 0.4167; with 0.6² + 0.8² = 1 u = √1.4167 = 1.190 °F; ν = u⁴ / (u(A)⁴ / 3) = 2.0069 / 0.05787 = 34.7; t(0.975, 34) =
    // 2.032 (NIST/SEMATECH e-Handbook 1.3.6.7.2); U = 2.419 °F.
    phone.tap("tab-findings").await;
    phone.tap("finding-H-01").await;
    let found = finding(&phone).await;
    let operating = phone.words("operating-temperature").await;
    assert!(operating.contains("191.5 °F") && operating.contains("± 2.4 °F"), "{operating}");
    assert!(phone.words("expanded-uncertainty").await.contains("2.4 °F"), "{found}");
    assert!(phone.words("standard-uncertainty").await.contains("1.2 °F"), "{found}");
    assert!(phone.words("operated").await.contains("Operated: yes"), "{found}");
    assert!(phone.words("as-read").await.to_lowercase().contains("within"), "{found}");
    // 191.5 ± 2.4 lies within 186 to 202 °F with the guard band w = U (ILAC-G8:09/2019, 4.2.2).
    assert_eq!(phone.words("limit_result").await.to_lowercase(), "pass", "{found}");

    let file = bundle(&phone, "export-file", &folder("own-downloads")).await;
    let bundle: Value = serde_json::from_str(&fs::read_to_string(&file).unwrap()).unwrap();
    valid(&bundle);
    intact(&bundle);
    phone.off().await;

    let other = Phone::timed(&folder("own-other"), 0).await;
    other.install(&host.address()).await;
    other.tap("take-in").await;
    take_in(&other, &file).await;
    other.see("import-taken").await;
    other.tap("tab-findings").await;
    other.tap("finding-H-01").await;
    assert_eq!(finding(&other).await, found);
    other.tap("tab-register").await;
    for line in ["line-site", "line-area", "line-h-01", "line-circuit-4", "line-long-heater", "line-set-point-check"] {
        other.see(line).await;
    }
    // Taken in once more, nothing is new; broken, nothing changes.
    let before = other.entries().await;
    other.tap("tab-handover").await;
    take_in(&other, &file).await;
    other.see("import-nothing").await;
    let broken = file.with_file_name("broken.json");
    fs::write(&broken, fs::read_to_string(&file).unwrap().replacen("190", "199", 1)).unwrap();
    take_in(&other, &broken).await;
    other.see("import-refused").await;
    other.flawless("handover-refused").await;
    assert_eq!(other.entries().await, before);
    other.off().await;
}

/// What the app says of the run on screen; taking back its end is offered on its own phone only.
async fn finding(phone: &Phone) -> String {
    phone.see("operated").await;
    let parts = "return [...document.querySelector('[data-testid=finding]').children]
        .filter((part) => !part.querySelector('.undo')).map((part) => part.innerText).join('\\n')";
    phone.ask(parts).await.as_str().unwrap().to_owned()
}

/// Saves a bundle as a file by this key and gives its path.
pub(crate) async fn bundle(phone: &Phone, key: &str, into: &Path) -> PathBuf {
    let behaviour = json!({ "behavior": "allow", "downloadPath": into });
    phone.devtools("Browser.setDownloadBehavior", behaviour).await;
    phone.tap("tab-handover").await;
    phone.tap(key).await;
    phone.see("export-said").await;
    for _ in 0..600 {
        let found = fs::read_dir(into).unwrap().map(|entry| entry.unwrap().path());
        if let Some(file) = found.into_iter().find(|path| path.extension().is_some_and(|of| of == "json")) {
            return file;
        }
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
    panic!("nothing was downloaded: {}", phone.page().await);
}

pub(crate) async fn take_in(phone: &Phone, file: &Path) {
    phone.see("import").await;
    let line = phone.driver.find(By::Css("[data-testid=import-file]")).await.unwrap();
    line.send_keys(file.to_str().unwrap()).await.unwrap();
}

/// By the schema that is published with the app, by a general-purpose validator (crate `jsonschema`, draft 2020-12).
pub(crate) fn valid(bundle: &Value) {
    let schema: Value = serde_json::from_str(include_str!("../../public/bundle.schema.json")).unwrap();
    let validator = jsonschema::draft202012::new(&schema).unwrap();
    let errors: Vec<_> = validator.iter_errors(bundle).map(|error| error.to_string()).collect();
    assert_eq!(errors, Vec::<String>::new());
}

/// Each entry names the SHA-256 of the text of the one before it, and each chain ends as the header says.
pub(crate) fn intact(bundle: &Value) {
    let mut last: BTreeMap<(String, String), (i64, String)> = BTreeMap::new();
    let entries = bundle["entries"].as_array().unwrap();
    for entry in entries {
        // Sorted keys, no space, whole numbers only: that is RFC 8785 for what an entry holds.
        let text = serde_json::to_string(entry).unwrap();
        let chain = (entry["scope"].to_string(), entry["phone"].to_string());
        let hash: String = Sha256::digest(text.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect();
        let seq = entry["seq"].as_i64().unwrap();
        match last.get(&chain) {
            None => assert_eq!((seq, &entry["prev"]), (0, &Value::Null), "{text}"),
            Some((before, prev)) => assert_eq!((seq, &entry["prev"]), (before + 1, &json!(prev)), "{text}"),
        }
        last.insert(chain, (seq, hash));
    }
    let heaters = bundle["chains"].as_array().unwrap();
    assert_eq!(heaters.len(), last.len());
    for heater in heaters {
        let (seq, hash) = &last[&(heater["scope"].to_string(), heater["phone"].to_string())];
        assert_eq!((&heater["count"], &heater["last"]), (&json!(seq + 1), &json!(hash)), "{heater}");
    }
}
