//! What is asked before a test, with last time's answers offered, and the mark that starts it.

use crate::book::Id;
use crate::book::command::Command;
use crate::book::decide::would_start;
use crate::browser::clock;
use crate::trade::conditions::{Air, IndicatedBy, Restores, Visual, Warmth};
use crate::ui::app::{App, use_app};
use crate::ui::cueing::use_cueing;
use crate::ui::follow::memo;
use crate::ui::parts::{
    Choice, Entry, Field, Fold, Key, Look, Mark, MarkState, Notice, PageHead, Pick, Says, Section, Show, Switch,
};
use crate::units::Reading;
use crate::view::before::{Answers, Facts, conditions, remarks, seeing};
use crate::view::place::{Form, Place};
use crate::view::words;
use leptos::prelude::*;

/// The questions before a test of `detector`.
#[component]
pub(in crate::ui) fn before(detector: Id) -> impl IntoView {
    let app = use_app();
    let answers = RwSignal::new(app.last_answers(detector));
    let facts = memo(move || {
        let unit = app.unit();
        app.visit.with(|visit| {
            app.register.with(|register| visit.as_ref().and_then(|visit| Facts::of(register, visit, detector, unit)))
        })
    });
    let fact = move |of: fn(&Facts) -> String| {
        Signal::derive(move || facts.with(|facts| facts.as_ref().map(of).unwrap_or_default()))
    };
    let verdict = memo(move || verdict(app, detector, &answers.get()));
    let why_not = move || verdict.with(|verdict| verdict.as_ref().err().cloned().unwrap_or_default());
    let known = move || verdict.with(|verdict| verdict.as_ref().ok().cloned().unwrap_or_default());
    view! {
        <div class="page">
            <PageHead
                title=fact(|facts| facts.tag.clone())
                detail=fact(|facts| facts.place.clone())
                back=words::BACK
                on_back=move |()| app.go(Place::Visit)
            />
            <div class="section-body">
                <p><b>{fact(|facts| facts.marking.clone())}</b></p>
                <p class="soft">{fact(|facts| facts.standing.to_string())}</p>
            </div>
            {move || facts.with(|facts| facts.as_ref().map(|f| f.warnings.clone()).unwrap_or_default()).into_iter().map(|warning| {
                view! { <Notice says=Says::Warning word=words::TROUBLE words=warning /> }
            }).collect_view()}
            <Show when=move || !app.prefs.with(|prefs| prefs.locked_phone_said)>
                <Notice word=words::LOCKED_PHONE_WORD words=words::LOCKED_PHONE testid="locked-phone">
                    <Key label=words::UNDERSTOOD on_press=move |()| app.prefer(|prefs| prefs.locked_phone_said = true) testid="understood" />
                </Notice>
            </Show>
            <Equipment detector answers />
            <Looked answers />
            <Fold title=Signal::derive(move || answers.with(conditions)) testid="conditions">
                <Conditions answers />
            </Fold>
            <Fold title=Signal::derive(move || answers.with(seeing)) testid="seeing">
                <Seeing answers />
            </Fold>
            <Show when=move || verdict.with(Result::is_err)>
                <Notice says=Says::Warning word=words::REFUSED words=Signal::derive(why_not) testid="why-not" />
            </Show>
            {move || known().into_iter().map(|words| view! {
                <Notice says=Says::Warning word=words::TROUBLE words testid="known-before" />
            }).collect_view()}
            <Begin detector answers allowed=Signal::derive(move || verdict.with(Result::is_ok)) />
        </div>
    }
}

/// What is known of the test before it starts, or why it could not start now, by the same rules that start it.
fn verdict(app: App, detector: Id, answers: &Answers) -> Result<Vec<String>, String> {
    if answers.ambient_reading().is_err() {
        return Err(words::NOT_A_NUMBER.to_string());
    }
    if answers.lag_ms().is_none() {
        return Err(words::NOT_A_LAG.to_string());
    }
    if answers.heater.is_none() {
        return Err(words::CHOOSE_HEATER.to_string());
    }
    // What the rules look at: a securing or a permit recorded meanwhile lifts a refusal.
    app.visit.track();
    app.register.track();
    app.kit.track();
    let start = app.prefs.with(|prefs| prefs.visit).and_then(|visit| answers.start(visit, Id::nil(), detector));
    let Some(start) = start else { return Ok(Vec::new()) };
    let at = app.at(clock::now());
    let started = app.book.with_untracked(|book| would_start(book, at, &start));
    started.map(|started| remarks(&started)).map_err(|refusal| words::refusal(&refusal, app.unit()))
}

/// The mark: heat on and start are one tap.
#[component]
fn begin(detector: Id, answers: RwSignal<Answers>, allowed: Signal<bool>) -> impl IntoView {
    let app = use_app();
    let cueing = use_cueing();
    let start = move |at: f64| {
        cueing.wake();
        let now = clock::at_time_stamp(at);
        let test = app.new_id();
        let answers = answers.get_untracked();
        let Some(visit) = app.prefs.with_untracked(|prefs| prefs.visit) else { return };
        let Some(start) = answers.start(visit, test, detector) else { return };
        if app.act(now, Command::Start(Box::new(start))).is_ok() {
            app.keep_answers(&answers);
            app.go(Place::Test(Some(test)));
        }
    };
    let state = Signal::derive(move || {
        if app.unrecorded.with(std::collections::BTreeMap::is_empty) { MarkState::Idle } else { MarkState::Recording }
    });
    view! {
        <Show when=move || allowed.get()>
            <div class="begin">
                <Mark label=words::START sub=words::START_HINT state on_press=Callback::new(start) />
            </div>
        </Show>
    }
}

fn pick_of<T: Copy + PartialEq + 'static>(
    all: &'static [T],
    words: fn(T) -> &'static str,
) -> (Signal<Vec<Pick>>, impl Fn(&str) -> Option<T> + Copy) {
    let picks = all.iter().map(|one| Pick::new(words(*one), words(*one))).collect::<Vec<_>>();
    (Signal::stored(picks), move |value: &str| all.iter().copied().find(|one| words(*one) == value))
}

#[component]
fn equipment(detector: Id, answers: RwSignal<Answers>) -> impl IntoView {
    let app = use_app();
    let heaters = Signal::derive(move || {
        app.kit.with(|kit| {
            let name =
                |heater: &crate::book::kit::Heater| heater.name.now().map(|name| name.name.clone()).unwrap_or_default();
            kit.heaters_by_name()
                .iter()
                .map(|(id, heater)| Pick::new(&id.to_string(), &name(heater)))
                .collect::<Vec<_>>()
        })
    });
    let heating = memo(move || {
        let heater = answers.with(|answers| answers.heater);
        app.kit.with(|kit| {
            heater.and_then(|heater| kit.heaters.get(&heater)).and_then(|heater| heater.heating.now().cloned())
        })
    });
    let settings = Signal::derive(move || {
        let unit = app.unit();
        heating.with(|heating| {
            let label = |heating: &crate::trade::heater::Heating, setting: &Reading| {
                let top = words::degrees(heating.top(setting), unit, 0);
                Pick { value: setting.text(), label: setting.text(), detail: words::heat_ups_to(&top) }
            };
            heating.iter().flat_map(|h| h.settings.iter().map(|s| label(h, s)).collect::<Vec<_>>()).collect::<Vec<_>>()
        })
    });
    let modes = Signal::derive(move || {
        heating.with(|heating| {
            heating
                .iter()
                .flat_map(|heating| heating.modes.iter().map(|mode| Pick::new(mode, mode)))
                .collect::<Vec<_>>()
        })
    });
    let procedures = Signal::derive(move || {
        app.kit.with(|kit| {
            let all = kit.procedures_by_name();
            all.iter()
                .map(|(id, procedure)| Pick {
                    value: id.to_string(),
                    label: procedure.name.clone(),
                    detail: words::procedure_detail(procedure),
                })
                .collect::<Vec<_>>()
        })
    });
    let heater = Signal::derive(move || answers.with(|a| a.heater.map(|id| id.to_string()).unwrap_or_default()));
    let procedure = Signal::derive(move || answers.with(|a| a.procedure.map(|id| id.to_string()).unwrap_or_default()));
    let setting = Signal::derive(move || answers.with(|a| a.setting.map(Reading::text).unwrap_or_default()));
    let mode = Signal::derive(move || answers.with(|a| a.mode.clone().unwrap_or_default()));
    let pick_heater = move |id: String| {
        answers.update(|answers| answers.heater = Id::try_parse(&id).ok());
        answers.update(|answers| *answers = app.offer(answers.clone(), detector));
    };
    let pick_setting = move |text: String| {
        let found = heating.with(|h| h.as_ref().and_then(|h| h.settings.iter().find(|s| s.text() == text).copied()));
        answers.update(|answers| answers.setting = found);
    };
    view! {
        <Section title=words::BEFORE>
            <Choice id="heater" label=words::HEATER picks=heaters value=heater on_pick=pick_heater across=true />
            <Show when=move || heaters.with(Vec::is_empty)>
                <div class="section-body">
                    <Key label=words::TO_REGISTER look=Look::Primary on_press=move |()| app.go(Place::Form(Form::Heater(None))) testid="add-heater" />
                </div>
            </Show>
            <Choice id="setting" label=words::SETTING picks=settings value=setting on_pick=pick_setting across=true />
            <Show when=move || !modes.with(Vec::is_empty)>
                <Choice id="mode" label=words::MODE picks=modes value=mode on_pick=move |mode: String| answers.update(|a| a.mode = Some(mode.clone())) across=true />
            </Show>
            <Choice id="procedure" label=words::PROCEDURE picks=procedures value=procedure on_pick=move |id: String| answers.update(|a| a.procedure = Id::try_parse(&id).ok()) />
        </Section>
    }
}

/// Asked afresh each time.
#[component]
fn looked(answers: RwSignal<Answers>) -> impl IntoView {
    let (visuals, visual) = pick_of(&Visual::ALL, Visual::words);
    view! {
        <Section title=words::VISUAL>
            <Choice
                id="visual"
                label=words::VISUAL
                picks=visuals
                value=Signal::derive(move || answers.with(|a| a.visual.words().to_string()))
                on_pick=move |value: String| if let Some(visual) = visual(&value) { answers.update(|a| a.visual = visual) }
                across=true
            />
        </Section>
    }
}

#[component]
fn conditions(answers: RwSignal<Answers>) -> impl IntoView {
    let app = use_app();
    let (warmths, warmth) = pick_of(&Warmth::ALL, Warmth::words);
    let (airs, air) = pick_of(&[Air::Still, Air::Moving], |air| match air {
        Air::Still => words::STILL,
        Air::Moving => words::MOVING,
    });
    let air_value = Signal::derive(move || {
        answers.with(|a| match a.air {
            Some(Air::Still) => words::STILL.to_string(),
            Some(Air::Moving) => words::MOVING.to_string(),
            None => String::new(),
        })
    });
    let wrong = Signal::derive(move || {
        answers.with(|a| if a.ambient_reading().is_err() { words::NOT_A_NUMBER.to_string() } else { String::new() })
    });
    let ambient = move |text: String| {
        answers.update(|answers| {
            answers.ambient = text;
            answers.ambient_unit = app.prefs.with_untracked(|prefs| prefs.unit);
        });
    };
    let set_warmth = move |value: String, of: fn(&mut Answers) -> &mut Warmth| {
        if let Some(warmth) = warmth(&value) {
            answers.update(|answers| *of(answers) = warmth);
        }
    };
    view! {
            <Choice
                id="heater-warmth"
                label=words::HEATER_WARMTH
                picks=warmths
                value=Signal::derive(move || answers.with(|a| a.heater_warmth.words().to_string()))
                on_pick=move |value: String| set_warmth(value, |a| &mut a.heater_warmth)
                across=true
            />
            <Choice
                id="detector-warmth"
                label=words::DETECTOR_WARMTH
                picks=warmths
                value=Signal::derive(move || answers.with(|a| a.detector_warmth.words().to_string()))
                on_pick=move |value: String| set_warmth(value, |a| &mut a.detector_warmth)
                across=true
            />
            <Field
                id="ambient"
                label=words::AMBIENT
                value=Signal::derive(move || answers.with(|a| a.ambient.clone()))
                on_input=ambient
                entry=Entry::Decimal
                unit=Signal::derive(move || answers.with(|a| a.ambient_unit.symbol().to_string()))
                help=words::AMBIENT_HELP
                error=wrong
            />
            <Choice
                id="air"
                label=words::AIR
                picks=airs
                value=air_value
                on_pick=move |value: String| answers.update(|a| a.air = air(&value))
                across=true
            />
    }
}

#[component]
fn seeing(answers: RwSignal<Answers>) -> impl IntoView {
    let (signs, by) = pick_of(&IndicatedBy::ALL, IndicatedBy::words);
    let (restores, restore) = pick_of(&Restores::ALL, Restores::words);
    let switch =
        move |label: &'static str, get: fn(&Answers) -> bool, set: fn(&mut Answers, bool), testid: &'static str| {
            view! {
                <Switch
                    label
                    on=Signal::derive(move || answers.with(get))
                    words=(words::YES, words::NO)
                    on_turn=move |on: bool| answers.update(|answers| set(answers, on))
                    testid
                />
            }
        };
    let lag = move |text: String| answers.update(|answers| answers.lag = text);
    let wrong = Signal::derive(move || {
        answers.with(|a| if a.lag_ms().is_none() { words::NOT_A_LAG.to_string() } else { String::new() })
    });
    view! {
            <Choice
                id="by"
                label=words::SIGN
                picks=signs
                value=Signal::derive(move || answers.with(|a| a.by.words().to_string()))
                on_pick=move |value: String| if let Some(by) = by(&value) { answers.update(|a| a.by = by) }
            />
            <Choice
                id="restores"
                label=words::RESTORES
                picks=restores
                value=Signal::derive(move || answers.with(|a| a.restores.words().to_string()))
                on_pick=move |value: String| if let Some(restores) = restore(&value) { answers.update(|a| a.restores = restores) }
                across=true
            />
            <div class="section-body keys">
                {switch(words::DISPLAY_READ, |a| a.display_read, |a, on| a.display_read = on, "display-read")}
                {switch(words::LATCHING, |a| a.latching, |a, on| a.latching = on, "latching")}
                {switch(words::VERIFICATION, |a| a.verification, |a, on| a.verification = on, "verification")}
            </div>
            <Field
                id="lag"
                label=words::LAG
                value=Signal::derive(move || answers.with(|a| a.lag.clone()))
                on_input=lag
                entry=Entry::Decimal
            error=wrong
                unit="s"
                help=words::LAG_HELP
            />
    }
}
