//! What is said of a test later: a reading corrected, a mark that is none, a judgment, a restore.

use super::reader::{Reader, reading_text};
use super::who::{self, HAPPENED};
use super::{Answer, Ask, Attached, Field, Known, Name, Page, Part, Typed, Wrongs, name, units};
use crate::book::Id;
use crate::book::body::{Answer as Said, Body};
use crate::book::command::Command;
use crate::book::decide::TEMPERATURE;
use crate::book::entry::Hash;
use crate::units::{Celsius, Degree};

fn page_of(title: &str, lead: &'static str, fields: Vec<Field>, save: &'static str) -> Page {
    let parts = vec![Part { title: "", folded: false, note: "", fields }];
    Page { title: title.into(), lead, parts, offers: Vec::new(), save, first: None }
}

const READING: Name = name!("reading", "Reading");
const NONE: Name = name!("no-reading", "It was no reading");
const REASON: Name = name!("reason", "Reason");

pub(super) fn open_reading(reading: Hash, known: Known<'_>, unit: Degree) -> Typed {
    let mut typed = Typed::default();
    typed.put_unit(unit);
    if let Some(Body::ReadingTaken { reading, .. }) = known.book.get(reading).map(|entry| &entry.body) {
        typed.put_unit(reading.unit);
        typed.put(READING, reading_text(reading, reading.unit));
    }
    typed
}

pub(super) fn reading(typed: &Typed) -> Page {
    let mut fields = vec![Field::new(NONE, Ask::Switch("Yes", "No"))];
    if !Reader::new(typed).yes(NONE) {
        fields.insert(0, Field::degrees(READING, typed.unit()));
        fields.insert(1, units());
    }
    fields.push(Field::new(REASON, Ask::Line).help("May stay blank."));
    page_of("Change reading", "The old value stays on record, struck through.", fields, "Save")
}

pub(super) fn put_reading(reading: Hash, typed: &Typed, attached: &Attached) -> Result<Command, Wrongs> {
    let mut reader = Reader::new(typed);
    let now = if reader.yes(NONE) {
        None
    } else {
        let now = reader.reading(READING, (Celsius(-40.0), TEMPERATURE.1));
        reader.must(READING, now)
    };
    reader.line(REASON);
    reader.done(Command::CorrectReading { reading, now, why: attached.get(REASON.key).copied() })
}

pub(super) fn strike() -> Page {
    let fields = vec![Field::new(REASON, Ask::Line).help("e.g. another detector, a slip. May stay blank.")];
    page_of("Not a trip", "The mark stays on record, struck through, and counts for nothing.", fields, "Not a trip")
}

pub(super) fn put_strike(mark: Hash, attached: &Attached) -> Result<Command, Wrongs> {
    Ok(Command::StrikeMark { mark, why: attached.get(REASON.key).copied() })
}

const JUDGMENT: Name = name!("judgment", "Your judgment");

pub(super) fn open_judge() -> Typed {
    Typed::default()
}

pub(super) fn judge() -> Page {
    let answers = vec![
        Answer::with("failed", "Did not operate", "Prints as your judgment, with your name."),
        Answer::with("open", "Leave it not decided", "Retest or replace."),
    ];
    let fields = vec![Field::new(JUDGMENT, Ask::Choice(answers)), Field::new(REASON, Ask::Line).help("What you saw.")];
    let lead = "The heat this test gave doesn't decide it. You may.";
    page_of("Technician's judgment", lead, fields, "Save")
}

pub(super) fn put_judge(test: Id, typed: &Typed, attached: &Attached) -> Result<Command, Wrongs> {
    let mut reader = Reader::new(typed);
    let did_not_operate = reader.choose(JUDGMENT, [(true, "failed"), (false, "open")]).unwrap_or_default();
    if did_not_operate {
        reader.name(REASON);
    }
    reader.done(Command::Judge { test, did_not_operate, note: attached.get(REASON.key).copied() })
}

const RESTORED: Name = name!("restored", "Did it restore?");

pub(super) fn open_restored(known: Known<'_>) -> Typed {
    let mut typed = Typed::default();
    who::open_now(&mut typed, HAPPENED, known);
    typed
}

pub(super) fn restored() -> Page {
    let answers = vec![
        Answer::new("yes", "Yes"),
        Answer::with("no", "No, stays in alarm", "Five minutes after the heater was lowered, or later."),
        Answer::new("not-checked", "Not checked"),
    ];
    let fields = vec![Field::new(RESTORED, Ask::Choice(answers)), who::happened_field()];
    page_of("Restored?", "A panel reset proves no detector's restore.", fields, "Save")
}

pub(super) fn put_restored(test: Id, typed: &Typed, known: Known<'_>) -> Result<Command, Wrongs> {
    let mut reader = Reader::new(typed);
    let codes = [(Said::Yes, "yes"), (Said::No, "no"), (Said::NotChecked, "not-checked")];
    let restored = reader.choose(RESTORED, codes).unwrap_or(Said::NotChecked);
    let happened = who::happened(&mut reader, HAPPENED, known);
    reader.done(Command::SayRestore { test, restored, happened })
}

pub(super) fn texts(typed: &Typed) -> Vec<(&'static str, String)> {
    super::text(typed, REASON)
}
