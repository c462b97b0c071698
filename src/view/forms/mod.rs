//! Forms as data: what is asked, what was typed, what is wrong with it, which command it makes.
//!
//! A form is kept as the texts that were typed, so that a half-filled one survives as a draft; numbers keep the digits and the
//! unit in which they were typed. One renderer draws every form from its [`Page`]. Reading order: this file, `reader`, then a form.

mod detector;
mod heater;
mod marking;
mod place;
mod procedure;
mod reader;

pub use detector::counted_up;
pub use marking::correction;

use super::place::{Form, Place};
use super::words;
use crate::book::Id;
use crate::book::command::Command;
use crate::book::entry::Hash;
use crate::book::kit::Kit;
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
    /// One of these.
    Choice(Vec<Answer>),
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
        Field::new(name, Ask::Decimal).unit(if unit == Degree::C { "K" } else { "°F" })
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
    /// Sites, areas, circuits, detectors.
    pub register: &'a Register,
    /// Heaters and procedures.
    pub kit: &'a Kit,
}

/// What stands in a form when it opens: the thing to edit, the one to be like, or what a new one starts with.
/// An area's or circuit's form with the id of a site, and a detector's with that of an area, makes a new one there.
pub fn open(form: Form, known: Known<'_>, unit: Degree) -> Typed {
    match form {
        Form::Site(id) => place::open_site(id, known.register),
        Form::Area(id) => place::open_area(id, known.register),
        Form::Circuit(id) => place::open_circuit(id, known.register),
        Form::Detector(id) => detector::open(id, known.register, unit),
        Form::DetectorLike(id) => detector::like(id, known.register, unit),
        Form::Heater(id) => heater::open(id, known.kit, unit),
        Form::Procedure(id) => procedure::open(id, known.kit, unit),
        // The test is in no register; [`correction`] fills it in.
        Form::Marking(_) => Typed::default(),
    }
}

/// The form as it is to be drawn, given what was typed so far.
pub fn page(form: Form, typed: &Typed, known: Known<'_>) -> Page {
    let new = edited(form, known).is_none();
    match form {
        Form::Site(_) => place::site(new),
        Form::Area(_) => place::area(new, known.register),
        Form::Circuit(_) => place::circuit(new, known.register),
        Form::Detector(_) | Form::DetectorLike(_) => detector::page(new, typed, known.register),
        Form::Heater(_) => heater::page(new, typed),
        Form::Procedure(_) => procedure::page(new, typed, known.kit),
        Form::Marking(_) => marking::page(typed),
    }
}

/// The thing a form edits; none for a new one.
pub fn edited(form: Form, Known { register, kit }: Known<'_>) -> Option<Id> {
    match form {
        Form::Site(id) => id.filter(|id| register.sites.contains_key(id)),
        Form::Area(id) => id.filter(|id| register.areas.contains_key(id)),
        Form::Circuit(id) => id.filter(|id| register.circuits.contains_key(id)),
        Form::Detector(id) => id.filter(|id| register.detectors.contains_key(id)),
        Form::DetectorLike(_) => None,
        Form::Marking(test) => Some(test),
        Form::Heater(id) => id.filter(|id| kit.heaters.contains_key(id)),
        Form::Procedure(id) => id.filter(|id| kit.procedures.contains_key(id)),
    }
}

/// Puts an answer in, with what follows from it.
pub fn answer(form: Form, typed: &mut Typed, key: &str, text: &str, known: Known<'_>) {
    typed.set(key, text);
    if let Form::Procedure(_) = form {
        procedure::answered(typed, key, edited(form, known).is_none());
    }
}

/// The text that a form keeps as an attachment; none for most.
pub fn note(form: Form, typed: &Typed) -> Option<&str> {
    matches!(form, Form::Marking(_)).then(|| marking::reason(typed)).flatten()
}

/// The command a form makes for the thing `id`, a new id or the one that [`edited`] says; `noted` is the attachment of its [`note`].
///
/// # Errors
/// Everything that is wrong, at once.
pub fn command(form: Form, typed: &Typed, id: Id, noted: Option<Hash>, known: Known<'_>) -> Result<Command, Wrongs> {
    match form {
        Form::Site(_) => place::put_site(typed, id, known.register),
        Form::Area(_) => place::put_area(typed, id, known.register),
        Form::Circuit(_) => place::put_circuit(typed, id, known.register),
        Form::Detector(_) | Form::DetectorLike(_) => detector::put(typed, id, known.register),
        Form::Heater(_) => heater::put(typed, id),
        Form::Procedure(_) => procedure::put(typed, id),
        Form::Marking(test) => marking::put(typed, test, noted),
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

/// Where the way back of a form leads.
pub fn back(form: Form) -> Place {
    if let Form::Marking(test) = form { Place::Finding(test) } else { Place::Register }
}

/// Where to go when a form was saved: a new site wants an area, a new area a detector.
pub fn next(form: Form, id: Id, new: bool) -> Place {
    match form {
        Form::Site(_) if new => Place::Form(Form::Area(Some(id))),
        Form::Area(_) if new => Place::Form(Form::Detector(Some(id))),
        _ => back(form),
    }
}

fn units() -> Field {
    Field::new(UNIT, Ask::Choice(vec![Answer::new("F", "°F"), Answer::new("C", "°C")]))
        .help("As they are marked. A difference in °C is in K.")
}

fn title(new: bool, thing: &str) -> String {
    if new { format!("New {thing}") } else { format!("Edit {thing}") }
}
