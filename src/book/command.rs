//! Everything a user can ask of the book. Ids are arguments: `decide` draws none.

use super::Id;
use super::body::{
    About, Answer, Area, BreakKind, Circuit, CircuitProof, ClockOffset, Ending, Excuse, Happened, Impaired, ItemClosed,
    ItemWhat, LeavingOff, LiftCheck, NotOurs, NotTested, Notice, OpenPair, OtherMethod, PanelSighting, PanelState,
    Permit, Person, Point, Precision, ProgrammingChange, RemovedWhy, RetestWhy, Secured, SheetColumns, Signature, Site,
    SiteRules, VisitPlan, What, Who, Work,
};
use super::entry::{Hash, Scope, Stamp};
use crate::trade::conditions::{Air, Indication, ItemClass, RateAnswer, Visual, Warmth};
use crate::trade::detector::{Access, AreaConditions, Duty, Make, Marking, Place};
use crate::trade::heater::{HeaterName, Heating, Metrology};
use crate::trade::procedure::Procedure;
use crate::units::Reading;

/// When, where and by whom a command is given.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct At {
    /// This installation.
    pub phone: Id,
    /// The tap's own time.
    pub stamp: Stamp,
    /// Local time minus UTC, minutes: what day it is here.
    pub offset_min: i64,
    /// Who has the phone.
    pub who: Option<Id>,
    /// Whether the database is open, so that marks can be recorded safely.
    pub durable: bool,
}

impl At {
    /// The tap itself, as the time when something happened.
    pub fn happened(&self) -> Happened {
        Happened { at: self.stamp.wall, offset: self.offset_min, precision: Precision::Second }
    }
}

/// What is asked before "heat on", and offered again from last time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StartTest {
    /// The visit.
    pub visit: Id,
    /// A new id.
    pub test: Id,
    /// The position.
    pub position: Id,
    /// The heater.
    pub heater: Id,
    /// Its setting.
    pub setting: Reading,
    /// Its mode, where it has several.
    pub mode: Option<String>,
    /// The procedure; none is the functional test.
    pub procedure: Option<Id>,
    /// How trips are noticed.
    pub indication: Indication,
    /// Whether the heater's display is read at each trip.
    pub display_read: bool,
    /// Ambient temperature.
    pub ambient: Option<Reading>,
    /// Whether the air moves.
    pub air: Option<Air>,
    /// Start temperature of the heater.
    pub heater_warmth: Warmth,
    /// Start temperature of the detector.
    pub detector_warmth: Warmth,
    /// Visual findings; none if no visual check was made.
    pub visual: Option<Vec<Visual>>,
    /// Of an electronic detector: why its rate function cannot trip it first.
    pub rate_answer: Option<RateAnswer>,
}

/// What is asked before a profile run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StartProfileRun {
    /// A new id.
    pub run: Id,
    /// The heater.
    pub heater: Id,
    /// Its setting.
    pub setting: Reading,
    /// Its mode, where it has several.
    pub mode: Option<String>,
    /// The position of the detector in place, where it is in the register.
    pub position: Option<Id>,
    /// Ambient temperature: a heater profile is a difference to it.
    pub ambient: Reading,
    /// Start temperature of the heater.
    pub heater_warmth: Warmth,
}

/// A position and the detector in it, as a form has them.
#[derive(Clone, Debug, PartialEq)]
pub struct PutPosition {
    /// A new id, or the one to edit.
    pub position: Id,
    /// A new id for the detector where none hangs there yet, else the one that does.
    pub detector: Id,
    /// Where it is.
    pub place: Place,
    /// How it is reached.
    pub access: Access,
    /// What hangs on its alarm.
    pub duty: Duty,
    /// What judges the detector.
    pub marking: Marking,
    /// What else is known of it.
    pub make: Make,
}

/// A customer's sheet, as it was agreed to: all of it or nothing.
#[derive(Clone, Debug, PartialEq)]
pub struct ImportSheet {
    /// The site.
    pub site: Id,
    /// A new id.
    pub import: Id,
    /// How its columns were matched.
    pub columns: SheetColumns,
    /// Areas that the sheet names and nobody entered yet, each with a new id.
    pub areas: Vec<(Id, Area)>,
    /// Circuits, likewise.
    pub circuits: Vec<(Id, Circuit)>,
}

/// A detector in place of another one.
#[derive(Clone, Debug, PartialEq)]
pub struct ReplaceDetector {
    /// The visit; none where it was done outside of one. The register alone knows of it then, and no test is “as left” by it.
    pub visit: Option<Id>,
    /// The position.
    pub position: Id,
    /// A new id for the new detector, and what it is; none where none is put in.
    pub new: Option<(Id, Marking, Make)>,
    /// Why.
    pub why: RemovedWhy,
    /// The item it answers.
    pub item: Option<Hash>,
    /// Attachment with a note.
    pub note: Option<Hash>,
    /// Who did it.
    pub by: Who,
    /// When.
    pub happened: Happened,
}

/// A break begins: what is put back for it, and what stays off by whose word.
#[derive(Clone, Debug, PartialEq)]
pub struct StartBreak {
    /// The visit.
    pub visit: Id,
    /// Within the day or overnight.
    pub kind: BreakKind,
    /// What is put back, by the entries that took it off.
    pub put_back: Vec<Hash>,
    /// What stays off, each with by whose word.
    pub left_off: Vec<(Hash, Who)>,
    /// Who put it back.
    pub by: Who,
    /// When.
    pub happened: Happened,
}

/// A command.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs, reason = "fields named like those of the entries they become, which `FORMAT.md` tells")]
pub enum Command {
    /// Add or edit a site.
    PutSite { site: Id, now: Site },
    /// Change what a site goes by.
    PutSiteRules { site: Id, now: Box<SiteRules> },
    /// Add or edit an area.
    PutArea { area: Id, now: Area, conditions: AreaConditions },
    /// Add or edit a circuit.
    PutCircuit { circuit: Id, now: Circuit },
    /// Add or edit a position and its detector. Groups that stand like this already are not written again.
    PutPosition(Box<PutPosition>),
    /// Add or edit a position that is not on the list: provisional, so that its tag may be missing or taken, until it is put as any other.
    PutUnlisted(Box<PutPosition>),
    /// Number positions of a site in the order in which one walks.
    PutInOrder { positions: Vec<Id> },
    /// Take in a sheet with these positions.
    ImportSheet { sheet: Box<ImportSheet>, positions: Vec<PutPosition> },
    /// Say what a position releases; an empty list says that it releases nothing.
    AnswerReleases { position: Id, releases: Vec<String> },
    /// Take a position off the list, or put it back.
    RetirePosition { position: Id, retired: bool },
    /// Add or edit a heater.
    PutHeater { heater: Id, name: HeaterName, heating: Box<Heating>, metrology: Metrology },
    /// Add or edit a procedure.
    PutProcedure { procedure: Id, now: Box<Procedure> },
    /// Add or edit a person.
    PutPerson { person: Id, now: Person },
    /// Name this phone.
    NamePhone { name: Hash },
    /// Hand this phone to a person.
    HandPhone { to: Id },

    /// Open a visit.
    OpenVisit { visit: Id, site: Id, plan: VisitPlan },
    /// Change what a visit is to do.
    PlanVisit { visit: Id, plan: VisitPlan },
    /// Put positions on the list of a visit or take them off; those that stand so are left out.
    PlanPositions { visit: Id, positions: Vec<Id>, planned: bool, why: Option<Hash> },
    /// Close a visit.
    CloseVisit { visit: Id },
    /// Take a closing back; with the digest of the record that stands until then.
    ReopenVisit { visit: Id, why: Hash, amends: Option<Hash> },
    /// A signature under the record of a closed visit, or that there is none; the rules add what it covers.
    Sign { visit: Id, signature: Box<Signature> },
    /// Record a notification, or why there was none.
    Notify { visit: Id, notice: Box<Notice> },
    /// Take something out of service.
    Impair { visit: Id, impaired: Box<Impaired> },
    /// Secure something that would be released.
    Secure { visit: Id, secured: Box<Secured> },
    /// Put back what is secured, impaired or open.
    Restore { ends: Hash, by: Who, happened: Happened },
    /// Record permit and gas test.
    TakePermit { visit: Id, permit: Box<Permit> },
    /// Hold a heater's approval against an area's classification.
    HoldApproval { visit: Id, heater: Id, area: Id, fits: bool },
    /// An alarm is not ours, or an output moved: every heat on this phone ends.
    AlarmNotOurs { visit: Id, what: NotOurs, note: Option<Hash> },
    /// It is dealt with: heat may go on.
    ClearAlarm { alarm: Hash, by: Who, note: Option<Hash> },
    /// Record the panel as found, between or as left.
    SeePanel { visit: Id, panel: Box<PanelState> },
    /// Compare another clock with this phone's.
    CompareClock { visit: Id, offset: Box<ClockOffset> },
    /// Open a pair for a meter.
    OpenPair { visit: Id, pair: Box<OpenPair> },
    /// Say what the first alarm of a circuit did.
    ProveCircuit { visit: Id, proof: Box<CircuitProof> },
    /// Check lift and fall protection.
    CheckLift { visit: Id, check: Box<LiftCheck> },
    /// Give the visit to another phone.
    InvitePhone { visit: Id, name: Hash },
    /// Close without waiting for a phone.
    ExcusePhone { visit: Id, excuse: Box<Excuse> },
    /// Leave something off, accepted by name.
    LeaveOff { visit: Id, leaving: Box<LeavingOff> },
    /// Begin a break.
    StartBreak(Box<StartBreak>),
    /// Work goes on.
    EndBreak { visit: Id },
    /// After a break: off once more, as it was before.
    OffAgain { off: Hash },
    /// Say why a position is not tested.
    NotTested { visit: Id, not_tested: Box<NotTested> },
    /// Give a functional result by another method.
    OtherMethod { visit: Id, other: Box<OtherMethod> },
    /// Look at a position.
    CheckVisual { visit: Id, position: Id, found: Vec<Visual> },

    /// Start a test and switch the heat on: one tap.
    Start(Box<StartTest>),
    /// Start a profile run and switch the heat on: one tap.
    StartProfileRun(Box<StartProfileRun>),
    /// End a profile run.
    EndProfileRun { run: Id, usable: bool },
    /// Mark, in a test or a profile run.
    Mark { of: Id, what: What },
    /// Say that a mark is none, e.g. a trip of another detector.
    StrikeMark { mark: Hash, why: Option<Hash> },
    /// Take a reading of the heater's display.
    Read { of: Id, reading: Reading, trip: Option<Hash> },
    /// Correct a reading, or say that it is none.
    CorrectReading { reading: Hash, now: Option<Reading>, why: Option<Hash> },
    /// Say that a reading that was asked about is right.
    ConfirmReading { reading: Hash },
    /// Say whether an early trip is this detector's.
    AnswerEarlyTrip { trip: Hash, this_detector: bool },
    /// Say what the panel showed.
    SayPanel { trip: Hash, point: Point, said: Option<String> },
    /// Say what came in at the panel, or say it anew.
    SawAtPanel { visit: Id, seen: Box<PanelSighting> },
    /// Take what somebody saw at the panel for trips of this phone's tests: each sighting with its trip.
    TakeSightings { visit: Id, of: Vec<(Hash, Hash)> },
    /// Say whether the detector restored, also after the test.
    SayRestore { test: Id, restored: Answer, happened: Happened },
    /// End a test.
    End { test: Id, how: Ending },
    /// Judge a test that decided nothing.
    Judge { test: Id, did_not_operate: bool, note: Option<Hash> },
    /// Continue another phone's test.
    TakeOver { test: Id },
    /// Judge a test a second time by another marking; the one frozen at its start stays.
    CorrectMarking { test: Id, marking: Box<Marking>, why: Hash },
    /// Have a position tested once more.
    ListRetest { test: Id, why: RetestWhy },

    /// Record that something is wrong.
    FindItem {
        visit: Id,
        what: ItemWhat,
        class: Option<ItemClass>,
        position: Option<Id>,
        test: Option<Id>,
        note: Option<Hash>,
        happened: Happened,
    },
    /// Record that two positions have each other's addresses.
    FindSwapped { visit: Id, one: Id, other: Id },
    /// Choose the class of an item.
    ClassItem { item: Hash, class: ItemClass },
    /// Someone was notified of an item.
    TellItem { item: Hash, to: Who, in_writing: bool, happened: Happened },
    /// Close an item.
    CloseItem { item: Hash, how: ItemClosed, by: Who, note: Option<Hash>, happened: Happened },
    /// Something was repaired.
    Repair { visit: Id, position: Id, work: Work, item: Option<Hash>, note: Option<Hash>, happened: Happened },
    /// The panel's programming changed: what it affects is tested again, and some of the rest.
    ChangeProgramming { visit: Id, change: Box<ProgrammingChange> },
    /// A detector was replaced.
    Replace(Box<ReplaceDetector>),

    /// Add a photo of a thing or an act.
    AddPhoto { about: About, photo: Hash, caption: Option<Hash> },
    /// Give a photo another caption: the entry that added it, or one that gave it a caption before.
    CaptionPhoto { of: Hash, caption: Option<Hash> },
    /// Note something about a test, a position or the visit.
    Note { visit: Id, about: Id, note: Hash },
    /// Undo all that was decided with an entry.
    Undo { target: Hash },
    /// Move a mark; negative is earlier.
    Move { mark: Hash, by_ms: i64 },
    /// Record that the clocks parted, in the chain of a visit, or of the kit during a profile run.
    NoteGap { scope: Scope, wall_ms: i64, mono_ms: i64, hidden: bool },
    /// Answer the one question a gap asks.
    AnswerGap { gap: Hash, asleep: bool },
}
