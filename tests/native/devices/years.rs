//! A position over the years: points, slopes, breaks, and what cannot be said.

use super::known;
use crate::kit::World;
use crate::sample::{c, id, started};
use crate::tolerances::assert_close;
use soakbook::book::Id;
use soakbook::book::body::TestStart;
use soakbook::book::entry::Hash;
use soakbook::findings::Outcome;
use soakbook::findings::history::{Done, DoneWhat, TestDone};
use soakbook::findings::trend::{NoSlope, stretches};
use soakbook::trade::detector_type::DetectorType;
use soakbook::units::{Celsius, Degree, Kelvin, Wall};
use soakbook::view::findings::figure::Shown as Figure;
use soakbook::view::page::Kind;
use soakbook::view::page::text::text;
use soakbook::view::position::{self, Shown};
use soakbook::view::route::Route;
use std::sync::Arc;

/// Something that another test has otherwise.
type Change = fn(&mut TestStart);

/// A Julian year, ms: 365.25 · 86,400,000.
const YEAR: i64 = 31_557_600_000;

/// A passed test in a year's own visit, with this mean and U = 1 K.
pub(crate) fn test(year: i64, mean: f64, change: impl FnOnce(&mut TestStart)) -> Done {
    let mut frozen = started(1);
    change(&mut frozen);
    let number = 100 + year as u128;
    Done {
        position: frozen.position.of,
        visit: id(number),
        closed: true,
        phone: id(1),
        entry: Hash::of(&year.to_be_bytes()),
        seq: year,
        at: Wall(1_400_000_000_000) + year * YEAR,
        detector: Some(frozen.detector.of),
        what: DoneWhat::Test(Box::new(TestDone {
            test: id(number),
            frozen: Arc::new(frozen),
            outcome: Outcome::Passed,
            operating: Some((Celsius(mean), Kelvin(1.0))),
            estimated: 0,
            as_read: None,
        })),
    }
}

fn years(means: &[f64]) -> Vec<Done> {
    (0..).zip(means).map(|(year, mean)| test(year, *mean, |_| {})).collect()
}

#[test]
fn a_slope_is_the_median_of_all_pairs_with_its_interval() {
    let found = stretches(&years(&[70.0, 71.0, 72.5, 73.0, 74.0]));
    assert_eq!(found.len(), 1);
    let slope = found[0].slope.expect("a slope");
    // By hand: the ten slopes are 1, 1.25, 1, 1, 1.5, 1, 1, 0.5, 0.75, 1; their median is 1. With n = 5 the variance of Kendall's
    // statistic is 5 · 4 · 15/18 = 16.67, 1.96 · √16.67 = 8.0, so that the interval reaches from the least to the largest.
    assert_close("last digits", slope.per_year.0, 1.0);
    let [low, high] = slope.interval.expect("an interval");
    assert_close("last digits", low.0, 0.5);
    assert_close("last digits", high.0, 1.5);
    assert!(slope.is_shown());
    // The other way round it falls; without an order nothing is shown.
    let falls = stretches(&years(&[74.0, 73.0, 72.5, 71.0, 70.0]))[0].slope.expect("a slope");
    assert!(falls.is_shown() && falls.per_year.0 < 0.0);
    assert!(!stretches(&years(&[72.0, 70.0, 73.0, 71.0, 72.0]))[0].slope.expect("a slope").is_shown());
}

#[test]
fn fewer_points_or_less_than_a_year_say_nothing() {
    assert_eq!(stretches(&years(&[70.0, 71.0, 72.0, 73.0]))[0].slope, Err(NoSlope::TooFew));
    let mut soon = years(&[70.0, 71.0, 72.0, 73.0, 74.0]);
    (0..).zip(&mut soon).for_each(|(day, done)| done.at = Wall(1_400_000_000_000) + day * 86_400_000);
    assert_eq!(stretches(&soon)[0].slope, Err(NoSlope::TooShort));
    assert!(stretches(&[]).is_empty());
}

#[test]
fn a_line_ends_where_something_else_than_the_detector_may_have_moved_the_points() {
    let breaks: [(&str, Change); 5] = [
        ("detector", |of| of.detector.of = id(77)),
        ("heater", |of| of.heater.of = id(78)),
        ("certificate", |of| of.heater.metrology.certificate = Some("C-2".into())),
        ("calibration due", |of| of.heater.metrology.due = Some("2030-01-01".into())),
        ("setting", |of| of.heater.setting = c("95")),
    ];
    for (what, change) in breaks {
        for detector_type in [DetectorType::RateCompensated, DetectorType::FixedRestorable] {
            let of_type = |of: &mut TestStart| of.detector.marking.detector_type = detector_type;
            let mut done: Vec<Done> = (0..3).map(|year| test(year, 70.0, of_type)).collect();
            done.extend((3..6).map(|year| {
                test(year, 75.0, |of| {
                    of_type(of);
                    change(of);
                })
            }));
            let lines = stretches(&done).len();
            // What follows the heater trips where it is, however fast it gets there.
            let apart = what != "setting" || detector_type == DetectorType::FixedRestorable;
            assert_eq!(lines, if apart { 2 } else { 1 }, "{what}, {detector_type:?}");
        }
    }
}

#[test]
fn a_visit_is_one_point_and_what_is_doubtful_is_none() {
    let mut done = years(&[70.0, 71.0]);
    let mut again = test(1, 99.0, |_| {});
    again.at += 600_000;
    done.push(again);
    for (year, outcome, estimated) in [(5, Outcome::Mistake, 0), (6, Outcome::EarlyTrip, 0), (7, Outcome::Passed, 1)] {
        let mut doubtful = test(year, 99.0, |_| {});
        let DoneWhat::Test(test) = &mut doubtful.what else { unreachable!() };
        (test.outcome, test.estimated) = (outcome, estimated);
        done.push(doubtful);
    }
    let found = stretches(&done);
    let means: Vec<f64> = found.iter().flat_map(|stretch| &stretch.points).map(|point| point.mean.0).collect();
    assert_eq!(means, [70.0, 71.0]);
}

/// The page of a position with this past.
pub(crate) fn page(done: &[Done], unit: Degree) -> soakbook::view::page::Page {
    let world = World::given();
    let position: Id = crate::kit::id(crate::kit::POSITION);
    known(&world, None, |known| {
        position::page(Shown {
            known,
            id: position,
            done,
            whole: true,
            due: Some("today"),
            from: Route::Register,
            unit,
            offset: &|_| 0,
        })
    })
}

/// The figures of a position whose temperature rises.
pub(crate) fn trending(unit: Degree) -> Vec<Figure> {
    let page = page(&years(&[70.0, 71.0, 72.5, 73.0, 74.0]), unit);
    let within = page.blocks.into_iter().flat_map(|block| match block.kind {
        Kind::Section(of) => of.blocks,
        _ => Vec::new(),
    });
    let figures = within.filter_map(|block| match block.kind {
        Kind::Figure(of) => Some(*of),
        _ => None,
    });
    figures.collect()
}

#[test]
fn the_page_says_the_slope_in_numbers_and_words_and_what_it_cannot_say() {
    let read = text(&page(&years(&[70.0, 71.0, 72.5, 73.0, 74.0]), Degree::C));
    let read = read.replace(['\u{a0}', '\u{202f}'], " ");
    // 1,400,000,000 s is 2014-05-13 by `date -u -d @1400000000`; four Julian years later it is 2018-05-13.
    for words in [
        "## Over the years",
        "[Operating temperature over the years: 5 visits, 1 line.]",
        "= Slope, Heater one, 2014-05-13 to 2018-05-13: +1.0 °C a year 95%: +0.5 to +1.5",
        "2014-05-13: 70.0 °C ± 1.0 °C",
        "It trips hotter from year to year.",
        "Due: today",
    ] {
        assert!(read.contains(words), "{words:?} is not in\n{read}");
    }
    let few = text(&page(&years(&[70.0, 71.0]), Degree::F)).replace(['\u{a0}', '\u{202f}'], " ");
    assert!(few.contains("Heater one, 2 visits since 2014-05-13. A slope takes 5 visits"), "{few}");
    assert!(!text(&page(&[], Degree::F)).contains("Over the years"));
}

#[test]
fn five_results_are_shown_at_once_and_all_of_them_are_folded() {
    let read = text(&page(&years(&[70.0; 7]), Degree::F));
    let (last, all) = read.split_once("## Results in full: 7").expect("two parts");
    assert_eq!((last.matches(": Passed · ").count(), all.matches("- Passed · ").count()), (5, 7));
    // The newest first: six Julian years after 2014-05-13 it is 2020-05-13.
    assert!(last.find("2020-05-1").expect("the newest") < last.find("2019-05-1").expect("the one before"));
}
