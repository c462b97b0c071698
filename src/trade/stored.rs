//! How the trade's facts, and the readings in them, are written to JSON. Fields and names are never renamed.

use super::classified::{Classification, Gas, GasReading};
use super::conditions::{Air, IndicatedBy, Indication, ItemClass, RateAnswer, Restores, Visual, Warmth};
use super::detector::{
    Access, Agreed, AreaConditions, Duty, LimitsFrom, Make, Marking, Place, RateFunction, Reach, Status, WalkingOrder,
};
use super::detector_type::{Class, DetectorType, Suffix};
use super::heater::{Basis, Cycle, HeaterName, Heating, Metrology};
use super::procedure::{NumbersFrom, OwnLimits, Procedure, ProcedureKind};
use crate::encoding::stored::{fields, names, tagged};
use crate::units::{Decimal, Degree, Difference, Length, LengthUnit, Reading};

// `units` stands on nothing, `encoding` included, so that a reading's form is given here.
names!(Degree { C = "C", F = "F" });
fields!(Reading { value, scale, unit });
fields!(Difference { value, scale, unit });
fields!(Decimal { value, scale });
names!(LengthUnit { Ft = "ft", M = "m" });
fields!(Length { value, scale, unit });

names!(DetectorType {
    RateCompensated = "rate_compensated",
    FixedRestorable = "fixed_restorable",
    FixedNonrestorable = "fixed_nonrestorable",
    RateOfRise = "rate_of_rise",
    CombinationRestorable = "combination_restorable",
    CombinationNonrestorable = "combination_nonrestorable",
    Electronic = "electronic",
    Unknown = "unknown"
});
names!(Class { A1 = "A1", A2 = "A2", B = "B", C = "C", D = "D", E = "E", F = "F", G = "G" });
names!(Suffix { R = "R", S = "S" });

fields!(Classification { class, division, group, temperature_code });
names!(Gas { Lel = "lel", Oxygen = "oxygen" });
fields!(GasReading { gas, percent });

fields!(Place { tag, area, circuit, point, panel_text, location, customer_id });
names!(Reach {
    Floor = "floor",
    Ladder = "ladder",
    ScissorLift = "scissor_lift",
    BoomLift = "boom_lift",
    Scaffold = "scaffold"
});
fields!(Access { reach, height, hazard; shutdown });
fields!(Duty { releases, monitored; classified });
fields!(Status { ; retired, provisional });
fields!(WalkingOrder { number });
names!(LimitsFrom { Marking = "marking", Owner = "owner" });
fields!(Agreed { by, on });
names!(RateFunction { On = "on", Off = "off" });
fields!(Marking { detector_type, rating, minus, plus, limits_from, agreed, class, suffix, rate_function });
fields!(Make { model, serial, date_code, installed_on, replace_by });
fields!(AreaConditions { ceiling, classification });

tagged!(Cycle by "control" {
    Auto = "auto" { heat_up_cold_ms, heat_up_again_ms, hold_first_ms, hold_again_ms, off_ms },
    Manual = "manual" { heat_up_cold_ms, heat_up_again_ms }
});
names!(Basis { Listed = "listed", DetectorInstructions = "detector_instructions", Neither = "neither" });
fields!(HeaterName { name, serial, basis, approval });
fields!(Heating { settings, overshoot, cycle, resolution, lamp, timeout_ms; modes });
fields!(Metrology { calibration_u, certificate, due, fit_u, fit_from });

names!(ProcedureKind { Functional = "functional", SetPoint = "set_point" });
names!(NumbersFrom { Heater = "heater", DetectorInstructions = "detector_instructions", Owner = "owner" });
fields!(OwnLimits { minus, plus, agreed });
fields!(Procedure { name, kind, trips, not_averaged, soak_ms, off_ms, extra_trips, limits, numbers_from });

names!(IndicatedBy { OwnLamp = "own_lamp", Meter = "meter", WalkTest = "walk_test", Partner = "partner" });
names!(Restores { Watched = "watched", NotWatched = "not_watched", CannotBeSeen = "cannot_be_seen" });
fields!(Indication { by, latching, verification, lag_ms, lag_u_ms, restores });
names!(Air { Still = "still", Moving = "moving" });
names!(Warmth { Cold = "cold", Warm = "warm", Hot = "hot" });
names!(RateAnswer { Off = "off", HeaterSlower = "heater_slower" });
names!(ItemClass { Observation = "observation", Deficiency = "deficiency", Impairment = "impairment" });
names!(Visual {
    Missing = "missing",
    Loose = "loose",
    Damaged = "damaged",
    Corroded = "corroded",
    Painted = "painted",
    Dirty = "dirty",
    Obstructed = "obstructed",
    WrongPlace = "wrong_place",
    WrongRating = "wrong_rating"
});
