//! The form of a heater: a few answers start one, the rest is asked when something needs it.

use super::reader::{Reader, difference_text, reading_text};
use super::{Answer, Ask, Field, Name, Page, Part, Typed, Wrongs, name, title, units};
use crate::book::Id;
use crate::book::command::Command;
use crate::book::decide::TEMPERATURE;
use crate::book::kit::{Heater, Kit};
use crate::trade::classified::Classification;
use crate::trade::heater::{Basis, Cycle, HeaterName, Heating, Metrology};
use crate::units::{Degree, Difference};
use crate::view::time;

const NAME: Name = name!("heater-name", "Heater's name");
const SETTINGS: Name = name!("settings", "Temperature setting");
const CONTROL: Name = name!("control", "Heater control");
const DISPLAY: Name = name!("display", "Does it show its temperature?");
const BASIS: Name = name!("basis", "Why this heater is OK");
const OVERSHOOT: Name = name!("overshoot", "Overshoot above setting");
const RESOLUTION: Name = name!("resolution", "Smallest step of the display");
const HEAT_UP_COLD: Name = name!("heat-up-cold", "Heat-up from cold");
const HEAT_UP_AGAIN: Name = name!("heat-up-again", "Heat-up after off");
const HOLD_FIRST: Name = name!("hold-first", "Hold after the first heat-up");
const HOLD_AGAIN: Name = name!("hold-again", "Hold after later heat-ups");
const OFF: Name = name!("off", "Off between heat-ups");
const CALIBRATION: Name = name!("calibration", "Calibration, standard uncertainty");
const DUE: Name = name!("due", "Calibration due");
const CERTIFICATE: Name = name!("certificate", "Certificate");
const FIT: Name = name!("fit", "Fit error, standard uncertainty");
const FIT_FROM: Name = name!("fit-from", "Fit error is from");
const SERIAL: Name = name!("serial", "Serial number");
const MODES: Name = name!("modes", "Heating mode");
const LAMP: Name = name!("lamp", "What the lamp means");
const TIMEOUT: Name = name!("timeout", "Safety time-out");
const APPROVAL_CLASS: Name = name!("approval-class", "Approved for class");
const APPROVAL_DIVISION: Name = name!("approval-division", "Division or zone");
const APPROVAL_GROUP: Name = name!("approval-group", "Group");
const APPROVAL_CODE: Name = name!("approval-code", "Temperature code");

const BASES: [(Basis, &str); 3] =
    [(Basis::Listed, "listed"), (Basis::DetectorInstructions, "instructions"), (Basis::Neither, "neither")];
/// Ways that heaters work, as templates without any number.
const CONTROLS: [(bool, &str); 2] = [(true, "auto"), (false, "manual")];

pub(super) fn open(id: Option<Id>, kit: &Kit, unit: Degree) -> Typed {
    let mut typed = Typed::default();
    typed.put_unit(unit);
    if let Some(heater) = id.and_then(|id| kit.heaters.get(&id)) {
        fill(&mut typed, heater, unit);
    }
    typed
}

fn fill(typed: &mut Typed, heater: &Heater, unit: Degree) {
    let words = |text: &Option<String>| text.clone().unwrap_or_default();
    let times = |ms: Option<i64>| ms.map(time::gone).unwrap_or_default();
    if let Some(name) = heater.name.now() {
        typed.put(NAME, &name.name);
        typed.put(SERIAL, words(&name.serial));
        typed.put(BASIS, BASES.iter().find(|(basis, _)| *basis == name.basis).map_or("", |(_, code)| code));
        let approval = name.approval.clone().unwrap_or_default();
        typed.put(APPROVAL_CLASS, words(&approval.class));
        typed.put(APPROVAL_DIVISION, words(&approval.division));
        typed.put(APPROVAL_GROUP, words(&approval.group));
        typed.put(APPROVAL_CODE, words(&approval.temperature_code));
    }
    let unit = heater.heating.now().and_then(|heating| heating.settings.first()).map_or(unit, |setting| setting.unit);
    typed.put_unit(unit);
    let difference = |value: Option<&Difference>| value.map(|value| difference_text(value, unit)).unwrap_or_default();
    if let Some(heating) = heater.heating.now() {
        let settings: Vec<String> = heating.settings.iter().map(|setting| reading_text(setting, unit)).collect();
        typed.put(SETTINGS, settings.join("\n"));
        typed.put(OVERSHOOT, difference(heating.overshoot.as_ref()));
        typed.put(DISPLAY, if heating.resolution.is_some() { "yes" } else { "" });
        typed.put(RESOLUTION, difference(heating.resolution.as_ref()));
        typed.put(MODES, heating.modes.join("\n"));
        typed.put(LAMP, words(&heating.lamp));
        typed.put(TIMEOUT, times(heating.timeout_ms));
        typed.put(CONTROL, if heating.cycle.is_auto() { "auto" } else { "manual" });
        typed.put(HEAT_UP_COLD, times(heating.cycle.heat_up_ms(1)));
        typed.put(HEAT_UP_AGAIN, times(heating.cycle.heat_up_ms(2)));
        if let Cycle::Auto { hold_first_ms, hold_again_ms, off_ms, .. } = heating.cycle {
            typed.put(HOLD_FIRST, times(hold_first_ms));
            typed.put(HOLD_AGAIN, times(hold_again_ms));
            typed.put(OFF, times(off_ms));
        }
    }
    if let Some(metrology) = heater.metrology.now() {
        typed.put(CALIBRATION, difference(metrology.calibration_u.as_ref()));
        typed.put(FIT, difference(metrology.fit_u.as_ref()));
        typed.put(FIT_FROM, words(&metrology.fit_from));
        typed.put(CERTIFICATE, words(&metrology.certificate));
        typed.put(DUE, words(&metrology.due));
    }
}

pub(super) fn page(new: bool, typed: &Typed) -> Page {
    let unit = typed.unit();
    let controls = vec![
        Answer::with("auto", "Auto-cycling", "Heats up, holds, shuts off and comes back on without you."),
        Answer::with("manual", "Manual switch", "You switch heat on and off."),
    ];
    let bases = vec![
        Answer::new("listed", "A listed heat source"),
        Answer::new("instructions", "Named in the detector's instructions"),
        Answer::with("neither", "Neither", "Results are the owner's own information."),
    ];
    let mut first = vec![
        Field::new(NAME, Ask::Line).help("As written on it, or what you call it."),
        Field::new(SETTINGS, Ask::Lines).unit(unit.symbol()).help("One per line."),
        units(),
        Field::new(CONTROL, Ask::Choice(controls)),
        Field::new(DISPLAY, Ask::Switch("Yes", "No")),
    ];
    if typed.of(DISPLAY) == "yes" {
        first.push(Field::difference(RESOLUTION, unit).help("e.g. 1 or 0.1."));
    }
    first.push(Field::new(BASIS, Ask::Choice(bases)));
    let mut times = vec![
        Field::difference(OVERSHOOT, unit).help("How far above its setting it heats. 0 if it stops at the setting."),
        Field::length(HEAT_UP_COLD, typed, "From ambient to top temperature."),
        Field::length(HEAT_UP_AGAIN, typed, "After it was off between trips."),
    ];
    if typed.of(CONTROL) == "auto" {
        times.push(Field::length(HOLD_FIRST, typed, "At top temperature: this is the soak."));
        times.push(Field::length(HOLD_AGAIN, typed, "0:00 if it shuts off as soon as it gets there."));
        times.push(Field::length(OFF, typed, "Without heat."));
    }
    let known = vec![
        Field::difference(CALIBRATION, unit).help("From its certificate: U divided by its k. Never zero."),
        Field::new(DUE, Ask::Day).help("Last day the calibration is valid."),
        Field::new(CERTIFICATE, Ask::Line).help("Its number."),
        Field::difference(FIT, unit).help("Heater-to-detector fit: air gap, position. Never zero."),
        Field::new(FIT_FROM, Ask::Line).help("e.g. our own comparison, the heater's instructions."),
    ];
    let approval = vec![
        Field::new(APPROVAL_CLASS, Ask::Line).help("As marked on it. Blank: it stays out of classified locations."),
        Field::new(APPROVAL_DIVISION, Ask::Line),
        Field::new(APPROVAL_GROUP, Ask::Line),
        Field::new(APPROVAL_CODE, Ask::Line),
    ];
    let more = vec![
        Field::new(SERIAL, Ask::Line).help("Serial or asset number."),
        Field::new(MODES, Ask::Lines).help("One per line. Blank if it has only one."),
        Field::new(LAMP, Ask::Line).help("In your words."),
        Field::length(TIMEOUT, typed, "After which it shuts itself off."),
    ];
    let folded = |title, note, fields| Part { title, folded: true, note, fields };
    let parts = vec![
        Part { title: "", folded: false, note: "", fields: first },
        folded(
            "Cycle times",
            "May stay blank. The app then can't know when the heater is at top temperature, and asks you to mark it.",
            times,
        ),
        folded(
            "Calibration and fit",
            "A functional test works without. “No alarm” and a limit result need both.",
            known,
        ),
        folded("Approval for hazardous locations", "", approval),
        folded("Serial number, modes, lamp", "", more),
    ];
    Page {
        title: title(new, "heater"),
        lead: "A portable heat source. Take the numbers from its marking and instructions.",
        parts,
        offers: Vec::new(),
        save: "Save",
        first: None,
    }
}

pub(super) fn put(typed: &Typed, id: Id) -> Result<Command, Wrongs> {
    let mut reader = Reader::new(typed);
    let approval = Classification {
        class: reader.line(APPROVAL_CLASS),
        division: reader.line(APPROVAL_DIVISION),
        group: reader.line(APPROVAL_GROUP),
        temperature_code: reader.line(APPROVAL_CODE),
    };
    let name = HeaterName {
        name: reader.name(NAME),
        serial: reader.line(SERIAL),
        basis: reader.choose(BASIS, BASES).unwrap_or(Basis::Neither),
        approval: (!approval.is_empty()).then_some(approval),
    };
    let settings = reader.readings(SETTINGS, TEMPERATURE);
    let overshoot = reader.difference(OVERSHOOT, (0.0, 30.0));
    let resolution = reader.difference(RESOLUTION, (0.01, 10.0)).filter(|_| reader.yes(DISPLAY));
    if reader.yes(DISPLAY) {
        reader.must(RESOLUTION, resolution);
    }
    let auto = reader.choose(CONTROL, CONTROLS).unwrap_or_default();
    let heat_up_cold_ms = reader.length(HEAT_UP_COLD, (1, 3_600));
    let heat_up_again_ms = reader.length(HEAT_UP_AGAIN, (1, 3_600));
    let cycle = if auto {
        Cycle::Auto {
            heat_up_cold_ms,
            heat_up_again_ms,
            hold_first_ms: reader.length(HOLD_FIRST, (1, 3_600)),
            hold_again_ms: reader.length(HOLD_AGAIN, (0, 3_600)),
            off_ms: reader.length(OFF, (1, 3_600)),
        }
    } else {
        Cycle::Manual { heat_up_cold_ms, heat_up_again_ms }
    };
    let heating = Heating {
        settings,
        overshoot,
        modes: reader.names(MODES),
        cycle,
        resolution,
        lamp: reader.line(LAMP),
        timeout_ms: reader.length(TIMEOUT, (1, 86_400)),
    };
    let metrology = Metrology {
        calibration_u: reader.uncertainty(CALIBRATION, 20.0),
        certificate: reader.line(CERTIFICATE),
        due: reader.day(DUE),
        fit_u: reader.uncertainty(FIT, 20.0),
        fit_from: reader.line(FIT_FROM),
    };
    reader.done(Command::PutHeater { heater: id, name, heating: Box::new(heating), metrology })
}
