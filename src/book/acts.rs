//! The building blocks of acts: who, whom, when it happened, and the answers.

use super::Id;
use crate::encoding::Hash;
use crate::units::Wall;

/// The precision of a given time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Precision {
    /// The tap itself.
    Second,
    /// A time as given by a person.
    Minute,
    /// About.
    Hour,
    /// A day.
    Day,
}

/// When something happened away from the phone, as a person gave it, beside the time it was recorded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Happened {
    /// UTC ms since 1970.
    pub at: Wall,
    /// Local time minus UTC there, minutes.
    pub offset: i64,
    /// How exactly.
    pub precision: Precision,
}

/// A human: one who uses a phone, or one who is only named, in an attachment that can be erased.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Who {
    /// A person of the kit.
    Person(Id),
    /// Attachment with the name.
    Named(Hash),
}

/// A phone that takes part in a visit: by its id, or by the invitation as long as nothing came from it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum PhoneRef {
    /// Its id.
    Phone(Id),
    /// The entry that invited it.
    Invited(Hash),
}

/// A clock that this phone's is compared with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum OtherClock {
    /// The panel's.
    Panel,
    /// Another phone's.
    Phone(Id),
}

/// What something is about: a thing by its id, or an act by its entry.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum About {
    /// A thing.
    Thing(Id),
    /// An act.
    Act(Hash),
}

/// A party that is notified.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Whom {
    /// The owner or the owner's representative.
    Owner,
    /// The supervising station.
    SupervisingStation,
    /// People in the building.
    Occupants,
    /// Security or control room.
    ControlRoom,
    /// Fire department.
    FireDepartment,
    /// Authority having jurisdiction.
    Authority,
    /// Insurer.
    Insurer,
    /// Process and building systems.
    ProcessSystems,
    /// Another party, by the site's label.
    Other,
}

impl Whom {
    /// The list a site starts with, in its order.
    pub const ALL: [Whom; 9] = [
        Whom::Owner,
        Whom::SupervisingStation,
        Whom::Occupants,
        Whom::ControlRoom,
        Whom::FireDepartment,
        Whom::Authority,
        Whom::Insurer,
        Whom::ProcessSystems,
        Whom::Other,
    ];
}

/// Before the tests, or when they are over.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum NotifyWhen {
    /// Testing starts.
    Before,
    /// Testing is over.
    After,
}

/// What came of a step of notifying.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum NotifyAnswer {
    /// They were notified.
    Notified,
    /// It is not required here.
    NotRequired,
    /// No supervising station monitors this system.
    NotMonitored,
    /// Testing proceeds all the same, for the reason in the note, which prints.
    GoAheadWithout,
}

/// When the panel was looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum PanelWhen {
    /// As found.
    Found,
    /// In the middle of the visit.
    Between,
    /// As left.
    Left,
}

/// What is impaired.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ImpairedWhat {
    /// The whole system.
    Whole,
    /// One circuit.
    Circuit,
    /// One zone, by its label.
    Zone,
    /// One output, by its label.
    Output,
}

/// Whether a fire watch is posted while something is impaired.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum FireWatch {
    /// It is posted.
    Posted,
    /// It was not asked for.
    NotRequired,
}

/// What was not ours.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum NotOurs {
    /// An alarm that no heater of ours made.
    Alarm,
    /// An output moved that should have stayed.
    OutputMoved,
}

/// What the panel showed at a trip.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Point {
    /// The right point.
    Right,
    /// Another one.
    Wrong,
    /// Nothing came.
    NotThere,
    /// Not checked.
    NotChecked,
}

/// What outputs did at the first alarm of a circuit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Outputs {
    /// They stayed put.
    Stayed,
    /// One moved.
    Moved,
    /// There are none.
    None,
}

/// What the supervising station made of the first alarm of a circuit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum StationSaw {
    /// It received the signal.
    Received,
    /// It has the system on test and did not act.
    OnTest,
    /// It received nothing.
    Nothing,
    /// Not asked, or no station monitors.
    NotChecked,
}

/// One tap that records that something happened to heater or detector.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum What {
    /// The heater, on the detector, was switched on for the first time.
    HeatOn,
    /// The detector tripped.
    Tripped,
    /// The heater reached its top temperature.
    AtTop,
    /// The heater shut off.
    HeaterOff,
    /// The heater came on again.
    HeaterOn,
    /// The detector restored.
    Restored,
    /// The panel was reset.
    PanelReset,
    /// The heater was lowered from the detector.
    Lowered,
}

/// Yes, no, or not checked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Answer {
    /// Yes.
    Yes,
    /// No.
    No,
    /// Not checked.
    NotChecked,
}

/// How a test ended. A fact, no verdict.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Ending {
    /// Everything the procedure asks for was taken.
    Done,
    /// Stopped early; it counts as a functional test.
    StoppedEarly,
    /// No trip was seen; the heater was lowered.
    NoTrip,
    /// The detector did not restore.
    StaysInAlarm,
    /// Stopped: heater problem.
    HeaterProblem,
    /// Stopped: detector or wiring problem.
    DetectorProblem,
    /// Stopped at the site's request.
    SiteRequest,
    /// Stopped because of an alarm that is not ours.
    AlarmNotOurs,
    /// Stopped: a mistake, e.g. the wrong detector.
    Mistake,
}

/// Why a position was not tested.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum NotTestedWhy {
    /// It could not be reached.
    NotAccessible,
    /// Something was in the way.
    Obstructed,
    /// The process was running.
    ProcessRunning,
    /// It was not safe.
    Unsafe,
    /// It was not allowed.
    NotAllowed,
    /// It must not be heated.
    Nonrestorable,
    /// There was no time.
    OutOfTime,
    /// Something else, in the note.
    Other,
}

/// A method other than a heater with a known temperature.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Method {
    /// Warm air.
    WarmAir,
    /// As the detector's instructions say.
    DetectorInstructions,
    /// In a laboratory.
    Laboratory,
    /// Electrically.
    Electrical,
    /// Another one, in the note.
    Other,
}

/// Why a position is on the retest list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum RetestWhy {
    /// One heat-up, no trip.
    MissingTrip,
    /// It reads unlike the rest of its area.
    UnlikeArea,
    /// Ended early or stopped.
    NotFinished,
    /// The technician asks for it.
    Requested,
}

/// What an item is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ItemWhat {
    /// Heated without a trip: operation is not proven.
    OperationNotProven,
    /// The detector did not restore.
    StaysInAlarm,
    /// The panel showed another point.
    WrongPoint,
    /// The panel showed nothing.
    NotAtPanel,
    /// Failed visual.
    Visual,
    /// Outside the owner's limits.
    OutsideLimits,
    /// The addresses of two positions are swapped.
    SwappedPoints,
    /// A detector was taken out and none put in.
    Removed,
    /// Something else, in the note.
    Other,
}

/// How an item was closed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ItemClosed {
    /// Repaired, and passed a test after it.
    RepairedAndTested,
    /// Replaced, and passed a test after it.
    ReplacedAndTested,
    /// A later test passed without any work.
    PassedLater,
    /// Left in place, disabled.
    LeftDisabled,
    /// Accepted as it is by the person named.
    Accepted,
    /// It was none.
    Withdrawn,
}

/// What was done to a detector, short of replacing it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Work {
    /// Cleaned.
    Cleaned,
    /// Tightened or put back in its place.
    Refitted,
    /// Wiring mended.
    Wiring,
    /// Programming at the panel.
    Programming,
    /// Something else, in the note.
    Other,
}

/// Why a detector was taken out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum RemovedWhy {
    /// It failed.
    Failed,
    /// Its time was up.
    Age,
    /// It was of the wrong type or rating.
    WrongType,
    /// For tests elsewhere.
    Sample,
    /// The position is given up.
    PositionGone,
    /// Something else.
    Other,
}

/// Whose clock a time is by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ClockOf {
    /// The panel's.
    Panel,
    /// The phone's.
    Phone,
}

/// A break in a visit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum BreakKind {
    /// A break within the day.
    Day,
    /// Overnight.
    Night,
}

/// When a heater was checked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum CheckWhen {
    /// Before the first test.
    Start,
    /// After the last test.
    End,
    /// After a drop.
    AfterDrop,
    /// At another time.
    Between,
}

/// Who signs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Signer {
    /// Who made the tests.
    Tester,
    /// The owner's representative.
    Owner,
    /// The authority.
    Authority,
}

/// How it was signed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Signed {
    /// Drawn on glass.
    Drawn,
    /// Typed.
    Typed,
    /// Declined.
    Declined,
    /// The signer was absent.
    Absent,
}

/// What left the phone.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum DeliveredWhat {
    /// A visit file.
    VisitFile,
    /// The register of a site.
    Register,
    /// Everything known.
    Everything,
    /// The record.
    Record,
    /// A notice of deficiencies.
    Notice,
    /// A table of results.
    Results,
}

/// How it left the phone.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum DeliveredHow {
    /// Given to another app, which may or may not have sent it.
    Shared,
    /// Saved as a file.
    Downloaded,
    /// Put into a folder of a server, which confirmed it.
    Uploaded,
}

/// Why positions were drawn by lot.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SampleWhy {
    /// Reacceptance after a change of programming.
    Reacceptance,
    /// A share of what is due.
    Due,
    /// The owner asks for it.
    Requested,
}
