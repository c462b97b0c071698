//! What the Findings screen says of tests side by side, and of one test beside its operating temperature.

use crate::sample::{HeatUp, Phone, VISIT, c, id, k, read, started};
use soakbook::book::body::{Ending, TestStart};
use soakbook::book::register::Register;
use soakbook::book::test::Test;
use soakbook::book::visit::Visit;
use soakbook::trade::detector::Marking;
use soakbook::trade::procedure::Procedure;
use soakbook::units::Degree;
use soakbook::view::before::{marked, remarks};
use soakbook::view::findings::family::FamilyView;
use soakbook::view::findings::one::OneTest;
use soakbook::view::findings::{FindingsScreen, Sign};
use soakbook::view::words;

const APART: [&str; 8] = ["88.0", "88.2", "87.9", "88.1", "88.3", "87.8", "88.0", "92.0"];

fn phone(means: &[&str], change: impl Fn(u128, &mut TestStart)) -> Phone {
    let mut phone = Phone::new();
    for (test, mean) in (1..).zip(means) {
        let mut start = started(test);
        change(test, &mut start);
        phone.test(start, &read(&["80.0", mean, mean, mean, mean]), Ending::Done);
    }
    phone
}

fn screen(phone: &Phone) -> FindingsScreen {
    let visit = Visit::of(&phone.book, id(VISIT)).expect("a visit");
    FindingsScreen::of(&Register::of(&phone.book), &visit, &phone.visit())
}

fn family(means: &[&str], unit: Degree) -> FamilyView {
    families(&phone(means, |_, _| {}), unit).remove(0)
}

fn families(phone: &Phone, unit: Degree) -> Vec<FamilyView> {
    screen(phone).areas[0].families(&phone.visit(), unit)
}

fn one(phone: &Phone, test: u128) -> OneTest {
    let test = Test::of(&phone.book, id(test)).expect("a test");
    let visit = Visit::of(&phone.book, test.visit).expect("a visit");
    let all = phone.visit();
    let found = all.tests.iter().find(|found| found.test == test.id).expect("its findings");
    OneTest::of(&phone.book, &visit, &test, found, Degree::C, 0).among(found, &all.families, Degree::C)
}

#[test]
fn an_outlier_is_named_and_listed_for_retest() {
    let phone = phone(&APART, |_, _| {});
    let screen = screen(&phone);
    let family = &families(&phone, Degree::C)[0];
    assert_eq!(family.title, "Rate-compensated · 88 °C · Set-point test · as found");
    assert_eq!(family.words, ["Outlier: D-8. Retest (cut-off 4.94)."]);
    // By hand in the tests of the findings: 4.0 K ± 0.98 K, score 14.9.
    let last = family.rows.last().expect("rows");
    assert_eq!(last.detail, "+4.00 °C ± 0.98 °C · score 14.9 · outlier");
    assert!(last.flagged);
    assert_eq!(family.rows[0].detail, "−0.20 °C ± 0.98 °C · score −0.9");
    let named: Vec<_> = family.plot.dots.iter().filter_map(|dot| dot.flag.as_deref()).collect();
    assert_eq!(named, ["D-8"]);
    let retest: Vec<_> = screen.retest.iter().map(|row| (row.tag.as_str(), row.why.as_str())).collect();
    assert_eq!(retest, [("D-8", "reads unlike the rest of the area")]);
    let first = &screen.areas[0].rows(&phone.visit(), Degree::C, 0, usize::MAX)[0];
    assert_eq!((first.tag.as_str(), first.sign, first.word), ("D-8", Sign::Again, "Outlier"));
}

#[test]
fn the_retest_of_an_outlier_stands_for_it_and_takes_it_off_the_list() {
    let mut phone = phone(&APART, |_, _| {});
    let again = TestStart { follows: Some(id(8)), position: started(8).position, ..started(9) };
    phone.test(again, &read(&["80.0", "88.0", "88.0", "88.0", "88.0"]), Ending::Done);
    let screen = screen(&phone);
    assert_eq!(screen.retest, []);
    assert!(screen.areas[0].rows(&phone.visit(), Degree::C, 0, usize::MAX).iter().all(|row| row.word != "Outlier"));
    assert_eq!(families(&phone, Degree::C)[0].rows.len(), 8);
}

#[test]
fn a_deviation_is_a_difference_in_either_unit() {
    // NIST SP 811 B.9: 4 K is 7.2 °F and 0.98 K 1.8 °F as differences; as points they would be 39.2 °F and 33.8 °F.
    let family = family(&APART, Degree::F);
    assert_eq!(family.rows.last().expect("rows").detail, "+7.2 °F ± 1.8 °F · score 14.9 · outlier");
    assert_eq!(family.plot.axis, "Deviation from the rating, °F");
    assert!(family.plot.label.contains("median 0.1 °F, flagged: D-8"), "{}", family.plot.label);
}

#[test]
fn the_plot_holds_limits_median_band_and_every_dot() {
    // By hand: limits −3 and +4 K and the deviations −0.2 to 4.0 K span 7 K; steps of 2 K, 0.8 K of room at each end: −3.8 to 4.8 K.
    let plot = family(&APART, Degree::C).plot;
    let place = |kelvin: f64| (kelvin + 3.8) / 8.6;
    let near = |found: f64, kelvin: f64| assert!((found - place(kelvin)).abs() < 1e-9, "{found} for {kelvin} K");
    near(plot.limits[0], -3.0);
    near(plot.limits[1], 4.0);
    near(plot.median, 0.05);
    near(plot.dots[0].at, -0.2);
    near(plot.dots[7].at, 4.0);
    let texts: Vec<_> = plot.ticks.iter().map(|(_, text)| text.as_str()).collect();
    assert_eq!(texts, ["−2", "0", "+2", "+4"]);
    plot.ticks.iter().zip([-2.0, 0.0, 2.0, 4.0]).for_each(|((at, _), kelvin)| near(*at, kelvin));
    let (low, high) = plot.band.expect("a band");
    assert!(place(-1.27) < low && low < place(-1.25) && place(1.35) < high && high < place(1.37), "{low} {high}");
}

#[test]
fn dots_that_are_close_stand_on_one_another() {
    let plot = family(&["88.0", "88.0", "88.0", "91.0"], Degree::C).plot;
    let lanes: Vec<_> = plot.dots.iter().map(|dot| dot.lane).collect();
    assert_eq!(lanes, [0, 1, 2, 0]);
}

#[test]
fn few_ties_and_alike_ones_are_answered_in_words() {
    #[track_caller]
    fn check(means: &[&str], expected: &[&str]) {
        assert_eq!(family(means, Degree::C).words, expected);
    }
    check(
        &["88.0", "88.2", "91.9"],
        &["3 detectors: fewer than 8 can't tell an outlier from chance: plotted, not flagged."],
    );
    let alike = "More than half are alike: what a step of the display (0.10 °C) may hide is taken as their spread.";
    check(&["88.0"; 8], &["None of 8 is an outlier (cut-off 4.94).", alike]);
    check(
        &["88.0", "88.0", "88.0", "88.0", "88.0", "88.0", "88.0", "88.4"],
        &["None of 8 is an outlier (cut-off 4.94).", alike],
    );
    let mut fifteen =
        vec!["88.0", "88.1", "87.9", "88.2", "87.8", "88.3", "87.7", "88.0", "88.1", "87.9", "88.2", "87.8"];
    fifteen.extend(["88.0", "88.1", "87.9"]);
    check(&fifteen, &["None of 15 is an outlier (cut-off 5.01).", "Generalized ESD names none."]);
}

#[test]
fn one_that_is_unlike_the_rest_within_its_uncertainty_is_remarked_in_grey() {
    let means = ["88.0", "88.0", "88.0", "88.0", "88.0", "88.0", "88.0", "88.4"];
    let phone = phone(&means, |_, _| {});
    let in_unit = |unit| families(&phone, unit).remove(0);
    let family = in_unit(Degree::C);
    // By hand in the tests of the findings: U = 0.98 K, two places.
    assert_eq!(family.unlike, ["D-8 reads 0.40 °C unlike the rest, within its own uncertainty: retest with readings."]);
    // NIST SP 811 B.9: 0.4 K is 0.72 °F as a difference; U = 1.8 °F has one place.
    assert_eq!(
        in_unit(Degree::F).unlike,
        ["D-8 reads 0.7 °F unlike the rest, within its own uncertainty: retest with readings."]
    );
    assert!(family.rows.iter().all(|row| !row.flagged) && family.plot.dots.iter().all(|dot| dot.flag.is_none()));
    let beside = one(&phone, 8).beside.expect("something said");
    assert_eq!(beside.words, "Reads 0.40 °C unlike the rest, within its own uncertainty: retest with readings.");
    assert!(beside.soft && !one(&phone, 1).beside.expect("something said").soft);
    let screen = screen(&phone);
    assert!(screen.retest.is_empty());
    let first = &screen.areas[0].rows(&phone.visit(), Degree::C, 0, usize::MAX)[0];
    assert_eq!(first.sign, Sign::Good);
}

#[test]
fn one_alone_is_not_compared() {
    assert!(families(&phone(&["88.0"], |_, _| {}), Degree::C).is_empty());
}

#[test]
fn limits_that_differ_are_not_drawn() {
    let mixed = phone(&["88.0", "88.1"], |test, start| {
        if test == 2 {
            start.detector.marking.plus = Some(k("2"));
        }
    });
    let family = families(&mixed, Degree::C).remove(0);
    assert!(family.plot.limits.is_empty());
    assert!(
        family.words.iter().any(|words| words.starts_with("No limits that all of them share")),
        "{:?}",
        family.words
    );
}

#[test]
fn a_test_says_how_it_settled_how_its_first_trip_came_and_where_it_stands() {
    let mut phone = phone(&APART, |_, start| start.ambient = Some(c("20")));
    phone.test(started(9), &read(&["80.0", "87.0", "87.4", "87.7", "88.2"]), Ending::Done);
    let plain = one(&phone, 1);
    let words =
        |said: &Option<soakbook::view::findings::said::Said>| said.as_ref().expect("something said").words.clone();
    assert_eq!(words(&plain.settling), "Settled: the slope from trip to trip is within its uncertainty.");
    assert!(words(&plain.first).starts_with("8.00 °C ± 0.06 °C earlier than the counted trips: earlier, as expected"));
    assert!(words(&plain.first).contains("Heater cold, detector cold at the start."));
    assert_eq!(words(&plain.beside), "Does not stand apart from 8 others.");
    assert_eq!(words(&one(&phone, 8).beside), "Outlier among 8 others. Retest.");
    let settling = one(&phone, 9);
    // By hand in the tests of the findings: 0.39 K a trip, 0.11 K of uncertainty.
    let expected =
        "Still settling: 0.39 °C from trip to trip, beyond its uncertainty of 0.11 °C. Counts as extra uncertainty.";
    assert_eq!(words(&settling.settling), expected);
}

#[test]
fn what_cannot_be_decided_is_said_before_the_start() {
    // By hand in the tests of the findings: 92 °C less 0.98 K lies below the limit of 92 °C.
    let mut start = started(1);
    start.heater.setting = c("88");
    let said = remarks(&start);
    assert!(said.len() == 1 && said[0].starts_with("Cannot decide upwards"), "{said:?}");
    start.detector.marking.minus = Some(k("-0.5"));
    start.detector.marking.plus = Some(k("0.5"));
    start.heater.setting = c("90");
    let said = remarks(&start);
    assert!(said.len() == 1 && said[0].starts_with("No clear result is possible"), "{said:?}");
    // What a limit result will lack is said too, not only afterwards.
    (start.heater.metrology.fit_u, start.heater.heating.resolution) = (None, None);
    let said = remarks(&start);
    let lacks = said.last().expect("what is missing");
    assert!(lacks.starts_with("No limit result possible. Missing: heater's fit error"), "{said:?}");
    assert!(lacks.contains("step of the heater's display") && !lacks.contains("calibration"), "{said:?}");
    start.procedure = Procedure::functional();
    assert_eq!(remarks(&start), [""; 0], "a functional test decides no limit");
}

#[test]
fn one_trip_is_one_trip_and_a_minus_is_one_minus() {
    let asked = |trips, not_averaged| words::trips_asked(&Procedure { trips, not_averaged, ..Procedure::functional() });
    assert_eq!(asked(1, 0), "1 trip");
    assert_eq!(asked(5, 1), "5 trips, first not averaged");
    assert_eq!(asked(6, 2), "6 trips, first 2 not averaged");
    // By hand: −3 and 4 K are −5.4 and 7.2 °F.
    let marking = Marking { minus: Some(k("-3")), plus: Some(k("4")), ..started(1).detector.marking };
    let said = marked(&marking, Degree::F);
    assert!(said.contains(" −5.4\u{a0}/\u{a0}+7.2\u{a0}°F"), "{said}");
}

#[test]
fn a_trip_that_nobody_read_leaves_nothing_to_compare() {
    let mut phone = Phone::new();
    phone.test(
        started(1),
        &[HeatUp::NotRead, HeatUp::NotRead, HeatUp::NotRead, HeatUp::NotRead, HeatUp::NotRead],
        Ending::Done,
    );
    let test = one(&phone, 1);
    assert_eq!((test.settling, test.first, test.beside), (None, None, None));
}
