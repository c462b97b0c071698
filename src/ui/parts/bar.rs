//! The places: a bar under the thumb, a rail at the side of a wide screen.

use super::{Icon, Shape, Show};
use leptos::prelude::*;

/// Holds one `BarKey` for each place.
#[component]
pub fn bar(
    /// What the bar is called by a screen reader.
    label: &'static str,
    /// The keys.
    children: Children,
) -> impl IntoView {
    view! { <nav class="bar" aria-label=label>{children()}</nav> }
}

/// One place: drawing, word and how many things wait there.
#[component]
pub fn bar_key(
    /// The drawing.
    shape: Shape,
    /// The place's name.
    label: &'static str,
    /// Whether this is where the user is.
    #[prop(into)]
    current: Signal<bool>,
    /// Called when the place is picked.
    #[prop(into)]
    on_press: Callback<()>,
    /// How many things wait there; 0 shows nothing.
    #[prop(optional, into)]
    count: Signal<u32>,
    /// What is counted, read out after the number.
    #[prop(optional)]
    counted: &'static str,
    /// The name by which a test finds it.
    #[prop(optional, into)]
    testid: Option<String>,
) -> impl IntoView {
    view! {
        <button
            type="button"
            class="bar-key"
            aria-current=move || current.get().then_some("page")
            data-testid=testid
            on:click=move |_| on_press.run(())
        >
            <Icon of=shape />
            <span>{label}</span>
            <Show when=move || { count.get() > 0 }>
                <span class="count">{count}<span class="unseen">" "{counted}</span></span>
            </Show>
        </button>
    }
}
