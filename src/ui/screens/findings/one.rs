//! One test in full: every figure opens to formula, inputs and source.

use super::list::working_out;
use super::{Opens, drawn};
use crate::book::Id;
use crate::book::body::{Point, RetestWhy};
use crate::book::command::Command;
use crate::book::test::Test;
use crate::book::visit::Visit;
use crate::browser::clock;
use crate::encoding::stored;
use crate::ui::app::{App, use_app};
use crate::ui::follow::memo;
use crate::ui::parts::{
    Badge, Empty, Fold, Icon, Key, Look, Notice, PageHead, Row, Rows, Says, Section, Shape, Tick, Track, Undo,
};
use crate::ui::screens::test::{one_early, spans_of};
use crate::view::findings::one::{self as words, JudgementView, OneTest, ResultRow, TripRow, heading};
use crate::view::findings::said::Said;
use crate::view::findings::{NO_PUBLISHED_TOLERANCE, TITLE};
use crate::view::place::{Form, Place};
use crate::view::test::{LastMark, last_end};
use crate::view::words as texts;
use leptos::prelude::*;

/// A test; `beside` the list, or alone with a way back.
#[component]
pub(super) fn one(test: Id, beside: bool) -> impl IntoView {
    let app = use_app();
    // Nothing while the numbers are worked out, and nothing within where the test is not known.
    let found = memo(move || {
        app.track_visits();
        let shown = app.visit.with(|visit| {
            let visit = visit.as_ref().filter(|visit| visit.tests.iter().any(|known| known.id == test))?;
            Some(full(app, visit, test))
        });
        shown.unwrap_or_else(|| {
            let other = app.book.with_untracked(|book| Visit::of(book, Test::of(book, test)?.visit));
            other.map_or(Some(None), |visit| full(app, &visit, test))
        })
    });
    view! {
        <section class="page" data-testid="finding">
            {move || match found.get() {
                None => working_out(),
                Some(Some(one)) => whole(app, one, beside),
                Some(None) => view! { <Empty shape=Shape::Findings title=words::UNKNOWN.0 words=words::UNKNOWN.1 /> }.into_any(),
            }}
        </section>
    }
}

fn full(app: App, visit: &Visit, id: Id) -> Option<Option<OneTest>> {
    // What a test says among its neighbours takes the whole visit.
    let all = app.found(visit.id)?;
    let unit = app.unit();
    let test = visit.tests.iter().find(|test| test.id == id).zip(all.tests.iter().find(|found| found.test == id));
    Some(test.map(|(test, found)| {
        let offset = clock::offset_minutes(test.started_wall).into();
        let one = app.book.with_untracked(|book| OneTest::of(book, visit, test, found, unit, offset));
        one.among(found, &all.families, unit)
    }))
}

fn whole(app: App, one: OneTest, beside: bool) -> AnyView {
    let head = if beside {
        view! { <header class="page-head"><h2>{one.tag.clone()}</h2> <p>{one.detail.clone()}</p></header> }.into_any()
    } else {
        let back = Callback::new(move |()| app.go(Place::Findings));
        view! { <PageHead title=one.tag.clone() detail=one.detail.clone() back=TITLE on_back=back /> }.into_any()
    };
    let (shape, tone) = drawn(one.state.0);
    // What the headline says already is not said again.
    let said = one.headline.starts_with(one.state.1);
    let badge = (!said).then(|| view! { <Badge shape word=one.state.1 tone testid="state" /> });
    let trace = trace(&one);
    let result = results(&one);
    let keys = keys(app, &one);
    let ended = one.ended;
    let OneTest {
        test, headline, not_exercised, ask_early, trips, struck, notes, clock, late, conditions, items, ..
    } = one.clone();
    view! {
        {head}
        {undo_end(app, test)}
        <div class="headline" data-testid="headline">
            <p><Icon of=shape /> <b>{headline}</b></p>
            {badge}
        </div>
        {ask_early.map(|asked| one_early(app, asked))}
        {result}
        {(!not_exercised.is_empty()).then(|| view! { <p class="section-body soft" data-testid="not-exercised">{not_exercised}</p> })}
        {ended.then(|| view! { <Notice word=words::CAUTION words=words::STILL_HOT testid="still-hot" /> })}
        {keys}
        {trace}
        {(!trips.is_empty()).then(|| view! {
            <Section title=heading::TRIPS at=trips.len().to_string()>
                <Rows label=heading::TRIPS>{trips.into_iter().map(|row| trip(app, row)).collect_view()}</Rows>
            </Section>
        })}
        {lines(heading::STRUCK, struck, "struck")}
        <Fold title=heading::MEASURED testid="measured">{measured(one)}</Fold>
        {lines(heading::ITEMS, items.into_iter().map(ToString::to_string).collect(), "items")}
        {lines(heading::NOTES, notes, "notes")}
        {lines(heading::CLOCK, clock, "clock-notes")}
        {lines(heading::LATE, late, "late")}
        <Fold title=heading::CONDITIONS testid="conditions-fold">{self::conditions(conditions)}</Fold>
    }
    .into_any()
}

/// What the heater did over the test, with the trips on it.
fn trace(one: &OneTest) -> Option<AnyView> {
    let end = one.bands.last()?.to as f64 / 1_000.0;
    let ticks = one.ticks.iter().map(|(at, number, counted)| Tick {
        at: *at as f64 / 1_000.0,
        number: *number,
        counted: *counted,
    });
    let (spans, ticks) = (Signal::stored(spans_of(&one.bands)), Signal::stored(ticks.collect::<Vec<_>>()));
    let label = texts::trace(&one.tag, one.ticks.len());
    Some(view! { <div class="section-body"><Track label spans ticks now=end /></div> }.into_any())
}

/// Tripped, alarm at panel, restored.
fn results(one: &OneTest) -> AnyView {
    let row = |row: ResultRow| {
        let (shape, tone) = drawn(row.sign);
        view! {
            <Row title=row.title detail=row.why testid=format!("result-{}", row.name)>
                <Badge shape word=row.answer tone testid=format!("answer-{}", row.name) />
            </Row>
        }
    };
    let rows = one.results.clone();
    view! {
        <Section title=heading::RESULTS>
            <Rows label=heading::RESULTS>{rows.into_iter().map(row).collect_view()}</Rows>
        </Section>
    }
    .into_any()
}

/// What can be done about it.
fn keys(app: App, one: &OneTest) -> AnyView {
    let (test, position, listed) = (one.test, one.position, one.listed);
    let (ask_panel, ask_restore, may_judge, ended) = (one.ask_panel, one.ask_restore, one.may_judge, one.ended);
    let list = move |()| drop(app.act(clock::now(), Command::ListRetest { test, why: RetestWhy::Requested }));
    let listing = match listed {
        Some(entry) => {
            let undo = move |()| drop(app.undo(entry, words::LISTED.to_string()));
            view! {
                <div class="section-body" data-testid="listed">
                    <Undo words=words::LISTED.to_string() shape=Signal::stored(Shape::Again) act=texts::UNDO on_undo=undo />
                </div>
            }
            .into_any()
        }
        None => {
            view! { <Key label=words::LIST_RETEST icon=Shape::Again on_press=list testid="list-retest" /> }.into_any()
        }
    };
    let panel = ask_panel.map(|trip| {
        let key = move |point: Point| {
            let say = move |()| drop(app.act(clock::now(), Command::SayPanel { trip, point, said: None }));
            view! { <Key label=texts::point(point) on_press=say testid=format!("panel-{}", stored::name(&point)) /> }
        };
        view! {
            <div class="section-body"><p>{texts::PANEL_SHOWED}</p></div>
            <div class="keys">{[Point::Right, Point::Wrong, Point::NotThere].map(key).collect_view()}</div>
        }
    });
    let to = move |label: &'static str, place: Place, testid: &'static str| {
        view! { <Key label icon=Shape::Pen on_press=move |()| app.go(place) testid /> }
    };
    view! {
        {panel}
        <div class="keys">
            <Key
                label=words::RETEST_NOW
                look=Look::Primary
                icon=Shape::Test
                on_press=move |()| app.go(Place::Before(position))
                testid="retest-now"
            />
            {ask_restore.then(|| to(words::RESTORE, Place::Form(Form::Restored(test)), "say-restore"))}
            {may_judge.then(|| to(words::JUDGE, Place::Form(Form::Judge(test)), "judge"))}
            {ended.then(|| to(words::CORRECT, Place::Form(Form::Marking(test)), "correct-marking"))}
            {listing}
        </div>
    }
    .into_any()
}

/// Everything measured, one tap below the result.
fn measured(one: OneTest) -> AnyView {
    let OneTest { operating, judgements, settling, first, beside: among, far, restores, .. } = one;
    view! {
        <Section title=heading::OPERATING>
            {match operating {
                Ok(figures) => figures
                    .into_iter()
                    .zip(["operating-temperature", "expanded-uncertainty", "standard-uncertainty", "range", "lag"])
                    .map(|(of, testid)| view! { <Opens of testid /> })
                    .collect_view()
                    .into_any(),
                Err(why) => view! {
                    <Rows label=heading::OPERATING><Row title=why sign=Shape::Open testid="no-operating" /></Rows>
                }
                .into_any(),
            }}
        </Section>
        {lines(heading::FAR, far, "far-readings")}
        {judgements.into_iter().map(judgement).collect_view()}
        {said(heading::SETTLING, settling, "settling")}
        {said(heading::BESIDE, among, "beside")}
        {said(heading::FIRST, first, "first-trip")}
        {lines(heading::RESTORES, vec![restores], "restores")}
    }
    .into_any()
}

/// A test ends by the same mark as everything else, so its end is taken back by the same tap.
fn undo_end(app: App, test: Id) -> Option<AnyView> {
    let LastMark { entry, name, .. } = app.book.with_untracked(|book| {
        let test = Test::of(book, test).filter(|test| test.kept_by(app.phone()))?;
        let here = |visit: &Visit| visit.id == test.visit && visit.closed.is_empty();
        app.visit.with_untracked(|visit| visit.as_ref().filter(|visit| here(visit)).map(|_| ()))?;
        last_end(book, &test)
    })?;
    let said = texts::recorded(&name);
    let undo = move |()| {
        if app.undo(entry, name.clone()).is_ok() {
            app.go(Place::Test(Some(test)));
        }
    };
    Some(view! { <div class="section-body"><Undo words=said shape=Signal::stored(Shape::Done) act=texts::UNDO on_undo=undo /></div> }.into_any())
}

fn said(title: &'static str, said: Option<Said>, testid: &'static str) -> Option<AnyView> {
    let Said { words, figure, soft } = said?;
    Some(
        view! {
            <Section title>
                <p class="section-body" class:soft=soft data-testid=testid>{words}</p>
                {figure.map(|of| view! { <Opens of testid=format!("{testid}-figure") /> })}
            </Section>
        }
        .into_any(),
    )
}

fn trip(app: App, row: TripRow) -> AnyView {
    let TripRow { number, time, detail, reading, reading_of, mark } = row;
    let line = match reading {
        Some(mut shown) => {
            shown.label = format!("Trip {number} · {time} · {detail}");
            view! { <li><Opens of=shown testid=format!("found-trip-{number}") /></li> }.into_any()
        }
        None => view! {
            <Row title=format!("Trip {number} · {time}") detail at=number.to_string() testid=format!("found-trip-{number}") />
        }
        .into_any(),
    };
    let change = reading_of.map(|reading| {
        let change = move |()| app.go(Place::Form(Form::Reading(reading)));
        view! { <Key label=words::CHANGE_READING look=Look::Plain icon=Shape::Pen on_press=change testid=format!("change-reading-{number}") /> }
    });
    view! {
        {line}
        <li class="row-keys keys">
            {change}
            <Key
                label=words::NOT_A_TRIP
                look=Look::Plain
                icon=Shape::Close
                on_press=move |()| app.go(Place::Form(Form::Strike(mark)))
                testid=format!("not-a-trip-{number}")
            />
        </li>
    }
    .into_any()
}

fn judgement(one: JudgementView) -> AnyView {
    let JudgementView { title, reason, limits_from, limits, as_read, limit_result, missing, remarks } = one;
    let as_read = as_read.map(|(sign, word)| {
        let (shape, tone) = drawn(sign);
        view! {
            <Row title=words::AS_READ.0 detail=words::AS_READ.1 sign=shape>
                <Badge shape word=word tone testid="as-read" />
            </Row>
        }
    });
    let limit_result = limit_result.map(|(sign, word, p)| {
        let (shape, tone) = drawn(sign);
        let row = view! {
            <Row title=words::LIMIT_RESULT.0 detail=words::LIMIT_RESULT.1 sign=shape>
                <Badge shape word=word tone testid="limit-result" />
            </Row>
        };
        (row, view! { <Opens of=p testid="conformance" /> })
    });
    let (stated, p) = limit_result.unzip();
    let said = as_read.is_some() || stated.is_some();
    view! {
        <Section title>
            {(!reason.is_empty()).then(|| view! { <p class="section-body" data-testid="reason">{reason}</p> })}
            {said.then(|| view! { <Rows label=title>{as_read} {stated}</Rows> })}
            {p}
            {(!missing.is_empty()).then(|| view! {
                <Rows label=heading::MISSING>
                    <Row title=heading::MISSING sign=Shape::Open testid="missing" />
                    {missing.into_iter().map(|line| view! { <Row title="" detail=line testid="missing-line" /> }).collect_view()}
                </Rows>
            })}
            {limits.into_iter().map(|of| view! { <Opens of testid="limit" /> }).collect_view()}
            <p class="section-body" data-testid="limits-from">{limits_from}</p>
            {remarks.into_iter().map(|(words, of)| view! {
                <Notice says=Says::Warning word=words::CAUTION words testid="remark" />
                <Opens of testid="remark-figure" />
            }).collect_view()}
            <p class="section-body soft">{NO_PUBLISHED_TOLERANCE}</p>
        </Section>
    }
    .into_any()
}

fn lines(title: &'static str, lines: Vec<String>, testid: &'static str) -> Option<AnyView> {
    (!lines.is_empty()).then(|| {
        view! {
            <Section title>
                <Rows label=title>
                    {lines.into_iter().map(|line| view! { <Row title="" detail=line testid /> }).collect_view()}
                </Rows>
            </Section>
        }
        .into_any()
    })
}

fn conditions(conditions: Vec<(&'static str, String)>) -> AnyView {
    view! {
        <div class="section-body" data-testid="conditions">
            <dl class="inputs">
                {conditions.into_iter().map(|(name, value)| view! { <dt>{name}</dt> <dd>{value}</dd> }).collect_view()}
            </dl>
        </div>
    }
    .into_any()
}
