//! Bad input gets a sentence that names the field and what it may hold, and nothing is stored.

use crate::host::{Host, dist, folder};
use crate::phone::Phone;
use crate::setting_up::{BARE, SET_POINT, demo, heat_on, own_detector, start_demo, trip};

/// Saves the form and waits for what is said at a field.
async fn refused(phone: &Phone, field: &str, said: &[&str]) {
    let before = phone.entries().await;
    phone.tap("save").await;
    for words in said {
        phone.until(&format!("document.getElementById('field-{field}-error').textContent.includes('{words}')")).await;
    }
    phone.see("not-saved").await;
    assert_eq!(phone.entries().await, before);
}

#[tokio::test]
async fn a_rating_or_tolerance_out_of_range_is_refused_by_name() {
    let host = Host::start(&dist());
    let profile = folder("refused-profile");
    let phone = demo(&host, &profile).await;
    phone.tap("tab-devices").await;
    phone.tap("add-detector").await;
    own_detector(&phone).await;
    phone.tap("field-unit-C").await;
    for rating in ["400", "20", "-5", "warm"] {
        phone.fill("rating", rating).await;
        refused(&phone, "rating", &["Rating"]).await;
    }
    phone.fill("rating", "400").await;
    refused(&phone, "rating", &["30 °C", "350 °C"]).await;
    phone.fill("rating", "90").await;
    phone.fill("minus", "5").await;
    refused(&phone, "minus", &["Minus tolerance", "0 °C"]).await;
    phone.fill("minus", "-5").await;
    phone.fill("plus", "-5").await;
    refused(&phone, "plus", &["Plus tolerance", "0 °C"]).await;
    phone.fill("plus", "").await;
    refused(&phone, "plus", &["Plus tolerance"]).await;

    // Half filled, and the phone's battery ends: everything typed is offered again, nothing of it is in the register.
    let before = phone.entries().await;
    phone.fill("tag", "H-99").await;
    phone.until(
        "(async () => { const wait = (r) => new Promise((ok, no) => { r.onsuccess = () => ok(r.result); r.onerror = () => no(r.error); });
           const db = await wait(indexedDB.open('soakbook'));
           window.kept = JSON.stringify(await wait(db.transaction('drafts').objectStore('drafts').getAll())); db.close(); })()
         && window.kept?.includes('H-99')",
    )
    .await;
    phone.kill();
    let phone = Phone::timed(&profile, 0).await;
    phone.open(&format!("{}#/register", host.address())).await;
    phone.tap("line-position").await;
    phone.see("taken-up").await;
    phone.flawless("form-taken-up").await;
    for (field, typed) in [("tag", "H-99"), ("rating", "90"), ("minus", "-5")] {
        phone.until(&format!("document.getElementById('field-{field}').value === '{typed}'")).await;
    }
    assert_eq!(phone.entries().await, before);
    phone.fill("plus", "5").await;
    phone.tap("save").await;
    phone.see("line-h-99").await;
    assert!(!phone.sees("line-position").await);
    phone.off().await;
}

#[tokio::test]
async fn a_reading_below_ambient_is_refused_and_can_be_taken_again() {
    let host = Host::start(&dist());
    let phone = demo(&host, &folder("ambient-profile")).await;
    phone.tap("position-J-01").await;
    phone.unfold("conditions").await;
    phone.fill("ambient", "hot").await;
    phone.reads("why-not", "Ambient temperature").await;
    phone.fill("ambient", "72").await;
    phone.until("!document.querySelector('[data-testid=why-not]')").await;
    phone.tap("back").await;
    phone.tap("position-J-01").await;
    phone.unfold("conditions").await;
    phone.fill("ambient", "72").await;
    phone.choose("procedure", SET_POINT).await;
    heat_on(&phone).await;
    trip(&phone, 1).await;
    // The first trip does not count: its reading is not asked for, but can be given.
    phone.until("!document.querySelector('[data-testid=digits]')").await;
    phone.tap("more").await;
    phone.tap("read-trip-1").await;
    for digit in ["digit-1", "digit-8", "digit-1"] {
        phone.tap(digit).await;
    }
    phone.until("!document.querySelector('[data-testid=digits]')").await;
    phone.recorded("Reading 181 °F").await;
    trip(&phone, 2).await;
    phone.see("digits").await;
    let before = phone.entries().await;
    for digit in ["digit-0", "digit-7", "digit-1"] {
        phone.tap(digit).await;
    }
    phone.reads("refused", "72 °F").await;
    assert_eq!(phone.entries().await, before);
    for digit in ["digit-1", "digit-9", "digit-0"] {
        phone.tap(digit).await;
    }
    phone.until("!document.querySelector('[data-testid=digits]')").await;
    phone.recorded("Reading 190 °F").await;
    phone.off().await;
}

#[tokio::test]
async fn an_empty_phone_has_nothing_to_send_and_says_so() {
    let host = Host::start(&dist());
    let phone = Phone::on(&folder("nothing-profile")).await;
    phone.install(&host.address()).await;
    phone.tap("tab-send").await;
    for key in ["export", "export-file", "export-all"] {
        phone.tap(key).await;
        phone.reads("export-refused", "othing to send").await;
    }
    assert_eq!(phone.entries().await, Vec::<serde_json::Value>::new());
    phone.off().await;
}

#[tokio::test]
async fn what_may_not_be_heated_is_refused_before_the_heat() {
    let host = Host::start(&dist());
    let phone = demo(&host, &folder("heat-profile")).await;
    let before = phone.entries().await;
    // A nonrestorable element: nothing that could be answered would change it, so nothing is asked.
    phone.tap("position-P-03").await;
    phone.reads("why-not", "Heat would destroy it").await;
    assert!(!phone.sees("mark").await && !phone.sees("conditions").await);
    phone.tap("back").await;
    // One that releases, a classified location, a set point of a rate-of-rise detector.
    let refusals = [("P-01", "Packing belt stop"), ("S-01", "permit"), ("J-05", "functional test")];
    for (tag, why) in refusals {
        phone.tap(&format!("position-{tag}")).await;
        phone.choose("heater", "Heater A").await;
        phone.choose("procedure", SET_POINT).await;
        phone.reads("why-not", why).await;
        assert!(!phone.sees("mark").await);
        phone.tap("back").await;
    }
    assert_eq!(phone.entries().await, before);
    // Not two on one circuit whose trips cannot be told apart, nor one heater on two detectors.
    start_demo(&phone, BARE).await;
    phone.tap("back").await;
    phone.tap("position-J-02").await;
    phone.choose("heater", "Heater A").await;
    phone.reads("why-not", "in a test already").await;
    phone.off().await;
}
