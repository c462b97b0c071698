//! Visits reach the office: over a real nginx and a real Apache, each file once and whole, whatever happens to server and network.

use std::time::Duration;

use serde_json::{Value, json};
use soakbook::encoding::sha256_hex;

use crate::host::folder;
use crate::office::{CUTS, Kind, Office, PASSES, PASSWORD, SLOW, USER};
use crate::phone::Phone;
use crate::setting_up::{name, take_demo};

/// Files that wait on the phone, with the one that it made itself.
const FILES: usize = 200;

/// Puts more files into the outbox of the phone as the app keeps them; 1 to 120 kB, so that bodies are cut at many places.
const MORE_FILES: &str = "
    const db = await new Promise((got, no) => {
        const asked = indexedDB.open('soakbook');
        asked.onsuccess = () => got(asked.result);
        asked.onerror = () => no(asked.error);
    });
    const hex = (bytes) => [...new Uint8Array(bytes)].map((byte) => byte.toString(16).padStart(2, '0')).join('');
    const made = [];
    for (let n = 1; n < FILES; n += 1) {
        const text = `${n} ${'abcdefghij'.repeat(60 * n)}`;
        const digest = hex(await crypto.subtle.digest('SHA-256', new TextEncoder().encode(text)));
        const name = `soakbook-invented-2026-01-01-000001-${n}-${digest.slice(0, 8)}.json`;
        made.push([name, text, JSON.stringify({ chains: {}, digest, name })]);
    }
    const tx = db.transaction(['outbox', 'files'], 'readwrite');
    for (const [name, text, known] of made) {
        tx.objectStore('files').add(text, name);
        tx.objectStore('outbox').add(known, name);
    }
    await new Promise((done, no) => { tx.oncomplete = done; tx.onabort = () => no(tx.error); });
    db.close();
    return made.length;";

/// How many texts and how many receipts the phone keeps.
const KEPT: &str = "
    const db = await new Promise((got) => {
        const asked = indexedDB.open('soakbook');
        asked.onsuccess = () => got(asked.result);
    });
    const ask = (request) => new Promise((got) => { request.onsuccess = () => got(request.result); });
    const tx = db.transaction(['outbox', 'files']);
    const [texts, known] = [ask(tx.objectStore('files').count()), ask(tx.objectStore('outbox').getAll())];
    const kept = [await texts, (await known).filter((text) => JSON.parse(text).delivered > 0).length];
    db.close();
    return kept;";

async fn set_folder(phone: &Phone, keep: bool) {
    phone.tap("tab-send").await;
    phone.tap("to-folder").await;
    for (field, text) in [("folder-address", "/inbox/"), ("folder-user", USER), ("folder-password", PASSWORD)] {
        let script = format!(
            "const line = document.querySelector('[data-testid={field}]');
             line.value = {}; line.dispatchEvent(new Event('input', {{ bubbles: true }}));",
            json!(text)
        );
        phone.see(field).await;
        phone.ask(&script).await;
    }
    if keep {
        phone.tap("folder-keep").await;
    }
    phone.tap("folder-save").await;
    phone.see("deliver").await;
}

async fn everything_arrives(kind: Kind, test: &str) {
    // The ready files are those of Debian; without its packages there is nothing to try them on.
    if std::env::var_os("SOAKBOOK_SERVERS").is_none() {
        return;
    }
    let mut office = Office::start(kind);
    let profile = folder(test);
    let phone = Phone::on(&profile.join("phone")).await;
    phone.open(&office.address()).await;
    name(&phone).await;
    take_demo(&phone).await;
    set_folder(&phone, true).await;
    phone.tap("deliver").await;
    phone.reads("deliver-state", "The office has 1 file, confirmed").await;
    // The same records are the same file.
    phone.tap("deliver").await;
    let first = office.files();
    assert_eq!(first.len(), 1);

    // The office fetches it, once.
    let desk = Phone::on(&profile.join("desk")).await;
    desk.open(&office.address()).await;
    name(&desk).await;
    set_folder(&desk, false).await;
    desk.tap("fetch").await;
    desk.reads("import-taken", "soakbook-").await;
    desk.tap("fetch").await;
    desk.reads("import-nothing", "Office folder").await;
    let local = desk.ask("return JSON.stringify(localStorage) + location").await;
    assert!(!local.to_string().contains(PASSWORD), "the password was kept without being asked for");
    desk.off().await;

    // What is in the folder is not replaced by anybody, nor removed, nor read without a password.
    let own = format!("{USER}:{PASSWORD}");
    let there = first.keys().next().unwrap().as_str();
    for (asked, statuses) in [
        (vec!["-u", own.as_str(), "-X", "PUT", "-d", "x"], ["412", "412"]),
        (vec!["-u", own.as_str(), "-X", "PUT", "-d", "x", "-H", "If-None-Match: *"], ["412", "412"]),
        (vec!["-u", own.as_str(), "-X", "DELETE"], ["405", "403"]),
        (vec!["-u", own.as_str(), "-X", "MOVE", "-H", "Destination: /inbox/other.json"], ["405", "403"]),
        (vec!["-u", own.as_str(), "-X", "GET"], ["200", "200"]),
        (vec!["-X", "GET"], ["401", "401"]),
        (vec!["-u", "phone-1:wrong", "-X", "GET"], ["401", "401"]),
    ] {
        let expected = if kind == Kind::Nginx { statuses[0] } else { statuses[1] };
        assert_eq!(office.status(&asked, there), expected, "{kind:?} {asked:?}");
        // What somebody uploaded runs nothing in a browser.
        let headers = office.headers(&asked, there).to_lowercase();
        for header in ["content-security-policy: sandbox; default-src 'none'", "x-content-type-options: nosniff"] {
            assert!(headers.contains(header), "{kind:?} {asked:?}: {headers}");
        }
    }
    assert_eq!(office.files(), first);

    // Many files on a way that breaks.
    assert_eq!(phone.ask(&MORE_FILES.replace("FILES", &FILES.to_string())).await, json!(FILES - 1));
    phone.driver.refresh().await.unwrap();
    phone.see("deliver").await;
    let faults: [fn(&mut Office); 8] = [
        |office| office.way(CUTS),
        |office| office.restart(true),
        |office| (office.restart(false), office.way(SLOW)).1,
        |office| office.way(CUTS),
        Office::kill,
        |office| (office.restart(false), office.way(PASSES)).1,
        |office| office.kill(),
        |office| (office.restart(false), office.way(CUTS)).1,
    ];
    // Every fault twice, and the app starts anew between them.
    for round in 0..2 {
        for fault in faults {
            fault(&mut office);
            phone.tap("deliver").await;
            tokio::time::sleep(Duration::from_millis(1_500)).await;
        }
        assert!(office.files().len() < FILES, "everything had arrived before round {round} of faults was over");
        office.way(PASSES);
        office.restart(false);
        phone.driver.refresh().await.unwrap();
        phone.see("deliver").await;
    }
    for _ in 0..200 {
        phone.tap("deliver").await;
        tokio::time::sleep(Duration::from_millis(500)).await;
        if phone.words("deliver-state").await.contains(&format!("The office has {FILES} files, confirmed")) {
            break;
        }
    }
    phone.reads("deliver-state", &format!("The office has {FILES} files, confirmed")).await;
    let files = office.files();
    assert_eq!(files.len(), FILES);
    for (name, text) in &files {
        let digits = &name[name.len() - 13..name.len() - 5];
        assert!(sha256_hex(text.as_bytes()).starts_with(digits), "{name} is not whole");
        assert!(!text.contains(PASSWORD));
    }
    assert_eq!(phone.ask(KEPT).await, Value::from(vec![0, FILES]), "every text is let go, with its receipt");
    phone.off().await;
}

#[tokio::test]
async fn two_hundred_files_reach_an_nginx_that_is_killed_slow_and_faulty() {
    everything_arrives(Kind::Nginx, "delivered-nginx").await;
}

#[tokio::test]
async fn two_hundred_files_reach_an_apache_that_is_killed_slow_and_faulty() {
    everything_arrives(Kind::Apache, "delivered-apache").await;
}
