//! Settings are kept, and one that is not kept is an error.

use soakbook::browser::settings;
use wasm_bindgen_test::wasm_bindgen_test;

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
