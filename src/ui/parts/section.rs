//! Headings of the ruled page.

use super::{Key, Look, Shape, Show};
use leptos::prelude::*;

/// The head of a page: title, a line below it, a way back in the margin, and keys at the end.
#[component]
pub fn page_head(
    /// The title; the page's only heading of the first level.
    #[prop(into)]
    title: Signal<String>,
    /// A line below it; empty for none.
    #[prop(optional, into)]
    detail: Signal<String>,
    /// What the way back is called; without `on_back` there is none.
    #[prop(optional)]
    back: &'static str,
    /// Called when the way back is taken.
    #[prop(optional, into)]
    on_back: Option<Callback<()>>,
    /// Keys at the end.
    #[prop(optional)]
    children: Option<Children>,
) -> impl IntoView {
    view! {
        <header class="page-head">
            {on_back.map(|press| view! {
                <Key label=back on_press=press look=Look::Plain icon=Shape::Back bare=true testid="back" />
            })}
            <h1 tabindex="-1">{title}</h1>
            {children.map(|acts| view! { <div class="page-acts">{acts()}</div> })}
            <Show when=move || detail.with(|text| !text.is_empty())>
                <p>{detail}</p>
            </Show>
        </header>
    }
}

/// A part of a page under a ruled heading, with a step's number or a count in the margin.
#[component]
pub fn section(
    /// The heading.
    #[prop(into)]
    title: String,
    /// A number in the margin; empty for none.
    #[prop(optional, into)]
    at: String,
    /// What is said at the end of the line: a count, a state.
    #[prop(optional, into)]
    end: String,
    /// What stands below.
    children: Children,
) -> impl IntoView {
    view! {
        <section class="section">
            <div class="section-head">
                <span class="at">{at}</span>
                <h2>{title}</h2>
                <span class="soft">{end}</span>
            </div>
            {children()}
        </section>
    }
}
