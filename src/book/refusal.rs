//! Every way the rules say no, and what to do about it.

use super::Id;
use crate::trade::heating::Heat;
use crate::units::{Celsius, Kelvin};

/// Why a command was refused. `view` puts it into the units of the screen.
#[derive(Clone, Debug, PartialEq)]
pub enum Refusal {
    /// A field of a form holds something that cannot be stored.
    Field(Field),
    /// The site is not known here.
    UnknownSite,
    /// The detector is not in the register, or not whole.
    UnknownDetector,
    /// The heater is not in the kit, or not whole.
    UnknownHeater,
    /// The procedure is not in the kit.
    UnknownProcedure,
    /// No such visit here, or it is closed.
    NoOpenVisit,
    /// The visit still has something secured or out of service, or a test going on.
    VisitNotOver {
        /// Tests that have not ended.
        tests: usize,
        /// Things still secured or out of service.
        ends: usize,
    },
    /// No such test here.
    UnknownTest,
    /// Another phone keeps this test.
    OtherPhonesTest,
    /// The test has ended.
    TestEnded,
    /// No such profile run here.
    UnknownProfileRun,
    /// Another phone takes this profile run.
    OtherPhonesProfileRun,
    /// The profile run has ended.
    ProfileRunEnded,
    /// The heater is in a profile run already.
    HeaterInProfileRun,
    /// The detector is in a profile run already.
    DetectorInProfileRun,
    /// In a profile run this mark has no place now: at the top temperature while heating, then heater off.
    NotInProfileRun,
    /// A profile run that is to be used needs the heater off first.
    HeaterStillOn,
    /// A profile run that is to be used needs more readings while heating.
    TooFewReadings {
        /// How many there are.
        have: usize,
        /// The fewest.
        least: usize,
    },
    /// The database cannot be opened, so no new test starts.
    NotDurable,
    /// Rating, tolerance or kind of the detector stand in two versions.
    Conflict,
    /// The kind × procedure table says no.
    Heat(Heat),
    /// The heater's top temperature is too near to a nonrestorable element.
    TooNearElement {
        /// The heater's top temperature.
        top: Celsius,
        /// The rating of the element.
        rating: Celsius,
        /// How far it has to stay below.
        margin: Kelvin,
    },
    /// The detector has no rating to check.
    NoRating,
    /// The heater does not reach the rating at this setting.
    SettingBelowRating {
        /// The heater's top temperature.
        top: Celsius,
        /// The rating.
        rating: Celsius,
    },
    /// The heater has no such setting or mode.
    NoSuchSetting,
    /// The procedure's numbers have not been confirmed.
    NotConfirmed,
    /// The heater cycles by itself and the procedure wants something else.
    HeaterCycleDiffers {
        /// Soak of the heater, ms.
        hold_ms: i64,
        /// Cool-down of the heater, ms.
        off_ms: i64,
    },
    /// What the detector releases is not secured in this visit.
    NotSecured {
        /// What is missing.
        releases: Vec<String>,
    },
    /// Hazardous location without a permit that holds.
    NoPermit,
    /// Hazardous location and the heater has no approval for it.
    HeaterNotApproved,
    /// The calibration is out of date.
    CalibrationOverdue {
        /// Last day it was valid.
        due: String,
    },
    /// A test of this id was started already, and that start stands.
    TestStarted,
    /// The detector is in a test already.
    DetectorBusy,
    /// The heater is in a test already.
    HeaterBusy {
        /// The test.
        test: Id,
    },
    /// Another run on the same circuit, and the sign cannot tell their trips apart.
    TripsNotTellable {
        /// The test.
        test: Id,
    },
    /// Another test in the same space on a detector that releases the same thing.
    SameRelease {
        /// The test.
        test: Id,
        /// The thing.
        release: String,
    },
    /// There is nothing there to undo.
    NothingToUndo,
    /// There is no such mark, or it belongs to another phone.
    NoSuchMark,
    /// The mark would lie outside the test.
    MoveOutside,
    /// The test is not complete; it can be ended early.
    NotComplete,
    /// There is a trip, so it did operate.
    HasTripped,
    /// There is no trip yet.
    NoTripYet,
    /// The securing or outage has ended already, or is not here.
    NothingToEnd,
    /// The gap is not here or has been answered.
    NothingToAnswer,
    /// The test has not ended.
    TestGoesOn,
    /// The test is judged by this marking already.
    SameMarking,
}

/// A field and what it may hold.
#[derive(Clone, Debug, PartialEq)]
pub enum Field {
    /// It is empty.
    Empty {
        /// Which.
        name: &'static str,
    },
    /// A text is too long.
    TooLong {
        /// Which.
        name: &'static str,
        /// Most characters.
        most: usize,
    },
    /// The same name stands there already.
    Taken {
        /// Which.
        name: &'static str,
    },
    /// A temperature is outside its range.
    Temperature {
        /// Which.
        name: &'static str,
        /// Lowest.
        from: Celsius,
        /// Highest.
        to: Celsius,
    },
    /// A difference is outside its range, or has the wrong sign.
    Difference {
        /// Which.
        name: &'static str,
        /// Lowest.
        from: Kelvin,
        /// Highest.
        to: Kelvin,
    },
    /// A number is outside its range.
    Number {
        /// Which.
        name: &'static str,
        /// Lowest.
        from: i64,
        /// Highest.
        to: i64,
        /// Unit, as on screen.
        unit: &'static str,
    },
    /// A date that is none.
    Date {
        /// Which.
        name: &'static str,
    },
    /// Something has to be chosen.
    Choose {
        /// Which.
        name: &'static str,
    },
}
