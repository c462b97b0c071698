//! Permit and gas test as on the paper, the heater's approval held against the area, and clearing an alarm that was not ours.

use super::row::{Asked, Row, ask, by, row};
use super::table::{Made, Rows, Table};
use super::{Answer, Known, Wrongs};
use crate::book::Id;
use crate::book::body::{Clearing, HeldApproval, Permit};
use crate::book::command::Command;
use crate::book::versions::Versions;
use crate::trade::classified::{Classification, Gas, GasReading};
use crate::trade::fields::Kind;
use crate::view::route::Form;
use crate::view::time;

const NUMBER: Row = row!("permit", Permit, "number", "permit-number", "Permit number");
const FROM: Row = row!("permit", Permit, "valid_from", "valid-from", "Valid from").needed();
const UNTIL: Row = row!("permit", Permit, "valid_until", "valid-until", "Valid until").needed();
const TESTED: Row = row!("permit", Permit, "gas_tested_at", "gas-tested", "Time of the gas test").needed();
const LEL: Row = ask!("GasReading.lel", Kind::Decimal(0, 100, "% LEL"), "lel", "Combustible gas")
    .help("As the meter shows it, e.g. 0.")
    .needed();
const OXYGEN: Row = ask!("GasReading.oxygen", Kind::Decimal(0, 100, "% O₂"), "oxygen", "Oxygen")
    .help("As the meter shows it, e.g. 20.9.")
    .needed();
const LIMIT: Row = row!("permit", Permit, "lel_limit", "lel-limit", "Limit on the permit")
    .help("Blank: no heat at any reading above 0. At 10% LEL or more, never.");
const INTERVAL: Row = row!("permit", Permit, "interval_min", "interval", "Gas test every")
    .help("How often the permit asks for a gas test. Blank if it doesn't.");
const INSTRUMENT: Row =
    row!("permit", Permit, "instrument", "instrument", "Gas meter").help("Model and number of the meter.");
const PHONE: Row = row!("permit", Permit, "phone_allowed", "phone-allowed", "Does the permit allow this phone in?")
    .words(&[("yes", "Yes", ""), ("no", "No", "")])
    .needed();

pub(super) const PERMIT: Table = Table {
    title: |_| "Permit and gas test".into(),
    lead: "As on the paper. Local permit rules come first.",
    parts: &[Rows {
        title: "",
        note: "",
        rows: &[&[NUMBER, FROM, UNTIL, TESTED, LEL, OXYGEN, LIMIT, INTERVAL, INSTRUMENT, PHONE, by!("permit", Permit)]],
    }],
    opens: |typed, _, known, _| {
        let now = time::moment_text(known.at.stamp.wall, known.at.offset_min);
        typed.put(FROM.name, &now);
        typed.put(TESTED.name, now);
    },
    make: take_permit,
    ..Table::PLAIN
};

fn take_permit(mut made: Made<'_>) -> Result<Vec<Command>, Wrongs> {
    let Form::Permit(area) = made.asked.form else { return Ok(Vec::new()) };
    let gases = [(Gas::Lel, LEL), (Gas::Oxygen, OXYGEN)].into_iter();
    let readings = gases.filter_map(|(gas, row)| Some(GasReading { gas, percent: made.at(row.path)? }));
    let readings: Vec<GasReading> = readings.collect();
    made.put("permit.readings", &readings);
    made.put("permit.area", &area);
    made.put("permit.happened", &made.asked.known.at.happened());
    Ok(vec![Command::TakePermit { visit: made.visit(), permit: Box::new(made.take("permit")?) }])
}

const HEATER: Row = row!("approval", HeldApproval, "heater", "approved-heater", "Heater").asked(heaters).needed();
const FITS: Row = row!("approval", HeldApproval, "fits", "fits", "Does its approval fit the area?")
    .words(&[
        ("yes", "Yes, it fits", "In your judgment; it prints with your name."),
        ("no", "No", "The heater stays out."),
    ])
    .said(held)
    .needed();

pub(super) const APPROVAL: Table = Table {
    title: |asked| format!("Approval for {}", area(asked).map_or("", |(name, _)| name)),
    lead: "Class, division or zone, group and temperature code of the heater against those of the area.",
    parts: &[Rows { title: "", note: "", rows: &[&[HEATER, FITS]] }],
    opens: |typed, _, known: Known<'_>, _| {
        let mut heaters = known.kit.heaters_by_name().into_iter();
        let approved = heaters.find(|(_, heater)| heater.name.now().is_some_and(|name| name.approval.is_some()));
        typed.put(HEATER.name, approved.map(|(id, _)| id.to_string()).unwrap_or_default());
    },
    make: hold,
    ..Table::PLAIN
};

fn heaters(asked: &Asked<'_>) -> Vec<Answer> {
    let mut heaters = Vec::new();
    for (id, heater) in asked.known.kit.heaters_by_name() {
        if let Some(name) = heater.name.now() {
            let approval = name.approval.as_ref().map_or("No approval marked".into(), Classification::words);
            heaters.push(Answer::with(&id.to_string(), &name.name, &approval));
        }
    }
    heaters
}

/// The area's name and how it is classified.
fn area<'a>(asked: &Asked<'a>) -> Option<(&'a str, Option<&'a Classification>)> {
    let (Form::Approval(area), register) = (asked.form, asked.known.register) else { return None };
    let conditions = register.area_conditions.get(&area).and_then(Versions::now);
    let name = register.areas.get(&area).and_then(Versions::now).map_or("", |area| &area.name);
    Some((name, conditions.and_then(|conditions| conditions.classification.as_ref())))
}

fn held(asked: &Asked<'_>) -> String {
    let classified = area(asked).and_then(|(_, of)| of).map_or("not entered".into(), Classification::words);
    let heater = Id::try_parse(asked.text(&HEATER)).ok().and_then(|id| asked.known.kit.heaters.get(&id)?.name.now());
    let approval = heater.and_then(|name| name.approval.as_ref()).map(Classification::words);
    format!("Heater: {}. Area: {classified}.", approval.as_deref().unwrap_or("no approval marked"))
}

fn hold(made: Made<'_>) -> Result<Vec<Command>, Wrongs> {
    let Form::Approval(area) = made.asked.form else { return Ok(Vec::new()) };
    let (heater, fits) = (made.at("approval.heater"), made.at("approval.fits"));
    let (heater, fits) = super::table::whole(heater.zip(fits))?;
    Ok(vec![Command::HoldApproval { visit: made.visit(), heater, area, fits }])
}

const NOTE: Row = row!("clearing", Clearing, "note", "note", "What it was")
    .help("What it turned out to be, and what was done.")
    .needed();

pub(super) const CLEAR: Table = Table {
    title: |_| "Alarm dealt with".into(),
    lead: "Clear it only when the fire department or the owner's representative has said so. After this, heat is possible again.",
    save: "Clear it",
    parts: &[Rows { title: "", note: "", rows: &[&[NOTE, by!("clearing", Clearing)]] }],
    make: |made| {
        let Form::ClearAlarm(alarm) = made.asked.form else { return Ok(Vec::new()) };
        let by = super::table::whole(made.at("clearing.by"))?;
        Ok(vec![Command::ClearAlarm { alarm, by, note: made.at("clearing.note") }])
    },
    ..Table::PLAIN
};
