//! A ruled line of a list: sign or number in the margin, title and detail beside it, a badge at the end.

use super::{Icon, Shape};
use leptos::prelude::*;

/// The list around rows.
#[component]
pub fn rows(
    /// What the list holds, read out.
    #[prop(into)]
    label: String,
    /// The rows.
    children: Children,
) -> impl IntoView {
    view! { <ul class="rows" aria-label=label>{children()}</ul> }
}

/// One line; with `on_press` the whole line is a key and shows where it leads. Nothing else of a line changes: lists are long, and
/// whoever has another one to show draws it anew.
#[component]
pub fn row(
    /// The first line.
    #[prop(into)]
    title: String,
    /// The second line; empty for none.
    #[prop(optional, into)]
    detail: String,
    /// A second line that changes while it stands, such as a clock.
    #[prop(optional)]
    moving: Option<Signal<String>>,
    /// The sign in the margin.
    #[prop(optional, into)]
    sign: Option<Shape>,
    /// A number or short word in the margin, where there is no sign.
    #[prop(optional, into)]
    at: Option<String>,
    /// Whether this is the line whose detail is shown beside the list.
    #[prop(optional)]
    current: Option<Signal<bool>>,
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
                {moving.map(|detail| view! { <span class="row-detail">{detail}</span> })}
                {(!detail.is_empty()).then(|| view! { <span class="row-detail">{detail}</span> })}
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
                aria-current=current.map(|current| move || current.get().then_some("true"))
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
