//! Settles which of several versions holds.

use crate::browser::clock;
use crate::ui::app::use_app;
use crate::ui::parts::{Choice, Key, Look, Notice, Says};
use crate::view::conflicts::{Clash, settle};
use crate::view::forms::Answer;
use crate::view::route::Form;
use crate::view::words;
use leptos::prelude::*;

/// No thing has more groups of fields than this.
const IDS: [&str; 5] = ["version-1", "version-2", "version-3", "version-4", "version-5"];

/// Every version with the key that makes one hold.
#[component]
pub(super) fn settle_form(thing: Form, clashes: Vec<Clash>) -> impl IntoView {
    let app = use_app();
    let picked = RwSignal::new(vec![None::<usize>; clashes.len()]);
    let whole = Signal::derive(move || picked.with(|picked| picked.iter().all(Option::is_some)));
    let hold = move |()| {
        let picks: Vec<usize> = picked.get_untracked().into_iter().flatten().collect();
        let command = app.known(|known| settle(thing, &picks, known));
        if let Some(command) = command {
            // A refusal is shown above the screen by the one that acts.
            app.give(clock::now(), command);
        }
    };
    let choice = move |((at, clash), id): ((usize, Clash), &'static str)| {
        let answers: Vec<Answer> = clash.versions.iter().enumerate().map(|(at, said)| Answer::new(at, said)).collect();
        let value =
            Signal::derive(move || picked.with(|picked| picked[at].map(|at| at.to_string()).unwrap_or_default()));
        let pick = move |text: String| picked.update(|picked| picked[at] = text.parse().ok());
        view! { <Choice id label=clash.fields answers=Signal::stored(answers) value on_pick=pick /> }
    };
    view! {
        <Notice says=Says::Warning word=words::CONFLICT_WORD words=words::CONFLICT_WORDS testid="conflict" />
        {clashes.into_iter().enumerate().zip(IDS).map(choice).collect_view()}
        <div class="keys">
            <Key
                label=words::THIS_HOLDS
                look=Look::Primary
                disabled=Signal::derive(move || !whole.get())
                on_press=hold
                testid="this-holds"
            />
        </div>
    }
}
