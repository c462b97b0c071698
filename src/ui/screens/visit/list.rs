//! The positions of a visit, and the results that are still to be said of each.

use crate::book::Id;
use crate::book::body::{Answer, Point};
use crate::book::command::Command;
use crate::browser::clock;
use crate::encoding::stored;
use crate::ui::app::{App, use_app};
use crate::ui::parts::{Badge, Key, Row, Rows, Section, Shape, Tone};
use crate::ui::screens::findings::drawn;
use crate::view::place::{Form, Place};
use crate::view::visit::{OpenResults, PositionRow, Standing};
use crate::view::words;
use leptos::prelude::*;

/// One area's positions.
#[component]
pub(super) fn one_area(area: String, rows: Vec<PositionRow>) -> impl IntoView {
    view! {
        <Section title=area.clone()>
            <Rows label=area>{rows.into_iter().map(|row| view! { <OnePosition row /> }).collect_view()}</Rows>
        </Section>
    }
}

#[component]
fn one_position(row: PositionRow) -> impl IntoView {
    let app = use_app();
    let (shape, tone) = match row.standing {
        Standing::Due => (Shape::Time, Tone::Plain),
        Standing::Running | Standing::Calculating => (Shape::Wait, Tone::Note),
        Standing::Tested(sign, _) => drawn(sign),
        Standing::Retest => (Shape::Again, Tone::Warn),
        Standing::DoNotHeat => (Shape::Alarm, Tone::Plain),
    };
    let place = row.running.map_or(Place::Before(row.id), |test| Place::Test(Some(test)));
    let testid = format!("position-{}", row.tag);
    let open = row.open.map(|open| results(app, &row.tag, open));
    view! {
        <Row title=row.tag detail=row.detail on_press=Callback::new(move |()| app.go(place)) testid>
            <Badge shape tone word=row.standing.words() />
        </Row>
        {open}
    }
}

/// What the last test leaves to be said, a key each: panel point, then restore.
fn results(app: App, tag: &str, open: OpenResults) -> AnyView {
    let panel = open.panel.map(|trip| {
        let key = |point: Point| {
            let say = move |()| drop(app.act(clock::now(), Command::SayPanel { trip, point, said: None }));
            let testid = format!("panel-{}-{tag}", stored::name(&point));
            view! { <Key label=words::point(point) on_press=say testid /> }
        };
        [Point::Right, Point::Wrong, Point::NotThere].map(key).collect_view()
    });
    let restore = open.restore.then(|| {
        let test: Id = open.test;
        let yes = move |()| {
            let now = clock::now();
            let happened = app.at(now).happened();
            drop(app.act(now, Command::SayRestore { test, restored: Answer::Yes, happened }));
        };
        view! {
            <Key label=words::RESTORED on_press=yes testid=format!("restored-{tag}") />
            <Key label=words::NOT_RESTORED on_press=move |()| app.go(Place::Form(Form::Restored(test))) testid=format!("not-restored-{tag}") />
        }
    });
    view! { <li class="row-keys keys" data-testid=format!("open-{tag}")>{panel} {restore}</li> }.into_any()
}
