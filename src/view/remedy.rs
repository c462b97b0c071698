//! A refusal as it is shown: what is wrong, and where it can be put right.

use super::heater::asks;
use super::route::{Form, Route};
use super::words;
use crate::book::Id;
use crate::book::body::{NotifyWhen, Whom};
use crate::book::entry::Hash;
use crate::book::refusal::Refusal;
use crate::trade::heater_gaps::Gap;

/// A refusal to be shown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refused {
    /// What is wrong and what to do.
    pub words: String,
    /// Where to do it: the words of the key, and the place.
    pub remedy: Option<(&'static str, Route)>,
}

/// The place that puts a refusal right, where one does.
pub fn remedy(refusal: &Refusal) -> Option<(&'static str, Route)> {
    let station = super::forms::step_number(Whom::SupervisingStation, NotifyWhen::Before);
    Some(match refusal {
        Refusal::NoPerson | Refusal::UnknownPerson => (words::TO_PEOPLE, Route::People),
        Refusal::StationNotNotified | Refusal::StationLapsed { .. } => {
            (words::TO_STATION, Route::Form(Form::Notify(station)))
        }
        Refusal::NotSecured { releases } => {
            let release = Hash::of(releases.first()?.as_bytes());
            (words::TO_SECURING, Route::Form(Form::Secure(release)))
        }
        Refusal::NoPermit | Refusal::GasTestTooOld | Refusal::PhoneNotAllowed | Refusal::Gas(_) => {
            (words::TO_PERMIT, Route::Form(Form::Permit(None)))
        }
        Refusal::VisitNotOver(_) => (super::leaving::TO_CLOSING, Route::Closing),
        Refusal::OnBreak => (super::leaving::STILL_OFF, Route::StillOff),
        Refusal::UnknownHeater => (words::TO_HEATER, Route::Form(Form::Heater(None))),
        Refusal::HeaterBusy { test } | Refusal::TripsNotTellable { test } | Refusal::SameRelease { test, .. } => {
            (words::TO_TEST, Route::Test(Some(*test)))
        }
        Refusal::LastAlarmNotRestored { test } => (words::TO_RESTORE, Route::Form(Form::Restored(*test))),
        Refusal::AlarmNotCleared | Refusal::NoOpenVisit | Refusal::ApprovalNotHeld => {
            (words::TO_THE_VISIT, Route::Visit)
        }
        Refusal::UnknownSite | Refusal::AreaNotClassified => (words::TO_REGISTER, Route::Register),
        _ => return None,
    })
}

/// The same where the position and the heater are known that it is about.
pub fn remedy_at(
    refusal: &Refusal,
    position: Id,
    area: Option<Id>,
    heater: Option<Id>,
) -> Option<(&'static str, Route)> {
    let asks = |gap| heater.map(|heater| (words::TO_HEATER, asks(heater, gap)));
    let here = (words::TO_POSITION, Route::Form(Form::Position(Some(position))));
    match refusal {
        Refusal::ReleasesUnknown => Some((words::TO_POSITION, Route::Position(position))),
        Refusal::UnknownPosition
        | Refusal::UnknownDetector
        | Refusal::NoDetector
        | Refusal::Conflict
        | Refusal::NoRating
        | Refusal::Heat(crate::trade::heating::Heat::TypeUnknown) => Some(here),
        Refusal::FailedVisual(_) => Some((words::TO_REPAIR, Route::Form(Form::Repair(position)))),
        Refusal::NoPermit | Refusal::GasTestTooOld | Refusal::PhoneNotAllowed | Refusal::Gas(_) => {
            Some((words::TO_PERMIT, Route::Form(Form::Permit(area))))
        }
        Refusal::ApprovalNotHeld => area.map(|area| (words::TO_APPROVAL, Route::Form(Form::Approval(area)))),
        Refusal::AreaNotClassified => area.map(|area| (words::TO_AREA, Route::Form(Form::Area(Some(area))))),
        Refusal::OvershootUnknown => asks(Gap::Overshoot),
        Refusal::CalibrationUnknown => asks(Gap::Calibration),
        Refusal::CalibrationOverdue { .. } => asks(Gap::Due),
        Refusal::HeaterNotApproved | Refusal::NothingToHold => asks(Gap::Approval),
        Refusal::NoSuchSetting => heater.map(|heater| (words::TO_HEATER, Route::Form(Form::Heater(Some(heater))))),
        other => remedy(other),
    }
}
