//! A number that opens to where it comes from.

use super::{Icon, Shape};
use leptos::prelude::*;

/// A value with unit and uncertainty; opened, its formula, inputs and source.
#[component]
pub fn figure(
    /// What the number is.
    #[prop(into)]
    label: Signal<String>,
    /// The number, or the words that stand for it.
    #[prop(into)]
    value: Signal<String>,
    /// Its unit; empty for none.
    #[prop(optional, into)]
    unit: Signal<String>,
    /// Its expanded uncertainty or range: "± 1.2 °F, k = 2.13"; empty for none.
    #[prop(optional, into)]
    spread: Signal<String>,
    /// The formula in words and signs.
    #[prop(into)]
    formula: Signal<String>,
    /// Names and values of what went into it.
    #[prop(into)]
    inputs: Signal<Vec<(String, String)>>,
    /// Where formula and method come from: the publication and clause, or "common practice, no published source".
    #[prop(into)]
    source: Signal<String>,
    /// Words and address of the page that explains it.
    #[prop(optional)]
    way: Option<(&'static str, String)>,
    /// The name by which a test finds it.
    #[prop(optional, into)]
    testid: Option<String>,
) -> impl IntoView {
    let inputs =
        move || inputs.get().into_iter().map(|(name, value)| view! { <dt>{name}</dt> <dd>{value}</dd> }).collect_view();
    view! {
        <details class="figure" data-testid=testid>
            <summary>
                <Icon of=Shape::Next />
                <span class="figure-body">
                    <span class="figure-label">{label}</span>
                    <span class="figure-value">{value}" "<span class="figure-unit">{unit}</span></span>
                    <span class="figure-spread">{spread}</span>
                </span>
            </summary>
            <div class="figure-inside">
                <p class="formula">{formula}</p>
                <dl class="inputs">{inputs}</dl>
                <p class="source">{source}</p>
                {way.map(|(words, address)| view! { <a class="way" href=address>{words}</a> })}
            </div>
        </details>
    }
}
