//! The three results of a test and what they come to: tripped, alarm at panel, restored.

use super::no_alarm::{NoAlarm, NotProven};
use super::trip::TripFinding;
use crate::book::body::{Answer, Ending, Point, What};
use crate::book::early::{EarlyTrip, first_early};
use crate::book::test::Test;
use crate::trade::detector_type::DetectorType;
use crate::units::TestTime;

/// Whether the detector tripped.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Tripped {
    /// A trip was seen: a yes for good.
    Yes {
        /// Test time of the first one, ms since heat on.
        first_at: TestTime,
    },
    /// No alarm, although the heat was enough.
    No(NoAlarm),
    /// The test is not over.
    NotYet,
    /// No trip, and the heat decides nothing.
    NotDecided(NotProven),
}

/// What the panel showed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum AtPanel {
    /// The right point.
    Right,
    /// Another point, and what it said.
    Wrong(Option<String>),
    /// Nothing came.
    NotThere,
    /// Not checked.
    NotChecked,
}

/// Whether the detector restored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Restored {
    /// Yes.
    Yes,
    /// It stays in alarm.
    No,
    /// Not checked yet; the list asks for it.
    Pending,
    /// Not checked.
    NotChecked,
}

impl AtPanel {
    /// The name it has in files.
    pub fn name(&self) -> &'static str {
        match self {
            AtPanel::Right => "right",
            AtPanel::Wrong(_) => "wrong",
            AtPanel::NotThere => "not_there",
            AtPanel::NotChecked => "not_checked",
        }
    }
}

impl Restored {
    /// The name it has in files.
    pub fn name(self) -> &'static str {
        match self {
            Restored::Yes => "yes",
            Restored::No => "no",
            Restored::Pending => "pending",
            Restored::NotChecked => "not_checked",
        }
    }
}

/// What makes a test a failed one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Failed {
    /// No alarm.
    NoAlarm,
    /// It did not operate, in the judgment of the technician.
    Judged,
    /// It stays in alarm.
    StaysInAlarm,
    /// The panel showed another point.
    WrongPoint,
    /// The panel showed nothing.
    NotAtPanel,
}

/// What the three results come to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// Tripped, right point, restored.
    Passed,
    /// Tripped, and something of the rest is not verified.
    NotVerified {
        /// Whether the panel showed the right point.
        panel: bool,
        /// Whether it restored.
        restore: bool,
    },
    /// One of the three is a no.
    Failed(Failed),
    /// Operation is not proven.
    NotDecided,
    /// A trip came so early that it may be another detector's, and that is not answered.
    EarlyTrip,
    /// The test is not over.
    InProgress,
    /// It was stopped as a mistake and counts as none.
    Mistake,
}

impl Outcome {
    /// The one line a layman reads.
    pub fn words(self) -> &'static str {
        match self {
            Outcome::Passed => "Passed",
            Outcome::NotVerified { panel: false, restore: true } => "Tripped, panel not verified",
            Outcome::NotVerified { panel: true, .. } => "Tripped, restore not verified",
            Outcome::NotVerified { .. } => "Tripped, panel and restore not verified",
            Outcome::Failed(Failed::NoAlarm) => "No alarm",
            Outcome::Failed(Failed::Judged) => "Did not operate (technician's judgment)",
            Outcome::Failed(Failed::StaysInAlarm) => "Stays in alarm",
            Outcome::Failed(Failed::WrongPoint) => "Wrong point at panel",
            Outcome::Failed(Failed::NotAtPanel) => "Tripped, nothing at panel",
            Outcome::NotDecided => "Not decided",
            Outcome::EarlyTrip => "Early trip: which detector?",
            Outcome::InProgress => "In progress",
            Outcome::Mistake => "Not tested: stopped as a mistake",
        }
    }

    /// The name it has in files.
    pub fn name(self) -> &'static str {
        match self {
            Outcome::Passed => "passed",
            Outcome::NotVerified { panel: false, restore: true } => "panel_not_verified",
            Outcome::NotVerified { panel: true, .. } => "restore_not_verified",
            Outcome::NotVerified { .. } => "panel_and_restore_not_verified",
            Outcome::Failed(Failed::NoAlarm) => "no_alarm",
            Outcome::Failed(Failed::Judged) => "did_not_operate_judged",
            Outcome::Failed(Failed::StaysInAlarm) => "stays_in_alarm",
            Outcome::Failed(Failed::WrongPoint) => "wrong_point",
            Outcome::Failed(Failed::NotAtPanel) => "not_at_panel",
            Outcome::NotDecided => "not_decided",
            Outcome::EarlyTrip => "early_trip",
            Outcome::InProgress => "in_progress",
            Outcome::Mistake => "mistake",
        }
    }
}

/// The first trip that is early, tolerance or not; an unanswered one before an answered one.
pub(super) fn early(test: &Test, trips: &[TripFinding]) -> Option<EarlyTrip> {
    first_early(test, trips.iter().map(|trip| (trip.mark, trip.at, trip.temperature.map(|at| at.value))))
}

/// What the panel showed over all trips: anything but the right point at one of them counts.
pub(super) fn at_panel(trips: &[TripFinding]) -> AtPanel {
    let said = || trips.iter().filter_map(|trip| trip.panel.as_ref());
    if let Some((_, words)) = said().find(|(point, _)| *point == Point::Wrong) {
        return AtPanel::Wrong(words.clone());
    }
    let any = |wanted: Point| said().any(|(point, _)| *point == wanted);
    if any(Point::NotThere) {
        AtPanel::NotThere
    } else if any(Point::Right) {
        AtPanel::Right
    } else {
        AtPanel::NotChecked
    }
}

/// Whether the detector restored after its last trip. A panel reset proves no restore.
pub fn restored(test: &Test) -> Restored {
    let trip = test.marks.iter().rfind(|mark| mark.what == What::Tripped).map(|mark| mark.at);
    let marked = trip.is_some_and(|trip| test.marks.iter().any(|mark| mark.what == What::Restored && mark.at >= trip));
    let ended = test.ended.map(|(how, _)| how);
    match (test.restored_word(), ended) {
        (Some(Answer::No), _) | (None | Some(Answer::NotChecked), Some(Ending::StaysInAlarm)) => Restored::No,
        (Some(Answer::Yes), Some(Ending::StaysInAlarm)) if !test.restored_after_end() => Restored::No,
        (Some(Answer::Yes), _) => Restored::Yes,
        (None, _) if marked => Restored::Yes,
        (Some(Answer::NotChecked), _) => Restored::NotChecked,
        (None, _) => Restored::Pending,
    }
}

/// What the results come to.
pub(super) fn outcome(
    test: &Test,
    tripped: &Tripped,
    panel: &AtPanel,
    restored: Restored,
    early: Option<&EarlyTrip>,
) -> Outcome {
    match (test.ended, tripped) {
        (Some((Ending::Mistake, _)), _) => return Outcome::Mistake,
        (_, Tripped::No(_)) => return Outcome::Failed(Failed::NoAlarm),
        (_, Tripped::NotDecided(_)) if test.judged.is_some_and(|judged| judged.did_not_operate) => {
            return Outcome::Failed(Failed::Judged);
        }
        (_, Tripped::NotDecided(_)) => return Outcome::NotDecided,
        (_, Tripped::NotYet) | (None, _) => return Outcome::InProgress,
        (Some(_), Tripped::Yes { .. }) => {}
    }
    if early.is_some_and(|early| !early.confirmed) {
        return Outcome::EarlyTrip;
    }
    match three(panel, restored) {
        // A test stopped for a problem of the detector has not passed.
        Outcome::Passed if matches!(test.ended, Some((Ending::DetectorProblem, _))) => Outcome::NotDecided,
        outcome => outcome,
    }
}

/// What the three results come to where the detector tripped.
pub(super) fn three(panel: &AtPanel, restored: Restored) -> Outcome {
    match (panel, restored) {
        (_, Restored::No) => Outcome::Failed(Failed::StaysInAlarm),
        (AtPanel::Wrong(_), _) => Outcome::Failed(Failed::WrongPoint),
        (AtPanel::NotThere, _) => Outcome::Failed(Failed::NotAtPanel),
        (AtPanel::Right, Restored::Yes) => Outcome::Passed,
        _ => {
            let (panel, restore) = (*panel == AtPanel::Right, restored == Restored::Yes);
            Outcome::NotVerified { panel, restore }
        }
    }
}

/// Something that a test did not exercise.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotExercised {
    /// The fixed element of a combination detector.
    FixedElement,
    /// The rate element of a combination or electronic detector.
    RateElement,
    /// The circuit and what the panel shows.
    PanelPoint,
    /// The restore.
    Restore,
}

impl NotExercised {
    /// The name it has in files.
    pub fn name(self) -> &'static str {
        match self {
            NotExercised::FixedElement => "fixed_element",
            NotExercised::RateElement => "rate_element",
            NotExercised::PanelPoint => "panel_point",
            NotExercised::Restore => "restore",
        }
    }

    /// The words on screen and in print.
    pub fn words(self) -> &'static str {
        match self {
            NotExercised::FixedElement => "the fixed-temperature element",
            NotExercised::RateElement => "the rate-of-rise function",
            NotExercised::PanelPoint => "the circuit and the panel point",
            NotExercised::Restore => "the restore",
        }
    }
}

/// What a test of these results did not exercise.
pub(super) fn not_exercised(test: &Test, panel: &AtPanel, restored: Restored) -> Vec<NotExercised> {
    let marking = test.marking();
    let combination =
        matches!(marking.detector_type, DetectorType::CombinationRestorable | DetectorType::CombinationNonrestorable);
    let electronic = marking.detector_type == DetectorType::Electronic && test.frozen.rate_answer.is_some();
    let all = [
        (combination, NotExercised::FixedElement),
        (electronic, NotExercised::RateElement),
        (*panel == AtPanel::NotChecked, NotExercised::PanelPoint),
        (!matches!(restored, Restored::Yes | Restored::No), NotExercised::Restore),
    ];
    all.into_iter().filter(|(holds, _)| *holds).map(|(_, what)| what).collect()
}
