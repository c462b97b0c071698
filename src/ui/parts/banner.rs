//! A band across the top: what holds for every screen (the demo, another tab that writes, an update that waits).

use super::{Icon, Key, Shape};
use leptos::prelude::*;

/// A band with a sentence and, where there is something to do, one key.
#[component]
pub fn banner(
    /// The sentence.
    #[prop(into)]
    words: Signal<String>,
    /// The sign before it.
    #[prop(optional)]
    shape: Shape,
    /// The word on the key; without it there is no key.
    #[prop(optional)]
    act: Option<&'static str>,
    /// Called when the key is pressed.
    #[prop(optional, into)]
    on_act: Option<Callback<()>>,
    /// The name by which a test finds it.
    #[prop(optional, into)]
    testid: Option<String>,
) -> impl IntoView {
    view! {
        <div class="banner" role="status" data-testid=testid>
            <Icon of=shape />
            <span class="banner-words">{words}</span>
            {act.zip(on_act).map(|(label, on_press)| view! { <Key label on_press /> })}
        </div>
    }
}
