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
use crate::setting_up::{
    Asked, BARE, FUNCTIONAL, TRIPS, demo, heat_on, named, notify, own_site, read, start_demo, trip,
};

/// Seconds after heat on at which restores are seen: 10 s after the demo heater went off at 396, 497 and 598.
const RESTORES: [i64; 3] = [406, 507, 608];

/// Ends the set-point test, which leads to what it says; gives the taps since its start. Back on the visit afterwards.
async fn done(phone: &Phone) -> usize {
    phone.mark("Heater lowered").await;
    let taps = phone.taps.get();
    phone.see("headline").await;
    phone.tap("tab-visit").await;
    taps
}

#[tokio::test]
async fn first_start_to_done_within_the_promised_taps() {
    let host = Host::start(&dist());
    let phone = demo(&host, &folder("taps")).await;

    // A test of five trips in at most 8 taps, "heat on" and "done" among them: at most 3 more than trips.
    start_demo(&phone, BARE).await;
    for number in 1..=4 {
        trip(&phone, number).await;
    }
    let bare = done(&phone).await;
    assert!(bare <= 4 + 3, "{bare} taps");
    phone.reads("position-J-01", "Tripped").await;

    // A watched restore one more, a reading at most 4.
    start_demo(&phone, Asked { tag: "J-02", readings: true, watched: true, ..BARE }).await;
    let mut readings = 0;
    for number in 1..=4 {
        trip(&phone, number).await;
        if number > 1 {
            let before = phone.taps.get();
            read(&phone, "190").await;
            let taken = phone.taps.get() - before;
            assert!(taken <= 4, "{taken} taps for a reading");
            readings += taken;
        }
        if let Some(restore) = RESTORES.get(number - 1) {
            phone.test_to(*restore).await;
            phone.mark("Mark restore").await;
            phone.recorded("Restored").await;
        }
    }
    let watched = done(&phone).await;
    assert!(watched - readings <= 4 + 3 + 3, "{watched} taps, {readings} of them for readings");

    // A functional test with its three results: heat on, trip, panel, restored.
    start_demo(&phone, Asked { tag: "J-03", procedure: FUNCTIONAL, ..BARE }).await;
    phone.test_to(TRIPS[0]).await;
    phone.mark("Mark trip").await;
    phone.tap("panel-right").await;
    phone.mark("Mark restore").await;
    let functional = phone.taps.get();
    assert!(functional <= 4, "{functional} taps");
    phone.reads("position-J-03", "Passed").await;
    println!("taps: four trips {bare}; with 3 readings and 3 watched restores {watched}; functional test {functional}");
    phone.off().await;
}

#[tokio::test]
async fn own_site_is_judged_and_its_bundle_says_the_same_on_another_phone() {
    let host = Host::start(&dist());
    let phone = named(&host, &folder("own-profile")).await;
    own_site(&phone).await;
    phone.tap("tab-visit").await;
    phone.tap("open-visit").await;
    notify(&phone).await;
    phone.tap("position-H-01").await;
    phone.tap("understood").await;
    phone.choose("procedure", "Mill procedure").await;
    phone.tap("looks-good").await;
    phone.unfold("conditions").await;
    phone.fill("ambient", "72").await;
    phone.until("!document.querySelector('[data-testid=why-not]')").await;
    heat_on(&phone).await;

    // Cold heat-up to 210 s, soak to 510, then 45 s off and 50 s of heat-up: heat-ups begin at 555, 650, 745 and 840. Without a
    // heater profile the top temperature is marked, which bounds how fast the heater rose at a trip.
    phone.test_to(150).await;
    phone.mark("Mark trip 1").await;
    phone.tripped(1).await;
    phone.tap("more").await;
    phone.see("mark-at_top").await;
    phone.test_to(209).await;
    phone.tap("mark-at_top").await;
    phone.tap("close").await;
    phone.recorded("At top temp").await;
    for (number, at, reading) in [(2, 580, "190"), (3, 675, "192"), (4, 770, "193"), (5, 865, "191")] {
        phone.test_to(at).await;
        phone.mark(&format!("Mark trip {number}")).await;
        read(&phone, reading).await;
    }
    done(&phone).await;

    phone.tap("tab-results").await;
    phone.tap("finding-H-01").await;
    // By hand: mean (190 + 192 + 193 + 191) / 4 = 191.5 °F. The heater rose no faster than twice its mean rate of (206 − 72) °F in
    // 210 s (own figure, `findings::trip`), so in the lag of 1 s ± 2 · 0.5 s by 0 to 2.55 °F: 1.28 °F is taken off, u = 1.28/√3 = 0.737
    // (rectangular, GUM 4.3.7), and 190.2 °F are left. Squares of the deviations sum to 5, s² = 5/3, u(A)² = s²/4 = 0.4167; with
    // 0.6² + 0.8² + 0.737² u = √1.960 = 1.400 °F; ν = u⁴ / (u(A)⁴ / 3) = 3.840 / 0.05787 = 66; t(0.975, 66) = 1.997 (NIST/SEMATECH
    // e-Handbook 1.3.6.7.2); U = 2.80 °F. A top temperature marked some seconds later changes none of these digits.
    let found = finding(&phone).await;
    let operating = phone.words("operating-temperature").await;
    assert!(operating.contains("190.2 °F") && operating.contains("± 2.8 °F"), "{operating}");
    assert!(phone.words("expanded-uncertainty").await.contains("2.8 °F"), "{found}");
    assert!(phone.words("standard-uncertainty").await.contains("1.4 °F"), "{found}");
    assert_eq!(phone.words("answer-tripped").await, "Yes", "{found}");
    assert!(phone.words("as-read").await.to_lowercase().contains("within"), "{found}");
    // 190.2 ± 2.8 lies within 186 to 202 °F with the guard band w = U (ILAC-G8:09/2019, 4.2.2).
    assert_eq!(phone.words("limit-result").await, "Within", "{found}");

    let file = bundle(&phone, "export-file", &folder("own-downloads")).await;
    let bundle: Value = serde_json::from_str(&fs::read_to_string(&file).unwrap()).unwrap();
    valid(&bundle);
    intact(&bundle);
    phone.off().await;

    let other = named(&host, &folder("own-other")).await;
    other.tap("take-in").await;
    take_in(&other, &file).await;
    other.see("import-taken").await;
    other.tap("tab-results").await;
    other.tap("finding-H-01").await;
    assert_eq!(finding(&other).await, found);
    other.tap("tab-devices").await;
    // A visit file carries the register of its site; of the kit only what profiles of its tests name.
    for line in ["line-site", "line-area", "line-h-01", "line-circuit-4"] {
        other.see(line).await;
    }
    // Taken in once more, nothing is new; broken, nothing changes.
    let before = other.entries().await;
    other.tap("tab-send").await;
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

/// What the app says of the test on screen; taking back its end is offered on its own phone only.
async fn finding(phone: &Phone) -> String {
    phone.unfold("measured").await;
    phone.see("operating-temperature").await;
    let parts = "return [...document.querySelector('[data-testid=finding]').children]
        .filter((part) => !part.querySelector('.undo')).map((part) => part.innerText).join('\\n').replace(/[\\u00a0\\u202f]/g, ' ')";
    phone.ask(parts).await.as_str().unwrap().to_owned()
}

/// Saves a bundle as a file by this key and gives its path.
pub(crate) async fn bundle(phone: &Phone, key: &str, into: &Path) -> PathBuf {
    let behaviour = json!({ "behavior": "allow", "downloadPath": into });
    phone.devtools("Browser.setDownloadBehavior", behaviour).await;
    phone.tap("tab-send").await;
    phone.tap(key).await;
    if key == "export-all" {
        phone.tap("export-all-yes").await;
    }
    phone.see("export-said").await;
    downloaded(phone, into, "json").await
}

/// Waits until a file of this kind has come down whole.
pub(crate) async fn downloaded(phone: &Phone, into: &Path, kind: &str) -> PathBuf {
    for _ in 0..600 {
        let mut found = fs::read_dir(into).unwrap().map(|entry| entry.unwrap().path());
        if let Some(file) = found.find(|path| path.extension().is_some_and(|of| of == kind)) {
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
