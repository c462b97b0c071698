//! How the trade's facts, and the readings in them, are written to JSON, and what each field may hold. Fields and names are never
//! renamed.

use super::classified::{Classification, Gas, GasReading};
use super::conditions::{Air, IndicatedBy, Indication, ItemClass, RateAnswer, Restores, Visual, Warmth};
use super::detector::{
    Access, Agreed, AreaConditions, Duty, LimitsFrom, Make, Marking, Place, RateFunction, Reach, Status, WalkingOrder,
};
use super::detector_type::{Class, DetectorType, Suffix};
use super::fields::{AMBIENT, Kind, LINE, RATING, TEMPERATURE, TOLERANCE, described, facts};
use super::heater::{Basis, Cycle, HeaterName, Heating, Metrology};
use super::procedure::{NumbersFrom, OwnLimits, Procedure, ProcedureKind};
use crate::encoding::stored::{Named, Stored, fields, names, tagged};
use crate::units::{Decimal, Degree, Difference, Length, LengthUnit, Mono, Reading, Wall};
use serde_json::Value;

// `units` stands on nothing, `encoding` included, so that a reading's form is given here.
names!(Degree { C = "C", F = "F" });
fields!(Reading { value, scale, unit });
fields!(Difference { value, scale, unit });
fields!(Decimal { value, scale });
names!(LengthUnit { Ft = "ft", M = "m" });
fields!(Length { value, scale, unit });

/// Times are written as their ms.
macro_rules! in_ms {
    ($($time:ident),*) => {$(
        impl Stored for $time {
            fn to_value(&self) -> Value {
                self.0.to_value()
            }

            fn from_value(value: &Value) -> Option<$time> {
                i64::from_value(value).map($time)
            }
        }
    )*};
}

in_ms!(Wall, Mono);

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

described!(Classification { class: Kind::Line, division: Kind::Line, group: Kind::Line, temperature_code: Kind::Line });
names!(Gas { Lel = "lel", Oxygen = "oxygen" });
fields!(GasReading { gas, percent });

described!(Place {
    tag: Kind::Name,
    area: Kind::Thing,
    circuit: Kind::Thing,
    point: Kind::Line,
    panel_text: Kind::Line,
    location: Kind::Line,
    customer_id: Kind::Line
});
names!(Reach {
    Floor = "floor",
    Ladder = "ladder",
    ScissorLift = "scissor_lift",
    BoomLift = "boom_lift",
    Scaffold = "scaffold"
});
described!(Access { reach: Kind::OneOf(Reach::NAMES), height: Kind::Height, hazard: Kind::Line; shutdown: Kind::Flag });
described!(Duty { releases: Kind::List(&Kind::Name), monitored: Kind::Flag; classified: Kind::Flag });
fields!(Status { ; retired, provisional });
fields!(WalkingOrder { number });
names!(LimitsFrom { Marking = "marking", Owner = "owner" });
described!(Agreed { by: Kind::Attached(LINE), on: Kind::Day });
names!(RateFunction { On = "on", Off = "off" });
described!(Marking {
    detector_type: Kind::OneOf(DetectorType::NAMES),
    rating: Kind::Temperature(RATING.0, RATING.1),
    minus: Kind::Difference(-TOLERANCE, 0.0),
    plus: Kind::Difference(0.0, TOLERANCE),
    limits_from: Kind::OneOf(LimitsFrom::NAMES),
    agreed: Kind::Shape(Agreed::FACTS),
    class: Kind::OneOf(Class::NAMES),
    suffix: Kind::OneOf(Suffix::NAMES),
    rate_function: Kind::OneOf(RateFunction::NAMES)
});
described!(Make {
    model: Kind::Line,
    serial: Kind::Line,
    date_code: Kind::Line,
    installed_on: Kind::Day,
    replace_by: Kind::Day
});
described!(AreaConditions {
    ceiling: Kind::Temperature(AMBIENT.0, AMBIENT.1),
    classification: Kind::Shape(Classification::FACTS)
});

tagged!(Cycle by "control" {
    Auto = "auto" { heat_up_cold_ms, heat_up_again_ms, hold_first_ms, hold_again_ms, off_ms },
    Manual = "manual" { heat_up_cold_ms, heat_up_again_ms }
});
// One description for both: which times there are follows from `control`.
facts!(Cycle {
    control: Kind::OneOf(&["auto", "manual"]),
    heat_up_cold_ms: Kind::Seconds(1, 3_600),
    heat_up_again_ms: Kind::Seconds(1, 3_600),
    hold_first_ms: Kind::Seconds(1, 3_600),
    hold_again_ms: Kind::Seconds(0, 3_600),
    off_ms: Kind::Seconds(1, 3_600)
});
names!(Basis { Listed = "listed", DetectorInstructions = "detector_instructions", Neither = "neither" });
described!(HeaterName {
    name: Kind::Name,
    serial: Kind::Line,
    basis: Kind::OneOf(Basis::NAMES),
    approval: Kind::Shape(Classification::FACTS)
});
described!(Heating {
    settings: Kind::List(&Kind::Temperature(TEMPERATURE.0, TEMPERATURE.1)),
    overshoot: Kind::Difference(0.0, 30.0),
    cycle: Kind::Shape(Cycle::FACTS),
    resolution: Kind::Difference(0.01, 10.0),
    lamp: Kind::Line,
    timeout_ms: Kind::Seconds(1, 86_400);
    modes: Kind::List(&Kind::Name)
});
described!(Metrology {
    calibration_u: Kind::Uncertainty(20.0),
    certificate: Kind::Line,
    due: Kind::Day,
    fit_u: Kind::Uncertainty(20.0),
    fit_from: Kind::Line
});

names!(ProcedureKind { Functional = "functional", SetPoint = "set_point" });
names!(NumbersFrom { Heater = "heater", DetectorInstructions = "detector_instructions", Owner = "owner" });
described!(OwnLimits {
    minus: Kind::Difference(-TOLERANCE, 0.0),
    plus: Kind::Difference(0.0, TOLERANCE),
    agreed: Kind::Shape(Agreed::FACTS)
});
described!(Procedure {
    name: Kind::Name,
    kind: Kind::OneOf(ProcedureKind::NAMES),
    trips: Kind::Whole(1, 20, "trips"),
    not_averaged: Kind::Whole(0, 19, "trips"),
    soak_ms: Kind::Seconds(1, 3_600),
    off_ms: Kind::Seconds(1, 3_600),
    extra_trips: Kind::Whole(0, 10, "trips"),
    limits: Kind::Shape(OwnLimits::FACTS),
    numbers_from: Kind::OneOf(NumbersFrom::NAMES)
});

names!(IndicatedBy { OwnLamp = "own_lamp", Meter = "meter", WalkTest = "walk_test", Partner = "partner" });
names!(Restores { Watched = "watched", NotWatched = "not_watched", CannotBeSeen = "cannot_be_seen" });
described!(Indication {
    by: Kind::OneOf(IndicatedBy::NAMES),
    latching: Kind::Flag,
    verification: Kind::Flag,
    lag_ms: Kind::Whole(100, 120_000, "ms"),
    lag_u_ms: Kind::Whole(100, 120_000, "ms"),
    restores: Kind::OneOf(Restores::NAMES)
});
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
