//! Any key or Bluetooth button is the mark.

use leptos::prelude::*;
use wasm_bindgen::JsCast;
use web_sys::HtmlElement;

/// Keys that move about or belong to whatever has the focus.
const NEVER: [&str; 12] = [
    "Tab",
    "Escape",
    "ArrowUp",
    "ArrowDown",
    "ArrowLeft",
    "ArrowRight",
    "Shift",
    "Control",
    "Alt",
    "Meta",
    "AltGraph",
    "Unidentified",
];

/// Presses the mark on any key, unless a sheet is open or the key belongs to what has the focus.
pub(super) fn any_key_marks(press: Callback<f64>, quiet: Signal<bool>) {
    let handle = window_event_listener(leptos::ev::keydown, move |event| {
        let key = event.key();
        let on_control =
            document().active_element().and_then(|element| element.dyn_into::<HtmlElement>().ok()).is_some_and(
                |element| matches!(element.tag_name().as_str(), "BUTTON" | "INPUT" | "TEXTAREA" | "SUMMARY" | "A"),
            );
        let theirs = on_control && matches!(key.as_str(), "Enter" | " ");
        let held = event.repeat() || event.ctrl_key() || event.alt_key() || event.meta_key();
        if quiet.get_untracked() || held || theirs || NEVER.contains(&key.as_str()) {
            return;
        }
        event.prevent_default();
        press.run(event.time_stamp());
    });
    on_cleanup(move || handle.remove());
}
