//! What may be heated how, and what a temperature says: 0.1, 0.2, 0.10, 0.17, 0.18.

use super::*;
use crate::estimates::{estimate, profile_of_test};
use soakbook::book::body::Ending;
use soakbook::book::body::What::{AtTop, Tripped};
use soakbook::book::refusal::{Fault, Refusal};
use soakbook::book::timeline::Timeline;
use soakbook::findings::{Earlier, LimitsSource, Missing, NoEstimate, Remark, restored_of};
use soakbook::thermal::ramp_lag;
use soakbook::trade::conditions::{IndicatedBy, RateAnswer};
use soakbook::trade::detector::{LimitsFrom, RateFunction};
use soakbook::trade::detector_type::DetectorType;
use soakbook::trade::heating::Heat;
use soakbook::trade::procedure::OwnLimits;
use soakbook::units::{Kelvin, KelvinPerSecond, Seconds, TestTime};
use soakbook::view::before::Answers;
use soakbook::view::findings::one::OneTest;

/// A whole set-point test on the heater that cycles on its own, read at every trip, the top temperature seen at 60 s.
fn set_point_test(world: &mut World, readings: [i64; 5]) {
    let mut heating = auto();
    heating.resolution = Some(tenths(1));
    world.act(put_heater_with(SELF_HEATER, heating, |_, metrology| *metrology = known()));
    world.wait(SECOND).act(start_with(|start| start.display_read = true));
    let trips = [50, 420, 484, 548, 612];
    for (second, reading) in trips.into_iter().zip(readings) {
        world.wait_until(second);
        let trip = world.mark(Tripped);
        world.wait(SECOND).act(Command::Read { of: id(TEST), reading: shown(reading), trip: Some(trip) });
        if second == 50 {
            world.taps(&[(60, AtTop)]);
        }
    }
    world.wait(SECOND).act(Command::End { test: id(TEST), how: Ending::Done });
}

const AT_88: [i64; 5] = [800, 881, 876, 884, 879];

#[test]
fn v0_01_a_set_point_test_on_a_combination_detector_is_refused_and_a_functional_one_is_not() {
    let given = || given(|marking| marking.detector_type = DetectorType::CombinationRestorable);
    check(given(), start_with(|_| {}), Err(Refusal::Heat(Heat::RateElementFirst)));
    check(given(), functional(|_| {}), Ok(&["test_started", "mark"]));
    let words = soakbook::view::words::refusal(&Refusal::Heat(Heat::RateElementFirst), Degree::F);
    assert!(words.contains("the rate element trips first"), "{words}");
}

#[test]
fn v0_02_an_element_that_lags_has_temperatures_and_as_read_but_no_limit_result_by_its_marking() {
    for detector_type in [DetectorType::FixedRestorable, DetectorType::Electronic] {
        let mut world = given(|marking| {
            (marking.detector_type, marking.rate_function) = (detector_type, Some(RateFunction::Off));
        });
        set_point_test(&mut world, AT_88);
        let found = found(&world);
        assert!(found.trips.iter().all(|trip| trip.temperature.is_some()));
        let operating = found.operating.as_ref().expect("an operating temperature");
        assert_eq!(operating.unknown, [], "nothing else is missing");
        assert!(found.judged.as_read.is_some());
        assert_eq!(found.judged.limit_result.as_ref().unwrap_err(), &[Missing::ElementLags], "{detector_type:?}");
    }
    // The rate-compensated one, under the same numbers, has a result.
    let mut world = given(|_| {});
    set_point_test(&mut world, AT_88);
    assert!(found(&world).judged.limit_result.is_ok());
}

#[test]
fn v0_02_with_limits_that_the_owner_gave_for_this_method_it_has_a_limit_result() {
    for detector_type in [DetectorType::FixedRestorable, DetectorType::Electronic] {
        // In the procedure.
        let mut world = given(|marking| {
            (marking.detector_type, marking.rate_function) = (detector_type, Some(RateFunction::Off));
        });
        let limits = Some(OwnLimits { minus: k(-6), plus: k(6), agreed: None });
        let procedure = soakbook::trade::procedure::Procedure { limits, ..set_point() };
        world.act(put_procedure(SET_POINT, procedure));
        set_point_test(&mut world, AT_88);
        let judged = found(&world).judged;
        assert!(judged.limit_result.is_ok(), "{:?}", judged.limit_result);
        assert_eq!(judged.limits.expect("limits").from, LimitsSource::Procedure);
        // At the detector.
        let mut world = given(|marking| {
            (marking.detector_type, marking.rate_function) = (detector_type, Some(RateFunction::Off));
            marking.limits_from = Some(LimitsFrom::Owner);
        });
        set_point_test(&mut world, AT_88);
        let judged = found(&world).judged;
        assert!(judged.limit_result.is_ok(), "{:?}", judged.limit_result);
        assert_eq!(judged.limits.expect("limits").from, LimitsSource::Owner);
    }
}

#[test]
fn v0_02_an_electronic_detector_is_asked_about_its_rate_function() {
    let given = |rate_function| {
        given(|marking| (marking.detector_type, marking.rate_function) = (DetectorType::Electronic, rate_function))
    };
    let answered = |answer| start_with(|start| start.rate_answer = Some(answer));
    let starts = || Ok(&["test_started", "mark"][..]);
    for on_file in [None, Some(RateFunction::On)] {
        check(given(on_file), start_with(|_| {}), Err(Refusal::Heat(Heat::RateFunctionAsked)));
        check(given(on_file), answered(RateAnswer::Off), starts());
        check(given(on_file), answered(RateAnswer::HeaterSlower), starts());
        check(given(on_file), functional(|_| {}), starts());
    }
    check(given(Some(RateFunction::Off)), start_with(|_| {}), starts());
    // The answer is about one detector: it is not offered again.
    let world = given(None);
    let kit = soakbook::book::kit::Kit::of(&world.book);
    assert_eq!(Answers::default().offered(&kit, Some(&marking())).rate_answer, None);
}

#[test]
fn v0_02_the_lag_of_an_element_is_information_and_changes_no_number() {
    // A first-order element of 60 s in air that rises at 10 K/min from 25 °C is at 57 °C when the air is at 66.848 °C: it lags by 9.848 K
    // (theory; scipy 1.17.1, solve_ivp and brentq). The air has risen by 41.848 K then.
    let rate = KelvinPerSecond(10.0 / 60.0);
    let lag = ramp_lag(rate, Kelvin(66.848 - 25.0), Seconds(60.0));
    crate::tolerances::assert_close("printed 3 decimals", lag.0, 9.848);
    // At 1 K/min it is all but r·τ = 1 K.
    let slow = ramp_lag(KelvinPerSecond(1.0 / 60.0), Kelvin(33.0), Seconds(60.0));
    crate::tolerances::assert_close("printed 3 decimals", slow.0, 1.0);
    let of = |detector_type| {
        let mut world = given(|marking| marking.detector_type = detector_type);
        set_point_test(&mut world, AT_88);
        found(&world)
    };
    let (follows, lags) = (of(DetectorType::RateCompensated), of(DetectorType::FixedRestorable));
    let remark = |found: &TestFindings| {
        found.judged.remarks.iter().find(|remark| matches!(remark, Remark::ElementLags { .. })).copied()
    };
    assert_eq!(remark(&follows), None);
    let Some(Remark::ElementLags { rate, low, high }) = remark(&lags) else { panic!("a remark") };
    // By hand: without a profile the mean rate of the first heat-up from cold, (95 − 20) K in 60 s = 1.25 K/s. The mean is 88.0 °C less what
    // the heater rose in the lag of 1 s ± 0.5 s: at most 2.5 K/s for 2 s, taken as half of it, 2.5 K. So it rose from 20 to 85.5 °C. With
    // τ = 20 s, 25 · (1 − e^(−65.5/25)) = 23.180 K; with τ = 120 s, 150 · (1 − e^(−65.5/150)) = 53.072 K (Python 3 math.exp).
    crate::tolerances::assert_close("printed 3 decimals", rate.0, 1.25);
    crate::tolerances::assert_close("printed 3 decimals", low.0, 23.180);
    crate::tolerances::assert_close("printed 3 decimals", high.0, 53.072);
    let numbers = |found: &TestFindings| {
        let operating = found.operating.as_ref().expect("an operating temperature");
        (operating.mean, operating.u, operating.expanded)
    };
    assert_eq!(numbers(&follows), numbers(&lags));
    assert_eq!(lags.trips.len(), follows.trips.len());
    for (one, other) in lags.trips.iter().zip(&follows.trips) {
        assert_eq!(one.temperature, other.temperature);
    }
}

#[test]
fn v0_10_uncertainties_of_zero_are_refused() {
    let zero = |name| Err(Refusal::Field(name, Fault::Zero));
    let put = |metrology: Metrology| put_heater_with(SELF_HEATER, auto(), move |_, of| *of = metrology);
    let calibration = put(Metrology { calibration_u: Some(k(0)), ..known() });
    check(given(|_| {}), calibration, zero("Metrology.calibration_u"));
    let fit = put(Metrology { fit_u: Some(k(0)), ..known() });
    check(given(|_| {}), fit, zero("Metrology.fit_u"));
    // Zero in any unit and any number of digits.
    for scale in [-3, 0, 2] {
        let nothing = Difference { value: 0, scale, unit: Degree::F };
        let fit = put(Metrology { fit_u: Some(nothing), ..known() });
        check(given(|_| {}), fit, zero("Metrology.fit_u"));
    }
    check(given(|_| {}), put(known()), Ok(&[]));
    let blank = put(Metrology { calibration_u: None, ..known() });
    check(given(|_| {}), blank, Ok(&["heater_metrology"]));
}

#[test]
fn v0_10_the_lag_is_preset_by_the_indication_can_be_changed_and_is_printed() {
    // Own figures: own lamp and meter 1 ± 0.5 s, partner by radio 4 ± 2 s, at the panel 6 ± 3 s.
    let presets = [
        (IndicatedBy::OwnLamp, (1_000, 500), "1", "0.5"),
        (IndicatedBy::Meter, (1_000, 500), "1", "0.5"),
        (IndicatedBy::Partner, (4_000, 2_000), "4", "2"),
        (IndicatedBy::WalkTest, (6_000, 3_000), "6", "3"),
    ];
    assert_eq!(presets.len(), IndicatedBy::ALL.len());
    let mut answers = Answers::default();
    assert_eq!(answers.lag_ms(), Some((1_000, 500)));
    for (by, ms, lag, u) in presets {
        answers.indicate(by);
        assert_eq!((answers.lag_ms(), answers.lag.as_str(), answers.lag_u.as_str()), (Some(ms), lag, u));
    }
    (answers.lag, answers.lag_u) = ("2.5".into(), "0.7".into());
    assert_eq!(answers.lag_ms(), Some((2_500, 700)));
    for none in ["0", "", "soon"] {
        answers.lag = none.into();
        assert_eq!(answers.lag_ms(), None, "{none:?}");
    }
    let mut world = given(|_| {});
    world.act(functional(|start| start.indication = indication(IndicatedBy::Partner)));
    let one = OneTest::of(&world.book, &world.visit(), &world.test(), &found(&world), Degree::F, 0);
    assert!(one.conditions.contains(&("Lag", "4.0 s, u = 2.0 s".into())), "{:?}", one.conditions);
}

#[test]
fn v0_17_a_first_trip_that_is_not_earlier_is_a_remark_without_colour_or_retest() {
    let mut world = given(|_| {});
    set_point_test(&mut world, [890, 881, 876, 884, 879]);
    let found = found(&world);
    assert_eq!(found.first.expect("a first trip").earlier, Earlier::NotEarlier);
    assert_ne!(found.flag, Some(soakbook::findings::Flag::Retest));
    let words = Earlier::NotEarlier.words();
    assert!(!words.to_lowercase().contains("retest"), "{words}");
    let visit = world.visit();
    let all = soakbook::findings::visit(&world.book, &visit);
    let screen = soakbook::view::findings::FindingsScreen::of(&world.register(), &visit, &all);
    assert_eq!(screen.retest, []);
    let one = OneTest::of(&world.book, &visit, &world.test(), &found, Degree::F, 0);
    assert!(one.first.expect("a remark").words.contains("not earlier"));
    assert_eq!(restored_of(&world.test()), soakbook::findings::Restored::Pending);
}

#[test]
fn v0_18_past_the_safety_time_out_there_is_no_estimate() {
    let (mut phone, mut start) = crate::at_trip::lagging_start(3);
    let test = start.test;
    start.heater.heating.timeout_ms = Some(100_000);
    phone.mono += 1_000;
    phone.in_visit(soakbook::book::body::Body::TestStarted(start.into()));
    phone.in_visit(soakbook::book::body::Body::Mark { of: test, what: soakbook::book::body::What::HeatOn });
    let test = soakbook::book::test::Test::of(&phone.book, test).expect("the test");
    let profile = profile_of_test(&phone.book, &test).expect("a profile");
    let at = |ms| estimate(&test, &Timeline::of(&test, ms), &profile, ms);
    assert!(at(TestTime(99_999)).is_ok());
    assert_eq!(at(TestTime(100_000)), Err(NoEstimate::TimedOut));
    assert_eq!(at(TestTime(3_600_000)), Err(NoEstimate::TimedOut));
}

#[test]
fn v0_18_alarm_verification_on_a_heat_detector_is_a_remark() {
    let mut world = given(|_| {});
    world.act(functional(|start| start.indication.verification = true));
    let test = world.test();
    let one = OneTest::of(&world.book, &world.visit(), &test, &found(&world), Degree::F, 0);
    let said = one.results.iter().find(|row| row.name == "panel").expect("the row of the panel");
    assert!(said.why.contains("Alarm verification is on"), "{}", said.why);
    assert!(soakbook::view::before::remarks(&test.frozen).iter().any(|remark| remark.contains("Alarm verification")));
    // It is none where it is off, and neither colours nor fails anything.
    let mut off = given(|_| {});
    off.act(functional(|_| {}));
    assert!(soakbook::view::before::remarks(&off.test().frozen).is_empty());
    assert_eq!(found(&world).flag, found(&off).flag);
}
