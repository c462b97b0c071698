//! One test in full: every figure opens to formula, inputs and source.

use super::list::working_out;
use super::{Opens, drawn};
use crate::book::Id;
use crate::book::body::RetestWhy;
use crate::book::command::Command;
use crate::book::test::Test;
use crate::book::visit::Visit;
use crate::browser::clock;
use crate::ui::app::{App, use_app};
use crate::ui::follow::memo;
use crate::ui::parts::{Badge, Empty, Key, Look, Notice, PageHead, Row, Rows, Says, Section, Shape, Undo};
use crate::view::findings::one::{self as words, JudgementView, OneTest, TripRow, heading};
use crate::view::findings::said::Said;
use crate::view::findings::{NO_PUBLISHED_TOLERANCE, TITLE};
use crate::view::place::{Form, Place};
use crate::view::test::last_end;
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
    let (shape, tone) = drawn(one.state.0);
    let heater = if beside {
        view! { <header class="page-head"><h2>{one.tag.clone()}</h2> <p>{one.detail.clone()}</p></header> }.into_any()
    } else {
        let back = Callback::new(move |()| app.go(Place::Findings));
        view! { <PageHead title=one.tag.clone() detail=one.detail.clone() back=TITLE on_back=back /> }.into_any()
    };
    let OneTest {
        test,
        detector,
        operated,
        operated_sign,
        operated_why,
        trips,
        operating,
        judgements,
        settling,
        first,
        beside: among,
        hot,
        ..
    } = one;
    let again = move |()| {
        // A refusal is shown above the screen.
        drop(app.act(clock::now(), Command::Retest { test, why: RetestWhy::Wanted }));
    };
    view! {
        {heater}
        {undo_end(app, test)}
        <Section title=heading::OPERATED>
            <Rows label=heading::OPERATED>
                <Row title=format!("Operated: {operated}") detail=operated_why sign=drawn(operated_sign).0 testid="operated">
                    <Badge shape word=one.state.1 tone testid="state" />
                </Row>
            </Rows>
        </Section>
        <Section title=heading::OPERATING>
            {match operating {
                Ok(figures) => figures
                    .into_iter()
                    .zip(["operating-temperature", "expanded-uncertainty", "standard-uncertainty", "range", "notice-delay"])
                    .map(|(of, testid)| view! { <Opens of testid /> })
                    .collect_view()
                    .into_any(),
                Err(why) => view! {
                    <Rows label=heading::OPERATING><Row title=why sign=Shape::Open testid="no-operating" /></Rows>
                }
                .into_any(),
            }}
        </Section>
        {lines(heading::FAR, one.far, "far-readings")}
        {said(heading::SETTLING, settling, "settling")}
        {judgements.into_iter().map(judgement).collect_view()}
        {said(heading::BESIDE, among, "beside")}
        {said(heading::FIRST, first, "first-trip")}
        {(!trips.is_empty()).then(|| view! {
            <Section title=heading::TRIPS at=trips.len().to_string()>
                <Rows label=heading::TRIPS>{trips.into_iter().map(trip).collect_view()}</Rows>
            </Section>
        })}
        {said(heading::HOT, Some(hot), "hot")}
        {lines(heading::RESTORES, vec![one.restores], "restores")}
        {lines(heading::FAULTS, one.faults.into_iter().map(ToString::to_string).collect(), "faults")}
        {lines(heading::NOTES, one.notes, "notes")}
        {lines(heading::CLOCK, one.clock, "clock-notes")}
        {lines(heading::LATE, one.late, "late")}
        {conditions(one.conditions)}
        <div class="keys">
            <Key
                label=words::TEST_AGAIN
                look=Look::Primary
                icon=Shape::Test
                on_press=move |()| app.go(Place::Before(detector))
                testid="test-again"
            />
            <Key label=words::LOOK_AGAIN icon=Shape::Again on_press=again testid="look-again" />
            {one.may_correct.then(|| view! {
                <Key label=words::CORRECT icon=Shape::Detector on_press=move |()| app.go(Place::Form(Form::Marking(test))) testid="correct-marking" />
            })}
        </div>
    }
    .into_any()
}

/// A test ends by the same mark as everything else, so its end is taken back by the same tap.
fn undo_end(app: App, test: Id) -> Option<AnyView> {
    let (target, name) = app.book.with_untracked(|book| {
        let test = Test::of(book, test).filter(|test| test.kept_by(app.phone()))?;
        app.visit
            .with_untracked(|visit| visit.as_ref().filter(|r| r.id == test.visit && r.closed.is_empty()).map(|_| ()))?;
        last_end(book, &test)
    })?;
    let undo = move |()| {
        if app.act(clock::now(), Command::Undo { target }).is_ok() {
            app.go(Place::Test(Some(test)));
        }
    };
    let said = texts::recorded(&name);
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

fn trip(row: TripRow) -> AnyView {
    let TripRow { number, time, detail, reading } = row;
    match reading {
        Some(mut shown) => {
            shown.label = format!("Trip {number} · {time} · {detail}");
            view! { <li><Opens of=shown testid=format!("found-trip-{number}") /></li> }.into_any()
        }
        None => view! {
            <Row title=format!("Trip {number} · {time}") detail at=number.to_string() testid=format!("found-trip-{number}") />
        }
        .into_any(),
    }
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
            <Row title=words::STATEMENT.0 detail=words::STATEMENT.1 sign=shape>
                <Badge shape word=word tone testid="limit_result" />
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
                <Notice says=Says::Warning word=words::TAKE_CARE words testid="remark" />
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
        <Section title=heading::CONDITIONS>
            <div class="section-body" data-testid="conditions">
                <dl class="inputs">
                    {conditions.into_iter().map(|(name, value)| view! { <dt>{name}</dt> <dd>{value}</dd> }).collect_view()}
                </dl>
            </div>
        </Section>
    }
    .into_any()
}
