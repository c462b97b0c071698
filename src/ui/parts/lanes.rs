//! Several heaters at once: one plate for each test, the one that needs a hand next marked by a word.

use leptos::prelude::*;

/// One test among several.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Lane {
    /// Handed to the callback.
    pub id: String,
    /// Heater and detector.
    pub title: String,
    /// Phase and time.
    pub detail: String,
    /// It needs a hand: drawn with a double edge; `detail` says so in words.
    pub calls: bool,
}

/// The tests that are on, and which of them the screen shows.
#[component]
pub fn lanes(
    /// What the strip holds, read out.
    #[prop(into)]
    label: Signal<String>,
    /// The tests.
    #[prop(into)]
    lanes: Signal<Vec<Lane>>,
    /// The id of the one shown.
    #[prop(into)]
    current: Signal<String>,
    /// Called with the id of the one picked.
    #[prop(into)]
    on_pick: Callback<String>,
) -> impl IntoView {
    let plate = move |lane: Lane| {
        let (mine, given) = (lane.id.clone(), lane.id.clone());
        view! {
            <button
                type="button"
                class="lane"
                class:calls=lane.calls
                data-testid=format!("lane-{}", lane.id)
                aria-pressed=move || if current.with(|now| *now == mine) { "true" } else { "false" }
                on:click=move |_| on_pick.run(given.clone())
            >
                <b>{lane.title}</b>
                {lane.detail}
            </button>
        }
    };
    view! {
        <div class="lanes" role="group" aria-label=label>
            {move || lanes.get().into_iter().map(plate).collect_view()}
        </div>
    }
}
