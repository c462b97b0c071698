//! Provisional positions, walking order, replacing outside of a visit.

use super::known;
use crate::kit::*;
use soakbook::book::body::{RemovedWhy, What};
use soakbook::book::command::{Command, PutPosition, ReplaceDetector};
use soakbook::book::refusal::{Fault, Refusal};
use soakbook::trade::conditions::Restores;
use soakbook::trade::detector::{Make, Status};
use soakbook::units::Degree;
use soakbook::view::conflicts::conflict;
use soakbook::view::forms::{self, Attached, Making};
use soakbook::view::route::{Form, Route};

const NEW: u8 = 30;
const OTHER_NEW: u8 = 31;
const TAKEN: Refusal = Refusal::Field("Place.tag", Fault::Taken);
const EMPTY: Refusal = Refusal::Field("Place.tag", Fault::Empty);

fn unlisted(n: u8, tag: &str) -> Command {
    unlisted_with(n, tag, |_| {})
}

fn unlisted_with(n: u8, tag: &str, change: impl FnOnce(&mut PutPosition)) -> Command {
    let Command::PutPosition(put) = put_position_with(n, tag, change) else { unreachable!() };
    Command::PutUnlisted(put)
}

#[test]
fn a_tag_may_be_missing_or_taken_only_while_a_position_is_provisional() {
    let world = World::given();
    assert_eq!(world.decide(put_position_with(NEW, "", |_| {})), Err(EMPTY));
    assert_eq!(world.decide(put_position_with(NEW, "HD-1", |_| {})), Err(TAKEN));
    for tag in ["", "HD-1", "HD-9"] {
        let mut world = World::given();
        world.act(unlisted(NEW, tag));
        let register = world.register();
        let position = &register.positions[&id(NEW)];
        assert!(position.provisional(), "{tag}");
        assert_eq!(position.tag(), if tag.is_empty() { "No tag" } else { tag });
        // Two may stand beside each other, also with one tag.
        world.act(unlisted(OTHER_NEW, tag));
        // The one that had the tag first can still be edited.
        world.act(put_position_with(POSITION, "HD-1", |put| put.place.point = Some("7".into())));
    }
}

#[test]
fn everything_else_of_a_provisional_position_is_checked_as_ever() {
    let world = World::given();
    let long = "x".repeat(500);
    assert!(matches!(world.decide(unlisted(NEW, &long)), Err(Refusal::Field("Place.tag", Fault::TooLong { .. }))));
    let no_rating = unlisted_with(NEW, "", |put| put.marking.rating = None);
    assert_eq!(world.decide(no_rating), Err(Refusal::Field("Marking.rating", Fault::Empty)));
    let nowhere = unlisted_with(NEW, "", |put| put.place.area = id(99));
    assert_eq!(world.decide(nowhere), Err(Refusal::Field("Place.area", Fault::Choose)));
}

#[test]
fn a_proper_tag_settles_it_for_good_and_its_tests_stay() {
    let mut world = World::given();
    world.act(unlisted(NEW, ""));
    let mut start = start_test();
    start.position = id(NEW);
    world.wait(SECOND);
    world.act(Command::Start(Box::new(start)));
    world.wait_until(60).mark(What::Tripped);
    assert_eq!(world.test().frozen.position.place.name(), "No tag");
    // Another position's tag does not settle it.
    assert_eq!(world.decide(put_position_with(NEW, "HD-1", |_| {})), Err(TAKEN));
    world.act(put_position_with(NEW, "HD-3", |_| {}));
    let register = world.register();
    assert!(!register.positions[&id(NEW)].provisional());
    assert_eq!(world.visit().tests_of(id(NEW)).count(), 1);
    // A settled one becomes no provisional one again.
    assert_eq!(world.decide(unlisted(NEW, "")), Err(EMPTY));
    assert_eq!(world.decide(unlisted(NEW, "HD-1")), Err(TAKEN));
}

#[test]
fn retiring_keeps_a_provisional_position_provisional_and_frees_no_tag_of_others() {
    let mut world = World::given();
    world.act(unlisted(NEW, "HD-1"));
    for retired in [true, false] {
        world.act(Command::RetirePosition { position: id(NEW), retired });
        let register = world.register();
        let status = register.positions[&id(NEW)].status.now().copied();
        assert_eq!(status, Some(Status { retired, provisional: true }));
    }
    assert_eq!(world.decide(put_position_with(OTHER_NEW, "HD-1", |_| {})), Err(TAKEN));
}

#[test]
fn what_it_releases_is_asked_of_a_provisional_position_too() {
    let mut world = World::given();
    world.act(unlisted_with(NEW, "", |put| put.duty.releases = None));
    let mut start = start_test();
    start.position = id(NEW);
    assert_eq!(world.decide(Command::Start(Box::new(start.clone()))), Err(Refusal::ReleasesUnknown));
    world.act(Command::AnswerReleases { position: id(NEW), releases: Vec::new() });
    assert!(world.decide(Command::Start(Box::new(start))).is_ok());
}

#[test]
fn the_form_of_one_that_is_not_on_the_list_takes_over_all_but_tag_and_releases() {
    let mut world = World::given();
    world.act(put_position_with(POSITION, "HD-1", |put| {
        (put.place.point, put.make.serial) = (Some("007".into()), Some("A1".into()));
        put.make.model = Some("M".into());
    }));
    let form = Form::Unlisted(id(POSITION));
    let made = known(&world, Some(id(VISIT)), |known| {
        let typed = forms::open(form, known, Degree::F);
        let page = forms::page(form, &typed, known);
        assert_eq!(page.title, "Not on the list");
        for (key, value) in [("tag", ""), ("point", ""), ("serial", ""), ("releases-anything", ""), ("model", "M")] {
            assert_eq!(typed.get(key), value, "{key}");
        }
        let making = Making { id: id(NEW), other: id(NEW + 1), attached: &Attached::new() };
        // As it opens it can be saved: nothing need be typed on the lift.
        forms::command(form, &typed, making, known).expect("a command")
    });
    let Command::PutUnlisted(put) = &made[0] else { panic!("{made:?}") };
    assert_eq!((put.place.tag.as_str(), put.place.area, put.place.circuit), ("", id(HALL), Some(id(LOOP))));
    assert_eq!((&put.marking, &put.duty.releases), (&marking(), &None));
    for command in made {
        world.act(command);
    }
    // Another one like it has no tag to count up from.
    known(&world, None, |known| {
        assert_eq!(forms::open(Form::PositionLike(id(NEW)), known, Degree::F).get("tag"), "");
    });
    let next = forms::next(form, id(NEW), true, &world.book);
    assert_eq!(next, Route::Position(id(NEW)));
}

#[test]
fn the_form_settles_a_provisional_position_by_a_proper_tag_only() {
    for (tag, settles) in [("", false), ("HD-1", false), ("HD-7", true)] {
        let mut world = World::given();
        world.act(unlisted(NEW, ""));
        let form = Form::Position(Some(id(NEW)));
        let made = known(&world, None, |known| {
            let mut typed = forms::open(form, known, Degree::F);
            typed.set("tag", tag);
            let making = Making { id: id(NEW), other: id(NEW + 1), attached: &Attached::new() };
            forms::command(form, &typed, making, known).expect("a command")
        });
        for command in made {
            world.act(command);
        }
        assert_eq!(world.register().positions[&id(NEW)].provisional(), !settles, "{tag}");
        known(&world, None, |known| assert!(!conflict(form, known)));
    }
}

#[test]
fn the_order_one_walks_is_one_decision_and_the_lists_follow_it() {
    let mut world = World::given();
    world.act(put_position_with(NEW, "HD-0", |_| {}));
    let order = |world: &World| -> Vec<String> {
        let register = world.register();
        register.positions_of(id(HALL)).iter().map(|(_, position)| position.tag().to_string()).collect()
    };
    assert_eq!(order(&world), ["HD-0", "HD-1", "HD-2"]);
    let written = world.act(Command::PutInOrder { positions: [OTHER_POSITION, NEW, POSITION].map(id).to_vec() });
    assert_eq!(order(&world), ["HD-2", "HD-0", "HD-1"]);
    // What stands already is not written again, and one named twice counts once.
    let again = Command::PutInOrder { positions: [OTHER_POSITION, NEW, NEW, POSITION].map(id).to_vec() };
    assert_eq!(world.decide(again), Ok(Vec::new()));
    world.act(Command::Undo { target: written });
    assert_eq!(order(&world), ["HD-0", "HD-1", "HD-2"]);
}

#[test]
fn an_order_is_of_positions_that_are_known_and_of_one_site() {
    let world = World::given();
    for positions in [Vec::new(), vec![id(99)], vec![id(POSITION), id(99)]] {
        assert_eq!(world.decide(Command::PutInOrder { positions }), Err(Refusal::UnknownPosition));
    }
}

fn outside(change: impl FnOnce(&mut ReplaceDetector)) -> Command {
    let Command::Replace(mut of) = replace(POSITION) else { unreachable!() };
    of.visit = None;
    change(&mut of);
    Command::Replace(of)
}

#[test]
fn a_detector_replaced_outside_of_a_visit_keeps_the_history_and_proves_nothing() {
    let mut world = World::given();
    world.act(outside(|_| {}));
    let register = world.register();
    let position = &register.positions[&id(POSITION)];
    assert_eq!(position.detector(), Some(id(POSITION + 100)));
    assert_eq!(position.installed.len(), 2);
    // The next test is none after work in the visit: it is as found.
    let mut start = start_test();
    start.position = id(POSITION);
    world.wait(SECOND);
    world.act(Command::Start(Box::new(start)));
    assert_eq!(world.test().frozen.after, None);
}

#[test]
fn outside_of_a_visit_a_position_is_not_left_empty_unless_it_is_given_up() {
    let mut world = World::given();
    let left_empty = |why| outside(move |of| (of.new, of.why) = (None, why));
    assert_eq!(world.decide(left_empty(RemovedWhy::Failed)), Err(Refusal::NoOpenVisit));
    world.act(left_empty(RemovedWhy::PositionGone));
    assert_eq!(world.register().positions[&id(POSITION)].detector(), None);
    // Into the empty place one can be put again, outside of a visit.
    let new = Some((id(150), marking(), Make::default()));
    world.act(outside(|of| of.new = new));
    assert_eq!(world.register().positions[&id(POSITION)].detector(), Some(id(150)));
}

#[test]
fn what_is_being_tested_is_not_replaced_behind_the_visit() {
    let world = World::running(SELF_HEATER, FUNCTIONAL, Restores::NotWatched);
    assert_eq!(world.decide(outside(|_| {})), Err(Refusal::PositionBusy));
}

#[test]
fn the_form_records_a_replacement_in_the_open_visit_of_the_site_whatever_is_on_screen() {
    let world = World::given();
    let form = Form::Replace(id(POSITION));
    let made = |world: &World, visit| {
        known(world, visit, |known| {
            let typed = forms::open(form, known, Degree::F);
            let making = Making { id: id(POSITION), other: id(151), attached: &Attached::new() };
            let mut made = forms::command(form, &typed, making, known).expect("a command");
            let Some(Command::Replace(of)) = made.pop() else { panic!("no replacement") };
            of.visit
        })
    };
    assert_eq!(made(&world, Some(id(VISIT))), Some(id(VISIT)));
    assert_eq!(made(&world, None), Some(id(VISIT)));
    let mut closed = world.clone();
    closed.leave().act(Command::CloseVisit { visit: id(VISIT) });
    assert_eq!(made(&closed, Some(id(VISIT))), None);
}
