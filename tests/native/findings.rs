//! What a test says, from its marks and readings alone.

use crate::sample::{HeatUp, Phone, c, found, id, item, k, read, silent, started};
use crate::tolerances::assert_close;
use soakbook::book::body::{Body, Ending, ItemWhat, Point, TestStart};
use soakbook::book::entry::Hash;
use soakbook::findings::{
    AsRead, AtPanel, Flag, LimitsSource, Missing, NoLimits, NoOperating, NotProven, Outcome, Remark, Restored, Role,
    Tripped, Unknown, before,
};
use soakbook::stats::LimitResult;
use soakbook::trade::detector::{LimitsFrom, Marking};
use soakbook::trade::detector_type::{Class, DetectorType};
use soakbook::trade::procedure::{OwnLimits, Procedure};
use soakbook::units::{Degree, Difference, Reading, TestTime};

const SPREAD: [&str; 5] = ["80.0", "88.1", "87.6", "88.4", "87.9"];

/// A first trip that does not count, then four alike.
fn equal(text: &str) -> Vec<HeatUp> {
    read(&["80.0", text, text, text, text])
}

fn done(started: TestStart, heat_ups: &[HeatUp]) -> soakbook::findings::TestFindings {
    found(started, heat_ups, Ending::Done)
}

#[test]
fn a_spread_is_expanded_by_t_at_truncated_degrees_of_freedom() {
    // GTC 1.5.1: y = ureal(type_a.mean(x), type_a.standard_uncertainty(x), 3) + ureal(0, 0.3) + ureal(0, 0.4) for the four
    // counted readings: uncertainty(y) 0.527573059711481, dof(y) 289.505; reporting.k_factor(289, 95) 1.9682064355045363.
    let operating = done(started(1), &read(&SPREAD)).operating.expect("an operating temperature");
    assert_eq!(operating.n, 4);
    assert_close("last digits", operating.mean.0, 88.0);
    assert_close("last digits", operating.u.0, 0.527573059711481);
    assert_eq!(operating.df, Some(289.0));
    assert_close("quantile", operating.expanded.0, 1.038372691322956);
    // By hand: 88.4 − 87.6.
    assert_close("printed 4 decimals", operating.range.0, 0.8);
    assert!(operating.complete());
}

#[test]
fn few_trips_that_differ_widely_leave_few_degrees_of_freedom() {
    // GTC 1.5.1 as above for 88.0 and 90.0 with 0.5 and 0.5: u √1.5 (by hand: s/√n = 1), dof 2.25 truncated to 2,
    // reporting.k_factor(2, 95) 4.302652729749462. Conformance: scipy 1.17.1, stats.t.cdf((92 − 89)/u, 2) −
    // stats.t.cdf((85 − 89)/u, 2).
    let mut start = started(1);
    start.procedure.trips = 3;
    start.heater.metrology.calibration_u = Some(k("0.5"));
    start.heater.metrology.fit_u = Some(k("0.5"));
    let test = done(start, &read(&["80.0", "88.0", "90.0"]));
    let operating = test.operating.as_ref().expect("an operating temperature");
    assert_close("last digits", operating.u.0, 1.5_f64.sqrt());
    assert_eq!(operating.df, Some(2.0));
    assert_close("quantile", operating.expanded.0, 5.269651864139674);
    let stated = test.judged.limit_result.expect("a limit result");
    assert_close("probability", stated.p_conform, 0.8918441696333428);
    assert_eq!(stated.limit_result, LimitResult::WithinCloseToLimit);
}

#[test]
fn equal_readings_are_no_better_than_one_step_of_the_display() {
    // By hand: u = √(0.3² + 0.4² + 0.1²/12); scipy 1.17.1: stats.norm.ppf(0.975) · u = 0.9816139367681385.
    let operating = done(started(1), &equal("88.0")).operating.expect("an operating temperature");
    assert_close("last digits", operating.u.0, (0.25_f64 + 0.01 / 12.0).sqrt());
    assert_eq!(operating.df, None);
    assert_close("quantile", operating.expanded.0, 0.9816139367681385);
}

#[test]
fn one_counted_trip_has_an_uncertainty_but_carries_no_limit_result() {
    // The same sum as for equal readings: one reading has no spread, only its rounding.
    let mut start = started(1);
    start.procedure.trips = 2;
    let test = done(start, &read(&["80.0", "88.0"]));
    let operating = test.operating.as_ref().expect("an operating temperature");
    assert_close("quantile", operating.expanded.0, 0.9816139367681385);
    assert_eq!(operating.unknown, [Unknown::Spread]);
    assert_eq!(test.judged.as_read, Some(AsRead::Within));
    assert_eq!(test.judged.limit_result, Err(vec![Missing::Part(Unknown::Spread)]));
}

#[test]
fn a_display_in_fahrenheit_and_a_tolerance_of_18_fahrenheit() {
    // GTC 1.5.1 as above for the readings as (f − 32)·5/9: mean 87.77777777777777, u 0.5490358177916137, dof 103.02 truncated.
    // Limits by hand: 18 °F as a difference is 10 K, so 87.7778 °C ± 10 K.
    let f = |text: &str| Reading::parse(text, Degree::F).expect("a reading");
    let mut start = started(1);
    start.detector.marking.rating = Some(f("190"));
    start.detector.marking.minus = Difference::parse("-18", Degree::F).ok();
    start.detector.marking.plus = Difference::parse("18", Degree::F).ok();
    let heat_ups: Vec<HeatUp> = ["180", "190", "191", "189", "190"].iter().map(|text| HeatUp::Read(f(text))).collect();
    let test = done(start, &heat_ups);
    let operating = test.operating.as_ref().expect("an operating temperature");
    assert_close("last digits", operating.mean.0, 87.77777777777777);
    assert_close("last digits", operating.u.0, 0.5490358177916137);
    assert_close("quantile", operating.expanded.0, 1.0888830516224801);
    assert_eq!(test.trips[1].reading, Some(f("190")), "the display is kept as it was read");
    let limits = test.judged.limits.as_ref().expect("limits");
    assert_close("printed 4 decimals", limits.lower().expect("a lower limit").0, 77.7778);
    assert_close("printed 4 decimals", limits.upper().expect("an upper limit").0, 97.7778);
    assert_eq!(test.judged.limit_result.expect("a limit result").limit_result, LimitResult::Within);
}

#[test]
fn the_limit_result_draws_the_limits_in_and_out_by_the_expanded_uncertainty() {
    fn check(reading: &str, expected: LimitResult, as_read: AsRead) {
        let test = done(started(1), &equal(reading));
        assert_eq!(test.judged.as_read, Some(as_read), "{reading}");
        assert_eq!(test.judged.limit_result.expect("a limit result").limit_result, expected, "{reading}");
    }
    // ILAC-G8:09/2019, figure 5, by hand with limits 85 °C to 92 °C and U = 0.98 K (above): acceptance 85.98 to 91.02,
    // rejection below 84.02 and above 92.98.
    check("88.0", LimitResult::Within, AsRead::Within);
    check("91.0", LimitResult::Within, AsRead::Within);
    check("91.1", LimitResult::WithinCloseToLimit, AsRead::Within);
    check("92.0", LimitResult::WithinCloseToLimit, AsRead::Within);
    check("92.1", LimitResult::OutsideWithinUncertainty, AsRead::Outside);
    check("92.9", LimitResult::OutsideWithinUncertainty, AsRead::Outside);
    check("93.0", LimitResult::Outside, AsRead::Outside);
    check("86.0", LimitResult::Within, AsRead::Within);
    check("85.9", LimitResult::WithinCloseToLimit, AsRead::Within);
    check("84.1", LimitResult::OutsideWithinUncertainty, AsRead::Outside);
    check("84.0", LimitResult::Outside, AsRead::Outside);
}

#[test]
fn the_conformance_probability_is_that_of_the_published_example() {
    // JCGM 106:2012, 7.4: y = 13.6, u = 1.8, limits 12.5 and 16.3 give p = 0.66. Here as °C, on a display so fine that its
    // step does not show.
    let mut start = started(1);
    start.heater.metrology.calibration_u = Some(k("1.8"));
    start.heater.metrology.fit_u = Some(k("0"));
    start.heater.heating.resolution = Some(k("0.001"));
    start.detector.marking.rating = Some(c("14.0"));
    start.detector.marking.minus = Some(k("-1.5"));
    start.detector.marking.plus = Some(k("2.3"));
    let stated = done(start, &equal("13.600")).judged.limit_result.expect("a limit result");
    assert_close("printed 2 decimals", stated.p_conform, 0.66);
    assert_eq!(stated.limit_result, LimitResult::WithinCloseToLimit);
}

#[test]
fn whatever_is_missing_for_a_limit_result_is_named() {
    fn check(change: impl Fn(&mut TestStart), heat_ups: &[HeatUp], how: Ending, expected: &[Missing]) {
        let mut start = started(1);
        change(&mut start);
        assert_eq!(found(start, heat_ups, how).judged.limit_result, Err(expected.to_vec()));
    }
    let heat_ups = equal("88.0");
    // Expected: the conditions of design section 6, items 3 to 5.
    check(|s| s.heater.metrology.calibration_u = None, &heat_ups, Ending::Done, &[Missing::Part(Unknown::Calibration)]);
    check(|s| s.heater.metrology.fit_u = None, &heat_ups, Ending::Done, &[Missing::Part(Unknown::Fit)]);
    check(|s| s.heater.metrology.fit_from = None, &heat_ups, Ending::Done, &[Missing::Part(Unknown::FitSource)]);
    check(|s| s.heater.heating.resolution = None, &heat_ups, Ending::Done, &[Missing::Part(Unknown::Resolution)]);
    check(|s| s.indication.lag_ms = 2000, &heat_ups, Ending::Done, &[Missing::Part(Unknown::Lag)]);
    check(|s| s.indication.lag_u_ms = 500, &heat_ups, Ending::Done, &[Missing::Part(Unknown::Lag)]);
    check(|s| s.detector.marking.rating = None, &heat_ups, Ending::Done, &[Missing::Limits(NoLimits::NoRating)]);
    check(
        |s| (s.detector.marking.minus, s.detector.marking.plus) = (None, None),
        &heat_ups,
        Ending::Done,
        &[Missing::Limits(NoLimits::NoTolerance)],
    );
    check(|_| {}, &heat_ups[..4], Ending::StoppedEarly, &[Missing::FewerTrips { counted: 3, wanted: 4 }]);
    check(
        |s| s.procedure = Procedure::functional(),
        &heat_ups[..1],
        Ending::Done,
        &[Missing::FunctionalTest, Missing::Part(Unknown::Spread)],
    );
    check(|_| {}, &heat_ups, Ending::HeaterProblem, &[Missing::Operating(NoOperating::Stopped(Ending::HeaterProblem))]);
}

#[test]
fn what_is_missing_says_what_to_do() {
    for part in [Unknown::Calibration, Unknown::Fit, Unknown::FitSource, Unknown::Resolution] {
        assert!(part.to_string().contains("under Devices"), "{part}");
    }
    assert!(Missing::FewerTrips { counted: 3, wanted: 4 }.to_string().starts_with("3 of 4 counted trips"));
}

#[test]
fn a_counted_heat_up_without_a_trip_leaves_no_mean() {
    let mut heat_ups = equal("88.0");
    heat_ups[2] = HeatUp::NoTrip;
    let test = done(started(1), &heat_ups);
    assert_eq!(test.operating, Err(NoOperating::HeatUpWithoutTrip(vec![3])));
    assert_eq!(test.judged.as_read, None);
    assert_eq!(test.tripped, Tripped::Yes { first_at: TestTime(100_000) });
    assert_eq!(test.flag, Some(Flag::Retest));
}

#[test]
fn a_counted_trip_without_a_reading_leaves_no_mean() {
    let mut heat_ups = equal("88.0");
    heat_ups[3] = HeatUp::NotRead;
    assert_eq!(done(started(1), &heat_ups).operating, Err(NoOperating::NotRead(vec![4])));
    // The first trip does not count, so its reading is not missed.
    let mut heat_ups = equal("88.0");
    heat_ups[0] = HeatUp::NotRead;
    assert!(done(started(1), &heat_ups).operating.is_ok());
}

#[test]
fn a_test_without_a_trip_is_no_alarm_or_not_decided() {
    // By hand at `sample::silent`: 300 s of soak decide it, up to 80 °C + 4 K.
    let test = found(silent(1), &[HeatUp::NoTrip], Ending::NoTrip);
    let Tripped::No(no_alarm) = test.tripped else { panic!("{:?}", test.tripped) };
    assert_close("last digits", no_alarm.up_to.0, 84.0);
    assert_eq!((test.flag, test.outcome.words()), (Some(Flag::NoAlarm), "No alarm"));
    let test = found(silent(1), &[HeatUp::NoTrip], Ending::SiteRequest);
    assert_eq!(test.tripped, Tripped::NotDecided(NotProven::TopNotSeen));
    assert_eq!((test.flag, test.outcome), (Some(Flag::NotProven), Outcome::NotDecided));
}

#[test]
fn limits_of_the_procedure_stand_before_those_of_the_detector() {
    let mut start = started(1);
    start.procedure.limits = Some(OwnLimits { minus: k("-1"), plus: k("1"), agreed: None });
    let limits = done(start, &equal("88.0")).judged.limits.expect("limits");
    assert_eq!(limits.from, LimitsSource::Procedure);
    assert_close("last digits", limits.lower().expect("a limit").0, 87.0);
}

#[test]
fn the_window_of_a_class_alone_judges_nothing() {
    let mut start = started(1);
    start.detector.marking.class = Some(Class::C);
    start.detector.marking.limits_from = Some(LimitsFrom::Marking);
    assert_eq!(done(start.clone(), &equal("88.0")).judged.limits, Err(NoLimits::ClassOnly));
    start.detector.marking.detector_type = DetectorType::RateOfRise;
    assert_eq!(done(start, &equal("88.0")).judged.limits, Err(NoLimits::NoSetPoint));
}

#[test]
fn what_a_heater_cannot_decide_is_known_before_the_start() {
    fn check(setting: &str, tolerance: (&str, &str), upwards: Option<f64>, no_clear_result: bool) {
        let mut start = started(1);
        start.heater.setting = c(setting);
        start.detector.marking.minus = Some(k(tolerance.0));
        start.detector.marking.plus = Some(k(tolerance.1));
        let remarks = before(&start.heater, &start.detector.marking, &start.procedure);
        let sure = remarks.iter().find(|remark| matches!(remark, Remark::CannotDecideUpwards { .. }));
        assert_eq!(sure.is_some(), upwards.is_some(), "{setting} {tolerance:?}");
        if let (Some(remark), Some(expected)) = (sure, upwards) {
            assert_close("last digits", remark.figure().value, expected);
        }
        assert_eq!(remarks.iter().any(|remark| matches!(remark, Remark::NoClearResult { .. })), no_clear_result);
        let after = done(start, &equal("88.0")).judged.remarks;
        assert_eq!(after.len(), remarks.len(), "the same is said with the result");
    }
    // By hand: H is the setting and 4 K, U(H) = 1.959963984540054 · √(0.3² + 0.4²) = 0.979981992270027 (scipy 1.17.1,
    // stats.norm.ppf(0.975)), so 94 − 0.98 is above 92 and 92 − 0.98 is not. 2 U = 1.96 K against 7 K and 1.8 K.
    check("90", ("-3", "4"), None, false);
    check("88", ("-3", "4"), Some(92.0 - 0.979981992270027), false);
    check("90", ("-0.9", "0.9"), None, true);
    // The heater would do, and one of the trips lies 6 K beside the others: only a retest helps.
    let scattered = done(started(1), &read(&["88.0", "88.0", "88.0", "82.0", "88.0"])).judged.remarks;
    let said =
        scattered.iter().map(ToString::to_string).find(|said| said.starts_with("no clear result")).expect("a remark");
    assert!(said.ends_with("retest") && !said.contains("calibration"), "{said}");
}

#[test]
fn a_corrected_marking_judges_a_second_time_and_the_first_stays() {
    let mut phone = Phone::new();
    let test = phone.test(started(1), &equal("93.0"), Ending::Done);
    let marking = Marking { rating: Some(c("91")), ..started(1).detector.marking };
    let reason = Hash::of(b"reason");
    let correction = phone.in_visit(Body::MarkingCorrected { test, marking: marking.into(), why: reason });
    let found = phone.visit().tests.remove(0);
    assert_eq!(found.judged.as_read, Some(AsRead::Outside));
    let [again] = &found.judged_again[..] else { panic!("one correction") };
    assert_eq!((again.corrected_by, again.as_read), (Some(correction), Some(AsRead::Within)));
    assert_eq!(found.flag, None, "the correction holds");
    let undoes = phone.book.get(correction).expect("the correction").decision();
    phone.in_visit(Body::Undone { undoes });
    let found = phone.visit().tests.remove(0);
    assert!(found.judged_again.is_empty());
    assert_eq!(found.flag, Some(Flag::Outside));
}

#[test]
fn flagged_tests_come_first_the_gravest_on_top() {
    let mut phone = Phone::new();
    phone.test(started(1), &equal("88.0"), Ending::Done);
    phone.test(started(2), &equal("93.0"), Ending::Done);
    phone.test(silent(3), &[HeatUp::NoTrip], Ending::NoTrip);
    phone.test(started(4), &equal("88.0"), Ending::Done);
    let trip = phone.test_marks(4)[1];
    phone.in_visit(Body::PanelPoint { trip, point: Point::Wrong, said: Some("Zone 9".into()) });
    let found = |what| Body::ItemFound(item(5, what).into());
    phone.test(started(5), &equal("88.0"), Ending::Done);
    phone.in_visit(found(ItemWhat::Visual));
    let visit = phone.visit();
    let order: Vec<_> = visit.tests.iter().map(|found| (found.test, found.flag)).collect();
    assert_eq!(
        order,
        [
            (id(3), Some(Flag::NoAlarm)),
            (id(4), Some(Flag::WrongPoint)),
            (id(2), Some(Flag::Outside)),
            (id(5), Some(Flag::Item)),
            (id(1), None),
        ]
    );
}

#[test]
fn the_three_results_come_to_passed_only_together() {
    let results = |found: &soakbook::findings::TestFindings| (found.outcome.words(), found.flag);
    let mut phone = Phone::new();
    phone.test(started(1), &equal("88.0"), Ending::Done);
    let passed = phone.visit().tests.remove(0);
    assert_eq!((&passed.panel, passed.restored), (&AtPanel::Right, Restored::Yes));
    assert_eq!(results(&passed), ("Passed", None));
    assert!(passed.not_exercised.is_empty());
    // The last word on the only trip that showed another point counts.
    let trip = phone.test_marks(1)[1];
    let say = |phone: &mut Phone, point| {
        phone.in_visit(Body::PanelPoint { trip, point, said: None });
    };
    say(&mut phone, Point::NotThere);
    assert_eq!(results(&phone.visit().tests[0]), ("Tripped, nothing at panel", Some(Flag::NotAtPanel)));
    say(&mut phone, Point::Right);
    assert_eq!(results(&phone.visit().tests[0]), ("Passed", None));
}

#[test]
fn a_test_is_as_found_a_retest_or_as_left() {
    // rule 0.9: as left needs work between.
    let work = Some(Hash::of(b"work"));
    let role = |follows, after| Role::of(&TestStart { follows, after, ..started(1) });
    assert_eq!(role(None, None), Role::AsFound);
    assert_eq!(role(Some(id(2)), None), Role::Retest);
    assert_eq!(role(Some(id(2)), work), Role::AsLeft);
    assert_eq!(role(None, work), Role::AsLeft);
}

#[test]
fn a_lag_without_a_profile_is_bounded_by_the_first_heat_up() {
    // By hand: from 20 °C to the top of 94 °C in 120 s are 0.6167 K/s on average, and at most twice that (own figure). A lag of 2 s ± 0.5 s
    // is one of up to 3 s: a rise of up to 3.7 K, taken as half of it ± half/√3 (rectangular, GUM 4.3.7).
    let mut start = started(1);
    (start.indication.lag_ms, start.indication.lag_u_ms, start.ambient) = (2_000, 500, Some(c("20")));
    let mut phone = Phone::new();
    phone.test_with_top(start.clone(), &equal("88.0"), Ending::Done, Some(120_000));
    let operating = phone.visit().tests.remove(0).operating.expect("an operating temperature");
    assert!(!operating.unknown.contains(&Unknown::Lag));
    assert_close("last digits", operating.mean.0, 88.0 - 74.0 / 120.0 * 3.0);
    assert_close("last digits", operating.late.expect("the lag").u().0, 74.0 / 120.0 * 3.0 / 3.0_f64.sqrt());
    // A warm heater says nothing of its rate from cold.
    start.heater_warmth = soakbook::trade::conditions::Warmth::Warm;
    let mut phone = Phone::new();
    phone.test_with_top(start, &equal("88.0"), Ending::Done, Some(120_000));
    let operating = phone.visit().tests.remove(0).operating.expect("an operating temperature");
    assert!(operating.unknown.contains(&Unknown::Lag));
}

#[test]
fn every_figure_opens_to_formula_source_and_inputs() {
    let test = done(started(1), &read(&SPREAD));
    let operating = test.operating.as_ref().expect("an operating temperature");
    let (mean, expanded) = (operating.mean_figure(&test.trips), operating.expanded_figure());
    let mut figures = vec![mean.clone(), expanded.clone(), operating.u_figure(), operating.range_figure(&test.trips)];
    figures.extend(test.trips.iter().filter_map(|trip| trip.temperature).map(|temperature| temperature.figure()));
    let stated = test.judged.limit_result.as_ref().expect("a limit result");
    figures.push(stated.figure());
    figures.extend(test.judged.limits.as_ref().expect("limits").figures());
    for figure in figures {
        assert!(
            !figure.method.formula.is_empty() && !figure.method.source.is_empty() && !figure.inputs.is_empty(),
            "{}",
            figure.method.name
        );
    }
    // An auditor's sum: the counted readings over their number.
    let sum: f64 = mean.inputs.iter().map(|input| input.value).sum();
    assert_close("last digits", sum / 4.0, mean.value);
    // And k · u.
    let inputs = &expanded.inputs;
    assert_close("last digits", inputs[0].value * inputs[2].value, expanded.value);
}
