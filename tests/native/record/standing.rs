//! What a visit comes to at one position.

use super::*;
use soakbook::book::body::Work;
use soakbook::findings::Outcome;
use soakbook::findings::history;
use soakbook::findings::standing::{Came, standing};
use soakbook::trade::conditions::Visual;

fn came(world: &World) -> Came {
    let visit = world.visit();
    let found = findings::visit(&world.book, &visit);
    let done = history::by_position(history::of_visit(&world.book, &visit, &found.tests));
    standing(&visit, id(POSITION), done.get(&id(POSITION)).map_or(&[], Vec::as_slice)).came
}

fn repair(world: &mut World, work: Work) {
    world.wait(60 * SECOND);
    let happened = soakbook::book::body::Happened { at: world.phone.wall, ..happened(MORNING) };
    let (visit, position) = (id(VISIT), id(POSITION));
    world.act(Command::Repair { visit, position, work, item: None, note: None, happened });
}

#[test]
fn the_last_word_counts_and_work_leaves_nothing_proven() {
    let mut world = given();
    assert_eq!(came(&world), Came::Nothing);
    functional(&mut world, TEST, POSITION, Point::Wrong, Answer::Yes);
    assert_eq!(came(&world), Came::Result(Outcome::Failed(findings::Failed::WrongPoint)));
    repair(&mut world, Work::Programming);
    assert_eq!(came(&world), Came::Repaired);
    passes(&mut world, OTHER_TEST, POSITION);
    assert_eq!(came(&world), Came::Result(Outcome::Passed));
    let page = record(&world);
    assert!(line(&page, "HD-1").ends_with("| Passed · as found: wrong point at panel"), "{page}");
    repair(&mut world, Work::Cleaned);
    assert_eq!(came(&world), Came::Result(Outcome::Passed));
    world.wait(60 * SECOND);
    let (visit, position) = (id(VISIT), id(POSITION));
    world.act(Command::CheckVisual { visit, position, found: vec![Visual::Painted] });
    assert_eq!(came(&world), Came::Found(Visual::Painted));
    world.wait(SECOND);
    world.act(Command::CheckVisual { visit, position, found: vec![] });
    assert_eq!(came(&world), Came::Result(Outcome::Passed));
}

#[test]
fn a_new_detector_is_proven_by_its_own_test_only() {
    let mut world = given();
    passes(&mut world, TEST, POSITION);
    world.wait(SECOND);
    world.act(replace(POSITION));
    assert_eq!(came(&world), Came::Replaced);
    assert!(line(&record(&world), "HD-1").contains("| Not decided: replaced, not tested since"));
    passes(&mut world, OTHER_TEST, POSITION);
    assert_eq!(came(&world), Came::Result(Outcome::Passed));
}

#[test]
fn an_electrical_check_is_no_heat_test() {
    let check = || {
        let Command::OtherMethod { visit, mut other } = warm_air(POSITION, OTHER_TEST) else { unreachable!() };
        other.method = Method::Electrical;
        Command::OtherMethod { visit, other }
    };
    let mut world = given();
    world.act(check());
    assert_eq!(came(&world), Came::Electrical(Outcome::Passed));
    let page = record(&world);
    assert!(line(&page, "HD-1").ends_with("| Not heat tested: electrical check only, OK"), "{page}");
    assert!(page.contains("0 of 2 detectors passed") && page.contains("electrical check only 1"), "{page}");
    // It takes nothing away from a test, and mends none.
    for (point, stays) in [
        (Point::Right, Came::Result(Outcome::Passed)),
        (Point::Wrong, Came::Result(Outcome::Failed(findings::Failed::WrongPoint))),
    ] {
        let mut world = given();
        functional(&mut world, TEST, POSITION, point, Answer::Yes);
        world.act(check());
        assert_eq!(came(&world), stays);
    }
}

#[test]
fn of_two_phones_the_worst_counts() {
    let world = given();
    let (mut one, mut other) = (world.clone(), world.other_phone());
    passes(&mut one, TEST, POSITION);
    functional(&mut other, OTHER_TEST, POSITION, Point::NotThere, Answer::Yes);
    let merged = one.merged(&other);
    assert_eq!(came(&merged), Came::Result(Outcome::Failed(findings::Failed::NotAtPanel)));
    assert!(line(&record(&merged), "HD-1").contains("worst of 2 phones"));
}

#[test]
fn a_mistake_is_no_result() {
    let mut world = given();
    world.act(start_with(|start| start.procedure = Some(id(FUNCTIONAL))));
    assert_eq!(came(&world), Came::Result(Outcome::InProgress));
    world.wait(SECOND);
    world.act(Command::End { test: id(TEST), how: Ending::Mistake });
    assert_eq!(came(&world), Came::Nothing);
    world.act(not_tested(POSITION, NotTestedWhy::OutOfTime));
    assert_eq!(came(&world), Came::NotTested(NotTestedWhy::OutOfTime));
}
