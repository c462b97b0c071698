//! The form of a heater: a few answers start one, the rest is asked when something needs it.

use super::row::{Asked, Row, ask, row};
use super::table::{Rows, Table, at};
use super::{UNIT, thing, title};
use crate::trade::classified::Classification;
use crate::trade::fields::Kind;
use crate::trade::heater::{Cycle, HeaterName, Heating, Metrology};

const NAME: Row =
    row!("name", HeaterName, "name", "heater-name", "Heater's name").help("As written on it, or what you call it.");
const SETTINGS: Row =
    row!("heating", Heating, "settings", "settings", "Temperature setting").help("One per line.").needed();
const CONTROL: Row = row!("heating.cycle", Cycle, "control", "control", "Heater control")
    .words(&[
        ("auto", "Auto-cycling", "Heats up, holds, shuts off and comes back on without you."),
        ("manual", "Manual switch", "You switch heat on and off."),
    ])
    .needed();
const DISPLAY: Row = ask!("", Kind::Flag, "display", "Does it show its temperature?")
    .opens(|value| if at(value, "heating.resolution").is_some() { "yes" } else { "" });
const RESOLUTION: Row = row!("heating", Heating, "resolution", "resolution", "Smallest step of the display")
    .help("e.g. 1 or 0.1.")
    .shown(|asked| asked.is(&DISPLAY, "yes"))
    .needed();
const BASIS: Row = row!("name", HeaterName, "basis", "basis", "Why this heater is OK")
    .words(&[
        ("listed", "A listed heat source", ""),
        ("detector-instructions", "Named in the detector's instructions", ""),
        ("neither", "Neither", "Results are the owner's own information."),
    ])
    .needed();
const OVERSHOOT: Row = row!("heating", Heating, "overshoot", "overshoot", "Overshoot above setting")
    .help("How far above its setting it heats. 0 if it stops at the setting.");
const HEAT_UP_COLD: Row = row!("heating.cycle", Cycle, "heat_up_cold_ms", "heat-up-cold", "Heat-up from cold")
    .help("From ambient to top temperature.");
const HEAT_UP_AGAIN: Row = row!("heating.cycle", Cycle, "heat_up_again_ms", "heat-up-again", "Heat-up after off")
    .help("After it was off between trips.");
const HOLD_FIRST: Row = row!("heating.cycle", Cycle, "hold_first_ms", "hold-first", "Hold after the first heat-up")
    .help("At top temperature: this is the soak.")
    .shown(auto);
const HOLD_AGAIN: Row = row!("heating.cycle", Cycle, "hold_again_ms", "hold-again", "Hold after later heat-ups")
    .help("0:00 if it shuts off as soon as it gets there.")
    .shown(auto);
const OFF: Row =
    row!("heating.cycle", Cycle, "off_ms", "off", "Off between heat-ups").help("Without heat.").shown(auto);
const CALIBRATION: Row =
    row!("metrology", Metrology, "calibration_u", "calibration", "Calibration, standard uncertainty")
        .help("From its certificate: U divided by its k. Never zero.");
const DUE: Row =
    row!("metrology", Metrology, "due", "due", "Calibration due").help("Last day the calibration is valid.");
const CERTIFICATE: Row = row!("metrology", Metrology, "certificate", "certificate", "Certificate").help("Its number.");
const FIT: Row = row!("metrology", Metrology, "fit_u", "fit", "Fit error, standard uncertainty")
    .help("Heater-to-detector fit: air gap, position. Never zero.");
const FIT_FROM: Row = row!("metrology", Metrology, "fit_from", "fit-from", "Fit error is from")
    .help("e.g. our own comparison, the heater's instructions.");
const APPROVAL_CLASS: Row = row!("name.approval", Classification, "class", "approval-class", "Approved for class")
    .help("As marked on it. Blank: it stays out of classified locations.");
const APPROVAL_DIVISION: Row =
    row!("name.approval", Classification, "division", "approval-division", "Division or zone");
const APPROVAL_GROUP: Row = row!("name.approval", Classification, "group", "approval-group", "Group");
const APPROVAL_CODE: Row =
    row!("name.approval", Classification, "temperature_code", "approval-code", "Temperature code");
const SERIAL: Row = row!("name", HeaterName, "serial", "serial", "Serial number").help("Serial or asset number.");
const MODES: Row =
    row!("heating", Heating, "modes", "modes", "Heating mode").help("One per line. Blank if it has only one.");
const LAMP: Row = row!("heating", Heating, "lamp", "lamp", "What the lamp means").help("In your words.");
const TIMEOUT: Row =
    row!("heating", Heating, "timeout_ms", "timeout", "Safety time-out").help("After which it shuts itself off.");

fn auto(asked: &Asked<'_>) -> bool {
    asked.is(&CONTROL, "auto")
}

pub(super) const TABLE: Table = Table {
    title: |asked| title(asked, "heater"),
    lead: "A portable heat source. Take the numbers from its marking and instructions.",
    parts: &[
        Rows { title: "", note: "", rows: &[&[NAME, SETTINGS, UNIT, CONTROL, DISPLAY, RESOLUTION, BASIS]] },
        Rows {
            title: "Cycle times",
            note: "May stay blank. The app then can't know when the heater is at top temperature, and asks you to mark it.",
            rows: &[&[OVERSHOOT, HEAT_UP_COLD, HEAT_UP_AGAIN, HOLD_FIRST, HOLD_AGAIN, OFF]],
        },
        Rows {
            title: "Calibration and fit",
            note: "A functional test works without. “No alarm” and a limit result need both.",
            rows: &[&[CALIBRATION, DUE, CERTIFICATE, FIT, FIT_FROM]],
        },
        Rows {
            title: "Approval for hazardous locations",
            note: "",
            rows: &[&[APPROVAL_CLASS, APPROVAL_DIVISION, APPROVAL_GROUP, APPROVAL_CODE]],
        },
        Rows { title: "Serial number, modes, lamp", note: "", rows: &[&[SERIAL, MODES, LAMP, TIMEOUT]] },
    ],
    base: thing::base,
    make: |made| thing::command(made.asked.form, made.making.id, made.making.other, &made.value),
    ..Table::PLAIN
};
