//! Permit and gas test as on the paper, the heater's approval held against the area, and clearing an alarm that was not ours.

use super::reader::Reader;
use super::who::{self, BY, HAPPENED};
use super::{Answer, Ask, Attached, Field, Known, Name, Page, Part, Typed, Wrongs, name};
use crate::book::Id;
use crate::book::body::Permit;
use crate::book::command::Command;
use crate::book::entry::Hash;
use crate::book::versions::Versions;
use crate::trade::classified::{Classification, Gas, GasReading};
use crate::view::time;

const NUMBER: Name = name!("permit-number", "Permit number");
const FROM: Name = name!("valid-from", "Valid from");
const UNTIL: Name = name!("valid-until", "Valid until");
const TESTED: Name = name!("gas-tested", "Time of the gas test");
const LEL: Name = name!("lel", "Combustible gas");
const OXYGEN: Name = name!("oxygen", "Oxygen");
const INSTRUMENT: Name = name!("instrument", "Gas meter");
const INTERVAL: Name = name!("interval", "Gas test every");
const LIMIT: Name = name!("lel-limit", "Limit on the permit");
const PHONE: Name = name!("phone-allowed", "Does the permit allow this phone in?");

pub(super) fn open(_: Option<Id>, known: Known<'_>) -> Typed {
    let mut typed = Typed::default();
    let now = time::moment_text(known.at.stamp.wall, known.at.offset_min);
    typed.put(FROM, &now);
    typed.put(TESTED, now);
    who::open(&mut typed, BY, known);
    typed
}

pub(super) fn page(typed: &Typed, known: Known<'_>) -> Page {
    let yes_no = vec![Answer::new("yes", "Yes"), Answer::new("no", "No")];
    let mut fields = vec![
        Field::new(NUMBER, Ask::Line),
        Field::new(FROM, Ask::Moment),
        Field::new(UNTIL, Ask::Moment),
        Field::new(TESTED, Ask::Moment),
        Field::new(LEL, Ask::Decimal).unit("% LEL").help("As the meter shows it, e.g. 0."),
        Field::new(OXYGEN, Ask::Decimal).unit("% O₂").help("As the meter shows it, e.g. 20.9."),
        Field::new(LIMIT, Ask::Decimal).unit("% LEL").help("Blank: any reading above 0 refuses heat. 10% always does."),
        Field::new(INTERVAL, Ask::Whole)
            .unit("min")
            .help("How often the permit asks for a gas test. Blank if it doesn't."),
        Field::new(INSTRUMENT, Ask::Line).help("Model and number of the meter."),
        Field::new(PHONE, Ask::Choice(yes_no)),
    ];
    fields.extend(who::fields(typed, BY, None, known));
    let parts = vec![Part { title: "", folded: false, note: "", fields }];
    let lead = "As on the paper. Local permit rules come first.";
    Page { title: "Permit and gas test".into(), lead, parts, offers: Vec::new(), save: "Save", first: None }
}

pub(super) fn put(area: Option<Id>, typed: &Typed, attached: &Attached, known: Known<'_>) -> Result<Command, Wrongs> {
    let mut reader = Reader::new(typed);
    let offset = known.at.offset_min;
    let number = reader.name(NUMBER);
    let mut moment = |name| {
        let at = reader.moment(name, offset);
        reader.must(name, at).unwrap_or_default()
    };
    let (valid_from, valid_until, gas_tested_at) = (moment(FROM), moment(UNTIL), moment(TESTED));
    let mut readings = Vec::new();
    for (gas, name) in [(Gas::Lel, LEL), (Gas::Oxygen, OXYGEN)] {
        let percent = reader.decimal(name);
        readings.extend(reader.must(name, percent).map(|percent| GasReading { gas, percent }));
    }
    let lel_limit = reader.decimal(LIMIT);
    let interval_min = typed.has(INTERVAL).then(|| reader.whole(INTERVAL, (1, 1_440), "min"));
    let phone_allowed = reader.choose(PHONE, [(true, "yes"), (false, "no")]).unwrap_or_default();
    let permit = Permit {
        area,
        number,
        valid_from,
        valid_until,
        gas_tested_at: Some(gas_tested_at),
        readings,
        instrument: reader.line(INSTRUMENT),
        interval_min: interval_min.and_then(|min| u32::try_from(min).ok()),
        lel_limit,
        phone_allowed,
        by: who::must(&mut reader, typed, BY, attached),
        happened: known.at.happened(),
    };
    reader.done(Command::TakePermit { visit: known.visit.unwrap_or(Id::nil()), permit: Box::new(permit) })
}

const HEATER: Name = name!("approved-heater", "Heater");
const FITS: Name = name!("fits", "Does its approval fit the area?");

pub(super) fn open_approval(_: Id, known: Known<'_>) -> Typed {
    let mut typed = Typed::default();
    let approved = known
        .kit
        .heaters_by_name()
        .into_iter()
        .find(|(_, heater)| heater.name.now().is_some_and(|name| name.approval.is_some()));
    typed.put(HEATER, approved.map(|(id, _)| id.to_string()).unwrap_or_default());
    typed
}

pub(super) fn approval(area: Id, typed: &Typed, known: Known<'_>) -> Page {
    let mut heaters = Vec::new();
    for (id, heater) in known.kit.heaters_by_name() {
        if let Some(name) = heater.name.now() {
            let approval = name.approval.as_ref().map_or("No approval marked".into(), Classification::words);
            heaters.push(Answer::with(&id.to_string(), &name.name, &approval));
        }
    }
    let conditions = known.register.area_conditions.get(&area).and_then(Versions::now);
    let classification = conditions.and_then(|conditions| conditions.classification.as_ref());
    let classified = classification.map_or("not entered".into(), Classification::words);
    let name = known.register.areas.get(&area).and_then(Versions::now).map_or("", |area| &area.name);
    let fits = vec![
        Answer::with("yes", "Yes, it fits", "In your judgment; it prints with your name."),
        Answer::with("no", "No", "The heater stays out."),
    ];
    let chosen = Id::try_parse(typed.of(HEATER)).ok().and_then(|id| known.kit.heaters.get(&id)?.name.now());
    let of_heater = chosen.and_then(|name| name.approval.as_ref()).map(Classification::words);
    let help = format!("Heater: {}. Area: {classified}.", of_heater.as_deref().unwrap_or("no approval marked"));
    let fields = vec![Field::new(HEATER, Ask::Choice(heaters)), Field::new(FITS, Ask::Choice(fits)).help(help)];
    let parts = vec![Part { title: "", folded: false, note: "", fields }];
    let lead = "Class, division or zone, group and temperature code of the heater against those of the area.";
    Page { title: format!("Approval for {name}"), lead, parts, offers: Vec::new(), save: "Save", first: None }
}

pub(super) fn put_approval(area: Id, typed: &Typed, known: Known<'_>) -> Result<Command, Wrongs> {
    let mut reader = Reader::new(typed);
    let heater = reader.thing(HEATER, |id| known.kit.heaters.contains_key(&id));
    let fits = reader.choose(FITS, [(true, "yes"), (false, "no")]).unwrap_or_default();
    reader.done(Command::HoldApproval { visit: known.visit.unwrap_or(Id::nil()), heater, area, fits })
}

const NOTE: Name = name!("note", "What it was");

pub(super) fn open_clear(known: Known<'_>) -> Typed {
    let mut typed = Typed::default();
    who::open(&mut typed, BY, known);
    who::open_now(&mut typed, HAPPENED, known);
    typed
}

pub(super) fn clear(typed: &Typed, known: Known<'_>) -> Page {
    let mut fields = vec![Field::new(NOTE, Ask::Line).help("What it turned out to be, and what was done.")];
    fields.extend(who::fields(typed, BY, None, known));
    let parts = vec![Part { title: "", folded: false, note: "", fields }];
    let lead = "Clear it only when the fire department or the owner's representative has said so. After this, heat is possible again.";
    Page { title: "Alarm dealt with".into(), lead, parts, offers: Vec::new(), save: "Clear it", first: None }
}

pub(super) fn put_clear(alarm: Hash, typed: &Typed, attached: &Attached, _: Known<'_>) -> Result<Command, Wrongs> {
    let mut reader = Reader::new(typed);
    reader.name(NOTE);
    let by = who::must(&mut reader, typed, BY, attached);
    reader.done(Command::ClearAlarm { alarm, by, note: attached.get(NOTE.key).copied() })
}

pub(super) fn texts(typed: &Typed) -> Vec<(&'static str, String)> {
    let mut texts = who::texts(typed, BY);
    texts.extend(super::text(typed, NOTE));
    texts
}
