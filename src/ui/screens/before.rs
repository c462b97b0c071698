//! What is asked before a test, with last time's answers offered, and the mark that starts it.

use crate::book::Id;
use crate::book::command::Command;
use crate::book::decide::would_start;
use crate::book::refusal::Refusal;
use crate::browser::clock;
use crate::trade::heating::Heat;
use crate::ui::app::{App, use_app};
use crate::ui::cue_player::use_cueing;
use crate::ui::memo::memo;
use crate::ui::parts::{
    Fields, Fold, Key, Look, Mark, MarkState, Notice, PageHead, Questions, Says, Section, Shape, Show,
};
use crate::view::before::{Answers, Asking, Facts, remarks, remarks_remedy};
use crate::view::leaving::{NOT_TESTED, OTHER_METHOD};
use crate::view::remedy::remedy_at;
use crate::view::route::{Form, Route};
use crate::view::visit::next_after;
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
    let next = memo(move || {
        app.visit.with(|visit| app.register.with(|register| next_after(register, visit.as_ref()?, Some(position))))
    });
    let fact = move |of: fn(&Facts) -> String| {
        Signal::derive(move || facts.with(|facts| facts.as_ref().map(of).unwrap_or_default()))
    };
    let questions = questions(app, position, answers);
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
    let known = move || verdict.with(|verdict| verdict.as_ref().map(|(known, _)| known.clone()).unwrap_or_default());
    let enter = move || verdict.with(|verdict| verdict.as_ref().ok().and_then(|(_, remedy)| *remedy));
    view! {
        <div class="page">
            <PageHead
                title=fact(|facts| facts.tag.clone())
                detail=fact(|facts| facts.place.clone())
                back=words::BACK
                on_back=move |()| app.go(Route::Visit)
            />
            <div class="section-body">
                <p><b>{fact(|facts| facts.marking.clone())}</b></p>
                <p class="soft">{fact(|facts| facts.standing.to_string())}</p>
            </div>
            <Show when=move || !app.prefs.with(|prefs| prefs.locked_phone_said)>
                <Notice word=words::LOCKED_PHONE_WORD words=words::LOCKED_PHONE testid="locked-phone">
                    <Key label=words::UNDERSTOOD on_press=move |()| app.prefer(|prefs| prefs.locked_phone_said = true) testid="understood" />
                </Notice>
            </Show>
            <Show when=move || verdict.with(Result::is_err)>
                <Notice says=Says::Warning word=words::REFUSED words=Signal::derive(why_not) testid="why-not">
                    <div class="keys">
                        {remedy}
                        <Key label=words::SOMETHING_WRONG on_press=move |()| app.go(Route::Form(Form::Visual(position))) testid="visual" />
                    </div>
                </Notice>
            </Show>
            {move || facts.with(|facts| facts.as_ref().map(|f| f.warnings.clone()).unwrap_or_default()).into_iter().map(|warning| {
                view! { <Notice says=Says::Warning word=words::TROUBLE words=warning /> }
            }).collect_view()}
            <Show when=move || !never.get()>
                <Asked position questions />
                {move || known().into_iter().map(|words| view! {
                    <Notice says=Says::Warning word=words::TROUBLE words testid="known-before" />
                }).collect_view()}
                {move || enter().map(|(label, place)| view! {
                    <div class="section-body keys">
                        <Key label on_press=move |()| app.go(place) testid="enter-missing" />
                    </div>
                })}
            </Show>
            <div class="keys">
                <Key label=NOT_TESTED on_press=move |()| app.go(Route::Form(Form::NotTested(position))) testid="not-tested" />
                {move || next.get().map(|(id, tag)| view! {
                    <Key label=words::skip_to(&tag) on_press=move |()| app.go(Route::Before(id)) testid="skip" />
                })}
                <Key label=OTHER_METHOD on_press=move |()| app.go(Route::Form(Form::OtherMethod(position))) testid="other-method" />
            </div>
            <Begin position answers allowed=Signal::derive(move || verdict.with(Result::is_ok)) />
        </div>
    }
}

/// What is known where the questions are made.
fn asking<T>(app: App, position: Id, with: impl FnOnce(&Asking<'_>) -> T) -> T {
    app.register.with(|register| {
        app.kit.with(|kit| {
            let marking = register.positions.get(&position).and_then(|position| register.marking_of(position));
            with(&Asking { kit, register, visit: None, marking, unit: app.unit() })
        })
    })
}

fn questions(app: App, position: Id, answers: RwSignal<Answers>) -> Questions {
    let put = move |(key, text): (&'static str, String)| {
        untrack(|| asking(app, position, |asking| answers.update(|answers| answers.put(key, &text, asking))));
    };
    Questions {
        parts: memo(move || asking(app, position, |asking| answers.with(|answers| answers.questions(asking)))).into(),
        typed: memo(move || answers.with(Answers::typed)).into(),
        wrongs: memo(move || answers.with(Answers::wrongs)).into(),
        put: Callback::new(put),
    }
}

/// The questions; those about conditions and how trips are seen are folded, with their answers on the fold.
#[component]
fn asked(position: Id, questions: Questions) -> impl IntoView {
    let app = use_app();
    let title = move |at: usize| Signal::derive(move || questions.parts.with(|parts| parts[at].title.clone()));
    let none = move |at: usize| questions.parts.with(|parts| parts[at].fields.is_empty());
    let no_heater = move || app.kit.with(|kit| kit.heaters.is_empty());
    view! {
        <Section title=words::BEFORE>
            <Fields questions at=0 />
            <Show when=no_heater>
                <div class="section-body">
                    <Key label=words::TO_REGISTER look=Look::Primary on_press=move |()| app.go(Route::Form(Form::Heater(None))) testid="add-heater" />
                </div>
            </Show>
        </Section>
        <Section title=words::VISUAL>
            <Fields questions at=1 />
            <div class="section-body keys">
                <Key label=words::SOMETHING_WRONG on_press=move |()| app.go(Route::Form(Form::Visual(position))) testid="something-wrong" />
            </div>
        </Section>
        <Show when=move || !none(2)>
            <Section title=words::RATE_FUNCTION><Fields questions at=2 /></Section>
        </Show>
        <Fold title=title(3) testid="conditions"><Fields questions at=3 /></Fold>
        <Fold title=title(4) testid="seeing"><Fields questions at=4 /></Fold>
    }
}

/// Why a test could not start now.
#[derive(Clone, Debug, PartialEq)]
struct No {
    words: String,
    remedy: Option<(&'static str, Route)>,
    /// Whether no answer below could change it.
    never: bool,
}

/// What is known of a test that may start, a sentence each, and where what is missing is entered.
type Allowed = (Vec<String>, Option<(&'static str, Route)>);

/// What is known of the test before it starts, or why it could not start now, by the same rules that start it.
fn verdict(app: App, position: Id, answers: &Answers) -> Result<Allowed, No> {
    let no = |words: &str| No { words: words.to_string(), remedy: None, never: false };
    if answers.ambient_reading().is_err() {
        return Err(no(words::NOT_A_NUMBER));
    }
    if answers.lag_ms().is_none() {
        return Err(no(words::NOT_A_LAG));
    }
    if answers.heater.is_none() {
        let remedy = Some((words::ADD_HEATER, Route::Form(Form::Heater(None))));
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
    started.map(|started| (remarks(&started), remarks_remedy(&started))).map_err(|refusal| {
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
            app.go(Route::Test(Some(test)));
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
