//! Forms as data: what is asked, what was typed, what is wrong with it, which command it makes.
//!
//! A form is kept as the texts that were typed, so that a half-filled one survives as a draft; numbers keep the digits and the
//! unit in which they were typed. Names of people, reasons and notes leave a form as texts that become attachments. One renderer
//! draws every form from its [`Page`]. Reading order: this file, `reader`, `who`, then a form.

mod heater;
mod items;
mod marking;
mod off;
mod people;
mod permit;
mod place;
mod position;
mod procedure;
mod reader;
mod said;
mod steps;
mod ways;
mod who;

pub use marking::correction;
pub use position::counted_up;
pub(super) use steps::{step_number, visit_type};
pub use ways::{back, leads_back, next};

use super::place::Form;
use super::words;
use crate::book::Id;
use crate::book::command::{At, Command};
use crate::book::entry::Hash;
use crate::book::kit::Kit;
use crate::book::log::Book;
use crate::book::refusal::Refusal;
use crate::book::register::Register;
use crate::encoding::stored::Stored;
use crate::order;
use crate::units::Degree;
use serde_json::Value;
use std::collections::BTreeMap;

/// The names of one field: in a draft, on the page and for tests, on screen. The last is the one refusals use.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Name {
    /// In a draft.
    pub key: &'static str,
    /// On the page; unique there.
    pub id: &'static str,
    /// On screen.
    pub label: &'static str,
}

macro_rules! name {
    ($key:literal, $label:literal) => {
        $crate::view::forms::Name { key: $key, id: concat!("field-", $key), label: $label }
    };
}
use name;

/// The unit that the form's numbers are typed in; every form with numbers has it.
const UNIT: Name = name!("unit", "Numbers are in");

/// What stands in a form's fields, by key.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Typed(BTreeMap<String, String>);

impl Stored for Typed {
    fn to_value(&self) -> Value {
        self.0.to_value()
    }

    fn from_value(value: &Value) -> Option<Typed> {
        Stored::from_value(value).map(Typed)
    }
}

impl Typed {
    /// The text of a field; empty when nothing was typed.
    pub fn get(&self, key: &str) -> &str {
        self.0.get(key).map_or("", String::as_str)
    }

    /// Puts a text into a field.
    pub fn set(&mut self, key: &str, text: &str) {
        self.0.insert(key.to_string(), text.to_string());
    }

    /// Every text through `change`.
    #[must_use]
    pub fn map(self, change: impl Fn(&str) -> String) -> Typed {
        Typed(order::map(self.0.into_iter().map(|(key, text)| (key, change(&text)))))
    }

    fn of(&self, name: Name) -> &str {
        self.get(name.key).trim()
    }

    fn has(&self, name: Name) -> bool {
        !self.of(name).is_empty()
    }

    fn put(&mut self, name: Name, text: impl AsRef<str>) {
        self.set(name.key, text.as_ref());
    }

    fn unit(&self) -> Degree {
        if self.of(UNIT) == "C" { Degree::C } else { Degree::F }
    }

    fn put_unit(&mut self, unit: Degree) {
        self.put(UNIT, if unit == Degree::C { "C" } else { "F" });
    }
}

/// What is wrong with a field.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wrong {
    /// The sentence, with what is allowed.
    pub say: String,
    /// A text that was probably meant, to be put in with one tap.
    pub offer: Option<String>,
}

/// What is wrong, by key; an empty key is the form as a whole.
pub type Wrongs = BTreeMap<&'static str, Wrong>;

/// One answer of a choice.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    /// What is kept.
    pub value: String,
    /// What is shown.
    pub label: String,
    /// A line below; empty for none.
    pub detail: String,
}

impl Answer {
    fn new(value: impl ToString, label: impl ToString) -> Answer {
        Answer { value: value.to_string(), label: label.to_string(), detail: String::new() }
    }

    fn with(value: &str, label: &str, detail: &str) -> Answer {
        Answer { detail: detail.to_string(), ..Answer::new(value, label) }
    }
}

/// Whether answers are short enough to stand side by side on a phone.
pub fn short(answers: &[Answer]) -> bool {
    answers.iter().all(|answer| answer.detail.is_empty() && answer.label.chars().count() <= 9)
}

/// What a field asks for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Ask {
    /// Words.
    Line,
    /// Several lines.
    Lines,
    /// A number that may have a decimal sign.
    Decimal,
    /// A whole number.
    Whole,
    /// A calendar day.
    Day,
    /// A day and a time of day on this phone, `YYYY-MM-DDTHH:MM`.
    Moment,
    /// One of these.
    Choice(Vec<Answer>),
    /// Any of these; the values are kept with commas between.
    Several(Vec<Answer>),
    /// Yes or no, kept as "yes" or nothing; the words for both.
    Switch(&'static str, &'static str),
}

/// One field as it is to be drawn.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Field {
    /// Its names.
    pub name: Name,
    /// What it asks for.
    pub ask: Ask,
    /// The unit behind it; empty for none.
    pub unit: &'static str,
    /// What helps to answer; empty for none.
    pub help: String,
}

impl Field {
    fn new(name: Name, ask: Ask) -> Field {
        Field { name, ask, unit: "", help: String::new() }
    }

    fn help(mut self, help: impl Into<String>) -> Field {
        self.help = help.into();
        self
    }

    fn unit(mut self, unit: &'static str) -> Field {
        self.unit = unit;
        self
    }

    /// A temperature in the form's unit.
    fn degrees(name: Name, unit: Degree) -> Field {
        Field::new(name, Ask::Decimal).unit(unit.symbol())
    }

    /// A difference in the form's unit.
    fn difference(name: Name, unit: Degree) -> Field {
        Field::new(name, Ask::Decimal).unit(unit.symbol())
    }

    /// A length of time; what a bare number means is said while it is typed.
    fn length(name: Name, typed: &Typed, help: &str) -> Field {
        let read = reader::length(typed.of(name)).filter(|_| !typed.of(name).contains(':'));
        let said = read.map(|ms| format!("That is {} (minutes:seconds). ", super::time::gone(ms))).unwrap_or_default();
        Field::new(name, Ask::Line).unit("m:ss or s").help(format!("{said}{help}"))
    }
}

/// Fields under one heading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Part {
    /// The heading; empty for none.
    pub title: &'static str,
    /// Whether it is folded until somebody opens it.
    pub folded: bool,
    /// A sentence above the fields; empty for none.
    pub note: &'static str,
    /// The fields.
    pub fields: Vec<Field>,
}

/// Texts to be put in with one tap.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Offer {
    /// The words on the key.
    pub label: String,
    /// Keys and texts.
    pub puts: Vec<(&'static str, String)>,
}

/// A form as it is to be drawn.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Page {
    /// Its title.
    pub title: String,
    /// A sentence below the title; empty for none.
    pub lead: &'static str,
    /// Its parts.
    pub parts: Vec<Part>,
    /// Texts offered.
    pub offers: Vec<Offer>,
    /// The word on the key that saves.
    pub save: &'static str,
    /// What has to be there first, and the form that makes it.
    pub first: Option<(&'static str, Form)>,
}

/// What forms are made from.
#[derive(Clone, Copy, Debug)]
pub struct Known<'a> {
    /// Sites, areas, circuits, positions.
    pub register: &'a Register,
    /// Heaters, procedures, people.
    pub kit: &'a Kit,
    /// Everything else.
    pub book: &'a Book,
    /// The visit on screen.
    pub visit: Option<Id>,
    /// Who asks, and when.
    pub at: At,
}

/// The attachments of a form's texts, by key.
pub type Attached = BTreeMap<&'static str, Hash>;

/// What stands in a form when it opens: the thing to edit, the one to be like, or what a new one starts with.
/// An area's or circuit's form with the id of a site, and a position's with that of an area, makes a new one there.
pub fn open(form: Form, known: Known<'_>, unit: Degree) -> Typed {
    let Known { register, kit, book, .. } = known;
    match form {
        Form::Site(id) => place::open_site(id, register),
        Form::Area(id) => place::open_area(id, register, unit),
        Form::Circuit(id) => place::open_circuit(id, register),
        Form::Position(id) => position::open(id, register, unit),
        Form::PositionLike(id) => position::like(id, register, unit),
        Form::Heater(id) => heater::open(id, kit, unit),
        Form::Procedure(id) => procedure::open(id, kit, book, unit),
        // The test is in no register; [`correction`] fills it in.
        Form::Marking(_) => Typed::default(),
        Form::Person(id) => people::open(id, known),
        Form::PhoneName => people::open_phone(known),
        Form::Plan => steps::open_plan(known),
        Form::Notify(step) => steps::open_notify(step, known),
        Form::Reopen => Typed::default(),
        Form::Impair => off::open_impair(known),
        Form::Secure(release) => off::open_secure(release, known),
        Form::Restore(ends) => off::open_restore(ends, known),
        Form::Permit(area) => permit::open(area, known),
        Form::Approval(area) => permit::open_approval(area, known),
        Form::ClearAlarm(_) => permit::open_clear(known),
        Form::Visual(position) => items::open_visual(position, known),
        Form::Item(item) => items::open_item(item, known),
        Form::Repair(_) => items::open_repair(known),
        Form::Replace(position) => items::open_replace(position, known, unit),
        Form::Reading(reading) => said::open_reading(reading, known, unit),
        Form::Strike(_) => Typed::default(),
        Form::Judge(_) => said::open_judge(),
        Form::Restored(_) => said::open_restored(known),
    }
}

/// The form as it is to be drawn, given what was typed so far.
pub fn page(form: Form, typed: &Typed, known: Known<'_>) -> Page {
    let new = edited(form, known).is_none();
    match form {
        Form::Site(_) => place::site(new),
        Form::Area(_) => place::area(new, typed, known.register),
        Form::Circuit(_) => place::circuit(new, known.register),
        Form::Position(_) | Form::PositionLike(_) => position::page(new, typed, known.register),
        Form::Heater(_) => heater::page(new, typed),
        Form::Procedure(_) => procedure::page(new, typed),
        Form::Marking(_) => marking::page(typed),
        Form::Person(_) => people::page(new),
        Form::PhoneName => people::phone(),
        Form::Plan => steps::plan(),
        Form::Notify(step) => steps::notify(step, typed, known),
        Form::Reopen => steps::reopen(),
        Form::Impair => off::impair(typed, known),
        Form::Secure(_) => off::secure(typed, known),
        Form::Restore(ends) => off::restore(ends, typed, known),
        Form::Permit(_) => permit::page(typed, known),
        Form::Approval(area) => permit::approval(area, typed, known),
        Form::ClearAlarm(_) => permit::clear(typed, known),
        Form::Visual(_) => items::visual(),
        Form::Item(item) => items::item(item, typed, known),
        Form::Repair(_) => items::repair(typed, known),
        Form::Replace(_) => items::replace(typed, known),
        Form::Reading(_) => said::reading(typed),
        Form::Strike(_) => said::strike(),
        Form::Judge(_) => said::judge(),
        Form::Restored(_) => said::restored(),
    }
}

/// The thing a form edits; none for a new one.
pub fn edited(form: Form, Known { register, kit, .. }: Known<'_>) -> Option<Id> {
    match form {
        Form::Site(id) => id.filter(|id| register.sites.contains_key(id)),
        Form::Area(id) => id.filter(|id| register.areas.contains_key(id)),
        Form::Circuit(id) => id.filter(|id| register.circuits.contains_key(id)),
        Form::Position(id) => id.filter(|id| register.positions.contains_key(id)),
        Form::Heater(id) => id.filter(|id| kit.heaters.contains_key(id)),
        Form::Procedure(id) => id.filter(|id| kit.procedures.contains_key(id)),
        Form::Person(id) => id.filter(|id| kit.people.contains_key(id)),
        Form::Marking(test) | Form::Judge(test) | Form::Restored(test) => Some(test),
        Form::Visual(position) | Form::Repair(position) | Form::Replace(position) => Some(position),
        _ => None,
    }
}

/// Puts an answer in, with what follows from it.
pub fn answer(form: Form, typed: &mut Typed, key: &str, text: &str) {
    typed.set(key, text);
    if let Form::Notify(_) = form {
        steps::answered(typed, key);
    }
}

/// The texts that a form keeps as attachments, by key.
pub fn texts(form: Form, typed: &Typed) -> Vec<(&'static str, String)> {
    match form {
        Form::Marking(_) => marking::texts(typed),
        Form::Procedure(_) => procedure::texts(typed),
        Form::Person(_) => people::texts(typed),
        Form::PhoneName => people::phone_texts(typed),
        Form::Notify(_) | Form::Reopen => steps::texts(typed),
        Form::Impair | Form::Secure(_) | Form::Restore(_) => off::texts(typed),
        Form::Permit(_) | Form::ClearAlarm(_) => permit::texts(typed),
        Form::Item(_) | Form::Repair(_) | Form::Replace(_) => items::texts(typed),
        Form::Reading(_) | Form::Strike(_) | Form::Judge(_) => said::texts(typed),
        _ => Vec::new(),
    }
}

/// What a form makes a command for.
#[derive(Clone, Copy, Debug)]
pub struct Making<'a> {
    /// A new id, or the one that [`edited`] says.
    pub id: Id,
    /// A second new id, for a detector that comes with a position.
    pub other: Id,
    /// The attachments of the form's [`texts`].
    pub attached: &'a Attached,
}

/// The commands a form makes, to be given one after another.
///
/// # Errors
/// Everything that is wrong, at once.
pub fn command(form: Form, typed: &Typed, making: Making<'_>, known: Known<'_>) -> Result<Vec<Command>, Wrongs> {
    let Making { id, other, attached } = making;
    let one = |command: Result<Command, Wrongs>| command.map(|command| vec![command]);
    match form {
        Form::Site(_) => one(place::put_site(typed, id, known.register)),
        Form::Area(_) => one(place::put_area(typed, id, known.register)),
        Form::Circuit(_) => one(place::put_circuit(typed, id, known.register)),
        Form::Position(_) | Form::PositionLike(_) => one(position::put(typed, id, other, known.register)),
        Form::Heater(_) => one(heater::put(typed, id)),
        Form::Procedure(_) => one(procedure::put(typed, id, attached)),
        Form::Marking(test) => one(marking::put(typed, test, attached)),
        Form::Person(_) => people::put(typed, id, attached, known),
        Form::PhoneName => one(people::put_phone(typed, attached)),
        Form::Plan => one(steps::put_plan(typed, known)),
        Form::Notify(step) => one(steps::put_notify(step, typed, attached, known)),
        Form::Reopen => one(steps::put_reopen(typed, attached, known)),
        Form::Impair => one(off::put_impair(typed, attached, known)),
        Form::Secure(_) => one(off::put_secure(typed, attached, known)),
        Form::Restore(ends) => one(off::put_restore(ends, typed, attached, known)),
        Form::Permit(area) => one(permit::put(area, typed, attached, known)),
        Form::Approval(area) => one(permit::put_approval(area, typed, known)),
        Form::ClearAlarm(alarm) => one(permit::put_clear(alarm, typed, attached, known)),
        Form::Visual(position) => one(items::put_visual(position, typed, known)),
        Form::Item(item) => items::put_item(item, typed, attached, known),
        Form::Repair(position) => one(items::put_repair(position, typed, attached, known)),
        Form::Replace(position) => one(items::put_replace(position, other, typed, attached, known)),
        Form::Reading(reading) => one(said::put_reading(reading, typed, attached)),
        Form::Strike(mark) => one(said::put_strike(mark, attached)),
        Form::Judge(test) => one(said::put_judge(test, typed, attached)),
        Form::Restored(test) => one(said::put_restored(test, typed, known)),
    }
}

/// A refusal of the rules, at the field it is about.
pub fn refused(form: Form, typed: &Typed, refusal: &Refusal, known: Known<'_>) -> Wrongs {
    let label = words::field_name(refusal);
    let parts = page(form, typed, known).parts;
    let names = parts.iter().flat_map(|part| &part.fields).map(|field| field.name);
    let key = names.into_iter().find(|name| Some(name.label) == label).map_or("", |name| name.key);
    order::map([(key, Wrong { say: words::refusal(refusal, typed.unit()), offer: None })])
}

/// What the thing of a form is called; empty for what has no name.
pub fn called(form: Form, typed: &Typed) -> String {
    match form {
        Form::Position(_) | Form::PositionLike(_) => position::called(typed),
        _ => String::new(),
    }
}

/// What was typed into a field, as a text to be attached; nothing where it is empty.
fn text(typed: &Typed, name: Name) -> Vec<(&'static str, String)> {
    if typed.has(name) { vec![(name.key, typed.of(name).to_string())] } else { Vec::new() }
}

fn units() -> Field {
    Field::new(UNIT, Ask::Choice(vec![Answer::new("F", "°F"), Answer::new("C", "°C")])).help("As they are marked.")
}

fn title(new: bool, thing: &str) -> String {
    if new { format!("New {thing}") } else { format!("Edit {thing}") }
}
