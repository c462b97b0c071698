//! How safe the data is, as the browser says it.

use soakbook::browser::persist::{self, Home};
use wasm_bindgen_test::wasm_bindgen_test;

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
