//! A line to fill in: label above, unit behind, help and error below and tied to it.

use super::{Icon, Shape, Show};
use crate::view::forms::Entry;
use leptos::prelude::*;

/// A label, a line, a unit, and the sentences below.
#[component]
pub fn field(
    /// Ties label, help and error to the line, and names it for tests; unique on the page.
    id: &'static str,
    /// What is asked.
    #[prop(into)]
    label: String,
    /// The text in the line.
    #[prop(into)]
    value: Signal<String>,
    /// Called with the text at each change.
    #[prop(into)]
    on_input: Callback<String>,
    /// What is filled in.
    #[prop(optional)]
    entry: Entry,
    /// The unit behind the line; empty for none.
    #[prop(optional, into)]
    unit: Signal<String>,
    /// What helps to answer; empty for none.
    #[prop(optional, into)]
    help: Signal<String>,
    /// What is wrong and what is allowed; empty for nothing.
    #[prop(optional, into)]
    error: Signal<String>,
) -> impl IntoView {
    let invalid = move || error.with(|text| !text.is_empty()).then_some("true");
    let described = format!("{id}-help {id}-error");
    let (kind, mode) = match entry {
        Entry::Decimal | Entry::Decimals => ("text", Some("decimal")),
        Entry::Whole => ("text", Some("numeric")),
        Entry::Date => ("date", None),
        Entry::Moment => ("datetime-local", None),
        Entry::Text | Entry::Long => ("text", None),
        Entry::Secret => ("password", None),
    };
    let line = if entry == Entry::Long {
        view! {
            <textarea
                id=id
                rows="3"
                data-testid=id
                aria-invalid=invalid
                aria-describedby=described
                prop:value=value
                on:input=move |ev| on_input.run(event_target_value(&ev))
            ></textarea>
        }
        .into_any()
    } else {
        view! {
            <input
                id=id
                type=kind
                inputmode=mode
                autocomplete="off"
                data-testid=id
                aria-invalid=invalid
                aria-describedby=described
                prop:value=value
                on:input=move |ev| on_input.run(event_target_value(&ev))
            />
        }
        .into_any()
    };
    let lines = view! {
        <div class="field-line">
            {line}
            <Show when=move || unit.with(|text| !text.is_empty())>
                <span class="field-unit">{unit}</span>
            </Show>
        </div>
    };
    framed(id, label, help, error, lines.into_any())
}

/// Lines with their label above and help and error below, tied to the line of this id.
pub(super) fn framed(
    id: &'static str,
    label: String,
    help: Signal<String>,
    error: Signal<String>,
    lines: AnyView,
) -> AnyView {
    let wrong = move || error.with(|text| !text.is_empty());
    view! {
        <div class="field" class:wrong=wrong>
            <span class="field-sign">
                <Show when=wrong>
                    <Icon of=Shape::Fail />
                </Show>
            </span>
            <div class="field-body">
                <label class="field-label" for=id>{label}</label>
                {lines}
                <p class="field-help" id=format!("{id}-help")>{help}</p>
                <p class="field-error" id=format!("{id}-error") role="alert">{error}</p>
            </div>
        </div>
    }
    .into_any()
}
