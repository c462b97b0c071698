//! Several numbers, a line each: every line opens the number keys, which have no key for a new line.

use super::field::framed;
use crate::ui::memo::memo;
use leptos::prelude::*;

/// The numbers of a text, one a line, and an empty one that takes another.
fn lines(text: &str) -> Vec<String> {
    let mut lines: Vec<String> = text.trim_end().split('\n').map(str::to_string).collect();
    if lines.last().is_none_or(|last| !last.is_empty()) {
        lines.push(String::new());
    }
    lines
}

/// A label and a line for each number; once the last is filled in there is another below it.
#[component]
pub fn numbers(
    /// Ties label, help and error to the lines, and names the first of them for tests; unique on the page.
    id: &'static str,
    /// What is asked.
    #[prop(into)]
    label: String,
    /// The numbers, one a line.
    #[prop(into)]
    value: Signal<String>,
    /// Called with all of them at each change.
    #[prop(into)]
    on_input: Callback<String>,
    /// The unit behind each.
    #[prop(into)]
    unit: Signal<String>,
    /// What helps to answer; empty for none.
    #[prop(into)]
    help: Signal<String>,
    /// What is wrong and what is allowed; empty for nothing.
    #[prop(into)]
    error: Signal<String>,
) -> impl IntoView {
    let invalid = move || error.with(|text| !text.is_empty()).then_some("true");
    let count = memo(move || value.with(|text| lines(text).len()));
    let put = move |at: usize, text: String| {
        let mut all = value.with_untracked(|text| lines(text));
        if let Some(line) = all.get_mut(at) {
            *line = text;
        }
        on_input.run(all.join("\n").trim_end().to_string());
    };
    let named = label.clone();
    let line = move |at: usize| {
        let own = if at == 0 { id.to_string() } else { format!("{id}-{}", at + 1) };
        let number = move || value.with(|text| lines(text).get(at).cloned().unwrap_or_default());
        view! {
            <div class="field-line">
                <input
                    id=own.clone()
                    type="text"
                    inputmode="decimal"
                    autocomplete="off"
                    data-testid=own
                    aria-label=format!("{named} {}", at + 1)
                    aria-invalid=invalid
                    aria-describedby=format!("{id}-help {id}-error")
                    prop:value=number
                    on:input=move |ev| put(at, event_target_value(&ev))
                />
                <span class="field-unit">{unit}</span>
            </div>
        }
    };
    let lines = view! { <For each=move || 0..count.get() key=|at| *at let(at)>{line(at)}</For> };
    framed(id, label, help, error, lines.into_any())
}
