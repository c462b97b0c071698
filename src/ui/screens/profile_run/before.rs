//! What is asked before a profile run, and the mark that starts it.

use crate::book::Id;
use crate::book::command::Command;
use crate::book::decide::profile_run_refusals;
use crate::browser::clock;
use crate::trade::caution;
use crate::ui::app::{App, use_app};
use crate::ui::cue_player::use_cueing;
use crate::ui::memo::memo;
use crate::ui::parts::{
    Digits, Fields, Key, Mark, MarkState, Notice, PageHead, Questions, Row, Rows, Says, Section, Shape, Sheet, Show,
};
use crate::ui::screens::beside::BesideRegister;
use crate::units::Reading;
use crate::view::before::{Asking, OfHeater};
use crate::view::forms::Wrongs;
use crate::view::heater::{ENTER, profile_needs};
use crate::view::route::Route;
use crate::view::{locale, words};
use leptos::prelude::*;

/// The questions before a profile run of `heater`.
#[component]
pub(in crate::ui) fn profile_run_before(heater: Id) -> impl IntoView {
    let app = use_app();
    let answers = RwSignal::new(app.book.with_untracked(|book| OfHeater::offered(book, heater)));
    let name = Signal::derive(move || {
        let name =
            app.kit.with(|kit| kit.heaters.get(&heater).and_then(|heater| heater.name.now().map(|n| n.name.clone())));
        name.unwrap_or_default()
    });
    let why_not = memo(move || why_not(app, &answers.get()));
    let needs = memo(move || app.kit.with(|kit| profile_needs(kit, heater)));
    view! {
        <BesideRegister>
        <div class="page" data-testid="profile-run-before">
            <PageHead title=words::BEFORE_PROFILE_RUN detail=name back=words::BACK on_back=move |()| app.go(Route::Profile(heater)) />
            <div class="section-body"><p>{words::PROFILE_RUN_WHY}</p></div>
            <Section title=words::CAUTIONS>
                <div class="section-body">
                    <ul class="cautions">
                        {words::PROFILE_RUN_CAUTIONS.map(|(caution, source)| view! { <li>{caution} " " <small class="soft">{source}</small></li> })}
                    </ul>
                    <p>{caution::DEFERS}</p>
                </div>
            </Section>
            <AskedBefore answers />
            {move || needs.get().map(|(words, place)| view! {
                <Notice says=Says::Warning word=words::TROUBLE words testid="profile-needs">
                    <Key label=ENTER on_press=move |()| app.go(place) testid="enter-missing" />
                </Notice>
            })}
            <Show when=move || why_not.with(Option::is_some)>
                <Notice
                    says=Says::Warning
                    word=words::REFUSED
                    words=Signal::derive(move || why_not.get().unwrap_or_default())
                    testid="why-not"
                />
            </Show>
            <Begin answers allowed=Signal::derive(move || why_not.with(Option::is_none)) />
        </div>
        </BesideRegister>
    }
}

/// Why the profile run could not start now, by the same rules that start it.
fn why_not(app: App, of: &OfHeater) -> Option<String> {
    app.track_kit();
    app.track_visits();
    app.register.track();
    let Some(start) = of.answers.start(Id::nil(), of.heater) else { return Some(words::AMBIENT_FIRST.to_string()) };
    let at = app.at(clock::now());
    let refusal = app.book.with_untracked(|book| profile_run_refusals(book, at, &start)).err()?;
    Some(words::refusal(&refusal, app.unit()))
}

/// What is known where the questions are made.
fn asking<T>(app: App, with: impl FnOnce(&Asking<'_>) -> T) -> T {
    app.register.with(|register| {
        app.kit.with(|kit| {
            app.visit
                .with(|visit| with(&Asking { kit, register, visit: visit.as_ref(), marking: None, unit: app.unit() }))
        })
    })
}

#[component]
fn asked_before(answers: RwSignal<OfHeater>) -> impl IntoView {
    let app = use_app();
    let dials = RwSignal::new(false);
    let unit = app.unit();
    let put = move |(key, text): (&'static str, String)| {
        untrack(|| asking(app, |asking| answers.update(|answers| answers.put(key, &text, asking))));
    };
    let questions = Questions {
        parts: memo(move || asking(app, |asking| answers.with(|answers| answers.questions(asking)))).into(),
        typed: memo(move || answers.with(OfHeater::typed)).into(),
        wrongs: Signal::stored(Wrongs::new()),
        put: Callback::new(put),
    };
    let ambient = Signal::derive(move || {
        let shown = words::as_displayed;
        answers.with(|of| of.answers.ambient.as_ref().map_or_else(|| words::NOT_DIALLED.to_string(), shown))
    });
    let dialled = move |value: i32| {
        answers.update(|of| of.answers.ambient = Some(Reading { value: value.into(), scale: 0, unit }));
        dials.set(false);
    };
    view! {
        <Section title=words::HEATER>
            <Fields questions at=0 />
        </Section>
        <Section title=words::AMBIENT>
            <Rows label=words::AMBIENT>
                {move || view! {
                    <Row title=ambient.get() sign=Shape::Adjust testid="ambient-shown">
                        <Key label=words::DIAL_AMBIENT icon=Shape::Pen on_press=move |()| dials.set(true) testid="dial-ambient" />
                    </Row>
                }}
            </Rows>
        </Section>
        <Section title=words::DETECTOR>
            <Fields questions at=1 />
        </Section>
        <Sheet title=words::AMBIENT open=dials close=words::CLOSE on_close=move |()| dials.set(false) testid="ambient-sheet">
            <Digits
                label=words::AMBIENT
                unit=unit.symbol()
                max=3
                decimals=0
                point=locale::point()
                words=(words::ERASE, words::OK)
                minus=words::BELOW_ZERO
                on_done=dialled
            />
        </Sheet>
    }
}

/// The mark: heat on and start are one tap.
#[component]
fn begin(answers: RwSignal<OfHeater>, allowed: Signal<bool>) -> impl IntoView {
    let app = use_app();
    let cueing = use_cueing();
    let start = move |at: f64| {
        cueing.wake();
        let now = clock::at_time_stamp(at);
        let of = answers.get_untracked();
        if let Some(start) = of.answers.start(app.new_id(), of.heater) {
            // A refusal is shown above; a start changes what this place shows.
            app.give(now, Command::StartProfileRun(Box::new(start)));
        }
    };
    let state = Signal::derive(move || {
        if app.unrecorded.with(std::collections::BTreeMap::is_empty) { MarkState::Idle } else { MarkState::Recording }
    });
    view! {
        <Show when=move || allowed.get()>
            <div class="begin">
                <Mark label=words::START_HEATING sub=words::START_HINT state shape=Shape::Heat kind="heat" on_press=Callback::new(start) />
            </div>
        </Show>
    }
}
