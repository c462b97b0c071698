//! The tests of the visit by area, what to retest, and what is wrong.

use super::{Opens, drawn};
use crate::book::Id;
use crate::browser::next_piece;
use crate::findings::VisitFindings;
use crate::ui::app::{App, use_app};
use crate::ui::follow::memo;
use crate::ui::parts::{
    Badge, Dot, Dots, Empty, Fold, Key, Look, Notice, PageHead, Plot, Row, Rows, Says, Section, Shape,
};
use crate::ui::screens::computed::ToComputed;
use crate::units::Degree;
use crate::view::findings::family::{FamilyView, MemberRow, NUMBERS};
use crate::view::findings::one::CAUTION;
use crate::view::findings::{self as words, AreaTests, FindingRow, FindingsScreen, RetestRow};
use crate::view::place::{Form, Place};
use crate::view::visit::ItemRow;
use leptos::prelude::*;
use std::sync::Arc;

/// Lines drawn in one task, so that a tap has its turn between.
const ROWS: usize = 8;

/// The list; `picked` is the test that is shown in full.
#[component]
pub(super) fn list(picked: Memo<Option<Id>>) -> impl IntoView {
    let app = use_app();
    let screen = memo(move || {
        app.visit.with(|visit| {
            let visit = visit.as_ref()?;
            let found = app.found(visit.id)?;
            let screen = app.register.with(|register| FindingsScreen::of(register, visit, &found));
            Some((screen, found))
        })
    });
    let working = move || screen.with(Option::is_none) && app.visit.with(Option::is_some);
    let detail = Signal::derive(move || {
        screen.with(|screen| screen.as_ref().map(|(s, _)| s.detail.clone()).unwrap_or_default())
    });
    view! {
        <div class="page long" data-testid="findings">
            <PageHead title=words::TITLE detail />
            {move || match screen.get() {
                Some((screen, found)) if !(screen.areas.is_empty() && screen.items.is_empty()) => {
                    filled(app, screen, found, picked)
                }
                _ if working() => working_out(),
                _ => view! {
                    <Empty shape=Shape::Findings title=words::NOTHING.0 words=words::NOTHING.1>
                        <Key
                            label=words::TO_VISIT
                            look=Look::Primary
                            on_press=move |()| app.go(Place::Visit)
                            testid="to-visit"
                        />
                    </Empty>
                }
                .into_any(),
            }}
        </div>
    }
}

/// Shown until every number is there.
pub(super) fn working_out() -> AnyView {
    view! { <Notice word=words::WORKING.0 words=words::WORKING.1 testid="findings-working" /> }.into_any()
}

fn filled(app: App, screen: FindingsScreen, found: Arc<VisitFindings>, picked: Memo<Option<Id>>) -> AnyView {
    let FindingsScreen { retest, items, areas, .. } = screen;
    let open = items.iter().filter(|row| row.open).count();
    view! {
        {(!retest.is_empty()).then(|| view! {
            <Section title=words::RETEST at=retest.len().to_string()>
                <Rows label=words::RETEST>
                    {few_by_few(Arc::new(retest), 0, move |row| retest_row(app, row))}
                </Rows>
            </Section>
        })}
        {(!items.is_empty()).then(|| view! {
            <Section title=words::ITEMS at=open.to_string()>
                <Rows label=words::ITEMS>{few_by_few(Arc::new(items), 0, move |row| item(app, row))}</Rows>
            </Section>
        })}
        {from_area(&Arc::new(Pieces { app, areas, found, unit: app.unit(), picked }), 0)}
    }
    .into_any()
}

fn retest_row(app: App, row: RetestRow) -> AnyView {
    let RetestRow { position, tag, why } = row;
    let testid = format!("retest-{tag}");
    view! {
        <Row
            title=tag
            detail=why
            sign=Shape::Again
            on_press=Callback::new(move |()| app.go(Place::Before(position)))
            testid
        />
    }
    .into_any()
}

fn item(app: App, row: ItemRow) -> AnyView {
    let ItemRow { hash, title, detail, open } = row;
    let sign = if open { Shape::Warning } else { Shape::Done };
    view! {
        <Row title detail sign on_press=Callback::new(move |()| app.go(Place::Form(Form::Item(hash)))) testid="item" />
    }
    .into_any()
}

/// What is drawn piece by piece: a visit of a thousand tests is no frame's work.
struct Pieces {
    app: App,
    areas: Vec<AreaTests>,
    found: Arc<VisitFindings>,
    unit: Degree,
    picked: Memo<Option<Id>>,
}

/// Draws one more piece, in a task of its own, once this view stands.
fn further(next: impl Fn() -> AnyView + Send + 'static) -> impl IntoView {
    let wanted = RwSignal::new(false);
    leptos::task::spawn_local(async move {
        next_piece().await;
        // Where the screen was left nobody waits for it.
        let _gone = wanted.try_set(true);
    });
    move || wanted.get().then(&next)
}

/// Rows from one on, a few in each task.
fn few_by_few<T: Clone + Send + Sync + 'static>(
    rows: Arc<Vec<T>>,
    from: usize,
    draw: impl Fn(T) -> AnyView + Copy + Send + 'static,
) -> AnyView {
    let here = rows.iter().skip(from).take(ROWS).cloned().map(draw).collect_view();
    let more = from + ROWS < rows.len();
    view! {
        {here}
        {more.then(|| further(move || few_by_few(Arc::clone(&rows), from + ROWS, draw)))}
    }
    .into_any()
}

/// An area: what stands side by side, then its tests, and after them each further one.
fn from_area(of: &Arc<Pieces>, place: usize) -> AnyView {
    let Some(area) = of.areas.get(place) else {
        return view! {
            <p class="section-body soft" data-testid="findings-end">{words::NO_PUBLISHED_TOLERANCE}</p>
            <ToComputed />
        }
        .into_any();
    };
    let app = of.app;
    let families = area.families(&of.found, of.unit).into_iter().map(|of| family(app, of)).collect_view();
    let (name, count, flag) = (area.name.clone(), area.count().to_string(), area.flag.clone());
    let drawn = RwSignal::new(false);
    let (rows, next) = (Arc::clone(of), Arc::clone(of));
    view! {
        <Section title=name.clone() at=count end=flag>
            {families}
            <Rows label=name>{further(move || from_row(&rows, (place, 0), drawn))}</Rows>
        </Section>
        {move || drawn.get().then(|| from_area(&next, place + 1))}
    }
    .into_any()
}

/// Some tests of an area, and each further few of them; says when all are drawn.
fn from_row(of: &Arc<Pieces>, (place, from): (usize, usize), drawn: RwSignal<bool>) -> AnyView {
    let (app, picked) = (of.app, of.picked);
    let rows = of.areas.get(place).map(|area| area.rows(&of.found, of.unit, from, ROWS)).unwrap_or_default();
    if rows.is_empty() {
        let _gone = drawn.try_set(true);
        return ().into_any();
    }
    let next = Arc::clone(of);
    view! {
        {rows.into_iter().map(|row| finding_row(app, row, picked)).collect_view()}
        {further(move || from_row(&next, (place, from + ROWS), drawn))}
    }
    .into_any()
}

/// A family side by side: the plot, its words, and every test in numbers for those who do not see or cannot tap it.
fn family(app: App, of: FamilyView) -> AnyView {
    let FamilyView { title, words, unlike, plot, legend, remarks, rows } = of;
    let tests: Vec<Id> = rows.iter().map(|row| row.test).collect();
    let pick = Callback::new(move |index: usize| {
        if let Some(test) = tests.get(index) {
            app.go(Place::Finding(*test));
        }
    });
    let dots = plot.dots.into_iter().map(|dot| Dot { at: dot.at, lane: dot.lane, name: dot.flag }).collect();
    let plot = Plot {
        label: plot.label,
        axis: plot.axis,
        ticks: plot.ticks,
        limits: plot.limits,
        median: plot.median,
        band: plot.band,
        dots,
    };
    let member = move |row: MemberRow| {
        let shape = if row.flagged { Shape::Again } else { Shape::Open };
        let testid = format!("member-{}", row.tag);
        view! {
            <Row
                title=row.tag
                detail=row.detail
                sign=shape
                on_press=Callback::new(move |()| app.go(Place::Finding(row.test)))
                testid
            />
        }
    };
    view! {
        <div class="family" data-testid="family">
            <h3>{title}</h3>
            <Dots of=plot on_pick=pick testid="dots" />
            <p class="soft">{legend}</p>
            {words.into_iter().map(|words| view! { <p data-testid="family-words">{words}</p> }).collect_view()}
            {unlike.into_iter().map(|words| view! { <p class="soft" data-testid="family-unlike">{words}</p> }).collect_view()}
        </div>
        {remarks.into_iter().map(|(words, of)| view! {
            <Notice says=Says::Warning word=CAUTION words testid="family-remark" />
            <Opens of testid="family-remark-figure" />
        }).collect_view()}
        <Fold title=NUMBERS testid="family-numbers">
            <Rows label=NUMBERS>{rows.into_iter().map(member).collect_view()}</Rows>
        </Fold>
    }
    .into_any()
}

fn finding_row(app: App, row: FindingRow, picked: Memo<Option<Id>>) -> AnyView {
    let FindingRow { test, tag, sign, word, detail } = row;
    let (shape, tone) = drawn(sign);
    let testid = format!("finding-{tag}");
    view! {
        <Row
            title=tag
            detail
            sign=shape
            current=Signal::derive(move || picked.get() == Some(test))
            on_press=Callback::new(move |()| app.go(Place::Finding(test)))
            testid
        >
            <Badge shape word=word tone />
        </Row>
    }
    .into_any()
}
