//! What the heater profile says of a test: trips that nobody read, and a sign that is late.

use crate::host::{Host, dist, folder};
use crate::phone::Phone;
use crate::setting_up::{demo, heat_on};

/// Seconds after heat on at which trips of the demo's heater A come (see `check`).
const TRIPS: [i64; 5] = [150, 455, 545, 635, 725];

/// A test of the demo's heater with a heater profile at 72 °F, a reading dialled at each counted trip or none, and what it says.
async fn test(phone: &Phone, tag: &str, delay: &str, reading: Option<&str>) -> String {
    phone.tap(&format!("detector-{tag}")).await;
    phone.choose("heater", "Heater A").await;
    phone.tap("setting-200").await;
    phone.choose("procedure", "set-point").await;
    phone.unfold("seeing").await;
    phone.see("display-read").await;
    let read = if reading.is_some() { "true" } else { "false" };
    let on = "document.querySelector('[data-testid=display-read]').getAttribute('aria-checked')";
    if phone.ask(&format!("return {on}")).await.as_str() != Some(read) {
        phone.tap("display-read").await;
    }
    phone.fill("lag", delay).await;
    phone.unfold("conditions").await;
    phone.fill("ambient", "72").await;
    if phone.sees("understood").await {
        phone.tap("understood").await;
    }
    heat_on(phone).await;
    for (nth, at) in (1..).zip(TRIPS) {
        phone.test_to(at).await;
        phone.reads("mark", "Tripped").await;
        phone.tap("mark").await;
        phone.tripped(nth).await;
        if let Some(reading) = reading.filter(|_| nth > 1) {
            for digit in reading.chars() {
                phone.tap(&format!("digit-{digit}")).await;
            }
            phone.until("!document.querySelector('[data-testid=digits]')").await;
        }
    }
    phone.reads("mark", "Done").await;
    phone.tap("mark").await;
    // The numbers of a visit come a moment after the screen.
    phone.see("operated").await;
    phone.words("finding").await
}

#[tokio::test]
async fn trips_that_nobody_read_are_estimated_and_a_late_sign_is_taken_off() {
    let host = Host::start(&dist());
    let phone = demo(&host, &folder("late")).await;
    let estimated = test(&phone, "J-01", "0", None).await;
    assert!(phone.words("operating-temperature").await.contains("indicative: 4 of 4 trips estimated"), "{estimated}");
    assert!(estimated.contains("read the display at every counted trip"), "{estimated}");
    assert!(!phone.sees("as-read").await && !phone.sees("limit_result").await, "{estimated}");
    assert!(phone.sees("first-trip").await, "{estimated}");
    phone.flawless("finding-estimated").await;

    phone.tap("tab-visit").await;
    let late = test(&phone, "J-02", "2", Some("190")).await;
    assert!(phone.words("notice-delay").await.contains("Rise of the heater before a trip was noticed"), "{late}");
    assert!(late.contains("at the trip "), "{late}");
    phone.flawless("finding-late").await;
    phone.off().await;
}
