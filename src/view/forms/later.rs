//! What is said of a test later: a reading corrected, a mark that is none, a judgment, a restore, the point that the panel showed.

use super::row::{Asked, Row, ask, happened, row};
use super::table::{Made, OTHER, Rows, Table, whole};
use super::{Answer, UNIT, Wrongs};
use crate::book::body::{Body, Point, ReadingCorrection, RestoreWord};
use crate::book::command::Command;
use crate::book::test::Test;
use crate::encoding::stored::Stored;
use crate::trade::fields::{Kind, LINE};
use crate::view::route::Form;
use serde_json::{Value, json};

const READING_NOW: Row = row!("correction", ReadingCorrection, "now", "reading", "Reading").shown(is_reading).needed();
const NONE: Row = ask!("", Kind::Flag, "no-reading", "It was no reading");
const REASON: Row = row!("correction", ReadingCorrection, "why", "reason", "Reason").help("May stay blank.");

fn is_reading(asked: &Asked<'_>) -> bool {
    !asked.is(&NONE, "yes")
}

pub(super) const READING: Table = Table {
    title: |_| "Change reading".into(),
    lead: "The old value stays on record, struck through.",
    parts: &[Rows { title: "", note: "", rows: &[&[READING_NOW, UNIT.shown(is_reading), NONE, REASON]] }],
    base: |form, known| {
        let Form::Reading(reading) = form else { return Value::Null };
        match known.book.get(reading).map(|entry| &entry.body) {
            Some(Body::ReadingTaken { reading, .. }) => json!({ "correction": { "now": reading.to_value() } }),
            _ => Value::Null,
        }
    },
    make: |made| {
        let Form::Reading(reading) = made.asked.form else { return Ok(Vec::new()) };
        let (now, why) = (made.at("correction.now"), made.at("correction.why"));
        Ok(vec![Command::CorrectReading { reading, now, why }])
    },
    ..Table::PLAIN
};

pub(super) const STRIKE: Table = Table {
    title: |_| "Not a trip".into(),
    lead: "The mark stays on record, struck through, and counts for nothing.",
    save: "Not a trip",
    parts: &[Rows {
        title: "",
        note: "",
        rows: &[&[ask!("strike.why", Kind::Attached(LINE), "reason", "Reason")
            .help("e.g. another detector, a slip. May stay blank.")]],
    }],
    make: |made| {
        let Form::Strike(mark) = made.asked.form else { return Ok(Vec::new()) };
        Ok(vec![Command::StrikeMark { mark, why: made.at("strike.why") }])
    },
    ..Table::PLAIN
};

const SHOWED: Row = ask!("panel.said", Kind::Line, "showed", "Panel showed").asked(other_points).needed();
const SHOWED_WORDS: Row = ask!("panel.said", Kind::Line, "showed-words", "As the panel shows it")
    .shown(|asked| asked.is(&SHOWED, OTHER))
    .needed();

/// The test whose panel it is.
fn test_of(asked: &Asked<'_>) -> Option<Test> {
    let Form::PanelShowed(trip) = asked.form else { return None };
    Test::of(asked.known.book, asked.known.book.get(trip)?.body.test()?)
}

/// The other points of the circuit, by tag: a tap each.
fn other_points(asked: &Asked<'_>) -> Vec<Answer> {
    let register = asked.known.register;
    let mut answers = Vec::new();
    if let Some(test) = test_of(asked) {
        let (here, circuit) = (test.frozen.position.of, test.frozen.position.place.circuit);
        let site = register.site_of(here).filter(|_| circuit.is_some());
        let areas = site.map(|site| register.areas_of(site)).unwrap_or_default();
        for (id, position) in areas.into_iter().flat_map(|(area, _)| register.positions_of(area)) {
            let place = position.place.now().filter(|place| place.circuit == circuit && !place.tag.is_empty());
            if let Some(place) = place.filter(|_| id != here) {
                let shown = [&place.point, &place.panel_text].into_iter().flatten().cloned().collect::<Vec<_>>();
                answers.push(Answer::with(&place.tag, &place.tag, &shown.join(" · ")));
            }
        }
    }
    answers.push(Answer::new(OTHER, "Something else"));
    answers
}

pub(super) const PANEL_SHOWED: Table = Table {
    title: |asked| {
        let tag = test_of(asked).map(|test| test.frozen.position.place.name().to_string());
        format!("{}: wrong point", tag.unwrap_or_default())
    },
    lead: "Which point the panel showed instead.",
    parts: &[Rows { title: "", note: "", rows: &[&[SHOWED, SHOWED_WORDS]] }],
    make: |made| {
        let Form::PanelShowed(trip) = made.asked.form else { return Ok(Vec::new()) };
        Ok(vec![Command::SayPanel { trip, point: Point::Wrong, said: made.at("panel.said") }])
    },
    ..Table::PLAIN
};

const JUDGMENT: Row = ask!("judgment.failed", Kind::Flag, "judgment", "Your judgment")
    .words(&[
        ("yes", "Did not operate", "Prints as your judgment, with your name."),
        ("no", "Leave it not decided", "Retest or replace."),
    ])
    .needed();
const WHAT_WAS_SEEN: Row = ask!("judgment.note", Kind::Attached(LINE), "reason", "Reason")
    .help("What you saw.")
    .needed_if(|asked| asked.is(&JUDGMENT, "yes"));

pub(super) const JUDGE: Table = Table {
    title: |_| "Technician's judgment".into(),
    lead: "The heat this test gave doesn't decide it. You may.",
    parts: &[Rows { title: "", note: "", rows: &[&[JUDGMENT, WHAT_WAS_SEEN]] }],
    make: |made| {
        let Form::Judge(test) = made.asked.form else { return Ok(Vec::new()) };
        let did_not_operate = whole(made.at("judgment.failed"))?;
        Ok(vec![Command::Judge { test, did_not_operate, note: made.at("judgment.note") }])
    },
    ..Table::PLAIN
};

const DID_IT: Row = row!("restore", RestoreWord, "restored", "restored", "Did it restore?")
    .words(&[
        ("yes", "Yes", ""),
        ("no", "No, stays in alarm", "Five minutes after the heater was lowered, or later."),
        ("not-checked", "Not checked", ""),
    ])
    .needed();

pub(super) const RESTORED: Table = Table {
    title: |_| "Restored?".into(),
    lead: "A panel reset proves no detector's restore.",
    parts: &[Rows { title: "", note: "", rows: &[&[DID_IT, happened!("restore", RestoreWord)]] }],
    make: say_restore,
    ..Table::PLAIN
};

fn say_restore(made: Made<'_>) -> Result<Vec<Command>, Wrongs> {
    let Form::Restored(test) = made.asked.form else { return Ok(Vec::new()) };
    let (restored, happened) = whole(made.at("restore.restored").zip(made.at("restore.happened")))?;
    Ok(vec![Command::SayRestore { test, restored, happened }])
}
