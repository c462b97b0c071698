//! Two clocks that can each be wrong. Expected phase, time left and note are reckoned by hand from the entry format's
//! paragraphs "Time in a test" and "Clocks within a phone", with the clockwork of `kit`.

use crate::kit::*;
use soakbook::book::body::What::{AtTop, HeaterOff, Tripped};
use soakbook::book::clock::{ClockNote, GAP_MS};
use soakbook::book::command::Command;
use soakbook::book::entry::{Hash, Scope};
use soakbook::book::refusal::Refusal;
use soakbook::book::timeline::{Phase, ends};
use soakbook::trade::conditions::Restores::NotWatched;
use soakbook::units::TestTime;

const MINUTE: i64 = 60 * SECOND;

/// A trip at 50 s, now 100 s: 40 s into the soak that ends at 360 s.
fn soaking() -> World {
    let mut world = World::running(SELF_HEATER, SET_POINT, NotWatched);
    world.taps(&[(50, Tripped)]);
    world.wait_until(100);
    world
}

fn gap(wall_ms: i64, mono_ms: i64, hidden: bool) -> Command {
    Command::NoteGap { scope: Scope::Visit(id(VISIT)), wall_ms, mono_ms, hidden }
}

/// Now, what the test waits for, the seconds left, and the notes.
#[track_caller]
fn check(world: &World, now_s: i64, phase: Phase, left_s: Option<i64>, notes: &[ClockNote]) {
    assert_eq!(world.now(), TestTime(now_s * SECOND), "now");
    assert_eq!(world.phase(), phase);
    assert_eq!(ends(world.phase()).map(|until| (until - world.now()) / SECOND), left_s, "left");
    assert_eq!(world.test().clock_notes.iter().map(|(_, note)| *note).collect::<Vec<_>>(), notes);
}

const SOAK: Phase = Phase::Soak { heat_up: 1, since: TestTime(60_000), until: Some(TestTime(360_000)) };

fn cool() -> Phase {
    Phase::Cool { heat_up: 1, since: TestTime(360_000), until: Some(TestTime(405_000)) }
}

#[test]
fn without_a_gap_nothing_is_noted() {
    check(&soaking(), 100, SOAK, Some(260), &[]);
}

#[test]
fn minutes_asleep_count_as_test_time_and_are_asked_about_once() {
    // Asleep for 4 minutes at 100 s; noticed 1 s after waking, so the wall went 241 s and the other clock 1 s.
    let mut world = soaking();
    world.sleep(4 * MINUTE).wait(SECOND);
    let asked = world.act(gap(241_000, 1_000, true));
    let note = |answered| ClockNote::Asleep { for_ms: 240_000, answered, gap: asked };
    check(&world, 341, SOAK, Some(19), &[note(false)]);
    world.wait(SECOND);
    assert_eq!(world.decide(Command::AnswerGap { gap: asked, asleep: true }), Ok(vec!["clock_answered"]));
    let mut yes = world.clone();
    yes.act(Command::AnswerGap { gap: asked, asleep: true });
    check(&yes, 342, SOAK, Some(18), &[note(true)]);
    assert_eq!(yes.decide(Command::AnswerGap { gap: asked, asleep: true }), Err(Refusal::NothingToAnswer));
    // "No, somebody set the clock": then the sleep never was.
    let mut no = world.clone();
    no.act(Command::AnswerGap { gap: asked, asleep: false });
    check(&no, 102, SOAK, Some(258), &[ClockNote::SetForward { by_ms: 240_000 }]);
}

#[test]
fn a_sleep_past_the_soak_shows_the_right_phase_at_once() {
    let mut world = soaking();
    world.sleep(280 * SECOND).wait(SECOND);
    let asked = world.act(gap(281_000, 1_000, true));
    check(&world, 381, cool(), Some(24), &[ClockNote::Asleep { for_ms: 280_000, answered: false, gap: asked }]);
}

#[test]
fn a_clock_set_back_changes_nothing_and_is_noted() {
    for hidden in [false, true] {
        let mut world = soaking();
        world.set_clock(-10 * MINUTE).wait(SECOND);
        world.act(gap(-599_000, 1_000, hidden));
        check(&world, 101, SOAK, Some(259), &[ClockNote::SetBack { by_ms: 600_000 }]);
    }
}

#[test]
fn a_clock_set_forward_while_awake_changes_nothing_and_is_noted() {
    let mut world = soaking();
    world.set_clock(10 * MINUTE).wait(SECOND);
    world.act(gap(601_000, 1_000, false));
    check(&world, 101, SOAK, Some(259), &[ClockNote::SetForward { by_ms: 600_000 }]);
    world.taps(&[(380, AtTop)]);
    assert_eq!(world.now(), TestTime(380_000));
}

#[test]
fn a_clock_set_without_any_look_changes_nothing_either() {
    // Nobody noticed; within a session the monotonic clock counts.
    let mut world = soaking();
    world.set_clock(-10 * MINUTE).wait(20 * SECOND);
    world.mark(AtTop);
    check(
        &world,
        120,
        Phase::Soak { heat_up: 1, since: TestTime(120_000), until: Some(TestTime(420_000)) },
        Some(300),
        &[],
    );
}

#[test]
fn another_time_zone_is_another_offset_and_nothing_else() {
    let mut world = soaking();
    world.phone.offset_min = -300;
    world.wait(SECOND);
    check(&world, 101, SOAK, Some(259), &[]);
    world.mark(AtTop);
    assert_eq!(world.now(), TestTime(101_000));
}

#[test]
fn the_clocks_may_part_by_what_timers_are_late() {
    let world = soaking();
    assert_eq!(world.decide(gap(GAP_MS, 0, true)), Ok(vec![]));
    assert_eq!(world.decide(gap(GAP_MS + 1, 0, true)), Ok(vec!["clock_gap"]));
    assert_eq!(world.decide(gap(0, GAP_MS + 1, true)), Ok(vec!["clock_gap"]));
    assert_eq!(world.decide(gap(i64::MIN, i64::MAX, true)), Ok(vec!["clock_gap"]));
    let unknown = Command::AnswerGap { gap: Hash::of(b""), asleep: true };
    assert_eq!(world.decide(unknown), Err(Refusal::NothingToAnswer));
}

#[test]
fn after_a_kill_the_wall_bridges_the_time_between() {
    // The last entry is the trip at 50 s; killed at 100 s, started again 30 s later.
    let mut world = soaking();
    world.restart(30 * SECOND);
    check(&world, 130, SOAK, Some(230), &[]);
    world.wait(5 * SECOND);
    check(&world, 135, SOAK, Some(225), &[]);
    world.mark(AtTop);
    let note = ClockNote::Restarted { away_ms: 85_000 };
    check(
        &world,
        135,
        Phase::Soak { heat_up: 1, since: TestTime(135_000), until: Some(TestTime(435_000)) },
        Some(300),
        &[note],
    );
}

#[test]
fn after_a_kill_with_the_wall_behind_time_goes_on_and_the_next_lamp_mark_brings_it_back() {
    // The last entry is the trip at 50 s. Killed at 100 s; the clock is set back by 10 minutes meanwhile.
    let mut world = soaking();
    world.restart(-10 * MINUTE);
    check(&world, 50, Phase::HeatUp { heat_up: 1, since: TestTime(0), until: Some(TestTime(60_000)) }, Some(10), &[]);
    world.wait(15 * SECOND);
    check(&world, 65, SOAK, Some(295), &[]);
    // The lamp says that the heater goes off: at 70 s by this clock, and from there everything is right again.
    world.wait(5 * SECOND);
    world.mark(HeaterOff);
    let off = Phase::Cool { heat_up: 1, since: TestTime(70_000), until: Some(TestTime(115_000)) };
    check(&world, 70, off, Some(45), &[ClockNote::RestartedBehind]);
}

#[test]
fn a_wall_that_catches_up_after_a_restart_behind_bridges_nothing() {
    // The last entry is at 50 s. TestStart again with the wall 20 s before it; 100 s later the wall is past it by 80 s, which
    // says nothing: the session's own 100 s are what is known.
    let mut world = soaking();
    world.restart(-70 * SECOND).wait(100 * SECOND);
    check(&world, 150, SOAK, Some(210), &[]);
    world.mark(AtTop);
    let soak = Phase::Soak { heat_up: 1, since: TestTime(150_000), until: Some(TestTime(450_000)) };
    check(&world, 150, soak, Some(300), &[ClockNote::RestartedBehind]);
}

#[test]
fn a_gap_may_be_the_first_thing_a_new_session_says() {
    // TestStart again 30 s after the kill at 100 s. At 10 s of the session the clock is set forward by 10 minutes.
    let mut world = soaking();
    world.restart(30 * SECOND).wait(10 * SECOND).set_clock(10 * MINUTE).wait(SECOND);
    world.act(gap(601_000, 1_000, false));
    let notes = [ClockNote::Restarted { away_ms: 90_000 }, ClockNote::SetForward { by_ms: 600_000 }];
    check(&world, 141, SOAK, Some(219), &notes);
}

#[test]
fn two_entries_written_the_other_way_round_cost_no_time() {
    // A tap at 100.000 s is written after a look at 100.400 s.
    let mut world = soaking();
    world.wait(3_000);
    world.act(gap(-8_000, 400, false));
    world.phone.mono += -400;
    world.mark(AtTop);
    world.phone.mono += 400;
    check(
        &world,
        103,
        Phase::Soak { heat_up: 1, since: TestTime(102_600), until: Some(TestTime(402_600)) },
        Some(299),
        &[ClockNote::SetBack { by_ms: 8_400 }],
    );
}

#[test]
fn a_mark_is_moved_in_test_time_even_across_a_sleep() {
    // Asleep for 60 s at 100 s, noticed at 161 s; the tap at 171 s.
    let mut world = soaking();
    world.sleep(60 * SECOND).wait(SECOND);
    world.act(gap(61_000, 1_000, true));
    world.wait(10 * SECOND);
    let mark = world.mark(AtTop);
    let at = |world: &World| world.test().marks.iter().find(|m| m.hash == mark).map(|m| (m.at, m.moved_ms)).unwrap();
    assert_eq!(at(&world), (TestTime(171_000), 0));
    world.wait(SECOND);
    let moved = |by_ms| {
        let mut world = world.clone();
        world.act(Command::Move { mark, by_ms });
        at(&world)
    };
    assert_eq!(moved(-5_000), (TestTime(166_000), -5_000));
    // Into the sleep, in which the clock stood still: its end is as near as can be said.
    assert_eq!(moved(-30_000), (TestTime(161_000), -10_000));
    // Before the sleep.
    assert_eq!(moved(-91_000), (TestTime(80_000), -91_000));
}

#[test]
fn a_mark_is_moved_within_its_own_session_after_a_restart() {
    let mut world = soaking();
    let mark = world.mark(AtTop);
    world.restart(30 * SECOND).wait(SECOND);
    world.act(Command::Move { mark, by_ms: -2_000 });
    let at = world.test().marks.iter().find(|m| m.hash == mark).map(|m| (m.at, m.moved_ms));
    assert_eq!(at, Some((TestTime(98_000), -2_000)));
}

#[test]
fn a_test_takes_its_zero_after_whatever_the_clock_did_before() {
    // The phone slept and was started again earlier in the visit: nothing of it shows in the test.
    let mut world = World::given();
    world.sleep(4 * MINUTE).wait(SECOND);
    world.act(gap(241_000, 1_000, true));
    world.restart(MINUTE).wait(SECOND);
    world.act(start_with(|_| {}));
    world.wait(10 * SECOND);
    check(&world, 10, Phase::HeatUp { heat_up: 1, since: TestTime(0), until: Some(TestTime(60_000)) }, Some(50), &[]);
}

#[test]
fn undoing_a_mark_does_not_take_back_what_the_clocks_said() {
    // The gap and the mark carry the stamp of one tap.
    let mut world = soaking();
    world.set_clock(-10 * MINUTE).wait(SECOND);
    let gap = world.act(gap(-599_000, 1_000, false));
    let mark = world.mark(AtTop);
    world.wait(SECOND);
    assert_eq!(world.decide(Command::Undo { target: mark }), Ok(vec!["undone"]));
    world.act(Command::Undo { target: mark });
    check(&world, 102, SOAK, Some(258), &[ClockNote::SetBack { by_ms: 600_000 }]);
    assert_eq!(world.decide(Command::Undo { target: gap }), Err(Refusal::NothingToUndo));
}
