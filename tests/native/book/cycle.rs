//! The cycle: what the head does, which trips count, how a run ends.
//!
//! Expected times are reckoned by hand from the clockwork in `kit`: by itself the head climbs 0–60 s, holds 60–360 s, is off
//! 360–405 s, climbs 405–425 s, is off 425–470 s, climbs 470–490 s, is off 490–535 s, climbs 535–555 s, is off 555–600 s and
//! climbs 600–620 s.

use super::kit::*;
use soakbook::book::body::What::{AtUpper, HeadOff, HeadOn, PanelReset, Reset, Tripped};
use soakbook::book::body::{AgainWhy, Ending, Fault, Point, What};
use soakbook::book::command::Command;
use soakbook::book::phase::{NotCounted, Phase, Timeline, ahead};
use soakbook::book::refusal::{Field, Refusal};
use soakbook::trade::head::{Cycle, Heating};
use soakbook::trade::procedure::Procedure;
use soakbook::trade::seen::Resets::{CannotBeSeen, NotWatched, Watched};
use soakbook::units::Celsius;

/// Given a run, taps at seconds since heat on, and a look at a second: what the run waits for.
#[track_caller]
fn look(given: World, taps: &[(i64, What)], second: i64, then: Phase) -> World {
    let mut world = given;
    world.taps(taps);
    world.wait_until(second);
    assert_eq!(world.phase(), then);
    world
}

fn by_itself() -> World {
    World::running(SELF_HEAD, SET_POINT, NotWatched)
}

fn by_hand() -> World {
    World::running(HAND_HEAD, SET_POINT, NotWatched)
}

/// A run on a head with another cycle.
fn on_head(n: u8, heating: Heating, procedure: u8) -> World {
    let mut world = World::given();
    world.wait(SECOND).act(put_head(n, heating));
    world.act(start_with(|s| (s.head, s.procedure) = (id(n), id(procedure))));
    world
}

fn end(how: Ending) -> Command {
    Command::End { run: id(RUN), how }
}

fn not_counted(world: &World) -> Vec<Option<NotCounted>> {
    world.timeline().trips.iter().map(|trip| trip.not_counted).collect()
}

const FIVE: [(i64, What); 5] = [(50, Tripped), (420, Tripped), (484, Tripped), (548, Tripped), (612, Tripped)];

#[test]
fn a_head_by_itself_needs_no_tap() {
    let climb =
        |climb, since: i64, until: i64| Phase::Climb { climb, since: since * SECOND, until: Some(until * SECOND) };
    let cool = |climb, since: i64, until: i64| Phase::Cool { climb, since: since * SECOND, until: until * SECOND };
    let soak = Phase::Soak { climb: 1, since: 60_000, until: Some(360_000) };
    let trip = [(50, Tripped)];
    look(by_itself(), &[], 0, climb(1, 0, 60));
    look(by_itself(), &[], 59, climb(1, 0, 60));
    look(by_itself(), &trip, 60, soak);
    look(by_itself(), &trip, 359, soak);
    look(by_itself(), &trip, 360, cool(1, 360, 405));
    look(by_itself(), &trip, 404, cool(1, 360, 405));
    look(by_itself(), &trip, 405, climb(2, 405, 425));
    look(by_itself(), &trip, 425, cool(2, 425, 470));
    look(by_itself(), &trip, 489, climb(3, 470, 490));
    look(by_itself(), &trip, 600, climb(5, 600, 620));
}

#[test]
fn a_five_trip_check_counts_four_and_is_complete_at_the_fifth() {
    let world = look(by_itself(), &FIVE, 700, Phase::Complete { since: 612_000 });
    assert_eq!(not_counted(&world), [Some(NotCounted::First), None, None, None, None]);
    let timeline = world.timeline();
    assert_eq!(timeline.trips.iter().map(|trip| trip.climb).collect::<Vec<_>>(), [1, 2, 3, 4, 5]);
    assert_eq!(timeline.trips[4].climb_from, 600_000);
    assert_eq!(timeline.operated(), Some(true));
    assert!(timeline.missing.is_empty());
    check(world, end(Ending::Done), Ok(&["run_ended"]));
}

#[test]
fn a_trip_counts_while_climbing_holding_or_just_after() {
    for second in [50, 200, 380] {
        let world = look(by_itself(), &[(second, Tripped), (420, Tripped)], 421, climb_two());
        assert_eq!(not_counted(&world), [Some(NotCounted::First), None], "{second}");
    }
    fn climb_two() -> Phase {
        Phase::Climb { climb: 2, since: 405_000, until: Some(425_000) }
    }
}

#[test]
fn a_second_trip_in_one_climb_does_not_count() {
    let mut world = by_itself();
    world.taps(&[(50, Tripped), (55, Tripped), (420, Tripped), (430, Tripped)]);
    use NotCounted::{First, Repeat};
    assert_eq!(not_counted(&world), [Some(First), Some(Repeat), None, Some(Repeat)]);
}

#[test]
fn a_head_by_hand_says_when_to_switch() {
    let up = |since: i64| Phase::Climb { climb: 1, since, until: Some(60_000) };
    let trip = [(50, Tripped)];
    look(by_hand(), &trip, 55, up(0));
    look(by_hand(), &trip, 100, Phase::Soak { climb: 1, since: 60_000, until: Some(360_000) });
    look(by_hand(), &trip, 400, Phase::SwitchOff { climb: 1, since: 360_000 });
    let off = [(50, Tripped), (365, HeadOff)];
    look(by_hand(), &off, 409, Phase::Cool { climb: 1, since: 365_000, until: 410_000 });
    // A hand-switched head may cool longer.
    look(by_hand(), &off, 500, Phase::SwitchOn { climb: 1, since: 410_000 });
    let on = [(50, Tripped), (365, HeadOff), (415, HeadOn)];
    look(by_hand(), &on, 420, Phase::Climb { climb: 2, since: 415_000, until: Some(435_000) });
    let again = [(50, Tripped), (365, HeadOff), (415, HeadOn), (430, Tripped)];
    look(by_hand(), &again, 431, Phase::SwitchOff { climb: 2, since: 430_000 });
}

#[test]
fn a_five_trip_check_by_hand() {
    let taps = [
        (50, Tripped),
        (360, HeadOff),
        (405, HeadOn),
        (420, Tripped),
        (422, HeadOff),
        (467, HeadOn),
        (480, Tripped),
        (482, HeadOff),
        (527, HeadOn),
        (540, Tripped),
        (542, HeadOff),
        (587, HeadOn),
        (600, Tripped),
    ];
    let world = look(by_hand(), &taps, 700, Phase::Complete { since: 600_000 });
    assert_eq!(not_counted(&world), [Some(NotCounted::First), None, None, None, None]);
}

#[test]
fn no_trip_after_a_climb_and_a_full_soak_did_not_operate() {
    for given in [by_itself, by_hand] {
        look(given(), &[], 359, Phase::Soak { climb: 1, since: 60_000, until: Some(360_000) });
        let mut world = look(given(), &[], 361, Phase::NoTrip { since: 360_000 });
        assert_eq!(world.timeline().operated(), Some(false));
        check(world.clone(), end(Ending::DidNotOperate), Ok(&["run_ended", "deficiency_found"]));
        world.act(end(Ending::DidNotOperate));
        assert_eq!(world.phase(), Phase::Ended { how: Ending::DidNotOperate, at: 361_000 });
        assert_eq!(world.timeline().operated(), Some(false));
        let found: Vec<_> = world.round().deficiencies.iter().map(|d| (d.detector, d.run, d.fault)).collect();
        assert_eq!(found, [(id(DETECTOR), Some(id(RUN)), Fault::DidNotOperate)]);
    }
}

#[test]
fn a_soak_cut_short_proves_nothing() {
    // Off at 100 s, 40 s into a soak of 300 s.
    let world = look(by_hand(), &[(100, HeadOff)], 400, Phase::SwitchOn { climb: 1, since: 145_000 });
    assert_eq!(world.timeline().operated(), None);
    check(world, end(Ending::DidNotOperate), Err(Refusal::NotComplete));
    // Off 5 s early is a full soak all the same: lamp and finger are some seconds apart.
    look(by_hand(), &[(355, HeadOff)], 400, Phase::NoTrip { since: 355_000 });
    // A soak taken in full after one cut short counts: off at 100 s, on at 145 s, upper at 165 s, 300 s of soak.
    let again = [(100, HeadOff), (145, HeadOn)];
    look(by_hand(), &again, 464, Phase::Soak { climb: 2, since: 165_000, until: Some(465_000) });
    look(by_hand(), &again, 466, Phase::NoTrip { since: 465_000 });
}

#[test]
fn one_trip_seen_is_a_yes_for_good() {
    let world = look(by_itself(), &[(400, Tripped)], 401, Phase::Cool { climb: 1, since: 360_000, until: 405_000 });
    assert_eq!(world.timeline().operated(), Some(true));
    check(world, end(Ending::DidNotOperate), Err(Refusal::HasTripped));
}

#[test]
fn a_later_climb_without_a_trip_is_not_decided_and_looked_at_again() {
    // No trip in climb 3 (470–490 s); the off after it ends at 535 s.
    let taps = [(50, Tripped), (420, Tripped), (548, Tripped), (612, Tripped)];
    let mut world = look(by_itself(), &taps, 613, Phase::Complete { since: 612_000 });
    assert_eq!(world.timeline().missing, [3]);
    assert_eq!(world.timeline().operated(), Some(true));
    check(world.clone(), end(Ending::Done), Ok(&["run_ended", "look_again"]));
    world.act(end(Ending::Done));
    let again: Vec<_> = world.round().again.iter().map(|a| (a.detector, a.why, a.taken)).collect();
    assert_eq!(again, [(id(DETECTOR), AgainWhy::MissingTrip, false)]);
    world.wait(SECOND).act(start_with(|s| s.run = id(OTHER_RUN)));
    assert!(world.round().again[0].taken);
}

#[test]
fn a_missing_last_trip_also_completes() {
    let world = look(by_itself(), &FIVE[..4], 700, Phase::Complete { since: 620_000 });
    assert_eq!(world.timeline().missing, [5]);
    check(world, end(Ending::Done), Ok(&["run_ended", "look_again"]));
}

#[test]
fn a_watched_reset_that_is_not_seen_costs_the_next_trip_and_appends_one() {
    let given = || World::running(SELF_HEAD, SET_POINT, Watched);
    // The reset after trip 2 is not seen; climb 6 lies at 665–685 s.
    let taps = [
        (50, Tripped),
        (370, Reset),
        (420, Tripped),
        (484, Tripped),
        (500, Reset),
        (548, Tripped),
        (560, Reset),
        (612, Tripped),
        (630, Reset),
    ];
    let world = look(given(), &taps, 666, Phase::Climb { climb: 6, since: 665_000, until: Some(685_000) });
    assert_eq!(world.timeline().wanted, 6);
    assert_eq!(not_counted(&world)[2], Some(NotCounted::NoReset));
    let done = [&taps[..], &[(677, Tripped)]].concat();
    let world = look(given(), &done, 678, Phase::Complete { since: 677_000 });
    assert_eq!(world.timeline().counted().count(), 4);
}

#[test]
fn trips_are_appended_up_to_the_limit() {
    // No reset is ever seen: climbs 2 and 3 append one each, then the limit of 2 is reached and the rest does not count either.
    // Climbs 6 and 7 lie at 665–685 s and 730–750 s.
    let taps = [&FIVE[..], &[(677, Tripped), (742, Tripped)]].concat();
    let world = look(World::running(SELF_HEAD, SET_POINT, Watched), &taps, 743, Phase::Complete { since: 742_000 });
    assert_eq!(world.timeline().wanted, 7);
    assert_eq!(world.timeline().counted().count(), 0);
}

#[test]
fn where_resets_are_not_watched_trips_count() {
    for resets in [NotWatched, CannotBeSeen] {
        let world = look(World::running(SELF_HEAD, SET_POINT, resets), &FIVE, 613, Phase::Complete { since: 612_000 });
        assert_eq!(world.timeline().counted().count(), 4);
        assert!(world.timeline().trips.iter().all(|trip| trip.reset_at.is_none()));
    }
}

#[test]
fn a_panel_reset_is_recorded_and_moves_nothing() {
    let world = look(
        by_itself(),
        &[(50, Tripped), (365, PanelReset)],
        370,
        Phase::Cool { climb: 1, since: 360_000, until: 405_000 },
    );
    assert!(world.run().marks.iter().any(|mark| mark.what == PanelReset && mark.at == 365_000));
}

#[test]
fn a_response_check_is_one_trip_and_one_reset() {
    let mut world = World::running(SELF_HEAD, RESPONSE, Watched);
    world.taps(&[(50, Tripped)]);
    assert_eq!(world.phase(), Phase::AwaitReset { since: 50_000 });
    world.wait_until(80);
    check(world.clone(), Command::Mark { run: id(RUN), what: Reset }, Ok(&["mark", "run_ended"]));
    world.mark(Reset);
    assert_eq!(world.phase(), Phase::Ended { how: Ending::Done, at: 80_000 });
    // Where resets are not watched the trip is all there is.
    look(World::running(SELF_HEAD, RESPONSE, NotWatched), &[(50, Tripped)], 51, Phase::Complete { since: 50_000 });
}

#[test]
fn any_run_can_be_ended_early_once_it_tripped() {
    let mut world = by_itself();
    check(world.clone(), end(Ending::Enough), Err(Refusal::NoTripYet));
    check(world.clone(), end(Ending::StaysInAlarm), Err(Refusal::NoTripYet));
    check(world.clone(), end(Ending::Done), Err(Refusal::NotComplete));
    world.taps(&[(50, Tripped)]);
    check(world.clone(), end(Ending::Enough), Ok(&["run_ended"]));
    check(world.clone(), end(Ending::StaysInAlarm), Ok(&["run_ended", "deficiency_found"]));
    check(world, end(Ending::Done), Err(Refusal::NotComplete));
}

#[test]
fn a_run_can_be_stopped_with_a_reason_and_keeps_what_it_has() {
    for how in [Ending::HeadTrouble, Ending::SiteAsked] {
        check(by_itself(), end(how), Ok(&["run_ended", "look_again"]));
    }
    for how in [Ending::DetectorTrouble, Ending::Mistake] {
        check(by_itself(), end(how), Ok(&["run_ended"]));
    }
    let mut world = by_itself();
    world.taps(&[(50, Tripped)]);
    world.wait(SECOND).act(end(Ending::HeadTrouble));
    assert_eq!(world.timeline().trips.len(), 1);
    check(world.clone(), end(Ending::Done), Err(Refusal::RunEnded));
    check(world.clone(), Command::Mark { run: id(RUN), what: Tripped }, Err(Refusal::RunEnded));
    // The clock goes on, the run does not.
    world.wait(3_600 * SECOND);
    assert_eq!(world.phase(), Phase::Ended { how: Ending::HeadTrouble, at: 51_000 });
    assert_eq!(world.timeline().stretches.len(), 1);
}

#[test]
fn a_head_without_nominal_climbs_asks_for_the_mark() {
    let given = |n: u8, by_itself: bool| {
        let cycle = if by_itself {
            let (climb_cold_ms, climb_again_ms) = (None, None);
            Cycle::ByItself { climb_cold_ms, climb_again_ms, hold_first_ms: 300_000, hold_again_ms: 0, off_ms: 45_000 }
        } else {
            Cycle::ByHand { climb_cold_ms: None, climb_again_ms: None }
        };
        on_head(n, Heating { cycle, ..super::kit::by_itself() }, SET_POINT)
    };
    for (n, by_itself) in [(SELF_HEAD, true), (HAND_HEAD, false)] {
        look(given(n, by_itself), &[], 3_000, Phase::Climb { climb: 1, since: 0, until: None });
        let upper = [(50, Tripped), (80, AtUpper)];
        let soak = Phase::Soak { climb: 1, since: 80_000, until: Some(380_000) };
        look(given(n, by_itself), &upper, 90, soak);
    }
    // By itself: off at 380 s, on again at 425 s, and the next climb waits for its mark.
    let upper = [(50, Tripped), (80, AtUpper)];
    look(given(SELF_HEAD, true), &upper, 500, Phase::Climb { climb: 2, since: 425_000, until: None });
    let second = [&upper[..], &[(440, Tripped), (450, AtUpper)]].concat();
    look(given(SELF_HEAD, true), &second, 451, Phase::Cool { climb: 2, since: 450_000, until: 495_000 });
    // Its heat-off seen 60 s into an unmarked climb is that climb's, not the last one's still to come.
    let off = [&upper[..], &[(500, HeadOff)]].concat();
    look(given(SELF_HEAD, true), &off, 501, Phase::Cool { climb: 2, since: 500_000, until: 545_000 });
}

#[test]
fn a_late_mark_moves_by_seconds_and_keeps_both_times() {
    let mut world = by_itself();
    let trip = world.taps(&[(50, Tripped), (420, Tripped)])[1];
    world.wait(SECOND);
    let moved = |world: &World| world.run().marks.iter().find(|m| m.hash == trip).map(|m| (m.at, m.moved_ms)).unwrap();
    world.act(Command::Move { mark: trip, by_ms: -3_000 });
    assert_eq!(moved(&world), (417_000, -3_000));
    // A second move starts from where the first one left it; the highest place in the chain counts.
    world.wait(SECOND);
    let second = world.act(Command::Move { mark: trip, by_ms: 1_000 });
    assert_eq!(moved(&world), (418_000, -2_000));
    world.wait(SECOND).act(Command::Undo { target: second });
    assert_eq!(moved(&world), (417_000, -3_000));
}

#[test]
fn a_move_can_change_which_climb_a_trip_belongs_to() {
    let mut world = by_itself();
    // Tapped at 406 s, in climb 2; it happened 30 s earlier, in the first half of the off after climb 1 (360 s to 405 s).
    let trips = world.taps(&[(50, Tripped), (406, Tripped)]);
    assert_eq!(not_counted(&world), [Some(NotCounted::First), None]);
    world.wait(SECOND).act(Command::Move { mark: trips[1], by_ms: -30_000 });
    assert_eq!(not_counted(&world), [Some(NotCounted::First), Some(NotCounted::Repeat)]);
}

#[test]
fn a_trip_late_in_heat_off_says_that_the_head_came_on_unseen() {
    // Off after climb 1 from 360 s to 405 s by the nominal times; a trip at 400 s can only come from heat.
    let mut world = by_itself();
    world.taps(&[(50, Tripped), (400, Tripped)]);
    assert_eq!(not_counted(&world), [Some(NotCounted::First), None]);
    assert_eq!(world.timeline().trips.iter().map(|trip| trip.climb).collect::<Vec<_>>(), [1, 2]);
}

#[test]
fn a_mark_stays_within_the_run() {
    let mut world = by_itself();
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
    let heat_on = world.run().marks[0].hash;
    let heat = |by_ms| Command::Move { mark: heat_on, by_ms };
    for by_ms in [i64::MIN, i64::MAX, 50_001] {
        check(world.clone(), heat(by_ms), Err(Refusal::MoveOutside));
    }
    // Heat on is the zero: 4 s earlier makes everything else 4 s later.
    world.act(heat(-4_000));
    assert_eq!(world.run().marks.iter().map(|mark| mark.at).collect::<Vec<_>>(), [0, 54_000]);
    assert_eq!(world.phase(), Phase::Climb { climb: 1, since: 0, until: Some(60_000) });
    assert_eq!(world.now(), 59_000);
}

#[test]
fn undo_takes_back_what_was_decided_together_and_can_be_undone() {
    let mut world = World::running(SELF_HEAD, RESPONSE, Watched);
    world.taps(&[(50, Tripped), (80, Reset)]);
    let before = world.run();
    let last = before.last.unwrap();
    world.wait(SECOND);
    check(world.clone(), Command::Undo { target: last }, Ok(&["undone", "undone"]));
    let undo = world.act(Command::Undo { target: last });
    assert_eq!(world.run().ended, None);
    assert_eq!(world.phase(), Phase::AwaitReset { since: 50_000 });
    check(world.clone(), Command::Undo { target: last }, Err(Refusal::NothingToUndo));
    world.wait(SECOND).act(Command::Undo { target: undo });
    let after = world.run();
    assert_eq!((after.marks, after.ended, after.last), (before.marks, before.ended, before.last));
}

#[test]
fn undoing_heat_on_takes_the_start_with_it() {
    let mut world = by_itself();
    let heat_on = world.run().last.unwrap();
    world.wait(SECOND).act(Command::Undo { target: heat_on });
    assert!(world.round().runs.is_empty());
    check(world, start_with(|_| {}), Ok(&["run_started", "mark"]));
}

#[test]
fn a_reading_belongs_to_its_trip_and_has_a_range() {
    let mut world = by_itself();
    let trip = world.taps(&[(50, Tripped)])[0];
    world.wait(SECOND);
    let read = |value, trip| Command::Read { run: id(RUN), reading: c(value), trip };
    let range = || Err(Refusal::Field(Field::Temperature { name: "Reading", from: Celsius(20.0), to: Celsius(400.0) }));
    // Ambient is 20 °C: a trip below it cannot be.
    check(world.clone(), read(19, Some(trip)), range());
    check(world.clone(), read(20, Some(trip)), Ok(&["reading_taken"]));
    check(world.clone(), read(401, None), range());
    let heat_on = world.run().marks[0].hash;
    check(world.clone(), read(80, Some(heat_on)), Err(Refusal::NoSuchMark));
    world.act(read(83, Some(trip)));
    world.wait(SECOND).act(read(84, Some(trip)));
    assert_eq!(world.run().reading_of(trip).map(|reading| reading.reading), Some(c(84)));
}

#[test]
fn a_trip_notes_what_the_panel_showed() {
    let mut world = by_itself();
    let trips = world.taps(&[(50, Tripped), (420, Tripped)]);
    let say = |trip, point, said: Option<&str>| Command::SayPanel { trip, point, said: said.map(Into::into) };
    world.wait(SECOND);
    check(world.clone(), say(trips[0], Point::Right, None), Ok(&["panel_point"]));
    let wrong = || say(trips[1], Point::Wrong, Some("Zone 9"));
    check(world.clone(), wrong(), Ok(&["panel_point", "deficiency_found"]));
    let heat_on = world.run().marks[0].hash;
    check(world.clone(), say(heat_on, Point::Right, None), Err(Refusal::NoSuchMark));
    world.act(wrong());
    assert_eq!(world.run().panel(trips[1]), Some((Point::Wrong, Some("Zone 9".into()))));
    assert_eq!(world.run().faults.iter().map(|(_, fault)| *fault).collect::<Vec<_>>(), [Fault::WrongPoint]);
    world.wait(SECOND).act(say(trips[1], Point::NotSeen, None));
    assert_eq!(world.run().panel(trips[1]), Some((Point::NotSeen, None)));
    let long = "x".repeat(401);
    let field = Refusal::Field(Field::TooLong { name: "What the panel said", most: 400 });
    check(world, say(trips[0], Point::Wrong, Some(&long)), Err(field));
}

#[test]
fn several_heads_go_on_by_themselves() {
    let mut world = by_itself();
    world.wait(30 * SECOND);
    world.act(start_with(|s| (s.run, s.detector, s.head) = (id(OTHER_RUN), id(OTHER_DETECTOR), id(HAND_HEAD))));
    world.taps(&[(50, Tripped)]);
    world.wait(SECOND).act(Command::Mark { run: id(OTHER_RUN), what: Tripped });
    world.wait_until(365);
    let phases: Vec<Phase> = world
        .round()
        .runs
        .iter()
        .map(|run| Timeline::of(run, run.time_on(world.phone.id, world.phone.stamp())).phase)
        .collect();
    // The second started 30 s later: at 335 s of its own it still soaks, from 60 to 360 s.
    let cool = Phase::Cool { climb: 1, since: 360_000, until: 405_000 };
    assert_eq!(phases, [cool, Phase::Soak { climb: 1, since: 60_000, until: Some(360_000) }]);
    // A mark of the one is none of the other.
    assert_eq!(world.round().runs.iter().map(|run| run.marks.len()).collect::<Vec<_>>(), [2, 2]);
}

#[test]
fn what_comes_next_is_known_ahead() {
    let mut world = by_itself();
    world.taps(&[(50, Tripped)]);
    let run = world.run();
    let next: Vec<i64> = ahead(&run, world.now(), 5).into_iter().map(|(at, _)| at / SECOND).collect();
    assert_eq!(next, [60, 360, 405, 425, 470]);
    // Without a trip the head comes off after the soak, and nothing follows.
    let idle = by_itself();
    let next: Vec<_> = ahead(&idle.run(), 0, 9).into_iter().collect();
    assert_eq!(next.last(), Some(&(360_000, Phase::NoTrip { since: 360_000 })));
}

#[test]
fn a_procedure_of_one_trip_is_complete_at_it() {
    let mut world = World::given();
    let one = Procedure { trips: 1, uncounted: 0, ..set_point() };
    world.wait(SECOND).act(Command::PutProcedure { procedure: id(SET_POINT), now: Box::new(one) });
    world.act(start_with(|_| {}));
    look(world, &[(50, Tripped)], 60, Phase::Complete { since: 50_000 });
}
