//! What came in at the panel, where a tap on the list does not say it; a change of the panel's programming.

use super::row::{Asked, Row, ask, by, happened, row};
use super::table::{Made, Rows, Table, whole};
use super::{Answer, Wrongs};
use crate::book::Id;
use crate::book::body::{ClockOf, Happened, PanelSighting, Precision, ProgrammingChange};
use crate::book::command::Command;
use crate::book::refusal::Fault;
use crate::book::register::Position;
use crate::book::sighting::Sighting;
use crate::encoding::stored::Stored;
use crate::trade::fields::Kind;
use crate::view::route::Form;
use serde_json::{Value, json};

const WHICH: Row = row!("saw", PanelSighting, "point", "point", "Point").help("As the panel shows it.").needed();
const CLOCK: Row = row!("saw", PanelSighting, "clock", "clock", "Times are from")
    .words(&[
        ("phone", "This phone", "The tap."),
        ("panel", "The panel's clock", "As its display or its log shows them."),
    ])
    .needed();
const SHOWN: Row = ask!("shown.at", Kind::Moment, "shown-at", "Came in at").shown(by_panel).needed();
const RESTORED: Row = ask!("shown.restored", Kind::Moment, "shown-restored", "Restored at").shown(by_panel);
const LABEL: Row = row!("saw", PanelSighting, "label", "panel-label", "Which panel").help("Only if there are several.");

fn by_panel(asked: &Asked<'_>) -> bool {
    asked.is(&CLOCK, "panel")
}

pub(super) const POINT: Table = Table {
    title: |_| "What came in".into(),
    parts: &[Rows { title: "", note: "", rows: &[&[WHICH, CLOCK, SHOWN, RESTORED, LABEL]] }],
    base: |form, known| {
        let Form::PanelPoint(saw) = form else { return Value::Null };
        let Some(of) = Sighting::of(known.book, saw) else { return Value::Null };
        let mut shown = json!({ "at": of.seen.happened.at.0 });
        if let (Some(restored), Some(shown)) = (of.seen.restored_at, shown.as_object_mut()) {
            shown.insert("restored".into(), restored.0.into());
        }
        json!({ "saw": of.seen.to_value(), "shown": shown })
    },
    make: say,
    ..Table::PLAIN
};

fn say(made: Made<'_>) -> Result<Vec<Command>, Wrongs> {
    let Form::PanelPoint(saw) = made.asked.form else { return Ok(Vec::new()) };
    let of = whole(Sighting::of(made.asked.known.book, saw))?;
    let (stood, offset) = (&of.seen, made.asked.known.at.offset_min);
    let clock: ClockOf = whole(made.at("saw.clock"))?;
    let (happened, restored_at) = match clock {
        // The tap stands.
        ClockOf::Phone if stood.clock == ClockOf::Phone => (stood.happened, stood.restored_at),
        ClockOf::Phone => return Err(made.wrong(&CLOCK, Fault::Choose)),
        ClockOf::Panel => {
            let at = whole(made.at("shown.at"))?;
            (Happened { at, offset, precision: Precision::Minute }, made.at("shown.restored"))
        }
    };
    let (point, label) = (whole(made.at("saw.point"))?, made.at("saw.label"));
    let (test, replaces) = (stood.test, Some(of.last));
    let seen = PanelSighting { point, label, clock, happened, restored_at, test, replaces };
    Ok(vec![Command::SawAtPanel { visit: made.visit(), seen: Box::new(seen) }])
}

const CIRCUITS: Row = ask!("steer.circuits", Kind::List(&Kind::OneOf(&[])), "affected-circuits", "Everything on")
    .asked(|asked| {
        let known = asked.known;
        let circuits = known.shown().map(|visit| known.register.circuits_of(visit.site)).unwrap_or_default();
        circuits.into_iter().map(|(id, circuit)| Answer::new(id, &circuit.name)).collect()
    });
const AFFECTED: Row = ask!("steer.affected", Kind::List(&Kind::OneOf(&[])), "affected", "And these")
    .asked(|asked| positions(asked).into_iter().map(|(id, tag, _)| Answer::new(id, tag)).collect());
const CHANGE_NOTE: Row = row!("change", ProgrammingChange, "note", "note", "What changed");

/// The positions of the site: which, its tag, its circuit.
fn positions(asked: &Asked<'_>) -> Vec<(Id, String, Option<Id>)> {
    let (known, register) = (asked.known, asked.known.register);
    let areas = known.shown().map(|visit| register.areas_of(visit.site)).unwrap_or_default();
    let all = areas.into_iter().flat_map(|(area, _)| register.positions_of(area));
    let circuit = |position: &Position| position.place.now().and_then(|place| place.circuit);
    all.map(|(id, position)| (id, position.tag().to_string(), circuit(position))).collect()
}

pub(super) const PROGRAMMING: Table = Table {
    title: |_| "Panel programming changed".into(),
    lead: "Check off what the change affects. All of it goes on today's list, and the app draws 10% of the other heat detectors, at most 50. Ask the AHJ what else to test.",
    save: "Make the list",
    parts: &[Rows {
        title: "",
        note: "",
        rows: &[&[
            CIRCUITS,
            AFFECTED,
            CHANGE_NOTE,
            by!("change", ProgrammingChange),
            happened!("change", ProgrammingChange),
        ]],
    }],
    make: |mut made| {
        let ticked = |row: &Row| -> Vec<Id> {
            made.asked.text(row).split(',').filter_map(|id| Id::try_parse(id.trim()).ok()).collect()
        };
        let (circuits, single) = (ticked(&CIRCUITS), ticked(&AFFECTED));
        let all = positions(&made.asked).into_iter();
        let affected: Vec<Id> = all
            .filter(|(id, _, circuit)| {
                single.contains(id) || circuit.is_some_and(|circuit| circuits.contains(&circuit))
            })
            .map(|(id, ..)| id)
            .collect();
        if affected.is_empty() {
            return Err(made.wrong(&AFFECTED, Fault::Choose));
        }
        made.put("change.affected", &affected);
        Ok(vec![Command::ChangeProgramming { visit: made.visit(), change: Box::new(made.take("change")?) }])
    },
    ..Table::PLAIN
};
