//! The list of everything in the register.

use super::load_demo;
use crate::browser::{clock, persist};
use crate::ui::app::use_app;
use crate::ui::follow::memo;
use crate::ui::parts::{Badge, Empty, Key, Look, Row, Rows, Section, Shape, Show, Tone};
use crate::view::place::{Form, Place};
use crate::view::register::{AreaLines, Line, RegisterScreen, SiteLines};
use crate::view::words;
use leptos::prelude::*;
use leptos::task::spawn_local;

/// Something about one thing of the register, with the list beside it where there is room.
#[component]
pub(in crate::ui) fn beside(current: Form, children: Children) -> impl IntoView {
    view! {
        <div class="sides">
            <div class="page beside">
                <List current=Some(current) />
            </div>
            {children()}
        </div>
    }
}

/// Everything in the register; the line of the form that is open beside it is marked.
#[component]
pub(super) fn list(current: Option<Form>) -> impl IntoView {
    let app = use_app();
    let screen = memo(move || {
        let unit = app.unit();
        app.drafts.with(|drafts| app.known_now(|known| RegisterScreen::of(known, drafts, unit)))
    });
    // The form beside the list writes its draft at each key; only the lines follow that, not the whole list.
    let half_filled = memo(move || screen.with(|screen| screen.half_filled.clone()));
    let sites = memo(move || screen.with(|screen| screen.sites.clone()));
    let heaters = memo(move || screen.with(|screen| screen.heaters.clone()));
    let procedures = memo(move || screen.with(|screen| screen.procedures.clone()));
    view! {
        {move || some(words::HALF_FILLED, half_filled.get(), current)}
        {move || match sites.get() {
            sites if sites.is_empty() => view! { <NoSite /> }.into_any(),
            sites => sites.into_iter().map(|site| view! { <OneSite site current /> }).collect_view().into_any(),
        }}
        <Section title=words::HEATERS>
            {move || lines(words::HEATERS, words::NO_HEATER_WORDS, heaters.get(), current)}
            <div class="keys"><Add label=words::ADD_HEATER form=Form::Heater(None) testid="add-heater" /></div>
        </Section>
        <Section title=words::PROCEDURES>
            {move || lines(words::PROCEDURES, words::NO_PROCEDURE_WORDS, procedures.get(), current)}
            <div class="keys"><Add label=words::ADD_PROCEDURE form=Form::Procedure(None) testid="add-procedure" /></div>
        </Section>
        <Show when=move || !sites.with(Vec::is_empty)>
            <div class="keys"><Add label=words::ADD_SITE form=Form::Site(None) testid="add-site" /></div>
        </Show>
        <Kept />
    }
}

#[component]
fn no_site() -> impl IntoView {
    let app = use_app();
    // A refusal is shown above the screen by the one that acts.
    let demo = move |()| drop(load_demo(app, clock::now()));
    view! {
        <Empty shape=Shape::Register title=words::NO_SITE words=words::NO_SITE_WORDS>
            <Key label=words::ADD_SITE look=Look::Primary on_press=move |()| app.go(Place::Form(Form::Site(None))) testid="add-site" />
            <Key label=words::LOAD_DEMO on_press=demo testid="demo" />
        </Empty>
    }
}

#[component]
fn add(label: &'static str, form: Form, #[prop(into)] testid: String) -> impl IntoView {
    let app = use_app();
    view! { <Key label icon=Shape::Plus on_press=move |()| app.go(Place::Form(form)) testid /> }
}

#[component]
fn one_site(site: SiteLines, current: Option<Form>) -> impl IntoView {
    let SiteLines { site, id, areas, circuits, retired } = site;
    let name = site.title.clone();
    let bare = areas.is_empty().then(|| view! { <p class="soft">{words::NO_AREA_WORDS}</p> });
    view! {
        <Section title=name.clone()>
            <Rows label=name>{one(Line { title: words::SITE.to_string(), ..site }, current)}</Rows>
            {bare}
            <div class="keys">
                <Add label=words::ADD_AREA form=Form::Area(Some(id)) testid="add-area" />
                <Add label=words::ADD_CIRCUIT form=Form::Circuit(Some(id)) testid="add-circuit" />
            </div>
        </Section>
        {areas.into_iter().map(|area| view! { <OneArea area current /> }).collect_view()}
        {some(words::CIRCUITS, circuits, current)}
        {some(words::TAKEN_AWAY, retired, current)}
    }
}

#[component]
fn one_area(area: AreaLines, current: Option<Form>) -> impl IntoView {
    let app = use_app();
    let AreaLines { area, id, positions, last } = area;
    let name = area.title.clone();
    let clone = last.map(|(last, tag)| {
        let like = Place::Form(Form::PositionLike(last));
        view! { <Key label=words::another_like(&tag) icon=Shape::Clone on_press=move |()| app.go(like) testid="another" /> }
    });
    view! {
        <Section title=name.clone()>
            <Rows label=name>
                {one(Line { title: words::AREA.to_string(), ..area }, current)} {positions.into_iter().map(|line| one(line, current)).collect_view()}
            </Rows>
            <div class="keys">
                <Add label=words::ADD_DETECTOR form=Form::Position(Some(id)) testid="add-detector" /> {clone}
            </div>
        </Section>
    }
}

/// A section that is there only when it holds something.
fn some(title: &'static str, of: Vec<Line>, current: Option<Form>) -> impl IntoView {
    (!of.is_empty()).then(|| {
        view! {
            <Section title>
                <Rows label=title>{of.into_iter().map(|line| one(line, current)).collect_view()}</Rows>
            </Section>
        }
    })
}

fn lines(label: &'static str, none: &'static str, of: Vec<Line>, current: Option<Form>) -> AnyView {
    if of.is_empty() {
        return view! { <p class="soft">{none}</p> }.into_any();
    }
    view! { <Rows label>{of.into_iter().map(|line| one(line, current)).collect_view()}</Rows> }.into_any()
}

fn one(line: Line, current: Option<Form>) -> impl IntoView {
    let app = use_app();
    let Line { form, title, detail, flags, conflict } = line;
    let sign = match form {
        Form::Site(_) | Form::Area(_) | Form::Circuit(_) => Shape::Register,
        Form::Position(_) | Form::PositionLike(_) | Form::Marking(_) => Shape::Detector,
        Form::Heater(_) => Shape::Test,
        Form::Procedure(_) => Shape::Time,
        _ => Shape::Pen,
    };
    let testid = format!("line-{}", words::slug(&title));
    let flags = flags.into_iter().map(|word| view! { <Badge shape=Shape::Warning tone=Tone::Warn word /> });
    view! {
        <Row
            title
            detail
            sign=sign
            current=Signal::stored(current == Some(form))
            on_press=Callback::new(move |()| app.go(Place::Form(form)))
            testid
        >
            {flags.collect_view()}
            {conflict.then(|| view! { <Badge shape=Shape::Half tone=Tone::Bad word=words::CONFLICT /> })}
        </Row>
    }
}

/// Whether the browser promised to keep the data.
#[component]
fn kept() -> impl IntoView {
    let app = use_app();
    let promised = move || app.persisted.get() == Some(true);
    let line = move || {
        let (title, detail, sign) = match app.persisted.get() {
            Some(true) => (words::KEPT, words::KEPT_DETAIL, Shape::Lock),
            Some(false) => (words::NOT_KEPT, words::NOT_KEPT_DETAIL, Shape::Warning),
            None => (words::KEPT_UNKNOWN, words::NOT_KEPT_DETAIL, Shape::Warning),
        };
        view! { <Row title detail sign testid="kept" /> }
    };
    view! {
        <Section title=words::KEPT_TITLE>
            <Rows label=words::KEPT_TITLE>
                {line}
            </Rows>
            <Show when=move || !promised()>
                <div class="keys">
                    <Key label=words::ASK_TO_KEEP on_press=move |()| ask_to_keep(app) testid="ask-to-keep" />
                </div>
            </Show>
        </Section>
    }
}

/// Asks for the promise. To be called in a tap, because some browsers ask the person then.
pub(super) fn ask_to_keep(app: crate::ui::app::App) {
    spawn_local(async move { app.persisted.set(persist::persist().await) });
}
