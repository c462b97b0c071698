//! A key: every button that is not the mark.

use super::{Icon, Look, Shape};
use leptos::prelude::*;

/// A key with a word, a drawing or both. Without a visible word the label is still read out.
#[component]
pub fn key(
    /// The word on the key.
    #[prop(into)]
    label: String,
    /// Called on each press.
    #[prop(into)]
    on_press: Callback<()>,
    /// How much it asks to be pressed.
    #[prop(optional)]
    look: Look,
    /// A drawing before the word.
    #[prop(optional)]
    icon: Option<Shape>,
    /// Shows the drawing alone.
    #[prop(optional)]
    bare: bool,
    /// Takes the whole width.
    #[prop(optional)]
    wide: bool,
    /// Cannot be pressed now.
    #[prop(optional, into)]
    disabled: Signal<bool>,
    /// The name by which a test finds it.
    #[prop(optional, into)]
    testid: Option<String>,
) -> impl IntoView {
    let class = match look {
        Look::Quiet => "key",
        Look::Primary => "key primary",
        Look::Danger => "key danger",
        Look::Plain => "key plain",
    };
    view! {
        <button type="button" class=class class:wide=wide disabled=disabled data-testid=testid on:click=move |_| on_press.run(())>
            {icon.map(|shape| view! { <Icon of=shape /> })}
            <span class:unseen=bare>{label}</span>
        </button>
    }
}
