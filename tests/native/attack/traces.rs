//! "Operation not proven" that is lost, and items, retests and roles that no longer rest on anything.

use super::*;
use soakbook::book::body::{Answer, ItemClosed, Work};
use soakbook::book::test::Test;
use soakbook::findings::Role;
use soakbook::units::TestTime;
use soakbook::view::findings::FindingsScreen;

fn close(world: &World, how: ItemClosed) -> Command {
    let item = world.visit().items[0].hash;
    Command::CloseItem { item, how, by: named("B. Owner"), note: None, happened: world.phone.at().happened() }
}

fn repair(world: &World) -> Command {
    let happened = world.phone.at().happened();
    Command::Repair { visit: id(VISIT), position: id(POSITION), work: Work::Wiring, item: None, note: None, happened }
}

fn retests(world: &World) -> Vec<String> {
    let visit = world.visit();
    let all = soakbook::findings::visit(&world.book, &visit);
    FindingsScreen::of(&world.register(), &visit, &all).retest.into_iter().map(|row| row.why).collect()
}

/// Rule 0.20: not decided after heat opens the item; a dead detector never leaves without a trace.
#[test]
fn a_set_point_test_that_ran_out_without_any_trip_leaves_the_item() {
    let mut world = given(|_| {});
    world.act(start_with(|_| {}));
    // The kit's clockwork by hand: 60 + 300 + 45, then four times 20 + 45, in s.
    world.wait_until(700);
    world.act(end(Ending::Done));
    assert_eq!(outcome(&world), Outcome::NotDecided);
    assert!(not_proven_is_open(&world));
}

/// Rule: the same, where the only trip is taken back after the end.
#[test]
fn a_trip_taken_back_after_the_end_leaves_the_item() {
    let takes_back: [fn(Hash) -> Command; 3] = [
        |trip| Command::AnswerEarlyTrip { trip, this_detector: false },
        |mark| Command::StrikeMark { mark, why: None },
        |target| Command::Undo { target },
    ];
    let open = takes_back.map(|take_back| {
        let (mut world, trip, _) = passed();
        world.act(take_back(trip));
        assert_eq!(outcome(&world), Outcome::NotDecided);
        not_proven_is_open(&world)
    });
    assert_eq!(open, [true; 3], "answered as another's, struck, undone");
}

/// Rule 0.9: a mistake is no predecessor; 0.20: retest, replace or accepted by name.
#[test]
fn a_retest_stopped_as_a_mistake_leaves_the_position_on_the_retest_list() {
    let mut world = undecided();
    assert_eq!(retests(&world), ["operation not proven"]);
    world.act(another());
    world.wait(SECOND).act(Command::End { test: id(OTHER_TEST), how: Ending::Mistake });
    assert_eq!(retests(&world), ["operation not proven"]);
}

/// Rule: the same for a retest that was listed.
#[test]
fn a_mistake_takes_no_listed_retest() {
    let (mut world, ..) = passed();
    world.act(Command::ListRetest { test: id(TEST), why: soakbook::book::body::RetestWhy::Requested });
    assert_eq!(standing(&world), Standing::Retest);
    world.act(another());
    world.wait(SECOND).act(Command::End { test: id(OTHER_TEST), how: Ending::Mistake });
    assert_eq!(standing(&world), Standing::Retest);
}

/// Rule 0.14: a *later* passed test.
#[test]
fn an_item_is_not_closed_by_a_test_before_it() {
    let (mut world, ..) = passed();
    let happened = world.phone.at().happened();
    world.act(Command::FindItem {
        visit: id(VISIT),
        what: ItemWhat::OperationNotProven,
        class: None,
        position: Some(id(POSITION)),
        test: None,
        note: None,
        happened,
    });
    let command = close(&world, ItemClosed::PassedLater);
    assert!(world.decide(command).is_err());
}

/// Rule: the same; FORMAT.md: wall behind mono: the clock was set back, mono counts.
#[test]
fn an_item_is_not_closed_by_a_test_before_it_when_the_clock_was_set_back() {
    let (mut world, ..) = passed();
    world.set_clock(-3_600 * SECOND);
    world.act(another());
    world.wait(100 * SECOND).act(Command::End { test: id(OTHER_TEST), how: Ending::NoTrip });
    assert!(not_proven_is_open(&world));
    let command = close(&world, ItemClosed::PassedLater);
    assert!(world.decide(command).is_err());
}

/// Rule 0.06: a trip 5 s after heat on (early up to 10 s, own figure) may be another detector's, and closes nothing until someone says whose.
#[test]
fn an_item_is_not_closed_by_an_early_trip_before_it_is_answered() {
    let mut world = undecided();
    let trip = pass_another(&mut world, 5);
    let command = close(&world, ItemClosed::PassedLater);
    assert_eq!(world.decide(command).map(|_| ()), Err(soakbook::book::refusal::Refusal::NoPassedTest));
    world.wait(SECOND).act(Command::AnswerEarlyTrip { trip, this_detector: true });
    let command = close(&world, ItemClosed::PassedLater);
    world.act(command);
    assert!(!not_proven_is_open(&world));
}

/// Rule 0.14, 0.20: closed by a passed test, which then is none.
#[test]
fn an_item_opens_again_when_the_test_that_closed_it_has_not_passed_after_all() {
    let mut world = undecided();
    let trip = pass_another(&mut world, 50);
    let command = close(&world, ItemClosed::PassedLater);
    world.act(command);
    assert!(!not_proven_is_open(&world));
    world.wait(SECOND).act(Command::Undo { target: trip });
    assert!(not_proven_is_open(&world));
}

/// Rule: design 2: Passed is of the detector. A restore that is taken back by the word of a person leaves the item open again.
#[test]
fn an_item_opens_again_when_the_detector_of_the_closing_test_stays_in_alarm() {
    let mut world = undecided();
    pass_another(&mut world, 50);
    let command = close(&world, ItemClosed::PassedLater);
    world.act(command);
    world.wait(400 * SECOND);
    let happened = world.phone.at().happened();
    world.act(Command::SayRestore { test: id(OTHER_TEST), restored: Answer::No, happened });
    assert!(not_proven_is_open(&world));
}

/// Rule 0.9: as left needs work between. Two pieces of work before one test make one test as left.
#[test]
fn a_retest_without_work_between_is_not_as_left_by_work_before_the_last_test() {
    let mut world = undecided();
    for _ in 0..2 {
        let command = repair(&world);
        world.act(command);
        world.wait(SECOND);
    }
    pass_another(&mut world, 50);
    world.wait(SECOND).act(functional(|start| start.test = id(30)));
    let third = Test::of(&world.book, id(30)).expect("the test").frozen;
    assert_eq!(Role::of(&third), Role::Retest);
}

/// Rule 0.14, 0.5: a later *passed* test: one of its trips came up at another point, which the findings call failed.
#[test]
fn an_item_is_not_closed_by_a_test_that_failed_at_the_panel() {
    let mut world = undecided();
    world.act(another());
    let mark = |what| Command::Mark { of: id(OTHER_TEST), what };
    for point in [Point::Wrong, Point::Right] {
        let trip = world.wait(50 * SECOND).act(mark(What::Tripped));
        world.wait(SECOND).act(Command::SayPanel { trip, point, said: None });
    }
    world.wait(SECOND).act(mark(What::Restored));
    let test = Test::of(&world.book, id(OTHER_TEST)).expect("the test");
    let said = of_test(&world.book, &test, TestTime(200_000)).outcome;
    assert!(matches!(said, Outcome::Failed(_)), "{said:?}");
    let command = close(&world, ItemClosed::PassedLater);
    assert!(world.decide(command).is_err());
}
