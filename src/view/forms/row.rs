//! One field of a form, as its table has it: where its value is, what it may hold, and its words.

use super::{Answer, Known, Name, Typed};
use crate::trade::fields::{Fact, Kind};
use crate::view::route::Form;
use serde_json::Value;

/// What a field's words and conditions may depend on.
#[derive(Clone, Copy)]
pub(super) struct Asked<'a> {
    /// The form.
    pub(super) form: Form,
    /// What was typed so far.
    pub(super) typed: &'a Typed,
    /// What is known.
    pub(super) known: Known<'a>,
    /// Whether the form makes a new thing.
    pub(super) new: bool,
}

impl Asked<'_> {
    /// The tag of the position that the form is about.
    pub(super) fn tag(&self) -> String {
        let position = match self.form {
            Form::NotTested(id) | Form::OtherMethod(id) | Form::PlanPosition(id) => Some(id),
            Form::OpenPair(id) => id,
            _ => None,
        };
        let position = position.and_then(|id| self.known.register.positions.get(&id));
        position.map_or("", |position| position.tag()).to_string()
    }

    /// The text of a field.
    pub(super) fn text(&self, row: &Row) -> &str {
        self.typed.of(row.name)
    }

    /// Whether this answer was given.
    pub(super) fn is(&self, row: &Row, code: &str) -> bool {
        self.text(row) == code
    }

    /// Whether anything stands in a field, by its key.
    pub(super) fn has(&self, key: &str) -> bool {
        !self.typed.get(key).trim().is_empty()
    }
}

/// Something a row depends on.
type When = fn(&Asked<'_>) -> bool;

/// Whether a field that is on the page has to be filled in.
#[derive(Clone, Copy, Debug)]
pub(super) enum Need {
    /// It may stay blank.
    No,
    /// It may not.
    Yes,
    /// It depends.
    If(When),
}

/// What helps to answer.
#[derive(Clone, Copy, Debug)]
pub(super) enum Help {
    /// The same words each time.
    Words(&'static str),
    /// Words that depend on what was typed.
    Said(fn(&Asked<'_>) -> String),
}

/// The answers of a choice, in the order of the page. An answer without a code stands for a blank.
#[derive(Clone, Copy, Debug)]
pub(super) enum Answers {
    /// None: the field is typed.
    None,
    /// Code, words and a line below. The code is the name that the value is stored by, with hyphens.
    Words(&'static [(&'static str, &'static str, &'static str)]),
    /// Answers that depend on what is known.
    Asked(fn(&Asked<'_>) -> Vec<Answer>),
}

/// One field of a form.
#[derive(Clone, Copy, Debug)]
pub(super) struct Row {
    /// Its names.
    pub(super) name: Name,
    /// Where its value is in what the form makes, with points between; empty for a question that only steers the form.
    pub(super) path: &'static str,
    /// What it may hold.
    pub(super) fact: Fact,
    /// Whether it has to be filled in.
    pub(super) need: Need,
    /// What helps to answer.
    pub(super) help: Help,
    /// The answers of a choice.
    pub(super) answers: Answers,
    /// When it is there; a field that is not there is not stored either.
    pub(super) shown: Option<When>,
    /// When it is read without being drawn, because there is only one answer.
    pub(super) silent: Option<When>,
    /// Of a person: the field with the name of somebody else.
    pub(super) other: Option<Name>,
    /// What stands in it when the form opens, where that is not simply its value.
    pub(super) opens: Option<fn(&Value) -> &'static str>,
    /// Whether it is about the single thing, so that another one like it does not take it over.
    pub(super) single: bool,
}

impl Row {
    pub(super) const fn new(path: &'static str, fact: Fact, name: Name) -> Row {
        let need = if matches!(fact.kind, Kind::Name) { Need::Yes } else { Need::No };
        Row {
            name,
            path,
            fact,
            need,
            help: Help::Words(""),
            answers: Answers::None,
            shown: None,
            silent: None,
            other: None,
            opens: None,
            single: false,
        }
    }

    pub(super) const fn needed(self) -> Row {
        Row { need: Need::Yes, ..self }
    }

    pub(super) const fn needed_if(self, when: When) -> Row {
        Row { need: Need::If(when), ..self }
    }

    pub(super) const fn help(self, words: &'static str) -> Row {
        Row { help: Help::Words(words), ..self }
    }

    pub(super) const fn said(self, help: fn(&Asked<'_>) -> String) -> Row {
        Row { help: Help::Said(help), ..self }
    }

    pub(super) const fn words(self, words: &'static [(&'static str, &'static str, &'static str)]) -> Row {
        Row { answers: Answers::Words(words), ..self }
    }

    pub(super) const fn asked(self, answers: fn(&Asked<'_>) -> Vec<Answer>) -> Row {
        Row { answers: Answers::Asked(answers), ..self }
    }

    pub(super) const fn shown(self, when: When) -> Row {
        Row { shown: Some(when), ..self }
    }

    pub(super) const fn silent(self, when: When) -> Row {
        Row { silent: Some(when), ..self }
    }

    pub(super) const fn other(self, name: Name) -> Row {
        Row { other: Some(name), ..self }
    }

    pub(super) const fn opens(self, with: fn(&Value) -> &'static str) -> Row {
        Row { opens: Some(with), ..self }
    }

    pub(super) const fn single(self) -> Row {
        Row { single: true, ..self }
    }

    /// Whether it is there.
    pub(super) fn is_shown(&self, asked: &Asked<'_>) -> bool {
        self.shown.is_none_or(|shown| shown(asked))
    }

    /// Whether it has to be filled in.
    pub(super) fn is_needed(&self, asked: &Asked<'_>) -> bool {
        match self.need {
            Need::No => false,
            Need::Yes => true,
            Need::If(when) => when(asked),
        }
    }

    /// Its answers.
    pub(super) fn answers(&self, asked: &Asked<'_>) -> Vec<Answer> {
        match self.answers {
            Answers::None => Vec::new(),
            Answers::Words(words) => {
                words.iter().map(|(code, label, detail)| Answer::with(code, label, detail)).collect()
            }
            Answers::Asked(answers) => answers(asked),
        }
    }

    /// Whether it is answered by a choice.
    pub(super) fn is_choice(&self) -> bool {
        !matches!(self.answers, Answers::None)
    }
}

/// A field of a stored fact: the group it is in, its type, its stored name, its key in drafts and tests, its label.
macro_rules! row {
    ($group:literal, $shape:ty, $field:literal, $key:literal, $label:literal) => {
        $crate::view::forms::row::Row::new(
            concat!($group, ".", $field),
            $crate::trade::fields::fact(<$shape as $crate::trade::fields::Described>::FACTS, $field),
            $crate::view::forms::name!($key, $label),
        )
    };
}

/// A question whose answer is stored in another form than it is asked, or not at all.
macro_rules! ask {
    ($path:literal, $kind:expr, $key:literal, $label:literal) => {
        $crate::view::forms::row::Row::new(
            $path,
            $crate::trade::fields::Fact { key: $path, name: $key, kind: $kind },
            $crate::view::forms::name!($key, $label),
        )
    };
}

pub(super) use {ask, row};

/// Who did it: a person of this phone or somebody else by name.
macro_rules! by {
    ($group:literal, $shape:ty) => {
        $crate::view::forms::row::row!($group, $shape, "by", "by", "Who did it")
            .other($crate::view::forms::name!("by-name", "Name of who did it"))
            .needed()
    };
}

/// When it happened, not later than now.
macro_rules! happened {
    ($group:literal, $shape:ty) => {
        $crate::view::forms::row::row!($group, $shape, "happened", "happened", "Time")
            .help("When it happened, if that was before now.")
            .needed()
    };
}

pub(super) use {by, happened};
