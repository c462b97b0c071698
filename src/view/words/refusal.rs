//! Why not, and what to do about it.

use super::{degrees, difference, plural, time};
use crate::book::refusal::{Fault, Refusal};
use crate::trade::classified::{Gas, GasVerdict};
use crate::trade::heating::Heat;
use crate::units::{Degree, Kelvin};

/// Why something was refused and what to do.
pub fn refusal(refusal: &Refusal, unit: Degree) -> String {
    match refusal {
        Refusal::Field(key, fault) => field(crate::view::forms::label(key), *fault, unit),
        Refusal::TooNearElement { hottest, rating, margin } => format!(
            "This heater may reach {}; the nonrestorable element is rated {}. Choose a setting that stays {} below it.",
            degrees(*hottest, unit, 0),
            degrees(*rating, unit, 0),
            difference(*margin, unit, 0)
        ),
        Refusal::SettingBelowRating { top, rating } => format!(
            "At this setting the heater tops out at {}, below the rating of {}. Choose a higher setting.",
            degrees(*top, unit, 0),
            degrees(*rating, unit, 0)
        ),
        other => plain(other),
    }
}

/// The refusals that need no unit.
fn plain(refusal: &Refusal) -> String {
    let words = match refusal {
        Refusal::NoPerson => "Who has this phone? Choose a person first: every test carries the name of who made it.",
        Refusal::UnknownPerson => "This person isn't on this phone. Add them under Devices.",
        Refusal::UnknownSite => "This site isn't on this phone. Add it, or load the visit file that has it.",
        Refusal::UnknownPosition => "This position isn't complete. Fill it in under Devices.",
        Refusal::UnknownDetector => "Device data incomplete. Fill it in under Devices.",
        Refusal::NoDetector => "No detector at this position. Add one under Devices, or record the replacement.",
        Refusal::TwoDetectors => {
            "Two phones each put a detector here. Record the replacement again, with the one that is there now."
        }
        Refusal::UnknownHeater => "Choose a heater. If there is none yet, add one under Devices.",
        Refusal::UnknownProcedure => "Choose a procedure. If there is none yet, add one under Devices.",
        Refusal::NoOpenVisit => "No visit is open. Open one on the Visit screen.",
        Refusal::AlarmNotCleared => {
            "An alarm that wasn't yours is not cleared. No heat until a named person clears it on the Visit screen."
        }
        Refusal::StationNotNotified => {
            "Notify the supervising station first, or mark it “Not monitored” or “Not required”."
        }
        Refusal::Draft => "Close the visit first. A draft is not signed.",
        Refusal::ReopenTooLate => "Closed more than a day ago. Open a new visit instead.",
        Refusal::NotHereYet => {
            "The rest of the app is still loading. It needs a network connection once. Try again in a moment."
        }
        Refusal::OnBreak => "You're on a break. End it, then secure, impair and notify again as before.",
        Refusal::PairInClassified => {
            "Hazardous (classified) location: lift no wires here. Watch the detector's own lamp or the panel."
        }
        Refusal::ReleasesUnknown => {
            "Does this position release or shut down anything? Not entered. Answer that first: no heat until then."
        }
        Refusal::LastAlarmNotRestored { .. } => {
            "The last alarm on this circuit isn't restored, and the panel shows only the zone. Restore it, reset the panel, then heat."
        }
        Refusal::NoPermit => {
            "Hazardous (classified) location: no valid permit. Heater and phone stay out until permit and gas test are recorded on the Visit screen."
        }
        Refusal::GasTestTooOld => "The gas test is older than the permit allows. Test again and record it.",
        Refusal::PhoneNotAllowed => "The permit doesn't allow this phone in. It stays out, and so does the heater.",
        Refusal::HeaterNotApproved => {
            "Hazardous (classified) location: this heater is not approved for it. It stays out, no matter who signs."
        }
        Refusal::AreaNotClassified => {
            "Enter how this area is classified, under Devices: the heater's approval is checked against it."
        }
        Refusal::ApprovalNotHeld => {
            "Check the heater's approval against the area's classification on the Visit screen. A named person says whether it fits."
        }
        Refusal::NothingToHold => "Enter the heater's approval and the area's classification first, under Devices.",
        Refusal::UnknownTest => "This test isn't on this phone. Load the other phone's visit file.",
        Refusal::OtherPhonesTest => "This test is on another phone. Take it over first.",
        Refusal::TestEnded => "Already ended. Undo its end to continue.",
        Refusal::TestInProgress => "Test in progress. End it first.",
        Refusal::TestStarted => "This test has started already.",
        Refusal::UnknownProfileRun => "This profile run isn't on this phone.",
        Refusal::OtherPhonesProfileRun => "This profile run is on another phone. Only that phone can continue it.",
        Refusal::ProfileRunEnded => "This profile run has ended. Undo its end to continue.",
        Refusal::HeaterInProfileRun => "This heater is in a profile run. End that first, on the heater's page.",
        Refusal::DetectorInProfileRun => "This detector is in a profile run. End that first, on the heater's page.",
        Refusal::NotInProfileRun => "Not in this part of the profile run: first at top temp, then heater shut off.",
        Refusal::HeaterStillOn => "Mark “Heater shut off” first: only a complete profile run is used.",
        Refusal::NotDurable => {
            "The phone's database is closed: marks could be lost, so nothing new starts. Free some storage and restart the app."
        }
        Refusal::Conflict => "Two phones entered different ratings. Pick the right one under Devices.",
        Refusal::RulesConflict => "Two phones chose different rules for this site. Pick the right ones first.",
        Refusal::Heat(Heat::UsesUpElement) => "Nonrestorable – do not heat. Heat would destroy it.",
        Refusal::Heat(Heat::NoSetPoint) => "Rate-of-rise has no set point. Use a functional test.",
        Refusal::Heat(Heat::RateElementFirst) => {
            "Combination detector: the rate element trips first, so no set point can be taken. Use a functional test."
        }
        Refusal::Heat(Heat::RateFunctionAsked) => {
            "Electronic detector: say that its rate function is off, or that the heater is slower than it."
        }
        Refusal::Heat(_) => "Detector type not known. Find out and enter it under Devices before any heat.",
        Refusal::OvershootUnknown => "Enter the heater's overshoot above its setting first, under Devices.",
        Refusal::CalibrationUnknown => "Enter the heater's calibration uncertainty first, under Devices.",
        Refusal::NoRating => "No rating on file. Enter it under Devices.",
        Refusal::NoSuchSetting => "The heater has no such setting.",
        Refusal::NumbersMissing => "Enter the numbers from the heater, the detector's instructions or the owner first.",
        Refusal::PositionBusy => "This position is in a test already.",
        Refusal::HeaterBusy { .. } => "This heater is in a test already. Use another, or end that test.",
        Refusal::TripsNotTellable { .. } => {
            "Another test is running on this circuit: you couldn't tell which one tripped. End it first, or watch the detectors' own lamps."
        }
        Refusal::NothingToUndo => "Nothing to undo here.",
        Refusal::NoSuchMark => "That mark isn't there, or is another phone's.",
        Refusal::NoSuchReading => "That reading isn't there, or is another phone's.",
        Refusal::MoveOutside => "Time must be between heat on and now.",
        Refusal::NotComplete => "Not all trips taken. Choose “Stop early” to keep it as a functional test.",
        Refusal::HasTripped => "A trip is marked. If that was a mistake, say “Not a trip” first.",
        Refusal::NoTripYet => "No trip is marked yet.",
        Refusal::HeaterNotLowered => "Mark “Heater lowered” first: the heater itself may keep it in alarm.",
        Refusal::NothingToEnd => "Already ended.",
        Refusal::NothingToAnswer => "Already answered.",
        Refusal::NothingToPhotograph => "What this photo is of isn't on this phone any more. Nothing was recorded.",
        Refusal::SameMarking => "Nothing changed. Fix what is wrong, or go back.",
        Refusal::NoPassedTest => "No later test of this position has passed. Test it again first.",
        Refusal::NoWorkDone { replaced: true } => "No replacement is recorded for this position. Record it first.",
        Refusal::NoWorkDone { replaced: false } => "No repair is recorded for this position. Record it first.",
        with_values => return valued(with_values),
    };
    words.to_string()
}

/// The refusals that name a value.
fn valued(refusal: &Refusal) -> String {
    match refusal {
        Refusal::VisitNotOver(missing) => {
            format!("Can't close yet: {} to settle first.", plural(missing.len(), "thing", "things"))
        }
        Refusal::BreakLeavesOpen { left } => {
            format!("{} still off. Put it back, or say who lets it stay off.", plural(*left, "thing is", "things are"))
        }
        Refusal::HappenedOutside { days } => format!("Time: not later than now, and not more than {days} days ago."),
        Refusal::StationLapsed { .. } => {
            "The supervising station's time on test is over. Call them, extend it and record it.".into()
        }
        Refusal::NotSecured { releases } => {
            format!("This position releases: {}. Secure it on the Visit screen first.", releases.join(", "))
        }
        Refusal::FailedVisual(finding) => {
            format!("Failed visual: {}. No heat until that is fixed.", finding.words().to_lowercase())
        }
        Refusal::Gas(GasVerdict::NotMeasured(Gas::Lel)) => "Gas test: no reading for combustible gas. No heat.".into(),
        Refusal::Gas(GasVerdict::NotMeasured(Gas::Oxygen)) => "Gas test: no reading for oxygen. No heat.".into(),
        Refusal::Gas(GasVerdict::Combustible { percent, most }) => {
            format!("Gas test: {percent}% LEL; the permit allows {most}%. No heat. Get out and report it.")
        }
        Refusal::Gas(GasVerdict::Oxygen { percent }) => {
            format!("Gas test: {percent}% oxygen; 19.5 to 23.5% is needed. No heat. Get out and report it.")
        }
        Refusal::TooFewReadings { have, least } => format!(
            "{have} readings while heating are too few: a profile takes at least {least}. Reject this run and take another."
        ),
        Refusal::HeaterCycleDiffers { hold_ms, off_ms } => format!(
            "This heater auto-cycles: it holds {} and is off {}. Give the procedure the same times.",
            time::gone(*hold_ms),
            time::gone(*off_ms)
        ),
        Refusal::CalibrationOverdue { due } => format!(
            "The heater's calibration expired on {due}. A set-point test needs a valid one; a functional test does not."
        ),
        Refusal::SameRelease { release, .. } => {
            format!("Another test in this area is on a position that also releases {release}. One at a time.")
        }
        Refusal::NotRestoredYet { wait_ms } => format!(
            "Not restored yet. “Stays in alarm” can be said in {}, or with a reading near ambient.",
            time::gone(*wait_ms)
        ),
        _ => "Can't do that yet.".into(),
    }
}

/// What is wrong with a field, by its name on screen, and what it may hold.
pub fn field(name: &str, fault: Fault, unit: Degree) -> String {
    match fault {
        Fault::Empty => format!("{name}: fill this in."),
        Fault::TooLong { most } => format!("{name}: at most {most} characters."),
        Fault::Taken => format!("{name} is already used."),
        Fault::Temperature { from, to } => {
            format!("{name}: from {} to {}.", degrees(from, unit, 0), degrees(to, unit, 0))
        }
        Fault::Difference { from, to } => {
            let decimals = if from.abs() < Kelvin(1.0) && from != Kelvin(0.0) { 2 } else { 0 };
            format!("{name}: from {} to {}.", difference(from, unit, decimals), difference(to, unit, 0))
        }
        Fault::Number { from, to, unit } => format!("{name}: from {from} to {to} {unit}."),
        Fault::Date => format!("{name}: not a valid date or time."),
        Fault::Zero => format!("{name}: zero means nothing is known. Enter the real uncertainty or leave it blank."),
        Fault::Choose => format!("{name}: choose one."),
    }
}
