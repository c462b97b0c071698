//! How bodies, decisions and the opening of a session are written to JSON; what people fill in is in `described`. Fields and names
//! are never renamed.

use super::Id;
use super::acts::*;
use super::body::Body;
use super::chain::{ChainEnd, DecisionId, Opens};
use super::off::*;
use super::snapshot::{DetectorSnapshot, HeaterSnapshot, PositionSnapshot};
use super::things::*;
use super::work::*;
use crate::encoding::Hash;
use crate::encoding::stored::{self, Object, Stored, fields, names, tagged};
use serde_json::Value;

impl<T: Stored> Stored for Edit<T> {
    fn to_value(&self) -> Value {
        write_edit(&self.of, &self.replaces, self.now.to_value())
    }

    fn from_value(value: &Value) -> Option<Edit<T>> {
        let (of, replaces, now) = read_edit(value)?;
        Some(Edit::new(of, replaces, T::from_value(now)?))
    }
}

// The part of an edit that is the same for every group of fields, compiled once.
fn write_edit(of: &Id, replaces: &Vec<Hash>, now: Value) -> Value {
    let mut object = Object::new();
    stored::put(&mut object, "of", of.to_value());
    stored::put_unless_empty(&mut object, "replaces", replaces.to_value());
    stored::put(&mut object, "now", now);
    Value::Object(object)
}

fn read_edit(value: &Value) -> Option<(Id, Vec<Hash>, &Value)> {
    let object = value.as_object()?;
    Some((stored::take(object, "of")?, stored::take_or_empty(object, "replaces")?, stored::field(object, "now")))
}

/// A text that is an id or a hash: they differ in length.
macro_rules! id_or_hash {
    ($type:ident { $id:ident, $hash:ident }) => {
        impl Stored for $type {
            fn to_value(&self) -> Value {
                match self {
                    $type::$id(id) => id.to_value(),
                    $type::$hash(hash) => hash.to_value(),
                }
            }

            fn from_value(value: &Value) -> Option<$type> {
                let hash = Hash::from_value(value).map($type::$hash);
                hash.or_else(|| Id::from_value(value).map($type::$id))
            }
        }
    };
}

id_or_hash!(Who { Person, Named });
id_or_hash!(PhoneRef { Phone, Invited });
id_or_hash!(About { Thing, Act });

fields!(Opens { app, zone, offset, who });
fields!(DecisionId { phone, session, decision });
fields!(ChainEnd { scope, phone, count, last });

impl Stored for OtherClock {
    fn to_value(&self) -> Value {
        match self {
            OtherClock::Panel => PANEL.into(),
            OtherClock::Phone(phone) => phone.to_value(),
        }
    }

    fn from_value(value: &Value) -> Option<OtherClock> {
        match value.as_str()? {
            PANEL => Some(OtherClock::Panel),
            _ => Id::from_value(value).map(OtherClock::Phone),
        }
    }
}

/// The name of the panel's clock; a phone's clock has the phone's id.
const PANEL: &str = "panel";

names!(Precision { Second = "second", Minute = "minute", Hour = "hour", Day = "day" });
fields!(Happened { at, offset, precision });

names!(RuleExcept { Addressable = "addressable", Releasing = "releasing" });
names!(RuleCheck { Functional = "functional", Visual = "visual", ReplaceOrSample = "replace_or_sample" });
fields!(SheetColumn { header, field, unit });
fields!(SheetColumns { columns });
names!(VisitType {
    Functional = "functional",
    SetPoint = "set_point",
    VisualOnly = "visual_only",
    Reacceptance = "reacceptance",
    Acceptance = "acceptance"
});

names!(Whom {
    Owner = "owner",
    SupervisingStation = "supervising_station",
    Occupants = "occupants",
    ControlRoom = "control_room",
    FireDepartment = "fire_department",
    Authority = "authority",
    Insurer = "insurer",
    ProcessSystems = "process_systems",
    Other = "other"
});
names!(NotifyWhen { Before = "before", After = "after" });
names!(NotifyAnswer {
    Notified = "notified",
    NotRequired = "not_required",
    NotMonitored = "not_monitored",
    GoAheadWithout = "go_ahead_without"
});
names!(PanelWhen { Found = "found", Between = "between", Left = "left" });
names!(ImpairedWhat { Whole = "whole", Circuit = "circuit", Zone = "zone", Output = "output" });
names!(FireWatch { Posted = "posted", NotRequired = "not_required" });
names!(NotOurs { Alarm = "alarm", OutputMoved = "output_moved" });
names!(Point { Right = "right", Wrong = "wrong", NotThere = "not_there", NotChecked = "not_checked" });
names!(Outputs { Stayed = "stayed", Moved = "moved", None = "none" });
names!(StationSaw {
    Received = "received",
    OnTest = "on_test",
    Nothing = "nothing",
    NotChecked = "not_checked"
});
names!(What {
    HeatOn = "heat_on",
    Tripped = "tripped",
    AtTop = "at_top",
    HeaterOff = "heater_off",
    HeaterOn = "heater_on",
    Restored = "restored",
    PanelReset = "panel_reset",
    Lowered = "lowered"
});
names!(Answer { Yes = "yes", No = "no", NotChecked = "not_checked" });
names!(Ending {
    Done = "done",
    StoppedEarly = "stopped_early",
    NoTrip = "no_trip",
    StaysInAlarm = "stays_in_alarm",
    HeaterProblem = "heater_problem",
    DetectorProblem = "detector_problem",
    SiteRequest = "site_request",
    AlarmNotOurs = "alarm_not_ours",
    Mistake = "mistake"
});
names!(NotTestedWhy {
    NotAccessible = "not_accessible",
    Obstructed = "obstructed",
    ProcessRunning = "process_running",
    Unsafe = "unsafe",
    NotAllowed = "not_allowed",
    Nonrestorable = "nonrestorable",
    OutOfTime = "out_of_time",
    Other = "other"
});
names!(Method {
    WarmAir = "warm_air",
    DetectorInstructions = "detector_instructions",
    Laboratory = "laboratory",
    Electrical = "electrical",
    Other = "other"
});
names!(RetestWhy {
    MissingTrip = "missing_trip",
    UnlikeArea = "unlike_area",
    NotFinished = "not_finished",
    Requested = "requested"
});
names!(ItemWhat {
    OperationNotProven = "operation_not_proven",
    StaysInAlarm = "stays_in_alarm",
    WrongPoint = "wrong_point",
    NotAtPanel = "not_at_panel",
    Visual = "visual",
    OutsideLimits = "outside_limits",
    SwappedPoints = "swapped_points",
    Removed = "removed",
    Other = "other"
});
names!(ItemClosed {
    RepairedAndTested = "repaired_and_tested",
    ReplacedAndTested = "replaced_and_tested",
    PassedLater = "passed_later",
    LeftDisabled = "left_disabled",
    Accepted = "accepted",
    Withdrawn = "withdrawn"
});
names!(Work {
    Cleaned = "cleaned",
    Refitted = "refitted",
    Wiring = "wiring",
    Programming = "programming",
    Other = "other"
});
names!(RemovedWhy {
    Failed = "failed",
    Age = "age",
    WrongType = "wrong_type",
    Sample = "sample",
    PositionGone = "position_gone",
    Other = "other"
});
names!(ClockOf { Panel = "panel", Phone = "phone" });
names!(BreakKind { Day = "day", Night = "night" });
fields!(BreakItem { off, left_off_by; put_back });
names!(CheckWhen { Start = "start", End = "end", AfterDrop = "after_drop", Between = "between" });
fields!(HeaterCheck { heater, setting, shown, reference, reference_u, instrument, when, by, happened });
names!(Signer { Tester = "tester", Owner = "owner", Authority = "authority" });
names!(Signed { Drawn = "drawn", Typed = "typed", Declined = "declined", Absent = "absent" });
fields!(Signature { signer, how, name, drawn, note, digest, covers, happened });
names!(DeliveredWhat {
    VisitFile = "visit_file",
    Register = "register",
    Everything = "everything",
    Record = "record",
    Notice = "notice",
    Results = "results"
});
names!(DeliveredHow { Shared = "shared", Downloaded = "downloaded", Uploaded = "uploaded" });
fields!(Delivered { what, how, to, digest, covers, happened });
names!(SampleWhy { Reacceptance = "reacceptance", Due = "due", Requested = "requested" });

fields!(Removal { detector, ends, why, happened });
fields!(Attendance { person, name, firm, license, contact });
fields!(Sample { why, from, seed, drawn });
fields!(OtherAlarm { what, by, note, happened });

fields!(Amendment { amends, why, by });
fields!(HeaterSnapshot { of, name, heating, metrology, setting, mode; profile });
fields!(PositionSnapshot { of, place, duty });
fields!(DetectorSnapshot { of, marking, marked_by, make });

tagged!(Body by "type" {
    Site = "site" (edit),
    SiteRules = "site_rules" (edit),
    Area = "area" (edit),
    AreaConditions = "area_conditions" (edit),
    Circuit = "circuit" (edit),
    PositionPlace = "position_place" (edit),
    PositionAccess = "position_access" (edit),
    PositionDuty = "position_duty" (edit),
    PositionStatus = "position_status" (edit),
    PositionOrder = "position_order" (edit),
    DetectorMarking = "detector_marking" (edit),
    DetectorMake = "detector_make" (edit),
    DetectorInstalled = "detector_installed" { detector, position, happened },
    DetectorRemoved = "detector_removed" (of),
    SheetColumns = "sheet_columns" (edit),
    RowsImported = "rows_imported" { import, part, rows },
    ImportCommitted = "import_committed" { import, parts, rows },
    HeaterName = "heater_name" (edit),
    HeaterHeating = "heater_heating" (edit),
    HeaterMetrology = "heater_metrology" (edit),
    HeaterChecked = "heater_checked" (of),
    Procedure = "procedure" (edit),
    Person = "person" (edit),
    PhoneName = "phone_name" (edit),
    PhoneHanded = "phone_handed" { to },
    RuleSet = "rule_set" (edit),
    ProfileRunStarted = "profile_run_started" (of),
    ProfileRunEnded = "profile_run_ended" { run, usable },
    VisitOpened = "visit_opened" { site },
    VisitJoined = "visit_joined" { site, invitation },
    VisitPlan = "visit_plan" (edit),
    Attended = "attended" (of),
    PositionsPlanned = "positions_planned" (of),
    SampleDrawn = "sample_drawn" (of),
    PhoneInvited = "phone_invited" { name },
    PhoneExcused = "phone_excused" (of),
    AreaAssigned = "area_assigned" { area, to },
    Notified = "notified" (of),
    PanelState = "panel_state" (of),
    ClockOffset = "clock_offset" (of),
    Impaired = "impaired" (of),
    Secured = "secured" (of),
    PairOpened = "pair_opened" (of),
    Restored = "restored" (of),
    PermitTaken = "permit_taken" (of),
    ApprovalHeld = "approval_held" (of),
    AlarmNotOurs = "alarm_not_ours" (of),
    AlarmCleared = "alarm_cleared" (of),
    CircuitProved = "circuit_proved" (of),
    LiftChecked = "lift_checked" (of),
    BreakStarted = "break_started" { kind, items, happened },
    BreakEnded = "break_ended" { ends, happened },
    LeftOff = "left_off" (of),
    VisualCheck = "visual_check" (of),
    TestStarted = "test_started" (of),
    Mark = "mark" { of, what },
    MarkStruck = "mark_struck" { mark, why },
    ReadingTaken = "reading_taken" { of, reading, trip },
    ReadingCorrected = "reading_corrected" (of),
    ReadingConfirmed = "reading_confirmed" { reading },
    EarlyTripAnswered = "early_trip_answered" { trip, this_detector, by },
    PanelPoint = "panel_point" { trip, point, said },
    RestoreSaid = "restore_said" (of),
    TestEnded = "test_ended" { test, how },
    TestTakenOver = "test_taken_over" { test, last },
    TestJudged = "test_judged" { test, did_not_operate, by, note },
    MarkingCorrected = "marking_corrected" { test, marking, why },
    OtherMethod = "other_method" (of),
    NotTested = "not_tested" (of),
    RetestListed = "retest_listed" { position, test, why },
    PanelSaw = "panel_saw" (of),
    PanelSawAccepted = "panel_saw_accepted" { saw, trip },
    ItemFound = "item_found" (of),
    ItemClassed = "item_classed" { item, class, by },
    ItemTold = "item_told" (of),
    ItemClosed = "item_closed" (of),
    Repaired = "repaired" (of),
    Replaced = "replaced" (of),
    ProgrammingChanged = "programming_changed" (of),
    VisitClosed = "visit_closed" { covers },
    VisitReopened = "visit_reopened" (of),
    Signature = "signature" (of),
    Amended = "amended" (of),
    Delivered = "delivered" (of),
    Noted = "noted" { about, note },
    Photo = "photo" (of),
    Undone = "undone" { undoes },
    Moved = "moved" { mark, to_session, to_mono },
    ClockGap = "clock_gap" { wall_ms, mono_ms, hidden },
    ClockAnswered = "clock_answered" { gap, asleep }
} never Newer);
