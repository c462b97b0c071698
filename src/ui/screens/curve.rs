//! The heat curves of a head: state in words, plot, parameters, ramps.

use super::findings::Opens;
use crate::book::Id;
use crate::book::command::Command;
use crate::browser::clock;
use crate::ui::app::{App, use_app};
use crate::ui::follow::memo;
use crate::ui::parts::plot::{Drawing, Plot, SIGNS, Scale};
use crate::ui::parts::{Badge, Empty, Key, Look, Notice, PageHead, Row, Rows, Section, Shape, Sheet, Tone};
use crate::ui::screens::register::Beside;
use crate::view::curve::{Axis, HeadCurves, ModeCurve, RampLine, Standing};
use crate::view::place::{Form, Place};
use crate::view::words;
use leptos::prelude::*;

/// The page of a head's curves.
#[component]
pub(in crate::ui) fn curve(head: Id) -> impl IntoView {
    let app = use_app();
    let curves = memo(move || app.curves(head));
    let opened: RwSignal<Option<RampLine>> = RwSignal::new(None);
    let back = move |()| app.go(Place::Form(Form::Head(Some(head))));
    view! {
        <Beside current=Form::Head(Some(head))>
        <div class="page" data-testid="curve">
            {move || match curves.get() {
                None => view! { <Empty shape=Shape::Run title=words::NO_CURVE_WORD words=words::CHOOSE_HEAD /> }.into_any(),
                Some(HeadCurves { name, modes, goes_on }) => view! {
                    <PageHead title=words::HEAT_CURVE detail=name back=words::BACK on_back=back />
                    {modes.into_iter().map(|mode| one_mode(mode, opened)).collect_view()}
                    {take(app, head, goes_on)}
                }
                .into_any(),
            }}
            <Sheet
                title=Signal::derive(move || opened.with(|line| line.as_ref().map(|line| line.title.clone()).unwrap_or_default()))
                open=Signal::derive(move || opened.with(Option::is_some))
                close=words::CLOSE
                on_close=move |()| opened.set(None)
                testid="ramp-details"
            >
                {move || opened.get().map(|line| details(app, line, opened))}
            </Sheet>
        </div>
        </Beside>
    }
}

/// What the form of a head says of its curves.
pub(in crate::ui) fn in_form(app: App, head: Id) -> AnyView {
    let curves = memo(move || app.curves(head));
    let rows = move |mode: ModeCurve| {
        let title = mode.mode.clone().map_or(mode.short.clone(), |name| format!("{name}: {}", mode.short));
        let open = Callback::new(move |()| app.go(Place::Curve(head)));
        let lines = mode.ramps.into_iter().map(move |ramp| row(ramp, open)).collect_view();
        view! {
            <Row title detail=mode.words.join(" ") sign=Shape::Findings on_press=open testid="to-curve" />
            {lines}
        }
    };
    view! {
        <Section title=words::HEAT_CURVE>
            {move || curves.get().map(|found| view! {
                <Rows label=words::HEAT_CURVE>{found.modes.into_iter().map(rows).collect_view()}</Rows>
                {take(app, head, found.goes_on)}
            })}
        </Section>
    }
    .into_any()
}

fn take(app: App, head: Id, goes_on: bool) -> AnyView {
    let label = if goes_on { words::TO_RAMP } else { words::TAKE_RAMP };
    let look = Look::Primary;
    view! {
        {goes_on.then(|| view! { <Notice word=words::RAMP_GOES_ON words=words::RAMP_GOES_ON_WORDS /> })}
        <div class="keys">
            <Key label look icon=Shape::Run wide=true on_press=move |()| app.go(Place::Ramp(head)) testid="take-ramp" />
        </div>
    }
    .into_any()
}

fn one_mode(of: ModeCurve, opened: RwSignal<Option<RampLine>>) -> AnyView {
    let ModeCurve { mode, short, words: said, figures, plot, ramps } = of;
    let title = mode.map_or(short.clone(), |mode| format!("{mode}: {short}"));
    let open = move |ramp: RampLine| {
        let given = ramp.clone();
        row(ramp, Callback::new(move |()| opened.set(Some(given.clone()))))
    };
    let listed = if ramps.is_empty() {
        view! { <p class="section-body soft">{words::NO_RAMPS}</p> }.into_any()
    } else {
        view! { <Rows label=words::RAMPS>{ramps.into_iter().map(open).collect_view()}</Rows> }.into_any()
    };
    let figure = |of: crate::view::findings::figure::Shown| {
        let testid = format!("figure-{}", words::slug(&of.label));
        view! { <Opens of testid /> }
    };
    view! {
        <Section title>
            <div class="section-body said" data-testid="curve-words">{said.into_iter().map(|line| view! { <p>{line}</p> }).collect_view()}</div>
            {plot.map(|plot| view! { <div class="section-body"><Plot drawing=drawing(plot) /></div> })}
        </Section>
        {(!figures.is_empty()).then(|| view! {
            <Section title=words::PARAMETERS>{figures.into_iter().map(figure).collect_view()}</Section>
        })}
        <Section title=words::RAMPS>{listed}</Section>
    }
    .into_any()
}

fn row(ramp: RampLine, open: Callback<()>) -> AnyView {
    let (shape, tone) = match ramp.standing {
        Standing::Used => (Shape::Done, Tone::Good),
        Standing::Refused => (Shape::Open, Tone::Warn),
        Standing::Older => (Shape::Time, Tone::Plain),
        Standing::NotUsable => (Shape::Fail, Tone::Bad),
        Standing::GoesOn => (Shape::Wait, Tone::Note),
    };
    let at = ramp.sign.map_or("", |sign| SIGNS[sign % SIGNS.len()]);
    view! {
        <Row title=ramp.title detail=ramp.detail at=at.to_string() on_press=open testid="ramp-line">
            <Badge shape tone word=ramp.standing.words() />
        </Row>
    }
    .into_any()
}

/// One ramp: readings, notes on its time, and what can still be said of it.
fn details(app: App, line: RampLine, opened: RwSignal<Option<RampLine>>) -> AnyView {
    let (id, standing) = (line.id, line.standing);
    let undo = move |target, usable: Option<bool>| {
        let now = clock::now();
        if app.act(now, Command::Undo { target }).is_ok() {
            if let Some(usable) = usable {
                drop(app.act(now, Command::EndRamp { ramp: id, usable }));
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
pub(super) fn drawing(of: crate::view::curve::Plot) -> Drawing {
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
