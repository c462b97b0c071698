//! The heater profiles of a heater: state in words, plot, parameters, profile runs.

use super::findings::Opens;
use crate::book::Id;
use crate::book::command::Command;
use crate::browser::clock;
use crate::ui::app::{App, use_app};
use crate::ui::follow::memo;
use crate::ui::parts::plot::{Drawing, Plot, SIGNS, Scale};
use crate::ui::parts::{Badge, Empty, Key, Look, Notice, PageHead, Row, Rows, Section, Shape, Sheet, Tone};
use crate::ui::screens::register::Beside;
use crate::view::place::{Form, Place};
use crate::view::profile::{Axis, HeaterProfiles, ModeProfile, ProfileRunLine, Standing};
use crate::view::words;
use leptos::prelude::*;

/// The page of a heater's profiles.
#[component]
pub(in crate::ui) fn profile(heater: Id) -> impl IntoView {
    let app = use_app();
    let profiles = memo(move || app.profiles(heater));
    let opened: RwSignal<Option<ProfileRunLine>> = RwSignal::new(None);
    let back = move |()| app.go(Place::Form(Form::Heater(Some(heater))));
    view! {
        <Beside current=Form::Heater(Some(heater))>
        <div class="page" data-testid="profile">
            {move || match profiles.get() {
                None => view! { <Empty shape=Shape::Test title=words::NO_PROFILE_WORD words=words::CHOOSE_HEATER /> }.into_any(),
                Some(HeaterProfiles { name, modes, goes_on }) => view! {
                    <PageHead title=words::HEATER_PROFILE detail=name back=words::BACK on_back=back />
                    {modes.into_iter().map(|mode| one_mode(mode, opened)).collect_view()}
                    {take(app, heater, goes_on)}
                }
                .into_any(),
            }}
            <Sheet
                title=Signal::derive(move || opened.with(|line| line.as_ref().map(|line| line.title.clone()).unwrap_or_default()))
                open=Signal::derive(move || opened.with(Option::is_some))
                close=words::CLOSE
                on_close=move |()| opened.set(None)
                testid="profile-run-details"
            >
                {move || opened.get().map(|line| details(app, line, opened))}
            </Sheet>
        </div>
        </Beside>
    }
}

/// What the form of a heater says of its profiles.
pub(in crate::ui) fn in_form(app: App, heater: Id) -> AnyView {
    let profiles = memo(move || app.profiles(heater));
    let rows = move |mode: ModeProfile| {
        let title = mode.mode.clone().map_or(mode.short.clone(), |name| format!("{name}: {}", mode.short));
        let open = Callback::new(move |()| app.go(Place::Profile(heater)));
        let lines = mode.profile_runs.into_iter().map(move |profile_run| row(profile_run, open)).collect_view();
        view! {
            <Row title detail=mode.words.join(" ") sign=Shape::Findings on_press=open testid="to-profile" />
            {lines}
        }
    };
    view! {
        <Section title=words::HEATER_PROFILE>
            {move || profiles.get().map(|found| view! {
                <Rows label=words::HEATER_PROFILE>{found.modes.into_iter().map(rows).collect_view()}</Rows>
                {take(app, heater, found.goes_on)}
            })}
        </Section>
    }
    .into_any()
}

fn take(app: App, heater: Id, goes_on: bool) -> AnyView {
    let label = if goes_on { words::TO_PROFILE_RUN } else { words::TAKE_PROFILE_RUN };
    let look = Look::Primary;
    view! {
        {goes_on.then(|| view! { <Notice word=words::PROFILE_RUN_GOES_ON words=words::PROFILE_RUN_GOES_ON_WORDS /> })}
        <div class="keys">
            <Key label look icon=Shape::Test wide=true on_press=move |()| app.go(Place::ProfileRun(heater)) testid="take-profile-run" />
        </div>
    }
    .into_any()
}

fn one_mode(of: ModeProfile, opened: RwSignal<Option<ProfileRunLine>>) -> AnyView {
    let ModeProfile { mode, short, words: said, figures, plot, profile_runs } = of;
    let title = mode.map_or(short.clone(), |mode| format!("{mode}: {short}"));
    let open = move |profile_run: ProfileRunLine| {
        let given = profile_run.clone();
        row(profile_run, Callback::new(move |()| opened.set(Some(given.clone()))))
    };
    let listed = if profile_runs.is_empty() {
        view! { <p class="section-body soft">{words::NO_PROFILE_RUNS}</p> }.into_any()
    } else {
        view! { <Rows label=words::PROFILE_RUNS>{profile_runs.into_iter().map(open).collect_view()}</Rows> }.into_any()
    };
    let figure = |of: crate::view::findings::figure::Shown| {
        let testid = format!("figure-{}", words::slug(&of.label));
        view! { <Opens of testid /> }
    };
    view! {
        <Section title>
            <div class="section-body said" data-testid="profile-words">{said.into_iter().map(|line| view! { <p>{line}</p> }).collect_view()}</div>
            {plot.map(|plot| view! { <div class="section-body"><Plot drawing=drawing(plot) /></div> })}
        </Section>
        {(!figures.is_empty()).then(|| view! {
            <Section title=words::PARAMETERS>{figures.into_iter().map(figure).collect_view()}</Section>
        })}
        <Section title=words::PROFILE_RUNS>{listed}</Section>
    }
    .into_any()
}

fn row(profile_run: ProfileRunLine, open: Callback<()>) -> AnyView {
    let (shape, tone) = match profile_run.standing {
        Standing::Used => (Shape::Done, Tone::Good),
        Standing::Refused => (Shape::Open, Tone::Warn),
        Standing::Older => (Shape::Time, Tone::Plain),
        Standing::NotUsable => (Shape::Fail, Tone::Bad),
        Standing::GoesOn => (Shape::Wait, Tone::Note),
    };
    let at = profile_run.sign.map_or("", |sign| SIGNS[sign % SIGNS.len()]);
    view! {
        <Row title=profile_run.title detail=profile_run.detail at=at.to_string() on_press=open testid="profile-run-line">
            <Badge shape tone word=profile_run.standing.words() />
        </Row>
    }
    .into_any()
}

/// One profile run: readings, notes on its time, and what can still be said of it.
fn details(app: App, line: ProfileRunLine, opened: RwSignal<Option<ProfileRunLine>>) -> AnyView {
    let (id, standing) = (line.id, line.standing);
    let undo = move |target, usable: Option<bool>| {
        let now = clock::now();
        if app.act(now, Command::Undo { target }).is_ok() {
            if let Some(usable) = usable {
                drop(app.act(now, Command::EndProfileRun { run: id, usable }));
            }
            opened.set(None);
        }
    };
    let keys = line.ended.map(|target| {
        let used = matches!(standing, Standing::Used | Standing::Refused | Standing::Older);
        view! {
            <div class="keys">
                {used.then(|| view! {
                    <Key label=words::NOT_AFTER_ALL look=Look::Danger on_press=move |()| undo(target, Some(false)) testid="not-after-all" />
                })}
                <Key label=words::UNDO_END on_press=move |()| undo(target, None) testid="undo-end" />
            </div>
        }
    });
    let readings = line.readings.into_iter().map(|(at, value)| view! { <dt>{at}</dt> <dd>{value}</dd> });
    view! {
        <div class="section-body">
            <p>{line.detail}</p>
            {line.notes.into_iter().map(|note| view! { <p class="soft">{note}</p> }).collect_view()}
            <h3>{words::READINGS}</h3>
            <dl class="inputs">{readings.collect_view()}</dl>
        </div>
        {keys}
    }
    .into_any()
}

/// The plot as the part draws it.
pub(super) fn drawing(of: crate::view::profile::Plot) -> Drawing {
    let scale = |axis: Axis| Scale { from: axis.from, to: axis.to, ticks: axis.ticks };
    Drawing {
        label: of.label,
        across: scale(of.time),
        up: scale(of.temperature),
        off: scale(of.residual),
        lines: of.lines,
        dots: of.dots,
        offs: of.residuals,
        heads: (of.units.0.to_string(), format!("{}, {}", words::RESIDUALS, of.units.1)),
    }
}
