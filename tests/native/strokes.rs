//! What a finger draws: thinned, kept as text, read back or refused.

use proptest::prelude::*;
use soakbook::encoding::strokes::{HIGH, MOST_POINTS, MOST_STROKES, NoSignature, Pen, Strokes, WIDE};

/// A drawing of strokes through these points, as shares of the box.
fn drawn(strokes: &[&[(f64, f64)]]) -> Strokes {
    let mut all = Strokes::default();
    for stroke in strokes {
        assert!(all.begin(stroke[0].0, stroke[0].1));
        for (x, y) in &stroke[1..] {
            all.go(*x, *y);
        }
    }
    all
}

#[test]
fn strokes_are_kept_as_svg_path_data() {
    // SVG 2, 9.3: what follows the first pair after `L` is drawn on as lines.
    let name = drawn(&[&[(0.1, 0.2), (0.3, 0.4), (0.5, 0.2)], &[(0.75, 0.1)]]);
    assert_eq!(name.text(), "M100 100L300 200 500 100M750 50");
    assert_eq!(name.path(), "M100 100L300 200 500 100M750 50h0");
    assert_eq!(Strokes::read(&name.text()).map(|read| read.text()), Some(name.text()));
    assert_eq!(name.fault(), None);
    // Nearer than a finger's tremor is no point of its own.
    let still = drawn(&[&[(0.1, 0.2), (0.102, 0.2), (0.104, 0.2), (0.2, 0.2)]]);
    assert_eq!(still.text(), "M100 100L200 100");
    // What leaves the box stays at its edge, and what is no number in its corner.
    let off = drawn(&[&[(-3.0, 0.5), (7.0, f64::NAN), (f64::INFINITY, 1.0)]]);
    assert_eq!(off.text(), format!("M0 250L{WIDE} 0 {WIDE} {HIGH}"));
}

#[test]
fn a_dot_is_no_signature() {
    assert_eq!(Strokes::default().fault(), Some(NoSignature::Nothing));
    assert_eq!(drawn(&[&[(0.5, 0.5)]]).fault(), Some(NoSignature::Dot));
    assert_eq!(drawn(&[&[(0.5, 0.5), (0.53, 0.55)]]).fault(), Some(NoSignature::Dot));
    // Two of them far apart are something.
    assert_eq!(drawn(&[&[(0.2, 0.5)], &[(0.8, 0.5)]]).fault(), None);
}

#[test]
fn a_scribble_fills_the_box_and_stays() {
    let mut scribble = Strokes::default();
    assert!(scribble.begin(0.0, 0.0));
    // 100,000 points all over the box; the primes keep any from coming twice in a row.
    let point = |n: u32| (f64::from(n * 389 % 1_009) / 1_009.0, f64::from(n * 211 % 503) / 503.0);
    let taken = (1..100_000_u32).map(point).filter(|(x, y)| scribble.go(*x, *y)).count();
    assert!(taken >= MOST_POINTS - 1, "{taken}");
    assert!(scribble.is_full() && !scribble.begin(0.5, 0.5) && !scribble.go(0.9, 0.9));
    let text = scribble.text();
    assert!(text.len() < 20_000, "{}", text.len());
    assert_eq!(Strokes::read(&text).map(|read| read.text()), Some(text));
    assert_eq!(scribble.fault(), None);
    // The same along one slow line is thinned, and all of it is there.
    let mut slow = Strokes::default();
    assert!(slow.begin(0.0, 0.0));
    let points = (0..100_000_u32).map(|n| (f64::from(n % 50_000) / 50_000.0, f64::from(n) / 100_000.0));
    assert!(points.filter(|(x, y)| slow.go(*x, *y)).count() < MOST_POINTS);
    assert!(!slow.is_full() && slow.text().contains(&format!("{} ", WIDE - 2)), "{}", slow.text());
    let mut dots = Strokes::default();
    assert_eq!((0..1_000_u32).take_while(|n| dots.begin(f64::from(*n) / 1_000.0, 0.5)).count(), MOST_STROKES);
}

#[test]
fn a_full_box_that_was_read_back_stays_a_drawing() {
    let text_of = |point: &dyn Fn(usize) -> (usize, usize)| {
        let points: Vec<String> = (1..MOST_POINTS).map(point).map(|(x, y)| format!("{x} {y}")).collect();
        format!("M0 0L{}", points.join(" "))
    };
    // Points far apart: nothing can be left out, and nothing more is taken. The primes keep them apart.
    let wild = text_of(&|n| (n * 389 % 1_009 * 1_000 / 1_009, n * 211 % 503 * 500 / 503));
    let mut full = Strokes::read(&wild).expect("a drawing");
    assert!(!full.begin(0.5, 0.5) && !full.go(0.9, 0.9));
    // Points 7 apart along lines: the next stroke has room among them.
    let fine = text_of(&|n| (n % 140 * 7, n / 140 * 30));
    let mut thinned = Strokes::read(&fine).expect("a drawing");
    assert!(thinned.begin(0.5, 0.5) && thinned.go(0.9, 0.9));
    for drawing in [full, thinned] {
        assert_eq!(Strokes::read(&drawing.text()).map(|read| read.text()), Some(drawing.text()));
    }
}

#[test]
fn a_palm_beside_the_pen_neither_draws_nor_ends_its_stroke() {
    const PEN: i32 = 3;
    const PALM: i32 = 4;
    let mut pen = Pen::default();
    assert!(pen.is_free_for(PEN) && pen.down(PEN, Strokes::default(), 0.1, 0.2));
    assert!(!pen.is_free_for(PALM) && pen.drawing(PALM).is_none());
    assert_eq!(pen.up(PALM), None);
    assert!(pen.drawing(PEN).expect("its stroke").go(0.3, 0.4));
    let before = pen.up(PEN).expect("a stroke");
    assert_eq!(before.text(), "M100 100L300 200");
    // Lifted, it leaves the pad to the next; a stroke that nobody ended goes on.
    assert!(pen.is_free_for(PALM) && pen.down(PALM, before, 0.5, 0.5));
    assert!(pen.is_free_for(PALM) && pen.down(PALM, Strokes::default(), 0.7, 0.5));
    assert_eq!(pen.up(PALM).map(|all| all.text()).as_deref(), Some("M100 100L300 200M500 250M700 250"));
}

#[test]
fn whatever_else_is_kept_there_is_no_drawing() {
    let long = format!("M0 0L{}9 9", "1 1 ".repeat(MOST_POINTS));
    let many = "M0 0".repeat(MOST_STROKES + 1);
    for text in [
        "",
        "M",
        "x",
        "M1",
        "M1 2L",
        "M1 2L3",
        "M1 2L3 4 5",
        "M1 2L3 4L5 6",
        "M1  2",
        "M01 2",
        "M+1 2",
        "M-1 2",
        "M1001 2",
        "M1 501",
        "M1 2z",
        "M1 2 3 4",
        " M1 2",
        "M1 2 ",
        "M1.5 2",
        "M1 2\"/><script>",
        "m1 2l3 4",
        &long,
        &many,
    ] {
        assert_eq!(Strokes::read(text), None, "{text}");
    }
}

proptest! {
    #[test]
    fn any_text_reads_to_itself_or_not_at_all(text in "(M[0-9 ML]{0,40}|.{0,40})") {
        if let Some(read) = Strokes::read(&text) {
            prop_assert_eq!(read.text(), text);
        }
    }

    #[test]
    fn whatever_is_drawn_reads_back(moves in prop::collection::vec((any::<bool>(), -0.5..1.5_f64, -0.5..1.5_f64), 1..400)) {
        let mut all = Strokes::default();
        for (down, x, y) in moves {
            let _taken = if down { all.begin(x, y) } else { all.go(x, y) };
        }
        let text = all.text();
        prop_assert_eq!(Strokes::read(&text).map(|read| read.text()), (!all.is_empty()).then_some(text));
    }
}
