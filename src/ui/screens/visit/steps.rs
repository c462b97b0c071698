//! Opening and closing steps of a visit, and the items found in it.

use crate::book::Id;
use crate::book::body::NotifyWhen;
use crate::book::command::Command;
use crate::book::visit::Station;
use crate::browser::clock;
use crate::encoding::stored;
use crate::trade::caution;
use crate::ui::app::use_app;
use crate::ui::follow::memo;
use crate::ui::parts::{Badge, Fold, Key, Look, Notice, Row, Rows, Says, Section, Shape, Sheet, Show, Tone};
use crate::view::place::{Form, Place};
use crate::view::visit::{ImpairedRow, ItemRow, NotifyRow, ReleaseRow, VisitScreen, impaired_for};
use crate::view::words;
use leptos::prelude::*;

/// What has to be right before the lift goes up.
#[component]
pub(super) fn before(screen: Memo<Option<VisitScreen>>) -> impl IntoView {
    let app = use_app();
    let title = Signal::derive(move || screen.with(|s| s.as_ref().map(VisitScreen::before_up).unwrap_or_default()));
    // Open at the first look at a new visit; it must not fold away under a finger later.
    let first = Signal::stored(screen.with_untracked(|s| s.as_ref().is_some_and(VisitScreen::is_untouched)));
    let station = memo(move || screen.with(|s| s.as_ref().map(|s| s.station)));
    let releases = memo(move || screen.with(|s| s.as_ref().map(|s| s.releases.clone()).unwrap_or_default()));
    let unknown = memo(move || screen.with(|s| s.as_ref().map_or(0, |s| s.releases_unknown)));
    let classified = memo(move || screen.with(|s| s.as_ref().map(|s| s.classified.clone()).unwrap_or_default()));
    view! {
        <Show when=move || matches!(station.get(), Some(Station::Lapsed { .. }))>
            <Notice says=Says::Alarm word=words::STATION_LAPSED_WORD words=words::STATION_LAPSED testid="station-lapsed" />
        </Show>
        <Fold title=title open=first testid="before-up">
            <Notified screen when=NotifyWhen::Before />
            <Impairments screen />
            <div class="keys">
                <Key label=words::PLAN icon=Shape::Pen on_press=move |()| app.go(Place::Form(Form::Plan)) testid="plan" />
            </div>
            <div class="section-body">
                <h3>{words::CAUTIONS}</h3>
                <ul class="cautions">
                    {caution::BEFORE_A_VISIT.iter().map(|caution| view! { <li>{caution.words} " " <small class="soft">{caution.source}</small></li> }).collect_view()}
                </ul>
                <p>{caution::DEFERS}</p>
            </div>
        </Fold>
        <Show when=move || !releases.with(Vec::is_empty) || (unknown.get() > 0)>
            <Releases releases unknown />
        </Show>
        <Show when=move || !classified.with(Vec::is_empty)>
            <Permits screen classified />
        </Show>
    }
}

/// What has to be put back before the visit is closed.
#[component]
pub(super) fn after(screen: Memo<Option<VisitScreen>>) -> impl IntoView {
    let app = use_app();
    let asks = RwSignal::new(false);
    let points = memo(move || screen.with(|s| s.as_ref().map(|s| s.open_points.clone()).unwrap_or_default()));
    let close = move |()| {
        asks.set(false);
        if let Some(visit) = screen.with_untracked(|s| s.as_ref().map(|s| s.id)) {
            drop(app.act(clock::now(), Command::CloseVisit { visit }));
        }
    };
    let ask = move |()| if points.with(Vec::is_empty) { close(()) } else { asks.set(true) };
    view! {
        <Fold title=words::AFTER testid="after">
            <Notified screen when=NotifyWhen::After />
            <div class="section-body">
                <Key label=words::CLOSE_VISIT wide=true on_press=ask testid="close-visit" />
            </div>
        </Fold>
        <Sheet title=words::STILL_OPEN open=asks close=words::BACK on_close=move |()| asks.set(false) testid="still-open">
            <Rows label=words::STILL_OPEN>
                {move || points.get().into_iter().map(|point| view! { <Row title=point sign=Shape::Open testid="open-point" /> }).collect_view()}
            </Rows>
            <div class="keys">
                <Key label=words::CLOSE_ANYWAY look=Look::Danger wide=true on_press=close testid="close-anyway" />
            </div>
        </Sheet>
    }
}

#[component]
fn notified(screen: Memo<Option<VisitScreen>>, when: NotifyWhen) -> impl IntoView {
    let app = use_app();
    let rows = memo(move || {
        let of = |s: &VisitScreen| s.notify.iter().filter(|row| row.when == when).cloned().collect::<Vec<_>>();
        screen.with(|s| s.as_ref().map(of).unwrap_or_default())
    });
    let title = match when {
        NotifyWhen::Before => words::TOLD_BEFORE,
        NotifyWhen::After => words::TOLD_AFTER,
    };
    let line = move |row: NotifyRow| {
        let NotifyRow { whom, form, said, entry, .. } = row;
        let (shape, tone, word) = match said {
            Some(_) => (Shape::Done, Tone::Good, words::TOLD),
            None => (Shape::Open, Tone::Plain, words::NOT_TOLD),
        };
        let undo = entry.map(|entry| {
            let name = words::whom(whom).to_string();
            let undo = move |()| drop(app.undo(entry, name.clone()));
            let testid = format!("undo-notify-{}", stored::name(&whom));
            view! { <li class="row-keys keys"><Key label=words::UNDO icon=Shape::Undo on_press=undo testid /></li> }
        });
        view! {
            <Row
                title=words::whom(whom)
                detail=said.unwrap_or_default()
                on_press=Callback::new(move |()| app.go(Place::Form(form)))
                testid=format!("notify-{}-{}", stored::name(&when), stored::name(&whom))
            >
                <Badge shape tone word />
            </Row>
            {undo}
        }
    };
    let listed = move |listed: bool| rows.get().into_iter().filter(|row| row.listed == listed).map(line).collect_view();
    view! {
        <div class="section-body"><h3>{title}</h3></div>
        <Rows label=title>{move || listed(true)}</Rows>
        <Fold title=words::OTHERS testid=format!("others-{}", stored::name(&when))>
            <Rows label=words::OTHERS>{move || listed(false)}</Rows>
        </Fold>
    }
}

#[component]
fn impairments(screen: Memo<Option<VisitScreen>>) -> impl IntoView {
    let app = use_app();
    let impaired = memo(move || screen.with(|s| s.as_ref().map(|s| s.impaired.clone()).unwrap_or_default()));
    let line = move |row: ImpairedRow| {
        let ImpairedRow { hash, what, from, detail } = row;
        let clock = memo(move || impaired_for(from, app.now.get().wall_ms));
        view! {
            <Row title=what detail moving=Signal::derive(move || words::out_since(&clock.get().0))>
                <Key label=words::PUT_BACK on_press=move |()| app.go(Place::Form(Form::Restore(hash))) testid="put-back" />
            </Row>
            <Show when=move || clock.get().1>
                <Notice says=Says::Warning word=words::SERVICE words=words::OUT_LONG />
            </Show>
        }
    };
    view! {
        <div class="section-body"><h3>{words::SERVICE}</h3></div>
        <Rows label=words::SERVICE>{move || impaired.get().into_iter().map(line).collect_view()}</Rows>
        <div class="keys">
            <Key label=words::TAKE_OUT on_press=move |()| app.go(Place::Form(Form::Impair)) testid="take-out" />
        </div>
    }
}

#[component]
fn releases(releases: Memo<Vec<ReleaseRow>>, unknown: Memo<usize>) -> impl IntoView {
    let app = use_app();
    let line = move |row: ReleaseRow| {
        let ReleaseRow { release, secured, form, detail } = row;
        let (label, testid) = match secured {
            Some(_) => (words::RESTORE_IT, format!("restore-{}", words::slug(&release))),
            None => (words::SECURE_IT, format!("secure-{}", words::slug(&release))),
        };
        view! {
            <Row title=release detail>
                <Key label on_press=move |()| app.go(Place::Form(form)) testid />
            </Row>
        }
    };
    let open = move || releases.with(|rows| rows.iter().filter(|row| row.secured.is_none()).count());
    view! {
        <Fold title=Signal::derive(move || words::secure(open())) testid="secure">
            <Show when=move || { unknown.get() > 0 }>
                <Notice
                    says=Says::Warning
                    word=words::RELEASES_UNKNOWN_WORD
                    words=Signal::derive(move || words::releases_unknown(unknown.get()))
                    testid="releases-unknown"
                />
            </Show>
            <Rows label=words::SECURE>{move || releases.get().into_iter().map(line).collect_view()}</Rows>
        </Fold>
    }
}

#[component]
fn permits(screen: Memo<Option<VisitScreen>>, classified: Memo<Vec<(Option<Id>, String)>>) -> impl IntoView {
    let app = use_app();
    let have = memo(move || screen.with(|s| s.as_ref().map(|s| s.permits.clone()).unwrap_or_default()));
    let area = move |(id, name): (Option<Id>, String)| {
        let approval = id.map(|id| {
            view! { <Key label=words::CHECK_APPROVAL on_press=move |()| app.go(Place::Form(Form::Approval(id))) testid="approval" /> }
        });
        view! {
            <Row title=name sign=Shape::Warning testid="classified" />
            <li class="row-keys keys">
                <Key label=words::TAKE_PERMIT on_press=move |()| app.go(Place::Form(Form::Permit(id))) testid="permit" />
                {approval}
            </li>
        }
    };
    view! {
        <Fold title=Signal::derive(move || words::permits(have.with(Vec::len))) testid="permits">
            <Rows label=words::PERMIT>
                {move || have.get().into_iter().map(|line| view! { <Row title=line sign=Shape::Done testid="permit-line" /> }).collect_view()}
                {move || classified.get().into_iter().map(area).collect_view()}
            </Rows>
        </Fold>
    }
}

/// Everything found, open items first.
#[component]
pub(super) fn items(screen: Memo<Option<VisitScreen>>) -> impl IntoView {
    let app = use_app();
    let rows = memo(move || screen.with(|s| s.as_ref().map(|s| s.items.clone()).unwrap_or_default()));
    let line = move |row: ItemRow| {
        let ItemRow { hash, title, detail, open } = row;
        let sign = if open { Shape::Warning } else { Shape::Done };
        view! { <Row title detail sign on_press=Callback::new(move |()| app.go(Place::Form(Form::Item(hash)))) testid="item" /> }
    };
    view! {
        <Show when=move || !rows.with(Vec::is_empty)>
            <Section title=words::ITEMS>
                <Rows label=words::ITEMS>{move || rows.get().into_iter().map(line).collect_view()}</Rows>
            </Section>
        </Show>
    }
}
