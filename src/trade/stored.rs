//! How the trade's facts, and the readings in them, are written to JSON. Fields and names are never renamed.

use super::conditions::{Air, IndicatedBy, Indication, Restores, Visual, Warmth};
use super::detector::{Duty, LimitsFrom, Marking, Place};
use super::detector_type::{Class, DetectorType, Suffix};
use super::heater::{Basis, Cycle, HeaterName, Heating, Metrology};
use super::procedure::{OwnLimits, Procedure, Template};
use crate::encoding::stored::{fields, names, tagged};
use crate::units::{Degree, Difference, Reading};

// `units` stands on nothing, `encoding` included, so that a reading's form is given here.
names!(Degree { C = "C", F = "F" });
fields!(Reading { value, scale, unit });
fields!(Difference { value, scale, unit });

names!(DetectorType {
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
fields!(Marking { detector_type, rating, minus, plus, limits_from, class, suffix });
fields!(Duty { hazard, installed_on; releases, classified });

tagged!(Cycle by "drive" {
    ByItself = "by_itself" { heat_up_cold_ms, heat_up_again_ms, hold_first_ms, hold_again_ms, off_ms },
    ByHand = "by_hand" { heat_up_cold_ms, heat_up_again_ms }
});
names!(Basis { Listed = "listed", DetectorInstructions = "detector_instructions", Neither = "neither" });
fields!(HeaterName { name, serial, basis, hazardous_approval });
fields!(Heating { settings, above, cycle, resolution, lamp, timeout_ms; modes });
fields!(Metrology { calibration_u, certificate, due, fit_u });

names!(Template { SetPoint = "set_point", Functional = "functional" });
fields!(OwnLimits { minus, plus });
fields!(Procedure { name, template, trips, uncounted, soak_ms, off_ms, appended_at_most, limits, confirmed });

names!(IndicatedBy { OwnLamp = "own_lamp", Meter = "meter", WalkTest = "walk_test", Person = "person" });
names!(Restores { Watched = "watched", NotWatched = "not_watched", CannotBeSeen = "cannot_be_seen" });
fields!(Indication { by, latching, verification, lag_ms, lag_u_ms, restores });
names!(Air { Still = "still", Moving = "moving" });
names!(Warmth { Cold = "cold", Warm = "warm", Hot = "hot" });
names!(Visual {
    Good = "good",
    Damaged = "damaged",
    Covered = "covered",
    Obstructed = "obstructed",
    NotDone = "not_done"
});
