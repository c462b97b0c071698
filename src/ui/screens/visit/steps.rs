//! Opening and closing steps of a visit.

use crate::book::body::{Told, Watcher};
use crate::book::command::Command;
use crate::book::entry::Hash;
use crate::browser::clock;
use crate::trade::caution;
use crate::ui::app::use_app;
use crate::ui::follow::memo;
use crate::ui::parts::{Badge, Choice, Field, Fold, Key, Look, Notice, Pick, Row, Rows, Says, Shape, Show, Tone};
use crate::view::visit::{ReleaseRow, VisitScreen, WatcherRow, out_of_service, watcher};
use crate::view::words;
use leptos::prelude::*;

/// What has to be right before the lift goes up.
#[component]
pub(super) fn before(screen: Memo<Option<VisitScreen>>) -> impl IntoView {
    let releases = memo(move || screen.with(|s| s.as_ref().map(|s| s.releases.clone()).unwrap_or_default()));
    let permit = memo(move || screen.with(|s| s.as_ref().is_some_and(|s| s.needs_permit)));
    let title = Signal::derive(move || screen.with(|s| s.as_ref().map(VisitScreen::before_up).unwrap_or_default()));
    // Open at the first look at a new visit; it must not fold away under a finger later.
    let first = Signal::stored(screen.with_untracked(|s| s.as_ref().is_some_and(VisitScreen::untouched)));
    view! {
        <Fold title=title open=first testid="before-up">
            <TellThem screen when=Told::Before />
            <Service screen />
            <div class="section-body">
                <h3>{words::CAUTIONS}</h3>
                    <ul class="cautions">
                        {caution::BEFORE_A_VISIT.iter().map(|caution| view! { <li>{caution.words} " " <small class="soft">{caution.source}</small></li> }).collect_view()}
                    </ul>
                    <p>{caution::DEFERS}</p>
            </div>
        </Fold>
        <Show when=move || !releases.with(Vec::is_empty)>
            <Securings releases />
        </Show>
        <Show when=move || permit.get()>
            <Permits screen />
        </Show>
    }
}

/// What has to be put back before the visit is closed.
#[component]
pub(super) fn after(screen: Memo<Option<VisitScreen>>) -> impl IntoView {
    let app = use_app();
    let close = move |()| {
        if let Some(visit) = screen.with_untracked(|s| s.as_ref().map(|s| s.id)) {
            drop(app.act(clock::now(), Command::CloseVisit { visit }));
        }
    };
    view! {
        <Fold title=words::AFTER testid="after">
            <TellThem screen when=Told::After />
            <div class="section-body">
                <Key label=words::CLOSE_VISIT wide=true on_press=close testid="close-visit" />
            </div>
        </Fold>
    }
}

#[component]
fn tell_them(screen: Memo<Option<VisitScreen>>, when: Told) -> impl IntoView {
    let app = use_app();
    let watchers = memo(move || screen.with(|s| s.as_ref().map(|s| s.watchers.clone()).unwrap_or_default()));
    let title = match when {
        Told::Before => words::TOLD_BEFORE,
        Told::After => words::TOLD_AFTER,
    };
    let tell = move |whom: Watcher| {
        if let Some(visit) = screen.with_untracked(|s| s.as_ref().map(|s| s.id)) {
            drop(app.act(clock::now(), Command::Tell { visit, whom, when, by: None }));
        }
    };
    let line = move |row: WatcherRow| {
        let done = match when {
            Told::Before => row.before,
            Told::After => row.after,
        };
        let (shape, tone, word) =
            if done { (Shape::Done, Tone::Good, words::TOLD) } else { (Shape::Open, Tone::Plain, words::NOT_TOLD) };
        view! {
            <Row
                title=watcher(row.whom)
                on_press=Callback::new(move |()| if !done { tell(row.whom) })
                testid=format!("tell-{}", words::slug(watcher(row.whom)))
            >
                <Badge shape tone word />
            </Row>
        }
    };
    view! {
        <div class="section-body"><h3>{title}</h3></div>
        <Rows label=title>{move || watchers.get().into_iter().map(line).collect_view()}</Rows>
    }
}

#[component]
fn service(screen: Memo<Option<VisitScreen>>) -> impl IntoView {
    let app = use_app();
    let outages = memo(move || screen.with(|s| s.as_ref().map(|s| s.outages.clone()).unwrap_or_default()));
    let take_out = move |()| {
        if let Some(visit) = screen.with_untracked(|s| s.as_ref().map(|s| s.id)) {
            drop(app.act(clock::now(), Command::TakeOut { visit, circuit: None }));
        }
    };
    let line = move |(outage, what, from): (Hash, String, i64)| {
        let clock = memo(move || out_of_service(from, app.now.get().wall_ms));
        view! {
            <Row title=what moving=Signal::derive(move || words::out_since(&clock.get().0))>
                <Key label=words::PUT_BACK on_press=move |()| drop(app.act(clock::now(), Command::PutBack { outage })) testid="put-back" />
            </Row>
            <Show when=move || clock.get().1>
                <Notice says=Says::Warning word=words::SERVICE words=words::OUT_LONG />
            </Show>
        }
    };
    view! {
        <div class="section-body"><h3>{words::SERVICE}</h3></div>
        <Rows label=words::SERVICE>{move || outages.get().into_iter().map(line).collect_view()}</Rows>
        <Show when=move || outages.with(Vec::is_empty)>
            <div class="section-body"><Key label=words::TAKE_OUT wide=true on_press=take_out testid="take-out" /></div>
        </Show>
    }
}

#[component]
fn securings(releases: Memo<Vec<ReleaseRow>>) -> impl IntoView {
    let app = use_app();
    let by = RwSignal::new(String::new());
    let turn = move |row: ReleaseRow| {
        let now = clock::now();
        let Some(visit) = app.prefs.with_untracked(|prefs| prefs.visit) else { return };
        let Ok(person) = app.person_named(now, &by.get_untracked()) else { return };
        let command = match row.secured {
            Some(securing) => Command::Restore { securing, by: person },
            None => Command::Secure { visit, release: row.release, by: person },
        };
        drop(app.act(now, command));
    };
    let line = move |row: ReleaseRow| {
        let (label, testid) = match row.secured {
            Some(_) => (words::RESTORE_IT, format!("restore-{}", words::slug(&row.release))),
            None => (words::SECURE_IT, format!("secure-{}", words::slug(&row.release))),
        };
        let given = row.clone();
        view! {
            <Row title=row.release detail=row.detail>
                <Key label on_press=move |()| turn(given.clone()) testid />
            </Row>
        }
    };
    view! {
        <Fold title=Signal::derive(move || releases.with(|rows| words::secure(rows.iter().filter(|row| row.secured.is_none()).count()))) testid="secure">
            <Field id="by-whom" label=words::BY_WHOM value=by on_input=move |text: String| by.set(text) help=words::BY_WHOM_HELP />
            <Rows label=words::SECURE>{move || releases.get().into_iter().map(line).collect_view()}</Rows>
        </Fold>
    }
}

/// Hours a permit may be recorded for.
const HOURS: [&str; 4] = ["1", "4", "8", "12"];

#[component]
fn permits(screen: Memo<Option<VisitScreen>>) -> impl IntoView {
    let app = use_app();
    let (number, gas, hours) =
        (RwSignal::new(String::new()), RwSignal::new(String::new()), RwSignal::new("4".to_string()));
    let have = memo(move || screen.with(|s| s.as_ref().map(|s| s.permits.clone()).unwrap_or_default()));
    let picks = Signal::stored(HOURS.map(|hours| Pick::new(hours, &words::hours(hours))).to_vec());
    let take = move |()| {
        let now = clock::now();
        let Some(visit) = app.prefs.with_untracked(|prefs| prefs.visit) else { return };
        let held = hours.with_untracked(|hours| hours.parse::<i64>().unwrap_or(1));
        let command = Command::TakePermit {
            visit,
            area: None,
            number: crate::browser::text::nfc(number.get_untracked().trim()),
            gas_test: crate::browser::text::nfc(gas.get_untracked().trim()),
            tested_at: now.wall_ms,
            until: now.wall_ms + held * 3_600_000,
        };
        if app.act(now, command).is_ok() {
            number.set(String::new());
            gas.set(String::new());
        }
    };
    view! {
        <Fold title=Signal::derive(move || have.with(|have| words::permits(have.len()))) testid="permit">
            <div class="section-body">{move || have.get().into_iter().map(|line| view! { <p>{line}</p> }).collect_view()}</div>
            <Field id="permit-number" label=words::PERMIT_NUMBER value=number on_input=move |text: String| number.set(text) />
            <Field id="gas-test" label=words::GAS_TEST value=gas on_input=move |text: String| gas.set(text) help=words::GAS_TEST_HELP />
            <Choice id="permit-hours" label=words::PERMIT_HOURS picks value=hours on_pick=move |picked: String| hours.set(picked) across=true />
            <div class="section-body"><Key label=words::TAKE_PERMIT look=Look::Primary on_press=take testid="take-permit" /></div>
        </Fold>
    }
}
