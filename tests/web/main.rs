//! In-browser tests: one module per adapter.
#![cfg(target_arch = "wasm32")]
#![allow(missing_docs, clippy::unwrap_used)]

mod clock;
mod store;

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
