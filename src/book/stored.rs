//! How hashes, bodies and the opening of a session are written to JSON. Fields and names are never renamed.

use super::Id;
use super::body::{
    Area, Body, Circuit, Disposition, Edit, Ending, Fault, FrozenDetector, FrozenHeater, Person, Point, Presence,
    ProfileRunStart, RetestWhy, RuleSet, Site, Started, Told, Watcher, What,
};
use super::entry::{Hash, Opens};
use crate::encoding::stored::{self, Object, Stored, fields, names, tagged};
use serde_json::Value;

impl Stored for Hash {
    fn to_value(&self) -> Value {
        Value::String(self.to_string())
    }

    fn from_value(value: &Value) -> Option<Hash> {
        value.as_str()?.parse().ok()
    }
}

impl<T: Stored> Stored for Edit<T> {
    fn to_value(&self) -> Value {
        write_edit(&self.of, &self.replaces, self.now.to_value())
    }

    fn from_value(value: &Value) -> Option<Edit<T>> {
        let (of, replaces, now) = read_edit(value)?;
        Some(Edit::new(of, replaces, T::from_value(now)?))
    }
}

// The part of an edit that is the same for every group of fields, so that it stands in the app once.
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

fields!(Opens { app, zone, offset, who });

fields!(Site { name, address; invented });
fields!(Area { site, name });
fields!(Circuit { site, name, tells_apart });
fields!(Presence { retired });
fields!(Person { name });
fields!(RuleSet { name, sentence, source });

names!(Watcher {
    SupervisingStation = "supervising_station",
    Occupants = "occupants",
    Owner = "owner",
    FireService = "fire_service"
});
names!(Told { Before = "before", After = "after" });
names!(Point { Right = "right", Wrong = "wrong", NotSeen = "not_seen" });
names!(What {
    HeatOn = "heat_on",
    Tripped = "tripped",
    AtTop = "at_top",
    HeaterOff = "heater_off",
    HeaterOn = "heater_on",
    Restore = "restore",
    PanelReset = "panel_reset"
});
names!(Ending {
    Done = "done",
    Enough = "enough",
    DidNotOperate = "did_not_operate",
    StaysInAlarm = "stays_in_alarm",
    HeaterTrouble = "heater_trouble",
    DetectorTrouble = "detector_trouble",
    SiteAsked = "site_asked",
    Mistake = "mistake"
});
names!(Fault {
    DidNotOperate = "did_not_operate",
    StaysInAlarm = "stays_in_alarm",
    WrongPoint = "wrong_point",
    Visual = "visual",
    OutsideLimits = "outside_limits",
    Other = "other"
});
names!(Disposition {
    OwnerNotified = "owner_notified",
    Corrected = "corrected",
    Replaced = "replaced",
    Abandoned = "abandoned"
});
names!(RetestWhy {
    MissingTrip = "missing_trip",
    UnlikeNeighbours = "unlike_neighbours",
    NotFinished = "not_finished",
    Wanted = "wanted"
});

fields!(FrozenHeater { of, name, heating, metrology, setting, mode; profile });
fields!(FrozenDetector { of, place, marking, duty, marked_by });
fields!(Started {
    test,
    follows,
    detector,
    heater,
    procedure,
    indication,
    display_read,
    ambient,
    air,
    heater_warmth,
    detector_warmth,
    visual
});
fields!(ProfileRunStart { profile_run, heater, detector, ambient, heater_warmth, by });

tagged!(Body by "type" {
    Site = "site" (edit),
    Area = "area" (edit),
    Circuit = "circuit" (edit),
    DetectorPlace = "detector_place" (edit),
    DetectorMarking = "detector_marking" (edit),
    DetectorDuty = "detector_duty" (edit),
    DetectorPresence = "detector_presence" (edit),
    HeaterName = "heater_name" (edit),
    HeaterHeating = "heater_heating" (edit),
    HeaterMetrology = "heater_metrology" (edit),
    Procedure = "procedure" (edit),
    Person = "person" (edit),
    RuleSet = "rule_set" (edit),
    ProfileRunStarted = "profile_run_started" (started),
    ProfileRunEnded = "profile_run_ended" { profile_run, usable },
    VisitOpened = "visit_opened" { site },
    VisitClosed = "visit_closed" {},
    WatcherTold = "watcher_told" { whom, when, by },
    OutOfService = "out_of_service" { circuit },
    BackInService = "back_in_service" { ends },
    Secured = "secured" { release, by },
    Restored = "restored" { ends, by },
    PermitTaken = "permit_taken" { area, number, gas_test, tested_at, until },
    LookedAt = "looked_at" { detector, visual },
    TestStarted = "test_started" (started),
    Mark = "mark" { test, what },
    ReadingTaken = "reading_taken" { test, reading, trip },
    ReadingStands = "reading_stands" { reading },
    PanelPoint = "panel_point" { trip, point, said },
    Noted = "noted" { about, note },
    Undone = "undone" { target },
    Moved = "moved" { mark, to_session, to_mono },
    ClockGap = "clock_gap" { wall_ms, mono_ms, hidden },
    ClockAnswered = "clock_answered" { gap, asleep },
    TestEnded = "test_ended" { test, how },
    TestTakenOver = "test_taken_over" { test, last },
    DeficiencyFound = "deficiency_found" { detector, test, fault, note },
    DeficiencyDisposed = "deficiency_disposed" { deficiency, how, note },
    Retest = "retest" { detector, test, why },
    MarkingCorrected = "marking_corrected" { test, marking, reason }
} never Newer);
