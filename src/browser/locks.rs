//! Locks that all tabs of the app see and that a crash frees: who writes, and whether a test is active.

use js_sys::{Function, Object, Reflect};
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;

use super::js::{member, settle, window, words};

/// Held by the one tab that writes.
pub const WRITER: &str = "soakbook-writer";

/// Held while a test is active; the service worker refuses an update as long as anyone holds it.
pub const TEST_ACTIVE: &str = "soakbook-test-active";

// Standard (Web Locks), but behind an unstable flag in web-sys.
#[wasm_bindgen]
extern "C" {
    type LockManager;
    #[wasm_bindgen(method, catch)]
    fn request(this: &LockManager, name: &str, options: &Object, held: &JsValue) -> Result<Asked, JsValue>;

    type Asked;
    #[wasm_bindgen(method, catch, js_name = catch)]
    fn catch_with(this: &Asked, refused: &Function) -> Result<JsValue, JsValue>;
}

/// A lock that is held until this is dropped.
#[derive(Debug)]
#[must_use = "the lock is freed when this is dropped"]
pub struct Lock {
    free: Function,
}

impl Drop for Lock {
    fn drop(&mut self) {
        drop(self.free.call0(&JsValue::UNDEFINED));
    }
}

/// Why a lock was not given.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NoLock {
    /// Another tab holds it: use that one, or wait for it with [`wait_for`].
    Taken,
    /// This browser has no locks here (an insecure address, an old version), in its words.
    Absent(String),
}

/// The lock, if nobody holds it.
pub async fn try_for(name: &str) -> Result<Lock, NoLock> {
    request(name, "ifAvailable", &JsValue::TRUE).await
}

/// The lock as soon as it is free, also when the tab that holds it crashes.
pub async fn wait_for(name: &str) -> Result<Lock, NoLock> {
    request(name, "mode", &"exclusive".into()).await
}

/// A share in the lock: several tabs may hold one each.
pub async fn share_in(name: &str) -> Result<Lock, NoLock> {
    request(name, "mode", &"shared".into()).await
}

async fn request(name: &str, option: &str, value: &JsValue) -> Result<Lock, NoLock> {
    let absent = |error: JsValue| NoLock::Absent(words(&error));
    let manager = member(&window().navigator(), "locks").ok_or_else(|| NoLock::Absent("no Web Locks".into()))?;
    let options = Object::new();
    Reflect::set(&options, &option.into(), value).map_err(absent)?;

    // A stand-in until the promise hands over its end: `Function::default` would make code from text, which the page's policy
    // forbids.
    let mut free: Function = JsValue::UNDEFINED.unchecked_into();
    let until_freed = settle(|resolve, _| free = resolve);
    let given = settle(|resolve, reject| {
        let until_freed = until_freed.clone();
        // The browser holds the lock until the promise that this returns is fulfilled.
        let held = Closure::once_into_js(move |lock: JsValue| {
            drop(resolve.call1(&JsValue::UNDEFINED, &lock));
            if lock.is_null() { JsValue::UNDEFINED } else { until_freed.into() }
        });
        // The request's own promise tells a refusal; after the lock was given a rejection changes nothing.
        let asked = manager.unchecked_ref::<LockManager>().request(name, &options, &held);
        drop(
            asked
                .and_then(|promise| promise.catch_with(&reject))
                .or_else(|error| reject.call1(&JsValue::UNDEFINED, &error)),
        );
    });
    match JsFuture::from(given).await {
        Ok(lock) if lock.is_null() => Err(NoLock::Taken),
        Ok(_) => Ok(Lock { free }),
        Err(error) => Err(absent(error)),
    }
}
