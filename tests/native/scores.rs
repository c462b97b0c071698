//! Readings against the estimate before them: the score, the question, and what too many outside do. The heater is the
//! demonstration's heater A, whose profile stands on two profile runs.

use crate::demo::{at, demo_book, give, start};
use crate::estimates::profile_of_test;
use crate::tolerances::assert_close;
use proptest::prelude::*;
use soakbook::book::Id;
use soakbook::book::body::{Ending, What};
use soakbook::book::command::{Command, StartTest};
use soakbook::book::entries::Book;
use soakbook::book::entry::{Entry, Hash, Scope};
use soakbook::book::profile_run::profile_runs;
use soakbook::book::refusal::Refusal;
use soakbook::book::test::Test;
use soakbook::book::visit::Visit;
use soakbook::findings::{Estimates, NoEstimate, Record, Score, Share, newest_profile_run, of_test, scores};
use soakbook::stats::binomial_tail;
use soakbook::trade::procedure::ProcedureKind;
use soakbook::units::{Degree, Reading, TestTime, Wall};
use soakbook::view::demo::Demo;
use soakbook::view::findings::one::OneTest;
use soakbook::view::profile::HeaterProfiles;
use soakbook::view::profile_run::ProfileRunAnswers;
use soakbook::view::test::TestScreen;

/// Later than the demonstration.
const START: Wall = Wall(1_772_355_600_000 + 60_000);
/// By hand from the demonstration's first profile run: 150 s after heat on it showed 184 °F, and the second, on a weaker supply, 179.
const LIKELY: i64 = 182;
/// Far from that.
const SLIP: i64 = 100;

fn f(value: i64) -> Reading {
    Reading { value, scale: 0, unit: Degree::F }
}

struct World {
    book: Book,
    made: Demo,
    /// Kept along, as the app does.
    estimates: Estimates,
    time: Wall,
    tests: u128,
}

impl World {
    fn new() -> World {
        let (book, made) = demo_book();
        World { book, made, estimates: Estimates::default(), time: START, tests: 0 }
    }

    fn try_give(&mut self, command: Command) -> Result<(), Refusal> {
        give(&mut self.book, at(self.time), command)
    }

    fn give(&mut self, command: Command) {
        self.try_give(command).expect("allowed");
    }

    fn start(&mut self, kind: ProcedureKind) -> Id {
        self.tests += 1;
        let test = Id::from_u128(5_000 + self.tests);
        let Command::Start(asked) = start(&self.book, self.made.visit, "J-01", "Heater A", kind, 201) else { panic!() };
        self.give(Command::Start(Box::new(StartTest { test, ambient: Some(f(70)), ..*asked })));
        test
    }

    /// A trip 150 s after heat on, read as this.
    fn trip(&mut self, test: Id, shown: i64) -> (Hash, Hash) {
        self.time += 150_000;
        self.give(Command::Mark { of: test, what: What::Tripped });
        let trip = self.test(test).marks.last().expect("the trip").hash;
        self.time += 3_000;
        self.give(Command::Read { of: test, reading: f(shown), trip: Some(trip) });
        (trip, self.test(test).readings.last().expect("the reading").hash)
    }

    /// A functional test, read as this.
    fn check(&mut self, shown: i64) -> Id {
        let test = self.start(ProcedureKind::Functional);
        self.trip(test, shown);
        self.give(Command::End { test, how: Ending::Done });
        self.time += 3_600_000;
        test
    }

    fn test(&self, id: Id) -> Test {
        Test::of(&self.book, id).expect("the test")
    }

    fn screen(&mut self, id: Id) -> TestScreen {
        let test = self.test(id);
        let stamp = at(self.time);
        let now = test.time_on(stamp.phone, stamp.stamp);
        TestScreen::of(&self.book, &test, now, stamp.phone, Degree::F, &mut self.estimates)
    }

    fn profile_run(&self, test: Id) -> Id {
        newest_profile_run(&self.book, &self.test(test).frozen.heater.profile).expect("a profile")
    }

    /// The record by everything kept along, which is the same as from nothing.
    fn record(&mut self, profile_run: Id) -> Record {
        let record = self.estimates.record(&self.book, profile_run);
        assert_eq!(record, Estimates::default().record(&self.book, profile_run));
        record
    }
}

fn scores_of(book: &Book, test: Id) -> Vec<Score> {
    let test = Test::of(book, test).expect("the test");
    scores(&test, &profile_of_test(book, &test).expect("a profile"))
}

#[test]
fn the_tail_is_that_of_the_binomial_distribution() {
    // scipy 1.17.1: scipy.stats.binom.sf(k - 1, n, 0.05).
    let cases = [
        (2, 2, 0.0025000000000000005),
        (3, 2, 0.007250000000000001),
        (3, 3, 0.00012500000000000003),
        (5, 3, 0.001158125),
        (6, 3, 0.00222984375),
        (20, 5, 0.0025739403346522792),
        (20, 6, 0.0003292943245282763),
        (200, 20, 0.0026645795498294435),
        (200, 21, 0.0011599082507479197),
        (2000, 150, 9.607772856693441e-07),
    ];
    for (n, k, expected) in cases {
        assert_close("tail", binomial_tail(n, k, 0.05), expected);
    }
    assert_close("tail", binomial_tail(7, 0, 0.05), 1.0);
    assert_close("exact", binomial_tail(3, 4, 0.05), 0.0);
}

#[test]
fn a_reading_is_held_against_what_was_known_before_it() {
    let mut world = World::new();
    let id = world.start(ProcedureKind::Functional);
    world.time += 150_000;
    world.give(Command::Mark { of: id, what: What::Tripped });
    let trip = world.test(id).marks.last().map(|mark| mark.hash);
    let profile = profile_of_test(&world.book, &world.test(id)).expect("a profile");
    let mut before = None;
    let mut counts = [0; 3];
    for shown in 75..=260 {
        let mut book = world.book.clone();
        give(&mut book, at(world.time), Command::Read { of: id, reading: f(shown), trip }).expect("allowed");
        let found = scores(&Test::of(&book, id).expect("the test"), &profile);
        let [score] = found[..] else { panic!("{found:?}") };
        // The reading itself takes no part in the estimate before it.
        assert_eq!(*before.get_or_insert(score.before), score.before);
        // A display of whole °F shows this figure for half a degree on either side.
        let [lo, value, hi] = [score.before.lo, score.before.value, score.before.hi].map(|at| at.in_degrees(Degree::F));
        let shown = shown as f64;
        assert_eq!(score.outside, shown + 0.5 < lo || shown - 0.5 > hi, "{shown}: {lo} to {hi}");
        // A normal deviation of five standard uncertainties: 5/1.96 times what 95 % take.
        let half = if shown < value { value - lo } else { hi - value };
        let reach = (5.0 / 1.959_964 * half).max(5.0 * score.before.u.0 * 1.8);
        let off = (shown - value).abs() - 0.5;
        if (off - reach).abs() > 0.01 {
            assert_eq!(score.far, off > reach, "{shown}: {value} ± {half}");
        }
        assert!(score.outside || !score.far);
        counts[usize::from(score.outside) + usize::from(score.far)] += 1;
    }
    assert!(counts.iter().all(|count| *count > 5), "{counts:?}");
}

#[test]
fn the_second_reading_is_held_against_what_the_first_one_left() {
    let mut world = World::new();
    let test = world.start(ProcedureKind::SetPoint);
    world.trip(test, LIKELY);
    let first = scores_of(&world.book, test);
    // Moving the trip moves what the reading is held against.
    let trip = world.test(test).marks.last().unwrap().hash;
    world.give(Command::Move { mark: trip, by_ms: -10_000 });
    let moved = scores_of(&world.book, test);
    assert!(moved[0].before.value < first[0].before.value);
    world.give(Command::Move { mark: trip, by_ms: 10_000 });
    world.time += 300_000;
    world.trip(test, 195);
    let both = scores_of(&world.book, test);
    assert_eq!((both.len(), both[0]), (2, first[0]));
    let other = {
        let mut world = World::new();
        let test = world.start(ProcedureKind::SetPoint);
        world.trip(test, LIKELY - 6);
        world.time += 300_000;
        world.trip(test, 195);
        scores_of(&world.book, test)
    };
    assert_ne!(both[1].before, other[1].before);
    // One that is far off narrows nothing.
    let slipped = |shown: i64| {
        let mut world = World::new();
        let test = world.start(ProcedureKind::SetPoint);
        world.trip(test, shown);
        world.time += 300_000;
        world.trip(test, 195);
        scores_of(&world.book, test)[1].before
    };
    assert_eq!(slipped(SLIP), slipped(SLIP + 1));
    // An undone reading is none.
    world.give(Command::Undo { target: both[0].reading });
    assert_eq!(scores_of(&world.book, test).len(), 1);
}

#[test]
fn without_an_estimate_nothing_is_scored_or_asked() {
    let mut world = World::new();
    let Command::Start(asked) =
        start(&world.book, world.made.visit, "J-01", "Heater A", ProcedureKind::Functional, 201)
    else {
        panic!()
    };
    let test = asked.test;
    world.give(Command::Start(asked));
    world.trip(test, SLIP);
    assert_eq!(scores_of(&world.book, test), []);
    let screen = world.screen(test);
    assert_eq!((screen.ask_reading, screen.trace), (None, None));
    let profile_run = world.profile_run(test);
    assert_eq!(world.record(profile_run), Record::default());
}

#[test]
fn a_reading_far_off_is_asked_about_once() {
    let mut world = World::new();
    let test = world.start(ProcedureKind::Functional);
    world.time += 1_000;
    let before = world.screen(test);
    assert!(before.trace.as_ref().is_some_and(|trace| !trace.path[0].is_empty()));
    let (_, reading) = world.trip(test, SLIP);
    let asked = world.screen(test).ask_reading.expect("a question");
    assert!(asked.reading == reading && asked.again);
    // What had been expected is not said: it may be read again.
    assert_eq!(asked.words, "You entered 100 °F at trip 1. Expected something quite different.");
    // It is a function of the book: the same after everything is read anew, in another order.
    let mut anew = Book::default();
    world.book.entries().for_each(|entry| anew.apply(Entry::read(&entry.text).expect("an entry")));
    let here = at(world.time);
    let of = Test::of(&anew, test).unwrap();
    let now = of.time_on(here.phone, here.stamp);
    let screen = TestScreen::of(&anew, &of, now, here.phone, Degree::F, &mut Estimates::default());
    assert_eq!(screen, world.screen(test));
    // Another phone is not asked.
    let other = TestScreen::of(&anew, &of, now, Id::from_u128(77), Degree::F, &mut Estimates::default());
    assert!(other.other_phone && other.ask_reading.is_none());

    // Left out of the estimate until somebody says what it is; if it stands, the estimate goes.
    assert!(world.screen(test).live.1.contains("95%"));
    world.give(Command::ConfirmReading { reading });
    let screen = world.screen(test);
    assert_eq!((screen.ask_reading, screen.trace), (None, None));
    assert_eq!(screen.live.1, "a reading contradicts it");
    assert_eq!(world.try_give(Command::ConfirmReading { reading }), Err(Refusal::NothingToAnswer));
    // Both are kept: the reading, and that it stands.
    assert!(world.book.get(reading).is_some_and(|entry| !world.book.is_void(entry)));
    assert_eq!(world.test(test).readings.len(), 1);
    // Findings say it with what had been expected.
    world.give(Command::End { test, how: Ending::Done });
    let visit = Visit::of(&world.book, world.made.visit).expect("the visit");
    let of = world.test(test);
    let one = OneTest::of(&world.book, &visit, &of, &of_test(&world.book, &of, TestTime(0)), Degree::F, 0);
    let [said] = &one.far[..] else { panic!("{:?}", one.far) };
    assert!(said.starts_with("100 °F was entered where ") && said.ends_with("Confirmed as right."), "{said}");
}

#[test]
fn what_was_read_again_is_a_reading_of_its_own() {
    let mut world = World::new();
    let test = world.start(ProcedureKind::Functional);
    let (trip, reading) = world.trip(test, SLIP);
    world.give(Command::Undo { target: reading });
    let screen = world.screen(test);
    assert!(screen.reading.is_some_and(|wanted| wanted.trip == trip) && screen.ask_reading.is_none());
    assert_eq!(world.try_give(Command::ConfirmReading { reading }), Err(Refusal::NothingToAnswer));
    world.give(Command::Read { of: test, reading: f(LIKELY), trip: Some(trip) });
    assert_eq!(world.screen(test).ask_reading, None);
    assert!(world.book.get(reading).is_some(), "the slip stays in the book");
}

#[test]
fn nothing_is_shown_of_the_estimate_while_a_reading_is_asked_for() {
    let mut world = World::new();
    let test = world.start(ProcedureKind::SetPoint);
    world.trip(test, SLIP);
    assert!(world.screen(test).ask_reading.is_some());
    // The second heat-up begins at 439 s, by hand from the heater's own times.
    world.time += 300_000;
    world.give(Command::Mark { of: test, what: What::Tripped });
    let screen = world.screen(test);
    assert!(screen.reading.is_some());
    assert_eq!((screen.live.0.as_str(), screen.ask_reading.clone()), ("– –", None));
    let trace = screen.trace.expect("readings and limits");
    assert!(trace.path.iter().all(Vec::is_empty) && !trace.label.contains("95%"), "{trace:?}");
    assert_eq!((trace.readings.len(), trace.limits.len()), (1, 2));
    // Rating 194 °F, −7 and +9 (the demonstration's own figures).
    let limits: Vec<f64> = trace.limits.iter().map(|limit| limit.0.round()).collect();
    assert_eq!(limits, [187.0, 203.0]);
    // After it the question comes back, and the first reading can no longer be seen on the display.
    let trip = world.test(test).marks.last().unwrap().hash;
    world.give(Command::Read { of: test, reading: f(195), trip: Some(trip) });
    let asked = world.screen(test).ask_reading.expect("the question about the first one");
    assert!(!asked.again && asked.words.contains("trip 1"), "{asked:?}");
    world.give(Command::End { test, how: Ending::HeaterProblem });
    assert_eq!(world.screen(test).ask_reading, None);
}

#[test]
fn the_trace_is_the_estimate_at_a_hundred_times_and_jumps_at_readings() {
    let mut world = World::new();
    let test = world.start(ProcedureKind::SetPoint);
    let (from, mut kept) = (world.time, 0);
    for second in [1, 30, 119, 121, 200, 1_000, 2_500] {
        world.time = from + second * 1_000;
        let screen = world.screen(test);
        let path = screen.trace.expect("a trace").path.concat();
        assert!((2..=130).contains(&path.len()), "{} points at {second} s", path.len());
        assert_eq!(path.last().map(|point| point.0), Some(second as f64));
        assert!(path.windows(2).all(|pair| pair[0].0 <= pair[1].0));
        assert!(path.iter().all(|(_, low, value, high)| low <= value && value <= high));
        kept = path.len();
        // Kept along or made anew, it is the same.
        world.estimates = Estimates::default();
        assert_eq!(world.screen(test).trace.expect("a trace").path.concat(), path);
    }
    assert!(kept > 60);
    let mut world = World::new();
    let test = world.start(ProcedureKind::Functional);
    world.trip(test, LIKELY);
    let path = world.screen(test).trace.expect("a trace").path.concat();
    let at: Vec<&(f64, f64, f64, f64)> = path.iter().filter(|point| point.0 == 150.0).collect();
    let [before, after, ..] = at[..] else { panic!("{at:?}") };
    assert!(after.3 - after.1 < before.3 - before.1, "{before:?} {after:?}");
}

#[test]
fn a_mark_of_the_lamp_shows_at_once_though_the_screen_is_a_tick_behind() {
    let mut world = World::new();
    let test = world.start(ProcedureKind::SetPoint);
    let start = world.time;
    let shown = |world: &mut World, ms: i64| {
        world.time = start + ms;
        let screen = world.screen(test);
        (screen.live, screen.trace.expect("a trace").path)
    };
    for (marked, what) in [(130_000, What::AtTop), (200_000, What::HeaterOff), (290_000, What::HeaterOn)] {
        let before = shown(&mut world, marked - 150);
        world.time = start + marked;
        world.give(Command::Mark { of: test, what });
        // It is drawn at once with the time of the tick before, and then goes on.
        shown(&mut world, marked - 150);
        let after = shown(&mut world, marked + 100);
        assert_ne!(after.0, before.0, "{what:?} moves the estimate");
        world.estimates = Estimates::default();
        assert_eq!(shown(&mut world, marked + 100), after, "{what:?}");
    }
}

/// Tests withdrawn after these: 1 is a slip in the first reading.
fn withdrawn(tests: &[u8]) -> Option<Share> {
    let mut world = World::new();
    let mut profile_run = Id::nil();
    for slip in tests {
        let test = world.check(if *slip == 1 { SLIP } else { LIKELY });
        profile_run = world.profile_run(test);
    }
    world.record(profile_run).withdrawn
}

#[test]
fn too_many_tests_outside_withdraw_the_estimates() {
    // scipy 1.17.1, scipy.stats.binom.sf(k - 1, n, 0.05) < 0.002: 2 of 2 is 0.0025 and 3 of 3 0.000125; 3 of 5 is 0.00116 and
    // 3 of 6 0.00223.
    assert_eq!(withdrawn(&[1, 1]), None);
    assert_eq!(withdrawn(&[1, 1, 1]), Some(Share { outside: 3, of: 3 }));
    assert_eq!(withdrawn(&[1, 0, 0, 1, 1]), Some(Share { outside: 3, of: 5 }));
    assert_eq!(withdrawn(&[1, 0, 0, 0, 1, 1]), None);
    // Good tests afterwards bring nothing back.
    assert_eq!(withdrawn(&[1, 1, 1, 0, 0, 0]), Some(Share { outside: 3, of: 3 }));
}

/// Withdrawn after tests of these readings: true is one outside.
fn withdrawn_by(tests: &[&[bool]]) -> Option<Share> {
    let mut record = Record::default();
    tests.iter().for_each(|test| record.count(test.iter().copied()));
    record.withdrawn
}

#[test]
fn later_readings_withdraw_the_estimates_too_once_two_tests_have_some_outside() {
    // scipy 1.17.1, scipy.stats.binom.sf(k - 1, n, 0.05): 4 of 8 is 0.00037, 4 of 11 0.00155 and 4 of 12 0.00224.
    let (began, went) = ([true, false, false, false], [false, false, true, true]);
    assert_eq!(withdrawn_by(&[&went]), None);
    assert_eq!(withdrawn_by(&[&went, &went]), Some(Share { outside: 4, of: 8 }));
    assert_eq!(withdrawn_by(&[&went, &[false; 3], &went]), Some(Share { outside: 4, of: 11 }));
    assert_eq!(withdrawn_by(&[&went, &[false; 4], &went]), None);
    // One test alone, however far off, may be its supply.
    assert_eq!(withdrawn_by(&[&[true; 6]]), None);
    assert_eq!(withdrawn_by(&[&[true; 6], &[false; 4]]), None);
    // First readings count by themselves: 3 of 3 tests, though 3 of 12 readings are 0.02.
    assert_eq!(withdrawn_by(&[&began, &began, &began]), Some(Share { outside: 3, of: 12 }));
    assert_eq!(withdrawn_by(&[&[], &[]]), None);
}

#[test]
fn a_test_whose_own_readings_lie_outside_has_no_estimate() {
    let mut world = World::new();
    let test = world.start(ProcedureKind::SetPoint);
    for outside in 1..=3 {
        assert!(world.screen(test).trace.is_some(), "{outside}");
        world.trip(test, SLIP);
        world.time += 60_000;
    }
    assert_eq!(scores_of(&world.book, test).iter().filter(|score| score.outside).count(), 3);
    assert_eq!(world.screen(test).live.1, "a reading contradicts it");
}

/// Three runs outside.
fn lost() -> (World, Id) {
    let mut world = World::new();
    let test = [SLIP; 3].map(|shown| world.check(shown))[2];
    let profile_run = world.profile_run(test);
    (world, profile_run)
}

#[test]
fn a_withdrawn_estimate_is_used_nowhere_until_a_new_profile_run() {
    let (mut world, profile_run) = lost();
    let test = world.start(ProcedureKind::SetPoint);
    world.trip(test, SLIP);
    let screen = world.screen(test);
    assert_eq!(
        screen.withdrawn,
        "Estimates withdrawn: 3 of 3 readings were outside the band. Profile this heater again."
    );
    assert_eq!((screen.live.0.as_str(), screen.live.1.as_str()), ("– –", "withdrawn"));
    assert_eq!((screen.trace, screen.ask_reading), (None, None));
    let why = world.estimates.profile(&world.book, &world.test(test)).map(|_| ());
    assert_eq!(why, Err(NoEstimate::Withdrawn(Share { outside: 3, of: 3 })));
    world.give(Command::End { test, how: Ending::HeaterProblem });

    let heater = world.test(test).frozen.heater.of;
    let phone = at(START).phone;
    let page = |world: &mut World| {
        let profiles = HeaterProfiles::of(&world.book, heater, phone, Degree::F, &|_| 0, &mut world.estimates);
        profiles.expect("the heater").modes.remove(0)
    };
    let shown = page(&mut world);
    assert_eq!(shown.short, "Estimates withdrawn");
    assert!(
        shown.words[0].contains("3 of 3 readings") && shown.words[0].ends_with("Profile this heater again."),
        "{:?}",
        shown.words
    );
    assert!(shown.words.iter().any(|words| words.contains("4 of 4 readings")), "{:?}", shown.words);

    // A new profile run, the first one's readings again.
    world.time += 3_600_000;
    let again = Id::from_u128(6_000);
    let answers = ProfileRunAnswers { ambient: Some(f(70)), ..ProfileRunAnswers::offered(&world.book, heater) };
    world.give(Command::StartProfileRun(Box::new(answers.start(again, heater).expect("answered"))));
    let old = profile_runs(&world.book, &world.test(test).frozen.heater.profile).remove(0);
    let from = world.time;
    let mut steps: Vec<(i64, Command)> = Vec::new();
    steps.extend(
        old.readings
            .iter()
            .map(|r| (r.at.since_heat_on(), Command::Read { of: again, reading: r.reading, trip: None })),
    );
    let marks = old.marks.iter().filter(|mark| mark.what != What::HeatOn);
    steps.extend(marks.map(|mark| (mark.at.since_heat_on(), Command::Mark { of: again, what: mark.what })));
    steps.sort_by_key(|step| step.0);
    for (at, command) in steps {
        world.time = from + at;
        world.give(command);
    }
    world.time += 60_000;
    world.give(Command::EndProfileRun { run: again, usable: true });
    let shown = page(&mut world);
    assert_eq!(shown.short, "Heater profile from 3 profile runs");
    assert!(shown.words.iter().all(|words| !words.contains("outside")), "{:?}", shown.words);
    world.time += 3_600_000;
    let test = world.start(ProcedureKind::SetPoint);
    assert!(world.screen(test).withdrawn.is_empty() && world.screen(test).trace.is_some());
    let newer = world.profile_run(test);
    assert_ne!(newer, profile_run);
    assert_eq!(world.record(newer), Record::default());
    assert!(world.record(profile_run).withdrawn.is_some());
    // Taken out again, its profile is the old one and so is the verdict.
    world.give(Command::End { test, how: Ending::HeaterProblem });
    let end = soakbook::book::profile_run::ProfileRun::of(&world.book, again).unwrap().ended.unwrap().hash;
    world.give(Command::Undo { target: end });
    world.give(Command::EndProfileRun { run: again, usable: false });
    assert_eq!(page(&mut world).short, "Estimates withdrawn");
}

#[test]
fn the_order_of_arrival_changes_no_verdict() {
    let (world, profile_run) = lost();
    let expected = Estimates::default().record(&world.book, profile_run);
    assert_eq!(expected.withdrawn, Some(Share { outside: 3, of: 3 }));
    let entries: Vec<&Entry> = world.book.entries().collect();
    // SplitMix64 (Steele, Lea & Flood 2014), for twenty orders.
    let mut state = 20_261_125_u64;
    let mut next = move || {
        state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    };
    for _ in 0..20 {
        let mut order: Vec<(u64, &Entry)> = entries.iter().map(|entry| (next(), *entry)).collect();
        order.sort_by_key(|item| item.0);
        let half = order.len() / 2;
        let (mut one, mut other) = (Book::default(), Book::default());
        order.iter().take(half).for_each(|(_, entry)| one.apply((*entry).clone()));
        order.iter().skip(half / 2).for_each(|(_, entry)| other.apply((*entry).clone()));
        one.merge(other);
        assert_eq!(Estimates::default().record(&one, profile_run), expected);
    }
}

/// What is done in a test, and how long after what was done before, ms.
#[derive(Clone, Copy, Debug)]
enum Done {
    Mark(What),
    Read(i64),
    Undo(usize),
    Move(usize, i64),
    Stand,
    Asleep(i64),
    Look,
}

fn done() -> impl Strategy<Value = (i64, Done)> {
    let marks = [What::Tripped, What::AtTop, What::HeaterOff, What::HeaterOn, What::Restored];
    let what = prop_oneof![
        proptest::sample::select(marks.to_vec()).prop_map(Done::Mark),
        (90_i64..230).prop_map(Done::Read),
        (0_usize..4).prop_map(Done::Undo),
        ((0_usize..4), -40_000_i64..40_000).prop_map(|(mark, by)| Done::Move(mark, by)),
        Just(Done::Stand),
        (3_000_i64..200_000).prop_map(Done::Asleep),
        Just(Done::Look),
    ];
    (prop_oneof![0_i64..2_000, 0_i64..150_000], what)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// What is kept along from look to look is what everything says when it is read anew, whatever is done and undone, and though the
    /// screen is drawn with the time of the tick before.
    #[test]
    fn what_is_kept_is_what_the_book_says(steps in proptest::collection::vec(done(), 1..14)) {
        let mut world = World::new();
        let test = world.start(ProcedureKind::SetPoint);
        for (later, what) in steps {
            world.time += later;
            let now = world.test(test);
            let marks: Vec<Hash> = now.marks.iter().map(|mark| mark.hash).collect();
            let last = |from_the_end: usize| marks.iter().rev().nth(from_the_end).copied();
            // What the rules refuse changes nothing.
            let _refused = match what {
                Done::Mark(what) => world.try_give(Command::Mark { of: test, what }),
                Done::Read(shown) => {
                    let trip = now.marks.iter().rev().find(|mark| mark.what == What::Tripped).map(|mark| mark.hash);
                    world.try_give(Command::Read { of: test, reading: f(shown), trip })
                }
                Done::Undo(place) => last(place).map_or(Ok(()), |target| world.try_give(Command::Undo { target })),
                Done::Move(place, by_ms) => last(place).map_or(Ok(()), |mark| world.try_give(Command::Move { mark, by_ms })),
                Done::Stand => now.readings.last().map_or(Ok(()), |taken| {
                    world.try_give(Command::ConfirmReading { reading: taken.hash })
                }),
                Done::Asleep(wall_ms) => {
                    let scope = Scope::Visit(world.made.visit);
                    world.try_give(Command::NoteGap { scope, wall_ms, mono_ms: 0, hidden: true })
                }
                Done::Look => Ok(()),
            };
            if Test::of(&world.book, test).is_none() {
                return Ok(());
            }
            let here = world.time;
            // The steps of a path grow as time goes by, so of the trace its end is looked at.
            let seen = |world: &mut World| {
                let mut screen = world.screen(test);
                let trace = screen.trace.take().map(|of| (of.label, of.readings, of.path.concat().pop()));
                (screen, trace)
            };
            for time in [here - 150, here, here + 250, here + 45_000] {
                world.time = time.max(START);
                let kept = seen(&mut world);
                let along = std::mem::take(&mut world.estimates);
                let anew = seen(&mut world);
                world.estimates = along;
                prop_assert_eq!(kept, anew, "{:?}", what);
            }
            world.time = here;
        }
    }
}
