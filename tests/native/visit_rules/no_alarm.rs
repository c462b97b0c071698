//! When silence may be called "no alarm": 0.3 for an element that lags behind the heater, 0.4 for rate elements.

use super::*;
use soakbook::book::body::Ending;
use soakbook::book::body::What::{self, AtTop, HeaterOff, Lowered};
use soakbook::book::timeline::Timeline;
use soakbook::findings::{self, NotProven, Tripped};
use soakbook::trade::conditions::Warmth;
use soakbook::trade::detector_type::DetectorType;
use soakbook::trade::heating::{Heat, may_heat};
use soakbook::trade::procedure::{Procedure, ProcedureKind};
use soakbook::units::TestTime;

// The heater: 90 °C + 5 K = 95 °C at the top, less 2 · 0.3 K (calibration) and 2 · 0.4 K (fit): 93.6 °C is surely reached. The detector:
// rated 80 °C, plus 4 K: 84 °C. The element may be 9.6 K behind.
//
// A first-order element lags by r·τ while the heat rises at r, and by r·τ·e^(−t/τ) after t at a constant temperature (Heskestad & Bill
// 1989). τ is 120 s at most (own figure), r the mean rate from ambient, times 1.25 (own figure), and no element lags by more than the
// whole rise. So t = 120 s · ln(lag / 9.6 K), and never less than 60 s (own figure).

/// Rated 80 °C, −4 K / +4 K, with a heater that is known.
fn rated_80() -> World {
    given(|marking| marking.rating = Some(c(80)))
}

/// A test that the heater's switch-off and the technician end without a trip, with these marks at s since heat on.
fn silence(given: World, start: Command, marks: &[(i64, What)], end: i64) -> Tripped {
    let mut world = given;
    world.act(start);
    world.taps(marks);
    world.wait_until(end);
    world.act(Command::End { test: id(TEST), how: Ending::NoTrip });
    found(&world).tripped
}

/// At top at this second, switched off so many seconds later.
fn soaked(given: World, top: i64, soak: i64) -> Tripped {
    silence(given, functional(|_| {}), &[(top, AtTop), (top + soak, HeaterOff)], top + soak + 1)
}

#[track_caller]
fn check_no_alarm(found: Tripped, up_to: f64) {
    let Tripped::No(no_alarm) = found else { panic!("{found:?}") };
    crate::tolerances::assert_close("printed 3 decimals", no_alarm.up_to.0, up_to);
}

#[track_caller]
fn check_too_short(found: Tripped, held: i64, needed: f64) {
    let Tripped::NotDecided(NotProven::SoakTooShort { held_ms, needed_ms }) = found else { panic!("{found:?}") };
    assert_eq!(held_ms, held * SECOND);
    // Reckoned with four digits of the logarithm.
    crate::tolerances::assert_close("printed 2 decimals", needed_ms as f64 / 1_000.0, needed);
}

#[test]
fn v0_03_no_alarm_needs_the_soak_that_the_slowest_element_needs() {
    // From 20 °C in 60 s: 1.25 K/s · 1.25 · 120 s = 187.5 K, more than the whole rise of 75 K. 120 s · ln(75/9.6) = 120 · 2.055725 = 246.69 s.
    check_too_short(soaked(rated_80(), 60, 246), 246, 246.69);
    check_no_alarm(soaked(rated_80(), 60, 247), 84.0);
    // In 600 s: 0.125 K/s · 1.25 · 120 s = 18.75 K; 120 s · ln(18.75/9.6) = 120 · 0.669431 = 80.33 s.
    check_too_short(soaked(rated_80(), 600, 80), 80, 80.33);
    check_no_alarm(soaked(rated_80(), 600, 81), 84.0);
    // In 3,000 s the lag is 3.75 K, less than 9.6 K: only the least soak is left.
    check_too_short(soaked(rated_80(), 3_000, 59), 59, 60.0);
    check_no_alarm(soaked(rated_80(), 3_000, 60), 84.0);
}

#[test]
fn v0_03_the_procedures_own_soak_is_the_least_where_it_is_longer() {
    let with_soak = || {
        let mut world = rated_80();
        world.act(put_procedure(FUNCTIONAL, Procedure { soak_ms: Some(100_000), ..Procedure::functional() }));
        world
    };
    let of = |soak: i64| {
        let start = functional(|start| start.procedure = Some(id(FUNCTIONAL)));
        silence(with_soak(), start, &[(3_000, AtTop), (3_000 + soak, HeaterOff)], 3_001 + soak)
    };
    check_too_short(of(99), 99, 100.0);
    check_no_alarm(of(100), 84.0);
}

#[test]
fn v0_03_what_is_not_known_of_heater_and_room_counts_against_the_verdict() {
    // A warm heater heats as suddenly as a step: the whole 75 K, 246.69 s as above, however long it took to the top.
    let warm = |soak: i64| {
        let start = functional(|start| start.heater_warmth = Warmth::Warm);
        silence(rated_80(), start, &[(600, AtTop), (600 + soak, HeaterOff)], 601 + soak)
    };
    check_too_short(warm(246), 246, 246.69);
    check_no_alarm(warm(247), 84.0);
    // Ambient not taken: from −40 °C, 135 K in 600 s are 33.75 K of lag; 120 s · ln(33.75/9.6) = 120 · 1.257217 = 150.87 s.
    let cold = |soak: i64| {
        let start = functional(|start| start.ambient = None);
        silence(rated_80(), start, &[(600, AtTop), (600 + soak, HeaterOff)], 601 + soak)
    };
    check_too_short(cold(150), 150, 150.87);
    check_no_alarm(cold(151), 84.0);
    for (change, expected) in [
        (Metrology { calibration_u: None, ..known() }, NotProven::CalibrationUnknown),
        (Metrology { fit_u: None, ..known() }, NotProven::FitUnknown),
    ] {
        let mut world = rated_80();
        world.act(put_heater_with(HAND_HEATER, manual(), |_, metrology| *metrology = change));
        assert_eq!(soaked(world, 3_000, 3_000), Tripped::NotDecided(expected));
    }
}

#[test]
fn v0_03_without_a_tolerance_ten_fahrenheit_above_the_rating_count() {
    // 10 °F = 5.556 K (own figure): 85.556 °C, so 8.044 K may be missing. 120 s · ln(18.75/8.0444) = 120 · 0.846251 = 101.55 s.
    let bare = || {
        given(|marking| {
            marking.rating = Some(c(80));
            (marking.minus, marking.plus, marking.limits_from) = (None, None, None);
        })
    };
    check_too_short(soaked(bare(), 600, 101), 101, 101.55);
    check_no_alarm(soaked(bare(), 600, 102), 85.556);
}

#[test]
fn v0_03_a_heater_that_does_not_surely_get_there_decides_nothing_however_long_it_soaks() {
    // 93.6 °C is surely reached, and 90 °C + 4 K it takes.
    let found = soaked(given(|marking| marking.rating = Some(c(90))), 600, 3_000);
    assert!(matches!(found, Tripped::NotDecided(NotProven::NotHotEnough { .. })), "{found:?}");
}

#[test]
fn v0_03_nominal_times_alone_conclude_nothing() {
    let auto = || functional(|start| start.heater = id(SELF_HEATER));
    for start in [auto(), functional(|_| {})] {
        let found = silence(rated_80(), start, &[], 3_600);
        assert_eq!(found, Tripped::NotDecided(NotProven::TopNotSeen));
    }
    // Nor do heat off and lowering say that it was at its top.
    let found = silence(rated_80(), functional(|_| {}), &[(900, HeaterOff), (905, Lowered)], 910);
    assert_eq!(found, Tripped::NotDecided(NotProven::TopNotSeen));
}

#[test]
fn v0_03_a_hold_of_nothing_is_no_soak() {
    // The kit's heater does not hold in later heat-ups: at top at 425 s, off at once.
    let start = functional(|start| start.heater = id(SELF_HEATER));
    let found = silence(rated_80(), start, &[(425, AtTop)], 460);
    assert!(matches!(found, Tripped::NotDecided(NotProven::SoakTooShort { held_ms: 0, .. })), "{found:?}");
}

#[test]
fn v0_03_a_soak_ends_where_the_heater_goes_off_or_is_lowered() {
    let found = silence(rated_80(), functional(|_| {}), &[(3_000, AtTop), (3_030, Lowered)], 3_600);
    check_too_short(found, 30, 60.0);
    // Two short soaks are not a long one.
    let marks = [(3_000, AtTop), (3_040, HeaterOff), (3_085, What::HeaterOn), (3_100, AtTop), (3_140, HeaterOff)];
    check_too_short(silence(rated_80(), functional(|_| {}), &marks, 3_200), 40, 60.0);
}

#[test]
fn v0_03_a_later_heat_up_heats_as_suddenly_as_a_step() {
    // Lowered too early, and heated again after 50 min: the detector is cold again and the heater at its top within a minute. How long ago the
    // test began says nothing of that heat-up: the whole 75 K, 246.69 s as above.
    let again = |soak: i64| {
        let marks =
            [(600, AtTop), (610, HeaterOff), (3_600, What::HeaterOn), (3_660, AtTop), (3_660 + soak, HeaterOff)];
        silence(rated_80(), functional(|_| {}), &marks, 3_661 + soak)
    };
    check_too_short(again(246), 246, 246.69);
    check_no_alarm(again(247), 84.0);
    // While it soaks, what is left is left of this soak, though the first one was 70 s short only.
    let mut world = rated_80();
    world.act(functional(|_| {}));
    world.taps(&[(600, AtTop), (610, HeaterOff), (3_600, What::HeaterOn), (3_660, AtTop)]);
    let test = world.test();
    let so_far = findings::no_alarm(&test, &Timeline::of(&test, TestTime(3_670 * SECOND)), None);
    check_too_short(Tripped::NotDecided(so_far.expect_err("not yet")), 10, 246.69);
}

#[test]
fn v0_03_a_reading_within_the_uncertainty_of_the_top_shows_it_too() {
    // 95 °C less 2 · 0.3 K: 94.4 °C does, 94.3 °C does not. As 94.4 °C was read, 93.0 °C is sure and 9.0 K may be missing; 74.4 K in 600 s
    // are 18.6 K of lag: 120 s · ln(18.6/9.0) = 120 · 0.725937 = 87.11 s.
    let read = |tenths: i64, soak: i64| {
        let mut world = rated_80();
        world.act(functional(|_| {}));
        world.wait_until(600);
        world.act(Command::Read { of: id(TEST), reading: shown(tenths), trip: None });
        world.taps(&[(600 + soak, HeaterOff)]);
        world.wait(SECOND).act(Command::End { test: id(TEST), how: Ending::NoTrip });
        found(&world).tripped
    };
    check_too_short(read(944, 87), 87, 87.11);
    check_no_alarm(read(944, 88), 84.0);
    assert_eq!(read(943, 3_000), Tripped::NotDecided(NotProven::TopNotSeen));
}

#[test]
fn v0_03_not_decided_says_the_soak_that_would_decide_it() {
    let Tripped::NotDecided(why) = soaked(rated_80(), 60, 246) else { panic!("not decided") };
    // 246.69 s are not over after 4:06.
    assert!(why.to_string().contains("soaked 4:06 at top temperature, 4:07 would decide it"), "{why}");
}

#[test]
fn v0_03_a_correction_of_the_rating_decides_anew() {
    let mut world = rated_80();
    world.act(functional(|_| {}));
    world.taps(&[(600, AtTop), (681, HeaterOff)]);
    world.wait(SECOND).act(Command::End { test: id(TEST), how: Ending::NoTrip });
    check_no_alarm(found(&world).tripped, 84.0);
    let right = Marking { rating: Some(c(90)), ..world.test().frozen.detector.marking.clone() };
    let reason = soakbook::book::entry::Hash::of(b"salted reason");
    world.wait(SECOND).act(Command::CorrectMarking { test: id(TEST), marking: right.into(), why: reason });
    assert!(matches!(found(&world).tripped, Tripped::NotDecided(NotProven::NotHotEnough { .. })));
}

/// A rate-of-rise detector, cold at 20 °C, with these readings at s since heat on.
fn risen(change: impl FnOnce(&mut StartTest), readings: &[(i64, i64)]) -> Tripped {
    risen_lowered(change, readings, i64::MAX)
}

/// The same where the heater is lowered that many seconds after heat on.
fn risen_lowered(change: impl FnOnce(&mut StartTest), readings: &[(i64, i64)], lowered: i64) -> Tripped {
    let mut world = given(|marking| {
        *marking = Marking {
            detector_type: DetectorType::RateOfRise,
            rating: None,
            minus: None,
            plus: None,
            limits_from: None,
            ..marking.clone()
        };
    });
    world.act(functional(change));
    for (second, tenths) in readings {
        if *second > lowered && !world.test().marks.iter().any(|mark| mark.what == What::Lowered) {
            world.taps(&[(lowered, What::Lowered)]);
        }
        world.wait_until(*second);
        world.act(Command::Read { of: id(TEST), reading: shown(*tenths), trip: None });
    }
    world.wait(SECOND).act(Command::End { test: id(TEST), how: Ending::NoTrip });
    found(&world).tripped
}

#[test]
fn v0_04_the_silence_of_a_rate_element_needs_its_rate_by_two_readings_and_no_soak() {
    // Own figures: 20 °F/min = 0.18519 K/s over 30 °F = 16.667 K, from within 20 °F = 11.11 K of ambient, here 20 °C.
    let not_shown = Tripped::NotDecided(NotProven::RateNotShown);
    // 25.0 to 41.7 °C in 90 s are 16.7 K at 0.18556 K/s.
    check_no_alarm(risen(|_| {}, &[(10, 250), (100, 417)]), 41.7);
    // 16.6 K; and 17.0 K in 92 s are 0.18478 K/s.
    assert_eq!(risen(|_| {}, &[(10, 250), (100, 416)]), not_shown);
    assert_eq!(risen(|_| {}, &[(10, 250), (102, 420)]), not_shown);
    check_no_alarm(risen(|_| {}, &[(10, 250), (101, 420)]), 42.0);
    // 31.1 °C is within 11.11 K of ambient, 31.2 °C is not.
    check_no_alarm(risen(|_| {}, &[(10, 311), (60, 600)]), 60.0);
    assert_eq!(risen(|_| {}, &[(10, 312), (60, 600)]), not_shown);
    assert_eq!(risen(|_| {}, &[(60, 600)]), not_shown, "one reading is no rate");
    assert_eq!(risen(|_| {}, &[]), not_shown);
    // A heater that was lowered heats the detector no more.
    check_no_alarm(risen_lowered(|_| {}, &[(10, 250), (60, 600)], 60), 60.0);
    assert_eq!(risen_lowered(|_| {}, &[(10, 250), (60, 600)], 59), not_shown);
    // Neither ambient unknown nor a warm detector says where the rise began.
    assert_eq!(risen(|start| start.ambient = None, &[(10, 250), (60, 600)]), not_shown);
    assert_eq!(risen(|start| start.detector_warmth = Warmth::Warm, &[(10, 250), (60, 600)]), not_shown);
}

#[test]
fn v0_04_the_rate_of_a_profile_counts_once_the_heat_was_seen() {
    // The heater of `at_trip` rises at (200 − 27.8)/300 = 0.574 K/s at 50 °F above ambient, three times what is asked.
    let rate_of_rise = |at_top: bool| {
        let mut start = crate::at_trip::lagging_start(3);
        start.1.detector.marking.detector_type = DetectorType::RateOfRise;
        start.1.detector.marking.rating = None;
        crate::at_trip::silent_test(start, at_top)
    };
    assert!(matches!(rate_of_rise(true), Tripped::No(no_alarm) if no_alarm.soak.is_none()));
    assert_eq!(rate_of_rise(false), Tripped::NotDecided(NotProven::RateNotShown));
}

#[test]
fn v0_04_a_combination_detector_is_asked_for_its_rate_element() {
    assert_eq!(may_heat(DetectorType::CombinationRestorable, ProcedureKind::Functional), Heat::Allowed);
    let mut world = given(|marking| marking.detector_type = DetectorType::CombinationRestorable);
    world.act(functional(|_| {}));
    // A soak proves the fixed element at most, and that one is not what is tested.
    world.taps(&[(600, AtTop), (3_000, HeaterOff)]);
    world.wait(SECOND).act(Command::End { test: id(TEST), how: Ending::NoTrip });
    assert_eq!(found(&world).tripped, Tripped::NotDecided(NotProven::RateNotShown));
}
