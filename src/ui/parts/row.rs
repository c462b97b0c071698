//! A ruled line of a list: sign or number in the margin, title and detail beside it, a badge at the end.

use super::{Icon, Shape};
use leptos::prelude::*;

/// The list around rows.
#[component]
pub fn rows(
    /// What the list holds, read out.
    #[prop(into)]
    label: Signal<String>,
    /// The rows.
    children: Children,
) -> impl IntoView {
    view! { <ul class="rows" aria-label=label>{children()}</ul> }
}

/// One line; with `on_press` the whole line is a key and shows where it leads.
#[component]
pub fn row(
    /// The first line.
    #[prop(into)]
    title: Signal<String>,
    /// The second line; empty for none.
    #[prop(optional, into)]
    detail: Signal<String>,
    /// The sign in the margin.
    #[prop(optional, into)]
    sign: Option<Signal<Shape>>,
    /// A number or short word in the margin, where there is no sign.
    #[prop(optional, into)]
    at: Option<Signal<String>>,
    /// Whether this is the line whose detail is shown beside the list.
    #[prop(optional, into)]
    current: Signal<bool>,
    /// Called when the line is pressed.
    #[prop(optional, into)]
    on_press: Option<Callback<()>>,
    /// Badges or figures at the end.
    #[prop(optional)]
    children: Option<Children>,
    /// The name by which a test finds it.
    #[prop(optional, into)]
    testid: Option<String>,
) -> impl IntoView {
    let inside = view! {
        <span class="row-sign">
            {sign.map(|of| view! { <Icon of /> })} {at.map(|text| view! { <span class="num">{text}</span> })}
        </span>
        <span class="row-body">
            <span class="row-words">
                <span class="row-title">{title}</span>
                <Show when=move || detail.with(|text| !text.is_empty())>
                    <span class="row-detail">{detail}</span>
                </Show>
            </span>
            {children.map(|end| end())}
            {on_press.map(|_| view! { <span class="chevron"><Icon of=Shape::Next /></span> })}
        </span>
    };
    let line = match on_press {
        Some(press) => view! {
            <button
                type="button"
                class="row"
                aria-current=move || current.get().then_some("true")
                data-testid=testid
                on:click=move |_| press.run(())
            >
                {inside}
            </button>
        }
        .into_any(),
        None => view! { <div class="row" data-testid=testid>{inside}</div> }.into_any(),
    };
    view! { <li>{line}</li> }
}
