//! Visual checks, items, repairs and replacements.

use super::reader::Reader;
use super::who::{self, BY, HAPPENED, WhoNames};
use super::{Answer, Ask, Attached, Field, Known, Name, Page, Part, Typed, Wrongs, marking, name};
use crate::book::Id;
use crate::book::body::{ItemClosed, RemovedWhy, Work};
use crate::book::command::{Command, ReplaceDetector};
use crate::book::entry::{Hash, Scope};
use crate::book::visit::{Item, Visit};
use crate::trade::conditions::{ItemClass, Visual};
use crate::trade::detector::Make;
use crate::units::Degree;
use crate::view::words;

fn page_of(title: String, lead: &'static str, fields: Vec<Field>, save: &'static str) -> Page {
    let parts = vec![Part { title: "", folded: false, note: "", fields }];
    Page { title, lead, parts, offers: Vec::new(), save, first: None }
}

const FOUND: Name = name!("found", "What you see");

const VISUALS: [(Visual, &str); 9] = [
    (Visual::Missing, "missing"),
    (Visual::Loose, "loose"),
    (Visual::Damaged, "damaged"),
    (Visual::Corroded, "corroded"),
    (Visual::Painted, "painted"),
    (Visual::Dirty, "dirty"),
    (Visual::Obstructed, "obstructed"),
    (Visual::WrongPlace, "wrong-place"),
    (Visual::WrongRating, "wrong-rating"),
];

pub(super) fn open_visual(position: Id, known: Known<'_>) -> Typed {
    let mut typed = Typed::default();
    let visit = known.visit.and_then(|id| Visit::of(known.book, id));
    if let Some(check) = visit.as_ref().and_then(|visit| visit.visual_of(position)) {
        let codes = VISUALS.iter().filter(|(of, _)| check.found.contains(of)).map(|(_, code)| *code);
        typed.put(FOUND, codes.collect::<Vec<_>>().join(","));
    }
    typed
}

pub(super) fn visual() -> Page {
    let answers = VISUALS.iter().map(|(of, code)| Answer::new(code, of.words())).collect();
    let fields = vec![Field::new(FOUND, Ask::Several(answers)).help("Nothing ticked: good.")];
    page_of("Visual check".into(), "Tick everything that applies. Anything ticked opens an item.", fields, "Save")
}

pub(super) fn put_visual(position: Id, typed: &Typed, known: Known<'_>) -> Result<Command, Wrongs> {
    let reader = Reader::new(typed);
    let found = reader.several(FOUND, VISUALS);
    reader.done(Command::CheckVisual { visit: known.visit.unwrap_or(Id::nil()), position, found })
}

const CLASS: Name = name!("class", "Class");
const TOLD: WhoNames = WhoNames { pick: name!("told", "Told to"), other: name!("told-name", "Name of who was told") };
const IN_WRITING: Name = name!("in-writing", "In writing");
const CLOSED: Name = name!("closed", "What was done");
const NOTE: Name = name!("note", "Note");

const CLASSES: [(ItemClass, &str, &str); 3] = [
    (ItemClass::Observation, "observation", "Could be better."),
    (ItemClass::Deficiency, "deficiency", "Fails a requirement, but works."),
    (ItemClass::Impairment, "impairment", "Doesn't work, or is off."),
];
const CLOSINGS: [(ItemClosed, &str); 6] = [
    (ItemClosed::RepairedAndTested, "repaired"),
    (ItemClosed::ReplacedAndTested, "replaced"),
    (ItemClosed::PassedLater, "passed"),
    (ItemClosed::LeftDisabled, "disabled"),
    (ItemClosed::Accepted, "accepted"),
    (ItemClosed::Withdrawn, "withdrawn"),
];

/// The item as the book has it.
fn item_of(item: Hash, known: Known<'_>) -> Option<Item> {
    let Scope::Visit(visit) = known.book.get(item)?.chain.scope else { return None };
    Visit::of(known.book, visit)?.items.into_iter().find(|other| other.hash == item)
}

pub(super) fn open_item(item: Hash, known: Known<'_>) -> Typed {
    let mut typed = Typed::default();
    let class = item_of(item, known).and_then(|item| item.class);
    let code = CLASSES.iter().find(|(of, ..)| Some(*of) == class).map_or("", |(_, code, _)| code);
    typed.put(CLASS, code);
    who::open(&mut typed, BY, known);
    who::open_now(&mut typed, HAPPENED, known);
    typed
}

pub(super) fn item(item: Hash, typed: &Typed, known: Known<'_>) -> Page {
    let of = item_of(item, known);
    let title = of.as_ref().map_or(String::new(), |item| {
        let tag = item.found.position.and_then(|id| known.register.positions.get(&id)).map_or("", |p| p.tag());
        format!("{tag}: {}", words::item(item.found.what))
    });
    let classes = CLASSES.iter().map(|(of, code, detail)| Answer::with(code, of.words(), detail)).collect();
    let mut fields = vec![Field::new(CLASS, Ask::Choice(classes))];
    fields.extend(who::fields(typed, TOLD, Some("Nobody yet"), known));
    if typed.has(TOLD.pick) {
        fields.push(Field::new(IN_WRITING, Ask::Switch("Yes", "No")));
    }
    if of.is_none_or(|item| item.is_open()) {
        let closings = std::iter::once(Answer::new("", "Still open"))
            .chain(CLOSINGS.iter().map(|(of, code)| Answer::new(code, words::item_closed(*of))));
        fields.push(Field::new(CLOSED, Ask::Choice(closings.collect())));
        if typed.has(CLOSED) {
            fields.extend(who::fields(typed, BY, None, known));
            fields.push(Field::new(NOTE, Ask::Line));
        }
    }
    fields.push(who::happened_field());
    page_of(title, "", fields, "Save")
}

pub(super) fn put_item(
    item: Hash,
    typed: &Typed,
    attached: &Attached,
    known: Known<'_>,
) -> Result<Vec<Command>, Wrongs> {
    let mut reader = Reader::new(typed);
    let mut commands = Vec::new();
    let class = reader.maybe(CLASS, CLASSES.iter().map(|(of, code, _)| (*of, *code)));
    let stands = item_of(item, known).and_then(|item| item.class);
    commands.extend(class.filter(|class| stands != Some(*class)).map(|class| Command::ClassItem { item, class }));
    let happened = who::happened(&mut reader, HAPPENED, known);
    if let Some(to) = who::read(&mut reader, typed, TOLD, attached) {
        commands.push(Command::TellItem { item, to, in_writing: reader.yes(IN_WRITING), happened });
    }
    if let Some(how) = reader.maybe(CLOSED, CLOSINGS) {
        let by = who::must(&mut reader, typed, BY, attached);
        let note = attached.get(NOTE.key).copied();
        commands.push(Command::CloseItem { item, how, by, note, happened });
    }
    if commands.is_empty() {
        reader.say(CLASS, "Nothing changed yet.".into());
    }
    reader.done(commands)
}

const WORK: Name = name!("work", "What was done");

const WORKS: [(Work, &str, &str); 5] = [
    (Work::Cleaned, "cleaned", "Cleaned"),
    (Work::Refitted, "refitted", "Tightened or refitted"),
    (Work::Wiring, "wiring", "Wiring repaired"),
    (Work::Programming, "programming", "Programming at the panel"),
    (Work::Other, "other", "Other"),
];

pub(super) fn open_repair(known: Known<'_>) -> Typed {
    let mut typed = Typed::default();
    who::open_now(&mut typed, HAPPENED, known);
    typed
}

pub(super) fn repair(_: &Typed, _: Known<'_>) -> Page {
    let works = WORKS.iter().map(|(_, code, words)| Answer::new(code, words)).collect();
    let fields = vec![Field::new(WORK, Ask::Choice(works)), Field::new(NOTE, Ask::Line), who::happened_field()];
    page_of("Repair".into(), "Test it again afterwards: that test is “as left”.", fields, "Repaired")
}

pub(super) fn put_repair(
    position: Id,
    typed: &Typed,
    attached: &Attached,
    known: Known<'_>,
) -> Result<Command, Wrongs> {
    let mut reader = Reader::new(typed);
    let work = reader.choose(WORK, WORKS.iter().map(|(of, code, _)| (*of, *code))).unwrap_or(Work::Other);
    let happened = who::happened(&mut reader, HAPPENED, known);
    let (visit, note) = (known.visit.unwrap_or(Id::nil()), attached.get(NOTE.key).copied());
    reader.done(Command::Repair { visit, position, work, item: open_item_of(position, known), note, happened })
}

/// The open item that work at a position answers; none where there is none or more than one.
fn open_item_of(position: Id, known: Known<'_>) -> Option<Hash> {
    let visit = known.visit.and_then(|id| Visit::of(known.book, id))?;
    let mut open = visit.items.iter().filter(|item| item.is_open() && item.found.position == Some(position));
    let only = open.next()?.hash;
    open.next().is_none().then_some(only)
}

const REMOVED_WHY: Name = name!("removed-why", "Why");
const PUT_IN: Name = name!("put-in", "New detector put in");
const MODEL: Name = name!("model", "Model");
const SERIAL: Name = name!("serial", "Serial number");
const DATE_CODE: Name = name!("date-code", "Date code");

const WHYS: [(RemovedWhy, &str, &str); 6] = [
    (RemovedWhy::Failed, "failed", "It failed"),
    (RemovedWhy::Age, "age", "Its time was up"),
    (RemovedWhy::WrongType, "wrong-type", "Wrong type or rating"),
    (RemovedWhy::Sample, "sample", "Sent for laboratory test"),
    (RemovedWhy::PositionGone, "gone", "The position is given up"),
    (RemovedWhy::Other, "other", "Other"),
];

pub(super) fn open_replace(position: Id, known: Known<'_>, unit: Degree) -> Typed {
    let mut typed = Typed::default();
    typed.put_unit(unit);
    // Like for like is the rule; what differs is changed.
    let of = known.register.positions.get(&position);
    if let Some(marking) = of.and_then(|position| known.register.marking_of(position)) {
        marking::fill(&mut typed, marking, unit);
    }
    let detector = of.and_then(|position| known.register.detectors.get(&position.detector()?)?.make.now());
    typed.put(MODEL, detector.and_then(|make| make.model.clone()).unwrap_or_default());
    typed.put(PUT_IN, "yes");
    typed.put(REMOVED_WHY, "failed");
    who::open(&mut typed, BY, known);
    who::open_now(&mut typed, HAPPENED, known);
    typed
}

pub(super) fn replace(typed: &Typed, known: Known<'_>) -> Page {
    let whys = WHYS.iter().map(|(_, code, words)| Answer::new(code, words)).collect();
    let mut fields =
        vec![Field::new(REMOVED_WHY, Ask::Choice(whys)), Field::new(PUT_IN, Ask::Switch("Yes", "No, none yet"))];
    let mut more = Vec::new();
    if typed.of(PUT_IN) == "yes" {
        fields.extend(marking::fields(typed));
        fields.push(Field::new(SERIAL, Ask::Line));
        fields.push(Field::new(DATE_CODE, Ask::Line));
        fields.push(Field::new(MODEL, Ask::Line));
    }
    more.extend(who::fields(typed, BY, None, known));
    more.push(who::happened_field());
    more.push(Field::new(NOTE, Ask::Line));
    fields.extend(more);
    let lead =
        "The old detector's history stays with the position. Test the new one afterwards: that test is “as left”.";
    page_of("Replace the detector".into(), lead, fields, "Replaced")
}

pub(super) fn put_replace(
    position: Id,
    detector: Id,
    typed: &Typed,
    attached: &Attached,
    known: Known<'_>,
) -> Result<Command, Wrongs> {
    let mut reader = Reader::new(typed);
    let why = reader.choose(REMOVED_WHY, WHYS.iter().map(|(of, code, _)| (*of, *code)));
    let new = reader.yes(PUT_IN).then(|| {
        let marking = marking::read(&mut reader, typed);
        let (model, serial, date_code) = (reader.line(MODEL), reader.line(SERIAL), reader.line(DATE_CODE));
        (detector, marking, Make { model, serial, date_code, ..Make::default() })
    });
    let replace = ReplaceDetector {
        visit: known.visit.unwrap_or(Id::nil()),
        position,
        new,
        why: why.unwrap_or(RemovedWhy::Other),
        item: open_item_of(position, known),
        note: attached.get(NOTE.key).copied(),
        by: who::must(&mut reader, typed, BY, attached),
        happened: who::happened(&mut reader, HAPPENED, known),
    };
    reader.done(Command::Replace(Box::new(replace)))
}

pub(super) fn texts(typed: &Typed) -> Vec<(&'static str, String)> {
    let mut texts = super::text(typed, NOTE);
    texts.extend(who::texts(typed, BY));
    texts.extend(who::texts(typed, TOLD));
    texts
}
