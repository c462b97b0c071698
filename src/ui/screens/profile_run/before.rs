//! What is asked before a profile run, and the mark that starts it.

use crate::book::Id;
use crate::book::command::Command;
use crate::book::decide::profile_run_refusals;
use crate::browser::clock;
use crate::encoding::stored;
use crate::trade::caution;
use crate::trade::conditions::Warmth;
use crate::ui::app::{App, use_app};
use crate::ui::cueing::use_cueing;
use crate::ui::follow::memo;
use crate::ui::parts::{
    Choice, Digits, Key, Mark, MarkState, Notice, PageHead, Pick, Row, Rows, Says, Section, Shape, Sheet, Show,
};
use crate::ui::screens::register::Beside;
use crate::units::Reading;
use crate::view::place::{Form, Place};
use crate::view::profile_run::{ProfileRunAnswers, positions};
use crate::view::{locale, words};
use leptos::prelude::*;

/// The questions before a profile run of `heater`.
#[component]
pub(in crate::ui) fn profile_run_before(heater: Id) -> impl IntoView {
    let app = use_app();
    let answers = RwSignal::new(app.book.with_untracked(|book| ProfileRunAnswers::offered(book, heater)));
    let name = Signal::derive(move || {
        let name =
            app.kit.with(|kit| kit.heaters.get(&heater).and_then(|heater| heater.name.now().map(|n| n.name.clone())));
        name.unwrap_or_default()
    });
    let why_not = memo(move || why_not(app, heater, &answers.get()));
    view! {
        <Beside current=Form::Heater(Some(heater))>
        <div class="page" data-testid="profile-run-before">
            <PageHead title=words::BEFORE_PROFILE_RUN detail=name back=words::BACK on_back=move |()| app.go(Place::Profile(heater)) />
            <div class="section-body"><p>{words::PROFILE_RUN_WHY}</p></div>
            <Section title=words::CAUTIONS>
                <div class="section-body">
                    <ul class="cautions">
                        {words::PROFILE_RUN_CAUTIONS.map(|(caution, source)| view! { <li>{caution} " " <small class="soft">{source}</small></li> })}
                    </ul>
                    <p>{caution::DEFERS}</p>
                </div>
            </Section>
            <Questions heater answers />
            <Show when=move || why_not.with(Option::is_some)>
                <Notice
                    says=Says::Warning
                    word=words::REFUSED
                    words=Signal::derive(move || why_not.get().unwrap_or_default())
                    testid="why-not"
                />
            </Show>
            <Begin heater answers allowed=Signal::derive(move || why_not.with(Option::is_none)) />
        </div>
        </Beside>
    }
}

/// Why the profile run could not start now, by the same rules that start it.
fn why_not(app: App, heater: Id, answers: &ProfileRunAnswers) -> Option<String> {
    app.track_kit();
    app.track_visits();
    app.register.track();
    let Some(start) = answers.start(Id::nil(), heater) else { return Some(words::AMBIENT_FIRST.to_string()) };
    let at = app.at(clock::now());
    let refusal = app.book.with_untracked(|book| profile_run_refusals(book, at, &start)).err()?;
    Some(words::refusal(&refusal, app.unit()))
}

#[component]
fn questions(heater: Id, answers: RwSignal<ProfileRunAnswers>) -> impl IntoView {
    let app = use_app();
    let dials = RwSignal::new(false);
    let heating =
        app.kit.with_untracked(|kit| kit.heaters.get(&heater).and_then(|heater| heater.heating.now().cloned()));
    let unit = app.unit();
    let (mut settings, mut modes) = (Vec::new(), Vec::new());
    if let Some(heating) = &heating {
        for setting in &heating.settings {
            let top = words::degrees(heating.top(setting), unit, 0);
            let label = format!("{} {}", setting.text(), setting.unit.symbol());
            settings.push(Pick { value: label.clone(), label, detail: words::tops_out_at(&top) });
        }
        modes.extend(heating.modes.iter().map(|mode| Pick::new(mode, mode)));
    }
    let named = |setting: &Reading| format!("{} {}", setting.text(), setting.unit.symbol());
    let setting = Signal::derive(move || answers.with(|a| a.setting.as_ref().map(named).unwrap_or_default()));
    let pick_setting = move |text: String| {
        let found = heating.as_ref().and_then(|heating| heating.settings.iter().find(|s| named(s) == text).copied());
        answers.update(|answers| answers.setting = found);
    };
    let several = !modes.is_empty();
    let mode = Signal::derive(move || answers.with(|a| a.mode.clone().unwrap_or_default()));
    let (modes, settings) = (Signal::stored(modes), Signal::stored(settings));
    let warmths = Signal::stored(Warmth::ALL.map(|warmth| Pick::new(&stored::name(&warmth), warmth.words())).to_vec());
    let warmth = move |word: String| {
        if let Some(found) = Warmth::ALL.into_iter().find(|warmth| stored::name(warmth) == word) {
            answers.update(|answers| answers.heater_warmth = found);
        }
    };
    let ambient = Signal::derive(move || {
        let shown = words::as_displayed;
        answers.with(|a| a.ambient.as_ref().map_or_else(|| words::NOT_DIALLED.to_string(), shown))
    });
    let dialled = move |value: i32| {
        answers.update(|answers| answers.ambient = Some(Reading { value: value.into(), scale: 0, unit }));
        dials.set(false);
    };
    let in_place = Signal::derive(move || {
        let none = Pick { value: String::new(), label: words::DETECTOR_NONE.into(), detail: String::new() };
        let found = app.register.with(|register| app.visit.with(|visit| positions(register, visit.as_ref())));
        let known = found.into_iter().map(|(id, tag)| Pick::new(&id.to_string(), &tag));
        std::iter::once(none).chain(known).collect::<Vec<_>>()
    });
    let in_position = Signal::derive(move || answers.with(|a| a.position.map(|id| id.to_string()).unwrap_or_default()));
    view! {
        <Section title=words::HEATER>
            <Choice id="setting" label=words::SETTING picks=settings value=setting on_pick=pick_setting across=true />
            {several.then(|| view! {
                <Choice id="mode" label=words::MODE picks=modes value=mode on_pick=move |mode: String| answers.update(|a| a.mode = Some(mode)) across=true />
            })}
            <Choice
                id="heater-warmth"
                label=words::HEATER_WARMTH
                picks=warmths
                value=Signal::derive(move || answers.with(|a| stored::name(&a.heater_warmth)))
                on_pick=warmth
                across=true
            />
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
            <Choice
                id="in-place"
                label=words::DETECTOR_IN_PLACE
                picks=in_place
                value=in_position
                on_pick=move |id: String| answers.update(|a| a.position = Id::try_parse(&id).ok())
                help=words::DETECTOR_NONE_HELP
                across=true
            />
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
fn begin(heater: Id, answers: RwSignal<ProfileRunAnswers>, allowed: Signal<bool>) -> impl IntoView {
    let app = use_app();
    let cueing = use_cueing();
    let start = move |at: f64| {
        cueing.wake();
        let now = clock::at_time_stamp(at);
        let answers = answers.get_untracked();
        if let Some(start) = answers.start(app.new_id(), heater) {
            // A refusal is shown above; a start changes what this place shows.
            drop(app.act(now, Command::StartProfileRun(Box::new(start))));
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
