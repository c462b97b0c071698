//! A panic must not leave a dead screen: it is told to the page, which shows what happened without any of the app's code.

use wasm_bindgen::JsValue;
use web_sys::{CustomEvent, CustomEventInit};

use super::js::window;

/// The event on the window; its `detail` is the message.
pub const EVENT: &str = "soakbook-panic";

/// Sends every later panic to the console and to the page.
pub fn hook() {
    std::panic::set_hook(Box::new(|info| tell(&info.to_string())));
}

/// Tells the console and the page that the app has stopped, and why.
pub fn tell(message: &str) {
    let message = JsValue::from(message);
    web_sys::console::error_1(&message);
    let init = CustomEventInit::new();
    init.set_detail(&message);
    // There is nobody left to tell when even this fails.
    if let Ok(event) = CustomEvent::new_with_event_init_dict(EVENT, &init) {
        drop(window().dispatch_event(&event));
    }
}
