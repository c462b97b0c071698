//! The screens. Wasm only. Nothing uses this module.

pub mod parts;

use leptos::prelude::*;

/// Mounts the app.
pub fn start() {
    leptos::mount::mount_to_body(|| view! { <main><h1>"Soakbook"</h1></main> });
}
