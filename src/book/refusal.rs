//! Every way the rules say no, and what to do about it.

use super::Id;
use super::visit::Missing;
use crate::trade::classified::GasVerdict;
use crate::trade::conditions::Visual;
use crate::trade::heating::Heat;
use crate::units::{Celsius, Kelvin, Wall};

/// Why a command was refused. `view` puts it into the units of the screen.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs, reason = "fields say what they are by their names")]
pub enum Refusal {
    /// A field holds something that cannot be stored: its key, such as `Make.model`, and what is wrong.
    Field(&'static str, Fault),
    /// No person is set on the phone, so the record would have no author.
    NoPerson,
    /// The person is not known here.
    UnknownPerson,
    /// The site is not known here.
    UnknownSite,
    /// The position is not in the register, or not complete.
    UnknownPosition,
    /// The detector's data are not complete.
    UnknownDetector,
    /// No detector hangs in the position.
    NoDetector,
    /// Two detectors hang in the position, from two phones.
    TwoDetectors,
    /// The heater is not in the kit, or not complete.
    UnknownHeater,
    /// The procedure is not in the kit.
    UnknownProcedure,
    /// No such visit here, or it is closed.
    NoOpenVisit,
    /// Closing waits for these.
    VisitNotOver(Vec<Missing>),
    /// A closing is taken back within a day only.
    ReopenTooLate,
    /// The visit is not closed, or something is off that nobody accepted: its record is a draft.
    Draft,
    /// A break has begun and not ended.
    OnBreak,
    /// The rule that decides it is in the part of the app that loads later, which has not come yet.
    NotHereYet,
    /// Of what is off, so many are neither put back for the break nor left off by somebody's word.
    BreakLeavesOpen { left: usize },
    /// No pair is opened in a hazardous (classified) location.
    PairInClassified,
    /// Something happened later than now, or too long ago.
    HappenedOutside { days: i64 },
    /// An alarm that is not ours is not cleared.
    AlarmNotCleared,
    /// The question about the supervising station is not answered.
    StationNotNotified,
    /// The station's time on test is over.
    StationLapsed { at: Wall },
    /// The question whether the position releases anything is not answered.
    ReleasesUnknown,
    /// What the position releases is not secured in this visit.
    NotSecured { releases: Vec<String> },
    /// What the eye found refuses heat.
    FailedVisual(Visual),
    /// The last alarm on a circuit that shows only the zone is not restored.
    LastAlarmNotRestored { test: Id },

    /// Hazardous location without a valid permit.
    NoPermit,
    /// The gas test is older than the permit allows.
    GasTestTooOld,
    /// What the gas test says.
    Gas(GasVerdict),
    /// This phone is not allowed in.
    PhoneNotAllowed,
    /// Hazardous location and the heater has no approval for it.
    HeaterNotApproved,
    /// The area's classification is not filled in.
    AreaNotClassified,
    /// The heater's approval was not checked against the area.
    ApprovalNotHeld,
    /// There is no approval or no classification to hold against each other.
    NothingToHold,

    /// No such test here.
    UnknownTest,
    /// The test is on another phone.
    OtherPhonesTest,
    /// The test has ended.
    TestEnded,
    /// The test has not ended.
    TestInProgress,
    /// A test of this id was started already.
    TestStarted,
    /// No such profile run here.
    UnknownProfileRun,
    /// The profile run is on another phone.
    OtherPhonesProfileRun,
    /// The profile run has ended.
    ProfileRunEnded,
    /// The heater is in a profile run already.
    HeaterInProfileRun,
    /// The detector is in a profile run already.
    DetectorInProfileRun,
    /// In a profile run this mark has no place now: at top temp while heating, then heater off.
    NotInProfileRun,
    /// A profile run that is to be used needs the heater off first.
    HeaterStillOn,
    /// A profile run that is to be used needs more readings while heating.
    TooFewReadings { have: usize, least: usize },

    /// The database cannot be opened, so no new test starts.
    NotDurable,
    /// Rating, tolerance or type of the detector stand in two versions.
    Conflict,
    /// The rules of the site stand in two versions.
    RulesConflict,
    /// The type × procedure table says no.
    Heat(Heat),
    /// The heater may get too near to a nonrestorable element.
    TooNearElement { hottest: Celsius, rating: Celsius, margin: Kelvin },
    /// How far the heater overshoots is not known.
    OvershootUnknown,
    /// The heater's calibration uncertainty is not known.
    CalibrationUnknown,
    /// The detector has no rating.
    NoRating,
    /// The heater does not reach the rating at this setting.
    SettingBelowRating { top: Celsius, rating: Celsius },
    /// The heater has no such setting or mode.
    NoSuchSetting,
    /// The procedure's numbers are not all there, or their source is missing.
    NumbersMissing,
    /// The heater cycles on its own and the procedure wants something else.
    HeaterCycleDiffers { hold_ms: i64, off_ms: i64 },
    /// The calibration is out of date.
    CalibrationOverdue { due: String },
    /// The position is in a test already.
    PositionBusy,
    /// The heater is in a test already.
    HeaterBusy { test: Id },
    /// Another test on the same circuit, and the indication cannot tell their trips apart.
    TripsNotTellable { test: Id },
    /// Another test in the same space on a position that releases the same thing.
    SameRelease { test: Id, release: String },

    /// There is nothing there to undo.
    NothingToUndo,
    /// There is no such mark, or it is another phone's.
    NoSuchMark,
    /// There is no such reading, or it is another phone's.
    NoSuchReading,
    /// The mark would lie outside the test.
    MoveOutside,
    /// The test is not complete; it can be stopped early.
    NotComplete,
    /// There is a trip.
    HasTripped,
    /// There is no trip yet.
    NoTripYet,
    /// Too early to say that it stays in alarm.
    NotRestoredYet { wait_ms: i64 },
    /// The heater is not lowered yet, so it may be what keeps the detector in alarm.
    HeaterNotLowered,
    /// What is to be ended has ended already, or is not here.
    NothingToEnd,
    /// What is to be answered is not here or has been answered.
    NothingToAnswer,
    /// What a photo would be of is not here, or the photo is not.
    NothingToPhotograph,
    /// The test is judged by this marking already.
    SameMarking,
    /// No test of the position has passed since.
    NoPassedTest,
    /// No repair, or no replacement, of the position is recorded.
    NoWorkDone { replaced: bool },
}

/// What is wrong with what a field holds, with what it may hold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fault {
    /// It is empty.
    Empty,
    /// A text is too long.
    TooLong {
        /// Most characters.
        most: usize,
    },
    /// The name is already in use there.
    Taken,
    /// A temperature is outside its range.
    Temperature {
        /// Lowest.
        from: Celsius,
        /// Highest.
        to: Celsius,
    },
    /// A difference is outside its range, or has the wrong sign.
    Difference {
        /// Lowest.
        from: Kelvin,
        /// Highest.
        to: Kelvin,
    },
    /// A number is outside its range.
    Number {
        /// Lowest.
        from: i64,
        /// Highest.
        to: i64,
        /// Unit, as on screen.
        unit: &'static str,
    },
    /// A date that is none.
    Date,
    /// An uncertainty of zero.
    Zero,
    /// Something has to be chosen.
    Choose,
}
