//! The record signed on the phone and saved there: what a visit file gives on a computer, to the last byte.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::json;

use crate::check::{bundle, downloaded};
use crate::phone::Phone;

/// Signs with strokes, one of which the phone takes away, then saves the record and holds it against the command's.
pub(crate) async fn signed(phone: &Phone, into: &Path) {
    phone.tap("tab-send").await;
    phone.tap("record").await;
    phone.tap("sign-1").await;
    // A dot is no signature, and what is half drawn is kept while the phone is elsewhere.
    phone.draw("field-sign-drawn", &[(0.5, 0.5)], "touchEnd").await;
    phone.fill("sign-name", "O. Owner").await;
    phone.tap("save").await;
    phone.until("document.querySelector('#field-sign-drawn-error').textContent.startsWith('That is only a dot')").await;
    phone.tap("field-sign-drawn-clear").await;
    phone.draw("field-sign-drawn", &[(0.1, 0.7), (0.3, 0.2), (0.5, 0.7)], "touchEnd").await;
    phone.draw("field-sign-drawn", &[(0.6, 0.2), (0.8, 0.7)], "touchCancel").await;
    let drawn = "[...document.querySelectorAll('.pad path')].map((of) => of.getAttribute('d')).join('')";
    phone.until(&format!("{drawn}.split('M').length === 4")).await;
    phone.flawless("pad").await;
    phone.reload().await;
    phone.see("taken-up").await;
    phone.until(&format!("{drawn}.split('M').length === 4")).await;
    phone.tap("save").await;
    phone.see("signature").await;
    phone.reads("to-sign", "drawn on the phone, digest ").await;

    phone.tap("paper-file-key").await;
    phone.see("paper-file-name").await;
    fs::create_dir_all(into).unwrap();
    let visit = bundle_beside(phone, into).await;
    let page = downloaded(phone, into, "html").await;
    let name = page.file_name().unwrap().to_string_lossy().into_owned();
    assert!(name.starts_with("soakbook-record-"), "{name}");
    let made = Command::new(env!("CARGO_BIN_EXE_soakbook")).arg("record").arg(&visit).output().unwrap();
    assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
    let (made, saved) = (String::from_utf8(made.stdout).unwrap(), fs::read_to_string(&page).unwrap());
    let differs = made.bytes().zip(saved.bytes()).position(|(one, other)| one != other);
    assert!(made == saved, "{differs:?} of {} and {}", made.len(), saved.len());
    assert!(made.contains("Signature: Owner&#39;s representative · O. Owner"));
}

/// The visit's file, and the page that is ready saved beside it.
async fn bundle_beside(phone: &Phone, into: &Path) -> PathBuf {
    let behaviour = json!({ "behavior": "allow", "downloadPath": into });
    phone.devtools("Browser.setDownloadBehavior", behaviour).await;
    phone.tap("paper-file-save").await;
    phone.see("paper-file-said").await;
    phone.tap("close").await;
    bundle(phone, "export-file", into).await
}
