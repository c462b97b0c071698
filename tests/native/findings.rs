//! What a run says, from its marks and readings alone.

use crate::sample::{Climb, Phone, c, found, id, k, read, started};
use crate::tolerances::assert_close;
use soakbook::book::body::{Body, Ending, Fault, Started};
use soakbook::book::entry::Hash;
use soakbook::findings::{
    AsRead, LimitsSource, Missing, NoLimits, NoOperating, Odd, Operated, Remark, Unknown, before,
};
use soakbook::stats::Statement;
use soakbook::trade::detector::{LimitsFrom, Marking};
use soakbook::trade::kind::{Class, Kind};
use soakbook::trade::procedure::{OwnLimits, Procedure};
use soakbook::units::{Degree, Difference, Reading};

const SPREAD: [&str; 5] = ["80.0", "88.1", "87.6", "88.4", "87.9"];

/// A first trip that does not count, then four alike.
fn equal(text: &str) -> Vec<Climb> {
    read(&["80.0", text, text, text, text])
}

fn done(started: Started, climbs: &[Climb]) -> soakbook::findings::RunFindings {
    found(started, climbs, Ending::Done)
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
    start.head.metrology.calibration_u = Some(k("0.5"));
    start.head.metrology.coupling_u = Some(k("0.5"));
    let run = done(start, &read(&["80.0", "88.0", "90.0"]));
    let operating = run.operating.as_ref().expect("an operating temperature");
    assert_close("last digits", operating.u.0, 1.5_f64.sqrt());
    assert_eq!(operating.df, Some(2.0));
    assert_close("quantile", operating.expanded.0, 5.269651864139674);
    let stated = run.judged.statement.expect("a statement");
    assert_close("probability", stated.p_conform, 0.8918441696333428);
    assert_eq!(stated.statement, Statement::ConditionalPass);
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
fn one_counted_trip_has_an_uncertainty_but_carries_no_statement() {
    // The same sum as for equal readings: one reading has no spread, only its rounding.
    let mut start = started(1);
    start.procedure.trips = 2;
    let run = done(start, &read(&["80.0", "88.0"]));
    let operating = run.operating.as_ref().expect("an operating temperature");
    assert_close("quantile", operating.expanded.0, 0.9816139367681385);
    assert_eq!(operating.unknown, [Unknown::Spread]);
    assert_eq!(run.judged.as_read, Some(AsRead::Within));
    assert_eq!(run.judged.statement, Err(vec![Missing::Part(Unknown::Spread)]));
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
    let climbs: Vec<Climb> = ["180", "190", "191", "189", "190"].iter().map(|text| Climb::Read(f(text))).collect();
    let run = done(start, &climbs);
    let operating = run.operating.as_ref().expect("an operating temperature");
    assert_close("last digits", operating.mean.0, 87.77777777777777);
    assert_close("last digits", operating.u.0, 0.5490358177916137);
    assert_close("quantile", operating.expanded.0, 1.0888830516224801);
    assert_eq!(run.trips[1].reading, Some(f("190")), "the display is kept as it was read");
    let limits = run.judged.limits.as_ref().expect("limits");
    assert_close("printed 4 decimals", limits.lower().expect("a lower limit").0, 77.7778);
    assert_close("printed 4 decimals", limits.upper().expect("an upper limit").0, 97.7778);
    assert_eq!(run.judged.statement.expect("a statement").statement, Statement::Pass);
}

#[test]
fn the_statement_draws_the_limits_in_and_out_by_the_expanded_uncertainty() {
    fn check(reading: &str, expected: Statement, as_read: AsRead) {
        let run = done(started(1), &equal(reading));
        assert_eq!(run.judged.as_read, Some(as_read), "{reading}");
        assert_eq!(run.judged.statement.expect("a statement").statement, expected, "{reading}");
    }
    // ILAC-G8:09/2019, figure 5, by hand with limits 85 °C to 92 °C and U = 0.98 K (above): acceptance 85.98 to 91.02,
    // rejection below 84.02 and above 92.98.
    check("88.0", Statement::Pass, AsRead::Within);
    check("91.0", Statement::Pass, AsRead::Within);
    check("91.1", Statement::ConditionalPass, AsRead::Within);
    check("92.0", Statement::ConditionalPass, AsRead::Within);
    check("92.1", Statement::ConditionalFail, AsRead::Outside);
    check("92.9", Statement::ConditionalFail, AsRead::Outside);
    check("93.0", Statement::Fail, AsRead::Outside);
    check("86.0", Statement::Pass, AsRead::Within);
    check("85.9", Statement::ConditionalPass, AsRead::Within);
    check("84.1", Statement::ConditionalFail, AsRead::Outside);
    check("84.0", Statement::Fail, AsRead::Outside);
}

#[test]
fn the_conformance_probability_is_that_of_the_published_example() {
    // JCGM 106:2012, 7.4: y = 13.6, u = 1.8, limits 12.5 and 16.3 give p = 0.66. Here as °C, on a display so fine that its
    // step does not show.
    let mut start = started(1);
    start.head.metrology.calibration_u = Some(k("1.8"));
    start.head.metrology.coupling_u = Some(k("0"));
    start.head.heating.resolution = Some(k("0.001"));
    start.detector.marking.rating = Some(c("14.0"));
    start.detector.marking.minus = Some(k("-1.5"));
    start.detector.marking.plus = Some(k("2.3"));
    let stated = done(start, &equal("13.600")).judged.statement.expect("a statement");
    assert_close("printed 2 decimals", stated.p_conform, 0.66);
    assert_eq!(stated.statement, Statement::ConditionalPass);
}

#[test]
fn whatever_is_missing_for_a_statement_is_named() {
    fn check(change: impl Fn(&mut Started), climbs: &[Climb], how: Ending, expected: &[Missing]) {
        let mut start = started(1);
        change(&mut start);
        assert_eq!(found(start, climbs, how).judged.statement, Err(expected.to_vec()));
    }
    let climbs = equal("88.0");
    // Expected: the conditions of design section 6, items 3 to 5.
    check(|s| s.head.metrology.calibration_u = None, &climbs, Ending::Done, &[Missing::Part(Unknown::Calibration)]);
    check(|s| s.head.metrology.coupling_u = None, &climbs, Ending::Done, &[Missing::Part(Unknown::Coupling)]);
    check(|s| s.head.heating.resolution = None, &climbs, Ending::Done, &[Missing::Part(Unknown::Resolution)]);
    check(|s| s.seen_by.delay_ms = 2000, &climbs, Ending::Done, &[Missing::Part(Unknown::NoticeDelay)]);
    check(|s| s.seen_by.delay_u_ms = 500, &climbs, Ending::Done, &[Missing::Part(Unknown::NoticeDelay)]);
    check(|s| s.detector.marking.rating = None, &climbs, Ending::Done, &[Missing::Limits(NoLimits::NoRating)]);
    check(
        |s| (s.detector.marking.minus, s.detector.marking.plus) = (None, None),
        &climbs,
        Ending::Done,
        &[Missing::Limits(NoLimits::NoTolerance)],
    );
    check(|_| {}, &climbs[..4], Ending::Enough, &[Missing::FewerTrips { counted: 3, wanted: 4 }]);
    check(
        |s| s.procedure = Procedure { confirmed: true, ..Procedure::response_template() },
        &climbs[..1],
        Ending::Done,
        &[Missing::ResponseCheck, Missing::Part(Unknown::Spread)],
    );
    check(|_| {}, &climbs, Ending::HeadTrouble, &[Missing::Operating(NoOperating::Stopped(Ending::HeadTrouble))]);
}

#[test]
fn what_is_missing_says_what_to_do() {
    for part in [Unknown::Calibration, Unknown::Coupling, Unknown::Resolution] {
        assert!(part.to_string().contains("Register"), "{part}");
    }
    assert!(Missing::FewerTrips { counted: 3, wanted: 4 }.to_string().starts_with("3 of 4 trips"));
}

#[test]
fn a_counted_climb_without_a_trip_leaves_no_mean() {
    let mut climbs = equal("88.0");
    climbs[2] = Climb::NoTrip;
    let run = done(started(1), &climbs);
    assert_eq!(run.operating, Err(NoOperating::ClimbWithoutTrip(vec![3])));
    assert_eq!(run.judged.as_read, None);
    assert!(matches!(run.operated, Operated::Yes { first_at: 100_000 }));
    assert_eq!(run.odd, Some(Odd::LookAgain));
}

#[test]
fn a_counted_trip_without_a_reading_leaves_no_mean() {
    let mut climbs = equal("88.0");
    climbs[3] = Climb::NotRead;
    assert_eq!(done(started(1), &climbs).operating, Err(NoOperating::NotRead(vec![4])));
    // The first trip does not count, so its reading is not missed.
    let mut climbs = equal("88.0");
    climbs[0] = Climb::NotRead;
    assert!(done(started(1), &climbs).operating.is_ok());
}

#[test]
fn a_full_soak_without_a_trip_did_not_operate() {
    let run = found(started(1), &[Climb::NoTrip], Ending::DidNotOperate);
    // By hand: the setting of 90 °C and 4 K above it.
    assert!(matches!(run.operated, Operated::No { up_to } if (up_to.0 - 94.0).abs() < 1e-9), "{:?}", run.operated);
    assert_eq!(run.odd, Some(Odd::DidNotOperate));
    let run = found(started(1), &[Climb::NoTrip], Ending::SiteAsked);
    assert_eq!(run.operated, Operated::NotDecided { ending: Ending::SiteAsked });
}

#[test]
fn limits_of_the_procedure_stand_before_those_of_the_detector() {
    let mut start = started(1);
    start.procedure.limits = Some(OwnLimits { minus: k("-1"), plus: k("1") });
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
    start.detector.marking.kind = Kind::RateOfRise;
    assert_eq!(done(start, &equal("88.0")).judged.limits, Err(NoLimits::NoSetPoint));
}

#[test]
fn what_a_head_cannot_decide_is_known_before_the_start() {
    fn check(setting: &str, tolerance: (&str, &str), upwards: Option<f64>, no_plain_pass: bool) {
        let mut start = started(1);
        start.head.setting = c(setting);
        start.detector.marking.minus = Some(k(tolerance.0));
        start.detector.marking.plus = Some(k(tolerance.1));
        let remarks = before(&start.head, &start.detector.marking, &start.procedure);
        let sure = remarks.iter().find(|remark| matches!(remark, Remark::CannotDecideUpwards { .. }));
        assert_eq!(sure.is_some(), upwards.is_some(), "{setting} {tolerance:?}");
        if let (Some(remark), Some(expected)) = (sure, upwards) {
            assert_close("last digits", remark.figure().value, expected);
        }
        assert_eq!(remarks.iter().any(|remark| matches!(remark, Remark::NoPlainPass { .. })), no_plain_pass);
        let after = done(start, &equal("88.0")).judged.remarks;
        assert_eq!(after.len(), remarks.len(), "the same is said with the result");
    }
    // By hand: H is the setting and 4 K, U(H) = 1.959963984540054 · √(0.3² + 0.4²) = 0.979981992270027 (scipy 1.17.1,
    // stats.norm.ppf(0.975)), so 94 − 0.98 is above 92 and 92 − 0.98 is not. 2 U = 1.96 K against 7 K and 1.8 K.
    check("90", ("-3", "4"), None, false);
    check("88", ("-3", "4"), Some(92.0 - 0.979981992270027), false);
    check("90", ("-0.9", "0.9"), None, true);
    // The head would do, and one of the trips lies 6 K beside the others: only looking again helps.
    let scattered = done(started(1), &read(&["88.0", "88.0", "88.0", "82.0", "88.0"])).judged.remarks;
    let said =
        scattered.iter().map(ToString::to_string).find(|said| said.starts_with("no plain pass")).expect("a remark");
    assert!(said.ends_with("look again") && !said.contains("calibration"), "{said}");
}

#[test]
fn a_corrected_marking_judges_a_second_time_and_the_first_stays() {
    let mut phone = Phone::new();
    let run = phone.run(started(1), &equal("93.0"), Ending::Done);
    let marking = Marking { rating: Some(c("91")), ..started(1).detector.marking };
    let reason = Hash::of(b"reason");
    let correction = phone.in_round(Body::MarkingCorrected { run, marking: marking.into(), reason });
    let found = phone.round().runs.remove(0);
    assert_eq!(found.judged.as_read, Some(AsRead::Outside));
    let [again] = &found.judged_again[..] else { panic!("one correction") };
    assert_eq!((again.corrected_by, again.as_read), (Some(correction), Some(AsRead::Within)));
    assert_eq!(found.odd, None, "the correction holds");
    phone.in_round(Body::Undone { target: correction });
    let found = phone.round().runs.remove(0);
    assert!(found.judged_again.is_empty());
    assert_eq!(found.odd, Some(Odd::Fail));
}

#[test]
fn odd_runs_come_first_and_as_left_follows_as_found() {
    let mut phone = Phone::new();
    phone.run(started(1), &equal("88.0"), Ending::Done);
    phone.run(started(2), &equal("93.0"), Ending::Done);
    phone.run(started(3), &[Climb::NoTrip], Ending::DidNotOperate);
    let follows = Started { follows: Some(id(2)), detector: started(2).detector, ..started(4) };
    phone.run(follows, &equal("88.0"), Ending::Done);
    let faulty = phone.run(started(5), &equal("88.0"), Ending::Done);
    let detector = id(1005);
    phone.in_round(Body::DeficiencyFound { detector, run: Some(faulty), fault: Fault::WrongPoint, note: None });
    let round = phone.round();
    let order: Vec<_> = round.runs.iter().map(|found| (found.run, found.odd)).collect();
    assert_eq!(
        order,
        [
            (id(3), Some(Odd::DidNotOperate)),
            (id(2), Some(Odd::Fail)),
            (id(5), Some(Odd::WrongPoint)),
            (id(1), None),
            (id(4), None),
        ]
    );
    let replaced = round.detectors.iter().find(|runs| runs.detector == id(1002)).expect("the detector");
    assert_eq!((&replaced.as_found[..], &replaced.as_left[..]), (&[id(2)][..], &[id(4)][..]));
}

#[test]
fn every_figure_opens_to_formula_source_and_inputs() {
    let run = done(started(1), &read(&SPREAD));
    let operating = run.operating.as_ref().expect("an operating temperature");
    let (mean, expanded) = (operating.mean_figure(&run.trips), operating.expanded_figure());
    let mut figures = vec![mean.clone(), expanded.clone(), operating.u_figure(), operating.range_figure(&run.trips)];
    figures.extend(run.trips.iter().filter_map(|trip| trip.temperature).map(|temperature| temperature.figure()));
    let stated = run.judged.statement.as_ref().expect("a statement");
    figures.push(stated.figure());
    figures.extend(run.judged.limits.as_ref().expect("limits").figures());
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
