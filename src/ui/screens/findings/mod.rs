//! The Findings screens: the list of a round, and one run in full. On a wide screen they stand side by side.

mod list;
mod one;

use crate::book::Id;
use crate::ui::app::use_app;
use crate::ui::parts::{Empty, Figure, Shape, Tone};
use crate::view::computed::TITLE as COMPUTED;
use crate::view::findings as words;
use crate::view::findings::Sign;
use crate::view::findings::figure::Shown;
use leptos::prelude::*;
use list::List;
use one::One;

/// From this width on, list and detail stand side by side; the same as in the style.
const WIDE: &str = "(min-width: 56.25rem)";

/// The list of the round.
#[component]
pub(in crate::ui) fn findings() -> impl IntoView {
    view! { <Sides picked=None /> }
}

/// One run in full.
#[component]
pub(in crate::ui) fn finding(run: Id) -> impl IntoView {
    view! { <Sides picked=Some(run) /> }
}

#[component]
fn sides(picked: Option<Id>) -> impl IntoView {
    let app = use_app();
    let wide = wide();
    move || match (wide.get(), picked) {
        (false, None) => view! { <List picked=None /> }.into_any(),
        (false, Some(run)) => view! { <One run beside=false /> }.into_any(),
        (true, picked) => view! {
            <div class="sides">
                <List picked />
                {match picked {
                    Some(run) => view! { <One run beside=true /> }.into_any(),
                    None if app.round.with(Option::is_some) => view! {
                        <section class="page" aria-label=words::PICK.0>
                            <Empty shape=Shape::Findings title=words::PICK.0 words=words::PICK.1 />
                        </section>
                    }
                    .into_any(),
                    None => ().into_any(),
                }}
            </div>
        }
        .into_any(),
    }
}

fn wide() -> Signal<bool> {
    let query = || window().match_media(WIDE).ok().flatten().is_some_and(|query| query.matches());
    let wide = RwSignal::new(query());
    let resized = window_event_listener(leptos::ev::resize, move |_| {
        if wide.get_untracked() != query() {
            wide.set(query());
        }
    });
    on_cleanup(move || resized.remove());
    wide.into()
}

/// The drawing and the colour that agree with a state.
fn drawn(sign: Sign) -> (Shape, Tone) {
    match sign {
        Sign::Good => (Shape::Done, Tone::Good),
        Sign::GoodHalf => (Shape::Half, Tone::Warn),
        Sign::BadHalf => (Shape::Half, Tone::Bad),
        Sign::Bad => (Shape::Fail, Tone::Bad),
        Sign::Again => (Shape::Again, Tone::Warn),
        Sign::Open => (Shape::Open, Tone::Note),
        Sign::Running => (Shape::Wait, Tone::Plain),
    }
}

/// A figure that opens.
#[component]
pub(super) fn opens(of: Shown, #[prop(into)] testid: String) -> impl IntoView {
    view! {
        <Figure
            label=of.label
            value=of.value
            unit=of.unit
            spread=of.spread
            formula=of.formula
            inputs=of.inputs
            source=of.source
            way=(COMPUTED, of.way)
            testid
        />
    }
}
