//! What the heater profile says of a test: trips that nobody read, and a sign that is late.

use crate::host::{Host, dist, folder};
use crate::phone::Phone;
use crate::setting_up::{Asked, BARE, answer, demo, heat_on, read, trip};

/// A test of the demo's heater with a heater profile at 72 °F, a reading at each counted trip or none, and what it says.
async fn test(phone: &Phone, tag: &'static str, lag: &str, reading: Option<&str>) -> String {
    answer(phone, Asked { tag, readings: reading.is_some(), ambient: "72", ..BARE }).await;
    phone.fill("lag", lag).await;
    heat_on(phone).await;
    for number in 1..=4 {
        trip(phone, number).await;
        if let Some(reading) = reading.filter(|_| number > 1) {
            read(phone, reading).await;
        }
    }
    phone.mark("Heater lowered").await;
    // The numbers of a visit come a moment after the screen.
    phone.unfold("measured").await;
    phone.see("operating-temperature").await;
    phone.words("finding").await
}

#[tokio::test]
async fn trips_that_nobody_read_are_estimated_and_a_late_sign_is_taken_off() {
    let host = Host::start(&dist());
    let phone = demo(&host, &folder("late")).await;
    let estimated = test(&phone, "J-01", "1", None).await;
    // Four trips of which the first is not averaged.
    assert!(phone.words("operating-temperature").await.contains("indicative: 3 of 3 trips estimated"), "{estimated}");
    assert!(estimated.contains("read the display at every counted trip"), "{estimated}");
    assert!(!phone.sees("limit-result").await, "{estimated}");
    assert!(phone.sees("first-trip").await, "{estimated}");
    phone.flawless("finding-estimated").await;

    phone.tap("tab-visit").await;
    let late = test(&phone, "J-02", "2", Some("190")).await;
    assert!(phone.words("lag").await.contains("Rise of the heater before a trip was noticed"), "{late}");
    phone.flawless("finding-late").await;
    phone.off().await;
}
