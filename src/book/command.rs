//! Everything a user can ask of the book. Ids are arguments: `decide` draws none.

use super::Id;
use super::body::{Area, Circuit, Disposition, Ending, Fault, Point, Site, Told, Watcher, What};
use super::entry::{Hash, Scope, Stamp};
use crate::trade::conditions::{Air, Indication, Visual, Warmth};
use crate::trade::detector::{Duty, Marking, Place};
use crate::trade::heater::{HeaterName, Heating, Metrology};
use crate::trade::procedure::Procedure;
use crate::units::Reading;

/// When and where a command is given.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct At {
    /// This installation.
    pub phone: Id,
    /// The tap's own time.
    pub stamp: Stamp,
    /// Local time minus UTC, minutes: what day it is here.
    pub offset_min: i64,
    /// Whether the database is open, so that marks can be recorded safely.
    pub durable: bool,
}

/// What is asked before "start", and offered again from last time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StartTest {
    /// The visit.
    pub visit: Id,
    /// A new id.
    pub test: Id,
    /// The detector.
    pub detector: Id,
    /// The heater.
    pub heater: Id,
    /// Its setting.
    pub setting: Reading,
    /// Its mode, where it has several.
    pub mode: Option<String>,
    /// The procedure.
    pub procedure: Id,
    /// How trips are seen.
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
    /// What the eye says.
    pub visual: Visual,
}

/// What is asked before a profile run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StartProfileRun {
    /// A new id.
    pub profile_run: Id,
    /// The heater.
    pub heater: Id,
    /// Its setting.
    pub setting: Reading,
    /// Its mode, where it has several.
    pub mode: Option<String>,
    /// The detector in place, where it is in the register.
    pub detector: Option<Id>,
    /// Ambient temperature: a heater profile is a difference to it.
    pub ambient: Reading,
    /// Start temperature of the heater.
    pub heater_warmth: Warmth,
    /// Who takes it.
    pub by: Option<Id>,
}

/// A command.
#[derive(Clone, Debug, PartialEq)]
pub enum Command {
    /// Add or edit a site.
    PutSite {
        /// A new id, or the one to edit.
        site: Id,
        /// As it shall stand.
        now: Site,
    },
    /// Add or edit an area.
    PutArea {
        /// A new id, or the one to edit.
        area: Id,
        /// As it shall stand.
        now: Area,
    },
    /// Add or edit a circuit.
    PutCircuit {
        /// A new id, or the one to edit.
        circuit: Id,
        /// As it shall stand.
        now: Circuit,
    },
    /// Add or edit a detector. Groups that stand like this already are not written again.
    PutDetector {
        /// A new id, or the one to edit.
        detector: Id,
        /// Where it is.
        place: Place,
        /// What judges it.
        marking: Box<Marking>,
        /// What hangs on it.
        duty: Duty,
    },
    /// Take a detector out of the register, or put it back.
    RetireDetector {
        /// Which.
        detector: Id,
        /// Whether it has been taken away.
        retired: bool,
    },
    /// Add or edit a heater.
    PutHeater {
        /// A new id, or the one to edit.
        heater: Id,
        /// Which heater it is.
        name: HeaterName,
        /// How it heats.
        heating: Box<Heating>,
        /// How well its temperature is known.
        metrology: Metrology,
    },
    /// Add, confirm or edit a procedure.
    PutProcedure {
        /// A new id, or the one to edit.
        procedure: Id,
        /// As it shall stand.
        now: Box<Procedure>,
    },
    /// Add a person.
    PutPerson {
        /// A new id, or the one to edit.
        person: Id,
        /// Attachment with the name.
        name: Hash,
    },
    /// Open a visit, or take part in one that another phone opened.
    OpenVisit {
        /// A new id, or the one to take part in.
        visit: Id,
        /// The site.
        site: Id,
    },
    /// Close a visit.
    CloseVisit {
        /// Which.
        visit: Id,
    },
    /// Tell somebody who watches the alarms.
    Tell {
        /// The visit.
        visit: Id,
        /// Who was told.
        whom: Watcher,
        /// Before or after.
        when: Told,
        /// Who told them.
        by: Option<Id>,
    },
    /// Take a circuit, or everything, out of service.
    TakeOut {
        /// The visit.
        visit: Id,
        /// The circuit; none means the whole system.
        circuit: Option<Id>,
    },
    /// Put it back.
    PutBack {
        /// The entry that took it out.
        outage: Hash,
    },
    /// Secure something.
    Secure {
        /// The visit.
        visit: Id,
        /// What, by the name used in the register.
        release: String,
        /// By whom.
        by: Id,
    },
    /// Restore it.
    Restore {
        /// The securing.
        securing: Hash,
        /// By whom.
        by: Id,
    },
    /// Record permit and gas test.
    TakePermit {
        /// The visit.
        visit: Id,
        /// The area; none means the site.
        area: Option<Id>,
        /// Number of the permit.
        number: String,
        /// What the gas test said.
        gas_test: String,
        /// When it was taken, UTC ms.
        tested_at: i64,
        /// Until when it holds, UTC ms.
        until: i64,
    },
    /// Look at a detector without a test.
    LookAt {
        /// The visit.
        visit: Id,
        /// The detector.
        detector: Id,
        /// What the eye says.
        visual: Visual,
    },
    /// Start a test and switch the heat on: one tap.
    Start(Box<StartTest>),
    /// Start a profile run and switch the heat on: one tap.
    StartProfileRun(Box<StartProfileRun>),
    /// End a profile run.
    EndProfileRun {
        /// The profile run.
        profile_run: Id,
        /// Whether it may be used for a profile.
        usable: bool,
    },
    /// Mark.
    Mark {
        /// The test or profile run.
        test: Id,
        /// What happened.
        what: What,
    },
    /// Take a reading of the heater's display.
    Read {
        /// The test or profile run.
        test: Id,
        /// As displayed.
        reading: Reading,
        /// The trip it belongs to.
        trip: Option<Hash>,
    },
    /// Say that a reading that was asked about stands.
    LetStand {
        /// The reading.
        reading: Hash,
    },
    /// Say what the panel showed.
    SayPanel {
        /// The trip.
        trip: Hash,
        /// Which point.
        point: Point,
        /// What it said instead.
        said: Option<String>,
    },
    /// Note something.
    Note {
        /// The visit.
        visit: Id,
        /// The test, detector or visit it is about.
        about: Id,
        /// Attachment with the words.
        note: Hash,
    },
    /// Undo an entry and what was decided with it.
    Undo {
        /// The entry.
        target: Hash,
    },
    /// Move a mark.
    Move {
        /// The mark.
        mark: Hash,
        /// By how much, ms; negative is earlier.
        by_ms: i64,
    },
    /// End a test.
    End {
        /// The test.
        test: Id,
        /// How.
        how: Ending,
    },
    /// Go on with another phone's test.
    TakeOver {
        /// The test.
        test: Id,
    },
    /// Record that the clocks parted.
    NoteGap {
        /// The visit, or the kit while a profile run is taken, whose chain takes it.
        scope: Scope,
        /// How far the wall clock went, ms.
        wall_ms: i64,
        /// How far the other went, ms.
        mono_ms: i64,
        /// Whether the page was hidden.
        hidden: bool,
    },
    /// Answer the one question a gap asks.
    AnswerGap {
        /// The gap.
        gap: Hash,
        /// The phone was asleep.
        asleep: bool,
    },
    /// Record that something is wrong with a detector.
    FindDeficiency {
        /// The visit.
        visit: Id,
        /// The detector.
        detector: Id,
        /// The test that showed it.
        test: Option<Id>,
        /// What.
        fault: Fault,
        /// Attachment with the words.
        note: Option<Hash>,
    },
    /// Record what became of it.
    DisposeDeficiency {
        /// The deficiency.
        deficiency: Hash,
        /// How.
        how: Disposition,
        /// Attachment with the words.
        note: Option<Hash>,
    },
    /// Have a detector run once more.
    Retest {
        /// The test that gives the reason.
        test: Id,
        /// Why.
        why: super::body::RetestWhy,
    },
    /// Judge a test a second time by another marking; the one frozen at its start stays.
    CorrectMarking {
        /// The test, which has ended.
        test: Id,
        /// As it should have been marked.
        marking: Box<Marking>,
        /// The attachment that says why.
        reason: Hash,
    },
}
