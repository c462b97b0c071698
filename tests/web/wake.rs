//! The screen is kept on, and asked for again when the page is seen.

use std::cell::RefCell;
use std::rc::Rc;

use soakbook::browser::wake::{Awake, keep_awake};
use wasm_bindgen_test::wasm_bindgen_test;

/// A wake lock of our own, because a headless browser has no screen to keep on.
fn pretend(request: &str) {
    let script = "window.asked = 0; window.sentinel = null;
        Object.defineProperty(navigator, 'wakeLock', { configurable: true, value: { request: async () => {
            window.asked++; REQUEST
            window.sentinel = new EventTarget();
            window.sentinel.release = async () => { window.sentinel.released = true; };
            return window.sentinel;
        } } })";
    js_sys::eval(&script.replace("REQUEST", request)).unwrap();
}

#[wasm_bindgen_test]
async fn the_screen_is_held_asked_for_again_and_let_go() {
    pretend("");
    let heard = Rc::new(RefCell::new(Vec::new()));
    let keep = heard.clone();
    let awake = keep_awake(move |state| keep.borrow_mut().push(state));
    crate::sleep(20).await;
    js_sys::eval("sentinel.dispatchEvent(new Event('release'))").unwrap();
    js_sys::eval("document.dispatchEvent(new Event('visibilitychange'))").unwrap();
    crate::sleep(20).await;
    // Seen again while held: nothing is asked twice.
    js_sys::eval("document.dispatchEvent(new Event('visibilitychange'))").unwrap();
    crate::sleep(20).await;
    assert_eq!(*heard.borrow(), [Awake::Held, Awake::Released, Awake::Held]);
    assert_eq!(js_sys::eval("asked").unwrap(), 2);
    drop(awake);
    assert_eq!(js_sys::eval("sentinel.released").unwrap(), true);
    js_sys::eval("document.dispatchEvent(new Event('visibilitychange'))").unwrap();
    crate::sleep(20).await;
    assert_eq!(js_sys::eval("asked").unwrap(), 2, "nothing is asked after it was let go");

    pretend("await new Promise((answer) => setTimeout(answer, 30));");
    let brief = keep_awake(|_| {});
    crate::sleep(5).await;
    drop(brief);
    crate::sleep(60).await;
    assert_eq!(js_sys::eval("sentinel.released").unwrap(), true, "a lock given too late is given back");

    pretend("throw new DOMException('low battery', 'NotAllowedError');");
    heard.borrow_mut().clear();
    let keep = heard.clone();
    let refused = keep_awake(move |state| keep.borrow_mut().push(state));
    crate::sleep(20).await;
    assert_eq!(*heard.borrow(), [Awake::Refused("NotAllowedError: low battery".into())]);
    drop(refused);

    js_sys::eval("Object.defineProperty(navigator, 'wakeLock', { configurable: true, value: undefined })").unwrap();
    heard.borrow_mut().clear();
    let keep = heard.clone();
    let absent = keep_awake(move |state| keep.borrow_mut().push(state));
    crate::sleep(20).await;
    assert_eq!(*heard.borrow(), [Awake::Absent]);
    drop(absent);
    js_sys::eval("delete navigator.wakeLock").unwrap();
}
