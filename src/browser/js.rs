//! Bridges from callbacks to Rust: promises to wait for. Listeners and repeating timers are those of gloo, which end when they are
//! dropped.

use std::cell::Cell;

use js_sys::{Array, Function, Promise, Reflect};
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::{JsFuture, spawn_local};
use web_sys::{MessageChannel, Window};

/// One frame at 60 Hz, ms.
const FRAME_MS: f64 = 1_000.0 / 60.0;

/// The page's window. The app runs in a page only, so this cannot miss.
pub(super) fn window() -> Window {
    js_sys::global().unchecked_into()
}

/// A named member of an object, or nothing where the browser does not have it.
pub(super) fn member(object: &JsValue, name: &str) -> Option<JsValue> {
    Reflect::get(object, &name.into()).ok().filter(|value| !value.is_undefined() && !value.is_null())
}

/// The browser's own words for a failure: the error's name and message, or the value as text.
pub(super) fn words(error: &JsValue) -> String {
    let text = |name| member(error, name).and_then(|value| value.as_string()).filter(|text| !text.is_empty());
    match (text("name"), text("message")) {
        (Some(name), Some(message)) => format!("{name}: {message}"),
        (Some(name), None) => name,
        (None, Some(message)) => message,
        (None, None) => error.as_string().unwrap_or_else(|| "unknown failure".into()),
    }
}

/// A promise whose two ends are handed to callbacks. The ends are plain functions, so no closure has to outlive anything.
pub(super) fn settle(mut wire: impl FnMut(Function, Function)) -> Promise {
    Promise::new(&mut |resolve, reject| wire(resolve, reject))
}

/// The outcome of the promise that settles first; of those already settled, the one named first.
pub(super) async fn first(promises: &[&Promise]) -> Result<JsValue, JsValue> {
    let promises: Array = promises.iter().map(|promise| JsValue::from(*promise)).collect();
    JsFuture::from(Promise::race(&promises)).await
}

/// Lets a promise run whose outcome is told in another way, so that its failure is not reported as unhandled.
pub(super) fn ignore(started: Result<Promise, JsValue>) {
    if let Ok(promise) = started {
        spawn_local(async move { drop(JsFuture::from(promise).await) });
    }
}

/// A one-shot timer as a promise; dropping it stops the timer.
#[derive(Debug)]
pub(super) struct After {
    promise: Promise,
    end: Function,
    id: i32,
}

impl After {
    /// Fulfilled with `undefined` after `ms` milliseconds.
    pub(super) fn ms(ms: i32) -> After {
        // No `Function::default`: it makes code from text, which the page's policy forbids.
        let mut kept: (Function, i32) = (JsValue::UNDEFINED.unchecked_into(), 0);
        let promise = settle(|resolve, reject| {
            match window().set_timeout_with_callback_and_timeout_and_arguments_0(&resolve, ms) {
                Ok(id) => kept = (resolve, id),
                // Without a timer it is better to go on at once than never.
                Err(error) => drop(reject.call1(&JsValue::UNDEFINED, &error)),
            }
        });
        After { promise, end: kept.0, id: kept.1 }
    }

    /// The promise to wait for.
    pub(super) fn promise(&self) -> &Promise {
        &self.promise
    }

    /// The function that ends the wait early when it is called.
    pub(super) fn end(&self) -> Function {
        self.end.clone()
    }
}

impl Drop for After {
    fn drop(&mut self) {
        window().clear_timeout_with_handle(self.id);
    }
}

/// Lets everything that waits have its turn. A message, because timers set by timers are held back (HTML standard, "timer
/// initialization steps": 4 ms from the sixth on).
pub(crate) async fn next_task() {
    let Ok(channel) = MessageChannel::new() else { return after(0).await };
    let heard = settle(|resolve, _| channel.port1().set_onmessage(Some(&resolve)));
    // Nothing is sent that could fail to be.
    drop(channel.port2().post_message(&JsValue::NULL));
    drop(JsFuture::from(heard).await);
    channel.port1().close();
}

/// Like [`next_task`], for drawing much piece by piece: where a frame is due the page is painted first. Messages alone would
/// keep it from that for 100 ms and more.
pub(crate) async fn next_piece() {
    thread_local!(static PAINTED: Cell<f64> = const { Cell::new(f64::NEG_INFINITY) });
    let now = || window().performance().map_or(0.0, |performance| performance.now());
    // A hidden page has no frames.
    let hidden = window().document().is_none_or(|document| document.hidden());
    if !hidden && now() - PAINTED.get() >= FRAME_MS {
        let frame = settle(|resolve, _| drop(window().request_animation_frame(&resolve)));
        drop(JsFuture::from(frame).await);
        PAINTED.set(now());
    }
    next_task().await;
}

/// Goes on after so many ms.
pub(crate) async fn after(ms: i32) {
    let timer = After::ms(ms);
    // It is never rejected but by a page that is going.
    drop(JsFuture::from(timer.promise().clone()).await);
}
