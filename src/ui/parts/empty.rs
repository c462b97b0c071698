//! A place with nothing in it yet: what it is for, and the one act that begins it.

use super::{Icon, Shape};
use leptos::prelude::*;

/// Nothing here yet.
#[component]
pub fn empty(
    /// The place's or thing's drawing.
    shape: Shape,
    /// What is missing.
    #[prop(into)]
    title: String,
    /// What it is for.
    #[prop(into)]
    words: String,
    /// Whether this is all there is on the page, so that its title is the page's heading.
    #[prop(optional)]
    alone: bool,
    /// The key that begins it.
    #[prop(optional)]
    children: Option<Children>,
) -> impl IntoView {
    view! {
        <div class="empty">
            <Icon of=shape />
            {if alone {
                view! { <h1>{title}</h1> }.into_any()
            } else {
                view! { <h2>{title}</h2> }.into_any()
            }}
            <p>{words}</p>
            {children.map(|act| act())}
        </div>
    }
}
