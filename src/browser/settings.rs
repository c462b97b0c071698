//! Settings: small JSON texts in localStorage, by key. They may be minutes behind on disk when the browser is killed.

use gloo_storage::{LocalStorage, Storage as _};

use super::js::window;
use super::trouble::Trouble;

/// The localStorage of this page; asked first, because the crate's own way panics where the browser refuses it.
pub(super) fn local() -> Result<web_sys::Storage, Trouble> {
    match window().local_storage() {
        Ok(Some(_)) => Ok(LocalStorage::raw()),
        Ok(None) => Err(Trouble::AllowStorage("no local storage".into())),
        Err(error) => Err(Trouble::from_js(&error)),
    }
}

fn full(key: &str) -> String {
    format!("soakbook.s/{key}")
}

/// The text kept under a key, if any.
pub fn get(key: &str) -> Result<Option<String>, Trouble> {
    local()?.get_item(&full(key)).map_err(|error| Trouble::from_js(&error))
}

/// Keeps a text under a key, in place of an earlier one.
pub fn set(key: &str, text: &str) -> Result<(), Trouble> {
    local()?.set_item(&full(key), text).map_err(|error| Trouble::from_js(&error))
}

/// Removes what is kept under a key.
pub fn forget(key: &str) -> Result<(), Trouble> {
    local()?.remove_item(&full(key)).map_err(|error| Trouble::from_js(&error))
}
