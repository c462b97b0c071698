//! The panel's side: a second phone says what came in there, and the test's own phone takes it for a trip.
//!
//! Times and offsets are invented; every difference is by hand.

use crate::kit::*;
use soakbook::book::body::{
    ClockOf, ClockOffset, Ending, Happened, OtherClock, PanelSighting, Point, Precision, What, Who,
};
use soakbook::book::command::Command;
use soakbook::book::decide::decide;
use soakbook::book::entry::Hash;
use soakbook::book::kit::Kit;
use soakbook::book::refusal::{Fault, Refusal};
use soakbook::book::sighting::Sighting;
use soakbook::book::visit::{Lag, Match};
use soakbook::findings::{self, Outcome};
use soakbook::units::Degree;
use soakbook::view::at_panel;
use soakbook::view::forms::Known;
use soakbook::view::page::text::text;
use soakbook::view::visit::VisitScreen;

const HOUR: i64 = 3_600 * SECOND;

/// Something that came in now by this phone's clock, with one thing changed.
fn came_in(world: &World, change: impl FnOnce(&mut PanelSighting)) -> Command {
    let Command::SawAtPanel { visit, mut seen } = at_panel::came_in(id(VISIT), world.phone.at()) else {
        unreachable!()
    };
    change(&mut seen);
    Command::SawAtPanel { visit, seen }
}

/// The line that this phone said last.
fn last_line(world: &World) -> Sighting {
    let visit = world.visit();
    visit.record.sightings.iter().rfind(|saw| saw.phone == world.phone.id).expect("a line").clone()
}

/// Something comes in now, and three seconds later somebody says which point it was.
fn point(world: &mut World, point: &str) -> Hash {
    world.act(came_in(world, |_| {}));
    let tap = last_line(world);
    let seen = PanelSighting { point: point.into(), replaces: Some(tap.hash), ..PanelSighting::clone(&tap.seen) };
    world.wait(3 * SECOND).act(Command::SawAtPanel { visit: id(VISIT), seen: Box::new(seen) });
    tap.hash
}

fn matches(world: &World) -> Vec<Match> {
    world.visit().matches(&world.register())
}

fn take(of: &[(Hash, Hash)]) -> Command {
    Command::TakeSightings { visit: id(VISIT), of: of.to_vec() }
}

/// A functional test of a position that trips now; it goes on.
fn trip(world: &mut World, test: u8, position: u8) -> Hash {
    world.wait(SECOND).act(start_with(|start| {
        (start.test, start.position, start.procedure) = (id(test), id(position), Some(id(FUNCTIONAL)));
    }));
    world.wait(30 * SECOND);
    world.act(Command::Mark { of: id(test), what: What::Tripped })
}

/// A technician with a trip, and a phone at the panel on which its point came in four seconds later.
fn both() -> (World, World, Hash, Hash) {
    let mut one = World::given();
    let mut two = one.other_phone();
    let trip = trip(&mut one, TEST, POSITION);
    two.wait(35 * SECOND);
    let saw = point(&mut two, "hd-1 ");
    (one, two, trip, saw)
}

fn clock(world: &World, of: OtherClock, ahead_ms: i64, u_ms: i64) -> Command {
    let (by, happened) = (Who::Person(id(PERSON)), world.phone.at().happened());
    let offset = ClockOffset { of, label: None, ahead_ms, u_ms, by, happened };
    Command::CompareClock { visit: id(VISIT), offset: Box::new(offset) }
}

fn panel_of(world: &World, trip: Hash) -> Option<Point> {
    let visit = world.visit();
    visit.tests.iter().find_map(|test| test.panel(trip)).map(|(point, _)| point)
}

fn page(world: &World) -> String {
    let (register, kit) = (world.register(), Kit::of(&world.book));
    let visit = Some(id(VISIT));
    text(&at_panel::page(Known { register: &register, kit: &kit, book: &world.book, visit, at: world.phone.at() }))
}

fn visit_page(world: &World) -> String {
    let (register, now) = (world.register(), world.phone.wall);
    text(&VisitScreen::of(&world.book, &register, &world.visit(), None, Degree::F, 0, now).page(now))
}

#[test]
fn what_came_in_counts_once_the_tests_own_phone_takes_it() {
    let (one, two, trip, saw) = both();
    let mut merged = one.merged(&two);
    assert_eq!(matches(&merged).iter().map(|of| (of.saw, of.trip, of.taken)).collect::<Vec<_>>(), [(saw, trip, None)]);
    assert_eq!(panel_of(&merged, trip), None, "a match that nobody took counted");
    let taken = merged.wait(SECOND).act(take(&[(saw, trip)]));
    assert_eq!(panel_of(&merged, trip), Some(Point::Right));
    assert_eq!(matches(&merged)[0].taken, Some(taken));
    assert_eq!(merged.decide(take(&[(saw, trip)])), Err(Refusal::NothingToAnswer));
    merged.wait(SECOND).act(Command::Undo { target: taken });
    assert_eq!((panel_of(&merged, trip), matches(&merged)[0].taken), (None, None));
}

#[test]
fn a_test_whose_panel_was_seen_by_another_phone_passes() {
    let (one, two, trip, saw) = both();
    let mut merged = one.merged(&two);
    merged.wait(SECOND).mark(What::Restored);
    assert!(merged.test().ended.is_none());
    // The panel's answer was the last of the three.
    assert_eq!(merged.decide(take(&[(saw, trip)])), Ok(vec!["panel_saw_accepted", "test_ended"]));
    merged.act(take(&[(saw, trip)]));
    assert_eq!(merged.test().ended.map(|(how, _)| how), Some(Ending::Done));
    let found = findings::visit(&merged.book, &merged.visit());
    assert_eq!(found.tests[0].outcome, Outcome::Passed);
}

#[test]
fn files_that_arrive_in_any_order_say_the_same() {
    let (one, two, trip, saw) = both();
    let mut three = one.merged(&two);
    three.phone = one.phone.clone();
    three.wait(2 * SECOND).act(take(&[(saw, trip)]));
    let mut later = two.clone();
    later.wait(60 * SECOND);
    let restored = at_panel::restored(&later.book, saw, later.phone.at()).expect("a restore");
    later.act(restored);
    let all = [&one, &later, &three];
    let mut seen = Vec::new();
    for order in [[0, 1, 2], [0, 2, 1], [1, 0, 2], [1, 2, 0], [2, 0, 1], [2, 1, 0]] {
        let merged = order.iter().fold(World::given(), |world, at| world.merged(all[*at]));
        assert_eq!(panel_of(&merged, trip), Some(Point::Right), "{order:?}");
        let sighting = Sighting::of(&merged.book, saw).expect("a line");
        // What is said anew after it was taken leaves it taken.
        assert_eq!(sighting.seen.restored_at, Some(later.phone.wall));
        seen.push((matches(&merged), sighting));
    }
    assert!(seen.windows(2).all(|two| two[0] == two[1]), "{seen:#?}");
}

#[test]
fn only_the_phone_of_the_test_takes_it() {
    let (one, two, trip, saw) = both();
    let merged = two.merged(&one);
    assert_eq!(merged.decide(take(&[(saw, trip)])), Err(Refusal::OtherPhonesTest));
    assert!(!page(&merged).contains("[Yes, this trip]"), "{}", page(&merged));
    let own = one.merged(&two);
    assert!(page(&own).contains("[Yes, this trip]"), "{}", page(&own));
}

#[test]
fn an_answer_at_the_test_stands_and_the_contradiction_is_shown() {
    let (mut one, two, trip, saw) = both();
    one.act(Command::SayPanel { trip, point: Point::NotThere, said: None });
    let mut merged = one.merged(&two);
    assert!(matches(&merged)[0].contradicts());
    for page in [page(&merged), visit_page(&merged)] {
        assert!(page.contains("HD-1: the test says “nothing there”, but its point came in at"), "{page}");
    }
    merged.act(take(&[(saw, trip)]));
    assert_eq!(panel_of(&merged, trip), Some(Point::NotThere), "what was answered was overwritten");
    assert!(visit_page(&merged).contains("but its point came in at"));
    // One that agrees is no contradiction.
    merged.act(Command::SayPanel { trip, point: Point::Right, said: None });
    assert!(!visit_page(&merged).contains("but its point came in at"));
}

#[test]
fn another_point_is_no_match() {
    let (one, mut two, trip, _) = both();
    let other = point(&mut two, "HD-9");
    let merged = one.merged(&two);
    assert!(matches(&merged).iter().all(|of| of.saw != other));
    assert_eq!(merged.decide(take(&[(other, trip)])), Err(Refusal::NothingToAnswer));
    assert!(page(&merged).contains("- HD-9: "), "{}", page(&merged));
    // Nor is one that nobody named.
    two.act(came_in(&two, |_| {}));
    let tap = last_line(&two).hash;
    assert!(matches(&one.merged(&two)).iter().all(|of| of.saw != tap));
}

#[test]
fn a_panel_that_shows_only_the_zone_shows_the_zone() {
    let (one, mut two, trip, _) = both();
    let zone = point(&mut two, "zone 1");
    assert!(matches(&one.merged(&two)).iter().any(|of| (of.saw, of.trip) == (zone, trip)));
    // A loop that shows its points is no zone.
    let mut one = World::given();
    one.act(put_position_with(POSITION, "HD-1", |put| put.place.circuit = Some(id(LINE))));
    let mut two = one.other_phone();
    self::trip(&mut one, TEST, POSITION);
    two.wait(30 * SECOND);
    point(&mut two, "Loop 2");
    assert_eq!(matches(&one.merged(&two)), []);
}

#[test]
fn of_two_trips_the_nearer_comes_first_and_one_is_taken() {
    let mut one = World::given();
    let mut two = one.other_phone();
    let first = trip(&mut one, TEST, POSITION);
    one.wait(SECOND).mark(What::Restored);
    let second = one.wait(40 * SECOND).mark(What::Tripped);
    // By hand: trips at 31 s and 72 s; it came in at 70 s.
    two.wait(70 * SECOND);
    let saw = point(&mut two, "HD-1");
    let mut merged = one.merged(&two);
    let found = matches(&merged);
    assert_eq!(found.iter().map(|of| (of.trip, of.apart_ms)).collect::<Vec<_>>(), [(second, -2_000), (first, 39_000)]);
    // Somebody looks at each of two.
    assert!(!page(&merged).contains("Yes to all"));
    assert_eq!(merged.decide(take(&[(saw, first), (saw, second)])), Err(Refusal::NothingToAnswer));
    merged.act(take(&[(saw, first)]));
    assert_eq!(matches(&merged).iter().map(|of| of.trip).collect::<Vec<_>>(), [first]);
    assert_eq!((panel_of(&merged, first), panel_of(&merged, second)), (Some(Point::Right), None));
}

#[test]
fn of_two_lines_for_one_trip_one_is_taken() {
    let (one, mut two, trip, saw) = both();
    let again = point(&mut two, "HD-1");
    let mut merged = one.merged(&two);
    assert_eq!(matches(&merged).len(), 2);
    merged.act(take(&[(saw, trip)]));
    let found = matches(&merged);
    assert_eq!(found.iter().map(|of| of.saw).collect::<Vec<_>>(), [saw]);
    assert_eq!(merged.decide(take(&[(again, trip)])), Err(Refusal::NothingToAnswer));
}

#[test]
fn several_are_taken_with_one_tap_and_given_back_with_one() {
    let mut one = World::given();
    let mut two = one.other_phone();
    let first = trip(&mut one, TEST, POSITION);
    one.wait(SECOND).mark(What::Restored);
    one.act(Command::End { test: id(TEST), how: Ending::StoppedEarly });
    let second = trip(&mut one, OTHER_TEST, OTHER_POSITION);
    two.wait(33 * SECOND);
    let saw = point(&mut two, "HD-1");
    two.wait(30 * SECOND);
    let other = point(&mut two, "HD-2");
    let mut merged = one.merged(&two);
    assert!(page(&merged).contains("[Yes to all 2]"), "{}", page(&merged));
    assert!(visit_page(&merged).contains("2 points came in at the panel that match trips."), "{}", visit_page(&merged));
    let taken = merged.act(take(&[(saw, first), (other, second)]));
    assert_eq!([first, second].map(|trip| panel_of(&merged, trip)), [Some(Point::Right); 2]);
    merged.act(Command::Undo { target: taken });
    assert_eq!([first, second].map(|trip| panel_of(&merged, trip)), [None; 2]);
}

#[test]
fn without_an_offset_there_is_no_lag_and_a_panels_clock_is_matched_with_nothing() {
    let (mut one, mut two, ..) = both();
    let found = matches(&one.merged(&two));
    assert_eq!(found[0].lag, None);
    assert!(page(&one.merged(&two)).contains("clocks not compared, so no lag"));
    let at = Happened { at: two.phone.wall, offset: 60, precision: Precision::Minute };
    two.wait(SECOND);
    two.act(came_in(&two, |seen| {
        (seen.point, seen.clock, seen.happened) = ("HD-1".into(), ClockOf::Panel, at);
    }));
    let by_panel = last_line(&two).hash;
    assert!(matches(&one.merged(&two)).iter().all(|of| of.saw != by_panel));
    assert!(page(&two).contains("panel's clock not compared, so no match"), "{}", page(&two));
    // Two phones may be 2 min apart, no more: by hand, the trip is at 31 s.
    two.wait(31 * SECOND + 120 * SECOND - (two.phone.wall - MORNING));
    let near = point(&mut two, "HD-1");
    two.wait(SECOND);
    let far = point(&mut two, "HD-1");
    let found = matches(&one.merged(&two));
    assert!(found.iter().any(|of| of.saw == near) && found.iter().all(|of| of.saw != far), "{found:#?}");
    // Once they are compared the lag is known: by hand, trip at 31 s, panel at 35 s by a clock 10 s ahead.
    let phone = OtherClock::Phone(two.phone.id);
    let compare = clock(&one, phone, 10_000, 300);
    one.act(compare);
    // √(300² + 500²) = 583.1 ms, rounded up.
    assert_eq!(matches(&one.merged(&two))[0].lag, Some(Lag { after_ms: -6_000, u_ms: 584 }));
}

#[test]
fn two_phones_that_looked_at_one_panels_clock_are_compared_by_it() {
    let (mut one, mut two, trip, saw) = both();
    // The panel is 100 s ahead of the technician's phone and 98 s ahead of the other one: that one is 2 s ahead.
    let compare = clock(&one, OtherClock::Panel, 100_000, 3_000);
    one.act(compare);
    let compare = clock(&two, OtherClock::Panel, 98_000, 4_000);
    two.act(compare);
    let mut merged = one.merged(&two);
    // By hand: 35 s − 31 s − 2 s; √(3² + 4²) = 5 s, with the tap √(5000² + 500²) = 5024.9 ms, rounded up.
    assert_eq!(matches(&merged)[0].lag, Some(Lag { after_ms: 2_000, u_ms: 5_025 }));
    merged.act(take(&[(saw, trip)]));
    assert!(page(&merged).contains("2 s ± 11 s after your tap"), "{}", page(&merged));
    // Times by the panel's own clock: 08:02 by it, read to the minute, so 08:02:30; by the technician's phone 08:00:50.
    let at = Happened { at: MORNING + 120 * SECOND, offset: 60, precision: Precision::Minute };
    two.wait(SECOND);
    two.act(came_in(&two, |seen| {
        (seen.point, seen.clock, seen.happened) = ("HD-1".into(), ClockOf::Panel, at);
    }));
    let by_panel = last_line(&two).hash;
    let found = matches(&one.merged(&two)).into_iter().find(|of| of.saw == by_panel).expect("a match");
    // √(3000² + 17321²) = 17578.9 ms, rounded up.
    assert_eq!(found.lag, Some(Lag { after_ms: 19_000, u_ms: 17_579 }));
}

#[test]
fn one_phone_may_do_both_sides() {
    let mut world = World::given();
    let trip = trip(&mut world, TEST, POSITION);
    world.wait(4 * SECOND);
    let saw = point(&mut world, "HD-1");
    // One clock: only the tap is uncertain.
    assert_eq!(matches(&world)[0].lag, Some(Lag { after_ms: 4_000, u_ms: 500 }));
    world.act(take(&[(saw, trip)]));
    assert_eq!(panel_of(&world, trip), Some(Point::Right));
}

#[test]
fn a_line_is_named_restored_and_taken_back_step_by_step() {
    let mut world = World::given();
    world.wait(SECOND);
    let tap = world.act(came_in(&world, |_| {}));
    let tapped_at = world.phone.wall;
    assert!(page(&world).contains("which point?") && page(&world).contains("Zone 1"), "{}", page(&world));
    let line = |world: &World| Sighting::of(&world.book, tap);
    let seen = line(&world).expect("a line").seen;
    let named = |replaces: Hash| Command::SawAtPanel {
        visit: id(VISIT),
        seen: Box::new(PanelSighting { point: "HD-2".into(), replaces: Some(replaces), ..PanelSighting::clone(&seen) }),
    };
    world.wait(20 * SECOND).act(named(tap));
    let sighting = line(&world).expect("a line");
    assert_eq!((sighting.seen.point.as_str(), sighting.seen.happened.at), ("HD-2", tapped_at));
    // What was said anew already is not said anew once more.
    assert_eq!(world.decide(named(tap)), Err(Refusal::NothingToEnd));
    world.wait(30 * SECOND);
    let restored = at_panel::restored(&world.book, tap, world.phone.at()).expect("a line");
    let restore = world.act(restored);
    assert_eq!(line(&world).expect("a line").seen.restored_at, Some(world.phone.wall));
    assert!(page(&world).contains("<Restored>"));
    world.act(Command::Undo { target: restore });
    assert_eq!(line(&world).expect("a line").seen.restored_at, None);
    assert!(page(&world).contains("<In alarm>"));
    world.act(Command::Undo { target: tap });
    assert_eq!(line(&world), None);
    assert_eq!(world.visit().record.sightings, []);
}

#[test]
fn a_point_that_is_changed_later_is_no_answer_any_more() {
    let (one, mut two, trip, saw) = both();
    let mut merged = one.merged(&two);
    merged.act(take(&[(saw, trip)]));
    assert_eq!(panel_of(&merged, trip), Some(Point::Right));
    let line = Sighting::of(&two.book, saw).expect("a line");
    let seen = PanelSighting { point: "HD-2".into(), replaces: Some(line.last), ..PanelSighting::clone(&line.seen) };
    two.wait(SECOND).act(Command::SawAtPanel { visit: id(VISIT), seen: Box::new(seen) });
    assert_eq!(panel_of(&merged.merged(&two), trip), None, "the point was not the one that was taken");
}

#[test]
fn what_cannot_be_is_refused() {
    let world = World::given();
    let soon = Happened { at: MORNING + HOUR, offset: 60, precision: Precision::Second };
    check(world.clone(), came_in(&world, |seen| seen.happened = soon), Err(Refusal::HappenedOutside { days: 31 }));
    // A panel's clock may be ahead.
    check(
        world.clone(),
        came_in(&world, |seen| (seen.happened, seen.clock) = (soon, ClockOf::Panel)),
        Ok(&["panel_saw"]),
    );
    check(
        world.clone(),
        came_in(&world, |seen| seen.restored_at = Some(MORNING - 1)),
        Err(Refusal::Field("PanelSighting.restored_at", Fault::Date)),
    );
    check(
        world.clone(),
        came_in(&world, |seen| seen.point = "x".repeat(10_000)),
        Err(Refusal::Field("PanelSighting.point", Fault::TooLong { most: soakbook::trade::fields::LINE })),
    );
    let other = world.other_phone();
    let mut two = other.clone();
    two.act(came_in(&other, |_| {}));
    let tap = last_line(&two).hash;
    let merged = world.merged(&two);
    check(merged.clone(), came_in(&merged, |seen| seen.replaces = Some(tap)), Err(Refusal::NothingToEnd));
    let mut nobody = world.clone();
    nobody.phone.who = None;
    assert!(matches!(decide(&nobody.book, nobody.phone.at(), came_in(&nobody, |_| {})), Err(Refusal::NoPerson)));
}
