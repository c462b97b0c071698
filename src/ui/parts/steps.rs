//! Two keys, down and up, around a value: where a number is near and only a few steps away.

use super::{Icon, Shape};
use leptos::prelude::*;

/// Step keys. The value starts as the caller shows it: an untouched one shows no number and so is never an answer.
#[component]
pub fn steps(
    /// What is set, read out with the value.
    #[prop(into)]
    label: Signal<String>,
    /// The value with its unit, as shown.
    #[prop(into)]
    value: Signal<String>,
    /// The word on the minus key, read out: "1 s earlier".
    down: &'static str,
    /// The word on the plus key.
    up: &'static str,
    /// Called with −1 or 1 on each press.
    #[prop(into)]
    on_step: Callback<i32>,
) -> impl IntoView {
    let key = move |shape: Shape, word: &'static str, by: i32| {
        view! {
            <button type="button" class="key" aria-label=word on:click=move |_| on_step.run(by)>
                <Icon of=shape />
            </button>
        }
    };
    view! {
        <div class="steps" role="group" aria-label=label>
            {key(Shape::Minus, down, -1)}
            <output>{value} <small>{label}</small></output>
            {key(Shape::Plus, up, 1)}
        </div>
    }
}
