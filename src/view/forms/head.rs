//! The form of a head.

use super::reader::{Reader, difference_text, reading_text};
use super::{Answer, Ask, Field, Name, Page, Part, Typed, Wrongs, name, title, units};
use crate::book::Id;
use crate::book::command::Command;
use crate::book::decide::TEMPERATURE;
use crate::book::kit::{Head, Kit};
use crate::trade::head::{Basis, Cycle, HeadName, Heating, Metrology};
use crate::units::{Degree, Difference};
use crate::view::time;

const NAME: Name = name!("head-name", "Name of the head");
const SETTINGS: Name = name!("settings", "Temperature setting");
const ABOVE: Name = name!("above", "Climbs above the setting by");
const RESOLUTION: Name = name!("resolution", "Smallest step of the display");
const DRIVE: Name = name!("drive", "What it does by itself");
const HOLD_FIRST: Name = name!("hold-first", "Hold after the first climb");
const HOLD_AGAIN: Name = name!("hold-again", "Hold after later climbs");
const OFF: Name = name!("off", "Off between climbs");
const CLIMB_COLD: Name = name!("climb-cold", "Climb from cold");
const CLIMB_AGAIN: Name = name!("climb-again", "Climb after off");
const BASIS: Name = name!("basis", "Basis of acceptance");
const APPROVAL: Name = name!("approval", "Approval for hazardous locations");
const CALIBRATION: Name = name!("calibration", "Calibration, standard uncertainty");
const DUE: Name = name!("due", "Calibration due");
const CERTIFICATE: Name = name!("certificate", "Certificate");
const COUPLING: Name = name!("coupling", "Coupling, standard uncertainty");
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
    match id.and_then(|id| kit.heads.get(&id)) {
        Some(head) => fill(&mut typed, head, unit),
        // Most heads that cycle by themselves hold once; it is said beside the field.
        None => typed.put(HOLD_AGAIN, "0:00"),
    }
    typed
}

fn fill(typed: &mut Typed, head: &Head, unit: Degree) {
    let words = |text: &Option<String>| text.clone().unwrap_or_default();
    let times = |ms: Option<i64>| ms.map(time::gone).unwrap_or_default();
    if let Some(name) = head.name.now() {
        typed.put(NAME, &name.name);
        typed.put(SERIAL, words(&name.serial));
        typed.put(BASIS, BASES.iter().find(|(basis, _)| *basis == name.basis).map_or("", |(_, code)| code));
        typed.put(APPROVAL, words(&name.hazardous_approval));
    }
    let unit = head.heating.now().and_then(|heating| heating.settings.first()).map_or(unit, |setting| setting.unit);
    typed.put_unit(unit);
    let difference = |value: Option<&Difference>| value.map(|value| difference_text(value, unit)).unwrap_or_default();
    if let Some(heating) = head.heating.now() {
        let settings: Vec<String> = heating.settings.iter().map(|setting| reading_text(setting, unit)).collect();
        typed.put(SETTINGS, settings.join("\n"));
        typed.put(ABOVE, difference(Some(&heating.above)));
        typed.put(RESOLUTION, difference(heating.resolution.as_ref()));
        typed.put(MODES, heating.modes.join("\n"));
        typed.put(LAMP, words(&heating.lamp));
        typed.put(TIMEOUT, times(heating.timeout_ms));
        typed.put(DRIVE, if heating.cycle.by_itself() { "itself" } else { "hand" });
        typed.put(CLIMB_COLD, times(heating.cycle.climb_ms(1)));
        typed.put(CLIMB_AGAIN, times(heating.cycle.climb_ms(2)));
        if let Cycle::ByItself { hold_first_ms, hold_again_ms, off_ms, .. } = heating.cycle {
            typed.put(HOLD_FIRST, time::gone(hold_first_ms));
            typed.put(HOLD_AGAIN, time::gone(hold_again_ms));
            typed.put(OFF, time::gone(off_ms));
        }
    }
    if let Some(metrology) = head.metrology.now() {
        typed.put(CALIBRATION, difference(metrology.calibration_u.as_ref()));
        typed.put(COUPLING, difference(metrology.coupling_u.as_ref()));
        typed.put(CERTIFICATE, words(&metrology.certificate));
        typed.put(DUE, words(&metrology.due));
    }
}

pub(super) fn page(new: bool, typed: &Typed) -> Page {
    let unit = typed.unit();
    let drives = vec![
        Answer::with("itself", "Cycles by itself", "Climbs, holds, switches off, climbs again."),
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
        first.push(Field::length(HOLD_FIRST, typed, "At the upper temperature, such as 5:00: this is the soak."));
        first.push(Field::length(HOLD_AGAIN, typed, "0:00 when it switches off as soon as it is there."));
        first.push(Field::length(OFF, typed, "Time without heat, such as 0:45."));
    }
    first.push(Field::new(BASIS, Ask::Choice(bases)));
    let climbs = vec![
        Field::length(CLIMB_COLD, typed, "From ambient to the upper temperature."),
        Field::length(CLIMB_AGAIN, typed, "After it was off between trips."),
    ];
    let known = vec![
        Field::difference(CALIBRATION, unit).help("From its certificate: U divided by its k."),
        Field::new(DUE, Ask::Day).help("The last day on which the calibration is valid."),
        Field::new(CERTIFICATE, Ask::Line).help("Its number."),
        Field::difference(COUPLING, unit).help("From head to detector: fit, air gap, position."),
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
            "How long it climbs",
            false,
            "May be left empty. Then the app cannot know when the head is at its upper temperature, and asks for the mark “At upper temperature”.",
            climbs,
        ),
        part(
            "How well its temperature is known",
            true,
            "May be left empty. Without calibration and coupling a run says how it reads, and makes no statement of conformity.",
            known,
        ),
        part("Approval, modes, lamp", true, "", more),
    ];
    Page {
        title: title(new, "head"),
        lead: "A portable heat source. Take the numbers from its own marking and instructions.",
        parts,
        offers: Vec::new(),
        save: "Save",
        first: None,
    }
}

pub(super) fn put(typed: &Typed, id: Id) -> Result<Command, Wrongs> {
    let mut reader = Reader::new(typed);
    let name = HeadName {
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
    let (climb_cold_ms, climb_again_ms) =
        (reader.length(CLIMB_COLD, (1, 3_600)), reader.length(CLIMB_AGAIN, (1, 3_600)));
    let cycle = if by_itself {
        let mut whole = |name, range| {
            let ms = reader.length(name, range);
            reader.must(name, ms).unwrap_or_default()
        };
        let (hold_first_ms, hold_again_ms) = (whole(HOLD_FIRST, (0, 3_600)), whole(HOLD_AGAIN, (0, 3_600)));
        Cycle::ByItself { climb_cold_ms, climb_again_ms, hold_first_ms, hold_again_ms, off_ms: whole(OFF, (1, 3_600)) }
    } else {
        Cycle::ByHand { climb_cold_ms, climb_again_ms }
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
        coupling_u: reader.difference(COUPLING, (0.0, 20.0)),
    };
    reader.done(Command::PutHead { head: id, name, heating: Box::new(heating), metrology })
}
