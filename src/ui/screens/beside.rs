//! Two pages side by side where there is room: a list, and what was picked from it.

use crate::book::Id;
use crate::ui::app::use_app;
use crate::ui::memo::memo;
use crate::ui::page::Drawn;
use crate::ui::pages;
use crate::ui::parts::{Empty, Shape};
use crate::view::page::Page;
use crate::view::route::Route;
use crate::view::{findings, words};
use leptos::prelude::*;

/// From this width on, list and detail stand side by side; the same as in the style.
const WIDE: &str = "(min-width: 56.25rem)";

/// The results of the visit, and the test that is picked in full: beside the list where there is room, in its place on a phone. The list
/// stays, so that one comes back to where one was.
#[component]
pub(in crate::ui) fn results() -> impl IntoView {
    let app = use_app();
    let wide = wide();
    let picked = memo(move || match app.place.get() {
        Route::Finding(test) => Some(test),
        _ => None,
    });
    // Beside the list a test has its own scroll, and the list keeps its place.
    Effect::new(move |_| {
        if picked.get().is_some() && !wide.get_untracked() {
            request_animation_frame(|| window().scroll_to_with_x_and_y(0.0, 0.0));
        }
    });
    let visit = memo(move || app.visit.with(Option::is_some));
    let page = pages::findings(app);
    view! {
        <div class="sides" class:one=move || picked.get().is_some()>
            <Drawn page />
            {move || match picked.get() {
                Some(test) => {
                    let page = pages::finding(app, test);
                    view! { <Drawn page beside=wide.get() /> }.into_any()
                }
                None if wide.get() && visit.get() => view! {
                    <section class="page" aria-label=findings::PICK.0>
                        <Empty shape=Shape::Findings title=findings::PICK.0 words=findings::PICK.1 />
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

/// The Register place.
#[component]
pub(in crate::ui) fn register() -> impl IntoView {
    let app = use_app();
    let page = pages::devices(app);
    view! {
        <div class="sides">
            <Drawn page />
            <div class="page beside">
                <Empty shape=Shape::Register title=words::CHOOSE_ONE words=words::CHOOSE_ONE_WORDS />
            </div>
        </div>
    }
}

/// Something about one thing of the register, with the list beside it where there is room.
#[component]
pub(in crate::ui) fn beside_register(children: Children) -> impl IntoView {
    let app = use_app();
    let wide = wide();
    // Where it is not shown it is not made either: it follows every key that is typed beside it.
    let list = move || wide.get().then(|| view! { <Drawn page=pages::devices(app) beside=true aside=true /> });
    view! {
        <div class="sides">
            <div class="beside">{list}</div>
            {children()}
        </div>
    }
}

/// A page about something of the register.
#[component]
pub(in crate::ui) fn one_of_register(page: Memo<Page>) -> impl IntoView {
    view! { <BesideRegister><Drawn page /></BesideRegister> }
}

/// The heater profiles of a heater.
#[component]
pub(in crate::ui) fn profile(heater: Id) -> impl IntoView {
    let page = pages::profile(use_app(), heater);
    view! { <BesideRegister><Drawn page /></BesideRegister> }
}
