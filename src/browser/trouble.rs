//! Reads what the browser throws as what the person can do about it.

use wasm_bindgen::JsValue;

use super::js::{member, words};
pub use crate::storage::Trouble;

impl Trouble {
    /// Reads a thrown or rejected value by its standard name (Web IDL, the table of DOMException names).
    pub(super) fn from_js(error: &JsValue) -> Trouble {
        match member(error, "name").and_then(|name| name.as_string()).as_deref() {
            Some("QuotaExceededError") => Trouble::FreeSpace,
            Some("VersionError") => Trouble::Reload,
            Some("SecurityError") => Trouble::AllowStorage(words(error)),
            _ => Trouble::TryAgain(words(error)),
        }
    }
}
