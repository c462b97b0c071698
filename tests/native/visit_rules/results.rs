//! The three results of a test, and what may be said too early: 0.5, 0.6, 0.7, 0.9, 0.19, 0.20.

use super::*;
use soakbook::book::body::What::{Lowered, PanelReset, Restored, Tripped};
use soakbook::book::body::{Answer, Ending, ItemClosed, ItemWhat, Point, What};
use soakbook::book::entry::Hash;
use soakbook::book::refusal::Refusal;
use soakbook::findings::{AtPanel, EarlyWhy, Failed, Flag, NotExercised, Role, early_so_far};
use soakbook::trade::conditions::{ItemClass, RateAnswer, Warmth};
use soakbook::trade::detector_type::DetectorType;
use soakbook::view::findings::FindingsScreen;
use soakbook::view::findings::one::OneTest;

/// A functional test that tripped at 50 s, and the trip.
fn tripped() -> (World, Hash) {
    let mut world = given(|_| {});
    world.act(functional(|_| {}));
    let trip = world.taps(&[(50, Tripped)])[0];
    world.wait(SECOND);
    (world, trip)
}

fn end(how: Ending) -> Command {
    Command::End { test: id(TEST), how }
}

fn say_restore(world: &World, restored: Answer) -> Command {
    Command::SayRestore { test: id(TEST), restored, happened: world.phone.at().happened() }
}

fn one(world: &World) -> OneTest {
    OneTest::of(&world.book, &world.visit(), &world.test(), &found(world), Degree::F, 0)
}

#[test]
fn v0_05_passed_needs_trip_right_point_and_restore() {
    use Answer::{NotChecked, Yes};
    let points = [None, Some(Point::Right), Some(Point::Wrong), Some(Point::NotThere), Some(Point::NotChecked)];
    for point in points {
        for restored in [None, Some(Yes), Some(NotChecked)] {
            let (mut world, trip) = tripped();
            if let Some(point) = point {
                world.act(Command::SayPanel { trip, point, said: None });
            }
            world.wait(SECOND).act(end(Ending::Done));
            if let Some(restored) = restored {
                let said = say_restore(&world, restored);
                world.act(said);
            }
            let verified = (point == Some(Point::Right), restored == Some(Yes));
            let expected = match (point, verified) {
                (Some(Point::Wrong), _) => Outcome::Failed(Failed::WrongPoint),
                (Some(Point::NotThere), _) => Outcome::Failed(Failed::NotAtPanel),
                (_, (true, true)) => Outcome::Passed,
                (_, (panel, restore)) => Outcome::NotVerified { panel, restore },
            };
            assert_eq!(outcome(&world), expected, "{point:?}, {restored:?}");
        }
    }
    // words of the trade (design 2)
    let words = |panel, restore| Outcome::NotVerified { panel, restore }.words();
    assert_eq!(words(false, true), "Tripped, panel not verified");
    assert_eq!(words(true, false), "Tripped, restore not verified");
}

#[test]
fn v0_05_a_test_in_progress_has_not_passed_and_a_wrong_point_fails_what_restored() {
    let (mut world, trip) = tripped();
    assert_eq!(outcome(&world), Outcome::InProgress);
    world.act(Command::SayPanel { trip, point: Point::Wrong, said: Some("Zone 9".into()) });
    world.wait(SECOND).mark(Restored);
    let found = found(&world);
    assert_eq!(found.panel, AtPanel::Wrong(Some("Zone 9".into())));
    assert_eq!((found.outcome, found.flag), (Outcome::Failed(Failed::WrongPoint), Some(Flag::WrongPoint)));
    let names: Vec<_> = one(&world).results.iter().map(|row| (row.name, row.answer.clone())).collect();
    let expected = [("tripped", "Yes"), ("panel", "Wrong point"), ("restored", "Yes")];
    assert_eq!(names, expected.map(|(name, answer)| (name, answer.to_string())));
}

/// A functional test that trips so many seconds after heat on, read as so many tenths of a degree.
fn early(change: impl FnOnce(&mut Marking), start: Command, second: i64, read: Option<i64>) -> World {
    let mut world = given(change);
    world.act(start);
    let trip = world.taps(&[(second, Tripped)])[0];
    if let Some(tenths) = read {
        world.wait(SECOND).act(Command::Read { of: id(TEST), reading: shown(tenths), trip: Some(trip) });
    }
    world
}

fn why(world: &World) -> Option<EarlyWhy> {
    early_so_far(&world.test(), &world.timeline()).map(|early| early.why)
}

#[test]
fn v0_06_a_trip_far_below_the_rating_or_at_once_is_asked_about() {
    // 20 °F = 11.11 K below 88 °C is 76.89 °C; tolerance or not.
    let at = |tenths| early(|_| {}, functional(|_| {}), 50, Some(tenths));
    assert!(matches!(why(&at(768)), Some(EarlyWhy::Below(by)) if (by.0 - 11.2).abs() < 1e-9));
    assert_eq!(why(&at(769)), None);
    let fixed = early(|m| m.detector_type = DetectorType::FixedRestorable, functional(|_| {}), 50, Some(500));
    assert!(why(&fixed).is_some());
    let bare = |m: &mut Marking| (m.minus, m.plus, m.limits_from) = (None, None, None);
    assert!(why(&early(bare, functional(|_| {}), 50, Some(500))).is_some());
    // A rate element trips where it will, and so does the rate function of an electronic detector.
    for detector_type in [DetectorType::CombinationRestorable, DetectorType::Electronic] {
        let free = early(|m| m.detector_type = detector_type, functional(|_| {}), 50, Some(500));
        assert_eq!(why(&free), None, "{detector_type:?}");
    }
    // Within 10 s of heat on, from ambient.
    let after = |second| early(|_| {}, functional(|_| {}), second, None);
    assert_eq!(why(&after(10)), Some(EarlyWhy::Within(10_000)));
    assert_eq!(why(&after(11)), None);
    let warm = early(|_| {}, functional(|start| start.detector_warmth = Warmth::Warm), 5, None);
    assert_eq!(why(&warm), None);
}

#[test]
fn v0_06_an_early_trip_is_listed_until_somebody_says_whose_it_is() {
    let mut world = early(|_| {}, functional(|_| {}), 5, None);
    let trip = world.test().marks[1].hash;
    assert_eq!(one(&world).ask_early, None, "it is asked on the test's own screen while it runs");
    world.wait(SECOND).act(Command::SayPanel { trip, point: Point::Right, said: None });
    world.wait(SECOND).mark(Restored);
    let found_now = found(&world);
    assert_eq!((found_now.outcome, found_now.flag), (Outcome::EarlyTrip, Some(Flag::EarlyTrip)));
    assert!(one(&world).ask_early.expect("a question").words.contains("Was it really HD-1?"));
    // Yes: then the three results stand as they are.
    let mut yes = world.clone();
    yes.wait(SECOND).act(Command::AnswerEarlyTrip { trip, this_detector: true });
    assert_eq!(outcome(&yes), Outcome::Passed);
    assert!(found(&yes).early.expect("still known").confirmed);
    // No: the mark is struck and shown, and nothing tripped.
    world.wait(SECOND).act(Command::AnswerEarlyTrip { trip, this_detector: false });
    let test = world.test();
    assert!(test.marks.iter().all(|mark| mark.what != Tripped));
    assert_eq!(test.struck.iter().map(|mark| mark.hash).collect::<Vec<_>>(), [trip]);
    assert_eq!(outcome(&world), Outcome::NotDecided);
}

#[test]
fn v0_06_a_second_early_trip_is_asked_about_where_the_first_was_confirmed() {
    let mut world = early(|_| {}, start_with(|_| {}), 50, Some(700));
    let first = world.test().marks[1].hash;
    world.act(Command::AnswerEarlyTrip { trip: first, this_detector: true });
    let second = world.taps(&[(420, Tripped)])[0];
    world.wait(SECOND).act(Command::Read { of: id(TEST), reading: shown(600), trip: Some(second) });
    let early = early_so_far(&world.test(), &world.timeline()).expect("an early trip");
    assert_eq!((early.trip, early.confirmed), (second, false));
}

#[test]
fn v0_07_stays_in_alarm_needs_five_minutes_with_the_heater_lowered() {
    let (mut world, _) = tripped();
    let refused = |world: &World, refusal: Refusal| {
        check(world.clone(), say_restore(world, Answer::No), Err(refusal.clone()));
        check(world.clone(), end(Ending::StaysInAlarm), Err(refusal));
    };
    // The heater itself may keep it in alarm.
    world.wait_until(1_000);
    refused(&world, Refusal::HeaterNotLowered);
    world.mark(Lowered);
    world.wait(299 * SECOND);
    refused(&world, Refusal::NotRestoredYet { wait_ms: 1_000 });
    world.wait(SECOND);
    check(world.clone(), say_restore(&world, Answer::No), Ok(&["restore_said", "item_found"]));
    check(world.clone(), end(Ending::StaysInAlarm), Ok(&["test_ended", "item_found"]));
    world.act(end(Ending::StaysInAlarm));
    let found = found(&world);
    assert_eq!((found.outcome, found.flag), (Outcome::Failed(Failed::StaysInAlarm), Some(Flag::StaysInAlarm)));
    assert_eq!(world.visit().items[0].found.what, ItemWhat::StaysInAlarm);
}

#[test]
fn v0_07_or_a_reading_near_ambient_after_the_trip() {
    // 10 °F = 5.56 K above 20 °C (own figure).
    let read = |tenths, after_trip: bool| {
        let mut world = given(|_| {});
        world.act(functional(|_| {}));
        let reading = Command::Read { of: id(TEST), reading: shown(tenths), trip: None };
        if !after_trip {
            world.wait(5 * SECOND).act(reading.clone());
        }
        world.taps(&[(50, Tripped), (60, Lowered)]);
        world.wait_until(90);
        if after_trip {
            world.act(reading);
        }
        let said = say_restore(&world, Answer::No);
        world.decide(said)
    };
    assert_eq!(read(255, true), Ok(vec!["restore_said", "item_found"]));
    let wait = Err(Refusal::NotRestoredYet { wait_ms: 270_000 });
    assert_eq!(read(256, true), wait);
    assert_eq!(read(255, false), wait, "before the trip it says nothing of the detector");
}

#[test]
fn v0_07_before_that_it_is_not_restored_yet() {
    let (mut world, trip) = tripped();
    world.act(Command::SayPanel { trip, point: Point::Right, said: None });
    world.mark(Lowered);
    world.wait(SECOND).act(end(Ending::Done));
    assert_eq!(found(&world).restored.name(), "pending");
    // Whoever ended the test lowered the heater then at the latest.
    world.wait(298 * SECOND);
    check(world.clone(), say_restore(&world, Answer::No), Err(Refusal::NotRestoredYet { wait_ms: 1_000 }));
    world.wait(SECOND);
    check(world.clone(), say_restore(&world, Answer::No), Ok(&["restore_said", "item_found"]));
}

#[test]
fn v0_09_a_retest_is_not_as_left_and_a_mistake_is_no_predecessor() {
    let mut world = given(|_| {});
    let mut next = TEST;
    let test = |world: &mut World, n: u8, how: Ending| {
        world.wait(SECOND).act(functional(|start| start.test = id(n)));
        world.wait(50 * SECOND).act(Command::Mark { of: id(n), what: Tripped });
        world.wait(SECOND).act(Command::End { test: id(n), how });
        let frozen = soakbook::book::test::Test::of(&world.book, id(n)).expect("the test").frozen;
        (Role::of(&frozen), frozen.follows, frozen.after)
    };
    let mut run = |world: &mut World, how| {
        next += 1;
        (id(next), test(world, next, how))
    };
    let (first, role) = run(&mut world, Ending::Done);
    assert_eq!(role, (Role::AsFound, None, None));
    let (_, role) = run(&mut world, Ending::Mistake);
    assert_eq!(role, (Role::Retest, Some(first), None));
    // The mistake is none of them: the next one follows the first.
    let (second, role) = run(&mut world, Ending::Done);
    assert_eq!(role, (Role::Retest, Some(first), None));
    // As left needs a repair or a replacement between, and one piece of work makes one test as left.
    let (visit, position, happened) = (id(VISIT), id(POSITION), world.phone.at().happened());
    let work = soakbook::book::body::Work::Cleaned;
    let repaired = world.act(Command::Repair { visit, position, work, item: None, note: None, happened });
    let (third, role) = run(&mut world, Ending::Done);
    assert_eq!(role, (Role::AsLeft, Some(second), Some(repaired)));
    let (fourth, role) = run(&mut world, Ending::Done);
    assert_eq!(role, (Role::Retest, Some(third), None));
    world.wait(SECOND).act(replace(POSITION));
    let replaced = world.visit().work.last().expect("the replacement").hash;
    let (_, role) = run(&mut world, Ending::Done);
    assert_eq!(role, (Role::AsLeft, Some(fourth), Some(replaced)));
}

#[test]
fn v0_09_work_at_another_position_makes_nothing_as_left_and_undone_work_is_none() {
    let (mut world, _) = tripped();
    world.act(end(Ending::Done));
    let (visit, happened) = (id(VISIT), world.phone.at().happened());
    let repair = |n| {
        let work = soakbook::book::body::Work::Wiring;
        Command::Repair { visit, position: id(n), work, item: None, note: None, happened }
    };
    world.act(repair(OTHER_POSITION));
    let done = world.act(repair(POSITION));
    world.wait(SECOND).act(Command::Undo { target: done });
    world.act(functional(|start| start.test = id(OTHER_TEST)));
    let frozen = soakbook::book::test::Test::of(&world.book, id(OTHER_TEST)).expect("the test").frozen;
    assert_eq!(Role::of(&frozen), Role::Retest);
}

#[test]
fn v0_09_a_test_that_was_only_a_mistake_leaves_the_next_one_as_found() {
    let (mut world, _) = tripped();
    world.act(end(Ending::Mistake));
    assert_eq!((outcome(&world), found(&world).flag), (Outcome::Mistake, None));
    world.act(functional(|start| start.test = id(OTHER_TEST)));
    let frozen = soakbook::book::test::Test::of(&world.book, id(OTHER_TEST)).expect("the test").frozen;
    assert_eq!(Role::of(&frozen), Role::AsFound);
}

#[test]
fn v0_19_the_record_names_what_was_not_exercised() {
    let exercised = |detector_type, rate_answer, panel: bool, restore: bool| {
        let mut world = given(|marking| marking.detector_type = detector_type);
        world.act(functional(|start| start.rate_answer = rate_answer));
        let trip = world.taps(&[(50, Tripped)])[0];
        if panel {
            world.act(Command::SayPanel { trip, point: Point::Right, said: None });
        }
        if restore {
            world.wait(SECOND).mark(Restored);
        }
        if world.test().ended.is_none() {
            world.wait(SECOND).act(end(Ending::Done));
        }
        (found(&world).not_exercised, one(&world).not_exercised)
    };
    use NotExercised::{FixedElement, PanelPoint, RateElement, Restore};
    let plain = DetectorType::RateCompensated;
    assert_eq!(exercised(plain, None, true, true), (vec![], String::new()));
    assert_eq!(exercised(plain, None, false, true).0, [PanelPoint]);
    assert_eq!(exercised(plain, None, true, false).0, [Restore]);
    assert_eq!(exercised(DetectorType::CombinationRestorable, None, true, true).0, [FixedElement]);
    assert_eq!(exercised(DetectorType::Electronic, Some(RateAnswer::Off), true, true).0, [RateElement]);
    let words = exercised(DetectorType::CombinationRestorable, None, false, false).1;
    assert_eq!(words, "Not tested: the fixed-temperature element; the circuit and the panel point; the restore.");
}

#[test]
fn v0_20_heat_that_decides_nothing_opens_an_item_that_stays_until_it_is_dealt_with() {
    let mut world = given(|_| {});
    world.act(functional(|_| {}));
    world.wait_until(100);
    world.act(end(Ending::NoTrip));
    assert_eq!(found(&world).flag, Some(Flag::NotProven));
    let item = world.visit().items[0].clone();
    assert_eq!((item.found.what, item.class, item.is_open()), (ItemWhat::OperationNotProven, None, true));
    let (visit, all) = (world.visit(), soakbook::findings::visit(&world.book, &world.visit()));
    let screen = FindingsScreen::of(&world.register(), &visit, &all);
    assert_eq!(screen.items[0].title, "HD-1: Operation not proven");
    assert_eq!(screen.retest.iter().map(|row| row.why.as_str()).collect::<Vec<_>>(), ["operation not proven"]);
    // The technician chooses the class; retest, replacement or acceptance by name closes it.
    let happened = world.phone.at().happened();
    world.act(Command::ClassItem { item: item.hash, class: ItemClass::Impairment });
    let close = |how| Command::CloseItem { item: item.hash, how, by: named("B. Owner"), note: None, happened };
    check(world.clone(), close(ItemClosed::PassedLater), Err(Refusal::NoPassedTest));
    check(world.clone(), close(ItemClosed::ReplacedAndTested), Err(Refusal::NoWorkDone { replaced: true }));
    world.act(close(ItemClosed::Accepted));
    let item = world.visit().items[0].clone();
    assert_eq!(
        (item.class, item.closed),
        (Some(ItemClass::Impairment), vec![(ItemClosed::Accepted, named("B. Owner"))])
    );
}

#[test]
fn v0_20_a_test_that_ends_without_a_trip_always_leaves_the_item() {
    for how in [Ending::NoTrip, Ending::HeaterProblem, Ending::DetectorProblem, Ending::SiteRequest] {
        let mut world = given(|_| {});
        world.act(functional(|_| {}));
        world.wait(SECOND).act(end(how));
        let items = world.visit().items;
        assert_eq!(
            items.iter().map(|item| item.found.what).collect::<Vec<_>>(),
            [ItemWhat::OperationNotProven],
            "{how:?}"
        );
    }
    // So does the end that an alarm which is not ours brings.
    let mut world = given(|_| {});
    world.act(functional(|_| {}));
    let what = soakbook::book::body::NotOurs::Alarm;
    world.wait(SECOND).act(Command::AlarmNotOurs { visit: id(VISIT), what, note: None });
    assert_eq!(world.visit().items.len(), 1);
}

#[test]
fn v0_20_did_not_operate_is_the_technicians_judgment_and_says_so() {
    let judge = |did_not_operate| Command::Judge { test: id(TEST), did_not_operate, note: None };
    let mut world = given(|_| {});
    world.act(functional(|_| {}));
    check(world.clone(), judge(true), Err(Refusal::TestInProgress));
    world.wait_until(100);
    world.act(end(Ending::NoTrip));
    assert!(one(&world).may_judge);
    world.act(judge(true));
    assert_eq!((outcome(&world), found(&world).flag), (Outcome::Failed(Failed::Judged), Some(Flag::Judged)));
    let judged = found(&world).technician.expect("a judgment");
    assert_eq!(judged.by, id(PERSON));
    let shown = one(&world);
    assert_eq!(shown.headline, "Did not operate (technician's judgment)");
    assert!(shown.results.iter().any(|row| row.title == "Technician's judgment"));
    // What the heat itself says stays beside it.
    assert!(found(&world).not_proven().is_some());
    world.wait(SECOND).act(judge(false));
    assert_eq!(outcome(&world), Outcome::NotDecided);
    // Of a test that tripped there is nothing to judge.
    let (mut tripped, _) = tripped();
    tripped.act(end(Ending::Done));
    check(tripped, judge(true), Err(Refusal::HasTripped));
}

#[test]
fn v0_22_a_restore_may_stay_pending_and_a_panel_reset_proves_none() {
    let (mut world, trip) = tripped();
    world.act(Command::SayPanel { trip, point: Point::Right, said: None });
    world.mark(Lowered);
    world.wait(SECOND).act(end(Ending::Done));
    world.wait(SECOND).mark(PanelReset);
    assert_eq!(outcome(&world), Outcome::NotVerified { panel: true, restore: false });
    // From the list, later; the last word counts.
    for (restored, expected) in
        [(Answer::NotChecked, Outcome::NotVerified { panel: true, restore: false }), (Answer::Yes, Outcome::Passed)]
    {
        let said = say_restore(&world, restored);
        world.wait(SECOND).act(said);
        assert_eq!(outcome(&world), expected);
    }
    assert!(!world.test().marks.iter().any(|mark| mark.what == What::Restored));
}
