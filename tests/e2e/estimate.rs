//! The heater's temperature without its display: its trace on the Test screen, a reading far from it, and a heater that loses it.

use crate::host::{Host, dist, folder};
use crate::phone::Phone;
use crate::setting_up::{Asked, BARE, FUNCTIONAL, TRIPS, demo, read, start_demo, trip};

/// The demo's heater that has a profile, with the ambient temperature that its estimates take; the display is read at each trip.
const READ: Asked = Asked { ambient: "70", readings: true, ..BARE };

/// Trip `number` of a test, and what was read at it; how many taps the reading took.
async fn read_trip(phone: &Phone, number: usize, reading: &str) -> usize {
    trip(phone, number).await;
    phone.see("digits").await;
    let before = phone.taps.get();
    read(phone, reading).await;
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
    start_demo(&phone, READ).await;
    phone.test_to(64).await;
    phone.reads("live", "95%").await;
    phone.flawless("test-traced-heat-up").await;
    let some = points(&phone).await;
    assert!((30..=130).contains(&some), "{some} points");
    trip(&phone, 1).await;
    phone.test_to(270).await;
    phone.reads("clock", "Soak").await;
    phone.flawless("test-traced-soak").await;
    // While a reading is asked for nothing is seen of it.
    trip(&phone, 2).await;
    phone.see("digits").await;
    phone.reads("live", "after the reading").await;
    assert_eq!(points(&phone).await, 0);
    phone.flawless("test-traced-reading").await;
    read(&phone, "192").await;
    phone.reads("live", "95%").await;
    assert!(!phone.sees("asked-reading").await);
    phone.test_to(480).await;
    phone.flawless("test-traced").await;

    // A slip of the finger: asked, and asked still after the battery was taken out.
    assert_eq!(read_trip(&phone, 3, "100").await, 3);
    phone.reads("asked-reading", "You entered 100 °F at trip 3").await;
    phone.flawless("test-far").await;
    phone.keeps("\"value\":100").await;
    let (heat_on, stood) = (phone.heat_on.get(), phone.wall().await);
    phone.kill();
    let phone = Phone::again(&profile, stood).await;
    phone.heat_on.set(heat_on);
    phone.open(&host.address()).await;
    phone.reads("asked-reading", "100 °F").await;
    phone.tap("read-again").await;
    phone.see("digits").await;
    assert!(!phone.sees("asked-reading").await);
    read(&phone, "193").await;
    phone.recorded("Reading 193 °F").await;
    assert!(!phone.sees("asked-reading").await);

    // The next one stands: both are kept and the estimate goes.
    read_trip(&phone, 4, "101").await;
    phone.tap("it-stands").await;
    phone.until("!document.querySelector('[data-testid=asked-reading]')").await;
    phone.keeps("\"type\":\"reading_confirmed\"").await;
    phone.keeps("\"value\":101").await;
    phone.reads("live", "a reading contradicts it").await;
    phone.flawless("test-contradicted").await;
    phone.off().await;
}

#[tokio::test]
async fn a_mark_of_the_lamp_moves_the_number_at_once() {
    let host = Host::start(&dist());
    let phone = demo(&host, &folder("lamp-profile")).await;
    start_demo(&phone, READ).await;
    phone.test_to(130).await;
    phone.reads("live", "95%").await;
    assert!(!phone.words("live").await.contains("206 °F"), "it still heats up");
    phone.tap("more").await;
    phone.tap("mark-at_top").await;
    // The demonstration's profile runs held 206 °F.
    phone.reads("live", "206 °F").await;
    phone.off().await;
}

#[tokio::test]
async fn three_tests_outside_the_band_withdraw_the_estimates() {
    let host = Host::start(&dist());
    let phone = demo(&host, &folder("withdrawn-profile")).await;
    for tag in ["J-01", "J-02", "J-03"] {
        start_demo(&phone, Asked { tag, procedure: FUNCTIONAL, ..READ }).await;
        phone.test_to(TRIPS[0]).await;
        phone.mark("Mark trip").await;
        phone.see("digits").await;
        read(&phone, "110").await;
        phone.mark("Heater lowered").await;
        phone.mark("Next detector").await;
    }
    start_demo(&phone, Asked { tag: "J-04", ..READ }).await;
    phone.reads("withdrawn", "3 of 3 readings were outside the band. Profile this heater again.").await;
    phone.reads("live", "withdrawn").await;
    phone.flawless("test-withdrawn").await;
    phone.tap("more").await;
    phone.tap("end-mistake").await;
    phone.tap("tab-devices").await;
    phone.tap("line-heater-a-invented").await;
    phone.tap("to-profile").await;
    phone.reads("profile-words-1", "Estimates withdrawn").await;
    phone.reads("profile-words-1", "3 of 3 readings").await;
    phone.flawless("profile-withdrawn").await;
    phone.off().await;
}
