//! What is asked before a test, with last time's answers offered, and the mark that starts it.

use crate::book::Id;
use crate::book::command::Command;
use crate::book::decide::would_start;
use crate::book::refusal::Refusal;
use crate::browser::clock;
use crate::encoding::stored::{self, Stored};
use crate::trade::conditions::{Air, IndicatedBy, RateAnswer, Restores, Warmth};
use crate::trade::detector_type::DetectorType;
use crate::trade::heating::Heat;
use crate::trade::procedure::ProcedureKind;
use crate::ui::app::{App, use_app};
use crate::ui::cueing::use_cueing;
use crate::ui::follow::memo;
use crate::ui::parts::{
    Choice, Entry, Field, Fold, Key, Look, Mark, MarkState, Notice, PageHead, Pick, Says, Section, Shape, Show, Switch,
};
use crate::units::Reading;
use crate::view::before::{Answers, Facts, conditions, remarks, seeing};
use crate::view::place::{Form, Place};
use crate::view::remedy::remedy_at;
use crate::view::words;
use leptos::prelude::*;

/// The questions before a test at `position`.
#[component]
pub(in crate::ui) fn before(position: Id) -> impl IntoView {
    let app = use_app();
    let answers = RwSignal::new(app.last_answers(position));
    let facts = memo(move || {
        let unit = app.unit();
        app.visit.with(|visit| {
            app.register.with(|register| visit.as_ref().and_then(|visit| Facts::of(register, visit, position, unit)))
        })
    });
    let fact = move |of: fn(&Facts) -> String| {
        Signal::derive(move || facts.with(|facts| facts.as_ref().map(of).unwrap_or_default()))
    };
    let verdict = memo(move || verdict(app, position, &answers.get()));
    let why_not = move || verdict.with(|verdict| verdict.as_ref().err().map(|no| no.words.clone()).unwrap_or_default());
    let remedy = move || {
        let remedy = verdict.with(|verdict| verdict.as_ref().err().and_then(|no| no.remedy));
        remedy.map(|(label, place)| {
            view! { <Key label look=Look::Primary on_press=move |()| app.go(place) testid="remedy" /> }
        })
    };
    // Nothing below matters where no heat may come near.
    let never = memo(move || verdict.with(|verdict| verdict.as_ref().is_err_and(|no| no.never)));
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
            <Show when=move || verdict.with(Result::is_err)>
                <Notice says=Says::Warning word=words::REFUSED words=Signal::derive(why_not) testid="why-not">
                    <div class="keys">
                        {remedy}
                        <Key label=words::SOMETHING_WRONG on_press=move |()| app.go(Place::Form(Form::Visual(position))) testid="visual" />
                    </div>
                </Notice>
            </Show>
            {move || facts.with(|facts| facts.as_ref().map(|f| f.warnings.clone()).unwrap_or_default()).into_iter().map(|warning| {
                view! { <Notice says=Says::Warning word=words::TROUBLE words=warning /> }
            }).collect_view()}
            <Show when=move || !app.prefs.with(|prefs| prefs.locked_phone_said)>
                <Notice word=words::LOCKED_PHONE_WORD words=words::LOCKED_PHONE testid="locked-phone">
                    <Key label=words::UNDERSTOOD on_press=move |()| app.prefer(|prefs| prefs.locked_phone_said = true) testid="understood" />
                </Notice>
            </Show>
            <Show when=move || !never.get()>
                <Equipment position answers />
                <Looked position answers />
                <Fold title=Signal::derive(move || answers.with(conditions)) testid="conditions">
                    <Conditions answers />
                </Fold>
                <Fold title=Signal::derive(move || answers.with(seeing)) testid="seeing">
                    <Seeing answers />
                </Fold>
                {move || known().into_iter().map(|words| view! {
                    <Notice says=Says::Warning word=words::TROUBLE words testid="known-before" />
                }).collect_view()}
            </Show>
            <Begin position answers allowed=Signal::derive(move || verdict.with(Result::is_ok)) />
        </div>
    }
}

/// Why a test could not start now.
#[derive(Clone, Debug, PartialEq)]
struct No {
    words: String,
    remedy: Option<(&'static str, Place)>,
    /// Whether no answer below could change it.
    never: bool,
}

/// What is known of the test before it starts, or why it could not start now, by the same rules that start it.
fn verdict(app: App, position: Id, answers: &Answers) -> Result<Vec<String>, No> {
    let no = |words: &str| No { words: words.to_string(), remedy: None, never: false };
    if answers.ambient_reading().is_err() {
        return Err(no(words::NOT_A_NUMBER));
    }
    if answers.lag_ms().is_none() {
        return Err(no(words::NOT_A_LAG));
    }
    if answers.heater.is_none() {
        let remedy = Some((words::ADD_HEATER, Place::Form(Form::Heater(None))));
        return Err(No { remedy, ..no(words::CHOOSE_HEATER) });
    }
    // What the rules look at: a securing or a permit recorded meanwhile lifts a refusal.
    app.visit.track();
    app.register.track();
    app.kit.track();
    app.who.track();
    let start = app.prefs.with(|prefs| prefs.visit).and_then(|visit| answers.start(visit, Id::nil(), position));
    let Some(start) = start else { return Err(no(words::CHOOSE_SETTING)) };
    let at = app.at(clock::now());
    let started = app.book.with_untracked(|book| would_start(book, at, &start));
    started.map(|started| remarks(&started)).map_err(|refusal| {
        let area = app.register.with_untracked(|register| Some(register.positions.get(&position)?.place.now()?.area));
        No {
            words: words::refusal(&refusal, app.unit()),
            remedy: remedy_at(&refusal, position, area, answers.heater),
            never: refusal == Refusal::Heat(Heat::UsesUpElement),
        }
    })
}

/// The mark: heat on and start are one tap.
#[component]
fn begin(position: Id, answers: RwSignal<Answers>, allowed: Signal<bool>) -> impl IntoView {
    let app = use_app();
    let cueing = use_cueing();
    let start = move |at: f64| {
        cueing.wake();
        let now = clock::at_time_stamp(at);
        let test = app.new_id();
        let answers = answers.get_untracked();
        let Some(visit) = app.prefs.with_untracked(|prefs| prefs.visit) else { return };
        let Some(start) = answers.start(visit, test, position) else { return };
        if app.act(now, Command::Start(Box::new(start))).is_ok() {
            app.keep_answers(&answers);
            app.go(Place::Test(Some(test)));
        }
    };
    let tag = Signal::derive(move || {
        let tag = app.register.with(|register| register.positions.get(&position).map(|p| p.tag().to_string()));
        words::start_hint(&tag.unwrap_or_default())
    });
    let state = Signal::derive(move || {
        if app.unrecorded.with(std::collections::BTreeMap::is_empty) { MarkState::Idle } else { MarkState::Recording }
    });
    view! {
        <Show when=move || allowed.get()>
            <div class="begin">
                <Mark label=words::START sub=tag state shape=Shape::Heat kind="heat" on_press=Callback::new(start) testid="mark" />
            </div>
        </Show>
    }
}

fn pick_of<T: Copy + Stored + 'static>(
    all: &'static [T],
    words: fn(T) -> &'static str,
) -> (Signal<Vec<Pick>>, impl Fn(&str) -> Option<T> + Copy) {
    let picks = all.iter().map(|one| Pick::new(&stored::name(one), words(*one))).collect::<Vec<_>>();
    (Signal::stored(picks), move |value: &str| all.iter().copied().find(|one| stored::name(one) == value))
}

#[component]
fn equipment(position: Id, answers: RwSignal<Answers>) -> impl IntoView {
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
                Pick { value: setting.text(), label: words::as_displayed(setting), detail: words::tops_out_at(&top) }
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
        let plain = Pick::new("", ProcedureKind::Functional.words());
        let own = app.kit.with(|kit| {
            let pick = |(id, procedure): (Id, &crate::trade::procedure::Procedure)| Pick {
                value: id.to_string(),
                label: procedure.name.clone(),
                detail: words::procedure_detail(procedure),
            };
            kit.procedures_by_name().into_iter().map(pick).collect::<Vec<_>>()
        });
        std::iter::once(plain).chain(own).collect::<Vec<_>>()
    });
    let heater = Signal::derive(move || answers.with(|a| a.heater.map(|id| id.to_string()).unwrap_or_default()));
    let procedure = Signal::derive(move || answers.with(|a| a.procedure.map(|id| id.to_string()).unwrap_or_default()));
    let setting = Signal::derive(move || answers.with(|a| a.setting.map(Reading::text).unwrap_or_default()));
    let mode = Signal::derive(move || answers.with(|a| a.mode.clone().unwrap_or_default()));
    let pick_heater = move |id: String| {
        answers.update(|answers| answers.heater = Id::try_parse(&id).ok());
        answers.update(|answers| *answers = app.offer_answers(answers.clone(), position));
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

/// Asked afresh each time: about this detector, and by eye.
#[component]
fn looked(position: Id, answers: RwSignal<Answers>) -> impl IntoView {
    let app = use_app();
    let electronic = memo(move || {
        app.register.with(|register| {
            let marking = register.positions.get(&position).and_then(|position| register.marking_of(position));
            marking.is_some_and(|marking| marking.detector_type == DetectorType::Electronic)
        })
    });
    let (rates, rate) = pick_of(&[RateAnswer::Off, RateAnswer::HeaterSlower], |answer| match answer {
        RateAnswer::Off => words::RATE_OFF,
        RateAnswer::HeaterSlower => words::HEATER_SLOWER,
    });
    view! {
        <Section title=words::VISUAL>
            <div class="section-body keys">
                <Switch
                    label=words::LOOKS_GOOD
                    on=Signal::derive(move || answers.with(|a| a.looks_good))
                    words=(words::YES, words::NOT_CHECKED)
                    on_turn=move |on: bool| answers.update(|a| a.looks_good = on)
                    testid="looks-good"
                />
                <Key label=words::SOMETHING_WRONG on_press=move |()| app.go(Place::Form(Form::Visual(position))) testid="something-wrong" />
            </div>
        </Section>
        <Show when=move || electronic.get()>
            <Section title=words::RATE_FUNCTION>
                <Choice
                    id="rate-answer"
                    label=words::RATE_FUNCTION
                    picks=rates
                    value=Signal::derive(move || answers.with(|a| a.rate_answer.as_ref().map(stored::name).unwrap_or_default()))
                    on_pick=move |value: String| answers.update(|a| a.rate_answer = rate(&value))
                    across=true
                />
            </Section>
        </Show>
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
    let air_value = Signal::derive(move || answers.with(|a| a.air.as_ref().map(stored::name).unwrap_or_default()));
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
                value=Signal::derive(move || answers.with(|a| stored::name(&a.heater_warmth)))
                on_pick=move |value: String| set_warmth(value, |a| &mut a.heater_warmth)
                across=true
            />
            <Choice
                id="detector-warmth"
                label=words::DETECTOR_WARMTH
                picks=warmths
                value=Signal::derive(move || answers.with(|a| stored::name(&a.detector_warmth)))
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
    let lag_u = move |text: String| answers.update(|answers| answers.lag_u = text);
    let wrong = Signal::derive(move || {
        answers.with(|a| if a.lag_ms().is_none() { words::NOT_A_LAG.to_string() } else { String::new() })
    });
    view! {
            <Choice
                id="by"
                label=words::SIGN
                picks=signs
                value=Signal::derive(move || answers.with(|a| stored::name(&a.by)))
                on_pick=move |value: String| if let Some(by) = by(&value) { answers.update(|a| a.indicate(by)) }
            />
            <Choice
                id="restores"
                label=words::RESTORES
                picks=restores
                value=Signal::derive(move || answers.with(|a| stored::name(&a.restores)))
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
            <Field
                id="lag-u"
                label=words::LAG_U
                value=Signal::derive(move || answers.with(|a| a.lag_u.clone()))
                on_input=lag_u
                entry=Entry::Decimal
                unit="s"
                help=words::LAG_U_HELP
            />
    }
}
