//! The form of a heater.

use super::reader::{Reader, difference_text, reading_text};
use super::{Answer, Ask, Field, Name, Page, Part, Typed, Wrongs, name, title, units};
use crate::book::Id;
use crate::book::command::Command;
use crate::book::decide::TEMPERATURE;
use crate::book::kit::{Heater, Kit};
use crate::trade::heater::{Basis, Cycle, HeaterName, Heating, Metrology};
use crate::units::{Degree, Difference};
use crate::view::time;

const NAME: Name = name!("heater-name", "Name of the heater");
const SETTINGS: Name = name!("settings", "Temperature setting");
const ABOVE: Name = name!("above", "Heat-ups above the setting by");
const RESOLUTION: Name = name!("resolution", "Smallest step of the display");
const DRIVE: Name = name!("drive", "What it does by itself");
const HOLD_FIRST: Name = name!("hold-first", "Hold after the first heat-up");
const HOLD_AGAIN: Name = name!("hold-again", "Hold after later heat-ups");
const OFF: Name = name!("off", "Off between heat-ups");
const HEAT_UP_COLD: Name = name!("heat-up-cold", "Heat-up from cold");
const HEAT_UP_AGAIN: Name = name!("heat-up-again", "Heat-up after off");
const BASIS: Name = name!("basis", "Basis of acceptance");
const APPROVAL: Name = name!("approval", "Approval for hazardous locations");
const CALIBRATION: Name = name!("calibration", "Calibration, standard uncertainty");
const DUE: Name = name!("due", "Calibration due");
const CERTIFICATE: Name = name!("certificate", "Certificate");
const FIT: Name = name!("fit", "Fit, standard uncertainty");
const SERIAL: Name = name!("serial", "Serial number");
const MODES: Name = name!("modes", "Heating mode");
const LAMP: Name = name!("lamp", "What the lamp means");
const TIMEOUT: Name = name!("timeout", "Safety time-out");

const BASES: [(Basis, &str); 3] =
    [(Basis::Listed, "listed"), (Basis::DetectorInstructions, "instructions"), (Basis::Neither, "neither")];
const DRIVES: [(bool, &str); 2] = [(true, "itself"), (false, "hand")];

pub(super) fn open(id: Option<Id>, kit: &Kit, unit: Degree) -> Typed {
    let mut typed = Typed::default();
    typed.put_unit(unit);
    match id.and_then(|id| kit.heaters.get(&id)) {
        Some(heater) => fill(&mut typed, heater, unit),
        // Most heaters that cycle by themselves hold once; it is said beside the field.
        None => typed.put(HOLD_AGAIN, "0:00"),
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
        typed.put(APPROVAL, words(&name.hazardous_approval));
    }
    let unit = heater.heating.now().and_then(|heating| heating.settings.first()).map_or(unit, |setting| setting.unit);
    typed.put_unit(unit);
    let difference = |value: Option<&Difference>| value.map(|value| difference_text(value, unit)).unwrap_or_default();
    if let Some(heating) = heater.heating.now() {
        let settings: Vec<String> = heating.settings.iter().map(|setting| reading_text(setting, unit)).collect();
        typed.put(SETTINGS, settings.join("\n"));
        typed.put(ABOVE, difference(Some(&heating.above)));
        typed.put(RESOLUTION, difference(heating.resolution.as_ref()));
        typed.put(MODES, heating.modes.join("\n"));
        typed.put(LAMP, words(&heating.lamp));
        typed.put(TIMEOUT, times(heating.timeout_ms));
        typed.put(DRIVE, if heating.cycle.by_itself() { "itself" } else { "hand" });
        typed.put(HEAT_UP_COLD, times(heating.cycle.heat_up_ms(1)));
        typed.put(HEAT_UP_AGAIN, times(heating.cycle.heat_up_ms(2)));
        if let Cycle::ByItself { hold_first_ms, hold_again_ms, off_ms, .. } = heating.cycle {
            typed.put(HOLD_FIRST, time::gone(hold_first_ms));
            typed.put(HOLD_AGAIN, time::gone(hold_again_ms));
            typed.put(OFF, time::gone(off_ms));
        }
    }
    if let Some(metrology) = heater.metrology.now() {
        typed.put(CALIBRATION, difference(metrology.calibration_u.as_ref()));
        typed.put(FIT, difference(metrology.fit_u.as_ref()));
        typed.put(CERTIFICATE, words(&metrology.certificate));
        typed.put(DUE, words(&metrology.due));
    }
}

pub(super) fn page(new: bool, typed: &Typed) -> Page {
    let unit = typed.unit();
    let drives = vec![
        Answer::with("itself", "Cycles by itself", "Heat-ups, holds, switches off, heat-ups again."),
        Answer::with("hand", "Switched by hand", "You switch heat on and off."),
    ];
    let bases = vec![
        Answer::new("listed", "A listed heat source"),
        Answer::new("instructions", "In the instructions of the detector's maker"),
        Answer::with("neither", "Neither", "Results are the owner's own information."),
    ];
    let mut first = vec![
        Field::new(NAME, Ask::Line).help("As it is written on it, or as you call it."),
        Field::new(SETTINGS, Ask::Lines).unit(unit.symbol()).help("One a line: the temperatures it can be put to."),
        units(),
        Field::difference(ABOVE, unit).help("How far above its setting it heats; 0 when it stops at the setting."),
        Field::difference(RESOLUTION, unit).help("Such as 1 or 0.1. Leave empty when it has no display."),
        Field::new(DRIVE, Ask::Choice(drives)),
    ];
    if typed.of(DRIVE) == "itself" {
        first.push(Field::length(HOLD_FIRST, typed, "At the top temperature, such as 5:00: this is the soak."));
        first.push(Field::length(HOLD_AGAIN, typed, "0:00 when it switches off as soon as it is there."));
        first.push(Field::length(OFF, typed, "Time without heat, such as 0:45."));
    }
    first.push(Field::new(BASIS, Ask::Choice(bases)));
    let heat_ups = vec![
        Field::length(HEAT_UP_COLD, typed, "From ambient to the top temperature."),
        Field::length(HEAT_UP_AGAIN, typed, "After it was off between trips."),
    ];
    let known = vec![
        Field::difference(CALIBRATION, unit).help("From its certificate: U divided by its k."),
        Field::new(DUE, Ask::Day).help("The last day on which the calibration is valid."),
        Field::new(CERTIFICATE, Ask::Line).help("Its number."),
        Field::difference(FIT, unit).help("From heater to detector: fit, air gap, position."),
    ];
    let more = vec![
        Field::new(APPROVAL, Ask::Line)
            .help("As marked on it. Empty: it stays out of hazardous (classified) locations."),
        Field::new(SERIAL, Ask::Line).help("Serial or asset number."),
        Field::new(MODES, Ask::Lines).help("One a line. Leave empty when it has only one."),
        Field::new(LAMP, Ask::Line).help("In your words."),
        Field::length(TIMEOUT, typed, "After which it switches itself off."),
    ];
    let part = |title, folded, note, fields| Part { title, folded, note, fields };
    let parts = vec![
        part("", false, "", first),
        part(
            "How long it heat-ups",
            false,
            "May be left empty. Then the app cannot know when the heater is at its top temperature, and asks for the mark “At top temperature”.",
            heat_ups,
        ),
        part(
            "How well its temperature is known",
            true,
            "May be left empty. Without calibration and fit a test says how it reads, and makes no limit result of conformity.",
            known,
        ),
        part("Approval, modes, lamp", true, "", more),
    ];
    Page {
        title: title(new, "heater"),
        lead: "A portable heat source. Take the numbers from its own marking and instructions.",
        parts,
        offers: Vec::new(),
        save: "Save",
        first: None,
    }
}

pub(super) fn put(typed: &Typed, id: Id) -> Result<Command, Wrongs> {
    let mut reader = Reader::new(typed);
    let name = HeaterName {
        name: reader.name(NAME),
        serial: reader.line(SERIAL),
        basis: reader.choose(BASIS, BASES).unwrap_or(Basis::Neither),
        hazardous_approval: reader.line(APPROVAL),
    };
    let settings = reader.readings(SETTINGS, TEMPERATURE);
    let above = reader.difference(ABOVE, (0.0, 30.0));
    let above = reader.must(ABOVE, above);
    let resolution = reader.difference(RESOLUTION, (0.01, 10.0));
    let by_itself = reader.choose(DRIVE, DRIVES).unwrap_or_default();
    let (heat_up_cold_ms, heat_up_again_ms) =
        (reader.length(HEAT_UP_COLD, (1, 3_600)), reader.length(HEAT_UP_AGAIN, (1, 3_600)));
    let cycle = if by_itself {
        let mut whole = |name, range| {
            let ms = reader.length(name, range);
            reader.must(name, ms).unwrap_or_default()
        };
        let (hold_first_ms, hold_again_ms) = (whole(HOLD_FIRST, (0, 3_600)), whole(HOLD_AGAIN, (0, 3_600)));
        Cycle::ByItself {
            heat_up_cold_ms,
            heat_up_again_ms,
            hold_first_ms,
            hold_again_ms,
            off_ms: whole(OFF, (1, 3_600)),
        }
    } else {
        Cycle::ByHand { heat_up_cold_ms, heat_up_again_ms }
    };
    let heating = Heating {
        settings,
        above: above.unwrap_or(Difference { value: 0, scale: 0, unit: typed.unit() }),
        modes: reader.names(MODES),
        cycle,
        resolution,
        lamp: reader.line(LAMP),
        timeout_ms: reader.length(TIMEOUT, (1, 36_000)),
    };
    let metrology = Metrology {
        calibration_u: reader.difference(CALIBRATION, (0.0, 20.0)),
        certificate: reader.line(CERTIFICATE),
        due: reader.day(DUE),
        fit_u: reader.difference(FIT, (0.0, 20.0)),
    };
    reader.done(Command::PutHeater { heater: id, name, heating: Box::new(heating), metrology })
}
