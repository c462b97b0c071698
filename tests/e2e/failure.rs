//! The page that is shown when the app has stopped or could not start.

use std::fs;

use serde_json::json;
use thirtyfour::prelude::*;

use crate::host::{Host, dist, folder, version};
use crate::phone::Phone;

#[tokio::test]
async fn panic_shows_what_happened_and_reload_starts_anew() {
    let host = Host::start(&dist());
    let phone = Phone::on(&folder("panic-profile")).await;
    phone.install(&host.address()).await;
    phone
        .ask(
            "window.before = 1; dispatchEvent(new CustomEvent('soakbook-panic', { detail: 'at the trip' }));
             dispatchEvent(new CustomEvent('soakbook-panic', { detail: 'a consequence' }));",
        )
        .await;
    let body = phone.driver.find(By::Tag("body")).await.unwrap();
    let text = body.text().await.unwrap();
    assert!(text.starts_with("Soakbook has stopped"), "{text}");
    assert!(text.contains("is safe on this phone"), "{text}");
    assert_eq!(phone.ask("return document.getElementById('failed-detail').textContent").await, "at the trip");
    for scheme in ["light", "dark"] {
        let features = json!([{ "name": "prefers-color-scheme", "value": scheme }]);
        phone.devtools("Emulation.setEmulatedMedia", json!({ "features": features })).await;
        assert_eq!(phone.accessibility_faults().await, Vec::<String>::new(), "{scheme}");
    }
    phone.driver.find(By::Id("failed-reload")).await.unwrap().click().await.unwrap();
    phone.until("window.before === undefined && document.getElementById('failed').hidden").await;
    phone.off().await;
}

#[tokio::test]
async fn app_that_cannot_be_loaded_says_so() {
    let broken = version("unloadable", "Soakbook");
    for entry in fs::read_dir(&broken).unwrap().map(Result::unwrap) {
        if entry.path().extension().is_some_and(|extension| extension == "wasm") {
            fs::write(entry.path(), "not a program").unwrap();
        }
    }
    let host = Host::start(&broken);
    let phone = Phone::on(&folder("unloadable-profile")).await;
    phone.open(&host.address()).await;
    phone.until("document.getElementById('failed').checkVisibility()").await;
    let text = phone.driver.find(By::Tag("body")).await.unwrap().text().await.unwrap();
    assert!(text.starts_with("Soakbook could not start"), "{text}");
    phone.off().await;
}
