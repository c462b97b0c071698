//! Settings, ids, texts, panics and what the browser says of storage.

use std::cell::RefCell;
use std::collections::HashSet;
use std::rc::Rc;

use soakbook::browser::persist::{self, Home};
use soakbook::browser::store::Store;
use soakbook::browser::{ids, panic, settings, text};
use wasm_bindgen::prelude::*;
use wasm_bindgen_test::wasm_bindgen_test;
use web_sys::CustomEvent;

#[wasm_bindgen_test]
fn a_setting_is_kept_replaced_and_forgotten() {
    assert_eq!(settings::get("units"), Ok(None));
    settings::set("units", r#"{"temperature":"F"}"#).unwrap();
    settings::set("units", r#"{"temperature":"°C"}"#).unwrap();
    assert_eq!(settings::get("units"), Ok(Some(r#"{"temperature":"°C"}"#.into())));
    settings::forget("units").unwrap();
    assert_eq!(settings::get("units"), Ok(None));
}

#[wasm_bindgen_test]
fn a_setting_that_does_not_fit_is_an_error() {
    assert!(settings::set("huge", &"x".repeat(5_300_000)).is_err());
    assert_eq!(settings::get("huge"), Ok(None));
}

#[wasm_bindgen_test]
fn ids_are_of_version_7_and_all_different() {
    // RFC 9562, section 5.7: 48 bits of Unix milliseconds first; version 7; variant 10. Its example in A.6 is of this time.
    let id = ids::uuid(0x017F_22E2_79B0);
    assert!(id.to_string().starts_with("017f22e2-79b0-7"), "{id}");
    assert_eq!((id.get_version_num(), id.get_variant()), (7, uuid::Variant::RFC4122));
    let many: HashSet<_> = (0..1000).map(|_| ids::uuid(1)).collect();
    assert_eq!(many.len(), 1000);
    assert_ne!(ids::random::<16>(), ids::random::<16>());
}

#[wasm_bindgen_test]
async fn the_phone_is_the_same_after_reopening_and_new_after_a_wipe() {
    let open = async || Store::open("t-ids", |_| {}).await.0;
    let (first, trouble) = ids::phone(&open().await, 1).await;
    assert_eq!(trouble, None);
    assert_eq!(ids::phone(&open().await, 2).await, (first.clone(), None));
    let factory = web_sys::window().unwrap().indexed_db().unwrap().unwrap();
    factory.delete_database("t-ids").unwrap();
    assert_ne!(ids::phone(&open().await, 3).await.0, first, "a wiped store is a new phone");
}

#[wasm_bindgen_test]
fn texts_are_composed() {
    // UAX #15, figure 3 and 4: Å from three spellings.
    for spelling in ["\u{212B}", "\u{00C5}", "A\u{030A}"] {
        assert_eq!(text::nfc(spelling), "\u{00C5}");
    }
    assert_eq!(text::nfc(""), "");
}

#[wasm_bindgen_test]
fn the_decimal_sign_follows_the_language() {
    // Unicode CLDR, numbers, symbols: decimal.
    for (language, expected) in [("en-US", '.'), ("de-DE", ','), ("de-CH", '.'), ("fr-FR", ','), ("ja-JP", '.')] {
        assert_eq!(text::decimal_sign(language), expected, "{language}");
    }
}

#[wasm_bindgen_test]
fn fahrenheit_follows_the_region_alone() {
    // From memory: Unicode CLDR, unit preferences, temperature.
    for (language, expected) in [
        ("en-US", true),
        ("es-US", true),
        ("es-Latn-PR", true),
        ("en-us", true),
        ("en-GB", false),
        ("en", false),
        ("de-DE", false),
        ("", false),
    ] {
        assert_eq!(text::prefers_fahrenheit(language), expected, "{language}");
    }
}

#[wasm_bindgen_test]
fn a_panic_reaches_the_page() {
    let heard = Rc::new(RefCell::new(Vec::new()));
    let keep = heard.clone();
    let listener = Closure::<dyn FnMut(CustomEvent)>::new(move |event: CustomEvent| {
        keep.borrow_mut().push(event.detail().as_string().unwrap());
    });
    let window = web_sys::window().unwrap();
    let function = listener.as_ref().unchecked_ref();
    window.add_event_listener_with_callback(panic::EVENT, function).unwrap();
    panic::tell("told as a test");
    window.remove_event_listener_with_callback(panic::EVENT, function).unwrap();
    assert_eq!(*heard.borrow(), ["told as a test"]);
}

#[wasm_bindgen_test]
async fn what_the_browser_says_of_storage_is_passed_on() {
    assert_eq!(persist::home(), Home::Tab);
    assert_eq!(persist::persisted().await, Some(false), "a fresh profile has granted nothing");
    let room = persist::room().await.unwrap();
    assert!(room.allowed > room.used, "{room:?}");
}

#[wasm_bindgen_test]
fn a_tab_of_a_browser_that_knows_home_screens_forgets() {
    for (standalone, expected) in [(true, Home::Installed), (false, Home::ForgetfulTab)] {
        let with =
            format!("Object.defineProperty(navigator, 'standalone', {{ value: {standalone}, configurable: true }})");
        js_sys::eval(&with).unwrap();
        let home = persist::home();
        js_sys::eval("delete navigator.standalone").unwrap();
        assert_eq!(home, expected);
    }
}
