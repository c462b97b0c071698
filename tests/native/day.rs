//! What is left of the day, when it may be done, and the first limit before it. Rule B22.

use crate::kit::*;
use crate::tolerances::{assert_close, assert_share};
use soakbook::book::body::{Ending, LiftCheck, NotifyAnswer, Point, What, Who, Whom};
use soakbook::book::command::Command;
use soakbook::findings::day::{Day, LIKELY, LimitOf, day, pace};
use soakbook::units::{Degree, Wall};
use soakbook::view::page::text::text;
use soakbook::view::visit::VisitScreen;

const MINUTE: i64 = 60 * SECOND;
const HOUR: i64 = 60 * MINUTE;

/// Ends at these minutes after the morning.
fn ends(minutes: &[i64]) -> Vec<Wall> {
    minutes.iter().map(|minute| MORNING + minute * MINUTE).collect()
}

/// Minutes after the morning.
fn minutes(at: Wall) -> f64 {
    (at - MORNING) as f64 / MINUTE as f64
}

/// Times of 5, 6, 4, 5, 4 and 6 minutes.
const SIX: [i64; 7] = [0, 5, 11, 15, 20, 24, 30];

#[test]
fn the_end_is_the_sum_of_as_many_more_with_its_spread() {
    // By hand: mean 5 min, s = √(4/5) min. Ten more: 50 min ± t·s·√(10 + 100/6), t(90 %, 5) = 2.015 (NIST/SEMATECH e-Handbook 1.3.6.7.2).
    let found = pace(ends(&SIX), 10, MORNING + 30 * MINUTE).expect("a pace");
    assert_eq!((found.intervals, found.mean_ms), (6, 5.0 * MINUTE as f64));
    assert_close("pace of the day", found.sd_ms / MINUTE as f64, 0.894_427);
    let half = 2.015 * 0.894_427 * (10.0_f64 + 100.0 / 6.0).sqrt();
    assert_close("pace of the day", minutes(found.earliest), 30.0 + 50.0 - half);
    assert_close("pace of the day", minutes(found.latest), 30.0 + 50.0 + half);
}

#[test]
fn the_span_holds_the_end_as_often_as_it_says() {
    // Times drawn from a normal population of 5 min ± 1 min; the share that the span holds is 90 % by its definition.
    let mut state = 0x9E37_79B9_7F4A_7C15_u64;
    let mut uniform = || {
        // SplitMix64 (Steele, Lea, Flood 2014).
        state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = state;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    };
    // Twelve uniform numbers less six are nearly normal.
    let mut time = || ((5.0 + (0..12).map(|_| uniform()).sum::<f64>() - 6.0) * MINUTE as f64) as i64;
    let mut held = 0_u32;
    for _ in 0..600 {
        let mut at = vec![MORNING];
        for _ in 0..8 {
            at.push(*at.last().unwrap() + time());
        }
        let now = *at.last().unwrap();
        let end = now + (0..20).map(|_| time()).sum::<i64>();
        let found = pace(at, 20, now).expect("a pace");
        held += u32::from((found.earliest..=found.latest).contains(&end));
    }
    assert_share("pace of the day", "ends held", f64::from(held) / 600.0, LIKELY);
}

#[test]
fn too_few_tests_say_nothing_and_pauses_and_nights_are_no_pace() {
    let now = MORNING + 30 * MINUTE;
    assert_eq!(pace(ends(&SIX[..5]), 10, now), None, "four times");
    assert!(pace(ends(&SIX[..6]), 10, now).is_some(), "five times");
    assert_eq!(pace(ends(&SIX), 0, now), None, "nothing left");
    assert_eq!(pace(Vec::new(), 10, now), None);
    // Lunch of an hour is left out: by hand, the same five times.
    let plain = pace(ends(&SIX), 10, now).expect("a pace");
    let lunch: Vec<i64> =
        SIX.iter().enumerate().map(|(at, minute)| if at > 3 { minute + 60 } else { *minute }).collect();
    let after = pace(ends(&lunch), 10, now + HOUR).expect("a pace");
    assert_eq!(after.intervals, 5);
    assert!(after.mean_ms <= plain.mean_ms);
    // Yesterday's pace is not today's.
    let next_day: Vec<i64> = SIX.iter().map(|minute| minute + 24 * 60).collect();
    let both = [ends(&[-600, -540, -480]), ends(&next_day)].concat();
    assert_eq!(pace(both, 10, now + 24 * HOUR).expect("a pace").intervals, 6);
    assert_eq!(pace(ends(&SIX), 10, now + 6 * HOUR), None, "nothing was tested today");
    // The end is never said to be past.
    let late = pace(ends(&SIX), 1, now + 50 * MINUTE).expect("a pace");
    assert!(late.earliest >= now + 50 * MINUTE && late.latest >= late.earliest);
}

fn of(world: &World) -> Day {
    day(&world.book, &world.register(), &world.visit(), world.phone.wall)
}

#[test]
fn what_is_left_is_the_list_or_all_that_may_be_heated() {
    let mut world = World::given();
    assert_eq!(of(&world).left, 2);
    world.wait(SECOND).act(start_with(|start| start.procedure = Some(id(FUNCTIONAL))));
    assert_eq!(of(&world).left, 2, "one that goes on is not done");
    world.wait(30 * SECOND).mark(What::Tripped);
    world.wait(SECOND).act(Command::End { test: id(TEST), how: Ending::StoppedEarly });
    assert_eq!(of(&world).left, 1);
    world.act(Command::PlanPositions { visit: id(VISIT), positions: vec![id(POSITION)], planned: true, why: None });
    assert_eq!(of(&world).left, 0);
}

#[test]
fn the_first_limit_is_the_one_that_comes_first() {
    let mut world = World::not_notified();
    assert_eq!(of(&world).first, None);
    let lift =
        LiftCheck { lift: None, good: true, note: None, by: Who::Person(id(PERSON)), happened: happened(MORNING) };
    world.act(Command::CheckLift { visit: id(VISIT), check: Box::new(lift) });
    // Own figure: a shift of eight hours.
    assert_eq!(of(&world).first.map(|first| (first.what, first.at)), Some((LimitOf::Lift, MORNING + 8 * HOUR)));
    let until = MORNING + 5 * HOUR;
    world.act(notify(Whom::SupervisingStation, NotifyAnswer::Notified, |notice| notice.test_until = Some(until)));
    assert_eq!(of(&world).first.map(|first| (first.what, first.at)), Some((LimitOf::Station, until)));
    world.wait(MINUTE).act(impair(None));
    // NFPA 101 (2009) 9.6.1.6: 4 h within 24 h, from the morning on.
    assert_eq!(
        of(&world).first.map(|first| (first.what, first.at)),
        Some((LimitOf::Impairment(None), MORNING + 4 * HOUR))
    );
}

#[test]
fn the_visit_page_says_so_and_promises_nothing() {
    let mut world = World::given();
    let page = |world: &World| {
        let (register, now) = (world.register(), world.phone.wall);
        text(&VisitScreen::of(&world.book, &register, &world.visit(), None, Degree::F, 0, now).page(now))
    };
    let first = page(&world);
    assert!(
        first.contains("2 positions")
            && !first.contains("not a promise")
            && first.contains("Not known yet: needs 6 tests."),
        "{first}"
    );
    for test in 20..26 {
        world.wait(SECOND).act(start_with(|start| (start.test, start.procedure) = (id(test), Some(id(FUNCTIONAL)))));
        world.wait(5 * MINUTE - SECOND);
        let trip = world.act(Command::Mark { of: id(test), what: What::Tripped });
        world.act(Command::SayPanel { trip, point: Point::Right, said: None });
        world.act(Command::Mark { of: id(test), what: What::Restored });
    }
    let page = page(&world);
    // By hand: one position more at 5 min each without any spread, at 08:35.
    assert!(page.contains("1 position") && page.contains("About 08:35, at 5:00 min a test (6 tests)"), "{page}");
    assert!(page.contains("not a promise"), "{page}");
}

#[test]
fn a_mistake_is_none_of_the_pace() {
    let mut world = World::given();
    let mut test = |number: u8, how: Ending| {
        world.wait(SECOND).act(start_with(|start| (start.test, start.procedure) = (id(number), Some(id(FUNCTIONAL)))));
        world.wait(5 * MINUTE).act(Command::Mark { of: id(number), what: What::Tripped });
        world.wait(SECOND).act(Command::End { test: id(number), how });
        of(&world).pace.map(|pace| pace.intervals)
    };
    (20..25).for_each(|number| assert_eq!(test(number, Ending::StoppedEarly), None));
    // Five ends have four times between them, a sixth one that is a mistake adds none.
    assert_eq!(test(25, Ending::Mistake), None);
    assert_eq!(test(26, Ending::StoppedEarly), Some(5));
}

#[test]
fn a_limit_that_is_over_is_said_to_be() {
    let mut world = World::not_notified();
    let until = MORNING + HOUR;
    world.act(notify(Whom::SupervisingStation, NotifyAnswer::Notified, |notice| notice.test_until = Some(until)));
    let page = |world: &World| {
        let (register, now) = (world.register(), world.phone.wall);
        text(&VisitScreen::of(&world.book, &register, &world.visit(), None, Degree::F, 0, now).page(now))
    };
    assert!(!page(&world).contains("already past"));
    world.wait(2 * HOUR);
    assert!(page(&world).contains(": already past"), "{}", page(&world));
}
