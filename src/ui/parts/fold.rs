//! A part of a page that is folded until somebody wants it.

use super::{Icon, Shape};
use leptos::{html, prelude::*};

/// A heading that opens to what stands below it. That is drawn when it is first opened.
#[component]
pub fn fold(
    /// The heading.
    #[prop(into)]
    title: Signal<String>,
    /// Opens it, such as for an error inside; the user opens and closes it otherwise.
    #[prop(optional, into)]
    open: Signal<bool>,
    /// Draws the inside before it is opened, as for fields that are looked for in it.
    #[prop(optional)]
    at_once: bool,
    /// What is inside.
    children: Children,
    /// The name by which a test finds it.
    #[prop(optional, into)]
    testid: Option<String>,
) -> impl IntoView {
    let fold = NodeRef::<html::Details>::new();
    let (drawn, inside) = (RwSignal::new(at_once), StoredValue::new_local(Some(children)));
    let draw = move || {
        if !drawn.get_untracked() {
            drawn.set(true);
        }
    };
    // Only ever opened from here: what changes inside must not fold it away under the hand that types.
    Effect::new(move || {
        if let (Some(fold), true) = (fold.get(), open.get()) {
            draw();
            fold.set_open(true);
        }
    });
    view! {
        // The click comes before it opens; a search in the page opens it without one.
        <details class="fold" node_ref=fold on:toggle=move |_| if fold.get_untracked().is_some_and(|fold| fold.open()) { draw() }>
            <summary data-testid=testid on:click=move |_| draw()>
                <Icon of=Shape::Next />
                <h2>{title}</h2>
            </summary>
            {move || drawn.get().then(|| inside.try_update_value(Option::take).flatten().map(|inside| inside()))}
        </details>
    }
}
