//! Who did something and when: a person of this phone or somebody else by name, and a time that may be earlier than now.

use super::reader::Reader;
use super::{Answer, Ask, Attached, Field, Known, Name, Typed, name};
use crate::book::Id;
use crate::book::body::{Happened, Precision, Who};
use crate::view::time;

/// The two fields that say who.
#[derive(Clone, Copy, Debug)]
pub(super) struct WhoNames {
    /// Which person.
    pub(super) pick: Name,
    /// The name of somebody else.
    pub(super) other: Name,
}

/// Who did it.
pub(super) const BY: WhoNames =
    WhoNames { pick: name!("by", "Who did it"), other: name!("by-name", "Name of who did it") };

/// When it happened.
pub(super) const HAPPENED: Name = name!("happened", "Time");

const OTHER: &str = "other";

/// Puts the person who has the phone in.
pub(super) fn open(typed: &mut Typed, names: WhoNames, known: Known<'_>) {
    typed.put(names.pick, known.at.who.map_or_else(|| OTHER.to_string(), |who| who.to_string()));
}

/// Puts now in.
pub(super) fn open_now(typed: &mut Typed, name: Name, known: Known<'_>) {
    typed.put(name, time::moment_text(known.at.stamp.wall, known.at.offset_min));
}

/// The question, and the name where it is somebody else. With `none` it may stay open, in these words.
pub(super) fn fields(typed: &Typed, names: WhoNames, none: Option<&str>, known: Known<'_>) -> Vec<Field> {
    let mut answers: Vec<Answer> = none.map(|words| Answer::new("", words)).into_iter().collect();
    let people = known.kit.people_by_name(known.book);
    answers.extend(people.into_iter().map(|(id, _, name)| Answer::new(id, name)));
    answers.push(Answer::new(OTHER, "Someone else"));
    let mut fields = vec![Field::new(names.pick, Ask::Choice(answers))];
    if typed.of(names.pick) == OTHER {
        fields.push(Field::new(names.other, Ask::Line));
    }
    fields
}

/// The field for a time that is not later than now.
pub(super) fn happened_field() -> Field {
    Field::new(HAPPENED, Ask::Moment).help("When it happened, if that was before now.")
}

/// The name of somebody else, to be attached.
pub(super) fn texts(typed: &Typed, names: WhoNames) -> Vec<(&'static str, String)> {
    if typed.of(names.pick) == OTHER { super::text(typed, names.other) } else { Vec::new() }
}

/// Who it is; none where it may stay open and does.
pub(super) fn read(reader: &mut Reader<'_>, typed: &Typed, names: WhoNames, attached: &Attached) -> Option<Who> {
    if typed.of(names.pick) == OTHER {
        reader.name(names.other);
        return attached.get(names.other.key).map(|name| Who::Named(*name));
    }
    Id::try_parse(typed.of(names.pick)).ok().map(Who::Person)
}

/// Who it is, where it has to be said.
pub(super) fn must(reader: &mut Reader<'_>, typed: &Typed, names: WhoNames, attached: &Attached) -> Who {
    let who = read(reader, typed, names, attached);
    if who.is_none() && typed.of(names.pick) != OTHER {
        reader.wrong(names.pick, &crate::book::refusal::Field::Choose { name: names.pick.label });
    }
    // What stands for nobody makes no command: the reader has something to say.
    who.unwrap_or(Who::Person(Id::nil()))
}

/// When it happened, to the minute.
pub(super) fn happened(reader: &mut Reader<'_>, name: Name, known: Known<'_>) -> Happened {
    let at = reader.moment(name, known.at.offset_min);
    let at = reader.must(name, at).unwrap_or(known.at.stamp.wall);
    Happened { at: at.min(known.at.stamp.wall), offset: known.at.offset_min, precision: Precision::Minute }
}
