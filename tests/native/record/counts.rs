//! Every position in scope, counted once.

use super::*;
use soakbook::book::body::PanelWhen;

fn mixed() -> World {
    let mut world = given();
    for (n, tag) in [(60, "HD-3"), (61, "HD-4"), (62, "HD-5"), (63, "HD-6")] {
        world.act(put_position(n, tag, marking(), no_duty()));
    }
    passes(&mut world, TEST, POSITION);
    functional(&mut world, OTHER_TEST, OTHER_POSITION, Point::Wrong, Answer::Yes);
    functional(&mut world, 70, 60, Point::Right, Answer::NotChecked);
    // A heater that was on for a moment decides nothing.
    world.wait(60 * SECOND);
    world.act(start_with(|start| {
        (start.test, start.position, start.procedure) = (id(71), id(61), Some(id(FUNCTIONAL)));
    }));
    world.wait(5 * SECOND);
    world.act(Command::End { test: id(71), how: Ending::NoTrip });
    world.wait(SECOND);
    world.act(not_tested(62, NotTestedWhy::Obstructed));
    world.act(warm_air(63, 72));
    world
}

#[test]
fn each_result_has_its_word_and_its_count() {
    // rules C2, C3.
    let page = record(&mixed());
    let counts: Vec<&str> = [
        "In scope",
        "Tested",
        "Passed",
        "Tripped, panel or restore not verified",
        "Failed",
        "Not decided",
        "Not tested",
        "Why not tested",
    ]
    .map(|name| fact(&page, name))
    .to_vec();
    assert_eq!(counts, ["6", "5", "2", "1", "1", "1", "1", "obstructed 1"]);
    let results = section(&page, "Result of each detector");
    let word = |tag: &str| line(&results, tag).rsplit(" | ").next().unwrap_or_default().to_string();
    assert_eq!(word("HD-1"), "Passed");
    assert_eq!(word("HD-2"), "Failed: wrong point at panel");
    assert_eq!(word("HD-3"), "Tripped, restore not verified");
    assert_eq!(word("HD-4"), "Not decided");
    assert_eq!(word("HD-5"), "Not tested: obstructed");
    assert_eq!(word("HD-6"), "Passed · by warm air");
    // Tripped, at panel, restored.
    assert!(line(&results, "HD-1").contains("| OK | Yes, 0:50 | Right point | Yes |"), "{page}");
    assert!(line(&results, "HD-2").contains("| Wrong point: HD-9 | Yes |"), "{page}");
    assert!(line(&results, "HD-4").contains("| Not decided | Not checked | – |"), "{page}");
    assert!(section(&page, "How they were tested").contains("| HD-6 | warm air | Owner's procedure 7"), "{page}");
}

#[test]
fn the_problems_have_their_places_and_classes() {
    let mut world = mixed();
    let page = record(&world);
    assert!(line(&page, "1 | Wrong point at panel").contains("| HD-2 · Hall | Not chosen |"), "{page}");
    assert!(page.contains("Class not chosen: 2, 2 still open"), "{page}");
    let item = world.item(ItemWhat::WrongPoint, Some(ItemClass::Deficiency));
    let (to, happened) = (named("O. Owner"), happened(MORNING));
    world.act(Command::TellItem { item, to, in_writing: true, happened });
    let page = record(&world);
    assert_eq!(fact(&page, "Deficiencies"), "1, 1 still open");
    assert!(line(&page, "1 | Wrong point").contains("| Deficiency |"), "{page}");
    assert!(line(&page, "1 | Wrong point").contains("· 2026-03-02 09:00 | Open"), "{page}");
}

#[test]
fn a_plan_is_the_scope() {
    let mut world = given();
    world.act(Command::PlanPositions { visit: id(VISIT), positions: vec![id(POSITION)], planned: true, why: None });
    let page = record(&world);
    assert_eq!(fact(&page, "In scope"), "1");
    assert!(!page.contains("| HD-2"), "{page}");
    // What was tested all the same is in it.
    passes(&mut world, TEST, OTHER_POSITION);
    let page = record(&world);
    assert_eq!((fact(&page, "In scope"), fact(&page, "Passed")), ("2", "1"));
}

#[test]
fn a_position_hung_up_after_the_visit_is_none_of_its_scope() {
    let mut world = given();
    passes(&mut world, TEST, POSITION);
    world.act(not_tested(OTHER_POSITION, NotTestedWhy::OutOfTime));
    world.close();
    let before = record(&world);
    world.wait(3_600 * SECOND);
    world.act(put_position(60, "HD-3", marking(), no_duty()));
    assert_eq!(record(&world), before);
}

#[test]
fn notifications_and_the_panel_stand_in_the_record() {
    let mut world = given();
    world.act(see_panel(PanelWhen::Found, |panel| {
        (panel.normal, panel.troubles) = (false, vec!["Ground fault".into()]);
    }));
    let page = record(&world);
    assert!(line(&page, "Testing starts").contains("| Supervising station | Notified |"), "{page}");
    assert!(line(&page, "As found").contains("troubles: Ground fault · 2026-03-02 09:00"), "{page}");
}
