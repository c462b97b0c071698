//! An update is told and asked for. The worker is played, because the tests are served from an address that has none.

use std::cell::Cell;
use std::rc::Rc;

use soakbook::browser::update::{self, Answer};
use wasm_bindgen_test::wasm_bindgen_test;

/// A registration with no worker waiting yet.
fn pretend() {
    let script = "window.worker = (answer) => ({ postMessage: ({ ask }, [port]) => {
            window.heard = ask; if (answer) port.postMessage(answer); } });
        window.registration = new EventTarget(); registration.waiting = null; registration.installing = null;
        window.container = new EventTarget(); container.ready = Promise.resolve(registration);
        Object.defineProperty(navigator, 'serviceWorker', { configurable: true, value: container })";
    js_sys::eval(script).unwrap();
}

#[wasm_bindgen_test]
async fn a_waiting_update_is_told_and_refused_while_a_test_is_active() {
    pretend();
    let told = Rc::new(Cell::new(0));
    let count = told.clone();
    let updates = update::watch(move || count.set(count.get() + 1));
    crate::sleep(20).await;
    assert_eq!((told.get(), updates.ask().await), (0, Answer::Nothing));

    let found = "registration.installing = new EventTarget();
        registration.dispatchEvent(new Event('updatefound'));
        registration.waiting = worker('busy');
        registration.installing.dispatchEvent(new Event('statechange'))";
    js_sys::eval(found).unwrap();
    assert_eq!(told.get(), 1);
    assert_eq!(updates.ask().await, Answer::Busy);
    assert_eq!(js_sys::eval("heard").unwrap(), "update");
    // Another worker taking control unasked must not reload the page: this test would never end.
    js_sys::eval("container.dispatchEvent(new Event('controllerchange'))").unwrap();
    js_sys::eval("registration.waiting = worker('ok')").unwrap();
    assert_eq!(updates.ask().await, Answer::Ok);
    js_sys::eval("registration.waiting = worker('?')").unwrap();
    assert!(matches!(updates.ask().await, Answer::TryAgain(_)));
    drop(updates);
    js_sys::eval("registration.waiting = worker('ok'); registration.dispatchEvent(new Event('updatefound'))").unwrap();
    assert_eq!(told.get(), 1);
    js_sys::eval("delete navigator.serviceWorker").unwrap();
}

#[wasm_bindgen_test]
async fn an_update_that_waited_before_the_start_is_told() {
    pretend();
    js_sys::eval("registration.waiting = worker('ok')").unwrap();
    let told = Rc::new(Cell::new(false));
    let keep = told.clone();
    let updates = update::watch(move || keep.set(true));
    crate::sleep(20).await;
    assert!(told.get());
    drop(updates);
    js_sys::eval("delete navigator.serviceWorker").unwrap();
}
