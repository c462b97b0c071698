//! The strip that says what was just done and takes it back with one tap. It stays: nothing that can be missed vanishes.

use super::{Icon, Key, Shape};
use leptos::prelude::*;

/// What was done, and the key that takes it back.
#[component]
pub fn undo(
    /// What was done: "Trip 3 recorded, 14:32:07".
    #[prop(into)]
    words: Signal<String>,
    /// The sign before it.
    #[prop(optional, into)]
    shape: Signal<Shape>,
    /// The word on the key.
    act: &'static str,
    /// Called when it is pressed.
    #[prop(into)]
    on_undo: Callback<()>,
) -> impl IntoView {
    view! {
        <div class="undo">
            <span class="undo-words" role="status">{move || view! { <Icon of=shape.get() /> }} <span>{words}</span></span>
            <Key label=act on_press=on_undo icon=Shape::Undo testid="undo" />
        </div>
    }
}
