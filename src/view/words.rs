//! Sentences. Everything the app says that is not a trade word stands here, so that languages can follow.

mod ramp;
mod register;

use crate::book::body::{AgainWhy, Disposition, Ending, Fault, Point, What};
use crate::book::clock::ClockNote;
use crate::book::phase::NotCounted;
use crate::book::refusal::{Field, Refusal};
use crate::trade::heating::Heat;
use crate::units::{Celsius, Degree, Kelvin};
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

/// Why something was refused and what to do.
pub fn refusal(refusal: &Refusal, unit: Degree) -> String {
    match refusal {
        Refusal::Field(field) => self::field(field, unit),
        Refusal::UnknownSite => "This site is not in the register. Add it, or take in the bundle that holds it.".into(),
        Refusal::UnknownDetector => "This detector is not whole in the register. Open it there and complete it.".into(),
        Refusal::UnknownHead => "Choose a head. If there is none yet, add it in the register.".into(),
        Refusal::UnknownProcedure => "Choose a procedure. If there is none yet, add it in the register.".into(),
        Refusal::NoOpenRound => "No round is open here. Open one on the Round screen.".into(),
        Refusal::RoundNotOver { runs, ends } => format!(
            "The round is not over: {runs} runs go on and {ends} things are still secured or out of service. End and restore them first."
        ),
        Refusal::UnknownRun => "This run is not known here. Take in the other phone's bundle.".into(),
        Refusal::OtherPhonesRun => "Another phone keeps this run. Take it over first.".into(),
        Refusal::RunEnded => "This run has ended. Undo its end to go on.".into(),
        Refusal::UnknownRamp => "This ramp is not known here.".into(),
        Refusal::OtherPhonesRamp => "Another phone takes this ramp. Only that phone can go on with it.".into(),
        Refusal::RampEnded => "This ramp has ended. Undo its end to go on.".into(),
        Refusal::HeadInRamp => "This head is in a ramp. End the ramp on the head's page first.".into(),
        Refusal::DetectorInRamp => "This detector is in a ramp. End the ramp on the head's page first.".into(),
        Refusal::NotInRamp => "Not in this part of the ramp: first at upper temperature, then head went off.".into(),
        Refusal::HeadStillOn => "Mark “Head went off” first; a ramp is used only when it has been seen to its end.".into(),
        Refusal::TooFewReadings { have, least } => {
            format!("{have} readings while heating are too few for a curve: it takes at least {least}. End it as not usable and take another.")
        }
        Refusal::NotDurable => {
            "Nothing new starts while the phone's database is closed: marks could be lost. Free some storage and start the app again.".into()
        }
        Refusal::Conflict => {
            "Rating, tolerance or kind stand in two versions, from two phones. Open the detector in the register and settle which holds.".into()
        }
        Refusal::Heat(Heat::UsesUpElement) => {
            "No heat on this detector: its element is used up when it operates. Inspect it, replace it when it is due.".into()
        }
        Refusal::Heat(Heat::NoSetPoint) => {
            "A set point means nothing for rate-of-rise. Choose a response check.".into()
        }
        Refusal::Heat(_) => {
            "Its EN 54-5 class is an air temperature at a vanishing rate. Choose a response check, or enter limits that the owner gives for this method.".into()
        }
        Refusal::TooNearElement { upper, rating, margin } => format!(
            "The head climbs to {}; the nonrestorable element is rated {}. Choose a setting at least {} below it.",
            degrees(*upper, unit, 0),
            degrees(*rating, unit, 0),
            difference(*margin, unit, 0)
        ),
        Refusal::NoRating => "This detector has no rating in the register. Enter it, or choose a response check.".into(),
        Refusal::SettingBelowRating { upper, rating } => format!(
            "At this setting the head climbs to {}, below the rating of {}. Choose a higher setting.",
            degrees(*upper, unit, 0),
            degrees(*rating, unit, 0)
        ),
        Refusal::NoSuchSetting => "The head has no such setting. Choose one of its own.".into(),
        Refusal::NotConfirmed => {
            "The numbers of this procedure are common practice and nobody has confirmed them. Open it in the register, check them and confirm.".into()
        }
        Refusal::HeadCycleDiffers { hold_ms, off_ms } => format!(
            "This head cycles by itself: it holds {} and is off {}. Give the procedure the same times.",
            time::gone(*hold_ms),
            time::gone(*off_ms)
        ),
        Refusal::NotSecured { releases } => {
            format!("This detector releases: {}. Secure it on the Round screen first.", releases.join(", "))
        }
        Refusal::NoPermit => {
            "Hazardous (classified) location: head and phone stay out until permit and gas test are recorded on the Round screen and still hold.".into()
        }
        Refusal::HeadNotApproved => "Hazardous (classified) location: this head has no approval for it. Head and phone stay out.".into(),
        Refusal::CalibrationOverdue { due } => format!(
            "The head's calibration was valid until {due}. A set-point check needs a valid one; a response check may go on."
        ),
        Refusal::DetectorBusy => "This detector is in a run already.".into(),
        Refusal::HeadBusy { .. } => "This head is in a run already. Take another head, or end that run.".into(),
        Refusal::TripsNotTellable { .. } => {
            "Another run goes on on this circuit and their trips could not be told apart. End it first, or watch both detectors' own lamps.".into()
        }
        Refusal::SameRelease { release, .. } => {
            format!("Another run in this space is on a detector that also releases {release}. One at a time.")
        }
        Refusal::NothingToUndo => "There is nothing to undo here.".into(),
        Refusal::NoSuchMark => "That mark is not there, or belongs to another phone.".into(),
        Refusal::MoveOutside => "A mark cannot be moved before heat on or past now.".into(),
        Refusal::NotComplete => "The procedure asks for more. Choose “Enough” to end early as a response check.".into(),
        Refusal::HasTripped => "A trip is marked, so it did operate. If that mark was a mistake, undo it first.".into(),
        Refusal::NoTripYet => "No trip is marked yet.".into(),
        Refusal::NothingToEnd => "That has ended already.".into(),
        Refusal::NothingToAnswer => "That question has been answered.".into(),
    }
}

/// What is wrong with a field and what it may hold.
pub fn field(field: &Field, unit: Degree) -> String {
    match field {
        Field::Empty { name } => format!("{name}: fill this in."),
        Field::TooLong { name, most } => format!("{name}: at most {most} characters."),
        Field::Taken { name } => format!("{name}: this one is taken already. Choose another."),
        Field::Temperature { name, from, to } => {
            format!("{name}: from {} to {}.", degrees(*from, unit, 0), degrees(*to, unit, 0))
        }
        Field::Difference { name, from, to } => {
            let decimals = if from.abs() < Kelvin(1.0) && *from != Kelvin(0.0) { 2 } else { 0 };
            format!("{name}: from {} to {}.", difference(*from, unit, decimals), difference(*to, unit, 0))
        }
        Field::Number { name, from, to, unit } => format!("{name}: from {from} to {to} {unit}."),
        Field::Date { name } => format!("{name}: a date as year-month-day, such as 2031-04-30."),
        Field::Choose { name } => format!("{name}: choose one."),
    }
}

/// The name of the field a refusal is about, to show it there.
pub fn field_name(refusal: &Refusal) -> Option<&'static str> {
    let Refusal::Field(field) = refusal else { return None };
    Some(match field {
        Field::Empty { name }
        | Field::TooLong { name, .. }
        | Field::Taken { name }
        | Field::Temperature { name, .. }
        | Field::Difference { name, .. }
        | Field::Number { name, .. }
        | Field::Date { name }
        | Field::Choose { name } => name,
    })
}

/// A mark.
pub fn what(what: What) -> &'static str {
    match what {
        What::HeatOn => "Heat on",
        What::Tripped => "Tripped",
        What::AtUpper => "At upper temperature",
        What::HeadOff => "Head went off",
        What::HeadOn => "Head came on",
        What::Reset => "Reset",
        What::PanelReset => "Panel reset",
    }
}

/// How a run ended.
pub fn ending(how: Ending) -> &'static str {
    match how {
        Ending::Done => "Done",
        Ending::Enough => "Enough: ended early as a response check",
        Ending::DidNotOperate => "Did not operate",
        Ending::StaysInAlarm => "Stays in alarm",
        Ending::HeadTrouble => "Stopped: trouble with the head",
        Ending::DetectorTrouble => "Stopped: trouble with detector or wiring",
        Ending::SiteAsked => "Stopped: the site asked for it",
        Ending::Mistake => "Stopped: started by mistake",
    }
}

/// Why a trip does not count.
pub fn not_counted(why: NotCounted) -> &'static str {
    match why {
        NotCounted::First => "not counted: a first trip",
        NotCounted::NoReset => "not counted: reset not seen before it",
        NotCounted::Repeat => "not counted: a second trip in the same climb",
        NotCounted::Surplus => "not counted: after the last one asked for",
    }
}

/// A fault.
pub fn fault(fault: Fault) -> &'static str {
    match fault {
        Fault::DidNotOperate => "Did not operate",
        Fault::StaysInAlarm => "Stays in alarm with the head off",
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

/// Why to look again.
pub fn again(why: AgainWhy) -> &'static str {
    match why {
        AgainWhy::MissingTrip => "a climb ended without a trip",
        AgainWhy::UnlikeNeighbours => "unlike its neighbours",
        AgainWhy::NotFinished => "the run was not finished",
        AgainWhy::Wanted => "asked for",
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
        ClockNote::SetBack { by_ms } => format!("The phone's clock was set back by {}; times in the run are not affected.", time::gone(*by_ms)),
        ClockNote::SetForward { by_ms } => {
            format!("The phone's clock was set forward by {}; times in the run are not affected.", time::gone(*by_ms))
        }
        ClockNote::Asleep { for_ms, answered: true, .. } => format!("The phone slept for {}; that time counts.", time::gone(*for_ms)),
        ClockNote::Asleep { for_ms, answered: false, .. } => {
            format!("The phone slept for {}, or its clock was set; taken as sleep until somebody says.", time::gone(*for_ms))
        }
        ClockNote::Restarted { away_ms } => {
            format!("The app was started again after {}; the phone's clock bridges that time.", time::gone(*away_ms))
        }
        ClockNote::RestartedBehind => {
            "The app was started again and the phone's clock lies before the last mark; the time between is unknown. The next mark of the head's lamp brings the run back in step.".into()
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
    format!("Trace of the run on {tag}: climb, hold and off over time, with {trips} trips")
}

/// Heading of a trip.
pub fn trip(number: u32) -> String {
    format!("Trip {number}")
}

/// What is read.
pub fn reading_of(number: u32) -> String {
    format!("Display at trip {number}")
}

/// Fixed texts of the frame and the screens of a round.
mod fixed {
    #![allow(missing_docs, reason = "each is its own text")]

    pub const OPENING: &str = "Opening the data …";
    pub const OTHER_TAB_TITLE: &str = "Soakbook is open in another tab";
    pub const OTHER_TAB_WORD: &str = "One tab writes";
    pub const OTHER_TAB: &str = "The other tab writes; this one shows nothing, so that it shows nothing stale. Go on there, or close it and this one takes over by itself.";
    pub const PLACES: &str = "Places";
    pub const RUNS_GO_ON: &str = "runs go on";
    pub const DEMO: &str = "Demo: this site, its detectors and heads are invented.";
    pub const UPDATE_WAITS: &str = "A newer version is ready.";
    pub const UPDATE_BUSY: &str = "A newer version is ready. It waits until no run goes on.";
    pub const UPDATE: &str = "Take it";
    pub const NOT_RECORDED: &str = "Not recorded yet";
    pub const TROUBLE: &str = "Take care";
    pub const REFUSED: &str = "Not possible now";
    pub const FIRST_TITLE: &str = "Heat-test spot heat detectors";
    pub const FIRST: &str = "Soakbook times the cycle on the lift, keeps every mark on this phone and judges each detector. It works without a network.";
    pub const FIRST_DEMO: &str = "Try the invented demo site";
    pub const FIRST_OWN: &str = "Start with an own site";
    pub const FIRST_BUNDLE: &str = "Take in a bundle";
    pub const NO_RUN_TITLE: &str = "No run goes on";
    pub const NO_RUN: &str = "Choose a detector in the round, answer what is asked, and switch the heat on.";
    pub const TO_THE_ROUND: &str = "To the round";
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
    pub const NOTHING_MARKED: &str = "Nothing marked yet";
    pub const NO_ESTIMATE_VALUE: &str = "– –";
    pub const AFTER_READING: &str = "after the reading";
    pub const OTHER_MARKS: &str = "Other marks";
    pub const NOT_COUNTED: &str = "not counted";
    pub const RUN_DETAILS: &str = "This run";
    pub const OTHER_PHONE: &str = "Another phone";
    pub const OTHER_PHONE_MARKS: &str = "It marks this run";
    pub const TAKE_OVER_WHY: &str =
        "It keeps this run. Take over only if it cannot go on; what it marks later is listed apart.";
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
    pub const ROUND: &str = "Round";
    pub const NO_ROUND_WORDS: &str =
        "Open a round on the site you are at. It holds who was told, what was secured, and every run.";
    pub const OPEN_ROUND: &str = "Open a round";
    pub const EARLIER_ROUNDS: &str = "Other rounds";
    /// Said while rounds that are over are still being read.
    pub const STILL_READING: &str = "Rounds that are over are still being read from this phone.";
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
    pub const CLOSE_ROUND: &str = "Close the round";
    pub const ROUND_CLOSED: &str = "This round is closed.";
    pub const LEAVE_ROUND: &str = "Other rounds and sites";
    pub const BEFORE: &str = "Before the run";
    pub const HEAD: &str = "Head";
    pub const SETTING: &str = "Setting";
    pub const MODE: &str = "Heating mode";
    pub const PROCEDURE: &str = "Procedure";
    pub const SIGN: &str = "Trip is seen by";
    pub const RESETS: &str = "Resets";
    pub const LATCHING: &str = "Panel latches";
    pub const VERIFICATION: &str = "Alarm verification is on";
    pub const DISPLAY_READ: &str = "Read the display at each trip";
    pub const DELAY: &str = "Notice delay";
    pub const DELAY_HELP: &str =
        "How long after the trip you notice it. Half of it is taken as its standard uncertainty.";
    pub const AMBIENT: &str = "Ambient temperature";
    pub const AMBIENT_HELP: &str = "Leave empty when nobody measured it.";
    pub const AIR: &str = "Air at the detector";
    pub const STILL: &str = "Still";
    pub const MOVING: &str = "Moving";
    pub const HEAD_WARMTH: &str = "The head is";
    pub const DETECTOR_WARMTH: &str = "The detector is";
    pub const VISUAL: &str = "Looked at";
    pub const YES: &str = "Yes";
    pub const NO: &str = "No";
    pub const START: &str = "Heat on";
    pub const START_HINT: &str = "Press as the head goes on";
    pub const NOT_A_DELAY: &str = "Notice delay: from 0 to 120 s, such as 2 or 1.5.";
    pub const NOT_A_NUMBER: &str = "Ambient temperature: a number, such as 72 or 22.5.";
    pub const CHOOSE_HEAD: &str = "No head yet. Add one in the register.";
    pub const LOCKED_PHONE: &str = "Keep this screen open. A locked phone cannot ring.";
    pub const LOCKED_PHONE_WORD: &str = "Once";
    pub const UNDERSTOOD: &str = "Understood";
}

pub use fixed::*;
pub use ramp::*;
pub use register::*;

/// Under a run's tag: head, its upper temperature, procedure.
pub fn under(head: &str, upper: &str, procedure: &str) -> String {
    format!("{head} to {upper} · {procedure}")
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

/// The temperature a head climbs to at a setting.
pub fn climbs_to(upper: &str) -> String {
    format!("climbs to {upper}")
}

/// The numbers of a procedure in a line.
pub fn procedure_detail(procedure: &crate::trade::procedure::Procedure) -> String {
    let confirmed = if procedure.confirmed { "" } else { " · not confirmed yet" };
    format!(
        "{} trips, first {} not counted · soak {} · off {}{confirmed}",
        procedure.trips,
        procedure.uncounted,
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

/// Under the name of the site: when the round was opened and how far it is.
pub fn round_detail(opened: &str, (done, of): (usize, usize)) -> String {
    format!("Opened {opened} · {done} of {of} run")
}

/// How long something is out of service.
pub fn out_since(gone: &str) -> String {
    format!("Out for {gone}")
}

/// A number of hours.
pub fn hours(hours: &str) -> String {
    if hours == "1" { "1 hour".into() } else { format!("{hours} hours") }
}
