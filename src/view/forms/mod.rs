//! Forms as data: what is asked, what was typed, what is wrong with it, which command it makes.
//!
//! A form is a table of its fields. Each field of a stored fact is described once, where it is stored (`trade::fields`); a row of a
//! table gives it its words. From a table come the form, what is wrong with it, the words of a conflict and the columns of a sheet.
//!
//! A form is kept as the texts that were typed, so that a half-filled one survives as a draft; numbers keep the digits and the
//! unit in which they were typed. Names of people, reasons and notes leave a form as texts that become attachments. One renderer
//! draws every form from its [`Page`]. Reading order: this file, `row`, `text`, `table`, then a form; `thing` and `columns` use the
//! tables of the register for more than forms.

mod at_panel;
pub mod columns;
mod heater;
mod items;
mod later;
mod leaving;
mod marking;
mod off;
mod people;
mod permit;
mod photo;
mod place;
mod position;
mod procedure;
mod record;
mod row;
mod rules;
pub mod sign;
mod steps;
mod table;
mod text;
mod thing;
mod ways;

pub use position::counted_up;
pub(super) use steps::{step_number, visit_type};
pub use table::take_up;
pub(super) use text::height_text;
pub use thing::edited;
pub(super) use thing::{Group, groups, put, say};
pub use ways::{back, leads_back, next};

use super::heater::why;
use super::route::Form;
use super::words;
use crate::book::Id;
use crate::book::command::{At, Command};
use crate::book::entries::Book;
use crate::book::entry::Hash;
use crate::book::kit::Kit;
use crate::book::refusal::Refusal;
use crate::book::register::Register;
use crate::book::visit::Visit;
use crate::encoding::stored::Stored;
use crate::order;
use crate::trade::heater_gaps::Gap;
use crate::units::Degree;
use row::{Asked, Row};
use serde_json::Value;
use std::collections::BTreeMap;
use table::Table;

/// The names of one field: in a draft, on the page and for tests, on screen.
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
const UNIT: Row = row::ask!("", crate::trade::fields::Kind::Made, "unit", "Numbers are in")
    .words(&[("F", "°F", ""), ("C", "°C", "")])
    .help("As they are marked.");

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
        if self.of(UNIT.name) == "C" { Degree::C } else { Degree::F }
    }

    fn put_unit(&mut self, unit: Degree) {
        self.put(UNIT.name, if unit == Degree::C { "C" } else { "F" });
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
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Answer {
    /// What is kept.
    pub value: String,
    /// What is shown.
    pub label: String,
    /// A line below; empty for none.
    pub detail: String,
}

impl Answer {
    /// An answer without a second line.
    pub fn new(value: impl ToString, label: impl ToString) -> Answer {
        Answer { value: value.to_string(), label: label.to_string(), detail: String::new() }
    }

    /// An answer with a second line.
    pub fn with(value: &str, label: &str, detail: &str) -> Answer {
        Answer { detail: detail.to_string(), ..Answer::new(value, label) }
    }

    /// One answer for each value of a list, by the name it is stored by.
    pub fn each<T: Copy + Stored>(all: &[T], words: impl Fn(T) -> &'static str) -> Vec<Answer> {
        let code = |of: &T| crate::encoding::stored::name(of).replace('_', "-");
        all.iter().map(|of| Answer::new(code(of), words(*of))).collect()
    }
}

/// Whether answers are short enough to stand side by side on a phone.
fn short(answers: &[Answer]) -> bool {
    answers.iter().all(|answer| answer.detail.is_empty() && answer.label.chars().count() <= 9)
}

/// What is typed into a line; decides the keyboard.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Entry {
    /// Words.
    #[default]
    Text,
    /// Several lines.
    Long,
    /// A number that may have a decimal sign; kept as text, because a number field refuses the other country's sign.
    Decimal,
    /// Several such numbers, one a line.
    Decimals,
    /// A whole number.
    Whole,
    /// A calendar day, `YYYY-MM-DD`.
    Date,
    /// A day and a time of day on this phone, `YYYY-MM-DDTHH:MM`.
    Moment,
    /// Something that is not shown while it is typed.
    Secret,
}

/// What a field asks for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Ask {
    /// A line to type into.
    Line(Entry),
    /// One of these.
    Choice(Vec<Answer>),
    /// Any of these; the values are kept with commas between.
    Several(Vec<Answer>),
    /// Yes or no, kept as "yes" or nothing; the words for both.
    Switch(&'static str, &'static str),
    /// A drawing with a finger, kept as the text of its strokes.
    Drawn,
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
    /// Whether its answers stand side by side where there is room.
    pub across: bool,
}

impl Field {
    /// A field without unit and help. Answers stand side by side where they are short.
    pub fn new(name: Name, ask: Ask) -> Field {
        let across = match &ask {
            Ask::Choice(answers) => short(answers),
            ask => matches!(ask, Ask::Several(_)),
        };
        Field { name, ask, unit: "", help: String::new(), across }
    }
}

/// Fields under one heading.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Part {
    /// The heading; empty for none.
    pub title: String,
    /// Whether it is folded until somebody opens it.
    pub folded: bool,
    /// A sentence above the fields; empty for none.
    pub note: &'static str,
    /// The fields; a part without any is not drawn.
    pub fields: Vec<Field>,
}

/// A form as it is to be drawn.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Page {
    /// Its title.
    pub title: String,
    /// A sentence below the title; empty for none.
    pub lead: &'static str,
    /// Its parts, as many whatever was typed.
    pub parts: Vec<Part>,
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

impl Known<'_> {
    /// The visit on screen, as it stands.
    fn shown(self) -> Option<Visit> {
        Visit::of(self.book, self.visit?)
    }
}

/// The attachments of a form's texts, by key.
pub type Attached = BTreeMap<&'static str, Hash>;

fn table(form: Form) -> &'static Table {
    match form {
        Form::Site(_) => &place::SITE,
        Form::Area(_) => &place::AREA,
        Form::Circuit(_) => &place::CIRCUIT,
        Form::Position(_) | Form::PositionLike(_) | Form::Unlisted(_) => &position::TABLE,
        Form::Heater(_) | Form::HeaterAsks(..) => &heater::TABLE,
        Form::Procedure(_) => &procedure::TABLE,
        Form::Marking(_) => &marking::TABLE,
        Form::Person(_) => &people::PERSON,
        Form::PhoneName => &people::PHONE,
        Form::Plan => &steps::PLAN,
        Form::Notify(_) => &steps::NOTIFY,
        Form::Reopen => &steps::REOPEN,
        Form::Sign(_) => &sign::SIGN,
        Form::Panel(_) => &leaving::PANEL,
        Form::PanelPoint(_) => &at_panel::POINT,
        Form::Programming => &at_panel::PROGRAMMING,
        Form::NotTested(_) => &record::NOT_TESTED,
        Form::OtherMethod(_) => &record::OTHER,
        Form::LeaveOff(_) => &leaving::LEAVE_OFF,
        Form::Break => &leaving::BREAK,
        Form::OpenPair(_) => &record::PAIR,
        Form::ProveCircuit(_) => &record::PROVE,
        Form::Lift => &record::LIFT,
        Form::Invite => &record::INVITE,
        Form::Excuse(_) => &record::EXCUSE,
        Form::Impair => &off::IMPAIR,
        Form::Secure(_) => &off::SECURE,
        Form::Restore(_) => &off::RESTORE,
        Form::Permit(_) => &permit::PERMIT,
        Form::Approval(_) => &permit::APPROVAL,
        Form::ClearAlarm(_) => &permit::CLEAR,
        Form::Visual(_) => &items::VISUAL,
        Form::Item(_) => &items::ITEM,
        Form::Repair(_) => &items::REPAIR,
        Form::Replace(_) => &items::REPLACE,
        Form::Reading(_) => &later::READING,
        Form::Strike(_) => &later::STRIKE,
        Form::Judge(_) => &later::JUDGE,
        Form::Restored(_) => &later::RESTORED,
        Form::PanelShowed(_) => &later::PANEL_SHOWED,
        Form::Caption(_) => &photo::TABLE,
        Form::SiteRules(_) => &rules::SITE_RULES,
        Form::Rule(..) => &rules::RULE,
        Form::NotifyStep(..) => &rules::NOTIFY_STEP,
        Form::PlanPosition(_) => &rules::PLAN_POSITION,
    }
}

fn asked<'a>(form: Form, typed: &'a Typed, known: Known<'a>) -> Asked<'a> {
    Asked { form, typed, known, new: edited(form, known).is_none() }
}

/// What stands in a form when it opens: the thing to edit, the one to be like, or what a new one starts with.
/// An area's or circuit's form with the id of a site, and a position's with that of an area, makes a new one there.
pub fn open(form: Form, known: Known<'_>, unit: Degree) -> Typed {
    table(form).open(form, known, unit)
}

/// The form as it is to be drawn, given what was typed so far.
pub fn page(form: Form, typed: &Typed, known: Known<'_>) -> Page {
    table(form).page(asked(form, typed, known))
}

/// The form itself, and the answer that it was come to for.
pub fn come_for(form: Form) -> (Form, Option<Gap>) {
    match form {
        Form::HeaterAsks(heater, gap) => (Form::Heater(Some(heater)), Some(gap)),
        form => (form, None),
    }
}

/// The form at the field for an answer that something needs: its part is open and says why. With the field.
pub fn page_for(mut page: Page, gap: Gap, typed: &Typed) -> (Page, &'static str) {
    let name = heater::asked_by(gap, typed);
    let has = |part: &&mut Part| part.fields.iter().any(|field| field.name == name);
    if let Some(part) = page.parts.iter_mut().find(has) {
        (part.folded, part.note) = (false, why(gap));
    }
    (page, name.id)
}

/// The texts that a form keeps as attachments, by key.
pub fn texts(form: Form, typed: &Typed, known: Known<'_>) -> Vec<(&'static str, String)> {
    table(form).texts(asked(form, typed, known))
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
    table(form).command(asked(form, typed, known), making)
}

/// A refusal of the rules, at the field it is about.
pub fn refused(form: Form, typed: &Typed, refusal: &Refusal, known: Known<'_>) -> Wrongs {
    let of = |key: &str| {
        let drawn = page(form, typed, known).parts;
        let mut rows = table(form).rows().filter(|row| row.fact.key == key);
        rows.find(|row| drawn.iter().flat_map(|part| &part.fields).any(|field| field.name == row.name))
    };
    let (key, say) = match refusal {
        Refusal::Field(key, fault) => match of(key) {
            Some(row) => (row.name.key, words::field(row.name.label, *fault, typed.unit())),
            None => ("", words::refusal(refusal, typed.unit())),
        },
        _ => ("", words::refusal(refusal, typed.unit())),
    };
    order::map([(key, Wrong { say, offer: None })])
}

/// What a field of a stored fact is called on screen.
pub(super) fn label(key: &str) -> &'static str {
    // Keys and labels alone: a refusal needs no form.
    static LABELS: [(&str, &str); ROWS] = labels::<ROWS>().0;
    let asked = LABELS.iter().find(|(of, _)| *of == key).map(|(_, label)| *label);
    asked.unwrap_or(match key {
        "HeaterSnapshot.mode" => "Heating mode",
        "CircuitProof.circuit" => "Circuit",
        "Happened.at" => "Time",
        "Indication.lag_ms" => words::LAG,
        "Indication.lag_u_ms" => words::LAG_U,
        "TestStart.ambient" | "ProfileRunStart.ambient" => words::AMBIENT,
        "PanelSaid.said" => "Panel showed",
        "Signature.drawn" => "Signature",
        "Signature.name" => "Name",
        "ProgrammingChange.affected" => "Affected detectors",
        _ => NO_LABEL,
    })
}

const ROWS: usize = labels::<0>().1;

/// The first so many labels with their keys, and how many there are.
const fn labels<const MANY: usize>() -> ([(&'static str, &'static str); MANY], usize) {
    let (mut labels, mut many) = ([("", ""); MANY], 0);
    let mut table = 0;
    while table < thing::TABLES.len() {
        let parts = thing::TABLES[table].parts;
        let mut part = 0;
        while part < parts.len() {
            let lists = parts[part].rows;
            let mut list = 0;
            while list < lists.len() {
                let mut row = 0;
                while row < lists[list].len() {
                    if many < MANY {
                        labels[many] = (lists[list][row].fact.key, lists[list][row].name.label);
                    }
                    many += 1;
                    row += 1;
                }
                list += 1;
            }
            part += 1;
        }
        table += 1;
    }
    (labels, many)
}

/// What a field without a label is called.
const NO_LABEL: &str = "One field";

/// What the thing of a form is called; empty for what has no name.
pub fn called(form: Form, typed: &Typed) -> String {
    match form {
        Form::Position(_) | Form::PositionLike(_) | Form::Unlisted(_) => typed.of(position::TAG.name).to_string(),
        _ => String::new(),
    }
}

fn title(asked: &Asked<'_>, thing: &str) -> String {
    if asked.new { format!("New {thing}") } else { format!("Edit {thing}") }
}
