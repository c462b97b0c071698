//! The guided ramp as a screen, and the curves it makes. Times and words are reckoned by hand from the demonstration's head A,
//! which climbs in 210 s, so that 12 readings are 15 s apart (17.5 s, down to whole 5 s), and comes on again after 40 s.

use crate::demo::{at, demo_book, give};
use soakbook::book::Id;
use soakbook::book::body::What::{self, AtUpper, HeadOff};
use soakbook::book::command::{Command, StartRamp};
use soakbook::book::kit::Kit;
use soakbook::book::log::Book;
use soakbook::book::ramp::{Ramp, curve_of, ramps};
use soakbook::book::register::Register;
use soakbook::findings::{Estimates, NoCurve, fitted, heat_curve, residuals};
use soakbook::thermal::Refused;
use soakbook::trade::seen::Warmth;
use soakbook::units::{Degree, Difference, Reading, Seconds};
use soakbook::view::curve::{HeadCurves, Standing};
use soakbook::view::place::Place;
use soakbook::view::ramp::{RampAnswers, RampScreen, detectors};

/// Later than the demonstration.
const START: i64 = 1_772_355_600_000 + 3_600_000;
const RAMP: Id = Id::from_u128(901);

struct Given {
    book: Book,
    head: Id,
}

fn f(value: i64) -> Reading {
    Reading { value, scale: 0, unit: Degree::F }
}

fn head(book: &Book, starts: &str) -> Id {
    *Kit::of(book).heads.iter().find(|(_, h)| h.name.now().unwrap().name.starts_with(starts)).unwrap().0
}

impl Given {
    /// The demonstration with a ramp that goes on, heat on at 0 s.
    fn heating(starts: &str) -> Given {
        let (mut book, _) = demo_book();
        let head = head(&book, starts);
        let answers = RampAnswers { ambient: Some(f(70)), ..RampAnswers::offered(&book, head) };
        let start = answers.start(RAMP, head, None).expect("everything is answered");
        give(&mut book, at(START), Command::StartRamp(Box::new(start))).expect("a ramp");
        Given { book, head }
    }

    fn give(&mut self, second: i64, command: Command) {
        give(&mut self.book, at(START + second * 1_000), command).expect("allowed");
    }

    fn read(&mut self, second: i64, shown: i64) {
        self.give(second, Command::Read { run: RAMP, reading: f(shown), trip: None });
    }

    fn mark(&mut self, second: i64, what: What) {
        self.give(second, Command::Mark { run: RAMP, what });
    }

    fn ramp(&self) -> Ramp {
        Ramp::of(&self.book, RAMP).expect("the ramp")
    }

    fn screen(&self, second: i64) -> RampScreen {
        RampScreen::of(&self.book, &self.ramp(), second * 1_000, Degree::F)
    }

    fn curves(&self) -> HeadCurves {
        HeadCurves::of(&self.book, self.head, at(START).phone, Degree::F, &|_| 0, &mut Estimates::default())
            .expect("the head")
    }
}

#[track_caller]
fn check(screen: &RampScreen, heading: &str, clock: &str, advice: &str, marks: &[What]) {
    assert_eq!((screen.heading.as_str(), screen.clock.as_str()), (heading, clock));
    assert!(screen.advice.contains(advice), "{:?}", screen.advice);
    assert_eq!(screen.marks, marks);
}

#[test]
fn the_screen_leads_through_the_parts() {
    let mut given = Given::heating("Head A");
    check(&given.screen(5), "Heating", "0:05", "12 more readings, one every 0:15.", &[AtUpper, HeadOff]);
    assert_eq!(given.screen(5).hint, "Press, then dial what you saw");
    given.read(10, 82);
    let screen = given.screen(18);
    assert_eq!((screen.hint.as_str(), screen.due), ("1 reading · next in 0:07", false));
    let screen = given.screen(25);
    assert_eq!((screen.hint.as_str(), screen.due), ("1 reading · next one due", true));
    for n in 1..12 {
        given.read(10 + 15 * n, 82 + 10 * n);
    }
    check(&given.screen(180), "Heating", "3:00", "Enough; go on until the upper temperature", &[AtUpper, HeadOff]);
    given.mark(210, AtUpper);
    check(&given.screen(220), "At upper temperature", "0:10", "3 more readings, one every 0:30.", &[HeadOff]);
    assert!(!given.screen(220).may_end);
    (1..=3).for_each(|n| given.read(210 + 30 * n, 206));
    check(&given.screen(310), "At upper temperature", "1:40", "Mark when it goes off", &[HeadOff]);
    given.mark(390, HeadOff);
    check(&given.screen(400), "Cooling", "0:10", "8 more readings, one every 0:30.", &[]);
    // 20 s before a head that cycles by itself comes on again that is said.
    check(&given.screen(410), "Cooling", "0:20", "Keep it off", &[]);
    assert!(given.screen(410).may_end);
    (1..=8).for_each(|n| given.read(390 + 30 * n, 206 - 10 * n));
    check(&given.screen(640), "Cooling", "4:10", "Enough; end it", &[]);
}

#[test]
fn a_head_that_is_switched_by_hand_shows_no_time_to_come_on() {
    let mut given = Given::heating("Head B");
    // No display and no climb time: tenths of the screen's unit, a reading every 15 s.
    assert_eq!(given.screen(0).step, Some(Difference { value: 1, scale: -1, unit: Degree::F }));
    given.read(10, 82);
    given.mark(200, HeadOff);
    check(&given.screen(260), "Cooling", "1:00", "8 more readings, one every 0:30.", &[]);
    assert!(!given.screen(260).may_end, "one reading makes no ramp");
}

#[test]
fn minus_is_offered_only_near_the_zero_of_the_display() {
    let below_zero = |ambient: i64| {
        let (mut book, _) = demo_book();
        let head = head(&book, "Head A");
        let start = StartRamp {
            ramp: RAMP,
            head,
            setting: f(200),
            mode: None,
            detector: None,
            ambient: f(ambient),
            head_warmth: Warmth::Cold,
            by: None,
        };
        give(&mut book, at(START), Command::StartRamp(Box::new(start))).expect("a ramp");
        Given { book, head }.screen(0).below_zero
    };
    assert!(!below_zero(40));
    assert!(below_zero(5));
}

#[test]
fn only_detectors_that_may_be_heated_are_offered() {
    let (book, made) = demo_book();
    let register = Register::of(&book);
    let tags: Vec<String> = detectors(&register, None).into_iter().map(|(_, tag)| tag).collect();
    // P-03 is nonrestorable.
    assert_eq!(tags, ["J-01", "J-02", "J-03", "J-04", "J-05", "P-01", "P-02", "S-01"]);
    let round = soakbook::book::round::Round::of(&book, made.round).expect("the round");
    assert_eq!(detectors(&register, Some(&round)).len(), tags.len());
}

#[test]
fn what_was_answered_last_time_is_offered() {
    let (book, _) = demo_book();
    let offered = RampAnswers::offered(&book, head(&book, "Head A"));
    assert_eq!((offered.setting, offered.ambient, offered.detector), (Some(f(200)), None, None));
    assert_eq!(offered.start(RAMP, head(&book, "Head A"), None), None, "the ambient temperature is missing");
}

#[test]
fn a_ramp_that_goes_on_is_in_the_list_and_makes_no_curve() {
    let mut given = Given::heating("Head A");
    given.read(10, 82);
    let curves = given.curves();
    assert!(curves.goes_on);
    let standings: Vec<Standing> = curves.modes[0].ramps.iter().map(|ramp| ramp.standing).collect();
    assert_eq!(standings, [Standing::GoesOn, Standing::Used, Standing::Used]);
    assert_eq!(curves.modes[0].short, "Heat curve from 2 ramps");
    given.give(20, Command::EndRamp { ramp: RAMP, usable: false });
    let curves = given.curves();
    assert_eq!((curves.goes_on, curves.modes[0].ramps[0].standing), (false, Standing::NotUsable));
    assert_eq!(curves.modes[0].ramps[0].readings, [("0:10".to_string(), "82 °F".to_string())]);
}

#[test]
fn a_refused_curve_says_why() {
    let mut given = Given::heating("Head B");
    [(10, 82), (20, 90), (30, 97)].iter().for_each(|(at, shown)| given.read(*at, *shown));
    given.mark(40, HeadOff);
    given.give(50, Command::EndRamp { ramp: RAMP, usable: true });
    let used = ramps(&given.book, &curve_of(&given.book, given.head, None));
    // Three readings and the start at ambient are four points; AICc of a line with its variance needs five.
    assert_eq!(heat_curve(&used, f(150)), Err(NoCurve::Refused(Refused::TooFewClimbing)));
    assert_eq!(heat_curve(&[], f(150)), Err(NoCurve::NoRamp));
    let mode = given.curves().modes.remove(0);
    assert_eq!(mode.short, "No heat curve");
    assert!(mode.words[0].contains("Too few readings of the climb"), "{:?}", mode.words);
    // What was read is shown all the same, and the ramp does not stand there as if it made a curve.
    let plot = mode.plot.expect("the readings");
    assert_eq!((plot.dots.len(), plot.lines.len(), plot.residuals.len()), (3, 0, 0));
    assert_eq!((mode.ramps[0].standing, mode.figures.len()), (Standing::Refused, 0));
}

#[test]
fn readings_are_the_curve_and_what_is_left_over() {
    let (book, _) = demo_book();
    let used = ramps(&book, &curve_of(&book, head(&book, "Head A"), None));
    let curve = heat_curve(&used, f(200)).expect("a curve");
    for (index, ramp) in used.iter().enumerate() {
        let left = residuals(ramp, &curve, index);
        // All but the readings while it held.
        assert_eq!(left.len(), ramp.readings.len() - 2);
        for (time, residual) in left {
            // The fit takes a reading as a little before its tap; no two are within a second of each other.
            let here = |at: i64| (Seconds::from_millis(at) - time).0.abs() < 1.0;
            let reading = ramp.readings.iter().find(|reading| here(reading.at)).expect("a reading");
            let on_curve = fitted(ramp, &curve, index, time).expect("on the curve");
            assert!(((reading.reading.celsius() - on_curve) - residual).abs().0 < 1e-9, "at {time:?}");
        }
        assert_eq!(fitted(ramp, &curve, index, Seconds(300.0)), None, "while it holds");
    }
    // At another setting the same climb, but nothing about what is held there.
    let other = heat_curve(&used, f(140)).expect("a curve");
    assert_eq!((other.rate, other.heating_tau), (curve.rate, curve.heating_tau));
    assert!(curve.held.is_some() && other.held.is_none());
}

#[test]
fn both_places_belong_to_the_register() {
    let id = Id::from_u128(7);
    for place in [Place::Curve(id), Place::Ramp(id)] {
        assert_eq!(place.tab(), Place::Register.tab());
    }
}
