//! How the trade's facts, and the readings in them, are written to JSON. Fields and names are never renamed.

use super::detector::{Duty, LimitsFrom, Marking, Place};
use super::head::{Basis, Cycle, HeadName, Heating, Metrology};
use super::kind::{Class, Kind, Suffix};
use super::procedure::{OwnLimits, Procedure, Template};
use super::seen::{Air, Resets, SeenBy, Sign, Visual, Warmth};
use crate::encoding::stored::{fields, names, tagged};
use crate::units::{Degree, Difference, Reading};

// `units` stands on nothing, `encoding` included, so that a reading's form is given here.
names!(Degree { C = "C", F = "F" });
fields!(Reading { value, scale, unit });
fields!(Difference { value, scale, unit });

names!(Kind {
    RateCompensated = "rate_compensated",
    FixedRestorable = "fixed_restorable",
    FixedNonrestorable = "fixed_nonrestorable",
    RateOfRise = "rate_of_rise",
    CombinationRestorable = "combination_restorable",
    CombinationNonrestorable = "combination_nonrestorable",
    Electronic = "electronic"
});
names!(Class { A1 = "A1", A2 = "A2", B = "B", C = "C", D = "D", E = "E", F = "F", G = "G" });
names!(Suffix { R = "R", S = "S" });

fields!(Place { tag, area, circuit, address, label });
names!(LimitsFrom { Marking = "marking", Owner = "owner" });
fields!(Marking { kind, rating, minus, plus, limits_from, class, suffix });
fields!(Duty { hazard, installed_on; releases, classified });

tagged!(Cycle by "drive" {
    ByItself = "by_itself" { climb_cold_ms, climb_again_ms, hold_first_ms, hold_again_ms, off_ms },
    ByHand = "by_hand" { climb_cold_ms, climb_again_ms }
});
names!(Basis { Listed = "listed", DetectorInstructions = "detector_instructions", Neither = "neither" });
fields!(HeadName { name, serial, basis, hazardous_approval });
fields!(Heating { settings, above, cycle, resolution, lamp, timeout_ms; modes });
fields!(Metrology { calibration_u, certificate, due, coupling_u });

names!(Template { SetPoint = "set_point", Response = "response" });
fields!(OwnLimits { minus, plus });
fields!(Procedure { name, template, trips, uncounted, soak_ms, off_ms, appended_at_most, limits, confirmed });

names!(Sign { OwnLamp = "own_lamp", Meter = "meter", WalkTest = "walk_test", Person = "person" });
names!(Resets { Watched = "watched", NotWatched = "not_watched", CannotBeSeen = "cannot_be_seen" });
fields!(SeenBy { sign, latching, verification, delay_ms, delay_u_ms, resets });
names!(Air { Still = "still", Moving = "moving" });
names!(Warmth { Cold = "cold", Warm = "warm", Hot = "hot" });
names!(Visual {
    Good = "good",
    Damaged = "damaged",
    Covered = "covered",
    Obstructed = "obstructed",
    NotDone = "not_done"
});
