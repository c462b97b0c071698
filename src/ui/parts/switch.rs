//! On or off, said by a word and by where the knob stands.

use leptos::prelude::*;

/// A plate that turns something on or off.
#[component]
pub fn switch(
    /// What is turned on or off.
    #[prop(into)]
    label: String,
    /// Whether it is on.
    #[prop(into)]
    on: Signal<bool>,
    /// The words for on and off.
    words: (&'static str, &'static str),
    /// Called with the new state.
    #[prop(into)]
    on_turn: Callback<bool>,
    /// The name by which a test finds it.
    #[prop(optional, into)]
    testid: Option<String>,
) -> impl IntoView {
    view! {
        <button
            type="button"
            class="pick switch"
            role="switch"
            aria-checked=move || if on.get() { "true" } else { "false" }
            data-testid=testid
            on:click=move |_| on_turn.run(!on.get())
        >
            <span>{label}</span>
            <span class="switch-state" aria-hidden="true">
                {move || if on.get() { words.0 } else { words.1 }} <span class="switch-slot"></span>
            </span>
        </button>
    }
}
