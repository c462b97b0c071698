//! In-browser tests: one module per adapter.
#![cfg(target_arch = "wasm32")]
#![allow(missing_docs, clippy::unwrap_used)]

mod clock;
mod cues;
mod ids;
mod locks;
mod panic;
mod parts;
mod persist;
mod photo;
mod seal;
mod settings;
mod share;
mod store;
mod text;
mod update;
mod wake;

use js_sys::{Function, Promise};
use wasm_bindgen_futures::JsFuture;

wasm_bindgen_test::wasm_bindgen_test_configure!(run_in_browser);

async fn sleep(ms: i32) {
    let promise = Promise::new(&mut |resolve: Function, _| {
        let window = web_sys::window().unwrap();
        window.set_timeout_with_callback_and_timeout_and_arguments_0(&resolve, ms).unwrap();
    });
    JsFuture::from(promise).await.unwrap();
}

/// A member of the window with another descriptor until this is dropped.
struct Stub(Function);

impl Stub {
    fn new(name: &str, how: &str) -> Stub {
        let script = format!(
            "(() => {{ const kept = Object.getOwnPropertyDescriptor(window, '{name}');
             Object.defineProperty(window, '{name}', {{ configurable: true, {how} }});
             return () => Object.defineProperty(window, '{name}', kept); }})()"
        );
        Stub(js_sys::eval(&script).unwrap().into())
    }
}

impl Drop for Stub {
    fn drop(&mut self) {
        self.0.call0(&wasm_bindgen::JsValue::NULL).unwrap();
    }
}
