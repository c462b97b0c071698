//! What the Test screen and the list of a visit say: orders, questions, undo, the worst of all that is said.

use crate::kit::*;
use soakbook::book::body::What::{AtTop, HeaterOff, HeaterOn, Lowered, Restored, Tripped};
use soakbook::book::body::{Answer, Ending, Point, RetestWhy};
use soakbook::book::command::Command;
use soakbook::book::refusal::Refusal;
use soakbook::findings::{Estimates, VisitFindings, visit};
use soakbook::trade::conditions::{Restores, Visual};
use soakbook::trade::detector_type::DetectorType;
use soakbook::units::{Degree, Reading};
use soakbook::view::findings::Sign;
use soakbook::view::remedy::{remedy, remedy_at};
use soakbook::view::route::{Form, Route};
use soakbook::view::test::{Big, LastMark, Plate, TestScreen, last_end, last_mark};
use soakbook::view::visit::{Standing, VisitScreen};

fn screen(world: &World) -> TestScreen {
    TestScreen::of(&world.book, &world.test(), world.now(), world.phone.id, Degree::F, &mut Estimates::default())
}

fn orders(world: &World) -> Vec<(Big, String, String, bool)> {
    let of = |plate: Plate| (plate.big, plate.label, plate.hint, plate.expected);
    screen(world).plates.into_iter().map(of).collect()
}

fn order(big: Big, label: &str, hint: &str, expected: bool) -> (Big, String, String, bool) {
    (big, label.into(), hint.into(), expected)
}

#[test]
fn a_plate_is_an_order_with_the_tag_and_says_what_it_will_record() {
    let trip =
        |number: u32, expected| order(Big::Mark(Tripped), &format!("Mark trip {number}"), "HD-1 · of 5", expected);
    let mut world = World::running(SELF_HEATER, SET_POINT, Restores::Watched);
    world.wait_until(30);
    assert_eq!(orders(&world), [trip(1, true)]);
    world.taps(&[(50, Tripped)]);
    // Tripped, and the soak goes on: the next trip is not to be expected, and its plate is another one.
    assert_eq!(orders(&world), [trip(2, false)]);
    assert_ne!(screen(&world).plates[0].number, 1);
    // By hand from the kit: heat-up 60 s, hold 300 s, then off.
    world.wait_until(370);
    assert_eq!(orders(&world), [order(Big::Mark(Restored), "Mark restore", "HD-1 · when it restores", true)]);
    assert_eq!(screen(&world).advice, "Watch for it to restore.");
    world.mark(Restored);
    assert_eq!(screen(&world).advice, "Heater restarts by itself.", "what was marked is not asked for again");
    assert_eq!(orders(&world), [trip(2, false)]);
    world.wait_until(410);
    assert_eq!(orders(&world), [trip(2, true)]);
}

#[test]
fn by_hand_each_order_follows_the_one_before() {
    let mut world = World::running(HAND_HEATER, SET_POINT, Restores::NotWatched);
    world.taps(&[(50, Tripped)]);
    assert_eq!(orders(&world), [order(Big::Mark(Tripped), "Mark trip 2", "HD-1 · of 5", false)]);
    assert!(screen(&world).marks.contains(&AtTop) && screen(&world).marks_at_hand);
    world.taps(&[(60, AtTop), (361, HeaterOff)]);
    world.wait_until(410);
    assert_eq!(orders(&world), [order(Big::Mark(HeaterOn), "Mark heat on", "HD-1", true)]);
    assert_eq!((screen(&world).now.as_str(), screen(&world).advice.as_str()), ("Switch the heat on", "Then mark it."));
}

#[test]
fn after_its_trip_a_functional_test_asks_for_the_restore_or_leaves_it_for_later() {
    let mut world = World::running(HAND_HEATER, FUNCTIONAL, Restores::NotWatched);
    let trip = world.taps(&[(50, Tripped)])[0];
    let restore = order(Big::Mark(Restored), "Mark restore", "HD-1", true);
    assert_eq!(orders(&world), [restore.clone(), order(Big::Mark(Lowered), "Heater lowered", "HD-1", true)]);
    assert_eq!(screen(&world).ask_panel, Some(trip));
    world.act(Command::SayPanel { trip, point: Point::Right, said: None });
    assert_eq!(screen(&world).ask_panel, None);
    world.wait(SECOND).mark(Lowered);
    let next = order(Big::End(Ending::Done), "Next detector", "HD-1 · check the restore later", true);
    assert_eq!(orders(&world), [restore, next]);
    // All three results are in and the heater is down: nothing is left to be tapped.
    world.wait(SECOND).mark(Restored);
    assert_eq!(world.test().ended.map(|(how, _)| how), Some(Ending::Done));
}

#[test]
fn no_trip_is_an_order_only_when_silence_means_something() {
    let mut world = World::running(HAND_HEATER, FUNCTIONAL, Restores::NotWatched);
    world.taps(&[(60, AtTop)]);
    let trip = order(Big::Mark(Tripped), "Mark trip", "HD-1", true);
    world.wait_until(600);
    // The kit's heater has no calibration on file, so however long it soaks nothing is decided.
    assert_eq!(orders(&world), [trip]);
    assert_eq!(screen(&world).advice, "No trip yet – keep watching.");
}

#[test]
fn once_the_heat_is_off_a_test_without_a_trip_says_how_it_may_end_and_that_nothing_is_decided() {
    let trip = order(Big::Mark(Tripped), "Mark trip", "HD-1", true);
    let end = order(Big::End(Ending::NoTrip), "End: no trip", "HD-1 · not decided", false);
    // By hand from the kit: heat-up 60 s, hold 300 s, then off.
    let mut world = World::running(SELF_HEATER, FUNCTIONAL, Restores::NotWatched);
    world.wait_until(300);
    assert!(!orders(&world).contains(&end), "while it is hot there is more to wait for");
    world.wait_until(370);
    assert_eq!(orders(&world), [trip.clone(), end.clone()]);
    assert_eq!(screen(&world).advice, "No trip. Top temp not marked. Wait or end test.");
    // The heat-up after it is the trip's alone again.
    world.wait_until(410);
    assert_eq!(orders(&world), std::slice::from_ref(&trip));
    // Seen at its top temperature, and no calibration on file.
    let mut world = World::running(HAND_HEATER, FUNCTIONAL, Restores::NotWatched);
    world.taps(&[(60, AtTop), (361, HeaterOff)]);
    assert_eq!(orders(&world), [trip, end]);
    assert_eq!(screen(&world).advice, "No trip, not decided. Wait or end test.");
    world.wait(SECOND).act(Command::End { test: id(TEST), how: Ending::NoTrip });
    assert_eq!(screen(&world).plates[0].big, Big::Nothing);
    // A trip that was marked is none that can be denied.
    let mut world = World::running(SELF_HEATER, FUNCTIONAL, Restores::NotWatched);
    world.taps(&[(50, Tripped)]);
    world.wait_until(370);
    assert!(screen(&world).plates.iter().all(|plate| plate.big != Big::End(Ending::NoTrip)));
}

#[test]
fn the_heater_is_lowered_in_the_same_words_after_the_last_trip_of_many() {
    let mut world = World::running(SELF_HEATER, SET_POINT, Restores::NotWatched);
    // Heat-ups begin at 0, 405, 470, 535 and 600 s.
    world.taps(&[(50, Tripped), (420, Tripped), (485, Tripped), (550, Tripped), (615, Tripped)]);
    world.wait_until(700);
    let done = order(Big::End(Ending::Done), "Heater lowered", "HD-1 · ends the test", true);
    assert_eq!(orders(&world), [done]);
}

#[test]
fn undo_names_the_tag_and_holds_back_where_the_whole_test_would_go() {
    let mut world = World::running(SELF_HEATER, FUNCTIONAL, Restores::NotWatched);
    let last = |world: &World| last_mark(&world.book, &world.test()).expect("something to undo");
    assert_eq!((last(&world).name.as_str(), last(&world).whole_test), ("HD-1 · Heat on", true));
    let trip = world.taps(&[(50, Tripped)])[0];
    let LastMark { entry, name, whole_test } = last(&world);
    assert_eq!((entry, name.as_str(), whole_test), (trip, "HD-1 · Trip 1", false));
    assert_eq!(last_end(&world.book, &world.test()), None, "it goes on");
    world.wait(SECOND).act(Command::End { test: id(TEST), how: Ending::Done });
    let end = last_end(&world.book, &world.test()).expect("the end");
    assert_eq!((end.name.as_str(), end.whole_test), ("HD-1 · Test done", false));
    // Put back: the undo is undone, and the test is as it was.
    let undo = world.wait(SECOND).act(Command::Undo { target: end.entry });
    assert!(world.test().ended.is_none());
    world.wait(SECOND).act(Command::Undo { target: undo });
    assert_eq!(world.test().ended.map(|(how, _)| how), Some(Ending::Done));
}

#[test]
fn a_slip_among_the_trips_is_asked_about_without_a_profile_and_stays_on_record() {
    let mut world = World::given();
    world.act(put_heater(SELF_HEATER, auto()));
    world.wait(SECOND).act(start_with(|start| start.display_read = true));
    let f = |value| Reading { value, scale: 0, unit: Degree::F };
    // Trips in the heat-ups that begin at 0, 405, 470, 535 s: heat-up 60 and hold 300, then off 45 and heat-up 20, reckoned by hand.
    for (second, value) in [(55, 190), (420, 192), (485, 131)] {
        let trip = world.taps(&[(second, Tripped)])[0];
        world.act(Command::Read { of: id(TEST), reading: f(value), trip: Some(trip) });
    }
    let asked = screen(&world).ask_slip.expect("a question");
    assert_eq!(asked.words.replace('\u{a0}', " "), "Trip 3 is 60 °F from the others. Typed wrong?");
    world.wait(SECOND).act(Command::CorrectReading { reading: asked.of, now: Some(f(191)), why: None });
    let screen = screen(&world);
    assert_eq!(screen.ask_slip, None);
    let third = &screen.tally[2];
    let shown = |text: &str| text.replace('\u{a0}', " ");
    assert_eq!((shown(&third.reading), shown(&third.corrected_from)), ("191 °F".into(), "131 °F".into()));
}

#[test]
fn a_second_trip_of_one_heat_up_has_a_name_of_its_own_and_a_trip_that_was_none_goes() {
    let mut world = World::running(SELF_HEATER, SET_POINT, Restores::NotWatched);
    let stray = world.taps(&[(40, Tripped), (50, Tripped)])[1];
    let labels = |world: &World| screen(world).tally.into_iter().map(|trip| trip.label).collect::<Vec<_>>();
    assert_eq!(labels(&world), ["1", "1b"]);
    world.wait(SECOND).act(Command::StrikeMark { mark: stray, why: None });
    assert_eq!(labels(&world), ["1"]);
    assert!(world.book.get(stray).is_some(), "it stays on record");
    assert!(screen(&world).tally[0].first, "the first of five is right, and not averaged");
}

fn listed(world: &World) -> (Standing, VisitScreen) {
    let of = world.visit();
    let found: VisitFindings = visit(&world.book, &of);
    let screen = VisitScreen::of(&world.book, &world.register(), &of, Some(&found), Degree::F, 0, world.phone.wall);
    let row = screen.areas.iter().flat_map(|(_, rows)| rows).find(|row| row.id == id(POSITION)).expect("its row");
    (row.standing, screen.clone())
}

/// The list after a functional test whose trip was answered so.
fn after(point: Option<Point>, restored: Answer, how: Ending) -> World {
    let mut world = World::running(HAND_HEATER, FUNCTIONAL, Restores::NotWatched);
    let trip = world.taps(&[(50, Tripped)])[0];
    if let Some(point) = point {
        world.act(Command::SayPanel { trip, point, said: None });
    }
    world.wait(SECOND).mark(Lowered);
    // Five minutes and more: then "stays in alarm" may be said.
    world.wait(400 * SECOND).act(Command::End { test: id(TEST), how });
    if restored != Answer::NotChecked {
        let happened = world.phone.at().happened();
        world.act(Command::SayRestore { test: id(TEST), restored, happened });
    }
    world
}

#[test]
fn the_list_shows_the_worst_that_a_test_says_and_never_green_for_less_than_all_three() {
    use Answer::{No, NotChecked, Yes};
    let right = Some(Point::Right);
    for (point, restored, how, expected) in [
        (right, Yes, Ending::Done, (Sign::Good, "Passed")),
        (right, NotChecked, Ending::Done, (Sign::GoodHalf, "Tripped, restore not verified")),
        (None, Yes, Ending::Done, (Sign::GoodHalf, "Tripped, panel not verified")),
        (Some(Point::Wrong), Yes, Ending::Done, (Sign::Bad, "Wrong point at panel")),
        (Some(Point::NotThere), Yes, Ending::Done, (Sign::Bad, "Nothing at panel")),
        (right, NotChecked, Ending::StaysInAlarm, (Sign::Bad, "Stays in alarm")),
        (right, No, Ending::Done, (Sign::Bad, "Stays in alarm")),
    ] {
        let (standing, _) = listed(&after(point, restored, how));
        assert_eq!(standing, Standing::Tested(expected.0, expected.1), "{point:?}, {restored:?}, {how:?}");
    }
    // Started by mistake is no test, also in the count.
    let mut world = World::running(HAND_HEATER, FUNCTIONAL, Restores::NotWatched);
    world.wait(SECOND).act(Command::End { test: id(TEST), how: Ending::Mistake });
    let (standing, _) = listed(&world);
    assert_eq!((standing, standing.words()), (Standing::Due, "Not tested"));
    // What failed stays failed on the retest list; what passed is to be tested once more.
    for (point, expected) in
        [(Point::Wrong, Standing::Tested(Sign::Bad, "Wrong point at panel")), (Point::Right, Standing::Retest)]
    {
        let mut world = after(Some(point), Yes, Ending::Done);
        world.wait(SECOND).act(Command::ListRetest { test: id(TEST), why: RetestWhy::Requested });
        assert_eq!(listed(&world).0, expected);
        let again = world.try_act(Command::ListRetest { test: id(TEST), why: RetestWhy::Requested });
        assert_eq!(again, Ok(Vec::new()), "one tap more lists nothing twice");
    }
}

#[test]
fn a_detector_that_must_not_be_heated_says_so_in_the_list() {
    let mut world = World::given();
    let mut never = marking();
    never.detector_type = DetectorType::FixedNonrestorable;
    world.act(put_position(POSITION, "HD-1", never, no_duty()));
    let (standing, _) = listed(&world);
    assert_eq!((standing, standing.words()), (Standing::DoNotHeat, "Do not heat"));
}

#[test]
fn a_refusal_leads_to_where_it_is_put_right() {
    let place = |refusal: &Refusal| remedy(refusal).map(|(_, place)| place);
    assert!(matches!(place(&Refusal::StationNotNotified), Some(Route::Form(Form::Notify(_)))));
    let releases = vec!["Packing belt stop".to_string()];
    assert!(matches!(place(&Refusal::NotSecured { releases }), Some(Route::Form(Form::Secure(_)))));
    assert!(matches!(place(&Refusal::NoPermit), Some(Route::Form(Form::Permit(None)))));
    assert_eq!(place(&Refusal::NoPerson), Some(Route::People));
    assert_eq!(place(&Refusal::TripsNotTellable { test: id(TEST) }), Some(Route::Test(Some(id(TEST)))));
    let here = remedy_at(&Refusal::ReleasesUnknown, id(POSITION), Some(id(HALL)), Some(id(SELF_HEATER)));
    assert_eq!(here.map(|(_, place)| place), Some(Route::Position(id(POSITION))));
    // A failed look has no way around it but the repair.
    assert_eq!(place(&Refusal::FailedVisual(Visual::Missing)), None);
}
