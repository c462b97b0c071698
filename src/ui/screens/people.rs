//! Who uses this phone, who has it now, and what it is called.

use crate::book::Id;
use crate::book::command::Command;
use crate::browser::clock;
use crate::ui::app::use_app;
use crate::ui::follow::memo;
use crate::ui::parts::{Badge, Key, Look, PageHead, Row, Rows, Section, Shape, Tone};
use crate::view::people::PeopleScreen;
use crate::view::place::{Form, Place};
use crate::view::words;
use leptos::prelude::*;

/// The people of this phone: a tap hands it over.
#[component]
pub(in crate::ui) fn people() -> impl IntoView {
    let app = use_app();
    let screen = memo(move || app.known_now(PeopleScreen::of));
    let hand = move |to: Id| {
        if app.act(clock::now(), Command::HandPhone { to }).is_ok() {
            app.go(Place::Visit);
        }
    };
    let line = move |(id, name, detail, has): (Id, String, String, bool)| {
        let badge = has.then(|| view! { <Badge shape=Shape::Done tone=Tone::Good word=words::HAS_PHONE /> });
        view! {
            <Row title=name.clone() detail sign=Shape::Pen on_press=Callback::new(move |()| hand(id)) testid=format!("person-{name}")>
                {badge}
            </Row>
            <li class="row-keys keys">
                <Key label=words::EDIT look=Look::Plain on_press=move |()| app.go(Place::Form(Form::Person(Some(id)))) testid=format!("edit-{name}") />
            </li>
        }
    };
    view! {
        <div class="page" data-testid="people">
            <PageHead title=words::PEOPLE detail=words::PEOPLE_WORDS back=words::BACK on_back=move |()| app.go(Place::Visit) />
            <Section title=words::WHO_HAS_PHONE>
                <Rows label=words::WHO_HAS_PHONE>{move || screen.get().people.into_iter().map(line).collect_view()}</Rows>
                <div class="keys">
                    <Key label=words::ADD_PERSON icon=Shape::Plus on_press=move |()| app.go(Place::Form(Form::Person(None))) testid="add-person" />
                </div>
            </Section>
            <Section title=words::THIS_PHONE>
                <Rows label=words::THIS_PHONE>
                    {move || view! {
                        <Row title=screen.get().phone sign=Shape::Pen on_press=Callback::new(move |()| app.go(Place::Form(Form::PhoneName))) testid="phone-name" />
                    }}
                </Rows>
            </Section>
        </div>
    }
}
