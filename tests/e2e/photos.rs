//! A photo: taken, kept over a restart, sent and loaded, erased; and what is no photo.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::json;
use soakbook::encoding::from_base64;
use thirtyfour::By;

use crate::check::{bundle, downloaded, take_in};
use crate::host::{Host, dist, folder};
use crate::phone::Phone;
use crate::setting_up::{demo, named};

/// The picture in the row of photos, once it is drawn.
pub(crate) const DRAWN: &str = "document.querySelector('.pictures:not(.large) img[src^=\"blob:\"]')?.naturalWidth";

/// A file as a camera writes it: a JPEG of 2,400 × 1,200 px that the browser makes, with notes before the picture. That nothing of such
/// notes is left is shown in `tests/web/photo.rs`, with a place in them.
pub(crate) async fn camera_file(phone: &Phone, into: &Path) -> PathBuf {
    let script = "const c = document.createElement('canvas'); c.width = 2400; c.height = 1200;
        const x = c.getContext('2d'); x.fillStyle = '#a40'; x.fillRect(0, 0, 2400, 1200);
        return c.toDataURL('image/jpeg', 0.9).split(',')[1]";
    let jpeg = from_base64(phone.ask(script).await.as_str().unwrap()).unwrap();
    let notes = b"Exif\0\0MM\0*\0\0\0\x08\0\0\0\0\0\0CAMERA-AND-PLACE";
    let segment = [&[0xff, 0xe1, 0, notes.len() as u8 + 2][..], notes].concat();
    let file = into.join("IMG_0001.jpg");
    fs::create_dir_all(into).unwrap();
    fs::write(&file, [&jpeg[..2], &segment, &jpeg[2..]].concat()).unwrap();
    file
}

/// What the camera gives after a tap on "Add photo". A test has no camera, so the browser's own window for it stays shut.
pub(crate) async fn give(phone: &Phone, file: &Path) {
    phone.ask("HTMLInputElement.prototype.click = () => { window.asked = true; }").await;
    phone.tap("add-photo").await;
    phone.until("window.asked").await;
    let camera = phone.driver.find(By::Css("[data-testid=photo-file]")).await.unwrap();
    camera.send_keys(file.to_str().unwrap()).await.unwrap();
}

/// The position's page.
async fn open(phone: &Phone) {
    phone.tap("tab-devices").await;
    phone.tap("line-j-01").await;
    // It is worked out last, and what stands below moves down then.
    phone.see("due").await;
}

#[tokio::test]
async fn a_photo_is_kept_sent_loaded_and_erased() {
    let host = Host::start(&dist());
    let phone = demo(&host, &folder("photo-profile")).await;
    open(&phone).await;
    let file = camera_file(&phone, &folder("photo-files")).await;
    give(&phone, &file).await;
    phone.until(&format!("{DRAWN} === 1600")).await;
    phone.keeps("\"type\":\"photo\"").await;
    phone.flawless("photo").await;

    // It is there after a restart, which reads its name alone, and its picture when it is drawn.
    phone.reload().await;
    open(&phone).await;
    phone.until(&format!("{DRAWN} === 1600")).await;
    phone.tap_on(".picture").await;
    phone.until("document.querySelector('.pictures.large img')?.naturalWidth === 1600").await;
    phone.tap("caption").await;
    phone.fill("caption", "Above kettle 1").await;
    phone.tap("save").await;
    phone.until("document.querySelector('.picture small')?.textContent === 'Above kettle 1'").await;

    // The file has the picture and nothing of the camera's notes; another phone shows it.
    phone.tap("tab-send").await;
    let sent = bundle(&phone, "export-file", &folder("photo-downloads")).await;
    let text = fs::read_to_string(&sent).unwrap();
    assert!(text.contains("\"media\":\"image/jpeg\"") && !text.contains("CAMERA-AND-PLACE"));
    let other = named(&host, &folder("photo-other")).await;
    other.tap("tab-send").await;
    take_in(&other, &sent).await;
    open(&other).await;
    other.until(&format!("{DRAWN} === 1600")).await;

    // The record prints it, and as a file it is the one that the visit file gives on a computer.
    phone.tap("tab-send").await;
    phone.tap("record").await;
    let print = "window.print = () => { window.printed = [...document.querySelectorAll('#paper img')].map((of) => of.naturalWidth).join() }";
    phone.ask(print).await;
    phone.tap("print").await;
    phone.until("window.printed === '1600'").await;
    phone.ask("window.dispatchEvent(new Event('afterprint'))").await;
    phone.tap("paper-file-key").await;
    phone.reads("paper-file-name", " with 1 picture.").await;
    phone.tap("paper-file-save").await;
    let saved = downloaded(&phone, sent.parent().unwrap(), "html").await;
    let made = Command::new(env!("CARGO_BIN_EXE_soakbook")).arg("record").arg(&sent).output().unwrap();
    assert!(made.stdout == fs::read(&saved).unwrap(), "{}", String::from_utf8_lossy(&made.stderr));
    phone.tap("paper-file-pictures").await;
    phone.reads("paper-file-name", " without its 1 picture.").await;
    phone.tap("close").await;

    // Erasing asks first; the record stays, and the other phone keeps its copy.
    open(&phone).await;
    let entries = phone.entries().await.len();
    phone.tap_on(".picture").await;
    phone.tap("erase-photo").await;
    phone.tap("keep-photo").await;
    phone.tap("erase-photo").await;
    phone.tap("erase-photo-now").await;
    phone.until("document.querySelector('.pictures:not(.large) .gone')").await;
    phone.reload().await;
    open(&phone).await;
    phone.until("document.querySelector('.pictures:not(.large) .gone')").await;
    assert_eq!(phone.entries().await.len(), entries);
    phone.off().await;
    other.off().await;
}

#[tokio::test]
async fn what_is_no_photo_is_said_and_nothing_is_recorded() {
    let host = Host::start(&dist());
    let phone = demo(&host, &folder("no-photo-profile")).await;
    open(&phone).await;
    let files = folder("no-photo-files");
    fs::create_dir_all(&files).unwrap();
    let entries = phone.entries().await.len();
    // A PNG's first chunk (W3C PNG 11.2.1) that claims 60,000 pixels a side.
    let side = 60_000_u32.to_be_bytes();
    let bomb = [&b"\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR"[..], &side, &side, b"\x08\x02\0\0\0"].concat();
    for (name, bytes, words) in [
        ("renamed.jpg", b"%PDF-1.7".to_vec(), "JPEG, PNG or WebP"),
        // A file type box with the brand of HEIC (ISO/IEC 23008-12, from memory).
        ("still.heic", b"\0\0\0\x18ftypheic\0\0\0\0".to_vec(), "Set the camera to JPEG"),
        ("bomb.png", bomb, "megapixels"),
        ("large.jpg", vec![0xff; 40 << 20], "MB"),
    ] {
        let file = files.join(name);
        fs::write(&file, bytes).unwrap();
        give(&phone, &file).await;
        phone.reads("refused", words).await;
        phone.tap("refused-ok").await;
    }
    assert_eq!(phone.entries().await.len(), entries);
    assert_eq!(phone.ask("return document.querySelectorAll('.picture').length").await, json!(0));
    phone.off().await;
}
