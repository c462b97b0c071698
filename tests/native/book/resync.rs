//! Marks of the heater's lamp bring the app's idea of the heater back in step. Times by hand, as in `cycle`.

use crate::kit::*;
use soakbook::book::body::What::{self, AtTop, HeaterOff, HeaterOn, Tripped};
use soakbook::book::timeline::Phase;
use soakbook::trade::conditions::Restores::NotWatched;
use soakbook::units::TestTime;

/// On the heater that cycles on its own, after a first trip: what the test waits for a second after the last tap.
#[track_caller]
fn check(when: &[(i64, What)], then: Phase) {
    let mut world = World::running(SELF_HEATER, SET_POINT, NotWatched);
    world.taps(&[(50, Tripped)]);
    world.taps(when);
    world.wait(SECOND);
    assert_eq!(world.phase(), then, "{when:?}");
}

const fn heat_up(heat_up: u32, since: i64, until: i64) -> Phase {
    Phase::HeatUp { heat_up, since: TestTime(since * SECOND), until: Some(TestTime(until * SECOND)) }
}

const fn soak(since: i64, until: i64) -> Phase {
    Phase::Soak { heat_up: 1, since: TestTime(since * SECOND), until: Some(TestTime(until * SECOND)) }
}

const fn cool(heat_up: u32, since: i64, until: i64) -> Phase {
    Phase::Cool { heat_up, since: TestTime(since * SECOND), until: Some(TestTime(until * SECOND)) }
}

#[test]
fn at_top_starts_the_soak_wherever_the_app_was() {
    // The heater was faster than its nominal 60 s.
    check(&[(55, AtTop)], soak(55, 355));
    // Slower: the app was holding already.
    check(&[(75, AtTop)], soak(75, 375));
    // So slow that the app had it off (360–405 s).
    check(&[(370, AtTop)], soak(370, 670));
}

#[test]
fn at_top_seen_again_does_not_start_the_soak_anew() {
    check(&[(55, AtTop), (200, AtTop)], soak(55, 355));
    // Still seen 5 s after the app has it off (355–400 s); the next upper would come at 420 s.
    check(&[(55, AtTop), (360, AtTop)], cool(1, 355, 400));
}

#[test]
fn at_top_near_the_next_one_is_the_next_one() {
    // Off at 355 s, next upper expected at 420 s: at 398 s it is 43 s after and 22 s before. No hold in later heat-ups.
    check(&[(55, AtTop), (398, AtTop)], cool(2, 398, 443));
}

#[test]
fn at_top_after_a_marked_heat_off_is_the_next_heat_up() {
    check(&[(350, HeaterOff), (380, AtTop)], cool(2, 380, 425));
}

#[test]
fn the_heater_went_off_earlier_or_later_than_the_app_thought() {
    check(&[(350, HeaterOff)], cool(1, 350, 395));
    check(&[(368, HeaterOff)], cool(1, 368, 413));
    // The app is ahead and has it heat-up again (405–425 s): 410 s is nearer to the off at 360 s than … it is not, the next
    // off is nominally at 425 s, 15 s away against 50 s. So it is heat-up 2 that ended.
    check(&[(410, HeaterOff)], cool(2, 410, 455));
}

#[test]
fn an_app_ahead_falls_back_where_the_last_off_is_nearer() {
    // A hold of 300 s in every heat-up: off 360–405 s, heat-up 405–425 s, off again at 725 s. 410 s is 50 s after the one and
    // 315 s before the other.
    let mut heating = auto();
    if let soakbook::trade::heater::Cycle::Auto { hold_again_ms, .. } = &mut heating.cycle {
        *hold_again_ms = Some(300_000);
    }
    let mut world = World::given();
    world.wait(SECOND).act(put_heater(SELF_HEATER, heating));
    world.act(start_with(|_| {}));
    world.taps(&[(50, Tripped), (410, HeaterOff)]);
    assert_eq!(world.phase(), cool(1, 410, 455));
    // With a trip in that heat-up it is that heat-up's own end.
    let mut world = world.clone();
    world.taps(&[(470, Tripped), (472, HeaterOff)]);
    assert_eq!(world.phase(), cool(2, 472, 517));
}

#[test]
fn the_heater_came_on_earlier_or_later_than_the_app_thought() {
    check(&[(400, HeaterOn)], heat_up(2, 400, 420));
    check(&[(412, HeaterOn)], heat_up(2, 412, 432));
    // Later than the whole nominal heat-up and into the off after it (425–470 s): a heat-up of its own.
    check(&[(430, HeaterOn)], heat_up(3, 430, 450));
}

#[test]
fn a_second_tap_of_the_same_sight_changes_nothing() {
    check(&[(350, HeaterOff), (353, HeaterOff)], cool(1, 350, 395));
    check(&[(400, HeaterOn), (403, HeaterOn)], heat_up(2, 400, 420));
    check(&[(50, AtTop), (53, AtTop)], soak(50, 350));
}

#[test]
fn a_heater_that_comes_on_after_it_tripped_or_held_went_off_unseen() {
    // By hand, with the mark of the cool-down forgotten: in the hold, and in a marked heat-up that tripped.
    let mut world = World::running(HAND_HEATER, SET_POINT, NotWatched);
    world.taps(&[(50, Tripped), (60, AtTop), (410, HeaterOn)]);
    assert_eq!(world.phase(), heat_up(2, 410, 430));
    world.taps(&[(425, Tripped), (480, HeaterOn)]);
    assert_eq!(world.phase(), heat_up(3, 480, 500));
}

#[test]
fn marks_before_heat_on_and_after_the_end_move_nothing() {
    use soakbook::book::body::Ending;
    use soakbook::book::command::Command;
    let mut world = World::running(SELF_HEATER, SET_POINT, NotWatched);
    let trip = world.taps(&[(50, Tripped)])[0];
    world.wait(SECOND).act(Command::End { test: id(TEST), how: Ending::StoppedEarly });
    // Moved to the very end, and heat on moved up to it.
    world.act(Command::Move { mark: trip, by_ms: 1_000 });
    assert_eq!(world.timeline().trips.len(), 1);
    let heat_on = world.test().marks[0].hash;
    world.wait(SECOND).act(Command::Move { mark: heat_on, by_ms: 51_000 });
    assert_eq!(world.timeline().trips.iter().map(|trip| trip.at).collect::<Vec<_>>(), [TestTime(0)]);
    assert_eq!(world.phase(), Phase::Ended { how: Ending::StoppedEarly, at: TestTime(0) });
}
