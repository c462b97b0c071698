//! Why not, and what to do about it.

use super::{degrees, difference, time};
use crate::book::refusal::{Field, Refusal};
use crate::trade::heating::Heat;
use crate::units::{Degree, Kelvin};

/// Why something was refused and what to do.
pub fn refusal(refusal: &Refusal, unit: Degree) -> String {
    match refusal {
        Refusal::Field(field) => self::field(field, unit),
        Refusal::UnknownSite => "This site is not in the register. Add it, or take in the bundle that holds it.".into(),
        Refusal::UnknownDetector => "This detector is not whole in the register. Open it there and complete it.".into(),
        Refusal::UnknownHeater => "Choose a heater. If there is none yet, add it in the register.".into(),
        Refusal::UnknownProcedure => "Choose a procedure. If there is none yet, add it in the register.".into(),
        Refusal::NoOpenVisit => "No visit is open here. Open one on the Visit screen.".into(),
        Refusal::VisitNotOver { tests, ends } => format!(
            "The visit is not over: {tests} tests go on and {ends} things are still secured or out of service. End and restore them first."
        ),
        Refusal::UnknownTest => "This test is not known here. Take in the other phone's bundle.".into(),
        Refusal::OtherPhonesTest => "Another phone keeps this test. Take it over first.".into(),
        Refusal::TestEnded => "This test has ended. Undo its end to go on.".into(),
        Refusal::UnknownProfileRun => "This profile run is not known here.".into(),
        Refusal::OtherPhonesProfileRun => "Another phone takes this profile run. Only that phone can go on with it.".into(),
        Refusal::ProfileRunEnded => "This profile run has ended. Undo its end to go on.".into(),
        Refusal::HeaterInProfileRun => "This heater is in a profile run. End the profile run on the heater's page first.".into(),
        Refusal::DetectorInProfileRun => "This detector is in a profile run. End the profile run on the heater's page first.".into(),
        Refusal::NotInProfileRun => "Not in this part of the profile run: first at top temperature, then heater went off.".into(),
        Refusal::HeaterStillOn => "Mark “Heater went off” first; a profile run is used only when it has been seen to its end.".into(),
        Refusal::TooFewReadings { have, least } => {
            format!("{have} readings while heating are too few for a profile: it takes at least {least}. End it as not usable and take another.")
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
            "A set point means nothing for rate-of-rise. Choose a functional test.".into()
        }
        Refusal::Heat(_) => {
            "Its EN 54-5 class is an air temperature at a vanishing rate. Choose a functional test, or enter limits that the owner gives for this method.".into()
        }
        Refusal::TooNearElement { top, rating, margin } => format!(
            "The heater heat-ups to {}; the nonrestorable element is rated {}. Choose a setting at least {} below it.",
            degrees(*top, unit, 0),
            degrees(*rating, unit, 0),
            difference(*margin, unit, 0)
        ),
        Refusal::NoRating => "This detector has no rating in the register. Enter it, or choose a functional test.".into(),
        Refusal::SettingBelowRating { top, rating } => format!(
            "At this setting the heater heat-ups to {}, below the rating of {}. Choose a higher setting.",
            degrees(*top, unit, 0),
            degrees(*rating, unit, 0)
        ),
        Refusal::NoSuchSetting => "The heater has no such setting. Choose one of its own.".into(),
        Refusal::NotConfirmed => {
            "The numbers of this procedure are common practice and nobody has confirmed them. Open it in the register, check them and confirm.".into()
        }
        Refusal::HeaterCycleDiffers { hold_ms, off_ms } => format!(
            "This heater cycles by itself: it holds {} and is off {}. Give the procedure the same times.",
            time::gone(*hold_ms),
            time::gone(*off_ms)
        ),
        Refusal::NotSecured { releases } => {
            format!("This detector releases: {}. Secure it on the Visit screen first.", releases.join(", "))
        }
        Refusal::NoPermit => {
            "Hazardous (classified) location: heater and phone stay out until permit and gas test are recorded on the Visit screen and still hold.".into()
        }
        Refusal::HeaterNotApproved => "Hazardous (classified) location: this heater has no approval for it. Heater and phone stay out.".into(),
        Refusal::CalibrationOverdue { due } => format!(
            "The heater's calibration was valid until {due}. A set-point test needs a valid one; a functional test may go on."
        ),
        Refusal::TestStarted => "This test was started already.".into(),
        Refusal::DetectorBusy => "This detector is in a test already.".into(),
        Refusal::HeaterBusy { .. } => "This heater is in a test already. Take another heater, or end that test.".into(),
        Refusal::TripsNotTellable { .. } => {
            "Another test goes on on this circuit and their trips could not be told apart. End it first, or watch both detectors' own lamps.".into()
        }
        Refusal::SameRelease { release, .. } => {
            format!("Another test in this space is on a detector that also releases {release}. One at a time.")
        }
        Refusal::NothingToUndo => "There is nothing to undo here.".into(),
        Refusal::NoSuchMark => "That mark is not there, or belongs to another phone.".into(),
        Refusal::MoveOutside => "A mark cannot be moved before heat on or past now.".into(),
        Refusal::NotComplete => "The procedure asks for more. Choose “Enough” to end early as a functional test.".into(),
        Refusal::HasTripped => "A trip is marked, so it did operate. If that mark was a mistake, undo it first.".into(),
        Refusal::NoTripYet => "No trip is marked yet.".into(),
        Refusal::NothingToEnd => "That has ended already.".into(),
        Refusal::TestGoesOn => "This test goes on. End it first, then correct what it is judged by.".into(),
        Refusal::SameMarking => "The test is judged by this marking already. Change what is wrong in it, or go back.".into(),
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
