//! What stands around every screen: the bar, the banners, the screen itself.

use super::app::{Stage, use_app};
use leptos::prelude::*;

/// The whole page.
#[component]
pub(super) fn Frame() -> impl IntoView {
    let app = use_app();
    view! {
        <main>
            {move || match app.stage.get() {
                Stage::Starting => "Opening the data …",
                Stage::OtherTab => "Another tab of Soakbook writes. Use that one, or close it and this one takes over.",
                Stage::Ready => "Ready",
            }}
        </main>
    }
}
