//! Sentences. Everything the app says that is not a trade word stands here, so that languages can follow.

mod profile_run;
mod refusal;
mod register;

use crate::book::body::{Disposition, Ending, Fault, Point, RetestWhy, What};
use crate::book::clock::ClockNote;
use crate::book::phase::NotCounted;
use crate::findings::{Record, Share};
use crate::thermal::Estimate;
use crate::trade::procedure::Procedure;
use crate::units::{Celsius, Degree, Kelvin, Reading};
use crate::view::time;

/// A temperature with its unit.
pub fn degrees(value: Celsius, unit: Degree, decimals: usize) -> String {
    format!("{} {}", value.text(unit, decimals), unit.symbol())
}

/// A 95 % band of temperatures.
pub fn band(lo: Celsius, hi: Celsius, unit: Degree) -> String {
    format!("95 %: {} to {}", lo.text(unit, 0), hi.text(unit, 0))
}

/// A difference with its unit.
pub fn difference(value: Kelvin, unit: Degree, decimals: usize) -> String {
    let symbol = match unit {
        Degree::C => "K",
        Degree::F => "°F",
    };
    format!("{} {symbol}", value.text(unit, decimals))
}

/// A mark.
pub fn what(what: What) -> &'static str {
    match what {
        What::HeatOn => "Heat on",
        What::Tripped => "Tripped",
        What::AtTop => "At top temperature",
        What::HeaterOff => "Heater went off",
        What::HeaterOn => "Heater came on",
        What::Restore => "Restore",
        What::PanelReset => "Panel reset",
    }
}

/// How a test ended.
pub fn ending(how: Ending) -> &'static str {
    match how {
        Ending::Done => "Done",
        Ending::Enough => "Enough: ended early as a functional test",
        Ending::DidNotOperate => "Did not operate",
        Ending::StaysInAlarm => "Stays in alarm",
        Ending::HeaterTrouble => "Stopped: trouble with the heater",
        Ending::DetectorTrouble => "Stopped: trouble with detector or wiring",
        Ending::SiteAsked => "Stopped: the site asked for it",
        Ending::Mistake => "Stopped: started by mistake",
    }
}

/// Why a trip does not count.
pub fn not_counted(why: NotCounted) -> &'static str {
    match why {
        NotCounted::First => "not counted: a first trip",
        NotCounted::NoRestore => "not counted: restore not seen before it",
        NotCounted::Repeat => "not counted: a second trip in the same heat-up",
        NotCounted::Surplus => "not counted: after the last one asked for",
    }
}

/// A fault.
pub fn fault(fault: Fault) -> &'static str {
    match fault {
        Fault::DidNotOperate => "Did not operate",
        Fault::StaysInAlarm => "Stays in alarm with the heater off",
        Fault::WrongPoint => "The panel showed the wrong point",
        Fault::Visual => "Found by eye",
        Fault::OutsideLimits => "Outside its limits",
        Fault::Other => "Other",
    }
}

/// What became of a deficiency.
pub fn disposition(how: Disposition) -> &'static str {
    match how {
        Disposition::OwnerNotified => "Owner notified",
        Disposition::Corrected => "Corrected and tested again",
        Disposition::Replaced => "Replaced",
        Disposition::Abandoned => "Left in place, out of use",
    }
}

/// Why to retest.
pub fn again(why: RetestWhy) -> &'static str {
    match why {
        RetestWhy::MissingTrip => "a heat-up ended without a trip",
        RetestWhy::UnlikeNeighbours => "unlike its neighbours",
        RetestWhy::NotFinished => "the test was not finished",
        RetestWhy::Wanted => "asked for",
    }
}

/// What the panel showed.
pub fn point(point: Point) -> &'static str {
    match point {
        Point::Right => "Right point",
        Point::Wrong => "Wrong point",
        Point::NotSeen => "Not seen",
    }
}

/// A note on the clocks.
pub fn clock_note(note: &ClockNote) -> String {
    match note {
        ClockNote::SetBack { by_ms } => format!("The phone's clock was set back by {}; times in the test are not affected.", time::gone(*by_ms)),
        ClockNote::SetForward { by_ms } => {
            format!("The phone's clock was set forward by {}; times in the test are not affected.", time::gone(*by_ms))
        }
        ClockNote::Asleep { for_ms, answered: true, .. } => format!("The phone slept for {}; that time counts.", time::gone(*for_ms)),
        ClockNote::Asleep { for_ms, answered: false, .. } => {
            format!("The phone slept for {}, or its clock was set; taken as sleep until somebody says.", time::gone(*for_ms))
        }
        ClockNote::Restarted { away_ms } => {
            format!("The app was started again after {}; the phone's clock bridges that time.", time::gone(*away_ms))
        }
        ClockNote::RestartedBehind => {
            "The app was started again and the phone's clock lies before the last mark; the time between is unknown. The next mark of the heater's lamp brings the test back in step.".into()
        }
        ClockNote::OtherPhone { away_ms } => {
            format!("Another phone took over after {}; the two phones' clocks bridge that time.", time::gone(*away_ms))
        }
    }
}

/// A name as part of an address for tests and styles: lower case, words joined by hyphens. ASCII alone, because the table of
/// all letters is 10 kB of the app.
pub fn slug(text: &str) -> String {
    let letter = |c: char| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '-' };
    let joined: String = text.chars().map(letter).collect();
    joined.split('-').filter(|part| !part.is_empty()).collect::<Vec<_>>().join("-")
}

/// What was recorded.
pub fn recorded(name: &str) -> String {
    format!("{name}: recorded")
}

/// What is being recorded.
pub fn recording(name: &str) -> String {
    format!("{name}: recording …")
}

/// What is not recorded.
pub fn not_recorded(name: &str) -> String {
    format!("{name}: not recorded yet, trying again")
}

/// Writes that failed and what to do.
pub fn failed(count: usize, why: &str) -> String {
    format!("{count} not recorded yet, trying again: {why}. It stays on screen until it is recorded.")
}

/// Text alternative of the trace.
pub fn trace(tag: &str, trips: usize) -> String {
    format!("Trace of the run on {tag}: heat-up, hold and off over time, with {trips} trips")
}

/// Text alternative of the trace with its temperatures.
pub fn trace_of(tag: &str, now: Option<&Estimate>, limits: &[(f64, String)], trips: usize, unit: Degree) -> String {
    let estimate = now.map_or_else(String::new, |now| {
        format!(", now {}, {}", degrees(now.value, unit, 0), band(now.lo, now.hi, unit))
    });
    let limits: Vec<&str> = limits.iter().map(|limit| limit.1.as_str()).collect();
    let limits = if limits.is_empty() { String::new() } else { format!(", limits {}", limits.join(" ")) };
    format!("Temperature of the heater over the run on {tag}{estimate}{limits}, with {trips} trips")
}

/// Beside a limit in the trace.
pub fn limit(value: &str, top: bool) -> String {
    format!("{} {value}", if top { "≤" } else { "≥" })
}

/// A reading far from the estimate before it. What had been expected is not said, because it may be read again.
pub fn far(shown: &Reading, trip: Option<u32>) -> String {
    let at = trip.map_or_else(String::new, |number| format!(" at trip {number}"));
    format!("You read {} {}{at}. That is far from the estimate.", shown.text(), shown.unit.symbol())
}

/// The same in findings, once it was asked about.
pub fn far_stands(shown: &Reading, before: &Estimate, unit: Degree) -> String {
    let (read, expected) = (format!("{} {}", shown.text(), shown.unit.symbol()), degrees(before.value, unit, 0));
    format!("{read} was read where the estimate was {expected} ({}). It stands.", band(before.lo, before.hi, unit))
}

/// Why a heater has no estimates any more.
pub fn withdrawn(readings: Share) -> String {
    let Share { outside, of } = readings;
    format!("Estimates withdrawn: {outside} of {of} readings lay outside the band. Take a new profile run.")
}

/// How a profile's estimates stood up.
pub fn scored(record: &Record) -> String {
    let (readings, tests) = (record.readings, record.tests);
    format!(
        "Scored since its newest profile run: {} of {} readings lay outside the 95 % band, in {} of {} tests the first one. About 1 in 20 \
         is expected.",
        readings.outside, readings.of, tests.outside, tests.of
    )
}

/// Heading of a trip.
pub fn trip(number: u32) -> String {
    format!("Trip {number}")
}

/// What is read.
pub fn reading_of(number: u32) -> String {
    format!("Display at trip {number}")
}

/// Fixed texts of the frame and the screens of a visit.
mod fixed {
    #![allow(missing_docs, reason = "each is its own text")]

    pub const OTHER_TAB_TITLE: &str = "Soakbook is open in another tab";
    pub const OTHER_TAB_WORD: &str = "One tab writes";
    pub const OTHER_TAB: &str = "The other tab writes; this one shows nothing, so that it shows nothing stale. Go on there, or close it and this one takes over by itself.";
    pub const PLACES: &str = "Places";
    pub const TESTS_GO_ON: &str = "tests go on";
    pub const DEMO: &str = "Demo: this site, its detectors and heaters are invented.";
    pub const UPDATE_WAITS: &str = "A newer version is ready.";
    pub const UPDATE_BUSY: &str = "A newer version is ready. It waits until no test goes on.";
    pub const UPDATE: &str = "Take it";
    pub const NOT_RECORDED: &str = "Not recorded yet";
    pub const TROUBLE: &str = "Take care";
    pub const REFUSED: &str = "Not possible now";
    pub const FIRST_TITLE: &str = "Heat-test spot heat detectors";
    pub const FIRST: &str = "Soakbook times the cycle on the lift, keeps every mark on this phone and judges each detector. It works without a network.";
    pub const FIRST_DEMO: &str = "Try the invented demo site";
    pub const FIRST_OWN: &str = "Start with an own site";
    pub const FIRST_BUNDLE: &str = "Take in a bundle";
    pub const NO_TEST_TITLE: &str = "No test goes on";
    pub const NO_TEST: &str = "Choose a detector in the visit, answer what is asked, and switch the heat on.";
    pub const TO_THE_VISIT: &str = "To the visit";
    pub const BACK: &str = "Back";
    pub const MORE: &str = "More";
    pub const CLOSE: &str = "Close";
    pub const UNDO: &str = "Undo";
    pub const ERASE: &str = "Erase";
    pub const OK: &str = "OK";
    pub const TRIPS: &str = "Trips";
    pub const COUNTED: &str = "counted";
    pub const TO_COME: &str = "to come";
    pub const NO_READING: &str = "No reading";
    pub const GIVE_READING: &str = "Give its reading";
    pub const NOTHING_MARKED: &str = "Nothing marked yet";
    pub const NO_ESTIMATE_VALUE: &str = "– –";
    pub const AFTER_READING: &str = "after the reading";
    pub const WITHDRAWN: &str = "withdrawn";
    pub const OUT_OF_RANGE: &str = "The estimate went out of range and was dropped. Read the display.";
    pub const ESTIMATES_WITHDRAWN: &str = "Estimates withdrawn";
    pub const ASK_READING_WORD: &str = "Far from what was expected";
    pub const IT_STANDS: &str = "It stands";
    pub const READ_AGAIN: &str = "Undo, read again";
    pub const UNDO_READING: &str = "Undo the reading";
    pub const OTHER_MARKS: &str = "Other marks";
    pub const NOT_COUNTED: &str = "not counted";
    pub const TEST_DETAILS: &str = "This test";
    pub const OTHER_PHONE: &str = "Another phone";
    pub const OTHER_PHONE_MARKS: &str = "It marks this test";
    pub const TAKE_OVER_WHY: &str =
        "It keeps this test. Take over only if it cannot go on; what it marks later is listed apart.";
    pub const TAKE_OVER: &str = "Take over";
    pub const ASK_SLEEP_WORD: &str = "One question";
    pub const ASK_SLEEP: &str =
        "The clock went ahead while the page was hidden. Did the phone sleep, or was its clock set?";
    pub const SLEPT: &str = "It slept";
    pub const CLOCK_SET: &str = "The clock was set";
    pub const TIME_NOTES: &str = "Notes on the time";
    pub const NO_TIME_NOTES: &str = "None: the clocks agreed throughout.";
    pub const END_EARLY: &str = "End early";
    pub const SINCE_HEAT_ON: &str = "since heat on";
    pub const EARLIER: &str = "1 s earlier";
    pub const LATER: &str = "1 s later";
    pub const PANEL_SHOWED: &str = "Panel showed:";
    pub const SOMEBODY: &str = "somebody";
    pub const CAUTIONS: &str = "Cautions";
    pub const BY_WHOM: &str = "By whom";
    pub const VISIT: &str = "Visit";
    pub const NO_VISIT_WORDS: &str =
        "Open a visit on the site you are at. It holds who was told, what was secured, and every test.";
    pub const OPEN_VISIT: &str = "Open a visit";
    pub const EARLIER_VISITS: &str = "Other visits";
    /// Said while visits that are over are still being read.
    pub const STILL_READING: &str = "Visits that are over are still being read from this phone.";
    pub const OPEN: &str = "open";
    pub const CLOSED: &str = "closed";
    pub const TOLD_BEFORE: &str = "Told that tests begin";
    pub const TOLD_AFTER: &str = "Told that they are over";
    pub const TOLD: &str = "Told";
    pub const NOT_TOLD: &str = "Not told";
    pub const SERVICE: &str = "Out of service";
    pub const TAKE_OUT: &str = "System is out of service now";
    pub const PUT_BACK: &str = "Back in service";
    pub const OUT_LONG: &str =
        "Near or over 4 hours: a usual limit (NFPA 101). Local rules differ: authority and fire watch.";
    pub const SECURE: &str = "What is released";
    pub const SECURE_IT: &str = "Secured";
    pub const RESTORE_IT: &str = "Restored";
    pub const BY_WHOM_HELP: &str = "Name of the person at the valve, actuator or shutdown.";
    pub const PERMIT: &str = "Hazardous (classified) location";
    pub const PERMIT_NUMBER: &str = "Permit number";
    pub const GAS_TEST: &str = "Gas test";
    pub const GAS_TEST_HELP: &str = "What the instrument said, such as 0 % LEL.";
    pub const PERMIT_HOURS: &str = "Holds for";
    pub const TAKE_PERMIT: &str = "Record the permit";
    pub const NO_DETECTORS: &str = "No detectors on this site yet";
    pub const NO_DETECTORS_WORDS: &str = "Add areas and detectors in the register.";
    pub const TO_REGISTER: &str = "To the register";
    pub const AFTER: &str = "When it is over";
    pub const CLOSE_VISIT: &str = "Close the visit";
    pub const VISIT_CLOSED: &str = "This visit is closed.";
    pub const LEAVE_VISIT: &str = "Other visits and sites";
    pub const BEFORE: &str = "Before the test";
    pub const HEATER: &str = "Heater";
    pub const SETTING: &str = "Setting";
    pub const MODE: &str = "Heating mode";
    pub const PROCEDURE: &str = "Procedure";
    pub const SIGN: &str = "Trip is seen by";
    pub const RESTORES: &str = "Restores";
    pub const LATCHING: &str = "Panel latches";
    pub const VERIFICATION: &str = "Alarm verification is on";
    pub const DISPLAY_READ: &str = "Read the display at each trip";
    pub const LAG: &str = "Lag";
    pub const LAG_HELP: &str =
        "How long after the trip you notice it. Half of it is taken as its standard uncertainty.";
    pub const AMBIENT: &str = "Ambient temperature";
    pub const AMBIENT_HELP: &str = "Leave empty when nobody measured it.";
    pub const AIR: &str = "Air at the detector";
    pub const STILL: &str = "Still";
    pub const MOVING: &str = "Moving";
    pub const HEATER_WARMTH: &str = "The heater is";
    pub const DETECTOR_WARMTH: &str = "The detector is";
    pub const VISUAL: &str = "Looked at";
    pub const YES: &str = "Yes";
    pub const NO: &str = "No";
    pub const START: &str = "Heat on";
    pub const START_HINT: &str = "Press as the heater goes on";
    pub const NOT_A_LAG: &str = "Lag: from 0 to 120 s, such as 2 or 1.5.";
    pub const NOT_A_NUMBER: &str = "Ambient temperature: a number, such as 72 or 22.5.";
    pub const CHOOSE_HEATER: &str = "No heater yet. Add one in the register.";
    pub const LOCKED_PHONE: &str = "Keep this screen open. A locked phone cannot ring.";
    pub const LOCKED_PHONE_WORD: &str = "Once";
    pub const UNDERSTOOD: &str = "Understood";
}

pub use fixed::*;
pub use profile_run::*;
pub use refusal::*;
pub use register::*;

/// Under a test's tag: heater, its top temperature, procedure.
pub fn under(heater: &str, top: &str, procedure: &str) -> String {
    format!("{heater} to {top} · {procedure}")
}

/// On the mark while nothing is to be marked: what comes next.
pub fn next_trip(number: u32, of: u32) -> String {
    format!("Next: trip {number} of {of}")
}

/// Before a line on a screen of the demo.
pub fn demo(line: &str) -> String {
    format!("Demo, invented · {line}")
}

/// Whether cues can be heard and the screen stays on; nothing while both are as they should be.
pub fn heard(sound: bool, muted: bool, dark: bool) -> String {
    let sound = match (muted, sound) {
        (true, _) => "Sound is muted.",
        (false, false) => "No sound before the next tap.",
        (false, true) => "",
    };
    let screen = if dark { "The screen may go dark: the phone did not let the app keep it on." } else { "" };
    [sound, screen].iter().filter(|text| !text.is_empty()).copied().collect::<Vec<_>>().join(" ")
}

/// The temperature a heater heat-ups to at a setting.
pub fn heat_ups_to(top: &str) -> String {
    format!("heat-ups to {top}")
}

/// How many trips a procedure asks for, and how many first ones do not count.
pub fn trips_asked(procedure: &Procedure) -> String {
    let trips = super::findings::count(procedure.trips as usize, "trip", "trips");
    match procedure.uncounted {
        0 => trips,
        1 => format!("{trips}, first not counted"),
        several => format!("{trips}, first {several} not counted"),
    }
}

/// The numbers of a procedure in a line.
pub fn procedure_detail(procedure: &Procedure) -> String {
    let confirmed = if procedure.confirmed { "" } else { " · not confirmed yet" };
    format!(
        "{} · soak {} · off {}{confirmed}",
        trips_asked(procedure),
        time::gone(procedure.soak_ms),
        time::gone(procedure.off_ms)
    )
}

/// Heading of the opening steps, with how far they are.
pub fn before_up(told: usize, of: usize, out: bool) -> String {
    let out = if out { ", out of service" } else { "" };
    format!("Before going up: {told} of {of} told{out}")
}

/// Heading of what is to be secured.
pub fn secure(open: usize) -> String {
    if open == 0 { "What is released: all secured".into() } else { format!("What is released: {open} not secured") }
}

/// Heading of the permits.
pub fn permits(count: usize) -> String {
    let state = if count == 0 { "no permit" } else { "permit recorded" };
    format!("{}: {state}", fixed::PERMIT)
}

/// Under the name of the site: when the visit was opened and how far it is.
pub fn visit_detail(opened: &str, (done, of): (usize, usize)) -> String {
    format!("Opened {opened} · {done} of {of} test")
}

/// How long something is out of service.
pub fn out_since(gone: &str) -> String {
    format!("Out for {gone}")
}

/// A number of hours.
pub fn hours(hours: &str) -> String {
    if hours == "1" { "1 hour".into() } else { format!("{hours} hours") }
}
