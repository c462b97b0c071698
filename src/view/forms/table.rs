//! A form as a table of its fields, and what is the same for every form: opening it, drawing it, reading it.

use super::row::{Asked, Help, Row};
use super::sign;
use super::text::{Parser, Units, text};
use super::{Answer, Ask, Attached, Entry, Field, Known, Making, Name, Page, Part, Typed, Wrong, Wrongs};
use crate::book::Id;
use crate::book::body::{Happened, Who};
use crate::book::command::Command;
use crate::book::refusal::Fault;
use crate::encoding::stored::{self, Object, Stored};
use crate::trade::fields::Kind;
use crate::units::Degree;
use crate::view::route::Form;
use crate::view::{time, words};
use serde_json::Value;

/// Fields under one heading.
pub(super) struct Rows {
    /// The heading; empty for none.
    pub(super) title: &'static str,
    /// A sentence above the fields; empty for none.
    pub(super) note: &'static str,
    /// The fields, some of them shared with other forms.
    pub(super) rows: &'static [&'static [Row]],
}

/// A form: its words, its fields, what it starts from and what it makes.
pub(super) struct Table {
    /// Its title.
    pub(super) title: fn(&Asked<'_>) -> String,
    /// A sentence below the title; empty for none.
    pub(super) lead: &'static str,
    /// The word on the key that saves.
    pub(super) save: &'static str,
    /// Its fields. Parts with a heading are folded until somebody opens them.
    pub(super) parts: &'static [Rows],
    /// What stands now, by groups; `null` for nothing.
    pub(super) base: fn(Form, Known<'_>) -> Value,
    /// What else stands in it when it opens.
    pub(super) opens: fn(&mut Typed, Form, Known<'_>, Degree),
    /// What it is about beyond its address; a half-filled one about anything else is not taken up again. Empty for nothing.
    pub(super) about: fn(Form, Known<'_>) -> String,
    /// What has to be there first, and the form that makes it.
    pub(super) first: fn(Known<'_>) -> Option<(&'static str, Form)>,
    /// The commands of what was read.
    pub(super) make: fn(Made<'_>) -> Result<Vec<Command>, Wrongs>,
}

/// What a form's commands are made from.
pub(super) struct Made<'a> {
    /// What was read, by groups.
    pub(super) value: Value,
    /// The form and what was typed.
    pub(super) asked: Asked<'a>,
    /// New ids and attachments.
    pub(super) making: Making<'a>,
}

impl Made<'_> {
    /// A group as what it is.
    pub(super) fn take<T: Stored>(&self, group: &str) -> Result<T, Wrongs> {
        whole(T::from_value(self.value.get(group).unwrap_or(&Value::Null)))
    }

    /// One value of a group; none where nothing was given.
    pub(super) fn at<T: Stored>(&self, path: &str) -> Option<T> {
        T::from_value(at(&self.value, path)?)
    }

    /// Adds what is not asked.
    pub(super) fn put(&mut self, path: &str, value: &impl Stored) {
        put(&mut self.value, path, value.to_value());
    }

    /// The visit on screen.
    pub(super) fn visit(&self) -> Id {
        self.asked.known.visit.unwrap_or(Id::nil())
    }

    /// Where the text of a field was kept.
    pub(super) fn attached(&self, row: &Row) -> Option<crate::encoding::Hash> {
        self.making.attached.get(row.name.key).copied()
    }

    /// What is wrong with one field, alone.
    pub(super) fn wrong(&self, row: &Row, fault: Fault) -> Wrongs {
        Wrongs::from([(row.name.key, parser(row.name, self.asked).wrong(fault))])
    }
}

/// What is whole, or the word that it is not.
pub(super) fn whole<T>(value: Option<T>) -> Result<T, Wrongs> {
    value.ok_or_else(|| Wrongs::from([("", Wrong { say: words::WRONG.into(), offer: None })]))
}

const NONE: &[Rows] = &[];

impl Table {
    /// A form without anything, for the rest of one.
    pub(super) const PLAIN: Table = Table {
        title: |_| String::new(),
        lead: "",
        save: "Save",
        parts: NONE,
        base: |_, _| Value::Null,
        opens: |_, _, _, _| {},
        about: |_, _| String::new(),
        first: |_| None,
        make: |_| Ok(Vec::new()),
    };

    /// Every field.
    pub(super) fn rows(&self) -> impl Iterator<Item = &'static Row> + use<> {
        let parts: &'static [Rows] = self.parts;
        parts.iter().flat_map(|part| part.rows).copied().flatten()
    }

    /// What stands in it when it opens.
    pub(super) fn open(&self, form: Form, known: Known<'_>, unit: Degree) -> Typed {
        let mut typed = Typed::default();
        self.fill(&mut typed, &(self.base)(form, known), known, unit, &|_| true);
        for row in self.rows() {
            match row.fact.kind {
                Kind::Happened => {
                    typed.put(row.name, time::moment_text(known.at.stamp.wall, known.at.offset_min));
                }
                Kind::Who if matches!(row.need, super::row::Need::Yes) => {
                    typed.put(row.name, known.at.who.map_or_else(|| OTHER.to_string(), |who| who.to_string()));
                }
                _ => {}
            }
        }
        (self.opens)(&mut typed, form, known, unit);
        let about = (self.about)(form, known);
        if !about.is_empty() {
            typed.set(ABOUT, &about);
        }
        typed
    }

    /// Puts a value's fields into the form, in the unit of the first temperature among them.
    pub(super) fn fill(
        &self,
        typed: &mut Typed,
        value: &Value,
        known: Known<'_>,
        unit: Degree,
        which: &dyn Fn(&Row) -> bool,
    ) {
        let unit = self.rows().find_map(|row| unit_of(row.fact.kind, at(value, row.path)?)).unwrap_or(unit);
        typed.put_unit(unit);
        for row in self.rows().filter(|row| which(row)) {
            if let Some(opens) = row.opens {
                typed.put(row.name, opens(value));
            } else if let Some(value) = at(value, row.path) {
                typed.put(row.name, text(row.fact.kind, value, Units::Form(unit), known));
            }
        }
    }

    /// The form as it is to be drawn.
    pub(super) fn page(&self, asked: Asked<'_>) -> Page {
        let drawn = |row: &&Row| row.is_shown(&asked) && !row.silent.is_some_and(|silent| silent(&asked));
        let part = |part: &Rows| Part {
            title: part.title.into(),
            folded: !part.title.is_empty(),
            note: part.note,
            fields: part.rows.iter().copied().flatten().filter(drawn).flat_map(|row| fields(row, asked)).collect(),
        };
        Page {
            title: (self.title)(&asked),
            lead: self.lead,
            parts: self.parts.iter().map(part).collect(),
            save: self.save,
            first: (self.first)(asked.known),
        }
    }

    /// The texts that are kept as attachments, by key.
    pub(super) fn texts(&self, asked: Asked<'_>) -> Vec<(&'static str, String)> {
        let mut texts = Vec::new();
        for row in self.rows().filter(|row| row.is_shown(&asked)) {
            let name = match (row.fact.kind, row.other) {
                (Kind::Attached(_) | Kind::Drawn, _) => Some(row.name),
                (Kind::Who, other) => other.filter(|_| asked.is(row, OTHER)),
                _ => None,
            };
            let name = name.filter(|name| asked.typed.has(*name));
            texts.extend(name.map(|name| (name.key, asked.typed.of(name).to_string())));
        }
        texts
    }

    /// The commands, or everything that is wrong.
    pub(super) fn command(&self, asked: Asked<'_>, making: Making<'_>) -> Result<Vec<Command>, Wrongs> {
        let base = (self.base)(asked.form, asked.known);
        let mut value = if base.is_null() { Value::Object(Object::new()) } else { base.clone() };
        let mut wrongs = Wrongs::new();
        // What is not asked is not kept; two questions may have one place, so that goes first.
        for row in self.rows().filter(|row| !row.path.is_empty()) {
            put(&mut value, row.path, Value::Null);
        }
        for row in self.rows().filter(|row| row.is_shown(&asked)) {
            match read(row, asked, at(&base, row.path), making.attached) {
                Ok(read) if !read.is_null() && !row.path.is_empty() => put(&mut value, row.path, read),
                Ok(_) => {}
                Err((name, wrong)) => {
                    wrongs.entry(name.key).or_insert(wrong);
                }
            }
        }
        if wrongs.is_empty() { (self.make)(Made { value, asked, making }) } else { Err(wrongs) }
    }
}

/// Under this key a half-filled form keeps what it is about.
pub(super) const ABOUT: &str = "about";

/// A half-filled form out of its draft; none where that cannot be read, or was about something else.
pub fn take_up(form: Form, draft: &str, known: Known<'_>) -> Option<Typed> {
    let typed = stored::read::<Typed>(draft)?;
    let about = (super::table(form).about)(form, known);
    (typed.get(ABOUT) == about).then_some(typed)
}

/// The answer that stands for somebody who is not on the list.
pub(super) const OTHER: &str = "other";

fn parser(name: Name, asked: Asked<'_>) -> Parser {
    Parser { label: name.label, unit: asked.typed.unit(), offset_min: asked.known.at.offset_min }
}

/// What stands in a field, `null` for nothing.
fn read(row: &Row, asked: Asked<'_>, stood: Option<&Value>, attached: &Attached) -> Result<Value, (Name, Wrong)> {
    let (name, typed, parser) = (row.name, asked.text(row), parser(row.name, asked));
    let wrong = |fault| (name, parser.wrong(fault));
    if let (Kind::Drawn, Some(say)) = (row.fact.kind, sign::no_signature(typed)) {
        return Err((name, Wrong { say: say.into(), offer: None }));
    }
    if typed.is_empty() {
        let empty = if row.is_choice() || row.fact.kind == Kind::Who { Fault::Choose } else { Fault::Empty };
        return if row.is_needed(&asked) { Err(wrong(empty)) } else { Ok(Value::Null) };
    }
    match row.fact.kind {
        Kind::Attached(most) if typed.chars().count() > most => Err(wrong(Fault::TooLong { most })),
        Kind::Attached(_) | Kind::Drawn => {
            // Attachments are salted anew each time; words that did not change keep theirs.
            let same = stood.filter(|stood| text(row.fact.kind, stood, Units::Sheet, asked.known) == typed);
            let new = || attached.get(name.key).map_or(Value::Null, Stored::to_value);
            Ok(same.cloned().unwrap_or_else(new))
        }
        Kind::Who => who(row, asked, attached),
        Kind::Happened => {
            let value = parser.parse(row.fact.kind, typed).map_err(|wrong| (name, wrong))?;
            let now = asked.known.at.stamp.wall;
            Ok(Happened::from_value(&value).map_or(value, |of| Happened { at: of.at.min(now), ..of }.to_value()))
        }
        kind => {
            let several = matches!(kind, Kind::List(_));
            let offered = || row.answers(&asked).iter().any(|answer| answer.value == typed);
            if row.is_choice() && !several && !offered() {
                return Err(wrong(Fault::Choose));
            }
            let value = parser.parse(kind, typed).map_err(|wrong| (name, wrong))?;
            let nothing = value.as_array().is_some_and(Vec::is_empty);
            if nothing && row.is_needed(&asked) { Err(wrong(Fault::Empty)) } else { Ok(value) }
        }
    }
}

fn who(row: &Row, asked: Asked<'_>, attached: &Attached) -> Result<Value, (Name, Wrong)> {
    if !asked.is(row, OTHER) {
        let person = Id::try_parse(asked.text(row)).map(Who::Person);
        return person.map(|who| who.to_value()).map_err(|_| (row.name, parser(row.name, asked).wrong(Fault::Choose)));
    }
    let name = row.other.unwrap_or(row.name);
    let parser = parser(name, asked);
    match asked.typed.of(name) {
        "" => Err((name, parser.wrong(Fault::Empty))),
        text => {
            parser.parse(Kind::Name, text).map_err(|wrong| (name, wrong))?;
            Ok(attached.get(name.key).map_or(Value::Null, |name| Who::Named(*name).to_value()))
        }
    }
}

/// The fields that a row is drawn as.
fn fields(row: &Row, asked: Asked<'_>) -> Vec<Field> {
    let degrees = asked.typed.unit().symbol();
    let line = |entry| Ask::Line(entry);
    let (kind, mut answers) = (row.fact.kind, row.answers(&asked));
    let (ask, unit) = match kind {
        Kind::Who => {
            let people = asked.known.kit.people_by_name(asked.known.book);
            answers.extend(people.into_iter().map(|(id, _, name)| Answer::new(id, name)));
            answers.push(Answer::new(OTHER, "Someone else"));
            (Ask::Choice(answers), "")
        }
        Kind::List(Kind::OneOf(_)) => (Ask::Several(answers), ""),
        _ if row.is_choice() => (Ask::Choice(answers), ""),
        Kind::Drawn => (Ask::Drawn, ""),
        Kind::Flag => (Ask::Switch("Yes", "No"), ""),
        Kind::List(Kind::Temperature(..)) => (line(Entry::Decimals), degrees),
        Kind::List(_) => (line(Entry::Long), ""),
        Kind::Temperature(..) | Kind::Difference(..) | Kind::Uncertainty(_) => (line(Entry::Decimal), degrees),
        Kind::Decimal(_, _, unit) => (line(Entry::Decimal), unit),
        Kind::Seconds(..) => (line(Entry::Text), "m:ss or s"),
        Kind::Whole(_, _, unit) => (line(Entry::Whole), unit),
        Kind::Day => (line(Entry::Date), ""),
        Kind::Moment | Kind::Happened => (line(Entry::Moment), ""),
        _ => (line(Entry::Text), ""),
    };
    let mut help = match row.help {
        Help::Words(words) => words.to_string(),
        Help::Said(help) => help(&asked),
    };
    if let (Kind::Seconds(..), false) = (kind, asked.text(row).contains(':')) {
        // What a bare number means is said while it is typed.
        let read = super::text::length(asked.text(row));
        help = read.map(|ms| format!("That is {} (minutes:seconds). ", time::gone(ms))).unwrap_or_default() + &help;
    }
    let mut fields = vec![Field { unit, help, ..Field::new(row.name, ask) }];
    if let Some(name) = row.other.filter(|_| asked.is(row, OTHER)) {
        fields.push(Field::new(name, line(Entry::Text)));
    }
    fields
}

/// The unit in which a temperature was given.
fn unit_of(kind: Kind, value: &Value) -> Option<Degree> {
    match kind {
        Kind::Temperature(..) | Kind::Difference(..) => Degree::from_value(value.get("unit")?),
        Kind::List(of) => unit_of(*of, value.as_array()?.first()?),
        _ => None,
    }
}

/// The value at a path; none where there is none.
pub(super) fn at<'a>(value: &'a Value, path: &str) -> Option<&'a Value> {
    if path.is_empty() {
        return None;
    }
    path.split('.').try_fold(value, |value, name| value.get(name)).filter(|value| !value.is_null())
}

/// Puts a value at a path, or takes it out with `null`; an object inside a group that loses its last field goes with it.
pub(super) fn put(value: &mut Value, path: &str, new: Value) {
    put_below(value, path, new, 0);
}

fn put_below(value: &mut Value, path: &str, new: Value, depth: usize) {
    let Some(object) = value.as_object_mut() else { return };
    let Some((name, rest)) = path.split_once('.') else {
        if new.is_null() {
            object.remove(path);
        } else {
            object.insert(path.to_string(), new);
        }
        return;
    };
    if !object.get(name).is_some_and(Value::is_object) {
        object.insert(name.to_string(), Value::Object(Object::new()));
    }
    if let Some(inner) = object.get_mut(name) {
        put_below(inner, rest, new, depth + 1);
        if depth > 0 && inner.as_object().is_some_and(Object::is_empty) {
            object.remove(name);
        }
    }
}
