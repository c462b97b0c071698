//! The demonstration as a newcomer meets it: loaded, a test played, the flagged one seen.

use crate::host::{Host, dist, folder};
use crate::phone::Phone;
use crate::setting_up::named;
use serde_json::json;

/// Taps the line of the tour that says this.
async fn tour(phone: &Phone, words: &str) {
    let line = format!(
        "[...document.querySelectorAll('[data-testid=tour]')].find((e) => e.textContent.includes({}))",
        json!(words)
    );
    phone.until(&line).await;
    phone.ask(&format!("{line}.id = 'toured'")).await;
    phone.tap_on("#toured").await;
}

#[tokio::test]
async fn a_newcomer_sees_a_test_played_and_who_was_flagged() {
    let host = Host::start(&dist());
    let phone = named(&host, &folder("demo-profile")).await;
    phone.tap("demo").await;
    phone.see("tour").await;
    phone.see("demo-banner").await;
    phone.flawless("demo-visit").await;
    // The past is stored, and nobody's work is this phone's but that the visit of today was opened.
    let before = phone.entries().await;
    assert!(before.len() > 2_000, "{} entries", before.len());

    // Twelve minutes in some twelve seconds, with what was recorded as it came; stopped, and from mark to mark.
    tour(&phone, "Watch a test").await;
    phone.reads("played", "Heat on").await;
    phone.reads("play", "Demo, invented").await;
    phone.reads("played", "Tripped").await;
    phone.tap("play-pause").await;
    phone.reads("play-pause", "Play").await;
    // The band of the live estimate.
    phone.reads("live", "95%").await;
    phone.flawless("played").await;
    phone.tap("play-next").await;
    phone.reads("played", "Display read").await;
    phone.tap("play-pause").await;
    phone.see("play-result").await;
    phone.reads("played", "Done").await;
    phone.reads("clock", "Ended").await;
    phone.flawless("played-over").await;

    // Its result says what it is, and that it is invented; from there it is played again.
    phone.tap("play-result").await;
    phone.reads("headline", "Passed").await;
    phone.reads("state", "Outlier").await;
    phone.reads("beside", "Outlier among").await;
    phone.see("demo-banner").await;
    phone.tap("play").await;
    phone.reads("played", "Heat on").await;
    phone.tap("back").await;
    phone.see("headline").await;

    // Nothing of it was recorded, it is there after a start, and nothing is amiss.
    assert_eq!(phone.entries().await, before);
    phone.open(&host.address()).await;
    phone.tap("tab-visit").await;
    phone.see("tour").await;
    phone.tap("tab-send").await;
    phone.tap("check").await;
    phone.see("check-sound").await;
    phone.off().await;
}

#[tokio::test]
async fn who_asked_for_less_motion_goes_from_mark_to_mark() {
    let host = Host::start(&dist());
    let phone = named(&host, &folder("demo-still-profile")).await;
    phone.tap("demo").await;
    phone.see("tour").await;
    let features = json!({ "features": [{ "name": "prefers-reduced-motion", "value": "reduce" }] });
    phone.devtools("Emulation.setEmulatedMedia", features).await;
    tour(&phone, "Watch a test").await;
    phone.reads("play-pause", "Play").await;
    phone.tap("play-next").await;
    phone.reads("played", "Tripped").await;
    // Still where the mark was.
    assert_eq!(phone.clock().await, phone.clock().await);
    // By hand from the model that the demo says it is drawn from: 203 °F on the way from 70 to 251 with 150 s: 150 · ln((251 − 70)/(251 − 203)) = 199.1 s.
    assert!(phone.words("played").await.starts_with("3:19"), "{}", phone.words("played").await);
    phone.off().await;
}
