//! What stands around every screen: the bar, the banners, the screen itself.

use super::app::{App, Stage, use_app};
use super::cue_player::use_cueing;
use super::later::{Screen, draw};
use super::page::Drawn;
use super::pages;
use super::parts::{Banner, Bar, BarKey, Key, Look, Notice, Says, Shape, Show};
use super::photos::Photos;
use super::screens::{self, AlarmNotOurs, StillOff};
use super::transfer::Transfers;
use crate::browser::update::{self, Answer};
use crate::session::Session;
use crate::ui::memo::memo;
use crate::view::cues::CueKind;
use crate::view::photos;
use crate::view::prefs::Theme;
use crate::view::route::{Route, Tab};
use crate::view::words;
use leptos::prelude::*;
use leptos::task::spawn_local;

/// The whole page.
#[component]
pub(super) fn frame() -> impl IntoView {
    let app = use_app();
    follow_theme(app);
    sound_failures(app);
    Effect::new(move |_| {
        if app.stage.get() != Stage::Starting
            && let Some(starting) = document().get_element_by_id("starting")
        {
            starting.remove();
        }
    });
    view! {
        {move || match app.stage.get() {
            // The page's own "Starting" still stands: drawing another one would only take time.
            Stage::Starting => ().into_any(),
            Stage::OtherTab => view! {
                <main class="page">
                    <h1 class="section-body">{words::OTHER_TAB_TITLE}</h1>
                    <Notice says=Says::Warning word=words::OTHER_TAB_WORD words=words::OTHER_TAB testid="other-tab" />
                </main>
            }
            .into_any(),
            Stage::OldRecords => draw(app, Screen::OldRecords),
            Stage::Ready => view! { <Ready /> }.into_any(),
        }}
    }
}

#[component]
fn ready() -> impl IntoView {
    let app = use_app();
    let alone = memo(move || (app.shows_test(), app.shows_profile_run()));
    let played = memo(move || match app.place.get() {
        Route::Play(test) => Some(test),
        _ => None,
    });
    let tab = memo(move || app.place.get().tab());
    move || match alone.get() {
        _ if played.get().is_some() => played.get().map(|test| draw(app, Screen::Play(test))).into_any(),
        (true, _) => view! { <screens::Test /> }.into_any(),
        (false, Some(heater)) => draw(app, Screen::ProfileRun(heater)),
        (false, None) => view! { <Places tab /> }.into_any(),
    }
}

#[component]
fn places(tab: Memo<Tab>) -> impl IntoView {
    let app = use_app();
    let running = memo(move || {
        app.visit
            .with(|visit| visit.as_ref().map_or(0, |visit| u32::try_from(visit.active().count()).unwrap_or(u32::MAX)))
    });
    let shown = memo(move || match app.place.get() {
        // One screen, which knows what is picked.
        Route::Finding(_) => Route::Findings,
        place => place,
    });
    let key = move |of: Tab| {
        let shape = match of {
            Tab::Visit => Shape::Visit,
            Tab::Test => Shape::Test,
            Tab::Findings => Shape::Findings,
            Tab::Register => Shape::Register,
            Tab::Handover => Shape::Handover,
        };
        let count = Signal::derive(move || if of == Tab::Test { running.get() } else { 0 });
        view! {
            <BarKey
                shape
                label=of.words()
                current=Signal::derive(move || tab.get() == of)
                on_press=move |()| app.go(of.place())
                count
                counted=words::TESTS_GO_ON
                testid=format!("tab-{}", of.name())
            />
        }
    };
    view! {
        <div id="paper"></div>
        <div class="app">
            {draw(app, Screen::Files)}
            <Bar label=words::PLACES>{Tab::ALL.map(key).collect_view()}</Bar>
            <main>
                <Banners />
                {move || screen(app, shown.get())}
                <Refusal />
            </main>
        </div>
    }
}

fn screen(app: App, place: Route) -> AnyView {
    match place {
        Route::Visit => view! { <Drawn page=pages::visit(app) /> }.into_any(),
        Route::Before(position) => view! { <screens::Before position /> }.into_any(),
        Route::Test(_) => view! { <screens::NoTest /> }.into_any(),
        place => draw(app, Screen::Place(place)),
    }
}

/// What holds for every screen.
#[component]
pub(super) fn banners() -> impl IntoView {
    let app = use_app();
    let demo = memo(move || app.is_demo());
    let loading = expect_context::<Transfers>().demo;
    let loading_words = Signal::derive(move || words::loading_demo(loading.get().unwrap_or_default()));
    let camera = expect_context::<Photos>();
    let waits = RwSignal::new(false);
    let busy = RwSignal::new(false);
    let updates = StoredValue::new_local(std::rc::Rc::new(update::watch(move || waits.set(true))));
    let take = move |()| {
        spawn_local(async move {
            let Some(updates) = updates.try_get_value() else { return };
            if updates.ask().await == Answer::Busy {
                busy.set(true);
            }
        });
    };
    let to_profile_run = move |()| {
        if let Some(heater) = app.profiling.get_untracked() {
            app.go(Route::ProfileRun(heater));
        }
    };
    let update_words =
        Signal::derive(move || if busy.get() { words::UPDATE_BUSY } else { words::UPDATE_WAITS }.to_string());
    view! {
        <Show when=move || demo.get()>
            <Banner words=words::DEMO shape=Shape::Info testid="demo-banner" />
        </Show>
        <Show when=move || loading.with(Option::is_some)>
            <Banner words=loading_words shape=Shape::Wait testid="demo-loading" />
        </Show>
        <Show when=move || app.profiling.with(Option::is_some)>
            <Banner words=words::PROFILE_RUN_GOES_ON shape=Shape::Test act=words::TO_PROFILE_RUN on_act=Callback::new(to_profile_run) testid="profile-run-goes-on" />
        </Show>
        <Show when=move || camera.working.get()>
            <Banner words=photos::WORKING shape=Shape::Camera testid="photo-working" />
        </Show>
        <Show when=move || waits.get()>
            <Banner words=update_words act=words::UPDATE on_act=Callback::new(take) testid="update" />
        </Show>
        <StillOff />
        <AlarmNotOurs />
        <Offered />
        <Troubles />
    }
}

/// Failed writes and other troubles, shown until they are gone.
#[component]
pub(super) fn troubles() -> impl IntoView {
    let app = use_app();
    let told = |says: Says, word: &'static str, of: ReadSignal<Option<String>>, testid: &'static str| {
        view! {
            <Show when=move || of.with(Option::is_some)>
                <Notice says word words=Signal::derive(move || of.get().unwrap_or_default()) testid />
            </Show>
        }
    };
    view! {
        {told(Says::Done, words::SAVED_WORD, app.saved, "saved")}
        {told(Says::Alarm, words::NOT_RECORDED, app.failed, "not-recorded")}
        {told(Says::Warning, words::TROUBLE, app.trouble, "trouble")}
    }
}

/// The last refusal, where the finger is: it takes the focus, so that it is read out, and says where it can be put right.
#[component]
pub(super) fn refusal() -> impl IntoView {
    let app = use_app();
    let here = NodeRef::<leptos::html::Div>::new();
    Effect::new(move |_| {
        if app.refused.with(Option::is_some)
            && let Some(here) = here.get()
        {
            request_animation_frame(move || {
                here.scroll_into_view_with_bool(false);
                // What is already gone takes no focus.
                drop(here.focus());
            });
        }
    });
    let remedy = move || {
        app.refused.with(|refused| refused.as_ref().and_then(|(_, refused)| refused.remedy)).map(|(label, place)| {
            view! { <Key label look=Look::Primary on_press=move |()| app.go(place) testid="remedy" /> }
        })
    };
    view! {
        <Show when=move || app.refused.with(Option::is_some)>
            <div class="refusal" tabindex="-1" node_ref=here>
                <Notice
                    says=Says::Warning
                    word=words::REFUSED
                    words=Signal::derive(move || app.refused.with(|refused| refused.as_ref().map(|(_, refused)| refused.words.clone()).unwrap_or_default()))
                    testid="refused"
                >
                    <div class="keys">
                        {remedy}
                        <Key label=words::OK on_press=move |()| app.change(Session::seen_refusal) testid="refused-ok" />
                    </div>
                </Notice>
            </div>
        </Show>
    }
}

/// What was just done and can be taken back for some seconds, wherever one has gone since.
#[component]
pub(super) fn offered() -> impl IntoView {
    let app = use_app();
    let words = Signal::derive(move || {
        app.offer.with(|offer| offer.as_ref().map(|o| words::offered(&o.name, o.was_undo)).unwrap_or_default())
    });
    // The result of a test has its own undo of the end.
    let there = move || app.place.with(|place| matches!(place, Route::Finding(_)));
    let act = memo(move || {
        app.offer.with(|offer| match offer {
            Some(offer) if offer.was_undo => Some(words::PUT_IT_BACK),
            Some(_) if !there() => Some(words::UNDO),
            _ => None,
        })
    });
    view! {
        {move || act.get().map(|act| view! {
            <Banner words shape=Shape::Undo act on_act=Callback::new(move |()| app.take_back()) testid="offer" />
        })}
    }
}

fn follow_theme(app: App) {
    Effect::new(move |_| {
        let theme = app.prefs.with(|prefs| prefs.theme);
        let Some(root) = document().document_element() else { return };
        // Neither call fails on an element with a valid name.
        drop(match theme {
            Theme::Phone => root.remove_attribute("data-theme"),
            Theme::Light => root.set_attribute("data-theme", "light"),
            Theme::Dark => root.set_attribute("data-theme", "dark"),
        });
    });
}

/// A failed write is heard, too: the eyes are on the detector.
fn sound_failures(app: App) {
    let cueing = use_cueing();
    Effect::new(move |before: Option<usize>| {
        let failing = app.unrecorded.with(|unrecorded| unrecorded.values().filter(|why| why.is_some()).count());
        if failing > before.unwrap_or(0) {
            cueing.play(CueKind::NotRecorded, "Soakbook");
        }
        failing
    });
}
