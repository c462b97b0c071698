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
    /// The head is not in the kit, or not whole.
    UnknownHead,
    /// The procedure is not in the kit.
    UnknownProcedure,
    /// No such round here, or it is closed.
    NoOpenRound,
    /// The round still has something secured or out of service, or a run going on.
    RoundNotOver {
        /// Runs that have not ended.
        runs: usize,
        /// Things still secured or out of service.
        ends: usize,
    },
    /// No such run here.
    UnknownRun,
    /// Another phone keeps this run.
    OtherPhonesRun,
    /// The run has ended.
    RunEnded,
    /// No such ramp here.
    UnknownRamp,
    /// Another phone takes this ramp.
    OtherPhonesRamp,
    /// The ramp has ended.
    RampEnded,
    /// The head is in a ramp already.
    HeadInRamp,
    /// The detector is in a ramp already.
    DetectorInRamp,
    /// In a ramp this mark has no place now: at the upper temperature while heating, then head off.
    NotInRamp,
    /// A ramp that is to be used needs the head off first.
    HeadStillOn,
    /// A ramp that is to be used needs more readings while heating.
    TooFewReadings {
        /// How many there are.
        have: usize,
        /// The fewest.
        least: usize,
    },
    /// The database cannot be opened, so no new run starts.
    NotDurable,
    /// Rating, tolerance or kind of the detector stand in two versions.
    Conflict,
    /// The kind × procedure table says no.
    Heat(Heat),
    /// The head's upper temperature is too near to a nonrestorable element.
    TooNearElement {
        /// The head's upper temperature.
        upper: Celsius,
        /// The rating of the element.
        rating: Celsius,
        /// How far it has to stay below.
        margin: Kelvin,
    },
    /// The detector has no rating to check.
    NoRating,
    /// The head does not reach the rating at this setting.
    SettingBelowRating {
        /// The head's upper temperature.
        upper: Celsius,
        /// The rating.
        rating: Celsius,
    },
    /// The head has no such setting or mode.
    NoSuchSetting,
    /// The procedure's numbers have not been confirmed.
    NotConfirmed,
    /// The head cycles by itself and the procedure wants something else.
    HeadCycleDiffers {
        /// Soak of the head, ms.
        hold_ms: i64,
        /// Heat-off of the head, ms.
        off_ms: i64,
    },
    /// What the detector releases is not secured in this round.
    NotSecured {
        /// What is missing.
        releases: Vec<String>,
    },
    /// Hazardous location without a permit that holds.
    NoPermit,
    /// Hazardous location and the head has no approval for it.
    HeadNotApproved,
    /// The calibration is out of date.
    CalibrationOverdue {
        /// Last day it was valid.
        due: String,
    },
    /// A run of this id was started already, and that start stands.
    RunStarted,
    /// The detector is in a run already.
    DetectorBusy,
    /// The head is in a run already.
    HeadBusy {
        /// The run.
        run: Id,
    },
    /// Another run on the same circuit, and the sign cannot tell their trips apart.
    TripsNotTellable {
        /// The run.
        run: Id,
    },
    /// Another run in the same space on a detector that releases the same thing.
    SameRelease {
        /// The run.
        run: Id,
        /// The thing.
        release: String,
    },
    /// There is nothing there to undo.
    NothingToUndo,
    /// There is no such mark, or it belongs to another phone.
    NoSuchMark,
    /// The mark would lie outside the run.
    MoveOutside,
    /// The run is not complete; it can be ended early.
    NotComplete,
    /// There is a trip, so it did operate.
    HasTripped,
    /// There is no trip yet.
    NoTripYet,
    /// The securing or outage has ended already, or is not here.
    NothingToEnd,
    /// The gap is not here or has been answered.
    NothingToAnswer,
    /// The run has not ended.
    RunGoesOn,
    /// The run is judged by this marking already.
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
