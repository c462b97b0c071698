//! A state in a shape and a word; the colour only agrees with them.

use super::{Icon, Shape, Tone};
use leptos::prelude::*;

impl Tone {
    /// The class that carries the colour.
    pub const fn class(self) -> &'static str {
        match self {
            Self::Plain => "",
            Self::Good => "good",
            Self::Bad => "bad",
            Self::Warn => "warn",
            Self::Note => "note",
        }
    }
}

/// A state by shape and word.
#[component]
pub fn badge(
    /// The shape.
    shape: Shape,
    /// The word.
    #[prop(into)]
    word: String,
    /// The colour.
    #[prop(optional)]
    tone: Tone,
    /// The name by which a test finds it.
    #[prop(optional, into)]
    testid: Option<String>,
) -> impl IntoView {
    view! {
        <span class=format!("badge {}", tone.class()) data-testid=testid>
            <Icon of=shape />
            <span>{word}</span>
        </span>
    }
}
