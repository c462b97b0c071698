//! The Visit screen: opening and closing steps, the positions, start.

mod list;
mod steps;

use super::first::First;
use crate::book::body::{VisitPlan, VisitType};
use crate::book::command::Command;
use crate::book::visit::{Heading, headings};
use crate::browser::clock;
use crate::ui::app::use_app;
use crate::ui::follow::memo;
use crate::ui::parts::{Empty, Key, Look, Notice, PageHead, Row, Rows, Says, Section, Shape, Show};
use crate::view::place::{Form, Place};
use crate::view::visit::VisitScreen;
use crate::view::{time, words};
use leptos::prelude::*;
use list::OneArea;
use steps::{After, Before, Items};

/// The Visit place.
#[component]
pub(in crate::ui) fn visit() -> impl IntoView {
    let app = use_app();
    let screen = memo(move || {
        let unit = app.unit();
        app.visit.with(|visit| {
            let visit = visit.as_ref()?;
            let found = app.found(visit.id);
            let offset = clock::offset_minutes(visit.opened).into();
            let now = clock::now().wall_ms;
            Some(app.register.with(|register| {
                app.book
                    .with_untracked(|book| VisitScreen::of(book, register, visit, found.as_deref(), unit, offset, now))
            }))
        })
    });
    let first = memo(move || app.who.with(Option::is_none) || app.register.with(|register| register.sites.is_empty()));
    let open = memo(move || screen.with(Option::is_some));
    view! {
        {move || match (first.get(), open.get()) {
            (true, _) => view! { <First /> }.into_any(),
            (false, false) => view! { <Choose /> }.into_any(),
            (false, true) => view! { <Open screen /> }.into_any(),
        }}
    }
}

/// The way to people and settings.
#[component]
fn to_settings() -> impl IntoView {
    let app = use_app();
    view! {
        <Key
            label=words::SETTINGS
            look=Look::Plain
            icon=Shape::Adjust
            bare=true
            on_press=move |()| app.go(Place::Settings)
            testid="to-settings"
        />
    }
}

/// Sites to open a visit on, and visits there are.
#[component]
fn choose() -> impl IntoView {
    let app = use_app();
    let sites = move || {
        app.register.with(|register| {
            let named = register.sites.iter().filter_map(|(id, group)| Some((*id, group.now()?.name.clone())));
            named.collect::<Vec<_>>()
        })
    };
    let known = move || {
        app.track_visits();
        let visits = app.book.with_untracked(headings);
        app.register.with(|register| {
            let line = |visit: &Heading| {
                let site = register.sites.get(&visit.site).and_then(|group| group.now());
                let state = if visit.closed { words::CLOSED } else { words::OPEN };
                let opened = time::wall(visit.opened, clock::offset_minutes(visit.opened).into());
                (visit.id, site.map(|site| site.name.clone()).unwrap_or_default(), format!("{opened} · {state}"))
            };
            visits.iter().map(line).collect::<Vec<_>>()
        })
    };
    let known = memo(known);
    let listed = memo(move || !app.all_here.get() || known.with(|known| !known.is_empty()));
    let open = move |site| {
        let visit = app.new_id();
        let plan = VisitPlan {
            visit_type: VisitType::Functional,
            scope_of_work: None,
            edition: None,
            rule_set: None,
            not_in_scope: None,
        };
        if app.act(clock::now(), Command::OpenVisit { visit, site, plan }).is_ok() {
            app.prefer(|prefs| prefs.visit = Some(visit));
        }
    };
    // Looking writes nothing: another phone's visit is taken part in with the first fact recorded in it.
    let look = move |visit| app.prefer(|prefs| prefs.visit = Some(visit));
    view! {
        <div class="page">
            <PageHead title=words::VISIT detail=words::NO_VISIT_WORDS><ToSettings /></PageHead>
            <Section title=words::OPEN_VISIT>
                <Rows label=words::OPEN_VISIT>
                    {move || sites().into_iter().map(|(id, name)| view! {
                        <Row title=name sign=Shape::Plus on_press=Callback::new(move |()| open(id)) testid="open-visit" />
                    }).collect_view()}
                </Rows>
            </Section>
            <Show when=move || listed.get()>
                <Section title=words::EARLIER_VISITS>
                    <Show when=move || !app.all_here.get()>
                        <p class="section-body soft" data-testid="still-reading">{words::STILL_READING}</p>
                    </Show>
                    <Rows label=words::EARLIER_VISITS>
                        {move || known.get().into_iter().map(|(id, name, detail)| view! {
                            <Row title=name detail sign=Shape::Visit on_press=Callback::new(move |()| look(id)) testid="other-visit" />
                        }).collect_view()}
                    </Rows>
                </Section>
            </Show>
        </div>
    }
}

#[component]
fn open(screen: Memo<Option<VisitScreen>>) -> impl IntoView {
    let app = use_app();
    let get = move |of: fn(&VisitScreen) -> String| {
        Signal::derive(move || screen.with(|screen| screen.as_ref().map(of).unwrap_or_default()))
    };
    let closed = memo(move || screen.with(|screen| screen.as_ref().is_some_and(|screen| screen.closed)));
    let bare = memo(move || screen.with(|screen| screen.as_ref().is_some_and(|screen| screen.areas.is_empty())));
    let areas = memo(move || screen.with(|screen| screen.as_ref().map(|s| s.areas.clone()).unwrap_or_default()));
    view! {
        <div class="page">
            <PageHead title=get(|s| s.site.clone()) detail=get(|s| words::visit_detail(s.visit_type, &s.opened, s.done))>
                <ToSettings />
                <Key
                    label=words::LEAVE_VISIT
                    look=Look::Plain
                    icon=Shape::More
                    bare=true
                    on_press=move |()| app.prefer(|prefs| prefs.visit = None)
                    testid="leave-visit"
                />
            </PageHead>
            <Show when=move || closed.get()>
                <Notice says=Says::Done word=words::CLOSED words=words::VISIT_CLOSED testid="visit-closed">
                    <Key label=words::REOPEN on_press=move |()| app.go(Place::Form(Form::Reopen)) testid="reopen" />
                </Notice>
            </Show>
            <Show when=move || !closed.get()>
                <Before screen />
            </Show>
            <Show when=move || bare.get()>
                <Empty shape=Shape::Register title=words::NO_DETECTORS words=words::NO_DETECTORS_WORDS>
                    <Key label=words::TO_REGISTER look=Look::Primary on_press=move |()| app.go(Place::Form(Form::Position(None))) testid="to-register" />
                </Empty>
            </Show>
            {move || areas.get().into_iter().map(|(area, rows)| view! { <OneArea area rows /> }).collect_view()}
            <Items screen />
            <Show when=move || !closed.get()>
                <After screen />
            </Show>
        </div>
    }
}
