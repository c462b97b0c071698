//! The form of a heater: a few answers start one, the rest is asked when something needs it. How it works is one of a few templates; each
//! fills in only what follows from it, and no number.

use super::row::{Asked, Row, ask, row};
use super::table::{Made, Rows, Table, at};
use super::{Name, Typed, UNIT, Wrongs, thing, title};
use crate::book::command::Command;
use crate::trade::classified::Classification;
use crate::trade::fields::Kind;
use crate::trade::heater::{Cycle, HeaterName, Heating, Metrology};
use crate::trade::heater_gaps::Gap;
use serde_json::Value;

const AUTO_DISPLAY: &str = "auto-display";
const AUTO_LAMP: &str = "auto-lamp";
const MANUAL_DISPLAY: &str = "manual-display";
const MANUAL_LAMP: &str = "manual-lamp";

const NAME: Row =
    row!("name", HeaterName, "name", "heater-name", "Heater's name").help("As written on it, or what you call it.");
const SETTINGS: Row = row!("heating", Heating, "settings", "settings", "Temperature setting")
    .help("Every one it has, a line each.")
    .needed();
const WAY: Row = ask!("", Kind::Made, "way", "How it works")
    .words(&[
        (
            AUTO_DISPLAY,
            "Auto-cycling, with display",
            "Heats to top temperature, holds, shuts off, heats again. You can read it.",
        ),
        (AUTO_LAMP, "Auto-cycling, lamp only", "The same. A lamp shows what it does."),
        (MANUAL_DISPLAY, "Manual switch, with display", "You switch heat on and off. You can read it."),
        (MANUAL_LAMP, "Manual switch, lamp only", "You switch heat on and off. A lamp shows what it does."),
    ])
    .needed()
    .opens(|value| {
        match (at(value, "heating.cycle.control").and_then(Value::as_str), at(value, "heating.resolution")) {
            (Some("auto"), Some(_)) => AUTO_DISPLAY,
            (Some("auto"), None) => AUTO_LAMP,
            (Some(_), Some(_)) => MANUAL_DISPLAY,
            (Some(_), None) => MANUAL_LAMP,
            (None, _) => "",
        }
    });
/// It follows from the way the heater works; conflicts and sheets have it by its own words.
const CONTROL: Row = row!("heating.cycle", Cycle, "control", "control", "Heater control")
    .words(&[("auto", "Auto-cycling", ""), ("manual", "Manual switch", "")])
    .shown(|_| false);
const RESOLUTION: Row = row!("heating", Heating, "resolution", "resolution", "Smallest step of the display")
    .help("e.g. 1 or 0.1.")
    .shown(|asked| asked.is(&WAY, AUTO_DISPLAY) || asked.is(&WAY, MANUAL_DISPLAY))
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
const CALIBRATED: Row = ask!("", Kind::Made, "calibrated", "Calibration")
    .words(&[
        ("known", "On its certificate", ""),
        ("unknown", "Not known", "Functional tests work. No limit results, and “no trip” decides nothing."),
    ])
    .needed()
    .opens(|value| match (at(value, "name"), at(value, "metrology.calibration_u")) {
        (_, Some(_)) => "known",
        (Some(_), None) => "unknown",
        (None, None) => "",
    });
const CALIBRATION: Row =
    row!("metrology", Metrology, "calibration_u", "calibration", "Calibration, standard uncertainty")
        .help("From its certificate: U divided by its k. Never zero.")
        .shown(|asked| asked.is(&CALIBRATED, "known"))
        .needed();
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
const LAMP: Row = row!("heating", Heating, "lamp", "lamp", "What the lamp means")
    .help("In your words, e.g. steady at top temperature.");
const TIMEOUT: Row =
    row!("heating", Heating, "timeout_ms", "timeout", "Safety time-out").help("After which it shuts itself off.");

fn auto(asked: &Asked<'_>) -> bool {
    asked.is(&WAY, AUTO_DISPLAY) || asked.is(&WAY, AUTO_LAMP)
}

/// The field that asks for an answer.
pub(super) fn asked_by(gap: Gap, typed: &Typed) -> Name {
    match gap {
        Gap::Display => WAY.name,
        Gap::Overshoot => OVERSHOOT.name,
        Gap::HeatUp => HEAT_UP_COLD.name,
        // Its number is asked once it is said that there is one.
        Gap::Calibration if typed.of(CALIBRATED.name) == "known" => CALIBRATION.name,
        Gap::Calibration => CALIBRATED.name,
        Gap::Due => DUE.name,
        Gap::Fit => FIT.name,
        Gap::FitFrom => FIT_FROM.name,
        Gap::Approval => APPROVAL_CLASS.name,
    }
}

fn put(mut made: Made<'_>) -> Result<Vec<Command>, Wrongs> {
    let control = if auto(&made.asked) { "auto" } else { "manual" };
    made.put("heating.cycle.control", &control.to_string());
    thing::command(made.asked.form, made.making.id, made.making.other, &made.value)
}

pub(super) const TABLE: Table = Table {
    title: |asked| title(asked, "heater"),
    lead: "A portable heat source. Take the numbers from its marking and instructions.",
    parts: &[
        Rows {
            title: "",
            note: "",
            rows: &[&[NAME, WAY, SETTINGS, UNIT, CONTROL, RESOLUTION, BASIS, CALIBRATED, CALIBRATION]],
        },
        Rows {
            title: "Cycle times",
            note: "May stay blank. The app then can't know when the heater is at top temperature, and asks you to mark it.",
            rows: &[&[OVERSHOOT, HEAT_UP_COLD, HEAT_UP_AGAIN, HOLD_FIRST, HOLD_AGAIN, OFF]],
        },
        Rows {
            title: "Fit error, certificate",
            note: "A functional test works without. Without the fit error “no alarm” decides nothing and there are no limit results.",
            rows: &[&[FIT, FIT_FROM, DUE, CERTIFICATE]],
        },
        Rows {
            title: "Approval for hazardous locations",
            note: "",
            rows: &[&[APPROVAL_CLASS, APPROVAL_DIVISION, APPROVAL_GROUP, APPROVAL_CODE]],
        },
        Rows { title: "Serial number, modes, lamp", note: "", rows: &[&[SERIAL, MODES, LAMP, TIMEOUT]] },
    ],
    base: thing::base,
    make: put,
    ..Table::PLAIN
};
