//! How hashes, bodies and the opening of a session are written to JSON. Fields and names are never renamed.

use super::Id;
use super::body::{
    AgainWhy, Area, Body, Circuit, Disposition, Edit, Ending, Fault, FrozenDetector, FrozenHead, Person, Point,
    Presence, RampStart, RuleSet, Site, Started, Told, Watcher, What,
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
    AtUpper = "at_upper",
    HeadOff = "head_off",
    HeadOn = "head_on",
    Reset = "reset",
    PanelReset = "panel_reset"
});
names!(Ending {
    Done = "done",
    Enough = "enough",
    DidNotOperate = "did_not_operate",
    StaysInAlarm = "stays_in_alarm",
    HeadTrouble = "head_trouble",
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
names!(AgainWhy {
    MissingTrip = "missing_trip",
    UnlikeNeighbours = "unlike_neighbours",
    NotFinished = "not_finished",
    Wanted = "wanted"
});

fields!(FrozenHead { of, name, heating, metrology, setting, mode; curve });
fields!(FrozenDetector { of, place, marking, duty, marked_by });
fields!(Started {
    run,
    follows,
    detector,
    head,
    procedure,
    seen_by,
    display_read,
    ambient,
    air,
    head_warmth,
    detector_warmth,
    visual
});
fields!(RampStart { ramp, head, detector, ambient, head_warmth, by });

tagged!(Body by "type" {
    Site = "site" (edit),
    Area = "area" (edit),
    Circuit = "circuit" (edit),
    DetectorPlace = "detector_place" (edit),
    DetectorMarking = "detector_marking" (edit),
    DetectorDuty = "detector_duty" (edit),
    DetectorPresence = "detector_presence" (edit),
    HeadName = "head_name" (edit),
    HeadHeating = "head_heating" (edit),
    HeadMetrology = "head_metrology" (edit),
    Procedure = "procedure" (edit),
    Person = "person" (edit),
    RuleSet = "rule_set" (edit),
    RampStarted = "ramp_started" (started),
    RampEnded = "ramp_ended" { ramp, usable },
    RoundOpened = "round_opened" { site },
    RoundClosed = "round_closed" {},
    WatcherTold = "watcher_told" { whom, when, by },
    OutOfService = "out_of_service" { circuit },
    BackInService = "back_in_service" { ends },
    Secured = "secured" { release, by },
    Restored = "restored" { ends, by },
    PermitTaken = "permit_taken" { area, number, gas_test, tested_at, until },
    LookedAt = "looked_at" { detector, visual },
    RunStarted = "run_started" (started),
    Mark = "mark" { run, what },
    ReadingTaken = "reading_taken" { run, reading, trip },
    ReadingStands = "reading_stands" { reading },
    PanelPoint = "panel_point" { trip, point, said },
    Noted = "noted" { about, note },
    Undone = "undone" { target },
    Moved = "moved" { mark, to_session, to_mono },
    ClockGap = "clock_gap" { wall_ms, mono_ms, hidden },
    ClockAnswered = "clock_answered" { gap, asleep },
    RunEnded = "run_ended" { run, how },
    RunTakenOver = "run_taken_over" { run, last },
    DeficiencyFound = "deficiency_found" { detector, run, fault, note },
    DeficiencyDisposed = "deficiency_disposed" { deficiency, how, note },
    LookAgain = "look_again" { detector, run, why },
    MarkingCorrected = "marking_corrected" { run, marking, reason }
} never Newer);
