//! What an entry can say. Facts with units, never results. Variants are added, never changed.
//!
#![doc = include_str!("FORMAT.md")]

use super::Id;
pub use super::acts::*;
use super::chain::{ChainEnd, DecisionId, FORMAT};
pub use super::off::*;
pub use super::snapshot::{DetectorSnapshot, HeaterSnapshot, PositionSnapshot, ProfileRunStart, TestStart};
pub use super::things::*;
pub use super::work::*;
use crate::encoding::stored::Tagged;
use crate::encoding::{Hash, Stored};
use crate::trade::conditions::ItemClass;
use crate::trade::detector::{Access, AreaConditions, Duty, Make, Marking, Place, Status, WalkingOrder};
use crate::trade::heater::{HeaterName, Heating, Metrology};
use crate::trade::procedure::Procedure;
use crate::units::{Mono, Reading};
use serde_json::Value;
use std::sync::Arc;

/// What an entry says.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs, reason = "what the fields of an entry are is told by `FORMAT.md`")]
pub enum Body {
    // Register, one site's.
    Site(Edit<Site>),
    SiteRules(Edit<SiteRules>),
    Area(Edit<Area>),
    AreaConditions(Edit<AreaConditions>),
    Circuit(Edit<Circuit>),
    PositionPlace(Edit<Place>),
    PositionAccess(Edit<Access>),
    PositionDuty(Edit<Duty>),
    PositionStatus(Edit<Status>),
    PositionOrder(Edit<WalkingOrder>),
    DetectorMarking(Edit<Marking>),
    DetectorMake(Edit<Make>),
    DetectorInstalled {
        detector: Id,
        position: Id,
        happened: Option<Happened>,
    },
    DetectorRemoved(Arc<Removal>),
    SheetColumns(Edit<SheetColumns>),
    RowsImported {
        import: Id,
        part: u32,
        rows: Arc<Vec<Body>>,
    },
    ImportCommitted {
        import: Id,
        parts: u32,
        rows: u32,
    },

    // Kit, one phone's.
    HeaterName(Edit<HeaterName>),
    HeaterHeating(Edit<Heating>),
    HeaterMetrology(Edit<Metrology>),
    HeaterChecked(Arc<HeaterCheck>),
    Procedure(Edit<Procedure>),
    Person(Edit<Person>),
    PhoneName(Edit<PhoneName>),
    PhoneHanded {
        to: Id,
    },
    RuleSet(Edit<RuleSet>),
    ProfileRunStarted(Arc<ProfileRunStart>),
    ProfileRunEnded {
        run: Id,
        usable: bool,
    },

    // Visit: who, what for, where from.
    VisitOpened {
        site: Id,
    },
    VisitJoined {
        site: Id,
        invitation: Option<Hash>,
    },
    VisitPlan(Edit<VisitPlan>),
    Attended(Arc<Attendance>),
    PositionsPlanned(Arc<PlannedPositions>),
    SampleDrawn(Arc<Sample>),
    PhoneInvited {
        name: Hash,
    },
    PhoneExcused(Arc<Excuse>),
    AreaAssigned {
        area: Id,
        to: PhoneRef,
    },

    // Visit: notices, panel, impairments, releases, permits.
    Notified(Arc<Notice>),
    PanelState(Arc<PanelState>),
    ClockOffset(Arc<ClockOffset>),
    Impaired(Arc<Impaired>),
    Secured(Arc<Secured>),
    PairOpened(Arc<OpenPair>),
    Restored(Arc<Restoring>),
    PermitTaken(Arc<Permit>),
    ApprovalHeld(Arc<HeldApproval>),
    AlarmNotOurs(Arc<OtherAlarm>),
    AlarmCleared(Arc<Clearing>),
    CircuitProved(Arc<CircuitProof>),
    LiftChecked(Arc<LiftCheck>),
    BreakStarted {
        kind: BreakKind,
        items: Vec<BreakItem>,
        happened: Happened,
    },
    BreakEnded {
        ends: Hash,
        happened: Happened,
    },
    LeftOff(Arc<LeavingOff>),

    // Visit: tests. Marks and readings in the kit belong to a profile run.
    VisualCheck(Arc<VisualCheck>),
    TestStarted(Arc<TestStart>),
    Mark {
        of: Id,
        what: What,
    },
    MarkStruck {
        mark: Hash,
        why: Option<Hash>,
    },
    ReadingTaken {
        of: Id,
        reading: Reading,
        trip: Option<Hash>,
    },
    ReadingCorrected(Arc<ReadingCorrection>),
    ReadingConfirmed {
        reading: Hash,
    },
    EarlyTripAnswered {
        trip: Hash,
        this_detector: bool,
        by: Id,
    },
    PanelPoint {
        trip: Hash,
        point: Point,
        said: Option<String>,
    },
    RestoreSaid(Arc<RestoreWord>),
    TestEnded {
        test: Id,
        how: Ending,
    },
    TestTakenOver {
        test: Id,
        last: Hash,
    },
    TestJudged {
        test: Id,
        did_not_operate: bool,
        by: Id,
        note: Option<Hash>,
    },
    MarkingCorrected {
        test: Id,
        marking: Arc<Marking>,
        why: Hash,
    },
    OtherMethod(Arc<OtherMethod>),
    NotTested(Arc<NotTested>),
    RetestListed {
        position: Id,
        test: Option<Id>,
        why: RetestWhy,
    },
    PanelSaw(Arc<PanelSighting>),
    PanelSawAccepted {
        saw: Hash,
        trip: Hash,
    },

    // Visit: items, work, the end.
    ItemFound(Arc<ItemFound>),
    ItemClassed {
        item: Hash,
        class: ItemClass,
        by: Id,
    },
    ItemTold(Arc<ItemTelling>),
    ItemClosed(Arc<ItemClosing>),
    Repaired(Arc<Repair>),
    Replaced(Arc<Replaced>),
    ProgrammingChanged(Arc<ProgrammingChange>),
    VisitClosed {
        covers: Vec<ChainEnd>,
    },
    VisitReopened(Arc<Reopening>),
    Signature(Arc<Signature>),
    Amended(Arc<Amendment>),

    // Anywhere.
    Delivered(Arc<Delivered>),
    Noted {
        about: About,
        note: Hash,
    },
    Photo(Arc<Photo>),
    Undone {
        undoes: DecisionId,
    },
    Moved {
        mark: Hash,
        to_session: Id,
        to_mono: Mono,
    },
    ClockGap {
        wall_ms: i64,
        mono_ms: i64,
        hidden: bool,
    },
    ClockAnswered {
        gap: Hash,
        asleep: bool,
    },

    /// Something a newer app wrote. Kept, passed on, shown as "needs a newer app". Never written by this app.
    Newer {
        name: String,
    },
}

impl Body {
    /// The type it is written under.
    pub fn name(&self) -> &str {
        match self {
            Body::Newer { name } => name,
            known => known.tag(),
        }
    }

    /// Reads the body out of an entry of format `v`; what this app does not understand becomes [`Body::Newer`].
    pub fn read(v: i64, entry: &Value) -> Body {
        let known = (v <= FORMAT).then(|| Body::from_value(&super::upcast::lift(v, entry))).flatten();
        known.unwrap_or_else(|| Body::Newer {
            name: entry.get("type").and_then(Value::as_str).unwrap_or_default().to_string(),
        })
    }
}
