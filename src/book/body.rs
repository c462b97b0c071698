//! What an entry can say. Facts with units, never results. Variants are added, never changed.

use super::Id;
use super::entry::{FORMAT, Hash};
pub use super::frozen::{FrozenDetector, FrozenHeater, ProfileRunStart, Started};
use crate::encoding::stored::Stored;
use crate::trade::conditions::Visual;
use crate::trade::detector::{Duty, Marking, Place};
use crate::trade::heater::{HeaterName, Heating, Metrology};
use crate::trade::procedure::Procedure;
use crate::units::Reading;
use serde_json::Value;
use std::sync::Arc;

/// An edit of one group of fields of one thing. It names every edit it replaces; two edits that replace the same one and
/// differ are a conflict.
#[derive(Clone, Debug, PartialEq)]
pub struct Edit<T> {
    /// The thing.
    pub of: Id,
    /// The edits it replaces; empty for the first.
    pub replaces: Vec<Hash>,
    /// The group as it now stands; apart, so that marks, which are most entries, stay small.
    pub now: Box<T>,
}

impl<T> Edit<T> {
    /// Says how a group of fields of a thing stands from here on.
    pub fn new(of: Id, replaces: Vec<Hash>, now: T) -> Edit<T> {
        Edit { of, replaces, now: Box::new(now) }
    }
}

/// A customer's premises.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Site {
    /// What it is called.
    pub name: String,
    /// Where it is.
    pub address: Option<String>,
    /// Invented for demonstration. Every screen and print of it says so.
    pub invented: bool,
}

/// A space whose detectors share conditions.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Area {
    /// The site it belongs to.
    pub site: Id,
    /// What it is called.
    pub name: String,
}

/// An initiating device circuit, zone or loop.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Circuit {
    /// The site it belongs to.
    pub site: Id,
    /// What it is called.
    pub name: String,
    /// Whether the panel can name the single detector (addressable).
    pub tells_apart: bool,
}

/// A detector that is no longer there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Presence {
    /// Whether it has been taken away.
    pub retired: bool,
}

/// A person; the name itself is an attachment and can be erased.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Person {
    /// Attachment with the name.
    pub name: Hash,
}

/// A rule set by which detectors become due, as data.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RuleSet {
    /// What it is called.
    pub name: String,
    /// The sentence it stands for.
    pub sentence: String,
    /// Where that sentence comes from.
    pub source: String,
}

/// Somebody who watches the alarms.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Watcher {
    /// Supervising station.
    SupervisingStation,
    /// People in the building.
    Occupants,
    /// Owner or the owner's representative.
    Owner,
    /// Fire service.
    FireService,
}

/// Before the tests, or when they are over.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Told {
    /// Told that tests begin.
    Before,
    /// Told that they are over.
    After,
}

/// What the panel showed at a trip.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Point {
    /// The right point.
    Right,
    /// Another one, or none.
    Wrong,
    /// Nobody saw.
    NotSeen,
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
    /// The heater went off.
    HeaterOff,
    /// The heater came on again.
    HeaterOn,
    /// The detector restore.
    Restore,
    /// The panel was restore.
    PanelReset,
}

/// How a test ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Ending {
    /// Everything the procedure asks for was taken.
    Done,
    /// Enough: ended early, as a functional test.
    Enough,
    /// It did not operate; the heater was taken off.
    DidNotOperate,
    /// It stays in alarm with the heater off and near ambient.
    StaysInAlarm,
    /// Stopped: something about the heater.
    HeaterTrouble,
    /// Stopped: something about the detector or its wiring.
    DetectorTrouble,
    /// Stopped: somebody or something on site asked for it.
    SiteAsked,
    /// Stopped: a mistake, such as the wrong detector.
    Mistake,
}

/// What is wrong with a detector.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Fault {
    /// No trip after a heat-up and a full soak.
    DidNotOperate,
    /// In alarm with the heater off and near ambient.
    StaysInAlarm,
    /// The panel showed the wrong point.
    WrongPoint,
    /// The eye found something.
    Visual,
    /// Outside the owner's limits.
    OutsideLimits,
    /// Something else, in the note.
    Other,
}

/// What became of a deficiency (NFPA 72 14.6.2.4: disposition of problems).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Disposition {
    /// The owner was told.
    OwnerNotified,
    /// Corrected and tested again.
    Corrected,
    /// The detector was replaced.
    Replaced,
    /// Left in place, out of use.
    Abandoned,
}

/// Why a detector is to be tested once more.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum RetestWhy {
    /// A heat-up without a trip among the later ones.
    MissingTrip,
    /// Unlike its neighbours.
    UnlikeNeighbours,
    /// Ended early or stopped.
    NotFinished,
    /// The technician wants it.
    Wanted,
}

/// What an entry says.
#[derive(Clone, Debug, PartialEq)]
pub enum Body {
    /// Register: a site.
    Site(Edit<Site>),
    /// Register: an area.
    Area(Edit<Area>),
    /// Register: a circuit.
    Circuit(Edit<Circuit>),
    /// Register: where a detector is.
    DetectorPlace(Edit<Place>),
    /// Register: what judges a detector.
    DetectorMarking(Edit<Marking>),
    /// Register: what hangs on a detector.
    DetectorDuty(Edit<Duty>),
    /// Register: whether a detector is still there.
    DetectorPresence(Edit<Presence>),
    /// Kit: which heater it is.
    HeaterName(Edit<HeaterName>),
    /// Kit: how a heater heats.
    HeaterHeating(Edit<Heating>),
    /// Kit: how well a heater's temperature is known.
    HeaterMetrology(Edit<Metrology>),
    /// Kit: a procedure.
    Procedure(Edit<Procedure>),
    /// Kit: a person.
    Person(Edit<Person>),
    /// Kit: a rule set.
    RuleSet(Edit<RuleSet>),
    /// Kit: a profile run began.
    ProfileRunStarted(Arc<ProfileRunStart>),
    /// Kit: a profile run ended.
    ProfileRunEnded {
        /// The profile run.
        profile_run: Id,
        /// Whether it may be used for a profile.
        usable: bool,
    },
    /// Visit: this phone takes part in the visit. The first one opens it.
    VisitOpened {
        /// The site.
        site: Id,
    },
    /// Visit: no more tests.
    VisitClosed {},
    /// Visit: somebody who watches the alarms was told.
    WatcherTold {
        /// Who was told.
        whom: Watcher,
        /// Before or after.
        when: Told,
        /// Who told them.
        by: Option<Id>,
    },
    /// Visit: a circuit went out of service.
    OutOfService {
        /// Which; absent means the whole system.
        circuit: Option<Id>,
    },
    /// Visit: it is back in service.
    BackInService {
        /// The entry that took it out.
        ends: Hash,
    },
    /// Visit: something that would be released was secured.
    Secured {
        /// What, by the name used in the register.
        release: String,
        /// By whom.
        by: Id,
    },
    /// Visit: it was restored.
    Restored {
        /// The securing it ends.
        ends: Hash,
        /// By whom.
        by: Id,
    },
    /// Visit: permit and gas test for a hazardous (classified) location.
    PermitTaken {
        /// The area it covers; absent means the site.
        area: Option<Id>,
        /// Number of the permit.
        number: String,
        /// What the gas test said.
        gas_test: String,
        /// When the gas test was taken, UTC ms.
        tested_at: i64,
        /// Until when it holds, UTC ms.
        until: i64,
    },
    /// Visit: a detector was looked at without a test.
    LookedAt {
        /// The detector.
        detector: Id,
        /// What the eye said.
        visual: Visual,
    },
    /// Visit: a test started.
    TestStarted(Arc<Started>),
    /// Visit: a mark. In the kit it may belong to a profile run.
    Mark {
        /// The test.
        test: Id,
        /// What happened.
        what: What,
    },
    /// Visit: a reading of the heater's display. In the kit it may belong to a profile run.
    ReadingTaken {
        /// The test.
        test: Id,
        /// As displayed.
        reading: Reading,
        /// The trip it belongs to, where it was taken for one.
        trip: Option<Hash>,
    },
    /// Visit: a reading far outside the band was asked about and stands.
    ReadingStands {
        /// The reading.
        reading: Hash,
    },
    /// Visit: what the panel showed at a trip.
    PanelPoint {
        /// The trip.
        trip: Hash,
        /// Which point.
        point: Point,
        /// What it said instead.
        said: Option<String>,
    },
    /// A note; the words are an attachment.
    Noted {
        /// The test, detector or visit it is about.
        about: Id,
        /// Attachment with the words or picture.
        note: Hash,
    },
    /// An entry is void while this one is not.
    Undone {
        /// The entry.
        target: Hash,
    },
    /// A mark happened at another time than its tap.
    Moved {
        /// The mark.
        mark: Hash,
        /// The session it is moved in.
        to_session: Id,
        /// The new time, ms since that session's start.
        to_mono: i64,
    },
    /// The two clocks of the phone parted.
    ClockGap {
        /// How far the wall clock went between two neighbouring looks, ms.
        wall_ms: i64,
        /// How far the other clock went, ms.
        mono_ms: i64,
        /// Whether the page was hidden in between.
        hidden: bool,
    },
    /// The answer to the one question a gap asks.
    ClockAnswered {
        /// The gap.
        gap: Hash,
        /// The phone was asleep; otherwise somebody set the clock.
        asleep: bool,
    },
    /// Visit: a test ended.
    TestEnded {
        /// The test.
        test: Id,
        /// How.
        how: Ending,
    },
    /// Visit: this phone goes on with a test of another one.
    TestTakenOver {
        /// The test.
        test: Id,
        /// The last entry seen of the old phone in this visit.
        last: Hash,
    },
    /// Visit: something is wrong with a detector.
    DeficiencyFound {
        /// The detector.
        detector: Id,
        /// The test that showed it.
        test: Option<Id>,
        /// What.
        fault: Fault,
        /// Attachment with the words.
        note: Option<Hash>,
    },
    /// Visit: what became of a deficiency.
    DeficiencyDisposed {
        /// The deficiency.
        deficiency: Hash,
        /// How.
        how: Disposition,
        /// Attachment with the words.
        note: Option<Hash>,
    },
    /// Visit: a detector is to be tested once more.
    Retest {
        /// The detector.
        detector: Id,
        /// The test that gave the reason.
        test: Id,
        /// Why.
        why: RetestWhy,
    },
    /// Visit: a past rating was wrong. Adds a second judgement; the frozen one stays.
    MarkingCorrected {
        /// The test.
        test: Id,
        /// What should have judged it.
        marking: Arc<Marking>,
        /// Attachment with the reason.
        reason: Hash,
    },
    /// Something a newer app wrote. Kept, passed on, shown as "needs a newer app". Never written by this app.
    Newer {
        /// The type it names.
        name: String,
    },
}

impl Body {
    /// The type it is written under.
    pub fn name(&self) -> String {
        self.to_value().get("type").and_then(Value::as_str).unwrap_or_default().to_string()
    }

    /// Reads the body out of an entry of format `v`; what this app does not understand becomes [`Body::Newer`].
    pub fn read(v: i64, entry: &Value) -> Body {
        let known = (v <= FORMAT).then(|| Body::from_value(&super::lift::lift(v, entry))).flatten();
        known.unwrap_or_else(|| Body::Newer {
            name: entry.get("type").and_then(Value::as_str).unwrap_or_default().to_string(),
        })
    }
}
