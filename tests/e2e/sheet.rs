//! A customer's spreadsheet, from cells that are pasted and from files: shown, imported, undone; and files that are none.

use std::fs;
use std::path::Path;

use serde_json::json;
use thirtyfour::prelude::By;

use crate::host::{Host, dist, folder};
use crate::phone::Phone;
use crate::setting_up::named;

/// A phone on the page of a new site.
async fn site(host: &Host, profile: &Path) -> Phone {
    let phone = named(host, profile).await;
    phone.tap("tab-devices").await;
    phone.tap("add-site").await;
    phone.fill("site-name", "Works").await;
    phone.tap("save").await;
    phone.keeps("\"type\":\"site\"").await;
    phone.tap("tab-devices").await;
    phone.tap("spreadsheet").await;
    phone.see("sheet-choose").await;
    phone
}

async fn load(phone: &Phone, file: &Path) {
    let line = phone.driver.find(By::Css("[data-testid=sheet-file]")).await.unwrap();
    line.send_keys(file.to_str().unwrap()).await.unwrap();
}

/// Thirty rows with a title above, another separator, decimal commas, and one row that says a tag twice.
fn thirty() -> String {
    let mut text = "Heat detectors of the works\nTag;Room;Loop;Address;Type;Set point;Releases\n".to_string();
    for row in 1..=29 {
        let (kind, rating) = if row % 2 == 0 { ("Rate compensated", "135") } else { ("Fixed temperature", "57,2 °C") };
        text.push_str(&format!("H-{row};Hall 2;L1;1-{row:03};{kind};{rating};none\n"));
    }
    text + "H-7;Oven;;;;;\n"
}

#[tokio::test]
async fn pasted_cells_are_shown_imported_and_undone() {
    let host = Host::start(&dist());
    let phone = site(&host, &folder("sheet-profile")).await;
    phone.flawless("sheet").await;
    let before = phone.entries().await;
    phone.fill("cells", &thirty()).await;
    phone.tap("sheet-paste").await;
    // No unit, no import.
    phone.see("sheet-unit").await;
    phone.until("document.querySelector('[data-testid=sheet-import]').disabled").await;
    phone.flawless("sheet-read").await;
    phone.tap("sheet-unit-F").await;
    phone.until("!document.querySelector('[data-testid=sheet-unit]')").await;
    // Both rows with the tag twice stop only themselves.
    phone.reads("sheet-import", "Import 28 rows without these 2").await;
    phone.unfold("sheet-bad").await;
    phone.reads("sheet-bad", "2").await;
    // A word that says nothing about the element is settled by hand.
    phone.tap("sheet-type").await;
    phone.tap("pick-fixed_nonrestorable").await;
    phone.until("!document.querySelector('[data-testid=sheet-types-help]')").await;
    assert_eq!(phone.entries().await, before);
    phone.tap("sheet-import").await;
    phone.see("sheet-done").await;
    phone.keeps("\"type\":\"import_committed\"").await;
    phone.tap("sheet-devices").await;
    phone.see("line-h-29").await;
    // It is there after a start, and what is done can be undone as one.
    phone.open("about:blank").await;
    phone.open(&format!("{}#/register", host.address())).await;
    phone.see("line-h-29").await;
    phone.tap("spreadsheet").await;
    phone.fill("cells", "Tag\tRoom\tDescription\nH-1\tHall 2\tOver the mixer\nH-99\tHall 2\t\n").await;
    phone.tap("sheet-paste").await;
    phone.reads("sheet-import", "Import 2 rows").await;
    phone.tap("sheet-import").await;
    phone.see("sheet-done").await;
    phone.tap_on("[data-testid=sheet-done] button").await;
    phone.keeps("\"type\":\"undone\"").await;
    phone.see("sheet-choose").await;
    phone.tap("tab-devices").await;
    phone.see("line-h-29").await;
    assert!(!phone.sees("line-h-99").await);
    phone.off().await;
}

#[tokio::test]
async fn a_file_that_is_no_sheet_is_refused_and_nothing_is_changed() {
    let host = Host::start(&dist());
    let phone = site(&host, &folder("sheet-bad-profile")).await;
    let before = phone.entries().await;
    let files = folder("sheet-files");
    let rows: String = (0..100_000).map(|row| format!("H-{row},Hall 2,135 F\n")).collect();
    let bad: [(&str, Vec<u8>, &str); 4] = [
        ("picture.csv", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR".to_vec(), "picture"),
        ("book.csv", b"PK\x03\x04\x14\0".to_vec(), "Save as, then CSV"),
        ("long.csv", format!("Tag,Room,Rating\n{rows}").into_bytes(), "more than 10,000 rows"),
        ("quote.csv", b"Tag,Room\nH-1,\"Hall 2\nH-2,Hall 2\n".to_vec(), "Line 2: a double quote"),
    ];
    for (name, bytes, words) in bad {
        let file = files.join(name);
        fs::write(&file, bytes).unwrap();
        load(&phone, &file).await;
        phone.reads("sheet-refused", name).await;
        phone.reads("sheet-refused", words).await;
    }
    assert_eq!(phone.entries().await, before);
    // A good one goes on from there.
    let file = files.join("good.csv");
    fs::write(&file, b"Tag,Room,Rating\nH-1,Hall 2,135 F\n").unwrap();
    load(&phone, &file).await;
    phone.reads("sheet-import", "Import 1 row").await;
    phone.off().await;
}

/// Watches frames and long tasks.
const WATCH: &str = "globalThis.__w = { frames: [], long: [], from: performance.now() };
  new PerformanceObserver((l) => l.getEntries().forEach((e) => __w.long.push(e.duration))).observe({ type: 'longtask' });
  let last = performance.now();
  const frame = () => { const now = performance.now(); __w.frames.push(now - last); last = now; requestAnimationFrame(frame); };
  requestAnimationFrame(frame);";

/// Time since then, longest frame, longest task, in ms.
const SAW: &str = "const w = globalThis.__w;
  return [performance.now() - w.from, Math.max(0, ...w.frames), Math.max(0, ...w.long), w.long.length]";

#[tokio::test]
#[ignore = "figures, not a test"]
async fn figures_of_5_000_rows() {
    let host = Host::start(&dist());
    let files = folder("sheet-figures");
    let mut text = "Tag,Area,Circuit,Panel point,Type,Rating,Location,Releases,Height,Reached from,Model,Serial number,Installed on\n".to_string();
    for row in 0..5_000 {
        text.push_str(&format!(
            "H-{row},Hall {},L{},1-{row:04},Rate-compensated,135 °F,Over machine {row},none,22 ft,Ladder,M1,{row:05},2022-05-17\n",
            row % 20,
            row % 10
        ));
    }
    let file = files.join("five-thousand.csv");
    fs::write(&file, text).unwrap();
    for rate in [1, 4] {
        let phone = site(&host, &folder("sheet-figures-profile")).await;
        phone.devtools("Emulation.setCPUThrottlingRate", json!({ "rate": rate })).await;
        let memory = "return performance.memory ? performance.memory.usedJSHeapSize / 1e6 : 0";
        let heap = phone.ask(memory).await;
        phone.ask(WATCH).await;
        load(&phone, &file).await;
        phone.reads("sheet-import", "Import 5000 rows").await;
        let read = phone.ask(SAW).await;
        tokio::time::sleep(std::time::Duration::from_secs(3)).await;
        phone.ask(WATCH).await;
        phone.ask("document.querySelector('[data-testid=sheet-import]').click()").await;
        phone.see("sheet-done").await;
        let done = phone.ask(SAW).await;
        phone.until("!document.querySelector('[data-testid=not-recorded]')").await;
        phone.keeps("\"type\":\"import_committed\"").await;
        let kept = phone.ask(SAW).await;
        println!(
            "5,000 rows, slowed {rate} x: [ms, longest frame, longest task, long tasks] shown {read}, imported {done}, on the disk {kept}; \
             script heap {heap} to {} MB",
            phone.ask(memory).await
        );
        phone.off().await;
    }
}
