//! Plots of the record: what is drawn, how much of it, and that a file draws the same.

use super::*;
use soakbook::book::visit::headings;
use soakbook::desk::promises::{Size, book};
use soakbook::view::page::drawing::{Drawing, Intervals};
use soakbook::view::page::{Block, Kind};

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
