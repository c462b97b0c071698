//! Sentences. Everything the app says that is not a trade word stands here, so that languages can follow.

mod fixed;
mod profile_run;
mod refusal;
mod register;

use crate::book::body::{
    Circuit, Ending, ItemClosed, ItemFound, ItemWhat, NotOurs, NotTestedWhy, Point, RetestWhy, What, Whom,
};
use crate::book::clock::ClockNote;
use crate::book::timeline::NotCounted;
use crate::book::visit::Reaccepted;
use crate::findings::{EarlyWhy, Record, Share};
use crate::thermal::Estimate;
use crate::trade::heater::{Cycle, Heating};
use crate::trade::procedure::Procedure;
use crate::units::{Celsius, Degree, Kelvin, Reading};
use crate::view::test::TallyTrip;
use crate::view::{locale, time};

/// A temperature with its unit.
pub fn degrees(value: Celsius, unit: Degree, decimals: usize) -> String {
    locale::decimal(format!("{} {}", value.text(unit, decimals), unit.symbol()))
}

/// A 95 % band of temperatures.
pub fn band(lo: Celsius, hi: Celsius, unit: Degree) -> String {
    format!("95%: {} to {}", lo.text(unit, 0), hi.text(unit, 0))
}

/// A difference with its unit.
pub fn difference(value: Kelvin, unit: Degree, decimals: usize) -> String {
    locale::decimal(format!("{} {}", value.text(unit, decimals), unit.symbol()))
}

/// A count with its noun.
pub fn plural(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

/// A mark.
pub fn what(what: What) -> &'static str {
    match what {
        What::HeatOn => "Heat on",
        What::Tripped => "Tripped",
        What::AtTop => "At top temp",
        What::HeaterOff => "Heater shut off",
        What::HeaterOn => "Heater came on",
        What::Restored => "Restored",
        What::PanelReset => "Panel reset",
        What::Lowered => "Heater lowered",
    }
}

/// What is not ours.
pub fn not_ours(what: NotOurs) -> &'static str {
    match what {
        NotOurs::Alarm => "An alarm that isn't ours",
        NotOurs::OutputMoved => "Output activated",
    }
}

/// What was just done and can be taken back.
pub fn offered(name: &str, was_undo: bool) -> String {
    if was_undo { format!("Undone: {name}") } else { format!("{name}: recorded") }
}

/// The order that a plate gives: what a press on it records.
pub fn order(what: What) -> &'static str {
    match what {
        What::HeatOn => "Heat on",
        What::Tripped => "Mark trip",
        What::AtTop => "Mark top temp",
        What::HeaterOff => "Mark heat off",
        What::HeaterOn => "Mark heat on",
        What::Restored => "Mark restore",
        What::PanelReset => "Mark panel reset",
        What::Lowered => "Heater lowered",
    }
}

/// The order to mark one of several trips.
pub fn order_trip(number: u32) -> String {
    format!("Mark trip {number}")
}

/// How many trips are wanted.
pub fn of_trips(wanted: u32) -> String {
    format!("of {wanted}")
}

/// A trip that came early, as a question.
pub fn early(why: EarlyWhy, tag: &str, unit: Degree) -> String {
    match why {
        EarlyWhy::Below(by) => format!("Trip {} below the rating. Was it really {tag}?", difference(by, unit, 0)),
        EarlyWhy::Within(ms) => format!("Tripped {} s after heat on. Was it really {tag}?", ms / 1_000),
    }
}

/// A reading far from those of the other trips, as a question.
pub fn slip(number: u32, off: Kelvin, unit: Degree) -> String {
    format!("Trip {number} is {} from the others. Typed wrong?", difference(off.abs(), unit, 0))
}

/// A reading with its unit.
pub fn as_displayed(reading: &Reading) -> String {
    locale::decimal(format!("{} {}", reading.text(), reading.unit.symbol()))
}

/// A setting with its unit, and in the unit of the screen where that is another one.
pub fn setting(setting: &Reading, unit: Degree) -> String {
    let given = as_displayed(setting);
    if setting.unit == unit { given } else { format!("{given} ({})", degrees(setting.celsius(), unit, 0)) }
}

/// How a test ended.
pub fn ending(how: Ending) -> &'static str {
    match how {
        Ending::Done => "Done",
        Ending::StoppedEarly => "Stopped early: functional test only",
        Ending::NoTrip => "No trip",
        Ending::StaysInAlarm => "Stays in alarm",
        Ending::HeaterProblem => "Stopped: heater problem",
        Ending::DetectorProblem => "Stopped: detector or wiring problem",
        Ending::SiteRequest => "Stopped at site's request",
        Ending::AlarmNotOurs => "Stopped: alarm not ours",
        Ending::Mistake => "Stopped: started by mistake",
    }
}

/// Why a trip does not count.
pub fn not_counted(why: NotCounted) -> &'static str {
    match why {
        NotCounted::First => "not averaged: first trip",
        NotCounted::NoRestore => "not counted: didn't see it restore first",
        NotCounted::Repeat => "not counted: second trip, same heat-up",
        NotCounted::Surplus => "not counted: extra trip",
    }
}

/// What an item is about.
pub fn item(what: ItemWhat) -> &'static str {
    match what {
        ItemWhat::OperationNotProven => "Operation not proven",
        ItemWhat::StaysInAlarm => "Stays in alarm",
        ItemWhat::WrongPoint => "Wrong point at panel",
        ItemWhat::NotAtPanel => "Nothing at panel",
        ItemWhat::Visual => "Failed visual",
        ItemWhat::OutsideLimits => "Outside owner's limits",
        ItemWhat::SwappedPoints => "Points look swapped",
        ItemWhat::Removed => "Removed, not replaced",
        ItemWhat::Other => "Other",
    }
}

/// What an item is about, as it was found: what a first alarm shows of the station is of its circuit and has no note.
pub fn found(found: &ItemFound) -> &'static str {
    match (found.what, found.circuit, found.note) {
        (ItemWhat::Other, Some(_), None) => "Supervising station received nothing",
        (what, ..) => item(what),
    }
}

/// How an item was closed.
pub fn item_closed(how: ItemClosed) -> &'static str {
    match how {
        ItemClosed::RepairedAndTested => "Repaired, tested again",
        ItemClosed::ReplacedAndTested => "Replaced, tested again",
        ItemClosed::PassedLater => "Passed a later test",
        ItemClosed::LeftDisabled => "Left in place, disabled",
        ItemClosed::Accepted => "Accepted as is",
        ItemClosed::Withdrawn => "Not an item after all",
    }
}

/// Why to retest.
pub fn retest(why: RetestWhy) -> &'static str {
    match why {
        RetestWhy::MissingTrip => "one heat-up, no trip",
        RetestWhy::UnlikeArea => "reads unlike the rest of the area",
        RetestWhy::NotFinished => "test not finished",
        RetestWhy::Requested => "technician's request",
    }
}

/// Why a position was not tested.
pub fn not_tested(why: NotTestedWhy) -> &'static str {
    match why {
        NotTestedWhy::NotAccessible => "Not accessible",
        NotTestedWhy::Obstructed => "Obstructed",
        NotTestedWhy::ProcessRunning => "Process running",
        NotTestedWhy::Unsafe => "Unsafe",
        NotTestedWhy::NotAllowed => "Not allowed",
        NotTestedWhy::Nonrestorable => "Nonrestorable",
        NotTestedWhy::OutOfTime => "Out of time",
        NotTestedWhy::Other => "Not tested, see note",
    }
}

/// What the panel showed.
pub fn point(point: Point) -> &'static str {
    match point {
        Point::Right => "Right point",
        Point::Wrong => "Wrong point",
        Point::NotThere => "Nothing there",
        Point::NotChecked => "Not checked",
    }
}

/// Somebody who is notified.
pub fn whom(whom: Whom) -> &'static str {
    match whom {
        Whom::Owner => "Owner's go-ahead",
        Whom::SupervisingStation => "Supervising station",
        Whom::Occupants => "Occupants",
        Whom::ControlRoom => "Security or control room",
        Whom::FireDepartment => "Fire department",
        Whom::Authority => "Authority (AHJ)",
        Whom::Insurer => "Insurer",
        Whom::ProcessSystems => "Process and building systems",
        Whom::Other => "Other",
    }
}

/// A note on the clocks.
pub fn clock_note(note: &ClockNote) -> String {
    match note {
        ClockNote::SetBack { by_ms } => format!("The phone's clock was set back by {}; test times are not affected.", time::gone(*by_ms)),
        ClockNote::SetForward { by_ms } => {
            format!("The phone's clock was set forward by {}; test times are not affected.", time::gone(*by_ms))
        }
        ClockNote::Asleep { for_ms, answered: true, .. } => format!("The phone slept for {}; that time counts.", time::gone(*for_ms)),
        ClockNote::Asleep { for_ms, answered: false, .. } => {
            format!("The phone slept for {}, or its clock was changed; taken as sleep until you say.", time::gone(*for_ms))
        }
        ClockNote::Restarted { away_ms } => {
            format!("The app restarted after {}; the phone's clock covers that time.", time::gone(*away_ms))
        }
        ClockNote::RestartedBehind => {
            "The app restarted and the phone's clock is behind the last mark: the time between is unknown. Mark the next heat on, heat off or top temp to resync.".into()
        }
        ClockNote::OtherPhone { away_ms } => {
            format!("Another phone took over after {}; the two phones' clocks cover that time.", time::gone(*away_ms))
        }
    }
}

/// What the panel shows of a circuit.
pub fn shows_point(circuit: &Circuit) -> &'static str {
    if circuit.shows_point { "panel shows the device" } else { "panel shows zone or circuit only" }
}

/// Settings and cycle of a heater in a line.
pub fn heating(heating: &Heating, unit: Degree) -> String {
    let settings: Vec<String> = heating.settings.iter().map(|of| setting(of, unit)).collect();
    let overshoot = heating.overshoot.map(|by| format!("overshoot {}", difference(by.kelvin(), unit, 0)));
    let cycle = match &heating.cycle {
        Cycle::Auto { hold_first_ms: Some(hold), off_ms: Some(off), .. } => {
            format!("auto-cycling: holds {}, off {}", time::gone(*hold), time::gone(*off))
        }
        Cycle::Auto { .. } => "auto-cycling".to_string(),
        Cycle::Manual { .. } => "manual switch".to_string(),
    };
    [settings.join(", ")].into_iter().chain(overshoot).chain([cycle]).collect::<Vec<_>>().join(" · ")
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

/// Saving or clearing old records failed.
pub fn old_records_failed(why: &str) -> String {
    format!("That didn't work: {why}. Nothing was changed; try again.")
}

/// Writes that failed and what to do.
pub fn failed(count: usize, why: &str) -> String {
    format!("{count} not recorded yet, trying again: {why}. It stays on screen until it is recorded.")
}

/// Text alternative of the trace.
pub fn trace(tag: &str, trips: usize) -> String {
    format!("Trace of the test on {tag}: heat-up, soak and cool-down over time, {trips} trips")
}

/// Text alternative of the trace with its temperatures.
pub fn trace_of(tag: &str, now: Option<&Estimate>, limits: &[(f64, String)], trips: usize, unit: Degree) -> String {
    let estimate = now.map_or_else(String::new, |now| {
        format!(", now {}, {}", degrees(now.value, unit, 0), band(now.lo, now.hi, unit))
    });
    let limits: Vec<&str> = limits.iter().map(|limit| limit.1.as_str()).collect();
    let limits = if limits.is_empty() { String::new() } else { format!(", limits {}", limits.join(" ")) };
    format!("Heater temperature over the test on {tag}{estimate}{limits}, {trips} trips")
}

/// Beside a limit in the trace.
pub fn limit(value: &str, top: bool) -> String {
    format!("{} {value}", if top { "≤" } else { "≥" })
}

/// A reading far from the estimate before it. What had been expected is not said, because it may be read again.
pub fn far(shown: &Reading, trip: Option<u32>) -> String {
    let at = trip.map_or_else(String::new, |number| format!(" at trip {number}"));
    format!("You entered {}{at}. Expected something quite different.", as_displayed(shown))
}

/// The same in findings, once it was asked about.
pub fn far_stands(shown: &Reading, before: &Estimate, unit: Degree) -> String {
    let (read, expected) = (as_displayed(shown), degrees(before.value, unit, 0));
    format!(
        "{read} was entered where {expected} ({}) was expected. Confirmed as right.",
        band(before.lo, before.hi, unit)
    )
}

/// Why a heater has no estimates any more.
pub fn withdrawn(readings: Share) -> String {
    let Share { outside, of } = readings;
    format!("Estimates withdrawn: {outside} of {of} readings were outside the band. Profile this heater again.")
}

/// How a profile's estimates stood up.
pub fn scored(record: &Record) -> String {
    let (readings, tests) = (record.readings, record.tests);
    format!(
        "Since its newest profile run: {} of {} readings were outside the 95% band, in {} of {} tests the first one. Expect about 1 in 20.",
        readings.outside, readings.of, tests.outside, tests.of
    )
}

/// Heading of a trip.
pub fn trip(number: u32) -> String {
    format!("Trip {number}")
}

/// The readings so far, beside the title of the next one.
pub fn readings_before(tally: &[TallyTrip]) -> String {
    let readings: Vec<&str> = tally.iter().map(|trip| trip.reading.as_str()).filter(|text| !text.is_empty()).collect();
    readings.join(" · ")
}

/// What is read.
pub fn reading_of(number: u32) -> String {
    format!("Display at trip {number}")
}

pub use fixed::*;
pub use profile_run::*;
pub use refusal::*;
pub use register::*;

/// Under a test's tag: heater, its top temperature, procedure.
pub fn under(heater: &str, top: &str, procedure: &str) -> String {
    format!("{heater} to {top} · {procedure}")
}

/// On the mark that starts a test.
pub fn start_hint(tag: &str) -> String {
    format!("{tag} · tap as heat comes on")
}

/// While the demo is loaded, of a hundred.
pub fn loading_demo(percent: usize) -> String {
    format!("Making the invented works: {percent}%")
}

/// Before a line on a screen of the demo.
pub fn demo(line: &str) -> String {
    format!("Demo, invented · {line}")
}

/// After a tag on a screen of the demo whose line below is full.
pub fn demo_tag(tag: &str) -> String {
    format!("{tag} · Demo")
}

/// Whether cues can be heard and the screen stays on; nothing while both are as they should be.
pub fn heard(sound: bool, muted: bool, dark: bool) -> String {
    let sound = match (muted, sound) {
        (true, _) => "Sound is muted.",
        (false, false) => "Tap once to turn sound on.",
        (false, true) => "",
    };
    let screen = if dark { "The screen may go dark: the phone did not let the app keep it on." } else { "" };
    [sound, screen].iter().filter(|text| !text.is_empty()).copied().collect::<Vec<_>>().join(" ")
}

/// The temperature a heater tops out at for a setting.
pub fn tops_out_at(top: &str) -> String {
    format!("tops out at {}", top.replace(' ', "\u{a0}"))
}

/// How many trips a procedure asks for, and how many first ones do not count.
pub fn trips_asked(procedure: &Procedure) -> String {
    let trips = plural(procedure.trips as usize, "trip", "trips");
    match procedure.not_averaged {
        0 => trips,
        1 => format!("{trips}, first not averaged"),
        several => format!("{trips}, first {several} not averaged"),
    }
}

/// The numbers of a procedure in a line.
pub fn procedure_detail(procedure: &Procedure) -> String {
    let time = |name: &str, ms: Option<i64>| ms.map(|ms| format!("{name} {}", time::gone(ms)));
    let parts = [Some(trips_asked(procedure)), time("soak", procedure.soak_ms), time("cool-down", procedure.off_ms)];
    parts.into_iter().flatten().collect::<Vec<_>>().join(" · ")
}

/// Heading of the opening steps, with how far they are.
pub fn before_up(told: usize, of: usize, out: bool) -> String {
    let out = if out { " · impaired" } else { "" };
    format!("Before you go up: {told} of {of} notified{out}")
}

/// How many positions nobody has said anything about.
pub fn releases_unknown(count: usize) -> String {
    let of = plural(count, "position", "positions");
    format!("{of}: what the alarm releases or shuts down is not entered. No heat there until it is, under Devices.")
}

/// Heading of what is to be secured.
pub fn secure(open: usize) -> String {
    if open == 0 { "Releases: all secured".into() } else { format!("Releases: {open} not secured") }
}

/// Heading of the permits.
pub fn permits(count: usize) -> String {
    let state = if count == 0 { "no permit" } else { "permit recorded" };
    format!("{}: {state}", fixed::PERMIT)
}

/// Under the name of the site: when the visit was opened and how far it is.
pub fn visit_detail(visit_type: &str, opened: &str, (done, of): (usize, usize)) -> String {
    let kind = if visit_type.is_empty() { String::new() } else { format!("{visit_type} · ") };
    format!("{kind}opened {} · {done} of {of} tested", opened.replace(' ', "\u{a0}"))
}

/// How long something is out of service.
pub fn out_since(gone: &str) -> String {
    format!("Impaired {gone}")
}

/// Why a position is tested once more after the panel's programming changed.
pub fn reaccepted(why: Reaccepted) -> &'static str {
    match why {
        Reaccepted::Affected => "Reacceptance: affected",
        Reaccepted::Drawn => "Reacceptance: drawn by the app",
    }
}

/// A check that found no fault and warmed nothing: no functional test.
pub const ELECTRICAL_ONLY: &str = "Electrical check only";
/// What is left of a visit.
pub const DAY: &str = "Today";
/// What that rests on.
pub const DAY_WORDS: &str =
    "An estimate from today's pace, not a promise: 9 times in 10 it ends in between if the pace stays as it was.";
/// Where the share that is drawn comes from.
pub const REACCEPTANCE_SOURCE: &str = "NFPA 72 (2013), chapter 14, reacceptance testing: all affected, 10% of the others, at most 50. Here of the heat detectors only.";

/// The key that leaves a position for later and goes on.
pub fn skip_to(tag: &str) -> String {
    format!("Skip to {tag}")
}
