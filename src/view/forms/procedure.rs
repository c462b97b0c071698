//! The form of a procedure. Its numbers are blank until somebody takes them from the heater, the detector's instructions or the owner.

use super::reader::{Reader, difference_text};
use super::{Answer, Ask, Attached, Field, Name, Page, Part, Typed, Wrongs, name, title, units};
use crate::book::Id;
use crate::book::command::Command;
use crate::book::kit::Kit;
use crate::book::log::Book;
use crate::book::refusal;
use crate::trade::detector::Agreed;
use crate::trade::procedure::{NumbersFrom, OwnLimits, Procedure, ProcedureKind};
use crate::units::Degree;
use crate::view::time;

const NAME: Name = name!("procedure-name", "Procedure's name");
const KIND: Name = name!("kind", "What it is for");
const FROM: Name = name!("numbers-from", "Numbers are from");
const TRIPS: Name = name!("trips", "Trips");
const NOT_AVERAGED: Name = name!("not-averaged", "First trips not averaged");
const SOAK: Name = name!("soak", "Soak");
const OFF: Name = name!("off", "Cool-down");
const EXTRA: Name = name!("extra", "Extra trips allowed");
const MINUS: Name = name!("lower", "Lower limit");
const PLUS: Name = name!("upper", "Upper limit");
const AGREED_BY: Name = name!("agreed-by", "Agreed by");
const AGREED_ON: Name = name!("agreed-on", "Agreed on");

const KINDS: [(ProcedureKind, &str); 2] =
    [(ProcedureKind::SetPoint, "set-point"), (ProcedureKind::Functional, "functional")];
const SOURCES: [(NumbersFrom, &str); 3] =
    [(NumbersFrom::Heater, "heater"), (NumbersFrom::DetectorInstructions, "detector"), (NumbersFrom::Owner, "owner")];

pub(super) fn open(id: Option<Id>, kit: &Kit, book: &Book, unit: Degree) -> Typed {
    let mut typed = Typed::default();
    typed.put_unit(unit);
    match id.and_then(|id| kit.procedures.get(&id)?.now()) {
        Some(procedure) => fill(&mut typed, procedure, book),
        None => typed.put(KIND, "set-point"),
    }
    typed
}

fn fill(typed: &mut Typed, procedure: &Procedure, book: &Book) {
    let code = |codes: &[(ProcedureKind, &'static str)]| {
        codes.iter().find(|(kind, _)| *kind == procedure.kind).map_or("", |(_, code)| code)
    };
    let times = |ms: Option<i64>| ms.map(time::gone).unwrap_or_default();
    typed.put(NAME, &procedure.name);
    typed.put(KIND, code(&KINDS));
    let from = SOURCES.iter().find(|(from, _)| Some(*from) == procedure.numbers_from);
    typed.put(FROM, from.map_or("", |(_, code)| code));
    typed.put(TRIPS, procedure.trips.to_string());
    typed.put(NOT_AVERAGED, procedure.not_averaged.to_string());
    typed.put(SOAK, times(procedure.soak_ms));
    typed.put(OFF, times(procedure.off_ms));
    typed.put(EXTRA, procedure.extra_trips.to_string());
    if let Some(limits) = &procedure.limits {
        typed.put_unit(limits.minus.unit);
        typed.put(MINUS, difference_text(&limits.minus, limits.minus.unit));
        typed.put(PLUS, difference_text(&limits.plus, limits.minus.unit));
        if let Some(agreed) = &limits.agreed {
            typed.put(AGREED_BY, book.words(agreed.by).unwrap_or_default());
            typed.put(AGREED_ON, agreed.on.as_deref().unwrap_or_default());
        }
    }
}

pub(super) fn page(new: bool, typed: &Typed) -> Page {
    let unit = typed.unit();
    let kinds = vec![
        Answer::with("set-point", ProcedureKind::SetPoint.words(), "Several trips, their mean: at what temperature."),
        Answer::with("functional", ProcedureKind::Functional.words(), "One trip, alarm at the panel, restore."),
    ];
    let set_point = typed.of(KIND) == "set-point";
    let mut first = vec![Field::new(KIND, Ask::Choice(kinds)), Field::new(NAME, Ask::Line)];
    if set_point {
        let sources = SOURCES.iter().map(|(from, code)| Answer::new(code, from.words())).collect();
        first.push(Field::new(FROM, Ask::Choice(sources)));
        first.push(Field::new(TRIPS, Ask::Whole).help("How many to take."));
        first.push(Field::new(NOT_AVERAGED, Ask::Whole).help("How many first ones stay out of the mean."));
    }
    first.push(Field::length(SOAK, typed, "At top temperature in the first heat-up."));
    let mut limits = Vec::new();
    if set_point {
        first.push(Field::length(OFF, typed, "Without heat between trips, for the detector to restore."));
        first.push(
            Field::new(EXTRA, Ask::Whole)
                .help("When the restore was watched and not seen, that trip does not count and one more is taken."),
        );
        limits.push(Part {
            title: "Owner's limits for this method",
            folded: true,
            note: "Leave blank if there are none. They come before the detector's own.",
            fields: vec![
                Field::difference(MINUS, unit).help("Below the rating, with its sign, e.g. −5."),
                Field::difference(PLUS, unit).help("Above the rating, e.g. 5."),
                units(),
                Field::new(AGREED_BY, Ask::Line).help("Who agreed to the limits and to how they are decided."),
                Field::new(AGREED_ON, Ask::Day),
            ],
        });
    }
    let mut parts = vec![Part { title: "", folded: false, note: "", fields: first }];
    parts.append(&mut limits);
    Page {
        title: title(new, "procedure"),
        lead: "Take the numbers from the heater's marking, the detector's instructions or the owner. The app has none of its own.",
        parts,
        offers: Vec::new(),
        save: "Save",
        first: None,
    }
}

/// The name of who agreed, which is kept as an attachment.
pub(super) fn texts(typed: &Typed) -> Vec<(&'static str, String)> {
    super::text(typed, AGREED_BY)
}

pub(super) fn put(typed: &Typed, id: Id, attached: &Attached) -> Result<Command, Wrongs> {
    let mut reader = Reader::new(typed);
    let name = reader.name(NAME);
    let kind = reader.choose(KIND, KINDS).unwrap_or(ProcedureKind::SetPoint);
    let soak_ms = reader.length(SOAK, (1, 3_600));
    let mut now = Procedure { name, kind, soak_ms, ..Procedure::functional() };
    if kind == ProcedureKind::SetPoint {
        reader.must(SOAK, soak_ms);
        now.numbers_from = reader.choose(FROM, SOURCES);
        let small = |number: i64| u32::try_from(number).unwrap_or_default();
        let trips = reader.whole(TRIPS, (1, 20), "trips");
        now.trips = small(trips);
        now.not_averaged = small(reader.whole(NOT_AVERAGED, (0, (trips - 1).max(0)), "trips"));
        now.extra_trips = small(reader.whole(EXTRA, (0, 10), "trips"));
        let off = reader.length(OFF, (1, 3_600));
        now.off_ms = reader.must(OFF, off);
        let (minus, plus) = (reader.difference(MINUS, (-60.0, 0.0)), reader.difference(PLUS, (0.0, 60.0)));
        if typed.has(MINUS) != typed.has(PLUS) {
            let name = if typed.has(MINUS) { PLUS } else { MINUS };
            reader.wrong(name, &refusal::Field::Empty { name: name.label });
        }
        let on = reader.day(AGREED_ON);
        let agreed = attached.get(AGREED_BY.key).map(|by| Agreed { by: *by, on });
        now.limits = minus.zip(plus).map(|(minus, plus)| OwnLimits { minus, plus, agreed });
    }
    reader.done(Command::PutProcedure { procedure: id, now: Box::new(now) })
}
