//! What the heater profile says of trips: the lag of the indication and temperatures that nobody read.
//!
//! The heater would heat-up 200 K above 20 °C with τ = 300 s and cools with τ = 400 s; it is switched by hand and comes on at 0, 165, 235 and
//! 300 s, off at 120, 190, 255 and 330 s. Its temperatures come from scipy 1.17.1 `integrate.solve_ivp` (DOP853, rtol and atol 1e-12):
//! 20 + f + g with f' = −f/400, and g' = (200 − g)/300 while on; at heat off g is added to f and begins anew from 0. A tap comes half a
//! second after what it marks, so a trip marked at t was noticed at t − 0.5 s.

mod late;

use crate::estimates::{estimate, profile_of_test};
use crate::sample::{PERSON, Phone, c, id, k, started};
use crate::tolerances::assert_close;
use proptest::prelude::*;
use soakbook::book::Id;
use soakbook::book::body::{Body, Ending, ProfileRunStart, TestStart, What};
use soakbook::book::entry::{Hash, Scope};
use soakbook::findings::{AsRead, Earlier, Flag, Missing, NoOperating, TestFindings, Tripped, Unknown, Way, Within};
use soakbook::handover::FindingsJson;
use soakbook::trade::conditions::Warmth;
use soakbook::trade::heater::Cycle;
use soakbook::units::{Degree, Reading};
use std::sync::Arc;

/// When trips are marked, s, one a heat-up.
const MARKED: [i64; 4] = [60, 185, 250, 314];
/// What the display showed then, at t − 0.5 s.
const NOTICED: [f64; 4] = [55.980711582, 88.703262544, 90.917816494, 92.334832801];
/// At t − 2.5 s.
const EARLIER: [f64; 4] = [54.883596673, 87.730951651, 89.951325831, 91.374378307];
/// From t − 3.0 s to t − 2.5 s.
const HALF_A_SECOND: [f64; 4] = [0.275423461, 0.244165702, 0.242711594, 0.241198942];

/// A thousandth of a degree, so that rounding does not hide what is looked at.
fn shown(celsius: f64) -> Reading {
    Reading { value: (celsius * 1_000.0).round() as i64, scale: -3, unit: Degree::C }
}

/// A phone with so many profile runs of the heater, and the entries that ended them, newest first.
fn phone(profile_runs: u128) -> (Phone, Vec<Hash>) {
    let mut phone = Phone::new();
    let ended: Vec<Hash> = (1..=profile_runs).map(|n| profile_run(&mut phone, id(900 + n))).collect();
    (phone, ended.into_iter().rev().collect())
}

fn profile_run(phone: &mut Phone, profile_run: Id) -> Hash {
    let from = phone.mono;
    let heater = start(&[]).heater;
    let begins = ProfileRunStart {
        run: profile_run,
        heater,
        position: None,
        marking: None,
        ambient: c("20"),
        heater_warmth: Warmth::Cold,
        by: None,
    };
    phone.say(Scope::Kit, Body::ProfileRunStarted(Arc::new(begins)));
    let mark = |phone: &mut Phone, at: i64, what: What| {
        phone.mono = from + at;
        phone.say(Scope::Kit, Body::Mark { of: profile_run, what });
    };
    let read = |phone: &mut Phone, at: i64, celsius: f64| {
        phone.mono = from + at;
        phone.say(Scope::Kit, Body::ReadingTaken { of: profile_run, reading: shown(celsius), trip: None });
    };
    mark(phone, 0, What::HeatOn);
    for (time, celsius) in every(15.0, 8, |t| 220.0 - 200.0 * (-t / 300.0).exp()) {
        read(phone, time, celsius);
    }
    mark(phone, 120_000, What::HeaterOff);
    let top = 220.0 - 200.0 * (-0.4_f64).exp();
    for (time, celsius) in every(20.0, 7, |t| 20.0 + (top - 20.0) * (-t / 400.0).exp()) {
        read(phone, 120_000 + time, celsius);
    }
    phone.mono += 1_000;
    phone.say(Scope::Kit, Body::ProfileRunEnded { run: profile_run, usable: true })
}

/// Readings every so many seconds, tapped half a second later.
fn every(step: f64, count: i32, of: impl Fn(f64) -> f64) -> Vec<(i64, f64)> {
    (0..count).map(|n| step * f64::from(n)).map(|t| ((t * 1_000.0) as i64 + 500, of(t))).collect()
}

fn start(profile: &[Hash]) -> TestStart {
    let mut start = started(1);
    start.heater.profile = profile.to_vec();
    start.heater.heating.cycle = Cycle::Manual { heat_up_cold_ms: Some(139_000), heat_up_again_ms: Some(60_000) };
    start.heater.heating.resolution = Some(k("0.001"));
    start.ambient = Some(c("20"));
    start.procedure.trips = 4;
    start
}

fn lagging(profile: &[Hash], lag_ms: i64, lag_u_ms: i64) -> TestStart {
    let mut start = start(profile);
    (start.indication.lag_ms, start.indication.lag_u_ms) = (lag_ms, lag_u_ms);
    start
}

/// A test with a trip a heat-up, and what was read at each.
fn test(phone: &mut Phone, start: TestStart, read: [Option<f64>; 4]) -> TestFindings {
    let (test, from) = (start.test, phone.mono + 1_000);
    phone.mono = from;
    phone.in_visit(Body::TestStarted(Arc::new(start)));
    phone.in_visit(Body::Mark { of: test, what: What::HeatOn });
    let offs = [(120, Some(165)), (190, Some(235)), (255, Some(300)), (330, None)];
    for (((marked, noticed), off), on) in MARKED.into_iter().zip(read).zip(offs.map(|of| of.0)).zip(offs.map(|of| of.1))
    {
        phone.mono = from + marked * 1_000;
        let trip = phone.in_visit(Body::Mark { of: test, what: What::Tripped });
        // From cold it trips far below its rating: somebody said that it is this detector.
        if marked == MARKED[0] {
            phone.in_visit(Body::EarlyTripAnswered { trip, this_detector: true, by: id(PERSON) });
        }
        if let Some(celsius) = noticed {
            phone.in_visit(Body::ReadingTaken { of: test, reading: shown(celsius), trip: Some(trip) });
        }
        phone.mono = from + off * 1_000;
        phone.in_visit(Body::Mark { of: test, what: What::HeaterOff });
        if let Some(on) = on {
            phone.mono = from + on * 1_000;
            phone.in_visit(Body::Mark { of: test, what: What::HeaterOn });
        }
    }
    phone.mono += 1_000;
    phone.in_visit(Body::TestEnded { test, how: Ending::Done });
    let found = phone.visit();
    found.tests.into_iter().find(|found| found.test == test).unwrap()
}

/// Test 1 read with a lag of 2 s ± 0.5 s, test 2 not read.
pub(crate) fn late_and_estimated() -> Phone {
    let (mut phone, profile) = phone(3);
    test(&mut phone, lagging(&profile, 2_000, 500), all_read());
    let start = TestStart { test: id(2), position: started(2).position, ..start(&profile) };
    test(&mut phone, start, [None; 4]);
    phone
}

/// A phone with so many profile runs, and a start on that profile.
pub(crate) fn lagging_start(profile_runs: u128) -> (Phone, TestStart) {
    let (phone, profile) = phone(profile_runs);
    (phone, lagging(&profile, 2_000, 500))
}

/// What a test without a trip says of it, its top temperature seen or not.
pub(crate) fn silent_test((mut phone, start): (Phone, TestStart), at_top: bool) -> Tripped {
    let (test, from) = (start.test, phone.mono + 1_000);
    phone.mono = from;
    phone.in_visit(Body::TestStarted(Arc::new(start)));
    phone.in_visit(Body::Mark { of: test, what: What::HeatOn });
    phone.mono = from + 139_000;
    if at_top {
        phone.in_visit(Body::Mark { of: test, what: What::AtTop });
    }
    phone.mono = from + 200_000;
    phone.in_visit(Body::TestEnded { test, how: Ending::NoTrip });
    phone.visit().tests.remove(0).tripped
}

fn all_read() -> [Option<f64>; 4] {
    NOTICED.map(Some)
}

#[test]
fn a_lag_is_taken_off_by_what_the_heater_rose_in_it() {
    let (mut phone, profile) = phone(3);
    let found = test(&mut phone, lagging(&profile, 2_000, 500), all_read());
    for (index, trip) in found.trips.iter().enumerate() {
        let temperature = trip.temperature.unwrap();
        assert_eq!((temperature.way, trip.reading), (Way::Read, Some(shown(NOTICED[index]))), "kept as displayed");
        let late = temperature.late.unwrap();
        // Half of a thousandth each for the reading and its rounding.
        assert_close("read", temperature.value.0, EARLIER[index]);
        assert_close("path, read", late.rise.0, NOTICED[index] - EARLIER[index]);
        assert_close("path, read", late.by_lag.0, HALF_A_SECOND[index]);
        assert!(late.by_profile.0 >= 0.0 && late.by_profile.0 < 0.05 * late.rise.0, "{late:?}");
    }
    let operating = found.operating.unwrap();
    assert_eq!(operating.unknown, []);
    // numpy 2.4.6: mean of EARLIER[1:] and of the differences and of HALF_A_SECOND[1:].
    assert_close("read", operating.mean.0, 89.68555192960325);
    let late = operating.late.unwrap();
    assert_close("path, read", late.rise.0, 0.9664186834252367);
    assert_close("path, read", late.by_lag.0, 0.24269207928635694);
    // By hand: √(s²/3 + 0.3² + 0.4² + u(late)²), s = numpy.std(EARLIER[1:], ddof=1) = 1.836196142365621; and what settling adds.
    let drift = operating.settling.filter(|settling| settling.still).map_or(0.0, |settling| settling.widens.0);
    let parts = 1.836196142365621_f64.powi(2) / 3.0 + 0.25 + late.u().0.powi(2) + drift * drift;
    assert_close("read", operating.u.0, parts.sqrt());
    assert!(found.judged.limit_result.is_ok(), "the budget is complete");
}

#[test]
fn a_lag_that_all_trips_share_does_not_shrink_with_their_number() {
    let (mut phone, profile) = phone(3);
    let u = |phone: &mut Phone, number: u128, lag_u_ms| {
        let start = TestStart { test: id(number), ..lagging(&profile, 2_000, lag_u_ms) };
        test(phone, start, all_read()).operating.unwrap()
    };
    let (certain, doubtful) = (u(&mut phone, 1, 0), u(&mut phone, 2, 500));
    assert_close("last digits", certain.mean.0, doubtful.mean.0);
    // By hand: the squares differ by the whole of (mean change over u(lag))², whatever n.
    let more = (doubtful.u.0.powi(2) - certain.u.0.powi(2)).sqrt();
    assert_close("path, read", more, 0.24269207928635694);
}

#[test]
fn a_lag_of_nothing_that_is_uncertain_widens_only() {
    let (mut phone, profile) = phone(3);
    let plain = test(&mut phone, start(&profile), all_read()).operating.unwrap();
    let start = TestStart { test: id(2), ..lagging(&profile, 0, 500) };
    let widened = test(&mut phone, start, all_read()).operating.unwrap();
    assert_close("last digits", widened.mean.0, plain.mean.0);
    assert!(widened.u > plain.u, "{:?} {:?}", widened.u, plain.u);
    assert_eq!((widened.late.unwrap().rise.0, plain.late), (0.0, None));
}

#[test]
fn without_profile_or_ambient_the_lag_stays_unknown_and_says_how_to_get_it() {
    let (mut phone, profile) = phone(3);
    let mut no_ambient = lagging(&profile, 2_000, 500);
    no_ambient.ambient = None;
    for (number, start) in [(1, lagging(&[], 2_000, 500)), (2, no_ambient)] {
        let found = test(&mut phone, TestStart { test: id(number), ..start }, all_read());
        let operating = found.operating.as_ref().unwrap();
        assert_eq!((&operating.unknown[..], operating.late), (&[Unknown::Lag][..], None));
        // numpy 2.4.6: mean of NOTICED[1:], each to a thousandth; nothing is taken off.
        assert_close("read", operating.mean.0, 90.65197061302848);
        assert_eq!(found.judged.limit_result, Err(vec![Missing::Part(Unknown::Lag)]));
    }
    assert!(Unknown::Lag.to_string().contains("profile the heater"));
}

#[test]
fn the_heating_rate_at_the_operating_temperature_is_that_of_the_profile() {
    let (mut phone, profile) = phone(3);
    let read = test(&mut phone, start(&profile), all_read());
    let (rate, u) = read.operating.as_ref().unwrap().rate.unwrap();
    // By hand: the mean of NOTICED[1:] lies 129.34802938697152 K below the 220 °C that the heater heat-ups towards with 300 s.
    assert_close("rate of profile runs read", rate.0, 129.34802938697152 / 300.0);
    assert!(0.0 < u.0 && u.0 < 0.01 * rate.0, "{u:?}: three profile runs all alike");
    // One profile run does not know its spread: 12 % of 40 K/min are assumed twice over, in the profile run and in the test.
    let one = test(&mut phone, TestStart { test: id(2), ..start(&profile[..1]) }, all_read());
    let (_, u) = one.operating.unwrap().rate.unwrap();
    assert!(u.0 > 0.2 / 3.0_f64.sqrt() * 2.0_f64.sqrt() * 200.0 / 300.0, "{u:?}");
    for (number, start) in [(3, start(&[])), (4, TestStart { ambient: None, ..start(&profile) })] {
        let found = test(&mut phone, TestStart { test: id(number), ..start }, all_read());
        assert_eq!(found.operating.unwrap().rate, None);
    }
}

#[test]
fn a_hold_reached_within_the_lag_counts_only_the_heat_up_before_it() {
    // By hand: the top temperature of 94 °C is passed at 300 s · ln(200/126) = 138.611 s; T(137.6 s) = 93.5746 °C, so that the heater rose
    // 0.4254 K and not 0.42 K/s · 2 s, when a trip marked at 140.1 s was noticed 2 s late and "at top temperature" was marked at 139.111 s.
    let (mut phone, profile) = phone(3);
    let (test, from) = (id(1), phone.mono + 1_000);
    phone.mono = from;
    phone.in_visit(Body::TestStarted(Arc::new(lagging(&profile, 2_000, 0))));
    phone.in_visit(Body::Mark { of: test, what: What::HeatOn });
    for (at, what) in [(139_111, What::AtTop), (140_100, What::Tripped), (160_000, What::Tripped)] {
        phone.mono = from + at;
        phone.in_visit(Body::Mark { of: test, what });
    }
    phone.mono += 1_000;
    phone.in_visit(Body::TestEnded { test, how: Ending::StoppedEarly });
    let trips = phone.visit().tests.remove(0).trips;
    let rise = |index: usize| trips[index].temperature.unwrap().late.unwrap().rise.0;
    assert_close("read", rise(0), 0.4254);
    assert_close("exact", rise(1), 0.0);
}

#[test]
fn nothing_rests_on_a_profile_that_a_reading_contradicts() {
    let (mut phone, profile) = phone(3);
    // By hand: at the third trip the profile has 90.9 °C, and 60 °C was read.
    let slip = |third| [Some(NOTICED[0]), Some(NOTICED[1]), Some(60.0), third];
    let found = test(&mut phone, lagging(&profile, 2_000, 500), slip(Some(NOTICED[3])));
    // The slip is also far below the rating, and nobody said whose trip that was.
    assert_eq!(found.judged.limit_result, Err(vec![Missing::Part(Unknown::Lag), Missing::EarlyTrip]));
    let late = found.trips.iter().filter_map(|trip| trip.temperature.unwrap().late).count();
    let operating = found.operating.unwrap();
    assert_eq!((operating.late, operating.rate, late), (None, None, 0), "none is corrected");
    // Nor does the profile say where a trip was that nobody read.
    let found = test(&mut phone, TestStart { test: id(2), ..start(&profile) }, slip(None));
    assert_eq!(found.operating, Err(NoOperating::NotRead(vec![4])));
}

#[test]
fn trips_that_nobody_read_are_estimated_and_decide_nothing() {
    let (mut phone, profile) = phone(3);
    let found = test(&mut phone, start(&profile), [None; 4]);
    let trips = || found.trips.iter().map(|trip| trip.temperature.unwrap());
    for (temperature, expected) in trips().zip(NOTICED) {
        assert_eq!(temperature.way, Way::Estimated);
        assert_close("path of profile runs read", temperature.value.0, expected);
    }
    let operating = found.operating.as_ref().unwrap();
    assert_eq!((operating.n, operating.estimated, operating.complete()), (3, 3, true));
    assert_close("path of profile runs read", operating.mean.0, 90.65197061302848);
    // By hand: each trip's own is √(u² − 0.3²); the profile errs in one direction at all of them, so they are averaged as they are.
    let own: f64 = trips().skip(1).map(|of| (of.u.0.powi(2) - 0.09).sqrt()).sum();
    assert_close("fit", operating.profile.unwrap().0, own / 3.0);
    assert_eq!(operating.settling, None, "a slope of estimates is one of the profile");
    assert!(operating.u > operating.profile.unwrap());
    assert_eq!(found.judged.as_read, None, "as read is of readings");
    assert_eq!(found.judged.limit_result, Err(vec![Missing::Estimated { estimated: 3, of: 3 }]));
    assert!(Missing::Estimated { estimated: 3, of: 3 }.to_string().contains("read the display"));
    let mut json = FindingsJson::default();
    json.add(&phone.visit());
    let json = json.tests.remove(0);
    assert_eq!((&json["operating"]["estimated"], &json["trips"][1]["from"]), (&3.into(), &"estimate".into()));
}

#[test]
fn one_estimate_among_readings_leaves_no_statement_and_no_profile_leaves_no_mean() {
    let (mut phone, profile) = phone(3);
    let one = [Some(NOTICED[0]), Some(NOTICED[1]), None, Some(NOTICED[3])];
    let found = test(&mut phone, start(&profile), one);
    let operating = found.operating.as_ref().unwrap();
    assert_eq!((operating.n, operating.estimated), (3, 1));
    assert_eq!((found.judged.as_read, found.judged.limit_result.is_ok()), (None, false));
    let found = test(&mut phone, TestStart { test: id(2), ..start(&[]) }, one);
    assert_eq!(found.operating, Err(NoOperating::NotRead(vec![3])));
}

#[test]
fn families_of_estimates_and_of_readings_stand_apart() {
    let (mut phone, profile) = phone(3);
    for (number, read) in [(1, all_read()), (2, [None; 4]), (3, all_read()), (4, [None; 4])] {
        let start = TestStart { test: id(number), position: started(number).position, ..start(&profile) };
        test(&mut phone, start, read);
    }
    let families = phone.visit().families;
    let members = |estimated| {
        let family = families.iter().find(|family| family.estimated == estimated).unwrap();
        family.members.iter().map(|member| member.test).collect::<Vec<_>>()
    };
    assert_eq!((families.len(), members(false), members(true)), (2, vec![id(1), id(3)], vec![id(2), id(4)]));
}

#[test]
fn among_estimates_its_own_uncertainty_counts_however_many_they_are() {
    let (mut phone, profile) = phone(3);
    for number in 1..=15 {
        let TestStart { position, detector, .. } = started(number);
        let mut start = TestStart { test: id(number), position, detector, ..start(&profile) };
        // A heater that starts a little warmer is a little warmer at its trips.
        start.ambient = Some(c(if number == 15 { "20.2" } else { "20" }));
        test(&mut phone, start, [None; 4]);
    }
    let family = phone.visit().families.remove(0);
    let unlike: Vec<_> = family.unlike().map(|(member, within)| (member.test, within)).collect();
    assert_eq!((family.estimated, unlike), (true, vec![(id(15), Within::Itself)]));
    assert!(family.members.iter().any(|member| member.esd) && family.flagged().count() == 0);
}

#[test]
fn the_estimate_of_a_finding_is_that_of_the_test_screen() {
    let (mut phone, profile) = phone(3);
    let found = test(&mut phone, start(&profile), [None; 4]);
    let test = soakbook::book::test::Test::of(&phone.book, found.test).unwrap();
    let profile = profile_of_test(&phone.book, &test).unwrap();
    for trip in &found.trips {
        let timeline = soakbook::book::timeline::Timeline::of(&test, trip.at - 500);
        let live = estimate(&test, &timeline, &profile, trip.at - 500).unwrap();
        assert_close("last digits", trip.temperature.unwrap().value.0, live.value.0);
    }
}

#[test]
fn a_first_trip_that_nobody_read_is_compared_by_its_estimate() {
    let (mut phone, profile) = phone(3);
    let mut read = all_read();
    read[0] = None;
    let found = test(&mut phone, start(&profile), read);
    assert_eq!(found.operating.as_ref().unwrap().estimated, 0, "it does not count");
    let first = found.first.unwrap();
    assert!(first.estimated);
    // By hand: mean of NOTICED[1:] less NOTICED[0].
    assert_close("read", first.by.0, 90.65197061302848 - 55.980711582);
    // By hand: √(s²(1 + 1/3) + u(T)²), s = numpy 2.4.6 std(NOTICED[1:], ddof=1) = 1.8303226918436717; calibration and fit drop out.
    let own = found.trips[0].temperature.unwrap().u.0.powi(2) - 0.09;
    assert_close("read", first.u.unwrap().0, (1.8303226918436717_f64.powi(2) * 4.0 / 3.0 + own).sqrt());
    assert_eq!(first.earlier, Earlier::AsExpected);
}

#[test]
fn an_estimate_is_never_worse_than_anywhere() {
    // One profile run alone; by hand (94 − 20)/√12 = 21.362 K.
    let (mut phone, profile) = phone(1);
    let found = test(&mut phone, start(&profile), [None; 4]);
    let own = |index: usize| (found.trips[index].temperature.unwrap().u.0.powi(2) - 0.09).sqrt();
    (0..4).for_each(|index| assert!(own(index) > 0.5 && own(index) <= 21.363, "{index}: {}", own(index)));
}

#[test]
fn a_poor_estimate_of_the_first_trip_asks_for_no_second_test() {
    // One profile run alone is widened by the supply it has not seen: ± 10 % of the voltage are ± 20 % of the rate.
    let (mut phone, profile) = phone(1);
    let mut start = start(&profile);
    start.detector.marking.rating = Some(c("57"));
    let found = test(&mut phone, start.clone(), [None, Some(57.0), Some(57.1), Some(57.2)]);
    assert_eq!(found.first.unwrap().earlier, Earlier::NotSure);
    assert_ne!(found.flag, Some(Flag::Retest));
    // Read, the same difference says what it always said.
    let read = [Some(57.1), Some(57.0), Some(57.1), Some(57.2)];
    let found = test(&mut phone, TestStart { test: id(2), ..start }, read);
    assert_eq!(found.first.unwrap().earlier, Earlier::NotEarlier);
    // That is a remark: no reason to test again (rule 0.17).
    assert_ne!(found.flag, Some(Flag::Retest));
}

#[test]
fn the_lag_drops_out_of_the_first_trip_as_far_as_the_heater_rises_as_fast() {
    let (mut phone, profile) = phone(3);
    let first = |phone: &mut Phone, number: u128, lag_u_ms| {
        let start = TestStart { test: id(number), ..lagging(&profile, 2_000, lag_u_ms) };
        test(phone, start, all_read()).first.unwrap()
    };
    let (certain, doubtful) = (first(&mut phone, 1, 0), first(&mut phone, 2, 500));
    // numpy 2.4.6: mean of EARLIER[1:] less EARLIER[0].
    assert_close("read", certain.by.0, 89.68555192960325 - 54.883596673);
    // By hand: HALF_A_SECOND[0] less the mean of the others, 0.275423461 − 0.242692079.
    let more = (doubtful.u.unwrap().0.powi(2) - certain.u.unwrap().0.powi(2)).sqrt();
    assert_close("path, read", more, 0.032731382);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn whatever_is_read_nothing_rests_on_an_estimate(
        read in proptest::array::uniform4(proptest::bool::ANY),
        off in proptest::array::uniform4(-3.0_f64..3.0),
        lag in 0_i64..6_000,
        lag_u in 0_i64..2_000,
    ) {
        let (mut phone, profile) = phone(2);
        let mut shown = NOTICED;
        shown.iter_mut().zip(off).for_each(|(shown, off)| *shown += off);
        let given = [0, 1, 2, 3].map(|index| Some(shown[index]).filter(|_| read[index]));
        let plain = test(&mut phone, start(&profile), given);
        let late = test(&mut phone, TestStart { test: id(2), ..lagging(&profile, lag, lag_u) }, given);
        let unread = read[1..].iter().filter(|read| !**read).count();
        for found in [&plain, &late] {
            let Ok(operating) = &found.operating else {
                // Too many readings beside what the profile says: then it says nothing of the trips that were not read.
                prop_assert!(unread > 0 && matches!(found.operating, Err(NoOperating::NotRead(_))), "{:?}", found.operating);
                return Ok(());
            };
            prop_assert_eq!(operating.estimated, unread);
            prop_assert_eq!(found.judged.as_read.is_none(), unread > 0);
            prop_assert!(unread == 0 || found.judged.limit_result.is_err());
            let mean = found.trips[1..].iter().map(|trip| trip.temperature.unwrap().value.0).sum::<f64>() / 3.0;
            prop_assert!((operating.mean.0 - mean).abs() < 1e-9);
            prop_assert!(operating.u.0.is_finite() && operating.expanded >= operating.u);
        }
        // A lag moves trips to colder heaters while they heat-up, and never makes a trip surer.
        for (plain, late) in plain.trips.iter().zip(&late.trips) {
            let (plain, late) = (plain.temperature.unwrap(), late.temperature.unwrap());
            prop_assert!(late.value.0 <= plain.value.0 + 1e-9 && late.u.0 >= plain.u.0 - 1e-9, "{:?} {:?}", plain, late);
            let rise = late.late.unwrap().rise;
            prop_assert!((late.value.0 + rise.0 - plain.value.0).abs() < 1e-9);
        }
    }
}

#[test]
fn as_read_is_by_the_corrected_mean() {
    let (mut phone, profile) = phone(3);
    let mut start = lagging(&profile, 2_000, 0);
    start.detector.marking.plus = Some(k("2.1"));
    // By hand: without the lag 90.65 °C is outside of 90.1 °C, with it 89.69 °C is within.
    let found = test(&mut phone, start.clone(), all_read());
    assert_eq!(found.judged.as_read, Some(AsRead::Within));
    (start.test, start.indication.lag_ms) = (id(2), 0);
    let found = test(&mut phone, start, all_read());
    assert_eq!(found.judged.as_read, Some(AsRead::Outside));
}
