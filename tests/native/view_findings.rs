//! What the Findings and Handover screens say: digits, units, order and words.

use crate::at_trip::late_and_estimated;
use crate::sample::{HeatUp, OTHER_SITE, PERSON, PHONE, Phone, SITE, VISIT, c, id, item, k, read, silent, started};
use soakbook::book::body::{Body, Ending, ItemClosed, ItemClosing, ItemWhat, RetestWhy, TestStart, Who};
use soakbook::book::entries::Book;
use soakbook::book::entry::{Chain, Hash, Scope};
use soakbook::book::register::Register;
use soakbook::book::test::Test;
use soakbook::book::visit::Visit;
use soakbook::findings::{Missing, NoLimits, NoOperating, Unknown, of_test};
use soakbook::handover::{BundleFault, Made, Select, bundle_of, read_bundle};
use soakbook::units::{Degree, Difference, Kelvin, Reading, TestTime, Wall};
use soakbook::view::findings::figure::{decimals, percent};
use soakbook::view::findings::one::OneTest;
use soakbook::view::findings::{FindingsScreen, Sign, missing_short};
use soakbook::view::handover::{self, Fared, HandedOver, Names};
use std::collections::BTreeSet;

/// Mean 88.0 °C with U = 1.038 K, by GTC 1.5.1 as in the tests of the findings.
const SPREAD: [&str; 5] = ["80.0", "88.1", "87.6", "88.4", "87.9"];

fn screen(phone: &Phone) -> FindingsScreen {
    let visit = Visit::of(&phone.book, id(VISIT)).expect("a visit");
    FindingsScreen::of(&Register::of(&phone.book), &visit, &phone.visit())
}

fn one(phone: &Phone, test: u128, unit: Degree) -> OneTest {
    let test = Test::of(&phone.book, id(test)).expect("a test");
    let visit = Visit::of(&phone.book, test.visit).expect("a visit");
    let found = of_test(&phone.book, &test, test.ended.map_or(TestTime(0), |(_, at)| at));
    OneTest::of(&phone.book, &visit, &test, &found, unit, 0)
}

fn phone_with(start: TestStart, heat_ups: &[HeatUp]) -> Phone {
    let mut phone = Phone::new();
    phone.test(start, heat_ups, Ending::Done);
    phone
}

#[test]
fn an_uncertainty_keeps_two_significant_digits_of_the_unit_on_screen() {
    // GUM 7.2.6; the conversions by NIST SP 811 B.9: 0.6 K is 1.08 °F, 6 K is 10.8 °F.
    let cases =
        [(0.6, Degree::C, 2), (0.6, Degree::F, 1), (6.0, Degree::C, 1), (6.0, Degree::F, 0), (0.01, Degree::C, 2)];
    for (u, unit, digits) in cases {
        assert_eq!(decimals(Kelvin(u), unit), digits, "{u} K in {unit:?}");
    }
    // By hand: what rounds up to 10 or to 1 loses a digit with it.
    assert_eq!(decimals(Kelvin(9.96), Degree::C), 0);
    assert_eq!(decimals(Kelvin(0.996), Degree::C), 1);
}

#[test]
fn a_mean_converts_as_a_point_and_its_uncertainty_as_a_difference() {
    // NIST SP 811 B.9: 88.0 °C is 190.4 °F; 1.038 K is 1.869 °F as a difference (and would be 33.9 °F as a point).
    let phone = phone_with(started(1), &read(&SPREAD));
    let celsius = one(&phone, 1, Degree::C).operating.expect("an operating temperature");
    let fahrenheit = one(&phone, 1, Degree::F).operating.expect("an operating temperature");
    assert_eq!((celsius[0].value.as_str(), celsius[0].unit.as_str()), ("88.0", "°C"));
    assert_eq!(celsius[0].spread, "± 1.0 °C (95%)");
    assert_eq!((fahrenheit[0].value.as_str(), fahrenheit[0].unit.as_str()), ("190.4", "°F"));
    assert_eq!(fahrenheit[0].spread, "± 1.9 °F (95%)");
    assert_eq!((fahrenheit[1].value.as_str(), fahrenheit[1].unit.as_str()), ("1.9", "°F"));
}

#[test]
fn a_tolerance_given_as_10_k_is_18_fahrenheit_and_a_limit_is_a_point() {
    // NIST SP 811 B.9: 10 K is 18 °F as a difference; 88 °C + 10 K = 98 °C is 208.4 °F; 88 °C is 190.4 °F.
    let mut start = started(1);
    start.detector.marking.plus = Some(k("10"));
    let test = one(&phone_with(start, &read(&SPREAD)), 1, Degree::F);
    let condition = |name: &str| {
        let found = test.conditions.iter().find(|(of, _)| *of == name);
        found.map(|(_, text)| text.clone()).expect("a condition")
    };
    assert_eq!(condition("Plus tolerance"), "10 °C (18.0 °F)");
    assert_eq!(condition("Rating"), "88 °C (190.4 °F)");
    let limits = &test.judgements[0].limits;
    assert_eq!((limits[1].value.as_str(), limits[1].unit.as_str()), ("208.4", "°F"));
    let input = |name: &str| limits[1].inputs.iter().find(|(of, _)| of == name).map(|(_, text)| text.as_str());
    assert_eq!(input("rating"), Some("190.4 °F"));
    assert_eq!(input("tolerance"), Some("18 °F"));
}

#[test]
fn a_reading_stays_as_displayed() {
    // NIST SP 811 B.9: 190.5 °F is 88.06 °C; u = 0.1/√12 and 0.3 K calibration is 0.30 K (GUM F.2.2.1).
    let mut heat_ups = read(&SPREAD);
    heat_ups[1] = HeatUp::Read(Reading::parse("190.5", Degree::F).expect("a reading"));
    let trips = one(&phone_with(started(1), &heat_ups), 1, Degree::C).trips;
    let shown = trips[1].reading.as_ref().expect("a reading");
    assert_eq!((shown.value.as_str(), shown.unit.as_str()), ("190.5", "°F = 88.06 °C"));
    assert_eq!(trips[0].detail, "not averaged: first trip · right point");
    assert_eq!(trips[1].detail, "counted · right point");
    assert_eq!(trips[0].time, "1:40");
}

#[test]
fn a_trip_nobody_read_shows_no_number() {
    let mut heat_ups = read(&SPREAD);
    heat_ups[2] = HeatUp::NotRead;
    let test = one(&phone_with(started(1), &heat_ups), 1, Degree::C);
    assert_eq!(test.trips[2].reading, None);
    let why = test.operating.expect_err("no operating temperature");
    assert!(why.starts_with("No reading at trip 3"), "{why}");
}

#[test]
fn a_lag_stands_beside_what_was_displayed_and_an_estimate_says_so() {
    // By hand from the numbers in `at_trip`: 88.703 °C was displayed, at the trip it was 87.73 °C, u = √(0.3² + 0.244²) = 0.39 K.
    let phone = late_and_estimated();
    let late = one(&phone, 1, Degree::C);
    let trip = late.trips[1].reading.as_ref().expect("a temperature");
    assert_eq!(
        (trip.label.as_str(), trip.value.as_str(), trip.unit.as_str()),
        ("Trip temperature, read", "88.703", "°C")
    );
    assert_eq!(trip.spread, "at the trip 87.73 °C, u = 0.39 °C");
    let rows = late.operating.expect("an operating temperature");
    let rise = rows.iter().find(|row| row.label == "Rise of the heater before a trip was noticed").expect("a rise");
    assert!(rise.inputs.contains(&("lag of the indication".into(), "2 s".into())), "{:?}", rise.inputs);
    let estimated = one(&phone, 2, Degree::C);
    let trip = estimated.trips[1].reading.as_ref().expect("a temperature");
    assert_eq!((trip.label.as_str(), trip.unit.as_str()), ("Trip temperature, estimated", "°C"));
    assert!(estimated.trips[1].detail.contains("counted · estimated"), "{}", estimated.trips[1].detail);
    assert!(!late.trips[1].detail.contains("estimated"));
    let rows = estimated.operating.expect("an operating temperature");
    assert_eq!(rows[0].label, "Operating temperature, indicative: 3 of 3 trips estimated");
    assert!(estimated.judgements[0].as_read.is_none() && estimated.judgements[0].limit_result.is_none());
    assert!(estimated.judgements[0].missing[0].contains("read the display at every counted trip"));
    let rows = screen(&phone).areas[0].rows(&phone.visit(), Degree::C, 0, usize::MAX);
    let row = rows.iter().find(|row| row.test == id(2)).expect("the test");
    assert!(row.detail.contains(", from estimates · no limit result: trips estimated"), "{}", row.detail);
}

#[test]
fn a_probability_is_never_shown_as_certain() {
    // By hand.
    assert_eq!(percent(0.8918), "89.2");
    assert_eq!(percent(0.99999), "> 99.9");
    assert_eq!(percent(1e-9), "< 0.1");
}

#[test]
fn flagged_ones_come_first_with_their_area() {
    let mut phone = Phone::new();
    let far = id(21);
    let area = soakbook::book::body::Area { site: id(SITE), name: "Annex".into() };
    phone.say(Scope::Site(id(SITE)), Body::Area(soakbook::book::body::Edit::new(far, vec![], area)));
    phone.test(started(1), &read(&SPREAD), Ending::Done);
    phone.test(silent(2), &[HeatUp::NoTrip], Ending::NoTrip);
    let mut there = started(3);
    there.position.place.area = far;
    phone.test(there, &read(&["80", "99", "99", "99", "99"]), Ending::Done);
    let (screen, found) = (screen(&phone), phone.visit());
    let rows = |area: usize| screen.areas[area].rows(&found, Degree::C, 0, usize::MAX);
    let tags = |area: usize| rows(area).into_iter().map(|row| row.tag).collect::<Vec<_>>();
    assert_eq!(screen.areas.iter().map(|area| area.name.as_str()).collect::<Vec<_>>(), ["Hall", "Annex"]);
    assert_eq!(tags(0), ["D-2", "D-1"]);
    assert!(screen.areas[0].flag.ends_with(" · 1 flagged"), "{}", screen.areas[0].flag);
    let worst = &rows(0)[0];
    assert_eq!((worst.sign, worst.word), (Sign::Bad, "No alarm"));
    assert_eq!(worst.detail, "no limit result: no counted trip · as found");
    let good = &rows(0)[1];
    assert_eq!((good.sign, good.word), (Sign::Good, "Passed"));
    assert_eq!(good.detail, "88.0 °C ± 1.0 °C · mean within limits · limits: within · as found");
    // A measurement can be flagged on a detector that passed; the row says both.
    let outside = &rows(1)[0];
    assert_eq!((outside.sign, outside.word), (Sign::Bad, "Outside limits"));
    assert!(outside.detail.starts_with("Passed · 99.0 °C"), "{}", outside.detail);
}

#[test]
fn a_test_says_whether_it_is_as_found_a_retest_or_after_a_repair() {
    let mut phone = Phone::new();
    phone.test(started(1), &read(&SPREAD), Ending::Done);
    let mut second = started(2);
    second.follows = Some(id(1));
    second.position = started(1).position;
    phone.test(second, &read(&SPREAD), Ending::Done);
    assert!(one(&phone, 1, Degree::C).detail.starts_with("As found · "));
    assert!(one(&phone, 2, Degree::C).detail.starts_with("Retest · "));
    let after = Some(Hash::of(b"work"));
    let third = TestStart { follows: Some(id(2)), after, position: started(1).position, ..started(3) };
    phone.test(third, &read(&SPREAD), Ending::Done);
    assert!(one(&phone, 3, Degree::C).detail.starts_with("Repaired, tested again · "));
}

#[test]
fn an_incomplete_budget_says_what_is_missing_and_how_to_get_it() {
    let mut start = started(1);
    start.heater.metrology.calibration_u = None;
    start.detector.marking.plus = None;
    start.detector.marking.minus = None;
    let phone = phone_with(start, &read(&SPREAD));
    let test = one(&phone, 1, Degree::C);
    assert_eq!(test.judgements[0].limit_result, None);
    assert_eq!(test.judgements[0].missing.len(), 2);
    assert!(test.judgements[0].missing[0].ends_with("enter it from the certificate, under Devices."));
    assert!(test.judgements[0].limits_from.starts_with("No tolerance on file: enter "));
    let row = &screen(&phone).areas[0].rows(&phone.visit(), Degree::C, 0, usize::MAX)[0];
    assert_eq!((row.sign, row.word), (Sign::Good, "Passed"));
    assert!(row.detail.contains("or more · no limit result: calibration missing, tolerance missing"), "{}", row.detail);
}

#[test]
fn every_missing_thing_has_words_of_its_own() {
    let operating = [
        NoOperating::Running,
        NoOperating::Stopped(Ending::HeaterProblem),
        NoOperating::NoCountedTrip,
        NoOperating::HeatUpWithoutTrip(vec![3]),
        NoOperating::NotRead(vec![2]),
        NoOperating::OutOfRange,
    ];
    let limits =
        [NoLimits::NoSetPoint, NoLimits::NoRating, NoLimits::NoTolerance, NoLimits::ClassOnly, NoLimits::Crossed];
    let parts =
        [Unknown::Calibration, Unknown::Fit, Unknown::FitSource, Unknown::Resolution, Unknown::Lag, Unknown::Spread];
    let mut all: Vec<Missing> = operating.into_iter().map(Missing::Operating).collect();
    all.extend(limits.map(Missing::Limits));
    all.extend(parts.map(Missing::Part));
    all.extend([
        Missing::Estimated { estimated: 1, of: 4 },
        Missing::FunctionalTest,
        Missing::ElementLags,
        Missing::FewerTrips { counted: 2, wanted: 4 },
    ]);
    let short: BTreeSet<&str> = all.iter().map(missing_short).collect();
    assert_eq!(short.len(), all.len());
}

#[test]
fn an_item_says_its_class_and_who_was_told_and_an_open_one_stands_before_a_closed_one() {
    let mut phone = phone_with(started(1), &read(&SPREAD));
    let first = phone.in_visit(Body::ItemFound(item(1, ItemWhat::Other).into()));
    phone.in_visit(Body::ItemFound(item(2, ItemWhat::WrongPoint).into()));
    let (by, happened) = (Who::Person(id(PERSON)), phone.happened());
    let how = ItemClosed::Accepted;
    let closing = ItemClosing { item: first, how, test: None, evidence: None, by, note: None, happened };
    phone.in_visit(Body::ItemClosed(closing.into()));
    let rows = screen(&phone).items;
    assert_eq!((rows[0].title.as_str(), rows[0].open), ("Wrong point at panel", true));
    assert_eq!(rows[0].detail, "Class not chosen · owner not notified");
    assert!(!rows[1].open && rows[1].detail.ends_with(" · Accepted as is"), "{}", rows[1].detail);
}

#[test]
fn the_retest_list_names_the_reason_until_a_test_follows() {
    let mut phone = phone_with(started(1), &read(&SPREAD));
    phone.in_visit(Body::RetestListed { position: id(1001), test: Some(id(1)), why: RetestWhy::UnlikeArea });
    let retest = screen(&phone).retest;
    assert_eq!(retest.len(), 1);
    assert_eq!((retest[0].tag.as_str(), retest[0].why.as_str()), ("D-1", "reads unlike the rest of the area"));
    let mut second = started(2);
    second.follows = Some(id(1));
    second.position = started(1).position;
    phone.test(second, &read(&SPREAD), Ending::Done);
    assert_eq!(screen(&phone).retest, []);
}

fn bundle(book: &Book) -> soakbook::handover::Bundle {
    let made = Made { at: Wall(1_750_000_000_000), app: "0.1.0".into(), phone: id(PHONE) };
    bundle_of(book, Select::Visit(id(VISIT)), &made).expect("a bundle")
}

#[test]
fn what_has_left_the_phone_is_remembered_by_chain() {
    let mut phone = phone_with(started(1), &read(&SPREAD));
    let mut handed = HandedOver::new();
    let here =
        |phone: &Phone, handed: &HandedOver| handover::not_handed_over(&phone.book, handed, id(PHONE), Some(id(VISIT)));
    let (visit, all) = here(&phone, &handed);
    let chain = |scope| phone.book.chain(Chain { scope, phone: id(PHONE) }).count();
    assert_eq!(visit, chain(Scope::Visit(id(VISIT))));
    assert_eq!(all, phone.book.len());
    // Of the kit only what the tests' profiles name goes along, and these name none.
    let other = chain(Scope::Site(id(OTHER_SITE))) + chain(Scope::Kit);
    handover::note_handed_over(&mut handed, &bundle(&phone.book).chains);
    assert_eq!(here(&phone, &handed), (0, other), "another customer's register and the kit stay here");
    phone.in_visit(Body::RetestListed { position: id(1001), test: Some(id(1)), why: RetestWhy::Requested });
    assert_eq!(here(&phone, &handed), (1, other + 1));
    assert_eq!(handover::not_handed_over_words((1, 1)), "Not sent yet: 1 record of this visit.");
    // Nothing of it was made on another phone.
    assert_eq!(handover::not_handed_over(&phone.book, &handed, id(99), None), (0, 0));
}

#[test]
fn a_bundle_taken_in_says_what_is_new_and_a_second_time_nothing() {
    let phone = phone_with(started(1), &read(&SPREAD));
    let incoming = read_bundle(&bundle(&phone.book).text).expect("a sound bundle");
    let outcome = |before: &Book| {
        let register = Register::of(&phone.book);
        let names = Names::of(&phone.book, &register, id(99), 0);
        handover::taken_in("a.json", &incoming, &incoming.against(before), &names)
    };
    let first = outcome(&Book::default());
    assert_eq!(first.fared, Fared::TakenIn);
    assert!(first.lines[0].starts_with(&format!("{} new records, 0 known already", incoming.book.len())));
    assert!(first.lines.iter().any(|line| line.contains("at Invented works")), "{:?}", first.lines);
    assert!(!first.differs);
    assert_eq!(outcome(&phone.book).fared, Fared::NothingNew);
}

#[test]
fn findings_that_differ_name_the_detector() {
    let phone = phone_with(started(1), &read(&SPREAD));
    let text = bundle(&phone.book).text.replace("\"limit_result\":\"within\"", "\"limit_result\":\"outside\"");
    let incoming = read_bundle(&text).expect("a sound bundle");
    let register = Register::of(&phone.book);
    let names = Names::of(&phone.book, &register, id(PHONE), 0);
    let outcome = handover::taken_in("a.json", &incoming, &incoming.against(&Book::default()), &names);
    assert!(outcome.differs);
    let line = outcome.lines.last().expect("a line");
    assert!(line.starts_with("D-1, ") && line.contains("\"outside\"") && line.contains("\"within\""), "{line}");
    let family = bundle(&phone.book).text.replace("\"median_k\":", "\"median_k\":9");
    let incoming = read_bundle(&family).expect("a sound bundle");
    let outcome = handover::taken_in("a.json", &incoming, &incoming.against(&Book::default()), &names);
    let line = outcome.lines.last().expect("a line");
    assert!(outcome.differs && line.starts_with("families.1.median_k: the file says 9"), "{line}");
}

#[test]
fn a_refused_bundle_gives_every_reason() {
    let outcome = handover::refused("a.json", &[BundleFault::Empty, BundleFault::CutShort]);
    assert_eq!(outcome.fared, Fared::Refused);
    assert_eq!(outcome.lines.len(), 2);
    assert_eq!(outcome.lines[0], "The file is empty: send it again.");
}

#[test]
fn a_sound_book_has_no_misfit_and_a_broken_one_names_the_place() {
    let mut phone = phone_with(started(1), &read(&SPREAD));
    let check = |book: &Book| {
        let register = Register::of(book);
        handover::check(book, &Names::of(book, &register, id(PHONE), 0))
    };
    assert_eq!(check(&phone.book), Vec::<String>::new());
    phone.in_visit(Body::PanelPoint {
        trip: Hash::of(b"nothing"),
        point: soakbook::book::body::Point::Right,
        said: None,
    });
    let lines = check(&phone.book);
    assert_eq!(lines.len(), 1);
    assert!(lines[0].contains("this phone names something that is not here"), "{}", lines[0]);
}

#[test]
fn a_hash_is_grouped_to_be_compared_aloud() {
    let phone = phone_with(started(1), &read(&SPREAD));
    let register = Register::of(&phone.book);
    let rows =
        handover::chain_rows(&handover::chain_heads(&phone.book), &Names::of(&phone.book, &register, id(PHONE), 0));
    assert_eq!(rows.len(), phone.book.chains().count());
    assert!(rows.iter().all(|row| row.last.split(' ').count() == 8 && row.last.len() == 71), "64 digits and 7 gaps");
}

#[test]
fn a_small_difference_keeps_its_digits_in_the_other_unit() {
    // NIST SP 811 B.9: 0.1 K is 0.18 °F.
    let step: Difference = k("0.1");
    let text = soakbook::view::findings::figure::difference_as_given(step, Degree::F);
    assert_eq!(text, "0.1 °C (0.18 °F)");
    assert_eq!(soakbook::view::findings::figure::as_given(c("90"), Degree::C), "90 °C");
}
