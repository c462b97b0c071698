//! The people of this phone.

use super::forms::Known;
use super::page::sign::{Look, Shape, Tone};
use super::page::{Action, Block, Button, Page, Row};
use super::route::{Form, Route};
use super::words;
use crate::book::Id;
use crate::book::body::Person;
use crate::book::command::Command;
use crate::book::versions::Versions;

/// Heading of those who no longer use this phone.
const GONE: &str = "No longer on this phone";

/// Everybody who uses this phone, by name: a tap hands it over.
pub fn page(known: Known<'_>) -> Page {
    let said = |hash| known.book.words(hash);
    let person = |(id, person, name): (Id, &Person, &str)| {
        let detail: Vec<&str> = [person.firm, person.license].into_iter().flatten().filter_map(said).collect();
        let hand = Action::give(Command::HandPhone { to: id }).then(Action::Go(Route::Visit));
        let edit = Button::to(format!("edit-{name}"), words::EDIT, Route::Form(Form::Person(Some(id))))
            .look(Look::Plain)
            .icon(Shape::Pen);
        let row = Row::new(format!("person-{name}"), name.to_string(), detail.join(" · ")).action(hand);
        let row = Row { buttons: vec![edit], ..row };
        if known.at.who == Some(id) { row.badge(Shape::Done, Tone::Good, words::HAS_PHONE) } else { row }
    };
    let people = known.kit.people_by_name(known.book).into_iter().map(person).collect();
    let phone = known.kit.phones.get(&known.at.phone).and_then(Versions::now);
    let phone = phone.and_then(|phone| said(phone.name)).unwrap_or(words::NO_PHONE_NAME).to_string();
    let add = Button::to("add-person", words::ADD_PERSON, Route::Form(Form::Person(None))).icon(Shape::Plus);
    let phone = Row::new("phone-name", phone, "").sign(Shape::Pen).to(Route::Form(Form::PhoneName));
    // Nobody is taken off for good: a slip of the finger is mended here.
    let gone = |(id, _, name): (Id, &Person, &str)| {
        Row::new(format!("person-{name}"), name.to_string(), "")
            .sign(Shape::Pen)
            .to(Route::Form(Form::Person(Some(id))))
    };
    let gone: Vec<Row> = known.kit.retired_by_name(known.book).into_iter().map(gone).collect();
    let gone = (!gone.is_empty()).then(|| Block::section("gone", GONE, vec![Block::rows(GONE, gone)]));
    Page {
        name: "people",
        title: words::PEOPLE.into(),
        detail: words::PEOPLE_WORDS.into(),
        back: Some(Button::back(words::BACK, Route::Visit)),
        blocks: vec![
            Block::section(
                "who",
                words::WHO_HAS_PHONE,
                vec![Block::rows(words::WHO_HAS_PHONE, people), Block::buttons(vec![add])],
            ),
            Block::section("phone", words::THIS_PHONE, vec![Block::rows(words::THIS_PHONE, vec![phone])]),
        ]
        .into_iter()
        .chain(gone)
        .collect(),
        ..Page::default()
    }
}
