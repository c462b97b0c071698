//! Plots of the record: what is drawn, how much of it, and that a file draws the same.

use super::*;
use crate::demo::{at, demo_book, give, start};
use soakbook::book::command::StartTest;
use soakbook::book::test::Test;
use soakbook::book::visit::headings;
use soakbook::desk::promises::{Size, book};
use soakbook::trade::detector::Marking;
use soakbook::trade::procedure::ProcedureKind;
use soakbook::units::{Degree, Reading, Wall};
use soakbook::view::page::drawing::{Drawing, Interval, Intervals};
use soakbook::view::page::svg::svg;
use soakbook::view::page::{Block, Kind};

/// Later than the demonstration, `date -u -d 2026-03-01T09:00:00Z +%s`.
const NOW: Wall = Wall(1_772_355_600_000);

fn drawings(blocks: &[Block]) -> Vec<Drawing> {
    let one = |block: &Block| match &block.kind {
        Kind::Section(of) => drawings(&of.blocks),
        Kind::Drawing(of) => vec![(**of).clone()],
        _ => Vec::new(),
    };
    blocks.iter().flat_map(one).collect()
}

fn intervals(all: &[Drawing]) -> Vec<&Intervals> {
    all.iter().filter_map(|drawing| if let Drawing::Intervals(of) = drawing { Some(of) } else { None }).collect()
}

#[test]
fn results_stand_against_their_limits_a_bounded_number_of_them() {
    // rule C13.
    let book = book(Size { tests: 300, per_visit: 300 }, 1);
    let visit = headings(&book)[0].id;
    let page = page(&book, visit, record::record);
    let all = drawings(&page.blocks);
    let plots = intervals(&all);
    assert!(!plots.is_empty() && plots.len() <= 8, "{}", plots.len());
    for plot in plots {
        assert!((1..=24).contains(&plot.rows.len()), "{}", plot.rows.len());
        assert!(!plot.limits.is_empty() && plot.axis.ends_with(" °C"), "{plot:?}");
        for row in &plot.rows {
            assert!(0.0 <= row.low && row.low <= row.at && row.at <= row.high && row.high <= 1.0, "{row:?}");
            // A bar that reaches a limit asks for attention.
            let (lower, upper) = (plot.limits[0].0, plot.limits[plot.limits.len() - 1].0);
            assert!(row.flagged || plot.limits.len() < 2 || (lower <= row.low && row.high <= upper), "{row:?}");
            assert!(row.flagged || ["Within", "Mean within", "No result"].contains(&&*row.word), "{row:?}");
        }
    }
    let courses = all.iter().filter(|drawing| matches!(drawing, Drawing::Heat(_) | Drawing::Trace(_))).count();
    assert!((1..=6).contains(&courses), "{courses}");
    assert!(text(&page).contains("are shown"), "says what is left out");
}

#[test]
fn a_test_that_failed_is_drawn_with_why() {
    let mut world = given();
    functional(&mut world, TEST, POSITION, Point::Wrong, Answer::Yes);
    let page = page(&world.book, id(VISIT), record::record);
    let read = section(&text(&page), "Tests to look at");
    assert!(read.contains(" · Wrong point at panel"), "{read}");
    assert!(read.contains("[Trace of the test on "), "{read}");
    // A visit in which all is well draws none.
    let mut well = given();
    passes(&mut well, TEST, POSITION);
    assert!(!record(&well).contains("Tests to look at"));
}

#[test]
fn a_course_has_the_limits_of_the_rating_as_it_was_corrected() {
    // The demonstration's heater A has a profile.
    let (mut book, made) = demo_book();
    let Command::Start(asked) = start(&book, made.visit, "J-01", "Heater A", ProcedureKind::Functional, 201) else {
        panic!("a start")
    };
    let (test, ambient) = (id(201), Some(Reading { value: 70, scale: 0, unit: Degree::F }));
    let mut time = Wall(NOW.0 + 60_000);
    let mut act = |book: &mut Book, command: Command| {
        time += 150_000;
        give(book, at(time), command).expect("allowed");
    };
    act(&mut book, Command::Start(Box::new(StartTest { test, ambient, ..*asked })));
    act(&mut book, Command::Mark { of: test, what: What::Tripped });
    let trip = Test::of(&book, test).expect("the test").marks.last().expect("the trip").hash;
    act(&mut book, Command::SayPanel { trip, point: Point::NotThere, said: None });
    act(&mut book, Command::End { test, how: Ending::Done });
    let limits = |book: &Book| -> Vec<f64> {
        let all = drawings(&page(book, made.visit, record::record).blocks);
        let drawn = all.into_iter().filter_map(|drawing| match drawing {
            Drawing::Heat(of) => Some(of.trace.limits.into_iter().map(|(at, _)| at)),
            _ => None,
        });
        drawn.flatten().collect()
    };
    let before = limits(&book);
    assert!(!before.is_empty(), "a course with limits");
    // The plate says 18 °F more than was registered.
    let marking = Test::of(&book, test).expect("the test").frozen.detector.marking.clone();
    let higher = |rating: Reading| Reading { value: rating.value + 18, ..rating };
    assert!(marking.rating.is_some_and(|rating| (rating.unit, rating.scale) == (Degree::F, 0)), "{marking:?}");
    let marking = Marking { rating: marking.rating.map(higher), ..marking };
    act(&mut book, Command::CorrectMarking { test, marking: marking.into(), why: Hash::of(b"salted reason") });
    let after = limits(&book);
    assert_eq!(after.len(), before.len());
    for (new, old) in after.iter().zip(&before) {
        assert_eq!((new - old).round() as i64, 18, "{before:?}, {after:?}");
    }
}

#[test]
fn long_tags_are_told_apart_in_a_plot_and_as_left_is_kept() {
    let row = |name: &str| Interval {
        name: name.into(),
        low: 0.2,
        at: 0.4,
        high: 0.6,
        word: "Within".into(),
        flagged: false,
    };
    let names = ["Mezzanine north HD-1", "Mezzanine north HD-2", "Mezzanine north HD-2 as left", "HD-3 as left"];
    let plot = Intervals { rows: names.iter().map(|name| row(name)).collect(), ..Intervals::default() };
    let drawn = svg(&Drawing::Intervals(plot));
    names.iter().for_each(|name| assert!(drawn.contains(&format!(">{name}</text>")), "{name}: {drawn}"));
    // What has no room even so keeps its end.
    let long = [format!("{} 1 as left", "x".repeat(400)), format!("{} 2 as left", "x".repeat(400))];
    let plot = Intervals { rows: long.iter().map(|name| row(name)).collect(), ..Intervals::default() };
    let drawn = svg(&Drawing::Intervals(plot));
    assert!(drawn.contains("x 1 as left</text>") && drawn.contains("x 2 as left</text>"), "{drawn}");
}
