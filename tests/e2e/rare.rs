//! Screens that come up rarely: a sleep that is asked about, a test that another phone keeps, two phones that disagree.

use std::fs;
use std::path::Path;
use std::sync::Arc;

use soakbook::book::body::{Area, Body, Edit, What};
use soakbook::book::entry::Scope;
use soakbook::handover::{Made, Select, bundle_of};
use soakbook::units::Wall;

use crate::check::take_in;
use crate::host::{Host, dist, folder};
use crate::phone::Phone;
use crate::sample::{self, id};
use crate::setting_up::{BARE, demo, named, start_demo};

/// The page is out of sight, or back.
fn seen(state: &str) -> String {
    format!(
        "Object.defineProperty(document, 'visibilityState', {{ value: '{state}', configurable: true }});
         document.dispatchEvent(new Event('visibilitychange'))"
    )
}

#[tokio::test]
async fn a_sleep_is_asked_about_once_and_the_answer_is_kept() {
    let host = Host::start(&dist());
    let phone = demo(&host, &folder("sleep-profile")).await;
    start_demo(&phone, BARE).await;
    phone.ask(&seen("hidden")).await;
    phone.set_clock(100_000).await;
    phone.ask(&seen("visible")).await;
    phone.see("asked-sleep").await;
    phone.flawless("test-asleep").await;
    // Asleep until somebody says otherwise: 100 s have gone, and what the test took.
    let (phase, left) = phone.clock().await;
    assert!(phase == "Heating" && (63..=113).contains(&left), "{phase}: {left} s");
    phone.tap("clock-set").await;
    phone.until("!document.querySelector('[data-testid=asked-sleep]')").await;
    let (phase, left) = phone.clock().await;
    assert!(phase == "Heating" && (163..=213).contains(&left), "{phase}: {left} s");
    phone.keeps("\"type\":\"clock_answered\"").await;
    phone.off().await;
}

/// Everything a phone knows, as a visit file.
pub(crate) fn write(phone: &sample::Phone, to: &Path) {
    let made = Made { at: Wall(1_760_000_000_000), app: "0.1.0".into(), phone: id(phone.phone) };
    fs::write(to, bundle_of(&phone.book, Select::Everything, &made).unwrap().text).unwrap();
}

/// Drops a file on the page, as in an office.
async fn drop_on(phone: &Phone, file: &Path) {
    let text = serde_json::json!(fs::read_to_string(file).unwrap());
    let drop = format!(
        "const dataTransfer = new DataTransfer();
         dataTransfer.items.add(new File([{text}], 'dropped.json', {{ type: 'application/json' }}));
         const event = new DragEvent('drop', {{ dataTransfer, bubbles: true, cancelable: true }});
         document.body.dispatchEvent(event);
         return event.defaultPrevented"
    );
    phone.see("import").await;
    assert_eq!(phone.ask(&drop).await, true);
}

#[tokio::test]
async fn what_two_phones_say_is_shown_and_settled() {
    let mut first = sample::Phone::new();
    let area = Scope::Site(id(sample::SITE));
    let put = |name: &str, replaces| {
        let now = Area { site: id(sample::SITE), name: name.into() };
        Body::Area(Edit::new(id(900), replaces, now))
    };
    let before = first.say(area, put("Hall", vec![]));
    let mut second = sample::Phone::new();
    (second.book, second.phone) = (first.book.clone(), 2);
    first.say(area, put("Hall north", vec![before]));
    first.in_visit(Body::TestStarted(Arc::new(sample::started(500))));
    first.in_visit(Body::Mark { of: id(500), what: What::HeatOn });
    second.say(area, put("North hall", vec![before]));
    let files = folder("two-files");
    let (one, other) = (files.join("one.json"), files.join("other.json"));
    write(&first, &one);
    write(&second, &other);

    let host = Host::start(&dist());
    let phone = named(&host, &folder("two-profile")).await;
    phone.tap("take-in").await;
    take_in(&phone, &one).await;
    phone.see("import-taken").await;
    phone.tap("tab-test").await;
    phone.see("other-phone").await;
    phone.flawless("test-other-phone").await;
    phone.tap("back").await;
    phone.tap("tab-send").await;
    drop_on(&phone, &other).await;
    phone.see("import-taken").await;
    phone.tap("tab-devices").await;
    phone.tap_on("li:has(.badge) [data-testid^=line-]").await;
    phone.see("conflict").await;
    phone.flawless("form-two-versions").await;
    phone.choose("version-1", "North hall").await;
    phone.tap("this-holds").await;
    phone.until("document.querySelector('#field-name, #area-name, #field-area-name')?.value === 'North hall'").await;
    // The test goes on on this phone once it is taken over.
    phone.tap("tab-test").await;
    phone.tap("take-over").await;
    phone.until("!document.querySelector('[data-testid=other-phone]')").await;
    phone.keeps("\"type\":\"test_taken_over\"").await;
    phone.off().await;
}
