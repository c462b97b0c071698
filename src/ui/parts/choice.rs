//! One of a few, or several of them: each answer is a plate of its own, so that nothing hides in a list that drops down.

use super::{Icon, Key, Shape, Show};
use crate::ui::memo::memo;
use crate::view::forms::Answer;
use crate::view::words;
use leptos::prelude::*;

/// With more answers only the one picked is shown.
const MANY: usize = 12;

fn holds(list: &str, value: &str) -> bool {
    list.split(',').any(|of| of == value)
}

/// The list with one value put in, or taken out where it was in.
fn turned(list: &str, value: &str) -> String {
    let others = list.split(',').filter(|of| !of.is_empty() && *of != value);
    let added = (!holds(list, value)).then_some(value);
    others.chain(added).collect::<Vec<_>>().join(",")
}

/// A question with its answers as plates; none is picked until the user picks one.
#[component]
pub fn choice(
    /// Groups the answers and ties the error to them; unique on the page.
    id: &'static str,
    /// The question.
    #[prop(into)]
    label: String,
    /// The answers.
    #[prop(into)]
    answers: Signal<Vec<Answer>>,
    /// The value picked; anything else picks none.
    #[prop(into)]
    value: Signal<String>,
    /// Called with the value of the answer picked.
    #[prop(into)]
    on_pick: Callback<String>,
    /// Side by side where there is room.
    #[prop(optional)]
    across: bool,
    /// Any number may be picked; the value then has them with commas between.
    #[prop(optional)]
    several: bool,
    /// What helps to answer; empty for none.
    #[prop(optional, into)]
    help: Signal<String>,
    /// What is wrong and what is allowed; empty for nothing.
    #[prop(optional, into)]
    error: Signal<String>,
) -> impl IntoView {
    let open = RwSignal::new(false);
    // Of many answers the one picked stands alone until another one is wanted: a works has a hundred areas.
    let folded = memo(move || {
        let many = answers.with(Vec::len) > MANY && !several && !open.get();
        many && value.with(|now| answers.with(|all| all.iter().any(|answer| answer.value == *now)))
    });
    let shown = move || {
        let mut all = answers.get();
        if folded.get() {
            all.retain(|answer| value.with(|now| answer.value == *now));
        }
        all
    };
    let plate = move |answer: Answer| {
        let (mine, given, detail) = (answer.value.clone(), answer.value.clone(), answer.detail);
        let picked = move |mine: &str| value.with(|now| if several { holds(now, mine) } else { now == mine });
        let press = move |_| {
            open.set(false);
            let now = if several { value.with_untracked(|now| turned(now, &given)) } else { given.clone() };
            on_pick.run(now);
        };
        view! {
            <label class="pick">
                <input
                    type=if several { "checkbox" } else { "radio" }
                    name=id
                    value=answer.value.clone()
                    data-testid=format!("{id}-{}", answer.value)
                    prop:checked=move || picked(&mine)
                    on:change=press
                />
                <span class="pick-dot" aria-hidden="true"></span>
                <span>{answer.label} {(!detail.is_empty()).then(|| view! { <small>{detail}</small> })}</span>
            </label>
        }
    };
    let wrong = move || error.with(|text| !text.is_empty());
    view! {
        <fieldset class="field" class:wrong=wrong aria-describedby=format!("{id}-help {id}-error")>
            <legend class="unseen">{label.clone()}</legend>
            <span class="field-sign">
                <Show when=wrong>
                    <Icon of=Shape::Fail />
                </Show>
            </span>
            <span class="field-body">
                <span class="field-label" aria-hidden="true">{label}</span>
                <span class="choices" class:across=across>{move || shown().into_iter().map(plate).collect_view()}</span>
                <Show when=move || folded.get()>
                    <Key label=words::CHOOSE_ANOTHER on_press=move |()| open.set(true) testid=format!("{id}-another") />
                </Show>
                <p class="field-help" id=format!("{id}-help")>{help}</p>
                <p class="field-error" id=format!("{id}-error") role="alert">{error}</p>
            </span>
        </fieldset>
    }
}
