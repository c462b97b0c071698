//! Visual checks, items, repairs and replacements.

use super::row::{Asked, Row, ask, by, happened, row};
use super::table::{Made, Rows, Table, whole};
use super::{Answer, Known, Wrong, Wrongs, marking, name, position, thing};
use crate::book::Id;
use crate::book::body::{
    ItemClosed, ItemClosing, ItemFound, ItemTelling, RemovedWhy, Repair, Replaced, VisualCheck, Who,
};
use crate::book::command::{Command, ReplaceDetector};
use crate::book::entry::{Hash, Scope};
use crate::book::register::Position;
use crate::book::visit::{Item, Visit, headings};
use crate::encoding::stored::Stored;
use crate::trade::conditions::{ItemClass, Visual};
use crate::trade::fields::Kind;
use crate::view::route::Form;
use crate::view::words;
use serde_json::{Value, json};

const FOUND: Row = row!("visual", VisualCheck, "found", "found", "What you see")
    .asked(|_| Answer::each(&Visual::ALL, Visual::words))
    .help("Nothing checked: good.");

pub(super) const VISUAL: Table = Table {
    title: |_| "Visual check".into(),
    lead: "Check everything that applies. Anything checked opens an item.",
    parts: &[Rows { title: "", note: "", rows: &[&[FOUND]] }],
    base: |form, known| {
        let Form::Visual(position) = form else { return Value::Null };
        let found = known.shown().and_then(|visit| Some(visit.visual_of(position)?.found.to_value()));
        found.map_or(Value::Null, |found| json!({ "visual": { "found": found } }))
    },
    make: |made| {
        let Form::Visual(position) = made.asked.form else { return Ok(Vec::new()) };
        let found = made.at("visual.found").unwrap_or_default();
        Ok(vec![Command::CheckVisual { visit: made.visit(), position, found }])
    },
    ..Table::PLAIN
};

const CLASS: Row = row!("item", ItemFound, "class", "class", "Class").asked(|_| {
    let classes = [
        (ItemClass::Observation, "Could be better."),
        (ItemClass::Deficiency, "Fails a requirement, but works."),
        (ItemClass::Impairment, "Doesn't work, or is off."),
    ];
    let answer = |(of, detail): (ItemClass, &str)| {
        let detail = detail.to_string();
        Answer::each(&[of], ItemClass::words).into_iter().map(move |answer| Answer { detail: detail.clone(), ..answer })
    };
    classes.into_iter().flat_map(answer).collect()
});
const TOLD: Row = row!("telling", ItemTelling, "to", "told", "Notified")
    .words(&[("", "Nobody yet", "")])
    .other(name!("told-name", "Name of the person notified"));
const IN_WRITING: Row =
    row!("telling", ItemTelling, "in_writing", "in-writing", "In writing").shown(|asked| asked.has("told"));
const CLOSED: Row = row!("closing", ItemClosing, "how", "closed", "What was done").asked(|_| {
    let all = [
        ItemClosed::RepairedAndTested,
        ItemClosed::ReplacedAndTested,
        ItemClosed::PassedLater,
        ItemClosed::LeftDisabled,
        ItemClosed::Accepted,
        ItemClosed::Withdrawn,
    ];
    std::iter::once(Answer::new("", "Still open")).chain(Answer::each(&all, words::item_closed)).collect()
});
const CLOSED_BY: Row = by!("closing", ItemClosing).shown(closes);
const CLOSED_NOTE: Row = row!("closing", ItemClosing, "note", "note", "Note").shown(closes);

fn is_open(asked: &Asked<'_>) -> bool {
    item_of(asked.form, asked.known).is_none_or(|item| item.is_open())
}

fn closes(asked: &Asked<'_>) -> bool {
    asked.has("closed") && is_open(asked)
}

/// The item as the book has it.
fn item_of(form: Form, known: Known<'_>) -> Option<Item> {
    let Form::Item(item) = form else { return None };
    let Scope::Visit(visit) = known.book.get(item)?.chain.scope else { return None };
    Visit::of(known.book, visit)?.items.into_iter().find(|other| other.hash == item)
}

pub(super) const ITEM: Table = Table {
    title: |asked| match item_of(asked.form, asked.known) {
        Some(Item { found, .. }) => {
            format!("{}: {}", crate::view::visit::about(asked.known.register, &found), words::found(&found))
        }
        None => String::new(),
    },
    parts: &[Rows {
        title: "",
        note: "",
        rows: &[&[
            CLASS,
            TOLD,
            IN_WRITING,
            CLOSED.shown(is_open),
            CLOSED_BY,
            CLOSED_NOTE,
            happened!("telling", ItemTelling),
        ]],
    }],
    base: |form, known| {
        let class = item_of(form, known).and_then(|item| item.class);
        class.map_or(Value::Null, |class| json!({ "item": { "class": class.to_value() } }))
    },
    make: change_item,
    ..Table::PLAIN
};

fn change_item(made: Made<'_>) -> Result<Vec<Command>, Wrongs> {
    let Form::Item(item) = made.asked.form else { return Ok(Vec::new()) };
    let mut commands = Vec::new();
    let stands = item_of(made.asked.form, made.asked.known).and_then(|item| item.class);
    let class = made.at("item.class").filter(|class| stands != Some(*class));
    commands.extend(class.map(|class| Command::ClassItem { item, class }));
    let happened = whole(made.at("telling.happened"))?;
    if let Some(to) = made.at("telling.to") {
        let in_writing = made.at("telling.in_writing").unwrap_or_default();
        commands.push(Command::TellItem { item, to, in_writing, happened });
    }
    if let Some(how) = made.at("closing.how") {
        let by = whole(made.at("closing.by"))?;
        commands.push(Command::CloseItem { item, how, by, note: made.at("closing.note"), happened });
    }
    if commands.is_empty() {
        return Err(Wrongs::from([(CLASS.name.key, Wrong { say: "Nothing changed yet.".into(), offer: None })]));
    }
    Ok(commands)
}

const WORK: Row = row!("repair", Repair, "work", "work", "What was done")
    .words(&[
        ("cleaned", "Cleaned", ""),
        ("refitted", "Tightened or refitted", ""),
        ("wiring", "Wiring repaired", ""),
        ("programming", "Programming at the panel", ""),
        ("other", "Other", ""),
    ])
    .needed();
const REPAIR_NOTE: Row = row!("repair", Repair, "note", "note", "Note");

pub(super) const REPAIR: Table = Table {
    title: |_| "Repair".into(),
    lead: "Test it again afterwards: that test is “as left”.",
    save: "Repaired",
    parts: &[Rows { title: "", note: "", rows: &[&[WORK, REPAIR_NOTE, happened!("repair", Repair)]] }],
    make: |made| {
        let Form::Repair(position) = made.asked.form else { return Ok(Vec::new()) };
        let (work, happened) = whole(made.at("repair.work").zip(made.at("repair.happened")))?;
        let (visit, item, note) = (made.visit(), open_item_of(position, made.asked.known), made.at("repair.note"));
        Ok(vec![Command::Repair { visit, position, work, item, note, happened }])
    },
    ..Table::PLAIN
};

/// The visit that a replacement belongs to: the one on screen, else any open one of the site. None where there is none, and where nothing
/// hangs that could be replaced.
fn visit_for(position: Id, known: Known<'_>) -> Option<Id> {
    let site = known.register.site_of(position)?;
    known.register.positions.get(&position)?.hanging().next()?;
    let open: Vec<Id> = headings(known.book)
        .into_iter()
        .filter(|heading| heading.site == site && !heading.closed)
        .map(|heading| heading.id)
        .collect();
    known.visit.filter(|visit| open.contains(visit)).or(open.first().copied())
}

/// The open item that work at a position answers; none where there is none or more than one.
fn open_item_of(position: Id, known: Known<'_>) -> Option<Hash> {
    let visit = known.shown()?;
    let mut open = visit.items.iter().filter(|item| item.is_open() && item.found.position == Some(position));
    let only = open.next()?.hash;
    open.next().is_none().then_some(only)
}

const REMOVED_WHY: Row = row!("replaced", Replaced, "why", "removed-why", "Why")
    .words(&[
        ("failed", "It failed", ""),
        ("age", "End of service life", ""),
        ("wrong-type", "Wrong type or rating", ""),
        ("sample", "Sent for laboratory test", ""),
        ("position-gone", "The position is given up", ""),
        ("other", "Other", ""),
    ])
    .shown(|asked| position_of(asked).is_some_and(|position| position.hanging().next().is_some()))
    .needed();
const PUT_IN: Row = ask!("", Kind::Flag, "put-in", "New detector put in");
const REPLACED_NOTE: Row = row!("replaced", Replaced, "note", "note", "Note");

fn position_of<'a>(asked: &Asked<'a>) -> Option<&'a Position> {
    match asked.form {
        Form::Replace(position) => asked.known.register.positions.get(&position),
        _ => None,
    }
}

/// Whether a visit records it, which keeps who did it and why in words.
fn in_visit(asked: &Asked<'_>) -> bool {
    matches!(asked.form, Form::Replace(position) if visit_for(position, asked.known).is_some())
}

/// Whether a new detector is put in.
pub(super) fn put_in(asked: &Asked<'_>) -> bool {
    asked.is(&PUT_IN, "yes")
}

pub(super) const REPLACE: Table = Table {
    title: |_| "New detector put in".into(),
    lead: "The old detector's history stays with the position. The new one counts as untested until a test of it has passed.",
    save: "Save",
    parts: &[Rows {
        title: "",
        note: "",
        rows: &[
            &[REMOVED_WHY, PUT_IN],
            marking::ROWS,
            marking::CLASS_ROWS,
            &[position::SERIAL.shown(put_in), position::DATE_CODE.shown(put_in), position::MODEL.shown(put_in)],
            &[
                by!("replaced", Replaced).shown(in_visit),
                happened!("replaced", Replaced),
                REPLACED_NOTE.shown(in_visit),
            ],
        ],
    }],
    opens: |typed, form, known, unit| {
        let Form::Replace(position) = form else { return };
        // Like for like is the rule; what differs is changed.
        let stands = thing::base(Form::Position(Some(position)), known);
        let like = |row: &Row| row.path.starts_with("marking.") || row.path == position::MODEL.path;
        REPLACE.fill(typed, &stands, known, unit, &like);
        typed.put(PUT_IN.name, "yes");
        typed.put(REMOVED_WHY.name, "failed");
    },
    make: replace,
    ..Table::PLAIN
};

fn replace(made: Made<'_>) -> Result<Vec<Command>, Wrongs> {
    let (Form::Replace(position), known) = (made.asked.form, made.asked.known) else { return Ok(Vec::new()) };
    let new = match put_in(&made.asked) {
        true => Some((made.making.other, made.take("marking")?, made.at("make").unwrap_or_default())),
        false => None,
    };
    let replace = ReplaceDetector {
        visit: visit_for(position, known),
        position,
        new,
        why: made.at("replaced.why").unwrap_or(RemovedWhy::Other),
        item: open_item_of(position, known),
        note: made.at("replaced.note"),
        by: whole(made.at("replaced.by").or(known.at.who.map(Who::Person)))?,
        happened: whole(made.at("replaced.happened"))?,
    };
    Ok(vec![Command::Replace(Box::new(replace))])
}
