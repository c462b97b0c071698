//! The sheet behind a test: move marks, say what the panel showed, take over, end early, notes on its time.

use super::{OtherMarks, went_on};
use crate::book::Id;
use crate::book::body::{Ending, Point};
use crate::book::command::Command;
use crate::book::entry::Hash;
use crate::browser::clock;
use crate::encoding::stored;
use crate::ui::app::{App, use_app};
use crate::ui::memo::memo;
use crate::ui::parts::{Badge, Key, Look, Notice, Says, Section, Shape, Sheet, Show, Steps, Tone};
use crate::view::findings::one::{CHANGE_READING, NOT_A_TRIP};
use crate::view::route::{Form, Route};
use crate::view::test::{AskAbout, TallyTrip, TestScreen, WantedReading};
use crate::view::trace::Asked;
use crate::view::words;
use leptos::prelude::*;

/// The sheet.
#[component]
pub(super) fn details(
    id: Id,
    screen: Memo<Option<TestScreen>>,
    open: RwSignal<bool>,
    given: RwSignal<Option<WantedReading>>,
) -> impl IntoView {
    let app = use_app();
    let trips = memo(move || screen.with(|s| s.as_ref().map(|s| s.tally.clone()).unwrap_or_default()));
    let endings = memo(move || screen.with(|s| s.as_ref().map(|s| s.endings.clone()).unwrap_or_default()));
    let notes = memo(move || screen.with(|s| s.as_ref().map(|s| s.clock_notes.clone()).unwrap_or_default()));
    let at_hand = memo(move || screen.with(|s| s.as_ref().is_none_or(|s| s.marks_at_hand || s.marks.is_empty())));
    let end = move |how: Ending| {
        let end = move |()| {
            if app.act(clock::now(), Command::End { test: id, how }).is_ok() {
                open.set(false);
                went_on(app, id);
            }
        };
        let look = if how == Ending::StoppedEarly { Look::Quiet } else { Look::Danger };
        view! { <Key label=words::ending(how) look wide=true on_press=end testid=format!("end-{}", stored::name(&how)) /> }
    };
    view! {
        <Sheet title=words::TEST_DETAILS open close=words::CLOSE on_close=move |()| open.set(false) testid="details">
            {move || trips.get().into_iter().map(|trip| view! { <OneTrip trip open given /> }).collect_view()}
            <Show when=move || !at_hand.get()>
                <Section title=words::OTHER_MARKS>
                    <div class="section-body"><OtherMarks id screen /></div>
                </Section>
            </Show>
            <TimeNotes notes />
            <Section title=words::END_EARLY>
                <div class="section-body keys">{move || endings.get().into_iter().map(end).collect_view()}</div>
            </Section>
        </Sheet>
    }
}

/// What is to be said about the clock of a test or a profile run.
#[component]
pub(in crate::ui::screens) fn time_notes(notes: Memo<Vec<String>>) -> impl IntoView {
    view! {
        <Section title=words::TIME_NOTES>
            <div class="section-body">
                {move || notes.get().into_iter().map(|note| view! { <p>{note}</p> }).collect_view()}
                <Show when=move || notes.with(Vec::is_empty)>
                    <p class="soft">{words::NO_TIME_NOTES}</p>
                </Show>
            </div>
        </Section>
    }
}

#[component]
fn one_trip(trip: TallyTrip, open: RwSignal<bool>, given: RwSignal<Option<WantedReading>>) -> impl IntoView {
    let app = use_app();
    let mark = trip.mark;
    let step = move |by: i32| app.give(clock::now(), Command::Move { mark, by_ms: i64::from(by) * 1_000 });
    let point = move |point: Point| {
        let say = move |()| app.give(clock::now(), Command::SayPanel { trip: mark, point, said: None });
        view! { <Key label=words::point(point) on_press=say testid=format!("sheet-panel-{}", stored::name(&point)) /> }
    };
    let value = format!("{} {}", trip.at, trip.moved);
    let panel = trip.panel.map(|point| {
        let (shape, tone) = match point {
            Point::Right => (Shape::Done, Tone::Good),
            Point::Wrong => (Shape::Fail, Tone::Bad),
            Point::NotThere => (Shape::Fail, Tone::Bad),
            Point::NotChecked => (Shape::Open, Tone::Plain),
        };
        view! { <Badge shape tone word=words::point(point) /> }
    });
    let read = trip.open.map(|reading| {
        let give = move |()| {
            given.set(Some(reading));
            open.set(false);
        };
        view! { <Key label=words::GIVE_READING on_press=give testid=format!("read-trip-{}", reading.number) /> }
    });
    let change = trip.reading_of.map(|reading| {
        let change = move |()| app.go(Route::Form(Form::Reading(reading)));
        view! { <Key label=CHANGE_READING icon=Shape::Pen on_press=change testid=format!("change-reading-{}", trip.number) /> }
    });
    let strike = move |()| app.go(Route::Form(Form::Strike(mark)));
    let was = (!trip.corrected_from.is_empty()).then(|| view! { <s class="soft">{trip.corrected_from.clone()}</s> });
    view! {
        <Section title=words::trip(trip.number) end=trip.reading.clone()>
            <div class="section-body">
                {was}
                <div class="keys">
                    {read} {change}
                    <Key label=NOT_A_TRIP icon=Shape::Close on_press=strike testid=format!("not-a-trip-{}", trip.number) />
                </div>
                <Steps label=words::SINCE_HEAT_ON value=value down=words::EARLIER up=words::LATER on_step=step />
                {(!trip.counted).then(|| view! { <p>{trip.why}</p> })}
                <p>{words::PANEL_SHOWED} " " {panel}</p>
                <div class="keys">{[Point::Right, Point::Wrong, Point::NotThere, Point::NotChecked].map(point).collect_view()}</div>
            </div>
        </Section>
    }
}

/// What has to be answered on the test itself: a sleep, and whose the test is. While a reading is dialled, which needs the room for its
/// keys, an early trip waits.
#[component]
pub(super) fn asks(id: Id, screen: Memo<Option<TestScreen>>, dialling: Signal<bool>) -> impl IntoView {
    let app = use_app();
    let gap = memo(move || screen.with(|s| s.as_ref().and_then(|s| s.ask_sleep)));
    let other = memo(move || screen.with(|s| s.as_ref().is_some_and(|s| s.other_phone)));
    let ask_early =
        memo(move || screen.with(|s| s.as_ref().and_then(|s| s.ask_early.clone())).filter(|_| !dialling.get()));
    // The same reading is not asked about twice.
    let ask_slip =
        memo(move || screen.with(|s| s.as_ref().filter(|s| s.ask_reading.is_none()).and_then(|s| s.ask_slip.clone())));
    let ask_reading = memo(move || screen.with(|s| s.as_ref().and_then(|s| s.ask_reading.clone())));
    view! {
        <Show when=move || other.get()>
            <Notice says=Says::Warning word=words::OTHER_PHONE words=words::TAKE_OVER_WHY testid="other-phone">
                <Key label=words::TAKE_OVER on_press=move |()| app.give(clock::now(), Command::TakeOver { test: id }) testid="take-over" />
            </Notice>
        </Show>
        <AskSleep gap />
        {move || ask_early.get().map(|asked| one_early(app, asked))}
        {move || ask_slip.get().map(|asked| one_slip(app, asked))}
        {move || ask_reading.get().map(|asked| one_reading(app, asked))}
    }
}

/// An early trip: this detector's, or another one's.
fn one_early(app: App, asked: AskAbout) -> AnyView {
    let AskAbout { of: trip, words } = asked;
    let say = move |this_detector: bool| {
        app.give(clock::now(), Command::AnswerEarlyTrip { trip, this_detector });
    };
    view! {
        <Notice says=Says::Warning word=words::EARLY_WORD words testid="asked-early">
            <div class="keys">
                <Key label=words::THIS_DETECTOR on_press=move |()| say(true) testid="this-detector" />
                <Key label=words::NOT_THIS_ONE on_press=move |()| say(false) testid="not-this-detector" />
            </div>
        </Notice>
    }
    .into_any()
}

/// A reading far from the others: right, or a slip.
fn one_slip(app: App, asked: AskAbout) -> AnyView {
    let AskAbout { of: reading, words } = asked;
    view! {
        <Notice says=Says::Warning word=words::ASK_READING_WORD words testid="asked-slip">
            <div class="keys">
                <Key label=words::IT_STANDS on_press=move |()| app.give(clock::now(), Command::ConfirmReading { reading }) testid="slip-stands" />
                <Key label=CHANGE_READING on_press=move |()| app.go(Route::Form(Form::Reading(reading))) testid="change-slip" />
            </div>
        </Notice>
    }
    .into_any()
}

/// The one question after a reading far from what was expected. The reading is recorded already; a refusal is shown above.
fn one_reading(app: App, asked: Asked) -> AnyView {
    let Asked { reading, words, again } = asked;
    let again = if again { words::READ_AGAIN } else { words::UNDO_READING };
    let act = move |command: Command| app.give(clock::now(), command);
    view! {
        <Notice says=Says::Warning word=words::ASK_READING_WORD words testid="asked-reading">
            <div class="keys">
                <Key label=words::IT_STANDS on_press=move |()| act(Command::ConfirmReading { reading }) testid="it-stands" />
                <Key label=again on_press=move |()| act(Command::Undo { target: reading }) testid="read-again" />
            </div>
        </Notice>
    }
    .into_any()
}

/// The one question after a sleep.
#[component]
pub(in crate::ui::screens) fn ask_sleep(gap: Memo<Option<Hash>>) -> impl IntoView {
    let app = use_app();
    // A refusal is shown above.
    let answer = move |asleep: bool| {
        if let Some(gap) = gap.get_untracked() {
            app.give(clock::now(), Command::AnswerGap { gap, asleep });
        }
    };
    view! {
        <Show when=move || gap.with(Option::is_some)>
            <Notice says=Says::Warning word=words::ASK_SLEEP_WORD words=words::ASK_SLEEP testid="asked-sleep">
                <div class="keys">
                    <Key label=words::SLEPT on_press=move |()| answer(true) testid="slept" />
                    <Key label=words::CLOCK_SET on_press=move |()| answer(false) testid="clock-set" />
                </div>
            </Notice>
        </Show>
    }
}
