//! A part of a page that is folded until somebody wants it.

use super::{Icon, Shape};
use leptos::{html, prelude::*};

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
    let fold = NodeRef::<html::Details>::new();
    // Only ever opened from here: what changes inside must not fold it away under the hand that types.
    Effect::new(move || {
        if let (Some(fold), true) = (fold.get(), open.get()) {
            fold.set_open(true);
        }
    });
    view! {
        <details class="fold" node_ref=fold>
            <summary data-testid=testid>
                <Icon of=Shape::Next />
                <h2>{title}</h2>
            </summary>
            {children()}
        </details>
    }
}
