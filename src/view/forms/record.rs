//! Positions that no heat was put on, first alarms of circuits, open pairs, lifts and other phones.

use super::row::{Asked, Row, ask, by, happened, row};
use super::table::{Made, Rows, Table, whole};
use super::{Answer, Known, Wrongs, name};
use crate::book::body::{
    Answer as Said, CircuitProof, Excuse, LiftCheck, NotTested, OpenPair, OtherMethod, PhoneRef, Point,
};
use crate::book::command::Command;
use crate::trade::fields::{Kind, NAME};
use crate::view::route::Form;

const WHY: Row = row!("not_tested", NotTested, "why", "not-tested-why", "Why")
    .words(&[
        ("not-accessible", "Not accessible", ""),
        ("obstructed", "Obstructed", ""),
        ("process-running", "Process running", ""),
        ("unsafe", "Unsafe", ""),
        ("not-allowed", "Not allowed", ""),
        ("nonrestorable", "Nonrestorable", ""),
        ("out-of-time", "Out of time", ""),
        ("other", "Other", ""),
    ])
    .needed();
const NOT_ALLOWED_BY: Row = row!("not_tested", NotTested, "not_allowed_by", "not-allowed-by", "Not allowed by")
    .other(name!("not-allowed-name", "Name of who did not allow it"))
    .shown(|asked| asked.is(&WHY, "not-allowed"))
    .needed();
const NOT_TESTED_NOTE: Row =
    row!("not_tested", NotTested, "note", "note", "Note").needed_if(|asked| asked.is(&WHY, "other"));

pub(super) const NOT_TESTED: Table = Table {
    title: |asked| format!("{}: not tested", asked.tag()),
    lead: "It stays due.",
    parts: &[Rows {
        title: "",
        note: "",
        rows: &[&[
            WHY,
            NOT_ALLOWED_BY,
            NOT_TESTED_NOTE,
            by!("not_tested", NotTested),
            happened!("not_tested", NotTested),
        ]],
    }],
    opens: |typed, _, _, _| typed.put(NOT_ALLOWED_BY.name, super::table::OTHER),
    make: |mut made| {
        let Form::NotTested(position) = made.asked.form else { return Ok(Vec::new()) };
        made.put("not_tested.position", &position);
        Ok(vec![Command::NotTested { visit: made.visit(), not_tested: Box::new(made.take("not_tested")?) }])
    },
    ..Table::PLAIN
};

const YES_NO: &[(&str, &str, &str)] = &[("yes", "Yes", ""), ("no", "No", ""), ("not-checked", "Not checked", "")];
const METHOD: Row = row!("other", OtherMethod, "method", "method", "Method")
    .words(&[
        ("warm-air", "Warm air", ""),
        ("detector-instructions", "Per detector instructions", ""),
        ("laboratory", "Laboratory", ""),
        ("electrical", "Electrical check", ""),
        ("other", "Other", ""),
    ])
    .needed();
const BASIS: Row = row!("other", OtherMethod, "basis", "basis", "Basis")
    .help("e.g. the page of the detector's instructions.")
    .needed();
const TRIPPED: Row = row!("other", OtherMethod, "tripped", "tripped", "Tripped?").words(YES_NO).needed();
const POINT: Row =
    row!("other", OtherMethod, "point", "point", "Alarm at panel").words(POINTS).shown(has_panel).needed();
const POINTS: &[(&str, &str, &str)] = &[
    ("right", "Right point", ""),
    ("wrong", "Wrong point", ""),
    ("not-there", "Nothing there", ""),
    ("not-checked", "Not checked", ""),
];
const PANEL_SAID: Row = row!("other", OtherMethod, "said", "panel-said", "Panel showed")
    .shown(|asked| has_panel(asked) && asked.is(&POINT, "wrong"));
const RESTORED: Row =
    row!("other", OtherMethod, "restored", "restored", "Restored?").words(YES_NO).shown(has_panel).needed();
const OTHER_NOTE: Row =
    row!("other", OtherMethod, "note", "note", "Note").needed_if(|asked| asked.is(&METHOD, "other"));

/// Whether there is a panel that shows what tripped: there is none in a laboratory.
fn has_panel(asked: &Asked<'_>) -> bool {
    asked.is(&TRIPPED, "yes") && !asked.is(&METHOD, "laboratory")
}

pub(super) const OTHER: Table = Table {
    title: |asked| format!("{}: other method", asked.tag()),
    lead: "A functional result without a temperature.",
    parts: &[Rows {
        title: "",
        note: "",
        rows: &[&[
            METHOD,
            BASIS,
            TRIPPED,
            POINT,
            PANEL_SAID,
            RESTORED,
            OTHER_NOTE,
            by!("other", OtherMethod),
            happened!("other", OtherMethod),
        ]],
    }],
    make: other_method,
    ..Table::PLAIN
};

fn other_method(mut made: Made<'_>) -> Result<Vec<Command>, Wrongs> {
    let Form::OtherMethod(position) = made.asked.form else { return Ok(Vec::new()) };
    made.put("other.position", &position);
    let test = made.making.other;
    made.put("other.test", &test);
    if !has_panel(&made.asked) {
        made.put("other.point", &Point::NotChecked);
        made.put("other.restored", &Said::NotChecked);
    }
    Ok(vec![Command::OtherMethod { visit: made.visit(), other: Box::new(made.take("other")?) }])
}

const PAIR_CIRCUIT: Row = row!("pair", OpenPair, "circuit", "pair-circuit", "Circuit").asked(circuits).shown(placeless);
const PAIR_LABEL: Row =
    row!("pair", OpenPair, "label", "pair-label", "Which pair").help("e.g. terminals 5 and 6 of the panel.");

fn placeless(asked: &Asked<'_>) -> bool {
    asked.form == Form::OpenPair(None)
}

fn circuits(asked: &Asked<'_>) -> Vec<Answer> {
    let known: Known<'_> = asked.known;
    let site = known.shown().map(|visit| visit.site);
    let circuits = site.map(|site| known.register.circuits_of(site)).unwrap_or_default();
    let named = circuits.into_iter().map(|(id, circuit)| Answer::new(id, &circuit.name));
    std::iter::once(Answer::new("", "Not stated")).chain(named).collect()
}

pub(super) const PAIR: Table = Table {
    title: |asked| match asked.tag() {
        tag if tag.is_empty() => "Wires lifted".into(),
        tag => format!("{tag}: wires lifted"),
    },
    lead: "To put a meter across. Stays under “Still off” until reconnected and the trouble has cleared.",
    save: "Wires lifted",
    parts: &[Rows {
        title: "",
        note: "",
        rows: &[&[PAIR_CIRCUIT, PAIR_LABEL, by!("pair", OpenPair), happened!("pair", OpenPair)]],
    }],
    make: |mut made| {
        let Form::OpenPair(position) = made.asked.form else { return Ok(Vec::new()) };
        made.put("pair.position", &position);
        Ok(vec![Command::OpenPair { visit: made.visit(), pair: Box::new(made.take("pair")?) }])
    },
    ..Table::PLAIN
};

const FIRST_POINT: Row = row!("proof", CircuitProof, "point", "point", "Right point?").words(POINTS).needed();
const OUTPUTS: Row = row!("proof", CircuitProof, "outputs", "outputs", "Did every output stay off?")
    .words(&[
        ("stayed", "Yes, all stayed off", ""),
        (
            "moved",
            "No, one activated",
            "Treat it as a fire: lower every heater. Ends every test on this phone; no new heat.",
        ),
        ("none", "There are none", ""),
    ])
    .needed();
const STATION: Row = row!("proof", CircuitProof, "station", "station", "Supervising station")
    .words(&[
        ("received", "Received it", ""),
        ("on-test", "Received it, on test", ""),
        ("nothing", "Received nothing", ""),
        ("not-checked", "Not checked, or not monitored", ""),
    ])
    .needed();

pub(super) const PROVE: Table = Table {
    title: |asked| {
        let Form::ProveCircuit(circuit) = asked.form else { return String::new() };
        let named = asked.known.register.circuits.get(&circuit).and_then(|versions| versions.now());
        format!("First alarm on {}", named.map_or("the circuit", |circuit| &circuit.name))
    },
    parts: &[Rows {
        title: "",
        note: "",
        rows: &[&[OUTPUTS, STATION, FIRST_POINT, by!("proof", CircuitProof), happened!("proof", CircuitProof)]],
    }],
    make: |mut made| {
        let Form::ProveCircuit(circuit) = made.asked.form else { return Ok(Vec::new()) };
        made.put("proof.circuit", &circuit);
        Ok(vec![Command::ProveCircuit { visit: made.visit(), proof: Box::new(made.take("proof")?) }])
    },
    ..Table::PLAIN
};

const WHICH_LIFT: Row = row!("lift", LiftCheck, "lift", "lift", "Lift").help("e.g. scissor lift 2.");
const GOOD: Row = row!("lift", LiftCheck, "good", "lift-good", "Lift and fall protection")
    .words(&[("yes", "Checked, good", ""), ("no", "Not good: stay down", "")])
    .needed();
const LIFT_NOTE: Row = row!("lift", LiftCheck, "note", "note", "Note").needed_if(|asked| asked.is(&GOOD, "no"));

pub(super) const LIFT: Table = Table {
    title: |_| "Lift check".into(),
    lead: "Once a shift, before anybody goes up.",
    parts: &[Rows {
        title: "",
        note: "",
        rows: &[&[GOOD, WHICH_LIFT, LIFT_NOTE, by!("lift", LiftCheck), happened!("lift", LiftCheck)]],
    }],
    make: |made| Ok(vec![Command::CheckLift { visit: made.visit(), check: Box::new(made.take("lift")?) }]),
    ..Table::PLAIN
};

const PHONE_NAME: Row =
    ask!("invite.name", Kind::Attached(NAME), "invited-name", "Whose phone").help("e.g. Ben's phone.").needed();

pub(super) const INVITE: Table = Table {
    title: |_| "Add a phone to this visit".into(),
    lead: "Then send the visit file to it. Closing waits for that phone's file.",
    parts: &[Rows { title: "", note: "", rows: &[&[PHONE_NAME]] }],
    make: |made| Ok(vec![Command::InvitePhone { visit: made.visit(), name: whole(made.at("invite.name"))? }]),
    ..Table::PLAIN
};

const EXCUSE_WHY: Row = row!("excuse", Excuse, "why", "why", "Why").help("It stays on record.").needed();

pub(super) const EXCUSE: Table = Table {
    title: |_| "Close without a phone's file".into(),
    lead: "What that phone recorded will be missing from the record. The person named here takes responsibility.",
    parts: &[Rows { title: "", note: "", rows: &[&[EXCUSE_WHY, by!("excuse", Excuse), happened!("excuse", Excuse)]] }],
    make: |mut made| {
        let Form::Excuse(invitation) = made.asked.form else { return Ok(Vec::new()) };
        made.put("excuse.of", &PhoneRef::Invited(invitation));
        Ok(vec![Command::ExcusePhone { visit: made.visit(), excuse: Box::new(made.take("excuse")?) }])
    },
    ..Table::PLAIN
};
