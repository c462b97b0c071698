//! A part of a page that is folded until somebody wants it.

use super::{Icon, Shape};
use leptos::prelude::*;

/// A heading that opens to what stands below it.
#[component]
pub fn fold(
    /// The heading.
    #[prop(into)]
    title: Signal<String>,
    /// Opens it, such as for an error inside; the user opens and closes it otherwise.
    #[prop(optional, into)]
    open: Signal<bool>,
    /// What is inside.
    children: Children,
    /// The name by which a test finds it.
    #[prop(optional, into)]
    testid: Option<String>,
) -> impl IntoView {
    view! {
        <details class="fold" prop:open=open>
            <summary data-testid=testid>
                <Icon of=Shape::Next />
                <h2>{title}</h2>
            </summary>
            {children()}
        </details>
    }
}
