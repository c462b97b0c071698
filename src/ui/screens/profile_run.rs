//! A profile run: the questions before it, then one big key for each reading.

mod before;

pub(in crate::ui) use before::ProfileRunBefore;

use super::test::{AskSleep, TimeNotes, mark_state, said};
use crate::book::Id;
use crate::book::body::What;
use crate::book::command::Command;
use crate::book::entry::Hash;
use crate::browser::clock::{self, Now};
use crate::encoding::stored;
use crate::ui::app::{App, use_app};
use crate::ui::cue_player::use_cueing;
use crate::ui::memo::memo;
use crate::ui::parts::{Clock, ClockState, Digits, Key, Look, Mark, Section, Shape, Sheet, Show, Steps, Undo};
use crate::ui::screens::{AlarmNotOurs, StillOff};
use crate::ui::shell::{Offered, Refusal, Troubles};
use crate::units::Reading;
use crate::view::page::svg;
use crate::view::profile_run::ProfileRunScreen;
use crate::view::route::Route;
use crate::view::test::LastMark;
use crate::view::{locale, words};
use leptos::prelude::*;

/// The profile run of `heater` that goes on.
#[component]
pub(in crate::ui) fn profile_run(heater: Id) -> impl IntoView {
    let app = use_app();
    // The last one stays on screen while the place changes.
    let screen = Memo::new(move |before: Option<&ProfileRunScreen>| {
        app.profile_run_screen(heater).or_else(|| before.cloned()).unwrap_or_default()
    });
    let get = move |field: fn(&ProfileRunScreen) -> String| Signal::derive(move || screen.with(field));
    let read_at: RwSignal<Option<Now>> = RwSignal::new(None);
    let more = RwSignal::new(false);
    let under = move || {
        let line = screen.with(|screen| screen.under.clone());
        if app.is_demo() { words::demo(&line) } else { line }
    };
    let gap = memo(move || screen.with(|screen| screen.ask_sleep));
    let plot = memo(move || screen.with(|screen| screen.plot.clone()));
    let undo = move |()| {
        if let Some(LastMark { entry, name, .. }) = screen.with_untracked(|screen| screen.last.clone()) {
            app.undo(entry, name);
        }
    };
    let state = Signal::derive(move || match screen.with(|screen| screen.due) {
        true => ClockState::Soon,
        false => ClockState::Left,
    });
    view! {
        <main class="stage" data-testid="profile-run">
            <div class="stage-read">
                <header class="stage-head">
                    <Key label=words::BACK look=Look::Plain icon=Shape::Back bare=true on_press=move |()| app.go(Route::Profile(heater)) testid="back" />
                    <h1>{get(|s| s.heater.clone())} <small>{under}</small></h1>
                    <AlarmNotOurs bare=true />
                    <Key label=words::MORE look=Look::Plain icon=Shape::More bare=true on_press=move |()| more.set(true) testid="more" />
                </header>
                <StillOff bare=true />
                <Troubles />
                <Offered />
                <AskSleep gap />
                <Clock
                    time=get(|s| s.clock.clone())
                    words=get(|s| s.heading.clone())
                    then=get(|s| s.advice.clone())
                    state
                    testid="clock"
                />
                <div class="stage-line">
                    {move || plot.get().map(|plot| view! { <div inner_html=svg::curve(&plot, true)></div> })}
                </div>
                <Undo
                    words=Signal::derive(move || screen.with(|s| said(app, s.last.as_ref())))
                    shape=Signal::derive(move || mark_state(app).1)
                    act=words::UNDO
                    on_undo=undo
                />
            </div>
            {move || match read_at.get() {
                Some(at) => view! { <Reading screen at read_at /> }.into_any(),
                None => view! { <Hand screen heater read_at /> }.into_any(),
            }}
            <More screen heater open=more />
        </main>
    }
}

/// The digits of one reading. It counts from the press that asked for it, however long the dialling takes.
#[component]
fn reading(screen: Memo<ProfileRunScreen>, at: Now, read_at: RwSignal<Option<Now>>) -> impl IntoView {
    let app = use_app();
    let (of, step, below) = screen.with_untracked(|screen| (screen.id, screen.step, screen.below_zero));
    let Some(step) = step else { return ().into_any() };
    let decimals = usize::try_from(-step.scale).unwrap_or(0);
    let done = move |value: i32| {
        let reading = Reading { value: value.into(), scale: step.scale.min(0), unit: step.unit };
        // A refusal is shown above, and the keys stay.
        if app.act(at, Command::Read { of, reading, trip: None }).is_ok() {
            read_at.set(None);
        }
    };
    let digits = move |minus: Option<&'static str>| {
        let words = (words::ERASE, words::OK);
        let label = words::DIAL_READING;
        match minus {
            Some(minus) => view! {
                <Digits label unit=step.unit.symbol() max=3 + decimals decimals point=locale::point() words minus on_done=done />
            }
            .into_any(),
            None => view! {
                <Digits label unit=step.unit.symbol() max=3 + decimals decimals point=locale::point() words on_done=done />
            }
            .into_any(),
        }
    };
    view! {
        <div class="stage-digits" data-testid="reading">
            {digits(below.then_some(words::BELOW_ZERO))}
            <Key label=words::NOT_SEEN on_press=move |()| read_at.set(None) testid="no-reading" />
        </div>
    }
    .into_any()
}

/// The big key and the marks.
#[component]
fn hand(screen: Memo<ProfileRunScreen>, heater: Id, read_at: RwSignal<Option<Now>>) -> impl IntoView {
    let app = use_app();
    let cueing = use_cueing();
    let marks = memo(move || screen.with(|screen| screen.marks.clone()));
    let may_end = memo(move || screen.with(|screen| screen.may_end));
    let press = move |at: f64| {
        cueing.wake();
        read_at.set(Some(clock::at_time_stamp(at)));
    };
    let key = move |what: What| {
        let of = screen.with_untracked(|screen| screen.id);
        let mark = move |()| app.give(clock::now(), Command::Mark { of, what });
        view! { <Key label=words::what(what) on_press=mark testid=format!("mark-{}", stored::name(&what)) /> }
    };
    view! {
        <div class="stage-hand">
            <div class="hand-asks"><Refusal /></div>
            <Mark
                label=words::READ_NOW
                sub=Signal::derive(move || screen.with(|s| s.hint.clone()))
                state=Signal::derive(move || mark_state(app).0)
                on_press=Callback::new(press)
            />
            <div class="keys">
                {move || marks.get().into_iter().map(key).collect_view()}
                <Show when=move || may_end.get()>
                    <Key label=words::END_USABLE look=Look::Primary on_press=move |()| end(app, screen, heater, true) testid="end-usable" />
                </Show>
                <Show when=move || marks.with(Vec::is_empty)>
                    <Key label=words::END_NOT_USABLE on_press=move |()| end(app, screen, heater, false) testid="end-not-usable" />
                </Show>
            </div>
        </div>
    }
}

fn end(app: App, screen: Memo<ProfileRunScreen>, heater: Id, usable: bool) {
    let run = screen.with_untracked(|screen| screen.id);
    if app.act(clock::now(), Command::EndProfileRun { run, usable }).is_ok() {
        app.go(Route::Profile(heater));
    }
}

/// The sheet behind a profile run: move the last mark, notes on its time, end it.
#[component]
fn more(screen: Memo<ProfileRunScreen>, heater: Id, open: RwSignal<bool>) -> impl IntoView {
    let app = use_app();
    let notes = memo(move || screen.with(|s| s.clock_notes.clone()));
    let moves = memo(move || screen.with(|s| s.moves.clone()));
    let step = move |by: i32| {
        if let Some((mark, ..)) = moves.get_untracked() {
            app.give(clock::now(), Command::Move { mark, by_ms: i64::from(by) * 1_000 });
        }
    };
    let of = move |field: fn(&(Hash, &'static str, String)) -> String| {
        Signal::derive(move || moves.with(|moves| moves.as_ref().map(field).unwrap_or_default()))
    };
    view! {
        <Sheet title=words::THIS_PROFILE_RUN open close=words::CLOSE on_close=move |()| open.set(false) testid="details">
            <Section title=words::MOVE_LAST>
                <div class="section-body">
                    <Steps label=of(|(_, what, _)| (*what).to_string()) value=of(|(.., at)| at.clone()) down=words::EARLIER up=words::LATER on_step=step />
                </div>
            </Section>
            <TimeNotes notes />
            <Section title=words::END_HOW>
                <div class="section-body"><p>{words::END_WORDS}</p></div>
                <div class="keys">
                    <Key label=words::END_NOT_USABLE look=Look::Danger wide=true on_press=move |()| end(app, screen, heater, false) testid="stop-profile-run" />
                </div>
            </Section>
        </Sheet>
    }
}
