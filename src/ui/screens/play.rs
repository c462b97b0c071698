//! A finished test, played again at many times its speed, on what the Test screen is drawn with. Nothing on it records anything.

use super::test::{chips, spans, ticks};
use crate::book::Id;
use crate::book::test::Test;
use crate::ui::app::{App, use_app};
use crate::ui::memo::memo;
use crate::ui::parts::heat::Heated;
use crate::ui::parts::{Clock, ClockState, Empty, Key, Look, Shape, Show, Tally, Track};
use crate::ui::screens::{AlarmNotOurs, StillOff};
use crate::ui::shell::Troubles;
use crate::units::TestTime;
use crate::view::play::{DRAWN_MS, Playback, Played, heading};
use crate::view::route::Route;
use crate::view::test::{Mood, TestScreen};
use crate::view::words;
use leptos::prelude::*;
use std::time::Duration;

/// The player of one test, once its visit has been read.
#[component]
pub(in crate::ui) fn play(test: Id) -> impl IntoView {
    let app = use_app();
    // Nothing is said of a test while visits are still being read.
    let found = memo(move || {
        let whole = app.all_here.get();
        let ended = app.book.with_untracked(|book| Test::of(book, test).is_some_and(|test| test.ended.is_some()));
        (ended || whole).then_some(ended)
    });
    move || {
        let (title, why) = match found.get() {
            Some(true) => return view! { <Player test /> }.into_any(),
            Some(false) => heading::UNKNOWN,
            None => (words::STILL_READING, ""),
        };
        view! {
            <main class="page">
                <Empty shape=Shape::Test title=title words=why alone=true>
                    <Key label=words::BACK look=Look::Primary on_press=move |()| app.go(Route::Findings) testid="back" />
                </Empty>
            </main>
        }
        .into_any()
    }
}

/// Someone who asked for less motion goes from mark to mark.
fn still() -> bool {
    window().match_media("(prefers-reduced-motion: reduce)").ok().flatten().is_some_and(|query| query.matches())
}

fn playback(app: App, test: Id) -> StoredValue<Option<Playback>> {
    StoredValue::new(
        app.book.with_untracked(|book| app.register.with_untracked(|register| Playback::of(book, register, test))),
    )
}

fn asked<T>(playback: StoredValue<Option<Playback>>, ask: impl FnOnce(&Playback) -> T) -> Option<T> {
    playback.with_value(|playback| playback.as_ref().map(ask))
}

#[component]
fn player(test: Id) -> impl IntoView {
    let app = use_app();
    let playback = playback(app, test);
    let (tag, invented) = asked(playback, |of| (of.tag.clone(), of.invented)).unwrap_or_default();
    let (at, runs) = (RwSignal::new(TestTime::HEAT_ON), RwSignal::new(!still()));
    let played = memo(move || {
        let (at, unit, mut played) = (at.get(), app.unit(), None);
        playback.update_value(|playback| played = playback.as_mut().and_then(|playback| playback.at(at, unit)));
        played
    });
    let step = Duration::from_millis(DRAWN_MS);
    let on = move || {
        let next = asked(playback, |of| of.tick(at.get_untracked()));
        if let Some(next) = next.filter(|_| runs.get_untracked()) {
            at.set(next);
            runs.set(asked(playback, |of| of.is_over(next)) == Some(false));
        }
    };
    if let Ok(ticking) = set_interval_with_handle(on, step) {
        on_cleanup(move || ticking.clear());
    }
    let over = memo(move || asked(playback, |of| of.is_over(at.get())).unwrap_or(true));
    let press = move |()| match (over.get_untracked(), runs.get_untracked()) {
        (true, _) => {
            at.set(TestTime::HEAT_ON);
            runs.set(!still());
        }
        (false, runs_now) => runs.set(!runs_now),
    };
    let next = move |()| {
        runs.set(false);
        let now = at.get_untracked();
        at.set(asked(playback, |of| of.next(now)).unwrap_or(now));
    };
    let of = move |field: fn(&TestScreen) -> String| {
        Signal::derive(move || played.with(|played| played.as_ref().map(|of| field(&of.screen)).unwrap_or_default()))
    };
    let under = move || {
        let line = of(|screen| screen.under.clone()).get();
        if invented { words::demo(&line) } else { line }
    };
    let state = Signal::derive(move || {
        played.with(|played| match played {
            Some(Played { screen, .. }) if screen.over || screen.mood == Mood::Alarm => ClockState::Over,
            Some(Played { screen, .. }) if screen.soon => ClockState::Soon,
            _ => ClockState::Left,
        })
    });
    let bands =
        Signal::derive(move || played.with(|played| played.as_ref().map(|of| spans(&of.screen)).unwrap_or_default()));
    let trips =
        Signal::derive(move || played.with(|played| played.as_ref().map(|of| ticks(&of.screen)).unwrap_or_default()));
    let now = Signal::derive(move || at.get());
    let traced = memo(move || played.with(|played| played.as_ref().is_some_and(|of| of.screen.trace.is_some())));
    let heat = Signal::derive(move || {
        played.with(|played| played.as_ref().and_then(|of| of.screen.trace.clone()).unwrap_or_default())
    });
    let several = memo(move || played.with(|played| played.as_ref().is_some_and(|of| of.screen.wanted > 1)));
    let counted =
        Signal::derive(move || played.with(|played| played.as_ref().map(|of| chips(&of.screen)).unwrap_or_default()));
    let recorded =
        memo(move || played.with(|played| played.as_ref().map(|of| of.recorded.clone()).unwrap_or_default()));
    let press_words = memo(move || match (over.get(), runs.get()) {
        (true, _) => heading::AGAIN,
        (false, true) => heading::PAUSE,
        (false, false) => heading::GO_ON,
    });
    view! {
        <main class="stage" data-testid="play">
            <div class="stage-read">
                <header class="stage-head">
                    <Key label=words::BACK look=Look::Plain icon=Shape::Back bare=true on_press=move |()| app.go(Route::Finding(test)) testid="back" />
                    <h1 tabindex="-1">{tag} <small>{under}</small></h1>
                    <AlarmNotOurs bare=true />
                </header>
                <StillOff bare=true />
                <Troubles />
                <Clock
                    time=of(|screen| screen.clock.clone())
                    words=of(|screen| screen.heading.clone())
                    then=of(|screen| screen.advice.clone())
                    state
                    testid="clock"
                >
                    <span class="live" data-testid="live">
                        <b>{of(|screen| screen.live.0.clone())}</b>
                        <span class="soft">{of(|screen| screen.live.1.clone())}</span>
                    </span>
                </Clock>
                <div class="stage-line">
                    {move || if traced.get() {
                        view! { <Heated heat spans=bands ticks=trips now /> }.into_any()
                    } else {
                        view! { <Track label=heading::ONLY_PLAYED spans=bands ticks=trips now /> }.into_any()
                    }}
                    <Show when=move || several.get()>
                        <Tally label=words::TRIPS chips=counted on_pick=move |_| () />
                    </Show>
                </div>
            </div>
            <div class="stage-hand">
                <p class="played-words">{heading::ONLY_PLAYED}</p>
                <div class="played" tabindex="0" role="group" aria-label=heading::RECORDED>
                    <ol data-testid="played">
                        {move || recorded.get().into_iter().map(|line| view! { <li>{line}</li> }).collect_view()}
                    </ol>
                </div>
                <div class="keys">
                    {move || view! { <Key label=press_words.get() look=Look::Primary on_press=press testid="play-pause" /> }}
                    {move || if over.get() {
                        view! { <Key label=heading::RESULT on_press=move |()| app.go(Route::Finding(test)) testid="play-result" /> }.into_any()
                    } else {
                        view! { <Key label=heading::NEXT on_press=next testid="play-next" /> }.into_any()
                    }}
                </div>
            </div>
        </main>
    }
}
