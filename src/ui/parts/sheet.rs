//! A sheet that comes up from below and holds the focus until it is closed. The browser's own dialog keeps the focus inside,
//! takes Escape and the back gesture, and gives the focus back afterwards.

use super::{Key, Look, Shape, Show};
use leptos::{ev, html, prelude::*};

/// A sheet over the page.
#[component]
pub fn sheet(
    /// Its title; takes the focus when the sheet opens, so that a stray Enter presses nothing.
    #[prop(into)]
    title: Signal<String>,
    /// Whether it is open.
    #[prop(into)]
    open: Signal<bool>,
    /// The word on the key that closes it.
    #[prop(into)]
    close: &'static str,
    /// Called when it is to be closed: by the key, Escape or the back gesture.
    #[prop(into)]
    on_close: Callback<()>,
    /// What is on it; made anew each time it opens.
    children: ChildrenFn,
    /// The name by which a test finds it.
    #[prop(optional, into)]
    testid: Option<String>,
) -> impl IntoView {
    let dialog = NodeRef::<html::Dialog>::new();
    Effect::new(move || {
        let Some(dialog) = dialog.get() else { return };
        match (open.get(), dialog.open()) {
            // Refused only when the dialog has left the page, and then there is nothing to show.
            (true, false) => drop(dialog.show_modal()),
            (false, true) => dialog.close(),
            _ => {}
        }
    });
    view! {
        <dialog
            class="sheet"
            node_ref=dialog
            aria-label=title
            data-testid=testid
            on:cancel=move |ev: ev::Event| {
                ev.prevent_default();
                on_close.run(());
            }
        >
            <Show when=move || open.get()>
                <div class="sheet-head">
                    <h2 tabindex="-1" autofocus=true>{title}</h2>
                    <Key label=close on_press=on_close look=Look::Plain icon=Shape::Close bare=true testid="close" />
                </div>
                {children()}
            </Show>
        </dialog>
    }
}
