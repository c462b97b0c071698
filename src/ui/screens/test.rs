//! The Test screen: one big mark, the time left, the trips so far, undo.

mod details;
mod keys;
mod plates;

use crate::book::Id;
use crate::book::body::What;
use crate::book::command::Command;
use crate::book::test::Test;
use crate::browser::clock;
use crate::browser::cues::Sound;
use crate::browser::wake::Awake;
use crate::encoding::stored;
use crate::trade::detector_type::DetectorType;
use crate::ui::app::{App, use_app};
use crate::ui::cue_player::{Cueing, use_cueing};
use crate::ui::memo::memo;
use crate::ui::parts::heat::Heated;
use crate::ui::parts::{
    Chip, Clock, ClockState, Counts, Digits, Empty, Key, Lane, Lanes, Look, MarkState, Shape, Show, Tally, Track, Undo,
};
use crate::ui::screens::{AlarmNotOurs, StillOff};
use crate::ui::shell::{Offered, Refusal, Troubles};
use crate::units::{Reading, TestTime};
use crate::view::cues::on_mark;
use crate::view::page::drawing::Tick;
use crate::view::route::Route;
use crate::view::test::{Band, Big, LastMark, Mood, TestScreen, last_end};
use crate::view::{locale, words};
pub(super) use details::{AskSleep, TimeNotes};
use details::{Asks, Details};
use leptos::prelude::*;
use plates::{Guard, Order, PanelAsked, Plates};

/// Shown in the place of a test while none goes on.
#[component]
pub(in crate::ui) fn no_test() -> impl IntoView {
    let app = use_app();
    view! {
        <div class="page">
            <Empty shape=Shape::Test title=words::NO_TEST_TITLE words=words::NO_TEST alone=true>
                <Key label=words::TO_THE_VISIT look=Look::Primary on_press=move |()| app.go(Route::Visit) testid="to-visit" />
            </Empty>
        </div>
    }
}

/// The tests that go on, one in front.
#[component]
pub(in crate::ui) fn test() -> impl IntoView {
    let app = use_app();
    let screens = memo(move || app.test_screens());
    let chosen = memo(move || {
        let wanted = match app.place.get() {
            Route::Test(id) => id,
            _ => None,
        };
        screens.with(|screens| {
            let found = wanted.and_then(|id| screens.iter().find(|screen| screen.id == id));
            found
                .or_else(|| screens.iter().find(|screen| screen.needs_hand))
                .or(screens.first())
                .map(|screen| screen.id)
        })
    });
    view! {
        {move || chosen.get().map(|id| view! { <OneTest id screens /> })}
    }
}

#[component]
fn one_test(id: Id, screens: Memo<Vec<TestScreen>>) -> impl IntoView {
    let app = use_app();
    let cueing = use_cueing();
    // The test is there as long as this view is: `test` draws another one when it goes.
    let last = StoredValue::new(screens.with_untracked(|all| all.iter().find(|one| one.id == id).cloned()));
    let screen = memo(move || {
        let found = screens.with(|all| all.iter().find(|one| one.id == id).cloned());
        if found.is_some() {
            last.set_value(found.clone());
        }
        found.or_else(|| last.get_value())
    });
    let get = move |field: fn(&TestScreen) -> String| {
        Signal::derive(move || screen.with(|screen| screen.as_ref().map(field).unwrap_or_default()))
    };
    let details_open = RwSignal::new(false);
    let skipped = RwSignal::new(None);
    let given = RwSignal::new(None);
    let wanted = memo(move || {
        let wanted = screen.with(|screen| screen.as_ref().and_then(|screen| screen.reading));
        given.get().or_else(|| wanted.filter(|wanted| skipped.get() != Some(wanted.trip)))
    });
    let guard = Guard::new(screen);
    let press = Callback::new(move |(order, at): (Order, f64)| press(app, cueing, guard, id, order, at));
    let first = Callback::new(move |at: f64| {
        let order = screen.with_untracked(|screen| screen.as_ref().and_then(|s| s.plates.first().map(Order::of)));
        if let Some(order) = order {
            press.run((order, at));
        }
    });
    keys::any_key_marks(first, details_open.into());
    let state = memo(move || mark_state(app));
    let tracks = Signal::derive(move || screen.with(|s| s.as_ref().map(spans).unwrap_or_default()));
    let trips = Signal::derive(move || screen.with(|s| s.as_ref().map(ticks).unwrap_or_default()));
    let now = Signal::derive(move || screen.with(|s| s.as_ref().map_or(TestTime::HEAT_ON, |s| s.at)));
    let traced = memo(move || screen.with(|s| s.as_ref().is_some_and(|s| s.trace.is_some())));
    let trace = move || screen.with(|s| s.as_ref().and_then(|s| s.trace.clone()).unwrap_or_default());
    let heat = Signal::derive(trace);
    let withdrawn = memo(move || screen.with(|s| s.as_ref().map(|s| s.withdrawn.clone()).unwrap_or_default()));
    let clock_state = Signal::derive(move || {
        screen.with(|screen| match screen {
            Some(screen) if screen.over || screen.mood == Mood::Alarm => ClockState::Over,
            Some(screen) if screen.soon => ClockState::Soon,
            _ => ClockState::Left,
        })
    });
    // Said only while something is amiss: a technician who looks away relies on both.
    let heard = move || {
        let sound = cueing.sound.with(|sound| matches!(sound, Sound::Running));
        let muted = app.prefs.with(|prefs| !prefs.sound);
        let dark = cueing.awake.with(|awake| !matches!(awake, Some(Awake::Held) | None));
        words::heard(sound, muted, dark)
    };
    let tag = move || {
        let tag = screen.with(|screen| screen.as_ref().map(|s| s.tag.clone()).unwrap_or_default());
        if app.is_demo() { words::demo_tag(&tag) } else { tag }
    };
    let at_hand = memo(move || screen.with(|s| s.as_ref().is_some_and(|s| s.marks_at_hand && !s.marks.is_empty())));
    let several = memo(move || screens.with(Vec::len) > 1);
    view! {
        <main class="stage" data-testid="test">
            <div class="stage-read">
                <header class="stage-head">
                    <Key label=words::BACK look=Look::Plain icon=Shape::Back bare=true on_press=move |()| app.go(Route::Visit) testid="back" />
                    <h1>{tag} <small>{get(|s| s.under.clone())}</small></h1>
                    <AlarmNotOurs bare=true />
                    <Key label=words::MORE look=Look::Plain icon=Shape::More bare=true on_press=move |()| details_open.set(true) testid="more" />
                </header>
                <StillOff bare=true />
                <Show when=move || several.get()>
                    <Lanes
                        label=words::TESTS_GO_ON
                        lanes=Signal::derive(move || screens.with(|all| all.iter().map(lane).collect()))
                        current=id.to_string()
                        on_pick=move |id: String| app.go(Route::Test(Id::try_parse(&id).ok()))
                    />
                </Show>
                <Troubles />
                <Offered />
                <Asks id screen dialling=Signal::derive(move || wanted.with(Option::is_some)) />
                <Clock
                    time=get(|s| s.clock.clone())
                    words=get(|s| s.heading.clone())
                    then=get(|s| s.advice.clone())
                    state=clock_state
                    testid="clock"
                >
                    <span class="live" data-testid="live">
                        <b>{get(|s| s.live.0.clone())}</b>
                        <span class="soft">{get(|s| s.live.1.clone())}</span>
                    </span>
                </Clock>
                <p class="stage-line soft" data-testid="heard">{heard}</p>
                <div class="stage-line">
                    {move || if traced.get() {
                        view! { <Heated heat=heat spans=tracks ticks=trips now=now /> }.into_any()
                    } else {
                        view! { <Track label=get(|s| words::trace(&s.tag, s.ticks.len())) spans=tracks ticks=trips now=now /> }.into_any()
                    }}
                    <Show when=move || withdrawn.with(|words| !words.is_empty())>
                        <p class="withdrawn" data-testid="withdrawn">{move || withdrawn.get()}</p>
                    </Show>
                    // Of a functional test one trip is all there is.
                    <Show when=move || screen.with(|s| s.as_ref().is_some_and(|s| s.wanted > 1))>
                        <Tally
                            label=words::TRIPS
                            chips=Signal::derive(move || screen.with(|s| s.as_ref().map(chips).unwrap_or_default()))
                            on_pick=move |_| details_open.set(true)
                        />
                    </Show>
                </div>
                <Undo
                    words=Signal::derive(move || screen.with(|s| said(app, s.as_ref().and_then(|s| s.last.as_ref()))))
                    shape=Signal::derive(move || state.get().1)
                    act=words::UNDO
                    hold=Signal::derive(move || screen.with(|s| hold_words(s.as_ref().and_then(|s| s.last.as_ref()))))
                    on_undo=move |()| undo(app, screen)
                />
            </div>
            {move || match wanted.get() {
                Some(wanted) => {
                    let unit = wanted.step.unit;
                    let decimals = usize::try_from(-wanted.step.scale).unwrap_or(0);
                    let before = screen.with_untracked(|s| s.as_ref().map(|s| words::readings_before(&s.tally)).unwrap_or_default());
                    let done = move |value: i32| {
                        let reading = Reading { value: value.into(), scale: wanted.step.scale.min(0), unit };
                        let command = Command::Read { of: id, reading, trip: Some(wanted.trip) };
                        // A refusal is shown above, and the keys stay.
                        if app.act(clock::now(), command).is_ok() {
                            given.set(None);
                        }
                    };
                    let none = move |()| {
                        given.set(None);
                        skipped.set(Some(wanted.trip));
                    };
                    view! {
                        <div class="stage-digits" data-testid="reading">
                            <p class="digits-title"><b>{words::reading_of(wanted.number)}</b> <span class="soft">{before}</span></p>
                            <Refusal />
                            <Digits
                                label=words::reading_of(wanted.number)
                                unit=unit.symbol()
                                max=3 + decimals
                                decimals
                                point=locale::point()
                                words=(words::ERASE, words::OK)
                                on_done=done
                            />
                            <Key label=words::NO_READING on_press=none testid="no-reading" />
                        </div>
                    }
                    .into_any()
                }
                None => view! {
                    <div class="stage-hand">
                        <div class="hand-asks">
                            <Refusal />
                            <PanelAsked screen />
                        </div>
                        <Plates screen guard press state=Signal::derive(move || state.get().0) />
                        <Show when=move || at_hand.get()>
                            <OtherMarks id screen />
                        </Show>
                    </div>
                }
                .into_any(),
            }}
            <Details id screen open=details_open given />
        </main>
    }
}

/// A plate, by thumb, key or Bluetooth button. It records what the finger saw, or nothing.
fn press(app: App, cueing: Cueing, guard: Guard, id: Id, order: Order, at: f64) {
    cueing.wake();
    if guard.is_dead(at) {
        return;
    }
    let now = clock::at_time_stamp(at);
    let Some((plates, before)) = app.test_now(id, now) else { return };
    // The clock may have gone on since it was drawn.
    if !plates.iter().any(|plate| Order::of(plate) == order) {
        return;
    }
    let command = match order.big {
        Big::Mark(what) => Command::Mark { of: id, what },
        Big::End(how) => Command::End { test: id, how },
        Big::Nothing => return,
    };
    act(app, cueing, id, now, command, before);
}

/// Does what was tapped and lets it be heard when it asks for a hand at once.
pub(super) fn act(
    app: App,
    cueing: Cueing,
    id: Id,
    now: clock::Now,
    command: Command,
    before: crate::book::timeline::Phase,
) {
    if app.act(now, command).is_err() {
        return;
    }
    if went_on(app, id) {
        return;
    }
    if let Some((_, after)) = app.test_now(id, now) {
        let (tag, fragile) = app.visit.with_untracked(|visit| {
            let test = visit.iter().flat_map(|visit| &visit.tests).find(|test| test.id == id);
            test.map(|test| {
                let marking = &test.frozen.detector.marking;
                let fragile = marking.detector_type == DetectorType::CombinationNonrestorable;
                (test.frozen.position.place.name().to_string(), fragile)
            })
            .unwrap_or_default()
        });
        if let Some(kind) = on_mark(before, after, fragile) {
            cueing.play(kind, &tag);
        }
    }
}

/// Goes where an ended test leads, and says that its end can be taken back; false while it is in progress.
pub(super) fn went_on(app: App, id: Id) -> bool {
    let ended = app.book.with_untracked(|book| {
        let test = Test::of(book, id).filter(|test| test.ended.is_some())?;
        Some((last_end(book, &test), test.frozen.procedure.is_set_point()))
    });
    let Some((last, set_point)) = ended else { return false };
    // The next detector is in the list; what was measured is worth a look first.
    let place = match (app.test_screens().is_empty(), set_point) {
        (false, _) => Route::Test(None),
        (true, true) => Route::Finding(id),
        (true, false) => Route::Visit,
    };
    // The result itself says how its end is taken back.
    if let Some(last) = last.filter(|_| !matches!(place, Route::Finding(_))) {
        app.offer_back(last.entry, last.name, false);
    }
    app.go(place);
    true
}

fn undo(app: App, screen: Memo<Option<TestScreen>>) {
    let last = screen.with_untracked(|screen| screen.as_ref().and_then(|screen| screen.last.clone()));
    if let Some(LastMark { entry, name, .. }) = last {
        app.undo(entry, name);
    }
}

/// The word on undo where a tap is not enough.
fn hold_words(last: Option<&LastMark>) -> String {
    last.filter(|last| last.whole_test).map_or_else(String::new, |_| words::HOLD_TO_UNDO.to_string())
}

/// What was last recorded, in words.
pub(super) fn said(app: App, last: Option<&LastMark>) -> String {
    let Some(LastMark { entry: hash, name, .. }) = last else { return words::NOTHING_MARKED.into() };
    let (recorded, failed) = app.unrecorded.with(|unrecorded| {
        let state = unrecorded.get(&hash.to_string());
        (state.is_none(), state.is_some_and(Option::is_some))
    });
    match (recorded, failed) {
        (true, _) => words::recorded(name),
        (false, false) => words::recording(name),
        (false, true) => words::not_recorded(name),
    }
}

/// The state of the big mark, and its shape.
pub(super) fn mark_state(app: App) -> (MarkState, Shape) {
    app.unrecorded.with(|unrecorded| match (unrecorded.is_empty(), unrecorded.values().any(Option::is_some)) {
        (true, _) => (MarkState::Idle, Shape::Done),
        (false, false) => (MarkState::Recording, Shape::Wait),
        (false, true) => (MarkState::Lost, Shape::Alarm),
    })
}

/// The other marks that make sense now.
#[component]
pub(super) fn other_marks(id: Id, screen: Memo<Option<TestScreen>>) -> impl IntoView {
    let app = use_app();
    let cueing = use_cueing();
    let marks = memo(move || screen.with(|screen| screen.as_ref().map(|s| s.marks.clone()).unwrap_or_default()));
    let key = move |what: What| {
        let mark = move |()| {
            cueing.wake();
            let now = clock::now();
            if let Some((_, before)) = app.test_now(id, now) {
                act(app, cueing, id, now, Command::Mark { of: id, what }, before);
            }
        };
        view! { <Key label=words::what(what) on_press=mark testid=format!("mark-{}", stored::name(&what)) /> }
    };
    view! { <div class="keys">{move || marks.get().into_iter().map(key).collect_view()}</div> }
}

pub(super) fn spans(screen: &TestScreen) -> Vec<Band> {
    let mut spans = screen.bands.clone();
    if let Some(last) = spans.last_mut() {
        last.to = last.to.max(screen.to);
    }
    spans
}

pub(super) fn ticks(screen: &TestScreen) -> Vec<Tick> {
    screen
        .tally
        .iter()
        .zip(&screen.ticks)
        .map(|(trip, (at, counted))| Tick { at: *at, number: trip.number, counted: *counted })
        .collect()
}

pub(super) fn chips(screen: &TestScreen) -> Vec<Chip> {
    let taken = screen.tally.iter().enumerate().map(|(index, trip)| Chip {
        index,
        number: trip.label.clone(),
        time: trip.at.clone(),
        reading: trip.reading.clone(),
        word: match (trip.counted, trip.first) {
            (true, _) => words::COUNTED.into(),
            (false, true) => words::NOT_AVERAGED.into(),
            (false, false) => words::NOT_COUNTED.into(),
        },
        counts: match (trip.counted, trip.first) {
            (true, _) => Counts::Yes,
            (false, true) => Counts::First,
            (false, false) => Counts::No,
        },
    });
    let first = screen.tally.iter().map(|trip| trip.number).max().unwrap_or(0) + 1;
    let due = (first..=screen.wanted).map(|number| Chip {
        index: usize::MAX,
        number: number.to_string(),
        word: words::TO_COME.into(),
        counts: Counts::Due,
        ..Chip::default()
    });
    taken.chain(due).collect()
}

fn lane(screen: &TestScreen) -> Lane {
    Lane {
        id: screen.id.to_string(),
        title: screen.tag.clone(),
        detail: format!("{} {}", screen.now, screen.clock),
        calls: screen.needs_hand,
    }
}
