//! How safe this site's data is from being erased by the browser.

use js_sys::{Function, Promise};
use wasm_bindgen::{JsCast, JsValue};
use wasm_bindgen_futures::JsFuture;

use super::js::{member, window};

/// Where the app runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Home {
    /// From the home screen or as an installed app.
    Installed,
    /// In a tab.
    Tab,
    /// In a tab of a browser that erases a site's data after 7 days without use, as on an iPhone
    /// (<https://webkit.org/tracking-prevention/>).
    ForgetfulTab,
}

/// Bytes used and allowed, as the browser estimates them; the allowance is not the free space.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Room {
    /// Used, bytes.
    pub used: f64,
    /// Allowed, bytes.
    pub allowed: f64,
}

/// Where the app runs.
pub fn home() -> Home {
    let window = window();
    // Only WebKit, which has the 7-day rule, knows this member at all.
    let standalone = member(&window.navigator(), "standalone").and_then(|value| value.as_bool());
    let displayed = ["standalone", "fullscreen", "minimal-ui"].iter().any(|mode| {
        window.match_media(&format!("(display-mode: {mode})")).ok().flatten().is_some_and(|query| query.matches())
    });
    match (standalone, displayed) {
        (Some(true), _) | (_, true) => Home::Installed,
        (Some(false), false) => Home::ForgetfulTab,
        (None, false) => Home::Tab,
    }
}

/// Whether the browser has promised not to erase the data by itself; nothing where it does not say.
pub async fn persisted() -> Option<bool> {
    ask("persisted").await?.as_bool()
}

/// Asks for that promise; to be called in a tap, because some browsers ask the person.
pub async fn persist() -> Option<bool> {
    ask("persist").await?.as_bool()
}

/// Used and allowed room.
pub async fn room() -> Option<Room> {
    let estimate = ask("estimate").await?;
    let bytes = |name| member(&estimate, name).and_then(|value| value.as_f64());
    Some(Room { used: bytes("usage")?, allowed: bytes("quota")? })
}

// By name: an insecure address has no storage manager and an old browser lacks single methods.
async fn ask(method: &str) -> Option<JsValue> {
    let storage = member(&window().navigator(), "storage")?;
    let method: Function = member(&storage, method)?.dyn_into().ok()?;
    let promise: Promise = method.call0(&storage).ok()?.dyn_into().ok()?;
    JsFuture::from(promise).await.ok()
}
