//! Keeps the screen on. The browser lets go when the page is hidden, so it is asked again when the page is seen.

use std::cell::{Cell, RefCell};
use std::rc::Rc;

use gloo_events::EventListener;
use js_sys::Promise;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::{JsFuture, spawn_local};
use web_sys::EventTarget;

use super::js::{ignore, member, window, words};

// Standard (Screen Wake Lock), but behind an unstable flag in web-sys.
#[wasm_bindgen]
extern "C" {
    type WakeLock;
    #[wasm_bindgen(method, catch)]
    fn request(this: &WakeLock, kind: &str) -> Result<Promise, JsValue>;

    #[wasm_bindgen(extends = EventTarget)]
    type Sentinel;
    #[wasm_bindgen(method, catch)]
    fn release(this: &Sentinel) -> Result<Promise, JsValue>;
}

/// Whether the screen is kept on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Awake {
    /// Yes.
    Held,
    /// No longer, as the page was hidden; asked again when it is seen.
    Released,
    /// Refused (often a low battery), in the browser's words; asked again when the page is next seen.
    Refused(String),
    /// This browser cannot.
    Absent,
}

struct Inner {
    wanted: Cell<bool>,
    asking: Cell<bool>,
    held: RefCell<Option<(Sentinel, EventListener)>>,
    changed: Box<dyn Fn(Awake)>,
}

/// The screen stays on until this is dropped.
pub struct KeepAwake {
    inner: Rc<Inner>,
    _listening: Option<EventListener>,
}

impl std::fmt::Debug for KeepAwake {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "KeepAwake({})", self.inner.held.borrow().is_some())
    }
}

/// Keeps the screen on; `changed` hears what comes of it.
pub fn keep_awake(changed: impl Fn(Awake) + 'static) -> KeepAwake {
    let inner = Rc::new(Inner {
        wanted: Cell::new(true),
        asking: Cell::new(false),
        held: RefCell::default(),
        changed: Box::new(changed),
    });
    spawn_local(ask(inner.clone()));
    let again = inner.clone();
    let listening = window().document().map(|document| {
        EventListener::new(&document, "visibilitychange", move |_| {
            if window().document().is_some_and(|document| !document.hidden()) {
                spawn_local(ask(again.clone()));
            }
        })
    });
    KeepAwake { inner, _listening: listening }
}

async fn ask(inner: Rc<Inner>) {
    if inner.held.borrow().is_some() || inner.asking.replace(true) {
        return;
    }
    let asked = match member(&window().navigator(), "wakeLock") {
        None => Err(Awake::Absent),
        Some(lock) => {
            let asked = match lock.unchecked_ref::<WakeLock>().request("screen") {
                Ok(promise) => JsFuture::from(promise).await,
                Err(error) => Err(error),
            };
            asked.map_err(|error| Awake::Refused(words(&error)))
        }
    };
    inner.asking.set(false);
    match asked {
        Ok(sentinel) => {
            let sentinel: Sentinel = sentinel.unchecked_into();
            if !inner.wanted.get() {
                ignore(sentinel.release());
                return;
            }
            let weak = Rc::downgrade(&inner);
            let listening = EventListener::new(&sentinel, "release", move |_| {
                let Some(inner) = weak.upgrade() else { return };
                // Taken out now, dropped later: a listener must not free itself while it runs.
                let held = inner.held.take();
                spawn_local(async move { drop(held) });
                if inner.wanted.get() {
                    (inner.changed)(Awake::Released);
                }
            });
            *inner.held.borrow_mut() = Some((sentinel, listening));
            (inner.changed)(Awake::Held);
        }
        Err(state) if inner.wanted.get() => (inner.changed)(state),
        Err(_) => {}
    }
}

impl Drop for KeepAwake {
    fn drop(&mut self) {
        self.inner.wanted.set(false);
        if let Some((sentinel, _)) = self.inner.held.take() {
            ignore(sentinel.release());
        }
    }
}
