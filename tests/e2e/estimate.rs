//! The heater's temperature without its display: its trace on the Test screen, a reading far from it, and a heater that loses it.

use crate::host::{Host, dist, folder};
use crate::phone::Phone;
use crate::setting_up::{Asked, BARE, demo, heat_on};

/// Answers what is asked before a run on the demo's heater that has a profile, the ambient temperature among it, and switches the
/// heat on. The display is read at each trip.
async fn start(phone: &Phone, asked: Asked) {
    phone.tap(&format!("detector-{}", asked.tag)).await;
    phone.choose("heater", "Heater A").await;
    phone.tap("setting-200").await;
    phone.choose("procedure", asked.procedure).await;
    phone.unfold("conditions").await;
    phone.fill("ambient", "70").await;
    phone.unfold("seeing").await;
    phone.see("display-read").await;
    let on = "return document.querySelector('[data-testid=display-read]').getAttribute('aria-checked')";
    if phone.ask(on).await.as_str() != Some("true") {
        phone.tap("display-read").await;
    }
    if phone.sees("understood").await {
        phone.tap("understood").await;
    }
    heat_on(phone).await;
}

/// A trip at so many seconds after heat on, read as this; how many taps the reading took.
async fn trip(phone: &Phone, at: i64, reading: &str) -> usize {
    phone.test_to(at).await;
    phone.tap("mark").await;
    phone.see("digits").await;
    let before = phone.taps.get();
    for digit in reading.chars() {
        phone.tap(&format!("digit-{digit}")).await;
    }
    phone.until("!document.querySelector('[data-testid=digits]')").await;
    phone.taps.get() - before
}

/// Points of the estimate's line in the trace.
async fn points(phone: &Phone) -> usize {
    let count = "return (document.querySelector('.heat .past')?.getAttribute('d') ?? '').split(/[ML]/).length - 1";
    usize::try_from(phone.ask(count).await.as_u64().unwrap()).unwrap()
}

#[tokio::test]
async fn the_estimate_is_traced_and_a_slip_is_asked_about_once() {
    let host = Host::start(&dist());
    let profile = folder("estimate-profile");
    let phone = demo(&host, &profile).await;
    start(&phone, BARE).await;
    phone.test_to(64).await;
    phone.reads("live", "95 %").await;
    phone.flawless("test-traced-heat-up").await;
    let some = points(&phone).await;
    assert!((30..=130).contains(&some), "{some} points");
    phone.test_to(150).await;
    phone.tap("mark").await;
    phone.test_to(270).await;
    phone.reads("clock", "Soak").await;
    phone.flawless("test-traced-soak").await;
    // While a reading is asked for nothing is seen of it.
    phone.test_to(455).await;
    phone.tap("mark").await;
    phone.see("digits").await;
    phone.reads("live", "after the reading").await;
    assert_eq!(points(&phone).await, 0);
    phone.flawless("test-traced-reading").await;
    for digit in ["1", "9", "2"] {
        phone.tap(&format!("digit-{digit}")).await;
    }
    phone.reads("live", "95 %").await;
    assert!(!phone.sees("asked-reading").await);
    phone.test_to(470).await;
    phone.flawless("test-traced").await;

    // A slip of the finger: asked, and asked still after the battery was taken out.
    assert_eq!(trip(&phone, 545, "129").await, 3);
    phone.reads("asked-reading", "You read 129 °F at trip 3").await;
    phone.flawless("test-far").await;
    phone.keeps("\"value\":129").await;
    let (heat_on, ahead) = (phone.heat_on.get(), phone.ahead());
    phone.kill();
    let phone = Phone::timed(&profile, ahead).await;
    phone.heat_on.set(heat_on);
    phone.open(&host.address()).await;
    phone.reads("asked-reading", "129 °F").await;
    phone.tap("read-again").await;
    phone.see("digits").await;
    assert!(!phone.sees("asked-reading").await);
    for digit in ["1", "9", "3"] {
        phone.tap(&format!("digit-{digit}")).await;
    }
    phone.recorded("reading 193").await;
    assert!(!phone.sees("asked-reading").await);

    // The next one stands: both are kept and the estimate goes.
    trip(&phone, 635, "130").await;
    phone.tap("it-stands").await;
    phone.until("!document.querySelector('[data-testid=asked-reading]')").await;
    phone.keeps("\"type\":\"reading_stands\"").await;
    phone.keeps("\"value\":130").await;
    phone.reads("live", "a reading contradicts it").await;
    phone.flawless("test-contradicted").await;
    phone.off().await;
}

#[tokio::test]
async fn a_mark_of_the_lamp_moves_the_number_at_once() {
    let host = Host::start(&dist());
    let phone = demo(&host, &folder("lamp-profile")).await;
    start(&phone, BARE).await;
    phone.test_to(130).await;
    phone.reads("live", "95 %").await;
    assert!(!phone.words("live").await.contains("206 °F"), "it still heat-ups");
    phone.tap("more").await;
    phone.tap("mark-at-top-temperature").await;
    // The demonstration's profile runs held 206 °F.
    phone.reads("live", "206 °F").await;
    phone.off().await;
}

#[tokio::test]
async fn three_tests_outside_the_band_withdraw_the_estimates() {
    let host = Host::start(&dist());
    let phone = demo(&host, &folder("withdrawn-profile")).await;
    for tag in ["J-01", "J-02", "J-03"] {
        start(&phone, Asked { tag, procedure: "functional", ..BARE }).await;
        trip(&phone, 150, "110").await;
        phone.tap("mark").await;
        phone.see("finding").await;
        phone.tap("tab-visit").await;
    }
    start(&phone, Asked { tag: "J-04", ..BARE }).await;
    phone.reads("withdrawn", "3 of 3 readings lay outside the band. Take a new profile run.").await;
    phone.reads("live", "withdrawn").await;
    phone.flawless("test-withdrawn").await;
    phone.tap("more").await;
    phone.tap("end-stopped-started-by-mistake").await;
    phone.tap("tab-register").await;
    phone.tap("line-heater-a-invented").await;
    phone.tap("to-profile").await;
    phone.reads("profile-words", "Estimates withdrawn").await;
    phone.reads("profile-words", "3 of 3 readings").await;
    phone.flawless("profile-withdrawn").await;
    phone.off().await;
}
