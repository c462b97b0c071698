//! The Findings screens: the list of a visit, and one test in full. On a wide screen they stand side by side.

mod list;
mod one;

use crate::ui::app::use_app;
use crate::ui::follow::memo;
use crate::ui::parts::{Empty, Figure, Shape, Tone};
use crate::view::computed::TITLE as COMPUTED;
use crate::view::findings as words;
use crate::view::findings::Sign;
use crate::view::findings::figure::Shown;
use crate::view::place::Place;
use leptos::prelude::*;
use list::List;
use one::One;

/// From this width on, list and detail stand side by side; the same as in the style.
const WIDE: &str = "(min-width: 56.25rem)";

/// The list of the visit, and the test that is picked in full: beside the list where there is room, in its place on a phone. The list
/// stays, so that one comes back to where one was.
#[component]
pub(in crate::ui) fn findings() -> impl IntoView {
    let app = use_app();
    let wide = wide();
    let picked = memo(move || match app.place.get() {
        Place::Finding(test) => Some(test),
        _ => None,
    });
    // Beside the list a test has its own scroll, and the list keeps its place.
    Effect::new(move |_| {
        if picked.get().is_some() && !wide.get_untracked() {
            request_animation_frame(|| window().scroll_to_with_x_and_y(0.0, 0.0));
        }
    });
    let visit = memo(move || app.visit.with(Option::is_some));
    view! {
        <div class="sides" class:one=move || picked.get().is_some()>
            <List picked />
            {move || match picked.get() {
                Some(test) => view! { <One test beside=wide.get() /> }.into_any(),
                None if wide.get() && visit.get() => view! {
                    <section class="page" aria-label=words::PICK.0>
                        <Empty shape=Shape::Findings title=words::PICK.0 words=words::PICK.1 />
                    </section>
                }
                .into_any(),
                None => ().into_any(),
            }}
        </div>
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
pub(super) fn drawn(sign: Sign) -> (Shape, Tone) {
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
