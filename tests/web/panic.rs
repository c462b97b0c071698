//! A panic reaches the page.

use std::cell::RefCell;
use std::rc::Rc;

use soakbook::browser::panic;
use wasm_bindgen::prelude::*;
use wasm_bindgen_test::wasm_bindgen_test;
use web_sys::CustomEvent;

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
