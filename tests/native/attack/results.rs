//! Passed, and failures that are shown green.

use super::*;
use soakbook::book::body::Answer;
use soakbook::book::body::What::{Lowered, Restored, Tripped};
use soakbook::trade::conditions::Visual;
use soakbook::view::findings::Sign;

fn say_restore(world: &mut World, restored: Answer) {
    let happened = world.phone.at().happened();
    world.act(Command::SayRestore { test: id(TEST), restored, happened });
}

fn say(world: &mut World, trip: Hash, point: Point) {
    world.wait(SECOND).act(Command::SayPanel { trip, point, said: None });
}

/// Rule 0.5 and 0.7: restored is a no where it stays in alarm; "Passed" needs all three.
#[test]
fn a_test_ended_as_stays_in_alarm_has_not_passed_by_an_earlier_word() {
    let (mut world, trip) = tripped();
    say(&mut world, trip, Point::Right);
    say_restore(&mut world, Answer::Yes);
    world.mark(Lowered);
    world.wait(301 * SECOND).act(end(Ending::StaysInAlarm));
    assert_ne!(outcome(&world), Outcome::Passed);
}

/// Rule 0.5, 0.7: nobody's "not checked" takes back what was seen for five minutes.
#[test]
fn not_checked_does_not_take_back_that_it_stays_in_alarm() {
    let (mut world, trip) = tripped();
    say(&mut world, trip, Point::Right);
    world.mark(Lowered);
    world.wait(301 * SECOND).act(end(Ending::StaysInAlarm));
    world.wait(SECOND);
    say_restore(&mut world, Answer::NotChecked);
    assert!(matches!(outcome(&world), Outcome::Failed(_)), "{:?}", outcome(&world));
}

/// Rule 0.5; design 2: the restore is that of the trip. The first trip was another detector's, and so was its restore.
#[test]
fn a_restore_that_was_said_before_the_trip_is_not_its_restore() {
    let mut world = given(|_| {});
    world.act(functional(|_| {}));
    let early = world.taps(&[(5, Tripped)])[0];
    world.wait(SECOND);
    say_restore(&mut world, Answer::Yes);
    world.wait(SECOND).act(Command::AnswerEarlyTrip { trip: early, this_detector: false });
    let trip = world.taps(&[(50, Tripped)])[0];
    say(&mut world, trip, Point::Right);
    world.wait(SECOND).act(end(Ending::Done));
    assert_ne!(outcome(&world), Outcome::Passed);
}

/// The same with two trips of the detector itself.
#[test]
fn a_restore_said_after_the_first_trip_says_nothing_of_the_last() {
    let (mut world, trip) = tripped();
    say(&mut world, trip, Point::Right);
    say_restore(&mut world, Answer::Yes);
    world.taps(&[(100, Tripped)]);
    world.wait(SECOND).act(end(Ending::Done));
    assert_ne!(outcome(&world), Outcome::Passed);
}

/// Rule: FORMAT.md, Order: across phones order has no meaning, nothing that matters for safety compares two phones' clocks.
#[test]
fn of_two_phones_words_on_the_restore_the_bad_one_counts() {
    let (mut world, trip) = tripped();
    say(&mut world, trip, Point::Right);
    world.mark(Lowered);
    world.wait(SECOND).act(end(Ending::Done));
    world.wait(600 * SECOND);
    let mut partner = world.other_phone();
    say_restore(&mut partner, Answer::No);
    world.set_clock(60 * SECOND);
    say_restore(&mut world, Answer::Yes);
    assert_ne!(outcome(&world.merged(&partner)), Outcome::Passed);
}

/// Rule: the same; the place in two phones' chains is no order either.
#[test]
fn of_two_phones_words_on_the_panel_the_bad_one_counts() {
    let (world, trip) = tripped();
    let mut partner = world.other_phone();
    say(&mut partner, trip, Point::Wrong);
    let mut world = world;
    say(&mut world, trip, Point::Right);
    world.wait(SECOND).mark(Restored);
    assert_ne!(outcome(&world.merged(&partner)), Outcome::Passed);
}

/// Rule: design 2: position and detector are two things, Passed is the detector's; rule B14: a replacement needs a test of its own.
#[test]
fn a_detector_that_was_hung_after_the_test_has_not_passed() {
    let (mut world, ..) = passed();
    world.act(replace(POSITION));
    assert!(!matches!(standing(&world), Standing::Tested(Sign::Good, _)), "{:?}", standing(&world));
}

/// Rule B12, design 2: damaged is an impairment; it is not shown green.
#[test]
fn a_detector_found_damaged_after_the_test_is_not_green() {
    let (mut world, ..) = passed();
    world.act(Command::CheckVisual { visit: id(VISIT), position: id(POSITION), found: vec![Visual::Damaged] });
    assert!(!matches!(standing(&world), Standing::Tested(Sign::Good, _)), "{:?}", standing(&world));
}

/// Rule: FORMAT.md, Clocks within a phone: wall behind mono: the clock was set back, mono counts.
#[test]
fn a_later_failure_is_shown_though_the_clock_was_set_back() {
    let (mut world, ..) = passed();
    world.set_clock(-3_600 * SECOND);
    world.act(another());
    world.wait(100 * SECOND).act(Command::End { test: id(OTHER_TEST), how: Ending::NoTrip });
    assert!(!matches!(standing(&world), Standing::Tested(Sign::Good, _)), "{:?}", standing(&world));
}

/// Rule 0.5, design 2: it tripped, a yes for good; a mark is moved within its test.
#[test]
fn a_trip_moved_behind_the_end_of_its_test_is_not_lost() {
    let (mut world, trip, _) = passed();
    world.wait(600 * SECOND);
    let _ = world.try_act(Command::Move { mark: trip, by_ms: 30 * SECOND });
    let said = outcome(&world);
    assert!(!matches!(said, Outcome::NotDecided | Outcome::Failed(_)), "{said:?}");
}

/// Rule 0.3: "no alarm" of a detector that tripped.
#[test]
fn a_detector_that_tripped_is_never_said_to_give_no_alarm() {
    let mut world = rated_80();
    world.act(functional(|_| {}));
    let marks = world.taps(&[(60, What::AtTop), (400, Tripped)]);
    world.wait(SECOND).act(end(Ending::Done));
    world.wait(600 * SECOND);
    let _ = world.try_act(Command::Move { mark: marks[1], by_ms: 5 * SECOND });
    assert_ne!(outcome(&world).words(), "No alarm");
}

/// Rule 0.5: Ending::DetectorProblem is "stopped: detector or wiring problem"; `decide` does not take it for passed either.
#[test]
fn a_test_stopped_for_a_detector_problem_is_not_green() {
    let (mut world, trip) = tripped();
    say(&mut world, trip, Point::Right);
    world.act(end(Ending::DetectorProblem));
    world.wait(SECOND);
    say_restore(&mut world, Answer::Yes);
    assert_ne!(outcome(&world), Outcome::Passed);
}

/// Rule: FORMAT.md, Order: nothing that matters for safety compares two phones' clocks.
#[test]
fn of_two_phones_tests_the_failure_is_shown_whatever_their_clocks_say() {
    let world = given(|_| {});
    let mut partner = world.other_phone();
    let mut world = world;
    partner.act(functional(|_| {}));
    partner.wait_until(100);
    partner.act(end(Ending::NoTrip));
    world.set_clock(600 * SECOND);
    pass_another(&mut world, 50);
    let merged = world.merged(&partner);
    assert!(!matches!(standing(&merged), Standing::Tested(Sign::Good, _)), "{:?}", standing(&merged));
}
