//! The cycle: what the heater does, which trips count, how a test ends.
//!
//! Expected times are reckoned by hand from the clockwork in `kit`: on its own the heater heats up 0–60 s, holds 60–360 s, is off
//! 360–405 s, heats up 405–425 s, is off 425–470 s, heats up 470–490 s, is off 490–535 s, heats up 535–555 s, is off 555–600 s and
//! heats up 600–620 s.

use crate::kit::*;
use soakbook::book::body::What::{AtTop, HeaterOff, HeaterOn, PanelReset, Restored, Tripped};
use soakbook::book::body::{Ending, ItemWhat, Point, RetestWhy, What};
use soakbook::book::command::Command;
use soakbook::book::refusal::{Fault, Refusal};
use soakbook::book::timeline::{NotCounted, Phase, Timeline, ahead};
use soakbook::trade::conditions::Restores::{CannotBeSeen, NotWatched, Watched};
use soakbook::trade::heater::{Cycle, Heating};
use soakbook::trade::procedure::Procedure;
use soakbook::units::{Celsius, TestTime};

/// Given a test, taps at seconds since heat on, and a look at a second: what the test waits for.
#[track_caller]
fn look(given: World, taps: &[(i64, What)], second: i64, then: Phase) -> World {
    let mut world = given;
    world.taps(taps);
    world.wait_until(second);
    assert_eq!(world.phase(), then);
    world
}

fn cycling() -> World {
    World::running(SELF_HEATER, SET_POINT, NotWatched)
}

fn switched() -> World {
    World::running(HAND_HEATER, SET_POINT, NotWatched)
}

/// A run on a heater with another cycle.
fn on_heater(n: u8, heating: Heating, procedure: u8) -> World {
    let mut world = World::given();
    world.wait(SECOND).act(put_heater(n, heating));
    world.act(start_with(|s| (s.heater, s.procedure) = (id(n), Some(id(procedure)))));
    world
}

fn end(how: Ending) -> Command {
    Command::End { test: id(TEST), how }
}

fn not_counted(world: &World) -> Vec<Option<NotCounted>> {
    world.timeline().trips.iter().map(|trip| trip.not_counted).collect()
}

const FIVE: [(i64, What); 5] = [(50, Tripped), (420, Tripped), (484, Tripped), (548, Tripped), (612, Tripped)];

#[test]
fn a_heater_by_itself_needs_no_tap() {
    let heat_up = |heat_up, since: i64, until: i64| Phase::HeatUp {
        heat_up,
        since: TestTime(since * SECOND),
        until: Some(TestTime(until * SECOND)),
    };
    let cool = |heat_up, since: i64, until: i64| Phase::Cool {
        heat_up,
        since: TestTime(since * SECOND),
        until: Some(TestTime(until * SECOND)),
    };
    let soak = Phase::Soak { heat_up: 1, since: TestTime(60_000), until: Some(TestTime(360_000)) };
    let trip = [(50, Tripped)];
    look(cycling(), &[], 0, heat_up(1, 0, 60));
    look(cycling(), &[], 59, heat_up(1, 0, 60));
    look(cycling(), &trip, 60, soak);
    look(cycling(), &trip, 359, soak);
    look(cycling(), &trip, 360, cool(1, 360, 405));
    look(cycling(), &trip, 404, cool(1, 360, 405));
    look(cycling(), &trip, 405, heat_up(2, 405, 425));
    look(cycling(), &trip, 425, cool(2, 425, 470));
    look(cycling(), &trip, 489, heat_up(3, 470, 490));
    look(cycling(), &trip, 600, heat_up(5, 600, 620));
}

#[test]
fn a_five_trip_check_counts_four_and_is_complete_at_the_fifth() {
    let world = look(cycling(), &FIVE, 700, Phase::Complete { since: TestTime(612_000) });
    assert_eq!(not_counted(&world), [Some(NotCounted::First), None, None, None, None]);
    let timeline = world.timeline();
    assert_eq!(timeline.trips.iter().map(|trip| trip.heat_up).collect::<Vec<_>>(), [1, 2, 3, 4, 5]);
    assert_eq!(timeline.trips[4].heat_up_from, TestTime(600_000));
    assert!(timeline.missing.is_empty());
    check(world, end(Ending::Done), Ok(&["test_ended"]));
}

#[test]
fn a_trip_counts_while_heating_holding_or_just_after() {
    for second in [50, 200, 380] {
        let world = look(cycling(), &[(second, Tripped), (420, Tripped)], 421, heat_up_two());
        assert_eq!(not_counted(&world), [Some(NotCounted::First), None], "{second}");
    }
    fn heat_up_two() -> Phase {
        Phase::HeatUp { heat_up: 2, since: TestTime(405_000), until: Some(TestTime(425_000)) }
    }
}

#[test]
fn a_second_trip_in_one_heat_up_does_not_count() {
    let mut world = cycling();
    world.taps(&[(50, Tripped), (55, Tripped), (420, Tripped), (430, Tripped)]);
    use NotCounted::{First, Repeat};
    assert_eq!(not_counted(&world), [Some(First), Some(Repeat), None, Some(Repeat)]);
}

#[test]
fn a_heater_by_hand_says_when_to_switch() {
    let up = |since: TestTime| Phase::HeatUp { heat_up: 1, since, until: Some(TestTime(60_000)) };
    let trip = [(50, Tripped)];
    look(switched(), &trip, 55, up(TestTime(0)));
    look(switched(), &trip, 100, Phase::Soak { heat_up: 1, since: TestTime(60_000), until: Some(TestTime(360_000)) });
    look(switched(), &trip, 400, Phase::SwitchOff { heat_up: 1, since: TestTime(360_000) });
    let off = [(50, Tripped), (365, HeaterOff)];
    look(switched(), &off, 409, Phase::Cool { heat_up: 1, since: TestTime(365_000), until: Some(TestTime(410_000)) });
    // A hand-switched heater may cool longer.
    look(switched(), &off, 500, Phase::SwitchOn { heat_up: 1, since: TestTime(410_000) });
    let on = [(50, Tripped), (365, HeaterOff), (415, HeaterOn)];
    look(switched(), &on, 420, Phase::HeatUp { heat_up: 2, since: TestTime(415_000), until: Some(TestTime(435_000)) });
    let again = [(50, Tripped), (365, HeaterOff), (415, HeaterOn), (430, Tripped)];
    look(switched(), &again, 431, Phase::SwitchOff { heat_up: 2, since: TestTime(430_000) });
}

#[test]
fn a_five_trip_check_by_hand() {
    let taps = [
        (50, Tripped),
        (360, HeaterOff),
        (405, HeaterOn),
        (420, Tripped),
        (422, HeaterOff),
        (467, HeaterOn),
        (480, Tripped),
        (482, HeaterOff),
        (527, HeaterOn),
        (540, Tripped),
        (542, HeaterOff),
        (587, HeaterOn),
        (600, Tripped),
    ];
    let world = look(switched(), &taps, 700, Phase::Complete { since: TestTime(600_000) });
    assert_eq!(not_counted(&world), [Some(NotCounted::First), None, None, None, None]);
}

#[test]
fn without_a_trip_the_heater_goes_on_and_nothing_is_concluded_by_the_clock() {
    // What the heater does is its own clockwork's; a hand-switched one waits for its hand after the procedure's soak.
    look(cycling(), &[], 359, Phase::Soak { heat_up: 1, since: TestTime(60_000), until: Some(TestTime(360_000)) });
    look(cycling(), &[], 361, Phase::Cool { heat_up: 1, since: TestTime(360_000), until: Some(TestTime(405_000)) });
    look(switched(), &[], 359, Phase::Soak { heat_up: 1, since: TestTime(60_000), until: Some(TestTime(360_000)) });
    look(switched(), &[], 361, Phase::SwitchOff { heat_up: 1, since: TestTime(360_000) });
}

#[test]
fn a_test_without_a_trip_ends_with_the_item_operation_not_proven() {
    // rule 0.20.
    for given in [cycling, switched] {
        let mut world = given();
        world.wait_until(100);
        check(world.clone(), end(Ending::NoTrip), Ok(&["test_ended", "item_found"]));
        world.act(end(Ending::NoTrip));
        assert_eq!(world.phase(), Phase::Ended { how: Ending::NoTrip, at: TestTime(100_000) });
        let items = world.visit().items;
        let found: Vec<_> = items.iter().map(|i| (i.found.position, i.found.test, i.found.what, i.class)).collect();
        assert_eq!(found, [(Some(id(POSITION)), Some(id(TEST)), ItemWhat::OperationNotProven, None)]);
    }
}

#[test]
fn one_trip_seen_is_a_yes_for_good() {
    let cool = Phase::Cool { heat_up: 1, since: TestTime(360_000), until: Some(TestTime(405_000)) };
    let world = look(cycling(), &[(400, Tripped)], 401, cool);
    check(world, end(Ending::NoTrip), Err(Refusal::HasTripped));
}

#[test]
fn a_later_heat_up_without_a_trip_is_listed_for_retest() {
    // No trip in heat-up 3 (470–490 s); the off after it ends at 535 s.
    let taps = [(50, Tripped), (420, Tripped), (548, Tripped), (612, Tripped)];
    let mut world = look(cycling(), &taps, 613, Phase::Complete { since: TestTime(612_000) });
    assert_eq!(world.timeline().missing, [3]);
    check(world.clone(), end(Ending::Done), Ok(&["test_ended", "retest_listed"]));
    world.act(end(Ending::Done));
    let retests: Vec<_> = world.visit().retests.iter().map(|r| (r.position, r.why, r.taken)).collect();
    assert_eq!(retests, [(id(POSITION), RetestWhy::MissingTrip, false)]);
    world.wait(SECOND).act(start_with(|s| s.test = id(OTHER_TEST)));
    assert!(world.visit().retests[0].taken);
}

#[test]
fn a_missing_last_trip_also_completes() {
    let world = look(cycling(), &FIVE[..4], 700, Phase::Complete { since: TestTime(620_000) });
    assert_eq!(world.timeline().missing, [5]);
    check(world, end(Ending::Done), Ok(&["test_ended", "retest_listed"]));
}

#[test]
fn a_watched_restore_that_is_not_seen_costs_the_next_trip_and_appends_one() {
    let given = || World::running(SELF_HEATER, SET_POINT, Watched);
    // The restore after trip 2 is not seen; heat-up 6 lies at 665–685 s.
    let taps = [
        (50, Tripped),
        (370, Restored),
        (420, Tripped),
        (484, Tripped),
        (500, Restored),
        (548, Tripped),
        (560, Restored),
        (612, Tripped),
        (630, Restored),
    ];
    let world = look(
        given(),
        &taps,
        666,
        Phase::HeatUp { heat_up: 6, since: TestTime(665_000), until: Some(TestTime(685_000)) },
    );
    assert_eq!(world.timeline().wanted, 6);
    assert_eq!(not_counted(&world)[2], Some(NotCounted::NoRestore));
    let done = [&taps[..], &[(677, Tripped)]].concat();
    let world = look(given(), &done, 678, Phase::Complete { since: TestTime(677_000) });
    assert_eq!(counted(&world), 4);
}

fn counted(world: &World) -> usize {
    world.timeline().trips.iter().filter(|trip| trip.not_counted.is_none()).count()
}

#[test]
fn trips_are_appended_up_to_the_limit() {
    // No restore is ever seen: heat-ups 2 and 3 append one each, then the limit of 2 is reached and the rest does not count either.
    // Heat-ups 6 and 7 lie at 665–685 s and 730–750 s.
    let taps = [&FIVE[..], &[(677, Tripped), (742, Tripped)]].concat();
    let world =
        look(World::running(SELF_HEATER, SET_POINT, Watched), &taps, 743, Phase::Complete { since: TestTime(742_000) });
    assert_eq!(world.timeline().wanted, 7);
    assert_eq!(counted(&world), 0);
}

#[test]
fn where_restores_are_not_watched_trips_count() {
    for restores in [NotWatched, CannotBeSeen] {
        let world = look(
            World::running(SELF_HEATER, SET_POINT, restores),
            &FIVE,
            613,
            Phase::Complete { since: TestTime(612_000) },
        );
        assert_eq!(counted(&world), 4);
        assert!(world.timeline().trips.iter().all(|trip| trip.restore_at.is_none()));
    }
}

#[test]
fn a_panel_reset_is_recorded_and_moves_nothing() {
    let world = look(
        cycling(),
        &[(50, Tripped), (365, PanelReset)],
        370,
        Phase::Cool { heat_up: 1, since: TestTime(360_000), until: Some(TestTime(405_000)) },
    );
    assert!(world.test().marks.iter().any(|mark| mark.what == PanelReset && mark.at == TestTime(365_000)));
}

#[test]
fn a_functional_test_is_a_trip_a_point_and_a_restore() {
    // rule 0.5. The restore is a part of it however it is seen (design 4).
    for restores in [Watched, NotWatched, CannotBeSeen] {
        let mut world = World::running(SELF_HEATER, FUNCTIONAL, restores);
        let trip = world.taps(&[(50, Tripped)])[0];
        assert_eq!(world.phase(), Phase::AwaitRestore { since: TestTime(50_000) });
        world.wait_until(80);
        let restored = Command::Mark { of: id(TEST), what: Restored };
        let right = Command::SayPanel { trip, point: Point::Right, said: None };
        // Whichever comes last ends it.
        check(world.clone(), restored.clone(), Ok(&["mark"]));
        check(world.clone(), right.clone(), Ok(&["panel_point"]));
        let mut restored_first = world.clone();
        restored_first.act(restored.clone());
        check(restored_first, right.clone(), Ok(&["panel_point", "test_ended"]));
        world.act(right);
        check(world.clone(), restored.clone(), Ok(&["mark", "test_ended"]));
        world.act(restored);
        assert_eq!(world.phase(), Phase::Ended { how: Ending::Done, at: TestTime(80_000) });
    }
}

#[test]
fn a_functional_test_can_be_ended_with_something_not_checked() {
    let mut world = World::running(SELF_HEATER, FUNCTIONAL, NotWatched);
    check(world.clone(), end(Ending::Done), Err(Refusal::NotComplete));
    world.taps(&[(50, Tripped)]);
    check(world, end(Ending::Done), Ok(&["test_ended"]));
}

#[test]
fn any_test_can_be_ended_early_once_it_tripped() {
    let mut world = cycling();
    check(world.clone(), end(Ending::StoppedEarly), Err(Refusal::NoTripYet));
    check(world.clone(), end(Ending::StaysInAlarm), Err(Refusal::NoTripYet));
    check(world.clone(), end(Ending::Done), Err(Refusal::NotComplete));
    world.taps(&[(50, Tripped)]);
    check(world.clone(), end(Ending::StoppedEarly), Ok(&["test_ended"]));
    check(world, end(Ending::Done), Err(Refusal::NotComplete));
}

#[test]
fn a_test_can_be_stopped_with_a_reason_and_keeps_what_it_has() {
    // A dead detector never leaves without a trace, whatever stopped the test (rule 0.20); a mistake heated none.
    for how in [Ending::HeaterProblem, Ending::SiteRequest, Ending::DetectorProblem] {
        check(cycling(), end(how), Ok(&["test_ended", "item_found"]));
    }
    check(cycling(), end(Ending::Mistake), Ok(&["test_ended"]));
    let mut world = cycling();
    world.taps(&[(50, Tripped)]);
    world.wait(SECOND).act(end(Ending::HeaterProblem));
    assert_eq!(world.timeline().trips.len(), 1);
    check(world.clone(), end(Ending::Done), Err(Refusal::TestEnded));
    check(world.clone(), Command::Mark { of: id(TEST), what: Tripped }, Err(Refusal::TestEnded));
    // The clock goes on, the test does not.
    world.wait(3_600 * SECOND);
    assert_eq!(world.phase(), Phase::Ended { how: Ending::HeaterProblem, at: TestTime(51_000) });
    assert_eq!(world.timeline().stretches.len(), 1);
}

#[test]
fn a_heater_without_nominal_heat_ups_asks_for_the_mark() {
    let given = |n: u8, cycles: bool| {
        let cycle = if cycles {
            Cycle::Auto {
                heat_up_cold_ms: None,
                heat_up_again_ms: None,
                hold_first_ms: Some(300_000),
                hold_again_ms: Some(0),
                off_ms: Some(45_000),
            }
        } else {
            Cycle::Manual { heat_up_cold_ms: None, heat_up_again_ms: None }
        };
        on_heater(n, Heating { cycle, ..auto() }, SET_POINT)
    };
    for (n, cycles) in [(SELF_HEATER, true), (HAND_HEATER, false)] {
        look(given(n, cycles), &[], 3_000, Phase::HeatUp { heat_up: 1, since: TestTime(0), until: None });
        let top = [(50, Tripped), (80, AtTop)];
        let soak = Phase::Soak { heat_up: 1, since: TestTime(80_000), until: Some(TestTime(380_000)) };
        look(given(n, cycles), &top, 90, soak);
    }
    // By itself: off at 380 s, on again at 425 s, and the next heat-up waits for its mark.
    let top = [(50, Tripped), (80, AtTop)];
    look(given(SELF_HEATER, true), &top, 500, Phase::HeatUp { heat_up: 2, since: TestTime(425_000), until: None });
    let second = [&top[..], &[(440, Tripped), (450, AtTop)]].concat();
    look(
        given(SELF_HEATER, true),
        &second,
        451,
        Phase::Cool { heat_up: 2, since: TestTime(450_000), until: Some(TestTime(495_000)) },
    );
    // Its cool-down seen 60 s into an unmarked heat-up is that heat-up's, not the last one's still to come.
    let off = [&top[..], &[(500, HeaterOff)]].concat();
    look(
        given(SELF_HEATER, true),
        &off,
        501,
        Phase::Cool { heat_up: 2, since: TestTime(500_000), until: Some(TestTime(545_000)) },
    );
}

#[test]
fn a_late_mark_moves_by_seconds_and_keeps_both_times() {
    let mut world = cycling();
    let trip = world.taps(&[(50, Tripped), (420, Tripped)])[1];
    world.wait(SECOND);
    let moved = |world: &World| world.test().marks.iter().find(|m| m.hash == trip).map(|m| (m.at, m.moved_ms)).unwrap();
    world.act(Command::Move { mark: trip, by_ms: -3_000 });
    assert_eq!(moved(&world), (TestTime(417_000), -3_000));
    // A second move starts from where the first one left it; the highest place in the chain counts.
    world.wait(SECOND);
    let second = world.act(Command::Move { mark: trip, by_ms: 1_000 });
    assert_eq!(moved(&world), (TestTime(418_000), -2_000));
    world.wait(SECOND).act(Command::Undo { target: second });
    assert_eq!(moved(&world), (TestTime(417_000), -3_000));
}

#[test]
fn a_move_can_change_which_heat_up_a_trip_belongs_to() {
    let mut world = cycling();
    // Tapped at 406 s, in heat-up 2; it happened 30 s earlier, in the first half of the off after heat-up 1 (360 s to 405 s).
    let trips = world.taps(&[(50, Tripped), (406, Tripped)]);
    assert_eq!(not_counted(&world), [Some(NotCounted::First), None]);
    world.wait(SECOND).act(Command::Move { mark: trips[1], by_ms: -30_000 });
    assert_eq!(not_counted(&world), [Some(NotCounted::First), Some(NotCounted::Repeat)]);
}

#[test]
fn a_trip_late_in_heat_off_says_that_the_heater_came_on_unseen() {
    // Off after heat-up 1 from 360 s to 405 s by the nominal times; a trip at 400 s can only come from heat.
    let mut world = cycling();
    world.taps(&[(50, Tripped), (400, Tripped)]);
    assert_eq!(not_counted(&world), [Some(NotCounted::First), None]);
    assert_eq!(world.timeline().trips.iter().map(|trip| trip.heat_up).collect::<Vec<_>>(), [1, 2]);
}

#[test]
fn a_mark_stays_within_the_test() {
    let mut world = cycling();
    let trip = world.taps(&[(50, Tripped)])[0];
    world.wait_until(55);
    let by = |by_ms| Command::Move { mark: trip, by_ms };
    check(world.clone(), by(-50_000), Ok(&["moved"]));
    check(world.clone(), by(-50_001), Err(Refusal::MoveOutside));
    check(world.clone(), by(5_000), Ok(&["moved"]));
    check(world.clone(), by(5_001), Err(Refusal::MoveOutside));
    for by_ms in [i64::MIN, i64::MAX] {
        check(world.clone(), by(by_ms), Err(Refusal::MoveOutside));
    }
    let heat_on = world.test().marks[0].hash;
    let heat = |by_ms| Command::Move { mark: heat_on, by_ms };
    for by_ms in [i64::MIN, i64::MAX, 50_001] {
        check(world.clone(), heat(by_ms), Err(Refusal::MoveOutside));
    }
    // Heat on is the zero: 4 s earlier makes everything else 4 s later.
    world.act(heat(-4_000));
    assert_eq!(world.test().marks.iter().map(|mark| mark.at).collect::<Vec<_>>(), [0, 54_000].map(TestTime));
    assert_eq!(world.phase(), Phase::HeatUp { heat_up: 1, since: TestTime(0), until: Some(TestTime(60_000)) });
    assert_eq!(world.now(), TestTime(59_000));
}

#[test]
fn undo_takes_back_what_was_decided_together_and_can_be_undone() {
    let mut world = World::running(SELF_HEATER, FUNCTIONAL, Watched);
    let trip = world.taps(&[(50, Tripped)])[0];
    world.act(Command::SayPanel { trip, point: Point::Right, said: None });
    world.taps(&[(80, Restored)]);
    let before = world.test();
    let last = before.last.unwrap();
    world.wait(SECOND);
    check(world.clone(), Command::Undo { target: last }, Ok(&["undone"]));
    let undo = world.act(Command::Undo { target: last });
    assert_eq!(world.test().ended, None);
    assert_eq!(world.phase(), Phase::AwaitRestore { since: TestTime(50_000) });
    check(world.clone(), Command::Undo { target: last }, Err(Refusal::NothingToUndo));
    world.wait(SECOND).act(Command::Undo { target: undo });
    let after = world.test();
    assert_eq!((after.marks, after.ended, after.last), (before.marks, before.ended, before.last));
}

#[test]
fn undoing_heat_on_takes_the_start_with_it() {
    let mut world = cycling();
    let heat_on = world.test().last.unwrap();
    world.wait(SECOND).act(Command::Undo { target: heat_on });
    assert!(world.visit().tests.is_empty());
    check(world, start_with(|_| {}), Ok(&["test_started", "mark"]));
}

#[test]
fn a_reading_belongs_to_its_trip_and_has_a_range() {
    let mut world = cycling();
    let trip = world.taps(&[(50, Tripped)])[0];
    world.wait(SECOND);
    let read = |value, trip| Command::Read { of: id(TEST), reading: c(value), trip };
    let range =
        || Err(Refusal::Field("ReadingCorrection.now", Fault::Temperature { from: Celsius(20.0), to: Celsius(400.0) }));
    // Ambient is 20 °C: a trip below it cannot be.
    check(world.clone(), read(19, Some(trip)), range());
    check(world.clone(), read(20, Some(trip)), Ok(&["reading_taken"]));
    check(world.clone(), read(401, None), range());
    let heat_on = world.test().marks[0].hash;
    check(world.clone(), read(80, Some(heat_on)), Err(Refusal::NoSuchMark));
    world.act(read(83, Some(trip)));
    world.wait(SECOND).act(read(84, Some(trip)));
    assert_eq!(world.test().reading_of(trip).map(|reading| reading.reading), Some(c(84)));
}

#[test]
fn a_trip_notes_what_the_panel_showed() {
    let mut world = cycling();
    let trips = world.taps(&[(50, Tripped), (420, Tripped)]);
    let say = |trip, point, said: Option<&str>| Command::SayPanel { trip, point, said: said.map(Into::into) };
    world.wait(SECOND);
    check(world.clone(), say(trips[0], Point::Right, None), Ok(&["panel_point"]));
    let wrong = || say(trips[1], Point::Wrong, Some("Zone 9"));
    check(world.clone(), wrong(), Ok(&["panel_point", "item_found"]));
    let heat_on = world.test().marks[0].hash;
    check(world.clone(), say(heat_on, Point::Right, None), Err(Refusal::NoSuchMark));
    world.act(wrong());
    assert_eq!(world.test().panel(trips[1]), Some((Point::Wrong, Some("Zone 9".into()))));
    assert_eq!(world.test().items.iter().map(|(_, what)| *what).collect::<Vec<_>>(), [ItemWhat::WrongPoint]);
    world.wait(SECOND).act(say(trips[1], Point::NotChecked, None));
    assert_eq!(world.test().panel(trips[1]), Some((Point::NotChecked, None)));
    let long = "x".repeat(401);
    let field = Refusal::Field("PanelSaid.said", Fault::TooLong { most: 400 });
    check(world, say(trips[0], Point::Wrong, Some(&long)), Err(field));
}

#[test]
fn several_heaters_go_on_by_themselves() {
    let mut world = cycling();
    world.wait(30 * SECOND);
    world.act(start_with(|s| (s.test, s.position, s.heater) = (id(OTHER_TEST), id(OTHER_POSITION), id(HAND_HEATER))));
    world.taps(&[(50, Tripped)]);
    world.wait(SECOND).act(Command::Mark { of: id(OTHER_TEST), what: Tripped });
    world.wait_until(365);
    let phases: Vec<Phase> = world
        .visit()
        .tests
        .iter()
        .map(|test| Timeline::of(test, test.time_on(world.phone.id, world.phone.stamp())).phase)
        .collect();
    // The second started 30 s later: at 335 s of its own it still soaks, from 60 to 360 s.
    let cool = Phase::Cool { heat_up: 1, since: TestTime(360_000), until: Some(TestTime(405_000)) };
    assert_eq!(phases, [cool, Phase::Soak { heat_up: 1, since: TestTime(60_000), until: Some(TestTime(360_000)) }]);
    // A mark of the one is none of the other.
    assert_eq!(world.visit().tests.iter().map(|test| test.marks.len()).collect::<Vec<_>>(), [2, 2]);
}

#[test]
fn what_comes_next_is_known_ahead() {
    let mut world = cycling();
    world.taps(&[(50, Tripped)]);
    let test = world.test();
    let next: Vec<i64> = ahead(&test, world.now(), 5).into_iter().map(|(at, _)| at.since_heat_on() / SECOND).collect();
    assert_eq!(next, [60, 360, 405, 425, 470]);
    // Without a trip the heater cycles all the same, until its last heat-up is over.
    let idle = cycling();
    let next: Vec<_> =
        ahead(&idle.test(), TestTime(0), 12).into_iter().map(|(at, _)| at.since_heat_on() / SECOND).collect();
    assert_eq!(next, [60, 360, 405, 425, 470, 490, 535, 555, 600, 620]);
}

#[test]
fn a_procedure_of_one_trip_is_complete_at_it() {
    let mut world = World::given();
    let one = Procedure { trips: 1, not_averaged: 0, ..set_point() };
    world.wait(SECOND).act(put_procedure(SET_POINT, one));
    world.act(start_with(|_| {}));
    look(world, &[(50, Tripped)], 60, Phase::Complete { since: TestTime(50_000) });
}
