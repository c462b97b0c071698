//! A sentence that matters, with its sign in the margin and its weight in a word.

use super::{Icon, Says, Shape};
use leptos::prelude::*;

/// A notice: shape, word, sentence, and keys below it where there is something to do.
#[component]
pub fn notice(
    /// Its weight.
    #[prop(optional)]
    says: Says,
    /// The word that carries the weight: "Warning", "Not recorded yet".
    #[prop(into)]
    word: String,
    /// The sentence: what it is and what to do.
    #[prop(into)]
    words: Signal<String>,
    /// Keys below the sentence.
    #[prop(optional)]
    children: Option<Children>,
    /// The name by which a test finds it.
    #[prop(optional, into)]
    testid: Option<String>,
) -> impl IntoView {
    let (class, shape, role) = match says {
        Says::Info => ("notice note", Shape::Info, "status"),
        Says::Warning => ("notice warn", Shape::Warning, "status"),
        Says::Alarm => ("notice alarm", Shape::Alarm, "alert"),
        Says::Done => ("notice good", Shape::Done, "status"),
    };
    view! {
        <div class=class role=role data-testid=testid>
            <Icon of=shape />
            <div class="notice-body">
                <span class="notice-word">{word}</span>
                <p>{words}</p>
                {children.map(|keys| keys())}
            </div>
        </div>
    }
}
