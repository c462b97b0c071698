//! What the trips of a test say of one another: settling, the first trip.

use crate::sample::{HeatUp, Phone, found, id, k, read, started};
use crate::tolerances::assert_close;
use soakbook::book::body::{Body, Ending, Point, TestStart, What};
use soakbook::book::test::Test;
use soakbook::findings::{Earlier, Operating, TestFindings};
use soakbook::trade::conditions::Warmth;
use soakbook::trade::detector_type::DetectorType;
use soakbook::units::{Degree, Reading};
use std::sync::Arc;

fn done(started: TestStart, heat_ups: &[HeatUp]) -> TestFindings {
    found(started, heat_ups, Ending::Done)
}

fn operating(texts: &[&str]) -> Operating {
    let mut start = started(1);
    start.procedure.trips = texts.len() as u32;
    done(start, &read(texts)).operating.expect("an operating temperature")
}

#[test]
fn trips_that_still_settle_widen_the_uncertainty() {
    // scipy 1.17.1: stats.linregress([2, 3, 4, 5], y): slope 0.39, stderr 0.02645751311064621; stats.t.ppf(0.975, 2) · stderr =
    // 0.11383749100790409. By hand: the drift over four trips is 3 · 0.39 K = 1.17 K, over √12 = 0.33775 K.
    let found = operating(&["80.0", "87.0", "87.4", "87.7", "88.2"]);
    let settling = found.settling.as_ref().expect("a slope");
    assert_close("fit", settling.slope.0, 0.39);
    assert_close("fit", settling.u.0, 0.02645751311064621);
    assert_close("fit", settling.expanded.0, 0.11383749100790409);
    assert!(settling.still);
    assert_close("fit", settling.widens.0, 1.17 / 12.0_f64.sqrt());
    // GTC 1.5.1: ureal(type_a.mean(x), type_a.standard_uncertainty(x), 3) + ureal(0, 0.3) + ureal(0, 0.4) + ureal(0, 1.17/√12):
    // uncertainty 0.6542425645991963, dof 134.36; reporting.k_factor(134, 95) 1.977825758087.
    assert_close("fit", found.u.0, 0.6542425645991963);
    assert_close("fit", found.expanded.0, 1.2939777963012704);
}

#[test]
fn a_slope_that_chance_explains_widens_nothing() {
    // scipy 1.17.1 as above: slope 0.02 against 0.7910330797971371.
    let found = operating(&["80.0", "88.1", "87.6", "88.4", "87.9"]);
    let settling = found.settling.expect("a slope");
    assert_close("fit", settling.slope.0, 0.02);
    assert_close("fit", settling.expanded.0, 0.7910330797971371);
    assert!(!settling.still);
    assert_close("exact", settling.widens.0, 0.0);
}

#[test]
fn a_straight_row_of_readings_is_no_surer_than_the_display() {
    // By hand: residuals are 0, so u(b) = (0.1 K/√12)/√5 = 0.0129 K, and 1.96 of it (GUM table G.2) 0.0253 K, below the 0.1 K of the slope;
    // on a display of whole degrees the same step of 1 K a trip is 0.253 K.
    let check = |texts: &[&str], resolution: &str, slope: f64, expanded: f64, still: bool| {
        let mut start = started(1);
        start.heater.heating.resolution = Some(k(resolution));
        let found = done(start, &read(texts)).operating.expect("an operating temperature");
        let settling = found.settling.expect("a slope");
        assert_close("fit", settling.slope.0, slope);
        assert_close("printed 4 decimals", settling.expanded.0, expanded);
        assert_eq!(settling.still, still);
    };
    check(&["80.0", "88.0", "88.1", "88.2", "88.3"], "0.1", 0.1, 1.959964 * 0.1 / 60.0_f64.sqrt(), true);
    check(&["80", "88", "88", "88", "88"], "1", 0.0, 1.959964 / 60.0_f64.sqrt(), false);
}

#[test]
fn two_trips_have_no_slope() {
    assert_eq!(operating(&["80.0", "87.0", "88.4"]).settling, None);
    assert_eq!(operating(&["80.0", "87.0"]).settling, None);
}

#[test]
fn a_first_trip_from_cold_is_earlier_or_remarked_on() {
    #[track_caller]
    fn check(first: &str, change: impl Fn(&mut TestStart), by: f64, expected: Earlier) -> TestFindings {
        let mut start = started(1);
        change(&mut start);
        let test = done(start, &read(&[first, "88.1", "87.6", "88.4", "87.9"]));
        let trip = test.first.expect("a first trip");
        assert_close("fit", trip.by.0, by);
        // scipy 1.17.1: numpy.std(x, ddof=1) √1.25 = 0.3763863263545443; stats.t.ppf(0.975, 3) of it 1.1978292736663274.
        assert_close("fit", trip.u.expect("its uncertainty").0, 0.3763863263545443);
        assert_close("fit", trip.expanded.expect("its uncertainty").0, 1.1978292736663274);
        assert_eq!(trip.earlier, expected);
        test
    }
    // By hand: the mean is 88.0 °C.
    assert_eq!(check("80.0", |_| {}, 8.0, Earlier::AsExpected).flag, None);
    assert_eq!(check("86.7", |_| {}, 1.3, Earlier::AsExpected).flag, None);
    // A remark: no colour and no retest (rule 0.17).
    assert_eq!(check("86.9", |_| {}, 1.1, Earlier::NotEarlier).flag, None);
    assert_eq!(check("90.0", |_| {}, -2.0, Earlier::NotEarlier).flag, None);
    assert_eq!(check("90.0", |s| s.heater_warmth = Warmth::Warm, -2.0, Earlier::NotFromCold).flag, None);
    assert_eq!(check("90.0", |s| s.detector_warmth = Warmth::Hot, -2.0, Earlier::NotFromCold).flag, None);
    check(
        "90.0",
        |s| s.detector.marking.detector_type = DetectorType::FixedRestorable,
        -2.0,
        Earlier::OtherDetectorType,
    );
}

#[test]
fn a_first_trip_beside_one_counted_trip_proves_nothing() {
    let mut start = started(1);
    start.procedure.trips = 2;
    let first = done(start, &read(&["80.0", "88.0"])).first.expect("a first trip");
    assert_eq!((first.earlier, first.expanded, first.u), (Earlier::NoSpread, None, None));
    assert_close("fit", first.by.0, 8.0);
}

#[test]
fn a_first_trip_that_nobody_read_or_that_counts_is_not_compared() {
    let mut heat_ups = read(&["80.0", "88.0", "88.1", "88.2", "88.0"]);
    heat_ups[0] = HeatUp::NotRead;
    assert_eq!(done(started(1), &heat_ups).first, None);
    let mut start = started(1);
    start.procedure.not_averaged = 0;
    assert_eq!(done(start, &read(&["80.0", "88.0", "88.1", "88.2", "88.0"])).first, None);
}

#[test]
fn of_many_words_and_readings_on_a_trip_the_last_one_counts() {
    for trips in [3_i64, 80] {
        let mut phone = Phone::new();
        phone.in_visit(Body::TestStarted(Arc::new(started(1))));
        let mut said = Vec::new();
        for _ in 0..trips {
            phone.mono += 1_000;
            said.push(phone.in_visit(Body::Mark { of: id(1), what: What::Tripped }));
        }
        // Of each trip twice, the second time the other way round and with other words.
        for (turn, point) in [Point::Wrong, Point::Right].into_iter().enumerate() {
            for (nth, trip) in said.iter().enumerate().map(|(nth, trip)| (nth as i64, *trip)) {
                phone.mono += 1_000;
                let words = Some(format!("{turn} {nth}"));
                phone.in_visit(Body::PanelPoint { trip, point, said: words });
                let reading = Reading { value: turn as i64 * 1_000 + nth, scale: 0, unit: Degree::C };
                phone.in_visit(Body::ReadingTaken { of: id(1), reading, trip: Some(trip) });
            }
        }
        let test = Test::of(&phone.book, id(1)).expect("the test");
        for (nth, trip) in said.iter().enumerate() {
            assert_eq!(test.panel(*trip), Some((Point::Right, Some(format!("1 {nth}")))));
            assert_eq!(test.reading_of(*trip).map(|taken| taken.reading.value), Some(1_000 + nth as i64));
        }
        assert_eq!((test.panel(test.start), test.reading_of(test.start)), (None, None));
    }
}
